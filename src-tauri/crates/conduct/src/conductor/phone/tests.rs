//! What a phone says, told to a conductor as the app has it: clock, rules, keeper and disk are its own; speaker and
//! phone are fakes, and time leaps.

use std::{
    fs,
    path::PathBuf,
    sync::{Arc, Mutex},
};

use beat::Placed;
use cycle::{Act, Around, Banner, Colours, Ms, SoundNews, StateWord, fact::Way};
use record::Opened;

use super::super::{Conductor, faked::faked};
use crate::{
    Ask, FileStore, Levels, Order, PhoneNews, Shown, Store, Wish,
    clock::{leap, uptime_ms},
    fakes::{FakePhone, FakeSpeaker},
    settings::{Feel, Theme},
};

mod held;
mod slept;
mod starts;
mod table;

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
        Self::with(folder, (FakeSpeaker::new(), FakePhone::new()))
    }

    fn with(folder: PathBuf, (speaker, phone): (FakeSpeaker, FakePhone)) -> Self {
        let shown: Arc<Mutex<Vec<Shown>>> = Arc::default();
        let show = Arc::clone(&shown);
        let show = Box::new(move |s| show.lock().unwrap().push(s));
        let parts = faked(&folder, (&speaker, &phone), show);
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

    /// A key of the card is touched now.
    fn act(&mut self, act: Act) {
        let now = Ms(uptime_ms());
        self.house.step(now, |live| live.marks(now, act.marks()));
        self.wake();
    }

    fn undo(&mut self) {
        let now = Ms(uptime_ms());
        self.house.step(now, |_| vec![cycle::Input::Undo]);
        self.wake();
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
            Order::Score(_) | Order::Play(_) | Order::Revoke(_) | Order::Rest | Order::Noise(_) => {
                None
            }
        })
    }

    /// What is felt now: of the last wish to the vibrator, if there was one.
    fn felt(&self) -> Option<bool> {
        let wishes = self.phone.take();
        wishes.iter().rev().find_map(|wish| match wish {
            Wish::Feel(pulses) => Some(!pulses.is_empty()),
            Wish::Hold { .. }
            | Wish::LetGo
            | Wish::Screen(_)
            | Wish::Brightness(_)
            | Wish::Motion(_)
            | Wish::Share(_) => None,
        })
    }

    /// The lines of its one record, after all was written.
    fn lines(self) -> Vec<serde_json::Value> {
        let Self {
            mut house, folder, ..
        } = self;
        // A run that was put away is written out on a thread of its own.
        house.close();
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

    /// Its records, the one that was begun first first.
    fn records(mut self) -> Vec<Opened> {
        self.house.close();
        let store = FileStore::at(&self.folder);
        let ids = store.list().unwrap();
        let mut all: Vec<Opened> = (ids.iter())
            .map(|id| record::open(&store.read(id).unwrap()).unwrap())
            .collect();
        all.sort_by_key(|one| one.base.mono_ms);
        fs::remove_dir_all(&self.folder).unwrap();
        all
    }
}

fn of_kind<'a>(lines: &'a [serde_json::Value], ev: &str) -> Vec<&'a serde_json::Value> {
    lines.iter().filter(|line| line["ev"] == ev).collect()
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

/// What only a terminal was told on a phone nobody was told.
#[test]
fn what_no_run_mends_is_said_on_the_start_card_and_stays_said() {
    let mut scene = Scene::new("wrong");
    let why = "runs: cannot be kept out of backups: refused; turn backups off for this app";
    scene.house.asked(uptime_ms(), Ask::Wrong(why.to_owned()));
    scene.wake();
    assert_eq!(scene.last().faults, [why]);
    let now = Ms(uptime_ms());
    scene.house.start(Act::StartByHand, Way::Hand, (now, now));
    scene.wake();
    scene.act(Act::EndStopped);
    scene.house.asked(uptime_ms(), Ask::PutAway);
    scene.wake();
    assert_eq!(scene.last().faults, [why]);
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
    assert_eq!(scene.phone.take(), [hold, Wish::Screen(true)]);
    drop(scene.lines());
}

#[test]
fn a_brightness_is_wished_in_a_run_alone_and_files_at_any_time() {
    let mut scene = Scene::new("bright");
    scene.house.asked(uptime_ms(), Ask::Theme(Theme::Night));
    scene.wake();
    assert_eq!(scene.phone.take(), []);
    let files = ["/a/marks.csv", "/a/pauses.csv"]
        .map(PathBuf::from)
        .to_vec();
    scene.house.asked(uptime_ms(), Ask::Share(files.clone()));
    assert_eq!(scene.phone.take(), [Wish::Share(files)]);
    let now = Ms(uptime_ms());
    scene.house.start(Act::StartByHand, Way::Hand, (now, now));
    scene.wake();
    let wishes = scene.phone.take();
    assert_eq!(
        wishes.last(),
        Some(&Wish::Brightness(Some(12))),
        "{wishes:?}"
    );
    scene.house.asked(uptime_ms(), Ask::Theme(Theme::Day));
    scene.wake();
    assert_eq!(scene.phone.take(), [Wish::Brightness(None)]);
    scene.house.asked(uptime_ms(), Ask::Theme(Theme::Glare));
    scene.wake();
    assert_eq!(scene.phone.take(), [Wish::Brightness(Some(100))]);
    scene.house.close();
    // What was dimmed for the run is not left dim.
    let back = [Wish::LetGo, Wish::Screen(false), Wish::Brightness(None)];
    assert_eq!(scene.phone.take(), back);
    drop(scene.lines());
}

/// The colours and the words of the record's lines about the screen.
fn looks(lines: &[serde_json::Value]) -> Vec<(&str, bool, bool)> {
    let of = |line: &serde_json::Value| {
        let d = &line["d"];
        let word = ["day", "glare", "night"]
            .into_iter()
            .find(|word| d["colours"] == *word);
        (word.unwrap(), d["by_light"] == true, d["covered"] == true)
    };
    of_kind(lines, "screen").into_iter().map(of).collect()
}

#[test]
fn the_light_turns_the_colours_unless_they_were_chosen_and_the_record_has_them() {
    let mut scene = Scene::started("light");
    assert_eq!(scene.last().colours, Colours::Day);
    scene.tell(&[PhoneNews::Light { lux: 40_000 }]);
    assert_eq!(scene.last().colours, Colours::Day, "it has to last");
    scene.pass(3);
    assert_eq!(scene.last().colours, Colours::Glare);
    assert!(scene.phone.take().contains(&Wish::Brightness(Some(100))));
    // A sensor in a fist: the colours go on after it, and the screen is not dimmed.
    scene.tell(&[PhoneNews::Light { lux: 0 }]);
    scene.pass(6);
    assert_eq!(scene.last().colours, Colours::Night);
    assert_eq!(scene.phone.take(), [Wish::Brightness(None)]);
    scene.house.asked(uptime_ms(), Ask::Theme(Theme::Glare));
    scene.wake();
    assert_eq!(scene.last().colours, Colours::Glare);
    scene.house.asked(uptime_ms(), Ask::Theme(Theme::Auto));
    scene.wake();
    assert_eq!(scene.last().colours, Colours::Night);
    let lines = scene.lines();
    let all = [
        ("glare", true, false),
        ("night", true, false),
        ("glare", false, false),
        ("night", true, false),
    ];
    assert_eq!(looks(&lines), all);
}

#[test]
fn the_light_of_a_run_is_forgotten_with_it() {
    let mut scene = Scene::started("forgotten");
    scene.tell(&[PhoneNews::Light { lux: 0 }]);
    scene.pass(6);
    assert_eq!(scene.last().colours, Colours::Night);
    let end = Act::EndStopped.marks();
    scene.house.step(Ms(uptime_ms()), |live| {
        live.marks(Ms(uptime_ms()), end.clone())
    });
    scene.wake();
    assert_eq!(
        scene.last().colours,
        Colours::Night,
        "it is as dark as it was"
    );
    scene.house.asked(uptime_ms(), Ask::PutAway);
    scene.wake();
    assert_eq!(scene.last().colours, Colours::Day);
    drop(scene.lines());
}

#[test]
fn a_screen_is_covered_in_a_run_alone_and_stays_so_through_a_kill() {
    let mut scene = Scene::new("covered");
    scene.house.asked(uptime_ms(), Ask::Cover(true));
    scene.wake();
    assert!(!scene.last().view.covered, "no run goes on");
    let now = Ms(uptime_ms());
    scene.house.start(Act::StartByHand, Way::Hand, (now, now));
    scene.wake();
    scene.house.asked(uptime_ms(), Ask::Cover(true));
    scene.wake();
    assert!(scene.last().view.covered);
    // Not the sound alone: what the crew can feel goes on too.
    scene.pass(5);
    assert!(scene.last().view.covered);
    let folder = scene.folder.clone();
    drop(scene);
    let mut scene = Scene::at(folder);
    scene.wake();
    assert!(scene.last().view.covered, "it is still in its bag");
    scene.house.asked(uptime_ms(), Ask::Cover(false));
    scene.wake();
    assert!(!scene.last().view.covered);
    let lines = scene.lines();
    assert_eq!(looks(&lines), [("day", true, true), ("day", true, false)]);
}

/// The rule: if sound stops for any reason, screen and vibration say so within 1 s.
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

/// The rule: silence that is meant and sound that is lost differ, on the screen and in the hand.
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
            | Wish::Screen(_)
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

/// A tile that was touched so long before it is told.
const TILE: PhoneNews = PhoneNews::Begin {
    ago_ms: 400,
    by_key: false,
};

#[test]
fn start_from_outside_begins_a_run_once_dated_to_the_finger() {
    let mut scene = Scene::new("tile");
    let asked = uptime_ms();
    scene.tell(&[TILE]);
    assert_eq!(scene.last().view.state, StateWord::ByHand);
    let zero = scene.house.live.as_ref().unwrap().clock.zero_ms();
    let late = i64::try_from(asked).unwrap() - 400 - zero;
    assert!((-5..=0).contains(&late), "{late} ms");
    scene.pass(30);
    scene.tell(&[TILE]);
    let lines = scene.lines();
    assert_eq!(of_kind(&lines, "start").len(), 1);
    let began = of_kind(&lines, "compr_start")[0];
    let down = began["mono_ms"].as_i64().unwrap() - began["at"]["back_ms"].as_i64().unwrap();
    assert_eq!(down, zero);
}

/// The rules: the sound never ends unnoticed, and a run that nobody tends goes on.
#[test]
fn a_run_whose_window_is_swiped_away_sounds_on_and_is_held() {
    let mut scene = Scene::started("swiped");
    scene.pass(5);
    scene.phone.take();
    let orders = scene.speaker.orders().len();
    let at = scene.now();
    let off = [Around::Front { on: false }, Around::Page { on: false }];
    scene.tell(&off.map(PhoneNews::Around));
    scene.pass(180);
    let orders: Vec<Order> = scene
        .speaker
        .orders()
        .split_off(orders)
        .into_iter()
        .map(|o| o.1)
        .collect();
    assert!(!orders.contains(&Order::Rest), "{orders:?}");
    let spoken = orders.iter().any(|o| matches!(o, Order::Play(_)));
    assert!(spoken, "the check was called: {orders:?}");
    let wishes = scene.phone.take();
    assert!(!wishes.contains(&Wish::LetGo), "{wishes:?}");
    scene.tell(&[PhoneNews::Bare]);
    let on = [Around::Page { on: true }, Around::Front { on: true }];
    scene.tell(&on.map(PhoneNews::Around));
    assert!(scene.now().since(at).0 >= 180_000);
    assert_eq!(scene.last().view.state, StateWord::ByHand);
    let lines = scene.lines();
    assert_eq!(of_kind(&lines, "gap").len(), 0);
    assert_eq!(of_kind(&lines, "start").len(), 1);
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
