//! What the log holds, and the only thing that changes a run.

use alloc::string::String;

use beat::{Pattern, Placed, Rate, Score};
use serde::{Deserialize, Serialize};

use crate::{
    Around, Levels, Look, Ms,
    mark::{Mark, closed},
    prompts::{Prompt, Tone},
};

/// A line's number in the record. The header is 0, the protocol 1.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(transparent)]
pub struct Seq(pub u64);

impl Seq {
    /// Whether it is line 0.
    #[expect(
        clippy::trivially_copy_pass_by_ref,
        reason = "serde asks by reference whether a field is left out"
    )]
    const fn is_header(&self) -> bool {
        self.0 == 0
    }
}

closed! {
    /// Where a line comes from. `auto` never marks care.
    Source { #[doc = "A tap."] Button = "button", #[doc = "A voice."] Voice = "voice", #[doc = "A sensor."] Sensor = "sensor", #[doc = "The app itself."] Auto = "auto", #[doc = "Another system."] Import = "import", #[doc = "The review."] Review = "review" }
}

/// One line as the rules see it.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Its number.
    pub seq: Seq,
    /// When it happened; for a mark the moment the finger went down.
    pub at: Ms,
    /// When it was taken.
    pub taken: Ms,
    /// Where it comes from.
    pub src: Source,
    /// What it says.
    pub fact: Fact,
}

impl Entry {
    /// Where it stands in the story of a run. A gap begins at its last kept line, not when the app came
    /// back: a mark that a review puts into it says what was so from there on.
    pub const fn place(&self) -> Ms {
        match &self.fact {
            Fact::Deed(Deed::Recovered { gap_from_ms, .. }) => *gap_from_ms,
            Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => self.at,
        }
    }
}

/// What a line says.
#[derive(Clone, Debug, PartialEq)]
pub enum Fact {
    /// What the crew says. Can be amended.
    Mark(Mark),
    /// A change of a mark.
    Amend(Amend),
    /// What the app did. Never amended.
    Deed(Deed),
}

/// A change of a mark; the mark's own line stays.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Amend {
    /// The line of a mark, or of an amendment that is taken back. Left out where a mark is added:
    /// line 0 is the header, which nothing amends.
    #[serde(default, skip_serializing_if = "Seq::is_header")]
    pub target: Seq,
    /// What changes.
    #[serde(flatten)]
    pub op: AmendOp,
    /// Why.
    pub reason: AmendReason,
    /// Who amends, where it is not the crew in its run.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by_role: Option<ByRole>,
}

impl Amend {
    /// One that the crew makes in its run.
    pub const fn of(target: Seq, op: AmendOp, reason: AmendReason) -> Self {
        Self {
            target,
            op,
            reason,
            by_role: None,
        }
    }
}

/// What an amendment does.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "op", rename_all = "snake_case")]
pub enum AmendOp {
    /// The mark never was.
    Retract,
    /// It was at another time, run milliseconds.
    Retime {
        /// The time.
        at_ms: Ms,
    },
    /// It was another mark, at the same time.
    Replace {
        /// The mark.
        new: Mark,
    },
    /// There was this mark, which nobody marked. It is known by the amendment's line.
    Add {
        /// When, run milliseconds.
        at_ms: Ms,
        /// The mark.
        new: Mark,
    },
    /// It is right as it stands.
    Confirm,
}

impl AmendOp {
    /// The record's word for it.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Retract => "retract",
            Self::Retime { .. } => "retime",
            Self::Replace { .. } => "replace",
            Self::Add { .. } => "add",
            Self::Confirm => "confirm",
        }
    }
}

closed! {
    /// Who amends after a run.
    ByRole { #[doc = "Whoever reviews the run."] Reviewer = "reviewer" }
}

closed! {
    /// Why a mark was amended.
    AmendReason { #[doc = "A slip of the finger."] MisTap = "mis_tap", #[doc = "Misheard."] Misheard = "misheard", #[doc = "Entered late."] LateEntry = "late_entry", #[doc = "The crew remembers."] CrewRecall = "crew_recall", #[doc = "From another clock."] OtherClock = "other_clock", #[doc = "Marked twice."] Duplicate = "duplicate", #[doc = "Of another run."] WrongRun = "wrong_run", #[doc = "Nobody was asked, and nobody said. Since 1.8.0."] NotStated = "not_stated" }
}

closed! {
    /// The way into a run.
    Way { #[doc = "By hand."] Hand = "hand", #[doc = "The device is already on."] Device = "device", #[doc = "It began earlier."] Earlier = "earlier", #[doc = "Without sound."] Quiet = "quiet" }
}

closed! {
    /// What became of a cue.
    CueOutcome { #[doc = "Handed to the sound."] Asked = "asked", #[doc = "Heard."] Spoken = "spoken", #[doc = "Broken off."] Cut = "cut", #[doc = "Too late, left out."] Late = "late", #[doc = "Its moment had passed when it was decided."] Missed = "missed", #[doc = "Held back, and why."] Held = "held" }
}

closed! {
    /// Why a cue was held back.
    HeldWhy { #[doc = "The patient is being moved."] Moving = "moving", #[doc = "Hands are off: only the number speaks."] HandsOff = "hands_off", #[doc = "Charged or shockable: only the number speaks."] Shock = "shock", #[doc = "Voice is off; a tone stands for it."] VoiceOff = "voice_off", #[doc = "Too much was said already."] Budget = "budget", #[doc = "Another voice was more pressing."] Pressed = "pressed", #[doc = "Merged with a more pressing prompt: on the screen only."] Merged = "merged", #[doc = "A defibrillator that speaks leads."] Led = "led", #[doc = "The run is quiet."] Quiet = "quiet", #[doc = "The drug is not to be given for now: circulation, signs of life, cold."] Withheld = "withheld", #[doc = "Answered, or so no more, before its turn came."] Answered = "answered", #[doc = "Not spoken unless the service asks for it: on the screen only."] Screen = "screen", #[doc = "Nothing sounded it any more: the stream went away."] NoSound = "no_sound" }
}

closed! {
    /// Sound lost, back, or on another route.
    SoundChange { #[doc = "Lost."] Lost = "lost", #[doc = "Back."] Back = "back", #[doc = "Another route."] Route = "route" }
}

/// What sounds in a cue.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum CueSound {
    /// A prompt of the voice pack.
    Voice(Prompt),
    /// A tone.
    Tone(Tone),
}

/// Names one cue of a run.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(transparent)]
pub struct CueId(pub u32);

/// A cue as the record holds it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CueLine {
    /// Its name in this run.
    pub cue: CueId,
    /// `voice`, or the tone's name.
    pub kind: String,
    /// The prompt it stands for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<Prompt>,
    /// When it was due, run milliseconds.
    pub due_ms: Ms,
    /// When it was asked to begin, run milliseconds; later than due if something was in the way.
    pub start_ms: Ms,
    /// How long it sounds.
    pub len_ms: u32,
    /// What became of it.
    pub outcome: CueOutcome,
    /// Why it was held.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<HeldWhy>,
}

/// A placed score as the record holds it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ScoreLine {
    /// Which pattern.
    pub pattern: PatternWord,
    /// Beats a minute.
    pub per_minute: u16,
    /// Beats of a cycle, in a ratio.
    #[serde(default)]
    pub beats: u16,
    /// The breath window, in a ratio.
    #[serde(default)]
    pub window_ms: u32,
    /// Breath tones of a window, in a ratio.
    #[serde(default)]
    pub breaths: u8,
    /// Milliseconds from breath to breath by the clock; 0 is none.
    #[serde(default)]
    pub breath_ms: u32,
    /// Beat level below full, tenths of a decibel.
    #[serde(default)]
    pub quiet_ddb: u16,
    /// The grid's zero, run milliseconds.
    pub anchor_ms: Ms,
    /// Whole periods from the anchor to beat 0.
    #[serde(default)]
    pub lead: u32,
    /// Nothing sounds before, run milliseconds.
    pub from_ms: Ms,
    /// Breaths by the clock count from here, run milliseconds.
    #[serde(default)]
    pub breath_from_ms: Ms,
}

closed! {
    /// What can be set and is of weight for a run.
    SettingName { #[doc = "How loud beats, breath tones and voice are."] Levels = "levels" }
}
closed! {
    /// A pattern's name.
    PatternWord { #[doc = "No beat."] Silent = "silent", #[doc = "Unbroken."] Continuous = "continuous", #[doc = "With breath windows."] Ratio = "ratio" }
}

impl From<Placed> for ScoreLine {
    fn from(p: Placed) -> Self {
        let mut line = Self {
            pattern: PatternWord::Silent,
            per_minute: p.score.rate.per_minute(),
            beats: 0,
            window_ms: 0,
            breaths: 0,
            breath_ms: 0,
            quiet_ddb: p.score.quiet_ddb,
            anchor_ms: Ms(p.anchor_ms),
            lead: p.lead,
            from_ms: Ms(p.from_ms),
            breath_from_ms: Ms(p.breath_from_ms),
        };
        match p.score.pattern {
            Pattern::Silent { breath_ms } => line.breath_ms = breath_ms,
            Pattern::Continuous { breath_ms } => {
                line.pattern = PatternWord::Continuous;
                line.breath_ms = breath_ms;
            }
            Pattern::Ratio {
                beats,
                window_ms,
                breaths,
            } => {
                line.pattern = PatternWord::Ratio;
                (line.beats, line.window_ms, line.breaths) = (beats, window_ms, breaths);
            }
        }
        line
    }
}

impl TryFrom<ScoreLine> for Placed {
    type Error = beat::RateError;

    fn try_from(line: ScoreLine) -> Result<Self, Self::Error> {
        let pattern = match line.pattern {
            PatternWord::Silent => Pattern::Silent {
                breath_ms: line.breath_ms,
            },
            PatternWord::Continuous => Pattern::Continuous {
                breath_ms: line.breath_ms,
            },
            PatternWord::Ratio => Pattern::Ratio {
                beats: line.beats,
                window_ms: line.window_ms,
                breaths: line.breaths,
            },
        };
        Ok(Self {
            score: Score {
                rate: Rate::new(line.per_minute)?,
                pattern,
                quiet_ddb: line.quiet_ddb,
            },
            anchor_ms: line.anchor_ms.0,
            lead: line.lead,
            from_ms: line.from_ms.0,
            breath_from_ms: line.breath_from_ms.0,
        })
    }
}

closed! {
    /// What belongs to a drill.
    DrillWord { #[doc = "It is a drill, of this seed."] Begun = "begun", #[doc = "A cue of its scenario was told."] Cue = "cue", #[doc = "The instructor ticked an item."] Ticked = "ticked", #[doc = "The instructor took a tick back."] Unticked = "unticked", #[doc = "It goes on from an earlier try."] Again = "again", #[doc = "The instructor stopped it, to look at it together."] Stopped = "stopped", #[doc = "The instructor injected an event that the scenario does not plan."] Injected = "injected", #[doc = "The phone began to make noise."] NoiseOn = "noise_on", #[doc = "The noise ended."] NoiseOff = "noise_off" }
}

/// A line of a drill: nothing in it is care, and nothing in it moves the state line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct DrillLine {
    /// Which.
    pub what: DrillWord,
    /// Of a cue or a tick: its id in the scenario. Of what was injected: the kind of the event.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// As it begins: what the scenario varied by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seed: Option<u32>,
    /// As it begins: the crew's own opaque code, empty where it gave none. Absent before 1.7.0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub crew: Option<String>,
    /// Of an earlier try: its record.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<String>,
    /// Of an earlier try: up to when it is the same, run milliseconds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from_ms: Option<Ms>,
}

impl DrillLine {
    /// One that says only what it is.
    pub const fn of(what: DrillWord) -> Self {
        Self {
            what,
            id: None,
            seed: None,
            crew: None,
            of: None,
            from_ms: None,
        }
    }
}

/// What the app did. Written by the app, and never a mark of care.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "ev", content = "d", rename_all = "snake_case")]
pub enum Deed {
    /// The run began.
    Start {
        /// Which way in.
        way: Way,
    },
    /// What sounds from here.
    Score(ScoreLine),
    /// A voice or a tone, and what became of it.
    Cue(CueLine),
    /// Sound lost or back.
    Sound {
        /// Which.
        what: SoundChange,
    },
    /// Beats sounded, frames played and underruns since the last count.
    Count {
        /// Beats.
        beats: u64,
        /// Frames.
        frames: u64,
        /// Underruns.
        underruns: u64,
    },
    /// A mark that the rules did not accept.
    Ignored {
        /// Its kind.
        #[serde(rename = "mark")]
        kind: String,
        /// Why.
        why: String,
    },
    /// The rhythm check due then was never marked.
    CheckUnmarked {
        /// When it fell due, run milliseconds.
        due_ms: Ms,
    },
    /// The app woke late.
    Gap {
        /// By how much.
        ms: u64,
    },
    /// The app came back after it was killed: what lies between is not known.
    Recovered {
        /// The last line that was kept.
        gap_from_seq: Seq,
        /// Its time on the run clock.
        gap_from_ms: Ms,
        /// Bytes after it that could not be read.
        bad_bytes: u64,
    },
    /// Touches that the page did not count.
    TouchIgnored {
        /// How many.
        n: u32,
        /// `short`, `repeat`, `edge`, `burst`, `changed`, `wet`, `covered` or `held`.
        why: String,
    },
    /// Something failed.
    Fault {
        /// Where.
        #[serde(rename = "where")]
        place: String,
        /// What.
        what: String,
    },
    /// Alive; every ten seconds, so that a kill is known to ten seconds even where no mark was made.
    Heartbeat {},
    /// The phone's own battery has become low, or is so no more.
    Phone {
        /// Per cent that is left.
        battery_pct: u8,
        /// Low, and not being charged.
        low: bool,
    },
    /// What happened to the phone and bears on what the crew hears.
    Around(Around),
    /// What was set on the phone, as it is in force from here on.
    Setting {
        /// Which setting.
        name: SettingName,
        /// Its value.
        value: Levels,
    },
    /// Of a drill.
    Drill(DrillLine),
    /// How the screen looks from here on.
    Screen(Look),
    /// The wall clock jumped.
    WallJump {
        /// By how much, milliseconds.
        delta_ms: i64,
    },
}

/// Names of the deeds, for the reader.
pub const DEED_KINDS: &[&str] = &[
    "start",
    "score",
    "cue",
    "sound",
    "count",
    "ignored",
    "check_unmarked",
    "gap",
    "recovered",
    "fault",
    "touch_ignored",
    "heartbeat",
    "phone",
    "around",
    "setting",
    "drill",
    "screen",
    "wall_jump",
];
