use std::sync::{Arc, Mutex};

use cycle::{
    Act, Card, ClipLengths, CueSound, Fact, Figure, Input, Mark, Ms, Prompt, Protocol, Seq, Setup,
    SoundNews, StateWord,
    fact::{Deed, Source},
    mark::{PatientClass, SetState},
};

use super::{Keeper, Stage};
use crate::{
    Clock, Durability, House, Order, Speaker,
    fakes::{FakeClock, FakeSpeaker},
};

#[derive(Clone, Debug, Default)]
struct Pages(Arc<Mutex<Vec<u8>>>);

impl Keeper for Pages {
    fn keep(&mut self, line: Vec<u8>, _through: Seq, _durability: Durability) {
        self.0.lock().unwrap().extend(line);
    }
}

fn setup() -> Setup {
    let text = Protocol::example("example-adult").unwrap();
    Setup {
        protocol: Protocol::parse(text.as_bytes()).unwrap(),
        clips: ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 1000)).collect()).unwrap(),
        class: PatientClass::Adult,
        others: Vec::new(),
    }
}

fn stage() -> (Stage, Pages, FakeSpeaker) {
    let pages = Pages::default();
    let (stage, opening) = stage_with(Box::new(pages.clone()));
    pages.0.lock().unwrap().extend(opening);
    (stage, pages, FakeSpeaker::new())
}

/// A stage with this keeper, and the record's first lines.
fn stage_with(keeper: Box<dyn Keeper>) -> (Stage, Vec<u8>) {
    let heads = crate::fakes::heads("00000000-0000-4000-8000-000000000000");
    let clock: Arc<dyn Clock> = Arc::new(FakeClock::new());
    let (chain, opening) = heads.open(&setup(), &clock.stamp(Ms::ZERO, 0)).unwrap();
    let stage = Stage::begin(setup(), chain, clock, House::same(), keeper);
    (stage, opening)
}

fn press(stage: &mut Stage, speaker: &mut FakeSpeaker, at: u64, act: Act) {
    for mark in act.marks() {
        stage.step(
            speaker,
            Ms(at),
            Input::Mark {
                at: Ms(at),
                mark,
                src: Source::Button,
            },
        );
    }
}

fn is_flag(input: &Input) -> bool {
    matches!(input, Input::Mark { mark, .. } if cycle::mark::kind_of(mark) == "flag")
}

fn kinds(pages: &Pages) -> Vec<String> {
    let opened = record::open(&pages.0.lock().unwrap()).unwrap();
    assert!(opened.is_sound(), "{:?}", opened.damage);
    opened
        .entries
        .iter()
        .map(|e| match &e.fact {
            Fact::Mark(m) => cycle::mark::kind_of(m).to_owned(),
            Fact::Amend(_) => "amend".to_owned(),
            Fact::Deed(Deed::Fault { .. }) => "fault".to_owned(),
            Fact::Deed(_) => "deed".to_owned(),
        })
        .collect()
}

/// What left the stage, in the order in which it left: orders to the speaker and lines to the record.
#[derive(Clone, Debug, Default)]
struct Left(Arc<Mutex<Vec<&'static str>>>);

impl Keeper for Left {
    fn keep(&mut self, _line: Vec<u8>, _through: Seq, _durability: Durability) {
        self.0.lock().unwrap().push("line");
    }
}

impl Speaker for Left {
    fn order(&mut self, _now: Ms, order: Order) {
        self.0.lock().unwrap().push(match order {
            Order::Score(_) => "score",
            Order::Play(_) => "cue",
            Order::Revoke(_) | Order::Levels(_) | Order::Rest | Order::Noise(_) => "other",
        });
    }

    fn news(&mut self, _now: Ms) -> Option<SoundNews> {
        None
    }

    fn next_wakeup(&self) -> Option<Ms> {
        None
    }
}

#[test]
fn sound_comes_before_the_log() {
    let left = Left::default();
    let (mut stage, _) = stage_with(Box::new(left.clone()));
    let mut step = |at: u64, mark: Mark| {
        left.0.lock().unwrap().clear();
        let (at, src) = (Ms(at), Source::Button);
        stage.step(&mut left.clone(), at, Input::Mark { at, mark, src });
        left.0.lock().unwrap().clone()
    };
    let begin = Act::StartByHand.marks();
    let off = Act::HandsOff.marks();
    for (at, mark) in [(0, &begin[0]), (0, &begin[1]), (20_000, &off[0])] {
        let told = step(at, mark.clone());
        let orders = told.iter().take_while(|what| **what != "line").count();
        assert!(orders > 0, "{told:?}");
        assert!(
            told[orders..].iter().all(|what| *what == "line"),
            "{told:?}"
        );
        assert!(told.contains(&"line"), "{told:?}");
        // The beat begins, and ends, before its mark is written.
        assert_eq!(told.contains(&"score"), mark != &begin[0], "{told:?}");
    }
}

#[test]
fn one_fault_of_the_rules_is_written_and_the_run_goes_on() {
    let (mut stage, pages, mut speaker) = stage();
    press(&mut stage, &mut speaker, 0, Act::StartByHand);
    stage.fail_on(is_flag);
    press(&mut stage, &mut speaker, 5000, Act::Flag);
    assert!(!stage.is_bare());
    press(&mut stage, &mut speaker, 6000, Act::HandsOff);
    let kinds = kinds(&pages);
    assert!(kinds.contains(&"fault".to_owned()) && kinds.contains(&"compr_stop".to_owned()));
    assert!(!kinds.contains(&"flag".to_owned()));
}

#[test]
fn what_a_fault_swallows_is_told_as_not_taken() {
    let (mut stage, _pages, mut speaker) = stage();
    press(&mut stage, &mut speaker, 0, Act::StartByHand);
    let before = stage.last_act().unwrap();
    assert!(before.taken);
    stage.fail_on(is_flag);
    press(&mut stage, &mut speaker, 5000, Act::Flag);
    let after = stage.last_act().unwrap();
    assert!(!after.taken && after.seq > before.seq, "{after:?}");
}

#[test]
fn without_rules_the_card_says_nothing_that_it_cannot_know() {
    let (mut stage, _pages, mut speaker) = stage();
    press(&mut stage, &mut speaker, 0, Act::StartByHand);
    press(&mut stage, &mut speaker, 20_000, Act::HandsOff);
    stage.fail_on(is_flag);
    press(&mut stage, &mut speaker, 25_000, Act::Flag);
    press(&mut stage, &mut speaker, 26_000, Act::Flag);
    press(&mut stage, &mut speaker, 30_000, Act::HandsOn);
    let view = stage.view(Ms(40_000));
    assert_eq!(view.state, StateWord::Unknown);
    assert_eq!(view.card, Card::Unknown);
    assert_eq!(view.figure, Figure::None);
}

#[test]
fn a_second_fault_within_ten_seconds_leaves_beat_and_marks() {
    let (mut stage, pages, mut speaker) = stage();
    press(&mut stage, &mut speaker, 0, Act::StartByHand);
    let orders = speaker.orders().len();
    stage.fail_on(is_flag);
    press(&mut stage, &mut speaker, 5000, Act::Flag);
    press(&mut stage, &mut speaker, 9000, Act::Flag);
    assert!(stage.is_bare());
    press(&mut stage, &mut speaker, 11_000, Act::HandsOff);
    // No order was given that would stop the score.
    let score_orders = speaker
        .orders()
        .iter()
        .skip(orders)
        .filter(|(_, o)| matches!(o, Order::Score(_)))
        .count();
    assert_eq!(score_orders, 0);
    let kinds = kinds(&pages);
    assert_eq!(kinds.iter().filter(|k| *k == "fault").count(), 2);
    assert_eq!(kinds.iter().filter(|k| *k == "flag").count(), 1);
    assert_eq!(kinds.last().map(String::as_str), Some("compr_stop"));
}

#[test]
fn without_rules_the_true_state_is_still_written_and_nothing_is_taken_back() {
    let (mut stage, pages, mut speaker) = stage();
    press(&mut stage, &mut speaker, 0, Act::StartByHand);
    stage.fail_on(is_flag);
    press(&mut stage, &mut speaker, 5000, Act::Flag);
    press(&mut stage, &mut speaker, 9000, Act::Flag);
    assert!(stage.is_bare());
    let set_right = Input::SetRight {
        state: SetState::HandsOff,
        back: Ms(60_000),
    };
    stage.step(&mut speaker, Ms(100_000), set_right);
    stage.step(&mut speaker, Ms(101_000), Input::Remove(Seq(3)));
    let (target, by) = (Seq(3), Ms(5000));
    let earlier = Input::Earlier { target, by };
    stage.step(&mut speaker, Ms(102_000), earlier);
    let bytes = pages.0.lock().unwrap().clone();
    let entries = record::open(&bytes).unwrap().entries;
    let told = |e: &cycle::Entry| (e.at, e.taken, e.fact.clone());
    let set = cycle::mark::FlowMark::StateSet {
        state: SetState::HandsOff,
    };
    let [written, ignored @ ..] = entries.last_chunk::<3>().unwrap();
    let set = Fact::Mark(Mark::Flow(set));
    assert_eq!(told(written), (Ms(40_000), Ms(100_000), set));
    for ignored in ignored {
        assert!(
            matches!(&ignored.fact, Fact::Deed(Deed::Ignored { kind, .. }) if kind == "amend"),
            "{ignored:?}"
        );
    }
}

#[test]
fn a_second_fault_much_later_is_a_first_one() {
    let (mut stage, _, mut speaker) = stage();
    press(&mut stage, &mut speaker, 0, Act::StartByHand);
    stage.fail_on(is_flag);
    press(&mut stage, &mut speaker, 5000, Act::Flag);
    press(&mut stage, &mut speaker, 15_001, Act::Flag);
    assert!(!stage.is_bare());
}

fn levels(speaker: &FakeSpeaker) -> Vec<(Ms, u16, u16, u16)> {
    let of = |(at, order): &(Ms, Order)| match order {
        Order::Levels(set) => Some((*at, set.beat_ddb, set.breath_ddb, set.voice_ddb)),
        Order::Score(_) | Order::Play(_) | Order::Revoke(_) | Order::Rest | Order::Noise(_) => None,
    };
    speaker.orders().iter().filter_map(of).collect()
}

#[test]
fn levels_are_ordered_before_the_sounds_of_the_run_and_of_the_touch_that_sets_them() {
    let (mut stage, _, mut speaker) = stage();
    press(&mut stage, &mut speaker, 0, Act::StartByHand);
    assert!(matches!(speaker.orders()[0].1, Order::Levels(_)));
    assert_eq!(levels(&speaker), [(Ms(0), 0, 0, 0)]);
    let set = cycle::Levels {
        beat_db: 3,
        breath_db: 6,
        voice_db: 12,
    };
    let before = speaker.orders().len();
    let mark = stage.run().entered(&cycle::Entered::Levels(set)).unwrap();
    let (at, src) = (Ms(5000), Source::Button);
    stage.step(&mut speaker, Ms(5000), Input::Mark { at, mark, src });
    let after = &speaker.orders()[before..];
    assert!(matches!(after[0].1, Order::Levels(_)), "{after:?}");
    assert!(
        after.iter().any(|(_, o)| matches!(o, Order::Play(_))),
        "the receipt"
    );
    assert_eq!(levels(&speaker)[1..], [(Ms(5000), 30, 60, 120)]);
    stage.step(&mut speaker, Ms(6000), Input::Wake);
    assert_eq!(levels(&speaker).len(), 2, "once");
    stage.step(&mut speaker, Ms(7000), Input::Undo);
    assert_eq!(levels(&speaker)[2..], [(Ms(7000), 0, 0, 0)]);
}

/// A headset connects 0.3 s into the sentence: the speaker's stream is gone, and a new one plays a second later.
#[test]
fn a_sentence_whose_stream_goes_away_is_kept_as_cut_and_ordered_again_once_there_is_sound() {
    let (mut stage, pages, mut speaker) = stage();
    for (at, act) in [
        (0, Act::StartByHand),
        (10_000, Act::FitDevice),
        (20_000, Act::HandsOffFit),
        (26_000, Act::DeviceRunning),
        (30_000, Act::CupGood),
        (60_000, Act::Stopped),
    ] {
        press(&mut stage, &mut speaker, at, act);
        stage.hear(&mut speaker, Ms(at));
    }
    let dev_stop = CueSound::Voice(Prompt::DevStop);
    let ordered = |speaker: &FakeSpeaker| {
        let orders = speaker.orders().into_iter();
        let cues = orders.filter_map(|(at, order)| match order {
            Order::Play(cue) => (cue.sound == dev_stop).then_some((at, cue.id)),
            Order::Score(_)
            | Order::Revoke(_)
            | Order::Levels(_)
            | Order::Rest
            | Order::Noise(_) => None,
        });
        cues.collect::<Vec<_>>()
    };
    let [(at, id)] = ordered(&speaker)[..] else {
        panic!("{:?}", ordered(&speaker))
    };
    assert_eq!(at, Ms(60_000));
    speaker.tell(SoundNews::Lost);
    speaker.tell(SoundNews::Cut { id });
    stage.hear(&mut speaker, Ms(60_300));
    assert_eq!(ordered(&speaker).len(), 1, "nothing would be heard of it");
    speaker.tell(SoundNews::Back);
    stage.hear(&mut speaker, Ms(61_300));
    stage.hear(&mut speaker, Ms(61_310));
    let [_, (again, _)] = ordered(&speaker)[..] else {
        panic!("{:?}", ordered(&speaker))
    };
    assert_eq!(again, Ms(61_300));
    let bytes = pages.0.lock().unwrap().clone();
    let entries = record::open(&bytes).unwrap().entries;
    let told = entries.iter().filter_map(|e| match &e.fact {
        Fact::Deed(Deed::Cue(line)) if line.id == Some(Prompt::DevStop) => {
            Some(format!("{} {:?}", line.outcome.word(), line.why))
        }
        Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
    });
    assert_eq!(
        told.collect::<Vec<_>>(),
        [
            "asked None",
            "spoken None",
            "cut Some(NoSound)",
            "asked None",
            "spoken None"
        ]
    );
}
