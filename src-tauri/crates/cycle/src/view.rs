//! What the screen draws, as one value: the question card.
//!
//! Times are moments on the run clock; the page subtracts. Words are keys: `words` turns them into
//! finished sentences.

use alloc::{string::String, vec::Vec};

use serde::{Deserialize, Serialize};

use crate::{
    Ms,
    acts::Act,
    entered::Entries,
    fact::Seq,
    hand_over::HandOver,
    mark::{BreathMode, Mark, Outcome, PatientClass, Reason, closed},
    prompts::Prompt,
    protocol::DRUG_BY_CLOCK,
};

closed! {
    /// Which question card is up. Its word is the key of its question.
    Card {
        #[doc = "No run."] Before = "before",
        #[doc = "Compressing by hand in a ratio."] HandRatio = "hand_ratio",
        #[doc = "Compressing by hand without pause."] HandContinuous = "hand_continuous",
        #[doc = "By hand, the device stands open beside."] Fitting = "fitting",
        #[doc = "By device, ratio."] DeviceRatio = "device_ratio",
        #[doc = "By device, continuous."] DeviceContinuous = "device_continuous",
        #[doc = "The rhythm check is due or soon."] CheckDue = "check_due",
        #[doc = "Breaths come first."] FirstBreaths = "first_breaths",
        #[doc = "Hands off, reason open."] HandsOff = "hands_off",
        #[doc = "Hands off for the rhythm check."] Check = "check",
        #[doc = "Hands off to fit the device."] FitPause = "fit_pause",
        #[doc = "Hands off to seat the cup again."] Reseating = "reseating",
        #[doc = "Being moved."] Moving = "moving",
        #[doc = "The cup is asked for."] Cup = "cup",
        #[doc = "The pack is out."] Power = "power",
        #[doc = "The power window is over."] PowerLate = "power_late",
        #[doc = "The device stopped."] Stopped = "stopped",
        #[doc = "Spontaneous circulation."] Pulse = "pulse",
        #[doc = "Not known, after a restart."] Unknown = "unknown",
        #[doc = "The run is over."] Ended = "ended",
    }
}

closed! {
    /// Where the fitting of the device stands, by the service's windows. Its word ends the key of the
    /// card's question.
    FitStep {
        #[doc = "The first of two short pauses."] First = "first",
        #[doc = "The last one, or the only one."] Last = "last",
        #[doc = "It waits for the check's pause."] InCheck = "in_check",
    }
}

closed! {
    /// The state line in words.
    StateWord {
        #[doc = "No run."] Before = "before",
        #[doc = "Compressing by hand."] ByHand = "by_hand",
        #[doc = "Compressing by device."] ByDevice = "by_device",
        #[doc = "Hands off."] HandsOff = "hands_off",
        #[doc = "Spontaneous circulation."] Pulse = "pulse",
        #[doc = "Unknown."] Unknown = "unknown",
        #[doc = "Ended."] Ended = "ended",
    }
}

/// The giant figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum Figure {
    /// None.
    None,
    /// Time since.
    Up {
        /// From when.
        since: Ms,
    },
    /// Time until; once it has passed, time over.
    Down {
        /// Till when.
        until: Ms,
    },
    /// The count of the cycle's compressions, from the list of coming sounds.
    Count,
}

closed! {
    /// A line over the card. Sorted by how pressing it is.
    Banner {
        #[doc = "It is a drill: there is no patient."] Drill = "drill",
        #[doc = "Nothing is heard."] NoSound = "no_sound",
        #[doc = "Marks are not being kept."] NotSaving = "not_saving",
        #[doc = "The rules failed; beat and marks go on."] PromptsStopped = "prompts_stopped",
        #[doc = "A clip of the pack is missing or damaged."] PackDamaged = "pack_damaged",
        #[doc = "A call is spoken: the beat is felt, not heard."] Call = "call",
        #[doc = "The phone is set to silence."] Muted = "muted",
        #[doc = "Another app has the sound."] Taken = "taken",
        #[doc = "The sound goes to a wireless headset or speaker."] RouteWireless = "route_wireless",
        #[doc = "The sound goes to a headset or speaker on a wire."] RouteWired = "route_wired",
        #[doc = "The sound goes somewhere else than to the loudspeaker."] RouteOther = "route_other",
        #[doc = "The phone is not loud enough for a vehicle."] Faint = "faint",
        #[doc = "The system may stop the app when it is not in front."] NotHeld = "not_held",
        #[doc = "The phone saves power and may slow the app down."] Saving = "saving",
        #[doc = "The phone's own battery is low."] PhoneLow = "phone_low",
        #[doc = "The run is quiet: the second phone."] Quiet = "quiet",
        #[doc = "A defibrillator that speaks leads."] Led = "led",
        #[doc = "Voice is off."] VoiceOff = "voice_off",
        #[doc = "Beat is off."] BeatOff = "beat_off",
        #[doc = "Kept marks were found of a run that had not ended."] Resumed = "resumed",
    }
}

closed! {
    /// What comes next, in words.
    NextWord {
        #[doc = "The rhythm check."] Check = "check",
        #[doc = "The rhythm check was due."] CheckOver = "check_over",
        #[doc = "The power window closes."] Window = "window",
    }
}

/// What comes next, and when.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Next {
    /// What.
    pub word: NextWord,
    /// When.
    pub at: Ms,
}

/// A prompt on the screen in the words that are spoken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Said {
    /// Which.
    pub prompt: Prompt,
    /// Since when.
    pub at: Ms,
}

closed! {
    /// A question or a remark beside the card's own.
    Ask {
        #[doc = "A minute off: is it still so?"] StillOff = "still_off",
        #[doc = "Nothing was marked for long: does the run still run?"] StillRunning = "still_running",
        #[doc = "The pulse is to be looked at again."] PulseAgain = "pulse_again",
        #[doc = "The heart rate is to be looked at."] HeartRate = "heart_rate",
        #[doc = "At a check: a glance at the cup."] CupGlance = "cup_glance",
        #[doc = "Without power: by hand is offered."] ByHand = "by_hand",
        #[doc = "Deep cold: no more shocks for now."] ColdShocks = "cold_shocks",
        #[doc = "By device in a ratio: breaths at the device's own pause."] DevicePause = "device_pause",
        #[doc = "On mains: keep a pack in."] KeepPack = "keep_pack",
        #[doc = "The pause is longer than its budget."] OverBudget = "over_budget",
        #[doc = "Pregnant: the birth was to be over by now."] DeliveryDue = "delivery_due",
        #[doc = "The compressor is to change, by a clock of its own."] Rotate = "rotate",
        #[doc = "Too early for the device by the service's protocol."] TooEarlyForDevice = "too_early_for_device",
        #[doc = "Refused by size or list: by hand."] StaysByHand = "stays_by_hand",
        #[doc = "A supraglottic airway was just marked: how a tube is."] TubeInstead = "tube_instead",
    }
}

closed! {
    /// Where a drug stands.
    DrugWord {
        #[doc = "Nothing has asked for it."] NotAsked = "not_asked",
        #[doc = "Not due yet."] NotDue = "not_due",
        #[doc = "Due."] Due = "due",
        #[doc = "Late."] Late = "late",
        #[doc = "Held back."] Withheld = "withheld",
        #[doc = "Given again before its window opened."] Doubled = "doubled",
    }
}

/// A drug's line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DrugLine {
    /// The record's key.
    pub key: String,
    /// The name on the screen.
    pub name: String,
    /// What the service writes for the next dose.
    pub words: String,
    /// Where it stands.
    pub stands: DrugWord,
    /// Due from, or late from, or given twice at.
    pub at: Option<Ms>,
    /// Doses so far, those before this crew among them.
    pub n: u16,
}

impl DrugLine {
    /// Whether it falls due by the clock, not by shocks.
    pub fn is_by_clock(&self) -> bool {
        self.key == DRUG_BY_CLOCK
    }
}

closed! {
    /// What a list of the protocol is for.
    ListWord {
        #[doc = "Reasons for the device."] Reasons = "reasons",
        #[doc = "Whom the device is not for."] NotFor = "not_for",
        #[doc = "Who does what."] Roles = "roles",
        #[doc = "Its parts."] Parts = "parts",
        #[doc = "Where the cup goes."] Landmarks = "landmarks",
        #[doc = "Before a move."] BeforeMove = "before_move",
        #[doc = "The rhythm does not give way."] Refractory = "refractory",
        #[doc = "A special situation."] Overlay = "overlay",
        #[doc = "A checkpoint by the minute."] Minute = "minute",
        #[doc = "Circulation is back."] Pulse = "pulse",
        #[doc = "Make ready."] Ready = "ready",
        #[doc = "The service's own table of doses."] Doses = "doses",
    }
}

/// Lines of the service's protocol that belong to this moment.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct List {
    /// What for.
    pub word: ListWord,
    /// The lines as the service wrote them.
    pub lines: Vec<String>,
}

/// A mark that can be moved or taken away.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LastMark {
    /// Its line in the record: the last one of its touch.
    pub seq: Seq,
    /// When it happened.
    pub at: Ms,
    /// The one of its marks that tells it from other touches.
    pub mark: Mark,
}

/// The whole screen of a run.
#[derive(Clone, Debug, PartialEq, Eq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a thing of its own on the screen"
)]
pub struct View {
    /// Which card.
    pub card: Card,
    /// The state line.
    pub state: StateWord,
    /// Since when.
    pub state_since: Ms,
    /// Why hands are off, where said.
    pub reason: Option<Reason>,
    /// The giant figure.
    pub figure: Figure,
    /// What comes next.
    pub next: Option<Next>,
    /// Where the fitting stands, while the device is open beside the patient.
    pub fit: Option<FitStep>,
    /// With the check the compressor changes as well.
    pub rotate: bool,
    /// The card asks with emphasis: its question has waited.
    pub urgent: bool,
    /// The answers: one full width or two halves.
    pub main: Vec<Act>,
    /// Two side acts at most.
    pub side: Vec<Act>,
    /// What lies behind Mark.
    pub sheet: Vec<Act>,
    /// What can be entered with a value.
    pub entries: Entries,
    /// Whether a mark can be taken back.
    pub undo: bool,
    /// Lines over the card.
    pub banners: Vec<Banner>,
    /// The prompt last due.
    pub said: Option<Said>,
    /// Shocks so far.
    pub shocks: u16,
    /// Beats are silent by the crew's wish.
    pub beat_off: bool,
    /// The screen is dark and takes no touch but the one that wakes it.
    pub covered: bool,
    /// How it ended.
    pub outcome: Option<Outcome>,
    /// Whose numbers are in force.
    pub class: PatientClass,
    /// The mode that the device must be in, by device.
    pub device_mode: Option<BreathMode>,
    /// Questions and remarks beside the card's own.
    pub asks: Vec<Ask>,
    /// Shocks in a row.
    pub in_a_row: u16,
    /// The drugs of the protocol.
    pub drugs: Vec<DrugLine>,
    /// Lines of the protocol for this moment.
    pub lists: Vec<List>,
    /// The last six acts, the latest first.
    pub last: Vec<LastMark>,
    /// What the next crew has to know; from the start on.
    pub hand_over: Option<HandOver>,
}
