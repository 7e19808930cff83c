//! What the screen draws, as one value: the question card.
//!
//! Times are moments on the run clock; the page subtracts. Words are keys: `words` turns them into
//! finished sentences.

use alloc::vec::Vec;

use serde::{Deserialize, Serialize};

use crate::{
    Ms,
    acts::Act,
    mark::{Outcome, Reason, closed},
    prompts::Prompt,
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
        #[doc = "Nothing is heard."] NoSound = "no_sound",
        #[doc = "Marks are not being kept."] NotSaving = "not_saving",
        #[doc = "The rules failed; beat and marks go on."] PromptsStopped = "prompts_stopped",
        #[doc = "A clip of the pack is missing or damaged."] PackDamaged = "pack_damaged",
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

/// The whole screen of a run.
#[derive(Clone, Debug, PartialEq, Eq)]
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
    /// The card asks with emphasis: its question has waited.
    pub urgent: bool,
    /// The answers: one full width or two halves.
    pub main: Vec<Act>,
    /// Two side acts at most.
    pub side: Vec<Act>,
    /// What lies behind Mark.
    pub sheet: Vec<Act>,
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
    /// How it ended.
    pub outcome: Option<Outcome>,
}
