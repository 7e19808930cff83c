//! Start from outside the app beside what else the app may be at: a listening test, the ready check, a drill, a run that
//! was left by a kill.
#![expect(
    clippy::arithmetic_side_effects,
    reason = "the sums are of a test's own moments, and one that overflowed would fail"
)]

use ::drill::Scenario;
use ::listening::{Level, Progress};
use cycle::{Card, Prompt, SoundNews};
use record::RunKind;

use super::*;
use crate::{DrillAsk, ListeningAsk, Touch};

/// The louder key, held for a second.
const KEY: PhoneNews = PhoneNews::Begin {
    ago_ms: 1000,
    by_key: true,
};

fn touch(down_ms: u64) -> Touch {
    let now = uptime_ms();
    Touch {
        down_ms,
        taken_ms: now,
        sent_ms: now,
    }
}

impl Scene {
    fn asked(&mut self, ask: Ask) {
        self.house.asked(uptime_ms(), ask);
        self.house.tell_due();
        self.wake();
    }

    fn listening(&mut self, ask: ListeningAsk) {
        self.asked(Ask::Listening(ask));
    }

    /// A listening test has begun, and so many of its prompts were answered.
    fn listened(name: &str, prompts: usize) -> Self {
        let mut scene = Self::new(name);
        let level = Level::of(6).unwrap();
        scene.listening(ListeningAsk::Begin {
            level,
            listener: None,
        });
        for n in 1..=prompts {
            scene.hear(n);
            scene.listening(ListeningAsk::Answer {
                n,
                answer: None::<Prompt>,
                touch: touch(uptime_ms()),
            });
        }
        scene
    }

    /// Its next prompt is heard to the end.
    fn hear(&mut self, n: usize) {
        self.listening(ListeningAsk::Play);
        let (id, _) = *self.speaker.trials().last().unwrap();
        let at = crate::house::house_now(uptime_ms());
        self.speaker.tell(SoundNews::Started { id, at });
        self.pass(30);
        let stands = self.last().listening;
        let is_asked = matches!(stands, Some(Progress::Asking { n: at, .. }) if at == n);
        assert!(is_asked, "{stands:?}");
    }

    /// A drill goes on, of the first minutes.
    fn drilling(name: &str) -> Self {
        let mut scene = Self::new(name);
        scene.choose();
        scene.begin_by_hand();
        scene.pass(20);
        assert!(scene.banners().contains(&"drill"));
        scene
    }

    fn choose(&mut self) {
        let scenario = Box::new(Scenario::built_in("first_minutes").unwrap());
        self.asked(Ask::Drill(DrillAsk::Choose {
            scenario,
            seed: 0,
            unit: None,
            crew: Some("B".to_owned()),
        }));
    }

    fn begin_by_hand(&mut self) {
        let act = Act::StartByHand;
        let touch = touch(uptime_ms());
        self.asked(Ask::Press { act, touch });
    }
}

/// The one that began last is a run and no drill, its clock begins at `zero` on the monotonic clock, and its first
/// compression is marked there.
fn is_a_run_from(records: &[Opened], zero: u64) {
    let run = records.last().unwrap();
    assert!(run.is_sound(), "{:?}", run.damage);
    assert_eq!(run.header.kind, RunKind::Test, "no drill");
    assert_eq!(run.header.scenario, None);
    assert!(
        ::drill::told(run).seed.is_none(),
        "no line says that it is a drill"
    );
    let began = run.base.mono_ms.saturating_sub(run.base.run.0);
    // What the test itself takes to ask lies between; the finger was down for longer.
    assert!((zero..zero + 200).contains(&began), "{began} {zero}");
    let on = run.entries.iter().find(|entry| {
        matches!(&entry.fact, cycle::Fact::Mark(mark) if cycle::mark::kind_of(mark) == "compr_start")
    });
    assert_eq!(on.unwrap().at, Ms::ZERO);
}

#[test]
fn start_from_outside_begins_a_run_beside_a_listening_test_wherever_it_stands() {
    for (name, prompts) in [("ready", 0), ("asking", 0), ("sounding", 0), ("done", 12)] {
        let mut scene = Scene::listened(&format!("test-{name}"), prompts);
        match name {
            "asking" => scene.hear(1),
            "sounding" => scene.listening(ListeningAsk::Play),
            _ => {}
        }
        let is_done = matches!(scene.last().listening, Some(Progress::Done(_)));
        assert_eq!(is_done, prompts == 12);
        scene.tell(&[TILE]);
        assert_eq!(scene.last().view.state, StateWord::ByHand, "{name}");
        assert_eq!(scene.last().listening, None);
        drop(scene.lines());
    }
}

#[test]
fn start_from_outside_begins_a_run_beside_the_sounds_of_the_ready_check() {
    let mut scene = Scene::new("check");
    scene.asked(Ask::Listen);
    scene.tell(&[TILE]);
    assert_eq!(scene.last().view.state, StateWord::ByHand);
    drop(scene.lines());
}

/// The louder key is held to hear better what sounds; where nothing does it asks for a start as a tile does.
#[test]
fn the_held_key_begins_a_run_unless_something_sounds_that_may_be_too_quiet() {
    let mut scene = Scene::new("key-check");
    scene.asked(Ask::Listen);
    scene.tell(&[KEY]);
    assert_eq!(scene.last().view.card, Card::Before);
    scene.pass(30);
    scene.tell(&[KEY]);
    assert_eq!(scene.last().view.state, StateWord::ByHand);
    drop(scene.lines());

    let mut scene = Scene::listened("key-test", 0);
    scene.listening(ListeningAsk::Play);
    scene.tell(&[KEY]);
    assert_eq!(scene.last().view.card, Card::Before);
    drop(scene);

    for prompts in [0, 12] {
        let mut scene = Scene::listened("key-silent", prompts);
        scene.tell(&[KEY]);
        assert_eq!(scene.last().view.state, StateWord::ByHand);
        drop(scene.lines());
    }

    let mut scene = Scene::drilling("key-drill");
    scene.tell(&[KEY]);
    assert!(scene.last().drill.is_some(), "its beat is made louder");
    scene.asked(Ask::Drill(DrillAsk::Stop));
    scene.tell(&[KEY]);
    assert!(scene.last().drill.is_none(), "nothing sounds in it");
    assert_eq!(scene.last().view.state, StateWord::ByHand);
    drop(scene.records());
}

/// The rule: a real call is never begun as a drill, nor goes on as one.
#[test]
fn start_from_outside_ends_a_drill_and_begins_a_run() {
    for stopped in [false, true] {
        let mut scene = Scene::drilling(&format!("drill-{stopped}"));
        if stopped {
            scene.asked(Ask::Drill(DrillAsk::Stop));
            scene.pass(60);
        }
        let asked = uptime_ms();
        scene.tell(&[TILE]);
        assert_eq!(scene.last().view.state, StateWord::ByHand);
        assert_eq!(scene.banners(), Vec::<&str>::new());
        assert!(scene.last().drill.is_none());
        scene.pass(5);
        let records = scene.records();
        assert_eq!(records.len(), 2);
        is_a_run_from(&records, asked - 400);
        is_kept_unfinished(&records[0]);
    }
}

/// A drill's record that is closed where it was left: no end was marked.
fn is_kept_unfinished(drill: &Opened) {
    assert_eq!(drill.header.kind, RunKind::Drill);
    assert!(drill.sealed && drill.is_sound(), "{:?}", drill.damage);
    let has_ended = drill.entries.iter().any(|entry| {
        matches!(&entry.fact, cycle::Fact::Mark(mark) if cycle::mark::kind_of(mark) == "end")
    });
    assert!(!has_ended);
    let is_stop = |entry: &cycle::Entry| {
        matches!(&entry.fact, cycle::Fact::Deed(cycle::fact::Deed::Drill(line))
            if line.what == cycle::fact::DrillWord::Stopped)
    };
    assert!(drill.entries.iter().any(is_stop));
}

#[test]
fn the_key_for_a_real_patient_ends_a_drill_and_begins_a_run_from_its_touch() {
    let mut scene = Scene::drilling("real");
    scene.pass(10);
    let down = uptime_ms() - 250;
    scene.asked(Ask::Drill(DrillAsk::RealPatient(touch(down))));
    assert_eq!(scene.last().view.state, StateWord::ByHand);
    assert!(scene.last().drill.is_none());
    let rests = scene.speaker.orders().into_iter().map(|(_, order)| order);
    let orders: Vec<Order> = rests.collect();
    let rest = orders.iter().rposition(|order| *order == Order::Rest);
    let score = orders
        .iter()
        .rposition(|order| matches!(order, Order::Score(_)));
    assert!(rest < score, "the drill falls silent, then the run sounds");
    // Touched again it is nothing new, and the run is no drill that could be stopped.
    scene.pass(5);
    scene.asked(Ask::Drill(DrillAsk::RealPatient(touch(uptime_ms()))));
    scene.asked(Ask::Drill(DrillAsk::Stop));
    scene.pass(5);
    assert_eq!(scene.last().view.state, StateWord::ByHand);
    let records = scene.records();
    assert_eq!(records.len(), 2);
    is_a_run_from(&records, down);
    is_kept_unfinished(&records[0]);
}

/// Its scenario is of another version after an update: then nothing but its record says that it is one.
#[test]
fn a_drill_whose_scenario_is_not_known_any_more_stands_in_no_patient_s_way() {
    let mut scene = Scene::drilling("unknown");
    scene.house.live.as_mut().unwrap().drill = None;
    let asked = uptime_ms();
    scene.tell(&[TILE]);
    assert_eq!(scene.banners(), Vec::<&str>::new());
    let records = scene.records();
    is_a_run_from(&records, asked - 400);
    assert!(records[0].sealed && records[0].header.kind == RunKind::Drill);
}

#[test]
fn a_drill_that_was_chosen_is_not_what_a_start_from_outside_begins() {
    let mut scene = Scene::new("armed");
    scene.choose();
    assert!(scene.banners().contains(&"drill"));
    let asked = uptime_ms();
    scene.tell(&[TILE]);
    assert_eq!(scene.banners(), Vec::<&str>::new());
    is_a_run_from(&scene.records(), asked - 400);
}

/// The rule: what was chosen is forgotten after five minutes. The phone slept: the loop's timer did not run on, and the
/// touch is taken before anything else.
#[test]
fn a_drill_that_was_chosen_five_minutes_ago_is_not_what_a_start_begins_that_comes_before_any_waking()
 {
    let mut scene = Scene::new("forgotten");
    scene.choose();
    leap::pass(300_000);
    let down = uptime_ms();
    scene.begin_by_hand();
    assert_eq!(scene.banners(), Vec::<&str>::new());
    is_a_run_from(&scene.records(), down);

    let mut scene = Scene::new("remembered");
    scene.choose();
    leap::pass(290_000);
    scene.begin_by_hand();
    assert!(scene.banners().contains(&"drill"), "{:?}", scene.banners());
    assert_eq!(scene.records()[0].header.kind, RunKind::Drill);
}

/// The rule: a run that stood still for less than five minutes goes on, after longer it is asked about. Who starts then
/// has answered: it is another patient.
#[test]
fn start_from_outside_after_a_long_gap_is_for_another_patient_and_after_a_short_one_nothing_new() {
    let mut scene = Scene::started("long-gap");
    scene.pass(20);
    let mut scene = scene.again(1200, || {});
    scene.wake();
    assert_eq!(scene.last().view.main, [Act::SamePatient, Act::NewPatient]);
    scene.tell(&[KEY]);
    assert_eq!(
        scene.last().view.card,
        Card::Unknown,
        "whose it is is asked"
    );
    let asked = uptime_ms();
    scene.tell(&[TILE]);
    assert_eq!(scene.last().view.state, StateWord::ByHand);
    let records = scene.records();
    assert_eq!(records.len(), 2);
    is_a_run_from(&records, asked - 400);
    let kinds: Vec<&str> = (records[0].entries.iter())
        .filter_map(|entry| match &entry.fact {
            cycle::Fact::Mark(mark) => Some(cycle::mark::kind_of(mark)),
            cycle::Fact::Amend(_) | cycle::Fact::Deed(_) => None,
        })
        .collect();
    assert_eq!(kinds.last(), Some(&"resume"));
    assert!(records[0].sealed);

    let mut scene = Scene::started("short-gap");
    scene.pass(20);
    let mut scene = scene.again(60, || {});
    scene.wake();
    assert_eq!(scene.last().view.state, StateWord::Unknown);
    scene.tell(&[TILE]);
    assert_eq!(scene.last().view.state, StateWord::Unknown);
    assert_eq!(scene.records().len(), 1);
}
