//! What goes into a run and what comes out of it.

use alloc::vec::Vec;

use crate::{
    Around, Levels, Look, Ms,
    fact::{Amend, CueId, CueSound, DrillLine, Entry, Seq, Source},
    mark::{Mark, PatientClass},
    prompts::ClipLengths,
    protocol::Protocol,
};

/// Everything a replay needs besides the log.
#[derive(Clone, Debug, PartialEq)]
pub struct Setup {
    /// The numbers and sentences in force.
    pub protocol: Protocol,
    /// How long each clip of the pack is.
    pub clips: ClipLengths,
    /// Whose numbers, as the run begins.
    pub class: PatientClass,
    /// The service's files for the other classes, for a run that turns out to be theirs.
    pub others: Vec<Protocol>,
}

impl Setup {
    /// The numbers of a class; those at hand where the service has none for it.
    pub fn protocol_of(&self, class: PatientClass) -> &Protocol {
        if class == self.protocol.class {
            return &self.protocol;
        }
        self.others
            .iter()
            .find(|p| p.class == class)
            .unwrap_or(&self.protocol)
    }
}

/// World to machine. A closed list.
#[derive(Clone, Debug, PartialEq)]
pub enum Input {
    /// The run begins, in this way.
    Start(crate::fact::Way),
    /// A crew act.
    Mark {
        /// Finger down; never after `now`.
        at: Ms,
        /// What was said.
        mark: Mark,
        /// By what means.
        src: Source,
    },
    /// Take back the last act: the latest mark that stands, with those of the same touch.
    Undo,
    /// Change a mark.
    Amend(Amend),
    /// Take back the act that a mark belongs to: every mark of its touch.
    Remove(Seq),
    /// The act that a mark belongs to was so much earlier.
    Earlier {
        /// One of its marks.
        target: Seq,
        /// By how much.
        by: Ms,
    },
    /// The true state, and since how long.
    SetRight {
        /// The state.
        state: crate::mark::SetState,
        /// How long it has been so.
        back: Ms,
    },
    /// The end key is held; it has not been held long enough yet.
    EndHeld,
    /// What the sound did.
    Sound(SoundNews),
    /// The app came back after a kill.
    Recovered {
        /// Last line kept.
        from_seq: Seq,
        /// Its time.
        from: Ms,
        /// Bytes that could not be read.
        bad_bytes: u64,
    },
    /// Touches that the page did not count.
    Touches {
        /// How many.
        n: u32,
        /// `short`, `repeat`, `edge`, `burst`, `changed`, `wet`, `covered` or `held`.
        why: alloc::string::String,
    },
    /// The owner woke so much later than it asked for.
    Gap {
        /// Milliseconds.
        ms: u64,
    },
    /// The wall clock was set.
    WallJump {
        /// By how much, milliseconds.
        delta_ms: i64,
    },
    /// What the phone says of its own battery, whenever that changes.
    Phone {
        /// Per cent that is left.
        battery_pct: u8,
        /// It is being charged.
        charging: bool,
    },
    /// What happens to the phone and bears on what the crew hears.
    Around(Around),
    /// The levels that were set on the phone.
    Levels(Levels),
    /// A line of a drill.
    Drill(DrillLine),
    /// How the screen looks from here on.
    Look(Look),
    /// A value was entered that makes no mark.
    Refused {
        /// The kind of the mark it would have made.
        kind: &'static str,
        /// Why not.
        why: alloc::string::String,
    },
    /// A fault to be kept.
    Fault {
        /// Where.
        place: &'static str,
        /// What.
        what: alloc::string::String,
    },
    /// The moment asked for by [`crate::Run::next_wakeup`], or a later one.
    Wake,
}

/// What the sound did, on the run clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SoundNews {
    /// A cue began to sound.
    Started {
        /// Which.
        id: CueId,
        /// When.
        at: Ms,
    },
    /// A cue was left out: it would have sounded more than 80 ms late, or was to sound at once and no block of the
    /// device came for 300 ms.
    Late {
        /// Which.
        id: CueId,
    },
    /// A cue was broken off by no order: the stream that sounded it is gone.
    Cut {
        /// Which.
        id: CueId,
    },
    /// Nothing is heard.
    Lost,
    /// Sound plays again.
    Back,
    /// Since the last count.
    Count {
        /// Beats sounded.
        beats: u64,
        /// Frames played.
        frames: u64,
        /// Underruns.
        underruns: u64,
    },
}

/// Machine to world, in this order: sound first, then log, then screen.
#[derive(Clone, Debug, PartialEq)]
pub enum Output {
    /// Sound this from now on.
    Score(beat::Placed),
    /// Sound this once.
    Play(Cue),
    /// Take a cue back.
    Revoke(CueId),
    /// Keep this line.
    Write(Entry),
    /// The view has changed.
    Show,
}

/// A voice or a tone asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cue {
    /// Its name.
    pub id: CueId,
    /// What sounds.
    pub sound: CueSound,
    /// From when.
    pub start: Start,
    /// How long, ms.
    pub len_ms: u32,
}

/// When a cue sounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Start {
    /// In the next block: the answer to a tap. Dropped only when no block has come for 300 ms.
    Now,
    /// At a run time, handed over at least 300 ms before. Dropped when more than 80 ms late.
    At(Ms),
}
