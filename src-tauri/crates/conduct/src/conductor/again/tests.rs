//! A drill that is stopped, looked at, gone on with and gone through again; what is injected; noise.

use std::{
    fs,
    path::PathBuf,
    sync::{Arc, mpsc},
    thread,
    time::Duration,
};

use ::drill::{CueKind, Item, told};
use beat::Pattern;
use cycle::{
    Act, Fact, Ms, StateWord,
    fact::{Deed, DrillWord},
};
use record::{Opened, RunKind};

use super::super::{Conductor, faked::faked};
use crate::{
    Ask, DrillAsk, DrillLive, DrillSaid, FileStore, Order, PhoneNews, Store, Touch,
    clock::{leap, uptime_ms},
    fakes::{FakePhone, FakeSpeaker, PowerDisk},
};

fn touch(now: u64) -> Touch {
    Touch {
        down_ms: now,
        taken_ms: now,
        sent_ms: now,
    }
}

struct Crew {
    house: Conductor,
    speaker: FakeSpeaker,
    store: FileStore,
    folder: PathBuf,
}

impl Drop for Crew {
    fn drop(&mut self) {
        drop(fs::remove_dir_all(&self.folder));
    }
}

impl Crew {
    fn new(name: &str) -> Self {
        let name = format!("carrybeat-again-{name}-{}", std::process::id());
        let folder = std::env::temp_dir().join(name);
        drop(fs::remove_dir_all(&folder));
        Self::on(FileStore::at(&folder), folder)
    }

    fn on(store: FileStore, folder: PathBuf) -> Self {
        let (speaker, phone) = (FakeSpeaker::new(), FakePhone::new());
        let parts = faked(&folder, (&speaker, &phone), Box::new(drop));
        let made = store.make();
        Self {
            house: Conductor::new(parts, (store.clone(), made), None),
            speaker,
            store,
            folder,
        }
    }

    fn drilling(name: &str) -> Self {
        Self::new(name).in_drill()
    }

    /// A drill in which the instructor tells each cue but the first, which comes as it begins.
    fn in_drill(mut self) -> Self {
        let crew = &mut self;
        let scenario = ::drill::Scenario::built_in("first_minutes").unwrap();
        crew.ask(DrillAsk::Choose {
            scenario: Box::new(scenario),
            seed: 0,
            unit: Some("M12".to_owned()),
            crew: Some("B".to_owned()),
        });
        crew.press(Act::StartByHand);
        crew.ask(DrillAsk::ByHand(true));
        self
    }

    fn ask(&mut self, ask: DrillAsk) {
        self.house.asked(uptime_ms(), Ask::Drill(ask));
        self.pass(0);
    }

    fn press(&mut self, act: Act) {
        let now = uptime_ms();
        let touch = touch(now);
        self.house.asked(now, Ask::Press { act, touch });
        self.pass(0);
    }

    /// What was read of a drill that is to go on, if anything is awaited.
    fn answered(&mut self) {
        if let Some(reread) = self.house.reread.blocking_recv() {
            self.house.go_from(reread);
        }
        self.pass(0);
    }

    /// So much time passes, as the thread would live it.
    fn pass(&mut self, ms: u64) {
        let mut left = ms;
        loop {
            let step = left.min(500);
            leap::pass(step);
            left = left.saturating_sub(step);
            self.house.wake();
            self.house.tell_due();
            self.house.show();
            if left == 0 {
                return;
            }
        }
    }

    fn live(&self) -> DrillLive {
        self.house.drill_shown().unwrap().live.unwrap()
    }

    /// The run's time.
    fn now(&self) -> Ms {
        let live = self.house.live.as_ref().unwrap();
        live.clock.now().max(live.last)
    }

    fn state(&mut self) -> StateWord {
        let now = self.now();
        self.house.live.as_mut().unwrap().stage.view(now).state
    }

    /// The records, the one that was written first first.
    fn records(mut self) -> Vec<Opened> {
        self.house.close();
        let mut all: Vec<Opened> = (self.store.list().unwrap().iter())
            .map(|id| record::open(&self.store.read(id).unwrap()).unwrap())
            .collect();
        all.sort_by_key(|one| one.stamps.last().map(|stamp| stamp.mono_ms));
        all
    }

    fn orders(&self) -> Vec<Order> {
        self.speaker
            .orders()
            .into_iter()
            .map(|(_, order)| order)
            .collect()
    }
}

fn lines(of: &Opened) -> Vec<(DrillWord, Option<String>)> {
    let lines = of.entries.iter().filter_map(|entry| match &entry.fact {
        Fact::Deed(Deed::Drill(line)) => Some((line.what, line.id.clone())),
        Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
    });
    lines.collect()
}

fn is_silent(order: &Order) -> bool {
    !matches!(order, Order::Score(placed) if placed.score.pattern != Pattern::Silent { breath_ms: 0 })
}

#[test]
fn stopped_it_is_silent_nothing_is_marked_and_it_is_kept_as_it_is() {
    let mut crew = Crew::drilling("stop");
    crew.pass(20_000);
    assert_eq!(crew.live().stopped, None);
    let before = crew.speaker.orders().len();
    crew.ask(DrillAsk::Stop);
    let stopped = crew.live().stopped.unwrap();
    assert!((20_000..20_500).contains(&stopped.0), "{stopped}");
    let orders = crew.orders().split_off(before);
    assert!(
        orders.iter().any(|o| matches!(o, Order::Score(_))),
        "{orders:?}"
    );
    assert!(
        orders.iter().all(is_silent) && orders.ends_with(&[Order::Rest]),
        "{orders:?}"
    );
    let asked = crew.speaker.orders().len();
    crew.press(Act::HandsOff);
    crew.ask(DrillAsk::Tell);
    crew.ask(DrillAsk::Event(CueKind::CupSlips));
    crew.ask(DrillAsk::Tick {
        item: Item::RolesSaid,
        on: true,
    });
    crew.ask(DrillAsk::Stop);
    crew.pass(120_000);
    assert_eq!(crew.live().stopped, Some(stopped));
    assert_eq!(
        crew.speaker.orders().len(),
        asked,
        "nothing sounds while the crew talks"
    );
    let records = crew.records();
    let [one] = records.as_slice() else {
        panic!("{}", records.len())
    };
    assert!(one.sealed && one.is_sound());
    assert_eq!(lines(one).last().unwrap().0, DrillWord::Stopped);
    assert_eq!(one.run_end(), stopped);
    assert!(!one.entries.iter().any(|e| matches!(&e.fact, Fact::Mark(mark) if e.at > Ms(1000) && cycle::mark::kind_of(mark) == "compr_stop")));
}

#[test]
fn gone_on_with_it_has_all_its_lines_and_goes_on_from_that_moment() {
    let mut crew = Crew::drilling("on");
    crew.ask(DrillAsk::Tick {
        item: Item::AnswersGiven,
        on: true,
    });
    crew.pass(20_000);
    crew.press(Act::HandsOff);
    crew.pass(3000);
    crew.ask(DrillAsk::GoOn);
    crew.answered();
    assert_eq!(
        crew.live().stopped,
        None,
        "it was not stopped: nothing happens"
    );
    crew.ask(DrillAsk::Stop);
    let stopped = crew.live().stopped.unwrap();
    crew.pass(90_000);
    crew.ask(DrillAsk::GoOn);
    crew.answered();
    assert_eq!(crew.live().stopped, None);
    assert!(
        crew.now().since(stopped) < Ms(500),
        "{} {stopped}",
        crew.now()
    );
    assert_eq!(crew.state(), StateWord::HandsOff);
    assert_eq!(crew.live().ticked, [Item::AnswersGiven]);
    assert!(crew.live().by_hand, "the instructor still tells each");
    crew.press(Act::HandsOn);
    crew.pass(2000);
    let beats = crew.orders().iter().rev().find_map(|o| {
        if let Order::Score(placed) = o {
            Some(placed.score.pattern)
        } else {
            None
        }
    });
    assert!(matches!(beats, Some(Pattern::Ratio { .. })), "{beats:?}");
    let records = crew.records();
    let [one, two] = records.as_slice() else {
        panic!("{}", records.len())
    };
    assert_eq!(
        told(two).again,
        Some((one.header.record_id.clone(), stopped))
    );
    assert_eq!(one.entries[..], two.entries[..one.entries.len()]);
    assert_eq!(two.header.unit_code.as_deref(), Some("M12"));
    assert_eq!(told(two).crew.as_deref(), Some("B"));
}

#[test]
fn another_try_has_what_was_ticked_and_told_by_hand_before_its_point_and_nothing_after() {
    let mut crew = Crew::drilling("ticks");
    crew.ask(DrillAsk::Tell);
    crew.pass(5000);
    crew.ask(DrillAsk::Tick {
        item: Item::RolesSaid,
        on: true,
    });
    crew.ask(DrillAsk::Tick {
        item: Item::PositionAgain,
        on: true,
    });
    crew.pass(1000);
    crew.ask(DrillAsk::Tick {
        item: Item::PositionAgain,
        on: false,
    });
    crew.pass(11_000);
    crew.ask(DrillAsk::Tick {
        item: Item::AnswersGiven,
        on: true,
    });
    crew.ask(DrillAsk::Tell);
    crew.pass(3000);
    assert_eq!(crew.live().told, [true, true, true, false]);
    crew.ask(DrillAsk::Again);
    crew.answered();
    let live = crew.live();
    assert_eq!(live.ticked, [Item::RolesSaid]);
    assert_eq!(live.told, [true, true, false, false]);
    assert_eq!(live.next.map(|(cue, _)| cue), Some(2));
    assert!(live.by_hand);
    assert!((9900..10_500).contains(&crew.now().0), "{}", crew.now());
    let records = crew.records();
    let [one, two] = records.as_slice() else {
        panic!("{}", records.len())
    };
    assert!(one.sealed, "the first try is kept as it was");
    assert_eq!(told(one).ticked.len(), 2);
    assert_eq!(told(two).ticked.iter().collect::<Vec<_>>(), ["roles_said"]);
}

#[test]
fn any_event_is_injected_told_and_in_the_record_and_no_cue_is_told_by_it() {
    let mut crew = Crew::drilling("event");
    for kind in CueKind::EVENTS {
        crew.ask(DrillAsk::Event(kind));
        assert_eq!(
            crew.live().last.map(|(said, _)| said),
            Some(DrillSaid::Event(kind))
        );
        crew.pass(1000);
    }
    crew.ask(DrillAsk::Event(CueKind::DeviceStops));
    crew.ask(DrillAsk::Event(CueKind::Say));
    assert_eq!(crew.live().told, [true, false, false, false]);
    crew.pass(11_000);
    assert_eq!(
        crew.live().last,
        None,
        "it stands on the card for ten seconds"
    );
    let records = crew.records();
    let injected: Vec<CueKind> = told(&records[0])
        .injected
        .iter()
        .map(|(kind, _)| *kind)
        .collect();
    let mut all = CueKind::EVENTS.to_vec();
    all.push(CueKind::DeviceStops);
    assert_eq!(injected, all);
    assert_eq!(
        told(&records[0]).heard.0.keys().collect::<Vec<_>>(),
        ["found"]
    );
}

#[test]
fn noise_begins_with_its_event_ends_by_itself_by_a_tap_or_as_the_drill_is_stopped() {
    let noise = |crew: &Crew| -> Vec<bool> {
        let each = crew.orders().into_iter();
        each.filter_map(|order| {
            if let Order::Noise(on) = order {
                Some(on)
            } else {
                None
            }
        })
        .collect()
    };
    let mut crew = Crew::drilling("noise");
    crew.ask(DrillAsk::Event(CueKind::CupSlips));
    assert!(noise(&crew).is_empty());
    crew.ask(DrillAsk::Event(CueKind::Noise));
    assert!(crew.live().is_noisy);
    crew.pass(59_000);
    assert_eq!(noise(&crew), [true]);
    crew.pass(1500);
    assert_eq!(noise(&crew), [true, false]);
    assert!(!crew.live().is_noisy);
    crew.ask(DrillAsk::Event(CueKind::Noise));
    crew.ask(DrillAsk::Quiet);
    assert_eq!(noise(&crew), [true, false, true, false]);
    crew.ask(DrillAsk::Event(CueKind::Noise));
    crew.pass(2000);
    crew.ask(DrillAsk::Stop);
    assert_eq!(noise(&crew).last(), Some(&false));
    let records = crew.records();
    let words: Vec<DrillWord> = lines(&records[0])
        .into_iter()
        .map(|(what, _)| what)
        .collect();
    let (on, off) = (DrillWord::NoiseOn, DrillWord::NoiseOff);
    let event = DrillWord::Injected;
    assert_eq!(
        words,
        [
            DrillWord::Begun,
            DrillWord::Cue,
            event,
            event,
            on,
            off,
            event,
            on,
            off,
            event,
            on,
            off,
            DrillWord::Stopped
        ]
    );
}

#[test]
fn a_run_has_no_noise_and_no_event_and_is_never_stopped() {
    let mut crew = Crew::new("run");
    crew.press(Act::StartByHand);
    crew.ask(DrillAsk::Event(CueKind::Noise));
    crew.ask(DrillAsk::Stop);
    crew.ask(DrillAsk::GoOn);
    crew.answered();
    crew.ask(DrillAsk::Again);
    crew.answered();
    crew.pass(3000);
    assert_eq!(crew.state(), StateWord::ByHand);
    assert!(!crew.orders().iter().any(|o| matches!(o, Order::Noise(_))));
    let records = crew.records();
    assert_eq!(records.len(), 1);
    assert_eq!(lines(&records[0]), []);
}

#[test]
fn a_stopped_drill_is_put_away_and_stands_in_no_start_s_way() {
    let mut crew = Crew::drilling("leave");
    crew.pass(3000);
    crew.ask(DrillAsk::Stop);
    crew.ask(DrillAsk::Leave);
    assert!(crew.house.live.is_none() && crew.house.drill_shown().is_none());
    let mut crew = Crew::drilling("start");
    crew.pass(3000);
    crew.ask(DrillAsk::Stop);
    crew.press(Act::StartByHand);
    assert_eq!(crew.state(), StateWord::ByHand);
    assert!(crew.house.drill_shown().is_none());
    let kinds: Vec<RunKind> = crew.records().iter().map(|one| one.header.kind).collect();
    assert_eq!(
        kinds.iter().filter(|kind| **kind == RunKind::Drill).count(),
        1,
        "{kinds:?}"
    );
    assert_eq!(kinds.len(), 2);
}

/// A disk in memory, and a folder on it.
fn disk() -> (PowerDisk, PathBuf) {
    let root = std::env::temp_dir();
    let folder = root.join("carrybeat-again-in-memory");
    (PowerDisk::new(&root, 1), folder)
}

/// What comes of a crew whose disk may stall; nothing that it does may wait for that.
fn without_waiting<T: Send + 'static>(
    work: impl FnOnce(&mut Crew, &PowerDisk) -> T + Send + 'static,
) -> (T, Vec<Opened>) {
    let (disk, folder) = disk();
    let (done, is_done) = mpsc::channel();
    let stalling = disk.clone();
    let crew = thread::spawn(move || {
        let store = FileStore::on(&folder, Arc::new(stalling.clone()));
        let mut crew = Crew::on(store, folder).in_drill();
        crew.pass(20_000);
        let found = work(&mut crew, &stalling);
        done.send(()).unwrap();
        stalling.stall(false);
        (found, crew.records())
    });
    let waited = is_done.recv_timeout(Duration::from_secs(20));
    disk.stall(false);
    let found = crew.join().unwrap();
    assert_eq!(waited, Ok(()), "it waited for the disk");
    found
}

/// The rule: no start waits for the disk, and a patient goes before a drill.
#[test]
fn a_start_is_taken_at_once_while_a_drill_that_is_to_go_on_waits_for_a_disk_that_stalls() {
    let start = |crew: &mut Crew, way: usize| {
        let now = uptime_ms();
        match way {
            0 => crew.ask(DrillAsk::RealPatient(touch(now))),
            1 => {
                let (ago_ms, by_key) = (0, false);
                let begin = PhoneNews::Begin { ago_ms, by_key };
                crew.house.asked(now, Ask::Phone(begin));
                crew.pass(0);
            }
            _ => crew.press(Act::StartByHand),
        }
    };
    for asked in [DrillAsk::GoOn, DrillAsk::Again] {
        for way in 0..3 {
            let asked = asked.clone();
            let (orders, records) = without_waiting(move |crew, disk| {
                disk.stall(true);
                if asked == DrillAsk::GoOn {
                    crew.ask(DrillAsk::Stop);
                }
                crew.ask(asked);
                let before = crew.speaker.orders().len();
                start(crew, way);
                assert_eq!(crew.state(), StateWord::ByHand);
                assert!(crew.house.drill_shown().is_none());
                // What was read of the drill comes too late.
                disk.stall(false);
                crew.answered();
                crew.pass(3000);
                assert!(crew.house.drill_shown().is_none());
                crew.orders().split_off(before)
            });
            assert!(orders.iter().any(|order| !is_silent(order)), "{orders:?}");
            let [drill, run] = records.as_slice() else {
                panic!("{} records", records.len())
            };
            assert!(drill.sealed && drill.is_sound() && run.is_sound());
            assert_eq!(lines(drill).last().unwrap().0, DrillWord::Stopped);
            assert_eq!(lines(run), []);
        }
    }
}

#[test]
fn a_drill_that_is_to_go_on_stays_stopped_until_the_disk_answers_and_goes_on_once() {
    let ((), records) = without_waiting(|crew, disk| {
        crew.ask(DrillAsk::Stop);
        let stopped = crew.live().stopped;
        disk.stall(true);
        crew.ask(DrillAsk::GoOn);
        crew.pass(60_000);
        // Asked again meanwhile it is nothing new.
        crew.ask(DrillAsk::Again);
        crew.press(Act::HandsOff);
        assert_eq!(crew.live().stopped, stopped);
        disk.stall(false);
        crew.answered();
        assert_eq!(crew.live().stopped, None);
        let late = crew.now().since(stopped.unwrap());
        assert!(late < Ms(500), "{late}");
        assert_eq!(crew.state(), StateWord::ByHand);
    });
    let [one, two] = records.as_slice() else {
        panic!("{} records", records.len())
    };
    assert_eq!(one.entries[..], two.entries[..one.entries.len()]);
    assert_eq!(told(two).again.unwrap().0, one.header.record_id);
}

#[test]
fn a_drill_whose_record_cannot_be_read_is_put_away_and_the_next_start_is_a_run() {
    let (disk, folder) = disk();
    let store = FileStore::on(&folder, Arc::new(disk.clone()));
    let mut crew = Crew::on(store, folder).in_drill();
    crew.pass(3000);
    disk.cut();
    crew.ask(DrillAsk::Again);
    assert!(crew.live().stopped.is_some());
    crew.answered();
    assert!(crew.house.live.is_none() && crew.house.drill_shown().is_none());
    crew.press(Act::StartByHand);
    assert_eq!(crew.state(), StateWord::ByHand);
    assert!(crew.house.drill_shown().is_none());
}
