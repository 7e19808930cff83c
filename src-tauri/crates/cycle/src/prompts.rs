//! The prompt table: id, class, whether it is spoken; and the length of its clip.
//!
//! A new prompt is one row here, one text in each message file, one clip in each pack, one test.

use serde::{Deserialize, Serialize};

use crate::mark::closed;

macro_rules! prompts {
    ($($name:ident = $word:literal, $class:ident, $spoken:literal, $doc:literal;)+) => {
        closed! {
            /// A spoken prompt; its word is its id in packs, records and cue lists.
            Prompt { $(#[doc = $doc] $name = $word,)+ }
        }
        impl Prompt {
            /// The prompt's class. Source: the project's own table of prompts; the evidence fixes none.
            pub const fn class(self) -> Class {
                match self { $(Self::$name => Class::$class,)+ }
            }

            /// Whether it is spoken unless the service asks for more; the others are a tone and words on
            /// the screen. Source: as above; few words, each tied to an act.
            pub const fn is_spoken(self) -> bool {
                match self { $(Self::$name => $spoken,)+ }
            }
        }
    };
}

// Name = word, class, whether it is spoken unless the service asks for more, what it says.
prompts! {
    Off05 = "off05", A, false, "Five seconds off.";
    Off10 = "off10", A, true, "Ten seconds off.";
    Off15 = "off15", A, true, "Fifteen seconds off.";
    Off20 = "off20", A, true, "Twenty seconds off.";
    Off30 = "off30", A, true, "Thirty seconds off.";
    Off40 = "off40", A, true, "Forty seconds off.";
    Off50 = "off50", A, true, "Fifty seconds off.";
    Off60 = "off60", A, true, "Sixty seconds off.";
    DevStop = "dev_stop", A, true, "The device stopped.";
    ArrestAgain = "arrest_again", A, true, "Arrest again.";
    PowerOver = "power_over", A, true, "Swapped outside the window: is the cup in place?";
    ChkNow = "chk_now", B, true, "The rhythm check is due.";
    ChkOver = "chk_over", B, true, "The rhythm check is overdue.";
    RotateNow = "rotate_now", B, false, "The compressor is to change.";
    HrNow = "hr_now", B, true, "The newborn's heart rate is to be looked at.";
    DrugDue = "drug_due", B, true, "The drug by the clock is due.";
    DrugLate = "drug_late", B, true, "The drug by the clock is late.";
    CupDown = "cup_down", B, true, "Set down: cup check.";
    CupNow = "cup_now", B, true, "Cup check.";
    DevCont = "dev_cont", B, true, "The device must go to continuous.";
    DevRatio = "dev_ratio", B, true, "The device must go to the ratio.";
    Chk30 = "chk_30", C, true, "Thirty seconds to the check.";
    Chk15 = "chk_15", C, false, "Fifteen seconds to the check.";
    Charge = "charge", C, false, "Charge before the check?";
    ChkCd5 = "chk_cd5", C, true, "Five seconds to the check.";
    ChkCd4 = "chk_cd4", C, true, "Four.";
    ChkCd3 = "chk_cd3", C, true, "Three.";
    ChkCd2 = "chk_cd2", C, true, "Two.";
    ChkCd1 = "chk_cd1", C, true, "One.";
    NextUp = "next_up", C, false, "The next compressor gets ready.";
    Drug60 = "drug_60", C, false, "The drug by the clock is due in a minute.";
    DrugNext = "drug_next", C, false, "The drug by shocks: the leader decides.";
    FitPlan = "fit_plan", C, false, "The device open and on before anyone stops.";
    Power10 = "power_10", C, false, "Ten minutes of power left.";
    Power2 = "power_2", C, true, "Two minutes of power left.";
    MovePlan = "move_plan", C, false, "What is looked at before a move.";
    Causes = "causes", C, false, "Reversible causes.";
    PlanNow = "plan_now", C, false, "State the plan.";
    PadsNow = "pads_now", C, false, "Pads on? Then the first check.";
    Undo = "undo", D, true, "A mark was taken back.";
    VoiceOff = "voice_off", D, true, "Voice is off.";
    VoiceOn = "voice_on", D, true, "Voice is on.";
    BeatOff = "beat_off", D, true, "Beat is off.";
    HoldEnd = "hold_end", D, true, "The end key is being held.";
    PhoneLow = "phone_low", D, true, "The phone's battery is low.";
    Still = "still", D, true, "Is the run still running?";
}

closed! {
    /// A tone of ours that is not part of the score.
    Tone {
        #[doc = "Something is due and is not spoken."] Attention = "attention",
        #[doc = "A tap was taken."] Receipt = "receipt",
        #[doc = "Silent by design, and alive."] Life = "life",
        #[doc = "Sound is back after it was lost."] SoundBack = "sound_back",
    }
}

/// How pressing a prompt is. A earlier class goes first and may cut a later one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Class {
    /// Time-critical; may interrupt.
    A,
    /// Due now.
    B,
    /// A heads-up.
    C,
    /// A receipt.
    D,
}

/// Length of each prompt's clip in the pack in use, whole milliseconds: voices must not overlap,
/// and a replay must not depend on the pack at hand.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ClipLengths(alloc::collections::BTreeMap<Prompt, u32>);

impl ClipLengths {
    /// Lengths by prompt.
    ///
    /// # Errors
    /// The first prompt that has none.
    pub fn new(by_prompt: alloc::collections::BTreeMap<Prompt, u32>) -> Result<Self, Prompt> {
        match Prompt::ALL.iter().find(|p| !by_prompt.contains_key(p)) {
            Some(missing) => Err(*missing),
            None => Ok(Self(by_prompt)),
        }
    }

    /// Milliseconds of a prompt's clip.
    pub fn ms(&self, prompt: Prompt) -> u32 {
        self.0.get(&prompt).copied().unwrap_or(0)
    }
}
