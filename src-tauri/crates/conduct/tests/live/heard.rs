//! What the ready check lets be heard.

use std::time::Duration;

use conduct::{Ask, Order, clock::uptime_ms, fakes::FakeSpeaker};
use cycle::{Act, Fact, StateWord, fact::Deed};

use crate::{House, house::folder::Folder, open, record};

const SET: cycle::Levels = cycle::Levels {
    beat_db: 3,
    breath_db: 6,
    voice_db: 12,
};

fn until_ordered(
    house: &House,
    speaker: &FakeSpeaker,
    what: &str,
    is: impl Fn(&[Order]) -> bool,
) -> Vec<Order> {
    let end = uptime_ms().saturating_add(20_000);
    loop {
        let orders: Vec<Order> = speaker
            .orders()
            .into_iter()
            .map(|(_, order)| order)
            .collect();
        if is(&orders) {
            return orders;
        }
        assert!(uptime_ms() < end, "never ordered: {what}; {orders:?}");
        // A screen may come or not.
        drop(house.shown.recv_timeout(Duration::from_millis(20)));
    }
}

/// Source: the ready check lets beats, breath tones and a voice be heard at the level that is set.
#[test]
fn the_sounds_are_heard_at_the_level_that_is_set_and_fall_silent_by_themselves() {
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let house = open(folder.path(), &speaker).unwrap();
    house.handle.ask(Ask::Levels(SET));
    house.handle.ask(Ask::Listen);
    let silent = |orders: &[Order]| orders.last() == Some(&Order::Rest);
    let orders = until_ordered(&house, &speaker, "silence", silent);
    let levels = orders.iter().position(|o| *o == Order::Levels(SET.into()));
    let score = orders.iter().position(|o| matches!(o, Order::Score(_)));
    assert!(levels.is_some() && levels < score, "{orders:?}");
    let Some(Order::Score(placed)) = score.and_then(|n| orders.get(n)) else {
        panic!("{orders:?}");
    };
    let beat::Pattern::Ratio { breaths, .. } = placed.score.pattern else {
        panic!("{placed:?}");
    };
    assert_eq!(breaths, 2);
    let voices = orders.iter().filter(|o| match o {
        Order::Play(cue) => matches!(cue.sound, cycle::CueSound::Voice(_)),
        Order::Score(_) | Order::Revoke(_) | Order::Levels(_) | Order::Rest | Order::Noise(_) => {
            false
        }
    });
    assert_eq!(voices.count(), 1);
    house.handle.close();
}

/// Nothing of the ready check is heard in the run that begins meanwhile, and the run is as loud as it was set;
/// the record says so.
#[test]
fn a_run_that_begins_while_the_sounds_are_heard_has_its_own() {
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let house = open(folder.path(), &speaker).unwrap();
    house.handle.ask(Ask::Levels(SET));
    house.handle.ask(Ask::Listen);
    house.press(Act::StartByHand);
    house.until("the run", |s| s.view.state == StateWord::ByHand);
    let orders: Vec<Order> = speaker
        .orders()
        .into_iter()
        .map(|(_, order)| order)
        .collect();
    let rest = orders.iter().rposition(|o| *o == Order::Rest);
    let score = orders.iter().rposition(|o| matches!(o, Order::Score(_)));
    assert!(rest.is_some() && rest < score, "{orders:?}");
    house.handle.close();
    let opened = ::record::open(&record(&folder)).unwrap();
    let set = opened.entries.iter().filter_map(|e| match &e.fact {
        Fact::Deed(Deed::Setting { value, .. }) => Some(*value),
        Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
    });
    assert_eq!(set.collect::<Vec<_>>(), [SET]);
    let last = orders.iter().rev().find_map(|o| match o {
        Order::Levels(levels) => Some(*levels),
        Order::Score(_) | Order::Play(_) | Order::Revoke(_) | Order::Rest | Order::Noise(_) => None,
    });
    assert_eq!(last, Some(SET.into()));
}

/// Six beats at 110 a minute take 3272.7 ms, the window three seconds, then half a second to the tone, 0.9 s to the voice.
#[test]
fn tone_and_voice_come_after_the_beats_as_they_are_placed() {
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let house = open(folder.path(), &speaker).unwrap();
    house.handle.ask(Ask::Listen);
    let asked = |orders: &[Order]| {
        let cues = orders.iter().filter(|o| matches!(o, Order::Play(_)));
        cues.count() == 2
    };
    let orders = until_ordered(&house, &speaker, "tone and voice", asked);
    let placed = orders.iter().find_map(|o| match o {
        Order::Score(placed) => Some(*placed),
        Order::Play(_) | Order::Revoke(_) | Order::Levels(_) | Order::Rest | Order::Noise(_) => {
            None
        }
    });
    let placed = placed.unwrap();
    assert_eq!(placed.score.rate.per_minute(), 110);
    let at = orders.iter().filter_map(|o| match o {
        Order::Play(cue) => match cue.start {
            cycle::Start::At(at) => Some(at.0 - placed.anchor_ms),
            cycle::Start::Now => None,
        },
        Order::Score(_) | Order::Revoke(_) | Order::Levels(_) | Order::Rest | Order::Noise(_) => {
            None
        }
    });
    assert_eq!(at.collect::<Vec<_>>(), [6772, 7672]);
    house.handle.close();
}
