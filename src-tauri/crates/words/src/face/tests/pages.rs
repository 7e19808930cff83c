//! Whatever a crew presses, each page of keys holds all of its keys.

use cycle::{
    Act, ClipLengths, Input, Ms, Prompt, Protocol, Run, Setup, fact::Source, mark::PatientClass,
};

use super::words;
use crate::{Face, Group};

/// A page of the upright phone of 390 x 844: ten cells and the place beside Close.
const ON_PAGE: usize = 11;
/// So many of the likeliest stand on the sheet's own first page there.
const LIKELIEST: usize = 5;
/// Where the screen holds six to a page, these find room on two pages: see docs/taps.md.
const ON_TWO_SMALL: usize = 12;
/// The smallest page that a key on a further page of Set Right may lead to: six cells and that place.
const ON_SMALL: usize = 7;

fn setup(id: &str) -> Setup {
    let parse = |text: &str| Protocol::parse(text.as_bytes()).expect("example");
    let protocol = parse(Protocol::example(id).expect("example"));
    let lengths = Prompt::ALL.iter().map(|prompt| (*prompt, 1_500)).collect();
    Setup {
        class: protocol.class,
        others: PatientClass::ALL
            .iter()
            .filter(|class| **class != protocol.class)
            .filter_map(|class| Protocol::example_for(*class))
            .map(parse)
            .collect(),
        clips: ClipLengths::new(lengths).expect("lengths"),
        protocol,
    }
}

/// Numbers that are the same each time: Numerical Recipes' generator, whose high bits are used.
struct Dice(u32);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        usize::try_from(self.0 >> 8)
            .unwrap_or_default()
            .checked_rem(n)
            .unwrap_or_default()
    }
}

fn press(run: &mut Run, at: Ms, act: Act) {
    for mark in act.marks() {
        run.handle(
            at,
            Input::Mark {
                at,
                mark,
                src: Source::Button,
            },
        );
        while run.poll().is_some() {}
    }
}

fn faults(face: &Face) -> Vec<String> {
    let likeliest: Vec<Act> = face
        .sheet
        .iter()
        .take(LIKELIEST)
        .map(|key| key.act)
        .collect();
    let left = |group: &Group| -> usize {
        let keys = group.keys.iter();
        // The page of times has the key that turns the screen as well.
        let turn = usize::from(group.group == crate::GroupWord::Run);
        keys.filter(|act| !likeliest.contains(act))
            .count()
            .saturating_add(turn)
    };
    let mut faults = Vec::new();
    for group in &face.groups {
        if left(group) > ON_PAGE || group.keys.len() > ON_TWO_SMALL {
            faults.push(format!("{}: {:?}", group.label, group.keys));
        }
    }
    for group in &face.right {
        let most = if group.group == crate::GroupWord::Why {
            ON_PAGE
        } else {
            ON_SMALL
        };
        if group.keys.len() > most {
            faults.push(format!("{}: {:?}", group.label, group.keys));
        }
    }
    faults
}

#[test]
fn every_page_of_keys_holds_all_of_them_whatever_was_pressed() {
    let words = words();
    let mut found = Vec::new();
    let mut cards = std::collections::BTreeSet::new();
    for (n, id) in [
        "example-adult",
        "example-adult-b",
        "example-child",
        "example-infant",
        "example-newborn",
    ]
    .iter()
    .cycle()
    .take(60)
    .enumerate()
    {
        let mut dice = Dice(u32::try_from(n).expect("few"));
        let mut run = Run::new(setup(id));
        let idle = run.view(Ms::ZERO);
        let start = *idle.main.first().expect("a start");
        run.handle(Ms::ZERO, Input::Start(start.way().expect("a way")));
        while run.poll().is_some() {}
        press(&mut run, Ms::ZERO, start);
        let mut now = Ms::ZERO;
        for _ in 0..80 {
            now = Ms(now.0 + 1_000 + 500 * u64::try_from(dice.below(60)).expect("few"));
            run.handle(now, Input::Wake);
            while run.poll().is_some() {}
            let view = run.view(now);
            if view.card == cycle::Card::Ended {
                break;
            }
            cards.insert(view.card.word());
            for fault in faults(&words.face(&view, &[])) {
                found.push(format!("{id} {n} at {now:?}, {:?}: {fault}", view.card));
            }
            // Keys of the card half of the time: the states change by them.
            let card = [view.main.as_slice(), &view.side].concat();
            let keys = if dice.below(2) == 0 {
                &card
            } else {
                &view.sheet
            };
            if let Some(act) = keys.get(dice.below(keys.len())) {
                press(&mut run, now, *act);
            }
        }
    }
    assert_eq!(found, Vec::<String>::new());
    // The walk came by the cards of a run; a gap, a power cut and the end are not pressed.
    assert!(cards.len() >= 16, "{cards:?}");
}
