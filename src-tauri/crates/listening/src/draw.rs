use cycle::{Class, Prompt};

use crate::dice::Dice;

/// So many prompts are heard in a test.
pub const PROMPTS: usize = 12;
/// So many answers stand under each, the right one among them.
pub const CHOICES: usize = 6;

/// Hands-off numbers of a test: told apart by one word each, and by nothing on the screen.
const NUMBERS: usize = 4;
/// Others of class A.
const OTHER_A: usize = 2;
/// Of class B.
const OF_B: usize = 4;
/// Of the others. No source for any of the four: most are such as must be understood at once, and a few that are
/// not, so that a listener cannot tell by the kind.
const OTHERS: usize = 2;

/// One prompt of a test.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trial {
    /// What is heard.
    pub prompt: Prompt,
    /// The answers, in their order on the screen.
    pub choices: Vec<Prompt>,
    /// What its noise is made from.
    pub seed: u64,
}

/// Whether a prompt is of class A or B: must be understood at once.
pub fn is_pressing(prompt: Prompt) -> bool {
    matches!(prompt.class(), Class::A | Class::B)
}

/// The prompts of a test and the answers to each.
pub fn draw(seed: u32) -> Vec<Trial> {
    let mut dice = Dice::new(u64::from(seed));
    let mut some = |of: &dyn Fn(Prompt) -> bool, n: usize| {
        let mut pool: Vec<Prompt> = Prompt::ALL.iter().copied().filter(|p| of(*p)).collect();
        dice.shuffle(&mut pool);
        pool.truncate(n);
        pool
    };
    let is_number = |p| family(p) == Family::Off;
    let mut prompts = some(&is_number, NUMBERS);
    prompts.extend(some(&|p| p.class() == Class::A && !is_number(p), OTHER_A));
    prompts.extend(some(&|p| p.class() == Class::B, OF_B));
    prompts.extend(some(&|p| !is_pressing(p), OTHERS));
    dice.shuffle(&mut prompts);
    prompts
        .into_iter()
        .map(|prompt| Trial {
            prompt,
            choices: choices(prompt, &mut dice),
            seed: dice.next(),
        })
        .collect()
}

/// The right answer and what it is most likely taken for: what sounds like it, what begins like it, its own
/// class, any other.
fn choices(right: Prompt, dice: &mut Dice) -> Vec<Prompt> {
    let mut others: Vec<Prompt> = Prompt::ALL.to_vec();
    dice.shuffle(&mut others);
    let nearness = |other: &Prompt| {
        if sounds_like(right) == Some(*other) {
            0
        } else if are_alike(right, *other) {
            1
        } else if right.class() == other.class() {
            2
        } else {
            3
        }
    };
    others.retain(|other| *other != right);
    others.sort_by_key(nearness);
    others.truncate(CHOICES.saturating_sub(1));
    others.push(right);
    dice.shuffle(&mut others);
    others
}

/// The number that differs in its ending alone, in English.
fn sounds_like(prompt: Prompt) -> Option<Prompt> {
    if prompt == Prompt::Off15 {
        Some(Prompt::Off50)
    } else {
        (prompt == Prompt::Off50).then_some(Prompt::Off15)
    }
}

/// Whether two prompts are of one kind: what one of them says or begins with is easily taken for the other.
pub fn are_alike(one: Prompt, other: Prompt) -> bool {
    family(one) == family(other)
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Family {
    Off,
    Count,
    Check,
    Drug,
    Device,
    Cup,
    Power,
    Team,
    Plan,
    Sound,
}

/// No source: by first words and topics of the sentences.
const fn family(prompt: Prompt) -> Family {
    match prompt {
        Prompt::Off05
        | Prompt::Off10
        | Prompt::Off15
        | Prompt::Off20
        | Prompt::Off30
        | Prompt::Off40
        | Prompt::Off50
        | Prompt::Off60 => Family::Off,
        Prompt::ChkCd5 | Prompt::ChkCd4 | Prompt::ChkCd3 | Prompt::ChkCd2 | Prompt::ChkCd1 => {
            Family::Count
        }
        Prompt::ChkNow
        | Prompt::ChkOver
        | Prompt::Chk30
        | Prompt::Chk15
        | Prompt::PadsNow
        | Prompt::HrNow => Family::Check,
        Prompt::DrugDue | Prompt::DrugLate | Prompt::Drug60 | Prompt::DrugNext | Prompt::Charge => {
            Family::Drug
        }
        Prompt::DevStop | Prompt::DevCont | Prompt::DevRatio | Prompt::FitPlan => Family::Device,
        Prompt::CupDown | Prompt::CupNow | Prompt::MovePlan => Family::Cup,
        Prompt::Power10 | Prompt::Power2 | Prompt::PowerOver | Prompt::PhoneLow => Family::Power,
        Prompt::RotateNow | Prompt::NextUp | Prompt::HoldEnd | Prompt::Still => Family::Team,
        Prompt::Causes | Prompt::PlanNow | Prompt::ArrestAgain => Family::Plan,
        Prompt::VoiceOff | Prompt::VoiceOn | Prompt::BeatOff | Prompt::Undo => Family::Sound,
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    fn seeds() -> impl Iterator<Item = u32> {
        (0..500).map(|n: u32| n.wrapping_mul(2_654_435_761))
    }

    #[test]
    fn twelve_prompts_each_once_ten_of_them_pressing_four_of_those_numbers() {
        let mut met = BTreeSet::new();
        for seed in seeds() {
            let trials = draw(seed);
            let prompts: BTreeSet<Prompt> = trials.iter().map(|t| t.prompt).collect();
            assert_eq!((trials.len(), prompts.len()), (PROMPTS, PROMPTS));
            let pressing = prompts.iter().filter(|p| is_pressing(**p)).count();
            let numbers = prompts
                .iter()
                .filter(|p| p.word().starts_with("off"))
                .count();
            assert_eq!((pressing, numbers), (10, 4), "{seed}");
            met.extend(prompts);
        }
        assert_eq!(met.len(), Prompt::ALL.len(), "each prompt comes up");
    }

    #[test]
    fn six_answers_with_the_right_one_at_any_place_and_the_likely_confusions() {
        let mut places = BTreeSet::new();
        for trial in seeds().flat_map(draw) {
            let Trial {
                prompt, choices, ..
            } = &trial;
            let each: BTreeSet<&Prompt> = choices.iter().collect();
            assert_eq!((choices.len(), each.len()), (CHOICES, CHOICES));
            places.extend(choices.iter().position(|c| c == prompt));
            let alike = choices.iter().filter(|c| are_alike(**c, *prompt)).count();
            let all = Prompt::ALL.iter().filter(|c| are_alike(**c, *prompt));
            assert_eq!(alike, all.count().min(CHOICES), "{trial:?}");
            for (one, other) in [
                (Prompt::Off15, Prompt::Off50),
                (Prompt::Off50, Prompt::Off15),
            ] {
                assert!(*prompt != one || choices.contains(&other), "{trial:?}");
            }
        }
        assert_eq!(places, (0..CHOICES).collect(), "no place is safe");
    }

    #[test]
    fn a_seed_draws_the_same_and_another_one_another() {
        assert_eq!(draw(7), draw(7));
        assert_ne!(draw(7), draw(8));
        let noises: BTreeSet<u64> = draw(7).iter().map(|t| t.seed).collect();
        assert_eq!(noises.len(), PROMPTS, "no noise is heard twice");
    }
}
