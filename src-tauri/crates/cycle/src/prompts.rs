//! The prompt table: id, class, length and the task it belongs to.
//!
//! A new prompt is one row here, one text in each message file, one clip in each pack, one test.

use serde::{Deserialize, Serialize};

use crate::mark::closed;

closed! {
    /// A spoken prompt; its word is its id in packs, records and cue lists.
    Prompt {
        #[doc = "Five seconds off."] Off05 = "off05",
        #[doc = "Ten seconds off."] Off10 = "off10",
        #[doc = "Fifteen seconds off."] Off15 = "off15",
        #[doc = "Twenty seconds off."] Off20 = "off20",
        #[doc = "Thirty seconds off."] Off30 = "off30",
        #[doc = "Forty seconds off."] Off40 = "off40",
        #[doc = "Fifty seconds off."] Off50 = "off50",
        #[doc = "Sixty seconds off."] Off60 = "off60",
        #[doc = "The device stopped."] DevStop = "dev_stop",
        #[doc = "Arrest again."] ArrestAgain = "arrest_again",
        #[doc = "Swapped outside the window."] PowerOver = "power_over",
        #[doc = "The rhythm check is due."] ChkNow = "chk_now",
        #[doc = "The rhythm check is overdue."] ChkOver = "chk_over",
        #[doc = "The compressor is to change."] RotateNow = "rotate_now",
        #[doc = "The newborn's heart rate is to be looked at."] HrNow = "hr_now",
        #[doc = "The drug by the clock is due."] DrugDue = "drug_due",
        #[doc = "The drug by the clock is late."] DrugLate = "drug_late",
        #[doc = "Set down: cup check."] CupDown = "cup_down",
        #[doc = "Cup check."] CupNow = "cup_now",
        #[doc = "The device must go to continuous."] DevCont = "dev_cont",
        #[doc = "The device must go to the ratio."] DevRatio = "dev_ratio",
        #[doc = "Thirty seconds to the check."] Chk30 = "chk_30",
        #[doc = "Fifteen seconds to the check."] Chk15 = "chk_15",
        #[doc = "Charge before the check?"] Charge = "charge",
        #[doc = "Five seconds to the check."] ChkCd5 = "chk_cd5",
        #[doc = "Four."] ChkCd4 = "chk_cd4",
        #[doc = "Three."] ChkCd3 = "chk_cd3",
        #[doc = "Two."] ChkCd2 = "chk_cd2",
        #[doc = "One."] ChkCd1 = "chk_cd1",
        #[doc = "The next compressor steps in."] NextUp = "next_up",
        #[doc = "The drug by the clock is due in a minute."] Drug60 = "drug_60",
        #[doc = "The drug by shocks: the leader decides."] DrugNext = "drug_next",
        #[doc = "The device open and on, then one short pause."] FitPlan = "fit_plan",
        #[doc = "Ten minutes of power left."] Power10 = "power_10",
        #[doc = "Two minutes of power left."] Power2 = "power_2",
        #[doc = "What is looked at before a move."] MovePlan = "move_plan",
        #[doc = "Reversible causes."] Causes = "causes",
        #[doc = "State the plan."] PlanNow = "plan_now",
        #[doc = "Pads: check now."] PadsNow = "pads_now",
        #[doc = "A mark was taken back."] Undo = "undo",
        #[doc = "Voice is off."] VoiceOff = "voice_off",
        #[doc = "Voice is on."] VoiceOn = "voice_on",
        #[doc = "Beat is off."] BeatOff = "beat_off",
        #[doc = "The end key is being held."] HoldEnd = "hold_end",
        #[doc = "The phone's battery is low."] PhoneLow = "phone_low",
        #[doc = "Is the run still running?"] Still = "still",
    }
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

impl Prompt {
    /// The prompt's class. Source: the project's own table of prompts; the evidence fixes none.
    pub const fn class(self) -> Class {
        match self {
            Self::Off05
            | Self::Off10
            | Self::Off15
            | Self::Off20
            | Self::Off30
            | Self::Off40
            | Self::Off50
            | Self::Off60
            | Self::DevStop
            | Self::ArrestAgain
            | Self::PowerOver => Class::A,
            Self::ChkNow
            | Self::ChkOver
            | Self::RotateNow
            | Self::HrNow
            | Self::DrugDue
            | Self::DrugLate
            | Self::CupDown
            | Self::CupNow
            | Self::DevCont
            | Self::DevRatio => Class::B,
            Self::Chk30
            | Self::Chk15
            | Self::Charge
            | Self::ChkCd5
            | Self::ChkCd4
            | Self::ChkCd3
            | Self::ChkCd2
            | Self::ChkCd1
            | Self::NextUp
            | Self::Drug60
            | Self::DrugNext
            | Self::FitPlan
            | Self::Power10
            | Self::Power2
            | Self::MovePlan
            | Self::Causes
            | Self::PlanNow
            | Self::PadsNow => Class::C,
            Self::Undo
            | Self::VoiceOff
            | Self::VoiceOn
            | Self::BeatOff
            | Self::HoldEnd
            | Self::PhoneLow
            | Self::Still => Class::D,
        }
    }

    /// Whether it is spoken unless the service asks for more; the others are a tone and words on the
    /// screen. Source: as above; few words, each tied to an act.
    pub const fn is_spoken(self) -> bool {
        match self {
            Self::Off10
            | Self::Off15
            | Self::Off20
            | Self::Off30
            | Self::Off40
            | Self::Off50
            | Self::Off60
            | Self::DevStop
            | Self::ArrestAgain
            | Self::PowerOver
            | Self::ChkNow
            | Self::ChkOver
            | Self::HrNow
            | Self::DrugDue
            | Self::DrugLate
            | Self::CupDown
            | Self::CupNow
            | Self::DevCont
            | Self::DevRatio
            | Self::Chk30
            | Self::ChkCd5
            | Self::ChkCd4
            | Self::ChkCd3
            | Self::ChkCd2
            | Self::ChkCd1
            | Self::Power2
            | Self::Undo
            | Self::VoiceOff
            | Self::VoiceOn
            | Self::BeatOff
            | Self::HoldEnd
            | Self::PhoneLow
            | Self::Still => true,
            Self::Off05
            | Self::RotateNow
            | Self::Chk15
            | Self::Charge
            | Self::NextUp
            | Self::Drug60
            | Self::DrugNext
            | Self::FitPlan
            | Self::Power10
            | Self::MovePlan
            | Self::Causes
            | Self::PlanNow
            | Self::PadsNow => false,
        }
    }
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
