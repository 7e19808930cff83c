//! What the page asks of the conductor, and what it is shown.

use std::{path::PathBuf, sync::Arc};

use ::drill::{CueKind, Item, Scenario};
use cycle::{
    Act, Banner, Colours, Entered, LastAct, Ms, Prompt, Seq, Setup, View,
    mark::{PatientClass, SetState},
};
use listening::{Level, Progress};
use record::Digest;

use crate::{
    PhoneNews, Recording,
    settings::{Feel, Theme},
};

/// A touch on the page's own clock, whole milliseconds. The conductor relates that clock to the run
/// clock by the quickest message it has seen, so that a slow message does not date a touch late.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Touch {
    /// Finger down.
    pub down_ms: u64,
    /// When it counted: finger up, or 800 ms of a held press (Undo: finger up).
    pub taken_ms: u64,
    /// When the message left the page.
    pub sent_ms: u64,
}

/// A request of the page. A closed list.
#[derive(Clone, Debug, PartialEq)]
pub enum Ask {
    /// A key was pressed.
    Press {
        /// Which.
        act: Act,
        /// When.
        touch: Touch,
    },
    /// A value was entered; see [`cycle::View::entries`].
    Enter {
        /// What.
        entered: Entered,
        /// When.
        touch: Touch,
    },
    /// What the phone says.
    Phone(PhoneNews),
    /// The phone's side does not answer: no run is held, and nothing is said of what happens around it. Why, in words
    /// with their remedy.
    PhoneSilent(String),
    /// Something is wrong that no run mends, in words with their remedy: it is said on the start card.
    Wrong(String),
    /// Let the crew hand files to another app.
    Share(Vec<PathBuf>),
    /// When the beat is to be felt as well.
    Feel(Feel),
    /// The colours of the screen, and with them how bright it is in a run.
    Theme(Theme),
    /// The screen is covered: dark, with no touch but the one that wakes it; or it is woken. In a run alone.
    Cover(bool),
    /// Take back the last act.
    Undo {
        /// When.
        touch: Touch,
    },
    /// The true state, and since how long.
    SetRight {
        /// The state.
        state: SetState,
        /// How long it has been so.
        back: Ms,
        /// When.
        touch: Touch,
    },
    /// Take back the act that a mark belongs to.
    Remove {
        /// One of its marks.
        seq: Seq,
        /// When.
        touch: Touch,
    },
    /// The act that a mark belongs to was so much earlier.
    Earlier {
        /// One of its marks.
        seq: Seq,
        /// By how much.
        by: Ms,
        /// When.
        touch: Touch,
    },
    /// The end key has been held 800 ms.
    EndHeld,
    /// Touches the page did not count, for the record.
    TouchesIgnored {
        /// How many.
        n: u32,
        /// `short`, `repeat`, `edge`, `burst`, `changed`, `wet` or `covered`.
        why: String,
    },
    /// The page's clock, sent now and then.
    PageClock {
        /// The page's time as the message left.
        sent_ms: u64,
    },
    /// Put the finished run away and show the start card.
    PutAway,
    /// Other numbers from the next run on, of the class that they name themselves.
    Setup(Box<Setup>),
    /// Another language of screen and voice: at once between runs, else once the run is put away.
    Voice(Box<Voice>),
    /// Whose numbers the next run begins with; it belongs to that run alone.
    Class(PatientClass),
    /// How loud beats, breath tones and voice are to be, from the next run on.
    Levels(cycle::Levels),
    /// Let the sounds be heard as loud as they are set, between runs.
    Listen,
    /// What the listening test asks.
    Listening(ListeningAsk),
    /// Let a recording be heard between runs, as loud as the voice is set; `None` silences it.
    Recording(Option<Recording>),
    /// What a drill asks.
    Drill(DrillAsk),
}

/// A request of a drill.
#[derive(Clone, Debug, PartialEq)]
pub enum DrillAsk {
    /// The next start begins this drill; between runs only.
    Choose {
        /// Which.
        scenario: Box<Scenario>,
        /// What it varies by.
        seed: u32,
        /// The unit's own opaque code.
        unit: Option<String>,
        /// The crew's opaque code, never a name.
        crew: Option<String>,
    },
    /// The next start begins a run; a drill that was stopped is put away.
    Leave,
    /// The next cue is told now.
    Tell,
    /// The cue of this id is told now.
    Inject(String),
    /// This happens now, whatever the scenario plans; no mark is expected for it.
    Event(CueKind),
    /// The noise that the phone makes ends.
    Quiet,
    /// The instructor tells each cue, or the clock does.
    ByHand(bool),
    /// The instructor has seen something, or takes that back.
    Tick {
        /// What.
        item: Item,
        /// Seen.
        on: bool,
    },
    /// It stops here, to be looked at together: nothing sounds, nothing is told and nothing can be marked.
    Stop,
    /// A drill that was stopped goes on from there.
    GoOn,
    /// It stops here, or was stopped, and goes on from ten seconds before: another try.
    Again,
    /// There is a patient: the drill ends where it is, kept as a drill, and a run by hand begins with this touch.
    RealPatient(Touch),
}

/// What the crew was told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DrillSaid {
    /// A cue of the scenario, by its place.
    Cue(usize),
    /// What the instructor injected.
    Event(CueKind),
}

/// A drill as it is shown.
#[derive(Clone, Debug, PartialEq)]
pub struct DrillShown {
    /// Its scenario.
    pub scenario: Arc<Scenario>,
    /// What it varies by.
    pub seed: u32,
    /// The crew's code.
    pub crew: Option<String>,
    /// How far it has gone; `None`: the next start begins it.
    pub live: Option<DrillLive>,
}

/// How far a drill has gone. Nothing in it says how well.
#[derive(Clone, Debug, PartialEq)]
pub struct DrillLive {
    /// Which cues were told, in the scenario's order.
    pub told: Vec<bool>,
    /// What was told last, and when.
    pub last: Option<(DrillSaid, Ms)>,
    /// The next one, and when the clock has it.
    pub next: Option<(usize, Ms)>,
    /// The instructor tells them.
    pub by_hand: bool,
    /// What the instructor has seen.
    pub ticked: Vec<Item>,
    /// The phone makes noise.
    pub is_noisy: bool,
    /// It was stopped then.
    pub stopped: Option<Ms>,
}

/// A request of the listening test; between runs only.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ListeningAsk {
    /// Another test begins.
    Begin {
        /// Over the noise.
        level: Level,
        /// The listener's number, never a name.
        listener: Option<u16>,
    },
    /// The next prompt is to be heard.
    Play,
    /// Which it was.
    Answer {
        /// Of which prompt, from 1.
        n: usize,
        /// `None`: nothing was heard.
        answer: Option<Prompt>,
        /// When.
        touch: Touch,
    },
    /// The test is put away.
    Stop,
}

/// A language of screen and voice.
#[derive(Clone, Debug, PartialEq)]
pub struct Voice {
    /// The language of the screen.
    pub lang: String,
    /// The voice pack's id: another language where there is no voice of this one.
    pub pack_id: String,
    /// SHA-256 of its manifests.
    pub pack_sha256: Digest,
    /// The numbers in force, with the lengths of the pack's clips.
    pub setup: Setup,
    /// Faults of the pack, in words.
    pub faults: Vec<String>,
    /// Why another pack does not speak, in words.
    pub remarks: Vec<String>,
}

/// What is shown: sent on change, and while a score sounds every two seconds for its coming sounds.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// The view.
    pub view: View,
    /// Banners of the house (saving, prompts) beside those of the run.
    pub banners: Vec<Banner>,
    /// Run time at which this was sent.
    pub now: Ms,
    /// What became of the crew's last act.
    pub last_act: Option<LastAct>,
    /// The last line known to be on disk: a mark up to here is kept.
    pub kept_through: Option<Seq>,
    /// How long the oldest mark has waited to be kept.
    pub waiting_ms: u64,
    /// The next sounds of the score for the beat light and the count.
    pub pulses: Vec<Pulse>,
    /// What is wrong with the house (sound, clips, disk, a run that was left), in words with their remedy.
    pub faults: Vec<String>,
    /// Nothing is heard: why, with what mends it; empty where nothing is known of it.
    pub silent: Option<String>,
    /// The name of the protocol that is in force now, or that the run began with.
    pub protocol: String,
    /// It is a built-in example.
    pub is_example: bool,
    /// The record of the run that is shown.
    pub record: Option<RunRecord>,
    /// The language that it is shown in.
    pub lang: String,
    /// The voice pack that speaks.
    pub voice: String,
    /// The phone is locked: what is kept stays out of sight.
    pub is_locked: bool,
    /// The colours that are in force.
    pub colours: Colours,
    /// Where the listening test stands, if there is one.
    pub listening: Option<Progress>,
    /// The drill that the next start begins, or that goes on.
    pub drill: Option<DrillShown>,
}

/// Which record a run is written to, and whether that went well so far.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RunRecord {
    /// Its id.
    pub id: String,
    /// Nothing of it was lost so far.
    pub is_kept: bool,
}

/// A coming sound of the score.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pulse {
    /// When it is heard, run time.
    pub at: Ms,
    /// Which sound.
    pub kind: beat::Kind,
    /// Its place in the cycle, from 0.
    pub n: u64,
}
