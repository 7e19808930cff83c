//! The listening test as the app runs it: the conductor's own thread and clock; only the speaker is a fake, whose
//! sounds began as long ago as they last: no test waits for one to be over.
#![expect(
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test that meets an error fails, as it should"
)]

mod house;

use std::{fs, ops::Deref};

use conduct::{
    Ask, HOUSE_ZERO_MS, ListeningAsk, Order, Recording, clock::uptime_ms, fakes::FakeSpeaker,
};
use cycle::{Act, Levels, Ms, Prompt, SoundNews, StateWord};
use listening::{Level, Output, PROMPTS, Progress, Way, draw, length_ms};
use record::Digest;

use house::{
    House,
    folder::Folder,
    parts::{clips, now, parts},
};

const CLIP_MS: u32 = 700;

/// A house with the speaker that tells what it was asked for.
struct Hearing {
    house: House,
    speaker: FakeSpeaker,
    folder: Folder,
}

impl Deref for Hearing {
    type Target = House;

    fn deref(&self) -> &House {
        &self.house
    }
}

impl Drop for Hearing {
    fn drop(&mut self) {
        self.handle.close();
    }
}

fn open() -> Hearing {
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let (mut parts, shown) = parts(folder.path(), speaker.clone());
    parts.setup.clips = clips(CLIP_MS);
    "7.8.9".clone_into(&mut parts.heads.version);
    "en-US".clone_into(&mut parts.heads.pack_id);
    parts.heads.pack_sha256 = Digest::of(b"pack");
    parts.levels = Levels {
        beat_db: 3,
        breath_db: 3,
        voice_db: 6,
    };
    let house = House::start((parts, shown)).unwrap();
    Hearing {
        house,
        speaker,
        folder,
    }
}

impl Hearing {
    fn progress(&self, what: &str, is: impl Fn(&Progress) -> bool) -> Progress {
        let shown = self.until(what, |s| s.listening.as_ref().is_some_and(&is));
        shown.listening.unwrap()
    }

    fn ask(&self, ask: ListeningAsk) {
        self.handle.ask(Ask::Listening(ask));
    }

    fn begin(&self) {
        self.ask(ListeningAsk::Begin {
            level: Level::of(6).unwrap(),
            listener: Some(5),
        });
    }

    /// Has this news heard at once.
    fn tell(&self, news: SoundNews) {
        self.speaker.tell(news);
        self.handle.ask(Ask::PageClock {
            sent_ms: uptime_ms(),
        });
    }

    /// The `n`th sound, which was asked for, began so long ago that it is just over.
    fn is_heard(&self, n: usize) {
        let trials = self.speaker.trials();
        let (id, _) = *trials.get(n.saturating_sub(1)).unwrap();
        let now = Ms(uptime_ms().saturating_add_signed(HOUSE_ZERO_MS.saturating_neg()));
        let at = now.minus(Ms(u64::from(length_ms(CLIP_MS))));
        self.tell(SoundNews::Started { id, at });
    }

    fn orders(&self) -> Vec<Order> {
        self.speaker
            .orders()
            .into_iter()
            .map(|(_, order)| order)
            .collect()
    }
}

/// The sheet says what was drawn from its seed, heard at the level that is set, and answered; nothing is heard of a
/// prompt before it is asked for, and none twice.
#[test]
fn twelve_prompts_are_heard_and_the_sheet_is_that_of_its_seed() {
    let house = open();
    let output = |hz| {
        Some(Output {
            kind: "speaker".to_owned(),
            hz,
        })
    };
    house.begin();
    for n in 1..=PROMPTS {
        // Another output from the seventh on, as when a headset is pulled between two prompts.
        house
            .speaker
            .set_output(output(if n < 7 { 44_100 } else { 48_000 }));
        house.progress("ready", |p| *p == Progress::Ready { n });
        assert_eq!(house.speaker.trials().len(), n.saturating_sub(1));
        house.ask(ListeningAsk::Play);
        house.ask(ListeningAsk::Play);
        house.progress("sounding", |p| *p == Progress::Sounding { n });
        house.is_heard(n);
        let asking = house.progress("asking", |p| matches!(p, Progress::Asking { .. }));
        let Progress::Asking { choices, .. } = asking else {
            panic!("{asking:?}");
        };
        house.ask(ListeningAsk::Answer {
            n,
            answer: choices.first().copied(),
            touch: now(),
        });
    }
    let done = house.progress("done", |p| matches!(p, Progress::Done(_)));
    let Progress::Done(sheet) = done else {
        panic!("{done:?}");
    };
    let drawn = draw(sheet.seed);
    let heard: Vec<Prompt> = house
        .speaker
        .trials()
        .iter()
        .map(|(_, s)| s.prompt)
        .collect();
    let prompts: Vec<Prompt> = drawn.iter().map(|trial| trial.prompt).collect();
    assert_eq!(heard, prompts);
    for (row, trial) in sheet.rows.iter().zip(&drawn) {
        assert_eq!((row.prompt, &row.choices), (trial.prompt, &trial.choices));
        assert_eq!(row.answer, trial.choices.first().copied());
        // From the end of the words on, half a second of noise lies before any answer.
        assert!((500..30_000).contains(&row.ms), "{row:?}");
    }
    for (n, row) in sheet.rows.iter().enumerate() {
        let way = Way {
            voice_db: Some(6),
            output: output(if n < 6 { 44_100 } else { 48_000 }),
        };
        assert_eq!(row.way, way, "row {n}");
    }
    let names: std::collections::BTreeSet<_> =
        house.speaker.trials().iter().map(|(id, _)| id.0).collect();
    assert_eq!(names.len(), PROMPTS, "each sound has a name of its own");
    let facts = &sheet.facts;
    assert_eq!(
        (facts.version.as_str(), facts.pack.as_str()),
        ("7.8.9", "en-US")
    );
    assert_eq!(facts.pack_sha256, Digest::of(b"pack").to_string());
    assert_eq!((facts.sheet.len(), facts.date.len()), (12, 10));
    assert_eq!(sheet.listener, Some(5));
    let levels = house.orders().into_iter().find_map(|order| match order {
        Order::Levels(levels) => Some(levels),
        Order::Score(_) | Order::Play(_) | Order::Revoke(_) | Order::Rest | Order::Noise(_) => None,
    });
    assert_eq!(levels.map(|l| l.voice_ddb), Some(60));
    assert_eq!(
        fs::read_dir(house.folder.path())
            .unwrap()
            .filter(|e| {
                e.as_ref()
                    .unwrap()
                    .file_name()
                    .to_string_lossy()
                    .contains(".rec.")
            })
            .count(),
        0,
        "nothing of it is a run"
    );
    // A sheet that is done outlives a run.
    house.press(Act::StartByHand);
    house.until("the run", |s| {
        s.view.state == StateWord::ByHand && s.listening.is_none()
    });
    house.handle.ask(Ask::EndHeld);
    house.press(Act::EndHandedOver);
    house.until("the end", |s| s.view.state == StateWord::Ended);
    house.handle.ask(Ask::PutAway);
    let again = house.progress("the sheet", |p| matches!(p, Progress::Done(_)));
    assert_eq!(again, Progress::Done(sheet));
}

/// The run's first sound comes after the test's was taken back, and nothing of the test is shown any more.
#[test]
fn a_run_that_begins_ends_the_test_at_once() {
    let house = open();
    house.begin();
    house.ask(ListeningAsk::Play);
    house.progress("sounding", |p| *p == Progress::Sounding { n: 1 });
    let (id, _) = *house.speaker.trials().first().unwrap();
    house.press(Act::StartByHand);
    let shown = house.until("the run", |s| s.view.state == StateWord::ByHand);
    assert_eq!(shown.listening, None);
    let orders = house.orders();
    let revoked = orders.iter().position(|o| *o == Order::Revoke(id));
    let score = orders.iter().position(|o| matches!(o, Order::Score(_)));
    assert!(revoked.is_some() && revoked < score, "{orders:?}");
    // In a run nothing of it can be asked for.
    house.begin();
    house.ask(ListeningAsk::Play);
    house.press(Act::Flag);
    house.until("the flag", |s| !s.view.last.is_empty());
    assert_eq!(house.speaker.trials().len(), 1);
    house.handle.ask(Ask::EndHeld);
    house.press(Act::EndHandedOver);
    house.until("the end", |s| s.view.state == StateWord::Ended);
    house.handle.ask(Ask::PutAway);
    let after = house.until("the start card", |s| s.view.card == cycle::Card::Before);
    assert_eq!(after.listening, None);
}

/// A sound that the test gave up may still be on its way; a run that begins then takes it back.
#[test]
fn a_run_takes_back_the_sound_of_a_test_that_was_given_up() {
    let house = open();
    house.begin();
    house.ask(ListeningAsk::Play);
    house.progress("sounding", |p| *p == Progress::Sounding { n: 1 });
    let (id, _) = *house.speaker.trials().first().unwrap();
    house.tell(SoundNews::Lost);
    house.progress("spoilt", |p| *p == Progress::Failed);
    house.tell(SoundNews::Back);
    house.press(Act::StartByHand);
    house.until("the run", |s| s.view.state == StateWord::ByHand);
    let orders = house.orders();
    let revoked = orders.iter().position(|o| *o == Order::Revoke(id));
    let score = orders.iter().position(|o| matches!(o, Order::Score(_)));
    assert!(revoked.is_some() && revoked < score, "{orders:?}");
}

#[test]
fn a_sound_that_is_lost_or_broken_off_spoils_the_test() {
    let house = open();
    for lost in [true, false] {
        house.begin();
        house.progress("ready", |p| *p == Progress::Ready { n: 1 });
        house.ask(ListeningAsk::Play);
        house.progress("sounding", |p| *p == Progress::Sounding { n: 1 });
        let (id, _) = *house.speaker.trials().last().unwrap();
        house.tell(if lost {
            SoundNews::Lost
        } else {
            SoundNews::Cut { id }
        });
        let told = uptime_ms();
        house.progress("spoilt", |p| *p == Progress::Failed);
        // Eight seconds after it was asked for it would be given up in any case.
        assert!(uptime_ms().saturating_sub(told) < 5000, "by itself");
        house.tell(SoundNews::Back);
        house.ask(ListeningAsk::Stop);
        house.until("put away", |s| s.listening.is_none());
    }
}

/// A minute of a protocol that is being written: heard between runs, silenced by a press, by another sound and by a run.
#[test]
fn a_recording_is_heard_between_runs_and_a_run_goes_first() {
    let house = open();
    let recording = Recording {
        samples: vec![7_i16; 9].into(),
        hz: 48_000,
    };
    let play = || house.handle.ask(Ask::Recording(Some(recording.clone())));
    play();
    house.handle.ask(Ask::Recording(None));
    play();
    house.handle.ask(Ask::Listen);
    play();
    house.press(Act::StartByHand);
    house.until("the run", |s| s.view.state == StateWord::ByHand);
    let told = house.speaker.recordings();
    assert_eq!(told.len(), 3);
    let orders = house.orders();
    for (id, played) in &told {
        assert_eq!(*played, recording);
        assert!(orders.contains(&Order::Revoke(*id)), "{id:?}: {orders:?}");
    }
    let last = Order::Revoke(told.last().unwrap().0);
    let revoked = orders.iter().rposition(|o| *o == last);
    let score = orders.iter().rposition(|o| matches!(o, Order::Score(_)));
    assert!(revoked < score, "{orders:?}");
    // In a run it is not heard.
    play();
    house.press(Act::Flag);
    house.until("the flag", |s| !s.view.last.is_empty());
    assert_eq!(house.speaker.recordings().len(), 3);
}
