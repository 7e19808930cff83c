//! Every event of the table, told to a conductor as the app has it: clock, rules, keeper and disk are its own;
//! speaker and phone are fakes, and time leaps.

use std::{
    fs,
    path::PathBuf,
    sync::{Arc, Mutex},
};

use beat::Placed;
use cycle::{Act, Around, Banner, ClipLengths, Ms, Prompt, SoundNews, StateWord, fact::Way};
use record::{Digest, RunKind};
use serde::Deserialize;

use super::super::{Conductor, Parts};
use crate::{
    Ask, FileStore, Heads, Levels, Order, PhoneNews, Shown, Wish,
    clock::{leap, uptime_ms},
    fakes::{FakePhone, FakeSpeaker},
    of_example,
    settings::Feel,
};

/// A row of the table of events.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    event: String,
    on: Vec<PhoneNews>,
    off: Vec<PhoneNews>,
    banners: Vec<String>,
    felt: bool,
    reopened: bool,
    deeds: usize,
    // For readers; the page of the docs has them too.
    answer: String,
    android: String,
    ios: String,
}

fn table() -> Vec<Row> {
    serde_json::from_str(include_str!("../../phone/events.json")).unwrap()
}

struct Scene {
    house: Conductor,
    speaker: FakeSpeaker,
    phone: FakePhone,
    shown: Arc<Mutex<Vec<Shown>>>,
    folder: PathBuf,
}

impl Scene {
    fn new(name: &str) -> Self {
        let folder = format!("carrybeat-phone-{name}-{}", std::process::id());
        let folder = std::env::temp_dir().join(folder);
        drop(fs::remove_dir_all(&folder));
        Self::at(folder)
    }

    fn at(folder: PathBuf) -> Self {
        let (speaker, phone) = (FakeSpeaker::new(), FakePhone::new());
        let shown: Arc<Mutex<Vec<Shown>>> = Arc::default();
        let show = Arc::clone(&shown);
        let clips = Prompt::ALL.iter().map(|p| (*p, 1000)).collect();
        let setup = of_example("example-adult", ClipLengths::new(clips).unwrap());
        let parts = Parts {
            folder: folder.clone(),
            speaker: Box::new(speaker.clone()),
            phone: Box::new(phone.clone()),
            setup: setup.unwrap().unwrap(),
            heads: Heads {
                kind: RunKind::Test,
                version: "0".to_owned(),
                pack_id: "none".to_owned(),
                pack_sha256: Digest::of(b""),
                lang: "en-GB".to_owned(),
                tz: "UTC".to_owned(),
                record_id: String::new(),
            },
            faults: Vec::new(),
            remarks: Vec::new(),
            other_faults: Vec::new(),
            levels: cycle::Levels::default(),
            seal_after: Ms(1000),
            show: Box::new(move |s| show.lock().unwrap().push(s)),
        };
        let store = FileStore::at(&folder);
        let made = store.make();
        let mut house = Conductor::new(parts, (store, made), None);
        house.resume();
        let mut scene = Self {
            house,
            speaker,
            phone,
            shown,
            folder,
        };
        scene.wake();
        scene
    }

    fn started(name: &str) -> Self {
        let mut scene = Self::new(name);
        let now = Ms(uptime_ms());
        scene.house.start(Act::StartByHand, Way::Hand, (now, now));
        scene.wake();
        scene
    }

    /// What the loop does after each thing that comes in.
    fn wake(&mut self) {
        self.house.wake();
        self.house.tend();
        self.house.show();
    }

    fn tell(&mut self, news: &[PhoneNews]) {
        for news in news {
            self.house.phone_says(*news, uptime_ms());
            self.wake();
        }
    }

    /// So much passes, and the conductor wakes once a second, as it does.
    fn pass(&mut self, seconds: u64) {
        for _ in 0..seconds {
            leap::pass(1000);
            self.wake();
        }
    }

    fn last(&self) -> Shown {
        self.shown.lock().unwrap().last().unwrap().clone()
    }

    /// Run time as the conductor has it.
    fn now(&self) -> Ms {
        self.house.live.as_ref().unwrap().last
    }

    fn banners(&self) -> Vec<&'static str> {
        let of_phone = |b: &Banner| !matches!(b, Banner::PackDamaged);
        let last = self.last();
        let banners = last.view.banners.iter().chain(&last.banners);
        banners.filter(|b| of_phone(b)).map(|b| b.word()).collect()
    }

    fn levels(&self) -> Option<Levels> {
        let orders = self.speaker.orders();
        orders.iter().rev().find_map(|(_, order)| match order {
            Order::Levels(levels) => Some(*levels),
            Order::Score(_) | Order::Play(_) | Order::Revoke(_) | Order::Rest => None,
        })
    }

    /// What is felt now: of the last wish to the vibrator, if there was one.
    fn felt(&self) -> Option<bool> {
        let wishes = self.phone.take();
        wishes.iter().rev().find_map(|wish| match wish {
            Wish::Feel(pulses) => Some(!pulses.is_empty()),
            Wish::Hold { .. }
            | Wish::LetGo
            | Wish::Turn
            | Wish::Brightness(_)
            | Wish::Motion(_)
            | Wish::Share(_) => None,
        })
    }

    /// The lines of its one record, after all was written.
    fn lines(self) -> Vec<serde_json::Value> {
        let Self { house, folder, .. } = self;
        drop(house);
        let file = fs::read_dir(&folder)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .find(|path| path.to_string_lossy().ends_with(".rec.jsonl"))
            .unwrap();
        let text = fs::read_to_string(file).unwrap();
        fs::remove_dir_all(&folder).unwrap();
        text.lines()
            .map(|line| serde_json::from_str(line).unwrap())
            .collect()
    }
}

fn of_kind<'a>(lines: &'a [serde_json::Value], ev: &str) -> Vec<&'a serde_json::Value> {
    lines.iter().filter(|line| line["ev"] == ev).collect()
}

#[test]
fn every_event_of_the_table_has_its_answer() {
    let rows = table();
    assert!(rows.len() >= 18, "{}", rows.len());
    for (n, row) in rows.iter().enumerate() {
        let mut scene = Scene::started(&format!("row-{n}"));
        let before = (scene.levels(), scene.last().view);
        assert!(scene.banners().is_empty(), "{}", row.event);
        assert_eq!(scene.felt(), None, "{}", row.event);
        scene.tell(&row.on);
        assert_eq!(scene.banners(), row.banners, "{}", row.event);
        assert_eq!(scene.felt().unwrap_or(false), row.felt, "{}", row.event);
        let reopened = scene.speaker.rerouted();
        assert_eq!(reopened > 0, row.reopened, "{}", row.event);
        // Nothing that happens to a phone says anything of care.
        let after = scene.last().view;
        assert_eq!((after.card, after.state), (before.1.card, before.1.state));
        scene.tell(&row.off);
        assert!(scene.banners().is_empty(), "{}", row.event);
        assert!(!scene.felt().unwrap_or(false), "{}", row.event);
        assert_eq!(scene.levels(), before.0, "{}", row.event);
        // Told again it is nothing new.
        scene.tell(&row.off);
        assert!(!row.answer.is_empty());
        assert!(!row.android.is_empty() && !row.ios.is_empty());
        let lines = scene.lines();
        assert_eq!(
            of_kind(&lines, "around").len(),
            2 * row.deeds,
            "{}",
            row.event
        );
        assert_eq!(of_kind(&lines, "start").len(), 1, "{}", row.event);
    }
}

#[test]
fn what_was_told_before_the_start_is_known_to_the_run_and_on_the_start_card() {
    let mut scene = Scene::new("before");
    let volume = PhoneNews::Around(Around::Volume { pct: 0 });
    scene.tell(&[volume, PhoneNews::Around(Around::Call { on: true })]);
    // The start turns the volume up where it may: before it, that is no news.
    assert_eq!(scene.banners(), ["call"]);
    let now = Ms(uptime_ms());
    scene.house.start(Act::StartByHand, Way::Hand, (now, now));
    scene.wake();
    assert_eq!(scene.banners(), ["call", "muted"]);
    assert_eq!(scene.felt(), Some(true));
    let lines = scene.lines();
    assert_eq!(of_kind(&lines, "around").len(), 2);
}

#[test]
fn a_phone_is_held_for_a_run_and_let_go_after_it() {
    let mut scene = Scene::new("held");
    assert_eq!(scene.phone.take(), []);
    let now = Ms(uptime_ms());
    scene.house.start(Act::StartByHand, Way::Hand, (now, now));
    scene.wake();
    let hold = Wish::Hold {
        lang: "en-GB".to_owned(),
        volume_pct: Some(100),
    };
    assert_eq!(scene.phone.take(), std::slice::from_ref(&hold));
    scene.pass(3);
    assert_eq!(scene.phone.take(), []);
    let end = Act::EndStopped.marks();
    scene.house.step(Ms(uptime_ms()), |live| {
        live.marks(Ms(uptime_ms()), end.clone())
    });
    scene.wake();
    assert_eq!(scene.phone.take(), [Wish::LetGo]);
    // An end by mistake is taken back.
    scene
        .house
        .step(Ms(uptime_ms()), |_| vec![cycle::Input::Undo]);
    scene.wake();
    assert_eq!(scene.phone.take(), [hold]);
    scene.house.close();
    assert_eq!(scene.phone.take(), [Wish::LetGo]);
    drop(scene.lines());
}

#[test]
fn a_crew_that_wants_to_feel_every_beat_does() {
    let mut scene = Scene::started("always");
    assert_eq!(scene.felt(), None);
    scene.house.asked(uptime_ms(), Ask::Feel(Feel::Always));
    scene.wake();
    assert_eq!(scene.felt(), Some(true));
    scene.house.asked(uptime_ms(), Ask::Feel(Feel::Unheard));
    scene.wake();
    assert_eq!(scene.felt(), Some(false));
    drop(scene.lines());
}

#[test]
fn a_run_without_sound_leaves_the_volume_and_is_not_felt() {
    let mut scene = Scene::new("quiet");
    let now = Ms(uptime_ms());
    scene.house.start(Act::StartQuiet, Way::Quiet, (now, now));
    scene.wake();
    scene.tell(&[PhoneNews::Around(Around::Volume { pct: 0 })]);
    let hold = Wish::Hold {
        lang: "en-GB".to_owned(),
        volume_pct: None,
    };
    assert_eq!(scene.phone.take(), [hold]);
    drop(scene.lines());
}

#[test]
fn a_brightness_is_wished_in_a_run_alone_and_files_at_any_time() {
    let mut scene = Scene::new("bright");
    scene.house.asked(uptime_ms(), Ask::Brightness(Some(20)));
    assert_eq!(scene.phone.take(), []);
    let file = PathBuf::from("/a/debrief.pdf");
    scene.house.asked(uptime_ms(), Ask::Share(file.clone()));
    assert_eq!(scene.phone.take(), [Wish::Share(file)]);
    let now = Ms(uptime_ms());
    scene.house.start(Act::StartByHand, Way::Hand, (now, now));
    scene.wake();
    let wishes = scene.phone.take();
    assert_eq!(
        wishes.last(),
        Some(&Wish::Brightness(Some(20))),
        "{wishes:?}"
    );
    scene.house.asked(uptime_ms(), Ask::Brightness(None));
    assert_eq!(scene.phone.take(), [Wish::Brightness(None)]);
    scene.house.asked(uptime_ms(), Ask::Brightness(Some(20)));
    scene.phone.take();
    scene.house.close();
    // What was dimmed for the run is not left dim.
    assert_eq!(scene.phone.take(), [Wish::Brightness(None), Wish::LetGo]);
    drop(scene.lines());
}

/// Source: design 1, law 3: if sound stops for any reason, screen and vibration say so within 1 s.
#[test]
fn the_beat_is_felt_where_the_sound_is_lost_and_no_more_once_it_is_back() {
    let mut scene = Scene::started("lost");
    scene.pass(5);
    scene.phone.take();
    scene.speaker.tell(SoundNews::Lost);
    scene.wake();
    assert_eq!(scene.banners(), ["no_sound"]);
    assert_eq!(scene.felt(), Some(true));
    scene.pass(9);
    assert_eq!(scene.felt(), None, "told once");
    scene.pass(2);
    assert_eq!(scene.felt(), Some(true), "and told on");
    scene.speaker.tell(SoundNews::Back);
    scene.wake();
    assert_eq!(scene.felt(), Some(false));
    drop(scene.lines());
}

/// Source: design 1, law 3: silence by design and sound lost differ.
#[test]
fn sound_lost_while_nothing_is_to_sound_is_felt_as_one_long_pulse_again_and_again() {
    let mut scene = Scene::started("lost-off");
    scene.pass(5);
    let off = Act::HandsOff.marks();
    scene.house.step(Ms(uptime_ms()), |live| {
        live.marks(Ms(uptime_ms()), off.clone())
    });
    scene.wake();
    scene.phone.take();
    scene.speaker.tell(SoundNews::Lost);
    scene.wake();
    let long = |wishes: &[Wish]| {
        let felt = wishes.iter().filter_map(|wish| match wish {
            Wish::Feel(pulses) => Some(pulses.clone()),
            Wish::Hold { .. }
            | Wish::LetGo
            | Wish::Turn
            | Wish::Brightness(_)
            | Wish::Motion(_)
            | Wish::Share(_) => None,
        });
        felt.flatten()
            .map(|pulse| pulse.len_ms)
            .collect::<Vec<u32>>()
    };
    // Milliseconds may pass between its moment and the wish.
    let once = long(&scene.phone.take());
    assert!(matches!(once[..], [600..=700]), "{once:?}");
    scene.pass(12);
    let again = long(&scene.phone.take());
    assert!(
        !again.is_empty() && again.iter().all(|len| (600..=700).contains(len)),
        "{again:?}"
    );
    drop(scene.lines());
}

#[test]
fn with_the_beat_off_no_beat_is_felt() {
    let mut scene = Scene::started("beat-off");
    scene.house.asked(uptime_ms(), Ask::Feel(Feel::Always));
    scene.wake();
    assert_eq!(scene.felt(), Some(true));
    let off = Act::BeatOff.marks();
    scene.house.step(Ms(uptime_ms()), |live| {
        live.marks(Ms(uptime_ms()), off.clone())
    });
    scene.wake();
    assert_eq!(scene.felt(), Some(false));
    drop(scene.lines());
}

#[test]
fn start_from_outside_begins_a_run_once_dated_to_the_finger() {
    let mut scene = Scene::new("tile");
    let asked = uptime_ms();
    scene.tell(&[PhoneNews::Begin { ago_ms: 400 }]);
    assert_eq!(scene.last().view.state, StateWord::ByHand);
    let zero = scene.house.live.as_ref().unwrap().clock.zero_ms();
    let late = i64::try_from(asked).unwrap() - 400 - zero;
    assert!((-5..=0).contains(&late), "{late} ms");
    scene.pass(30);
    scene.tell(&[PhoneNews::Begin { ago_ms: 400 }]);
    let lines = scene.lines();
    assert_eq!(of_kind(&lines, "start").len(), 1);
    let began = of_kind(&lines, "compr_start")[0];
    let down = began["mono_ms"].as_i64().unwrap() - began["at"]["back_ms"].as_i64().unwrap();
    assert_eq!(down, zero);
}

/// A phone that sleeps freezes every timer. Source: design 2: the run clock counts sleep.
#[test]
fn after_frozen_timers_the_clocks_are_right_and_the_gap_is_marked() {
    for frozen_s in [1, 10, 300_u64] {
        let mut scene = Scene::started(&format!("frozen-{frozen_s}"));
        scene.pass(20);
        let before = scene.now();
        let orders = scene.speaker.orders().len();
        leap::pass(frozen_s * 1000);
        scene.wake();
        assert_eq!(scene.last().view.state, StateWord::ByHand, "{frozen_s}");
        let orders: Vec<Order> = scene
            .speaker
            .orders()
            .split_off(orders)
            .into_iter()
            .map(|o| o.1)
            .collect();
        let spoken = orders
            .iter()
            .filter(|o| matches!(o, Order::Play(_)))
            .count();
        assert!(spoken <= 1, "{frozen_s}: {orders:?}");
        let scores = orders
            .iter()
            .filter(|o| matches!(o, Order::Score(_)))
            .count();
        assert_eq!(scores, 0, "the score goes on in its place");
        scene.pass(1);
        let passed = scene.now().since(before).0;
        assert!(passed >= frozen_s * 1000, "{frozen_s}: {passed}");
        let lines = scene.lines();
        let gaps: Vec<u64> = of_kind(&lines, "gap")
            .iter()
            .map(|line| line["d"]["ms"].as_u64().unwrap())
            .collect();
        // A waking may come a second late without being one.
        let wanted: &[u64] = if frozen_s > 2 {
            &[frozen_s * 1000]
        } else {
            &[]
        };
        assert_eq!(gaps.len(), wanted.len(), "{frozen_s}: {gaps:?}");
        for (gap, wanted) in gaps.iter().zip(wanted) {
            assert!(gap.abs_diff(*wanted) < 200, "{frozen_s}: {gaps:?}");
        }
    }
}

#[test]
fn a_wall_clock_that_is_set_moves_no_time_of_the_run_and_is_written_down() {
    for hours in [1_i64, -1] {
        let mut scene = Scene::started(&format!("wall-{hours}"));
        scene.pass(20);
        let before = scene.now();
        leap::set_wall(hours * 3_600_000);
        scene.pass(10);
        let passed = scene.now().since(before).0;
        assert!((9000..=11_500).contains(&passed), "{hours}: {passed}");
        let lines = scene.lines();
        let jumps = of_kind(&lines, "wall_jump");
        assert_eq!(jumps.len(), 1, "{hours}");
        let by = jumps[0]["d"]["delta_ms"].as_i64().unwrap();
        assert!((by - hours * 3_600_000).abs() < 200, "{by}");
        assert_eq!(of_kind(&lines, "gap").len(), 0);
        leap::set_wall(-hours * 3_600_000);
    }
}

/// What is felt is the same beat that sounds, to the millisecond that rounding takes.
#[test]
fn what_is_felt_lies_on_the_score() {
    let mut scene = Scene::started("grid");
    let before = scene.now().0;
    scene.tell(&[PhoneNews::Around(Around::Call { on: true })]);
    let wishes = scene.phone.take();
    let Some(Wish::Feel(pulses)) = wishes.last() else {
        panic!("{wishes:?}")
    };
    let live = scene.house.live.as_ref().unwrap();
    let placed: Placed = live.stage.run().sounding().unwrap();
    // By hand: 110 a minute, 30 to a cycle, and four seconds after their thirty periods.
    let beat = |n: u64| placed.anchor_ms + n * 60_000 / 110 + n / 30 * 4000;
    let beats: Vec<u64> = (0..60).map(beat).collect();
    // The wish was taken at some moment between these two.
    let (from, to) = (before, live.clock.now().0);
    let fits = (from..=to).any(|shift| {
        pulses
            .iter()
            .all(|p| beats.contains(&(u64::from(p.in_ms) + shift)))
    });
    assert!(fits, "{pulses:?} of {beats:?} between {from} and {to}");
    assert!(pulses.len() > 15);
    drop(scene.lines());
}
