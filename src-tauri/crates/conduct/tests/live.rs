//! The conductor as the app starts it: its own thread, the real clock, store and writer; only the
//! speaker is a fake.
#![expect(
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test that meets an error fails, as it should"
)]

use std::{
    fs,
    path::{Path, PathBuf},
    sync::mpsc::{self, Receiver},
    time::Duration,
};

use conduct::{
    Ask, Clock, Handle, Heads, Order, Parts, PhoneNews, RunClock, Shown, StartError, Touch, Voice,
    clock::uptime_ms, fakes::FakeSpeaker,
};
use cycle::{
    Act, Banner, Card, ClipLengths, Entered, Entry, Fact, Ms, Prompt, Protocol, Seq, Setup,
    SoundNews, StateWord,
    fact::{Deed, Source, Way},
    mark::{PatientClass, kind_of},
};
use record::{Digest, RunKind, Stamp, Wall};

struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let name = format!("carrybeat-live-{name}-{}", std::process::id());
        let path = std::env::temp_dir().join(name);
        drop(fs::remove_dir_all(&path));
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn record(&self) -> Vec<u8> {
        let files: Vec<_> = fs::read_dir(&self.0)
            .unwrap()
            .map(|e| e.unwrap().path())
            .filter(|p| p.to_string_lossy().ends_with(".rec.jsonl"))
            .collect();
        let [file] = files.as_slice() else {
            panic!("{files:?}")
        };
        fs::read(file).unwrap()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        drop(fs::remove_dir_all(&self.0));
    }
}

struct House {
    handle: Handle,
    shown: Receiver<Shown>,
}

fn parts(folder: &Path, speaker: FakeSpeaker, show: Box<dyn FnMut(Shown) + Send>) -> Parts {
    let text = Protocol::example("example-adult").unwrap();
    Parts {
        folder: folder.to_owned(),
        speaker: Box::new(speaker),
        phone: Box::new(conduct::NoPhone),
        setup: Setup {
            protocol: Protocol::parse(text.as_bytes()).unwrap(),
            clips: ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 1000)).collect()).unwrap(),
            class: PatientClass::Adult,
            others: Vec::new(),
        },
        heads: Heads {
            kind: RunKind::Test,
            version: "0".to_owned(),
            pack_id: "none".to_owned(),
            pack_sha256: Digest::of(b""),
            lang: "en-US".to_owned(),
            tz: "UTC".to_owned(),
            record_id: String::new(),
            scenario: None,
            unit_code: None,
        },
        faults: Vec::new(),
        remarks: Vec::new(),
        other_faults: Vec::new(),
        levels: cycle::Levels::default(),
        seal_after: Ms(1000),
        show,
    }
}

fn open(folder: &Path, speaker: &FakeSpeaker) -> Result<House, StartError> {
    open_with(folder, speaker, Vec::new())
}

fn open_with(
    folder: &Path,
    speaker: &FakeSpeaker,
    others: Vec<Protocol>,
) -> Result<House, StartError> {
    let (show, shown) = mpsc::channel();
    let show = Box::new(move |s| drop(show.send(s)));
    let mut parts = parts(folder, speaker.clone(), show);
    parts.setup.others = others;
    let handle = conduct::start(parts)?;
    Ok(House { handle, shown })
}

impl House {
    fn press(&self, act: Act) {
        let touch = now();
        self.handle.ask(Ask::Press { act, touch });
    }

    fn enter(&self, value: &str) {
        let (value, unit) = (value.to_owned(), "mmHg".to_owned());
        let entered = Entered::Co2 { value, unit };
        let touch = now();
        self.handle.ask(Ask::Enter { entered, touch });
    }

    /// The first screen for which `is` holds; patient, for a busy machine.
    fn until(&self, what: &str, is: impl Fn(&Shown) -> bool) -> Shown {
        let mut last = None;
        let end = uptime_ms().saturating_add(20_000);
        // A run shows itself again and again: the end is the clock's, not the last screen's.
        while let Ok(shown) = self.shown.recv_timeout(Duration::from_secs(20)) {
            if uptime_ms() > end {
                break;
            }
            if is(&shown) {
                return shown;
            }
            last = Some(shown);
        }
        panic!("never shown: {what}; last {last:?}");
    }
}

const LEFT: &str = "5f0f1c3e-2a4b-4c1d-8e6f-0123456789ab";

/// An unfinished run by hand that a process before the last boot left so long ago.
fn leave_behind(folder: &Path, ago: Duration) {
    let mut parts = parts(folder, FakeSpeaker::new(), Box::new(drop));
    LEFT.clone_into(&mut parts.heads.record_id);
    let ago = i64::try_from(ago.as_millis()).unwrap();
    let now = RunClock::begin(Ms::ZERO).wall().unix_ms();
    let began = now.saturating_sub(ago);
    let stamp = Stamp {
        mono_ms: 5000,
        boot: "another".to_owned(),
        proc: 0,
        wall: Wall::new(began, 0).unwrap(),
    };
    let (mut chain, mut bytes) = parts.heads.open(&parts.setup, &stamp).unwrap();
    let start = (Source::Auto, Fact::Deed(Deed::Start { way: Way::Hand }));
    let marks = Act::StartByHand.marks().into_iter();
    let marks = marks.map(|mark| (Source::Button, Fact::Mark(mark)));
    for (n, (src, fact)) in (2..).zip([start].into_iter().chain(marks)) {
        let (seq, at, taken) = (Seq(n), Ms::ZERO, Ms::ZERO);
        let entry = Entry {
            seq,
            at,
            taken,
            src,
            fact,
        };
        bytes.extend(record::encode(&mut chain, &stamp, &entry).unwrap());
    }
    fs::write(folder.join(format!("{LEFT}.rec.jsonl")), bytes).unwrap();
}

/// The rule: a run that stood still for less than five minutes goes on, longer it is asked about.
#[test]
fn a_run_left_for_long_asks_whose_it_is_and_another_patient_can_be_started_at_once() {
    let (folder, speaker) = (Folder::new("halves"), FakeSpeaker::new());
    leave_behind(&folder.0, Duration::from_mins(20));
    let house = open(&folder.0, &speaker).unwrap();
    let shown = house.until("the question", |s| s.view.card == Card::Unknown);
    assert_eq!(shown.view.main, [Act::SamePatient, Act::NewPatient]);
    house.press(Act::NewPatient);
    house.until("the start card", |s| s.view.card == Card::Before);
    house.press(Act::StartByHand);
    house.until("the run", |s| s.view.state == StateWord::ByHand);
    house.handle.close();
    let left = fs::read(folder.0.join(format!("{LEFT}.rec.jsonl"))).unwrap();
    let opened = record::open(&left).unwrap();
    assert!(opened.is_sound() && opened.sealed, "{:?}", opened.damage);
}

#[test]
fn a_run_left_for_a_day_is_nobody_s() {
    let (folder, speaker) = (Folder::new("old"), FakeSpeaker::new());
    leave_behind(&folder.0, Duration::from_hours(24));
    let house = open(&folder.0, &speaker).unwrap();
    let shown = house.shown.recv_timeout(Duration::from_secs(20)).unwrap();
    assert_eq!(shown.view.card, Card::Before);
    house.handle.close();
}

fn now() -> Touch {
    let now = uptime_ms();
    Touch {
        down_ms: now,
        taken_ms: now,
        sent_ms: now,
    }
}

/// The record's names of the marks that were kept, in order.
fn marks(folder: &Folder) -> Vec<&'static str> {
    let opened = record::open(&folder.record()).unwrap();
    assert!(opened.is_sound(), "{:?}", opened.damage);
    opened
        .entries
        .iter()
        .filter_map(|e| match &e.fact {
            Fact::Mark(mark) => Some(kind_of(mark)),
            Fact::Deed(_) | Fact::Amend(_) => None,
        })
        .collect()
}

fn has_no_sound(shown: &Shown) -> bool {
    shown.view.banners.contains(&Banner::NoSound) || shown.banners.contains(&Banner::NoSound)
}

#[test]
fn a_run_is_kept_sealed_and_closed() {
    let (folder, speaker) = (Folder::new("run"), FakeSpeaker::new());
    let house = open(&folder.0, &speaker).unwrap();
    house.until("the start card", |s| s.view.card == Card::Before);
    house.press(Act::StartByHand);
    house.until("the start kept", |s| {
        s.view.state == StateWord::ByHand
            && s.last_act.is_some_and(|a| s.kept_through >= Some(a.seq))
    });
    house.press(Act::EndStopped);
    house.until("the end", |s| s.view.card == Card::Ended);
    house.handle.close();
    let opened = record::open(&folder.record()).unwrap();
    assert!(opened.is_sound() && opened.sealed, "{:?}", opened.damage);
    let scores = speaker
        .orders()
        .iter()
        .filter(|(_, o)| matches!(o, Order::Score(_)))
        .count();
    assert_eq!(scores, 2, "by hand, then silence");
}

#[test]
fn what_is_chosen_on_the_start_card_begins_the_run() {
    let (folder, speaker) = (Folder::new("chosen"), FakeSpeaker::new());
    let house = open(&folder.0, &speaker).unwrap();
    house.press(Act::OverlayDrowning);
    house.until("breaths first", |s| s.view.main == [Act::StartWithBreaths]);
    // A mark of a run is none before it, and makes none.
    house.press(Act::ShockNow);
    house.press(Act::StartWithBreaths);
    let shown = house.until("the breaths", |s| s.view.card == Card::FirstBreaths);
    assert_eq!(shown.view.main, [Act::BreathsGiven2]);
    house.press(Act::BreathsGiven2);
    house.until("hands on", |s| s.view.state == StateWord::ByHand);
    house.press(Act::EndStopped);
    house.until("the end kept", |s| {
        s.view.card == Card::Ended && s.last_act.is_some_and(|a| s.kept_through >= Some(a.seq))
    });
    house.handle.ask(Ask::PutAway);
    // It belonged to that run alone.
    house.until("the start card", |s| s.view.main == [Act::StartByHand]);
    house.handle.close();
    let kept = marks(&folder);
    assert_eq!(kept, ["overlay", "arrest", "vent", "compr_start", "end"]);
}

/// The examples for the other classes, as the app has them beside the adult's.
fn beside() -> Vec<Protocol> {
    let adult = Protocol::parse(Protocol::example("example-adult").unwrap().as_bytes()).unwrap();
    adult.examples_beside().unwrap()
}

#[test]
fn a_class_is_that_of_one_patient_and_the_next_begins_as_set() {
    let (folder, speaker) = (Folder::new("class"), FakeSpeaker::new());
    let house = open_with(&folder.0, &speaker, beside()).unwrap();
    let start = house.until("the start card", |s| s.view.card == Card::Before);
    house.press(Act::OverlayDrowning);
    house.handle.ask(Ask::Class(PatientClass::Child));
    let child = house.until("the child's numbers", |s| {
        s.view.class == PatientClass::Child && s.protocol != start.protocol
    });
    assert_eq!(child.record, None);
    house.press(child.view.main.first().copied().unwrap());
    house.until("the run", |s| s.view.card == Card::FirstBreaths);
    // In a run the class is a mark; what the start card asks for is not heard.
    house.handle.ask(Ask::Class(PatientClass::Infant));
    house.press(Act::BreathsGiven5);
    house.until("hands on", |s| s.view.state == StateWord::ByHand);
    house.press(Act::EndStopped);
    house.until("the end kept", |s| {
        s.view.card == Card::Ended && s.last_act.is_some_and(|a| s.kept_through >= Some(a.seq))
    });
    house.handle.ask(Ask::PutAway);
    let next = house.until("the start card", |s| s.view.card == Card::Before);
    assert_eq!(next.view.class, PatientClass::Adult);
    assert_eq!(next.protocol, start.protocol);
    house.handle.close();
    let opened = record::open(&folder.record()).unwrap();
    assert_eq!(opened.header.patient_class, PatientClass::Child);
    // Said before the class, and not lost by it.
    assert_eq!(marks(&folder).first(), Some(&"overlay"));
}

#[test]
fn another_protocol_comes_with_its_own_class() {
    let (folder, speaker) = (Folder::new("class-set"), FakeSpeaker::new());
    let house = open_with(&folder.0, &speaker, beside()).unwrap();
    house.handle.ask(Ask::Class(PatientClass::Infant));
    house.until("the infant's numbers", |s| {
        s.view.class == PatientClass::Infant
    });
    let clips = ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 1000)).collect()).unwrap();
    let set = conduct::of_example("example-adult-b", clips)
        .unwrap()
        .unwrap();
    let name = set.protocol.name.clone();
    house.handle.ask(Ask::Setup(Box::new(set)));
    house.until("the other protocol", |s| {
        s.view.class == PatientClass::Adult && s.protocol == name
    });
    house.handle.close();
}

#[test]
fn a_language_is_turned_to_at_once_between_runs_and_after_a_run_that_goes_on() {
    let (folder, speaker) = (Folder::new("tongue"), FakeSpeaker::new());
    let (show, shown) = mpsc::channel();
    let show = Box::new(move |s| drop(show.send(s)));
    let mut first = parts(&folder.0, speaker.clone(), show);
    first.setup.others = beside();
    first.remarks = vec!["no voice of that name".to_owned()];
    let handle = conduct::start(first).unwrap();
    let house = House { handle, shown };
    let start = house.until("the start card", |s| s.view.card == Card::Before);
    assert_eq!(start.lang, "en-US");
    assert_eq!(start.faults, ["no voice of that name"]);
    let setup = parts(&folder.0, FakeSpeaker::new(), Box::new(drop)).setup;
    let speak = |lang: &str, ms: u32, fault: &str| {
        let clips = ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, ms)).collect()).unwrap();
        let voice = Voice {
            lang: lang.to_owned(),
            pack_id: format!("voice-{lang}"),
            pack_sha256: Digest::of(lang.as_bytes()),
            setup: Setup {
                clips,
                others: beside(),
                ..setup.clone()
            },
            faults: vec![fault.to_owned()],
            remarks: vec![format!("{lang} it is")],
        };
        house.handle.ask(Ask::Voice(Box::new(voice)));
    };
    // What was chosen for the next patient stays.
    house.handle.ask(Ask::Class(PatientClass::Child));
    house.until("the child's", |s| s.view.class == PatientClass::Child);
    speak("es-419", 1234, "a clip");
    let turned = house.until("Spanish", |s| s.lang == "es-419");
    assert_eq!(turned.view.class, PatientClass::Child);
    assert_eq!(turned.faults, ["a clip", "es-419 it is"]);
    assert_eq!(turned.voice, "voice-es-419");
    assert!(turned.banners.contains(&Banner::PackDamaged));
    house.press(turned.view.main.first().copied().unwrap());
    house.until("the run", |s| s.record.is_some());
    speak("es-ES", 999, "");
    house.press(Act::EndStopped);
    let ended = house.until("the end kept", |s| {
        s.view.card == Card::Ended && s.last_act.is_some_and(|a| s.kept_through >= Some(a.seq))
    });
    assert_eq!(ended.lang, "es-419");
    assert_eq!(speaker.spoken(), ["es-419"]);
    house.handle.ask(Ask::PutAway);
    house.until("the start card in the other", |s| {
        s.view.card == Card::Before && s.lang == "es-ES"
    });
    house.handle.close();
    assert_eq!(speaker.spoken(), ["es-419", "es-ES"]);
    let opened = record::open(&folder.record()).unwrap();
    assert_eq!(opened.header.lang, "es-419");
    let pack = opened.protocol.unwrap().pack;
    assert_eq!(pack.id, "voice-es-419");
    assert!(pack.clip_ms.values().all(|ms| *ms == 1234));
}

#[test]
fn the_shown_run_names_its_record_and_whether_it_is_kept() {
    let (folder, speaker) = (Folder::new("named"), FakeSpeaker::new());
    let house = open(&folder.0, &speaker).unwrap();
    house.press(Act::StartByHand);
    let shown = house.until("the run kept", |s| {
        s.last_act.is_some_and(|a| s.kept_through >= Some(a.seq))
    });
    let record = shown.record.unwrap();
    assert!(record.is_kept);
    let path = folder.0.join(format!("{}.rec.jsonl", record.id));
    assert!(path.is_file(), "{}", path.display());
    house.press(Act::EndStopped);
    let ended = house.until("the end", |s| s.view.card == Card::Ended);
    assert_eq!(ended.record, Some(record));
    house.handle.ask(Ask::PutAway);
    let next = house.until("the start card", |s| s.view.card == Card::Before);
    assert_eq!(next.record, None);
    house.handle.close();
}

#[test]
fn a_value_is_entered_or_told_to_be_none_and_the_phone_s_battery_is_heard() {
    let (folder, speaker) = (Folder::new("entered"), FakeSpeaker::new());
    let house = open(&folder.0, &speaker).unwrap();
    house.handle.ask(Ask::Phone(PhoneNews::Battery {
        pct: 9,
        charging: false,
    }));
    house.press(Act::StartByHand);
    house.until("a low battery, known before the start", |s| {
        s.view.banners.contains(&Banner::PhoneLow)
    });
    house.enter("35");
    house.until("the reading", |s| {
        s.view.entries.co2.as_ref().is_some_and(|c| c.value == "35")
    });
    house.enter("900");
    house.until("the refusal", |s| s.last_act.is_some_and(|a| !a.taken));
    house.handle.ask(Ask::Phone(PhoneNews::Battery {
        pct: 9,
        charging: true,
    }));
    house.until("charging", |s| !s.view.banners.contains(&Banner::PhoneLow));
    house.handle.close();
    assert_eq!(marks(&folder), ["arrest", "compr_start", "etco2"]);
}

/// The rule: anything wrong can be set right at any time.
#[test]
fn an_end_by_mistake_is_taken_back_until_the_seal_and_the_next_end_is_sealed() {
    let (folder, speaker) = (Folder::new("not-ended"), FakeSpeaker::new());
    let house = open(&folder.0, &speaker).unwrap();
    house.press(Act::StartByHand);
    house.until("the run", |s| s.view.state == StateWord::ByHand);
    // One touch is one moment: the next is another.
    let first = uptime_ms();
    while uptime_ms() < first + 5 {
        drop(house.shown.recv_timeout(Duration::from_millis(5)));
    }
    house.press(Act::EndStopped);
    house.until("the end", |s| s.view.card == Card::Ended && s.view.undo);
    house.handle.ask(Ask::Undo { touch: now() });
    house.until("the run again", |s| s.view.state == StateWord::ByHand);
    // Longer than the seal waits after an end: that end is no more.
    let late = uptime_ms() + 1500;
    while uptime_ms() < late {
        drop(house.shown.recv_timeout(Duration::from_millis(100)));
    }
    house.press(Act::Flag);
    house.until("another end possible", |s| {
        s.view.state == StateWord::ByHand
    });
    house.press(Act::EndHandedOver);
    house.until("the end", |s| s.view.card == Card::Ended && s.view.undo);
    house.until("no way back", |s| !s.view.undo);
    house.handle.close();
    assert_eq!(
        marks(&folder),
        ["arrest", "compr_start", "end", "flag", "end"]
    );
    let opened = record::open(&folder.record()).unwrap();
    assert!(opened.is_sound() && opened.sealed, "{:?}", opened.damage);
    // By hand, silence, by hand again, silence.
    let scores = |o: &&(Ms, Order)| matches!(o.1, Order::Score(_));
    assert_eq!(speaker.orders().iter().filter(scores).count(), 4);
}

#[test]
fn nothing_is_written_after_the_seal() {
    let (folder, speaker) = (Folder::new("seal"), FakeSpeaker::new());
    let house = open(&folder.0, &speaker).unwrap();
    house.press(Act::StartByHand);
    house.until("the run", |s| s.view.state == StateWord::ByHand);
    house.press(Act::EndStopped);
    house.until("the end", |s| s.view.card == Card::Ended);
    // The seal comes a second after the end; what comes later is not written.
    let late = uptime_ms() + 2500;
    while uptime_ms() < late {
        drop(house.shown.recv_timeout(Duration::from_millis(100)));
    }
    house.press(Act::Flag);
    speaker.tell(SoundNews::Lost);
    house.handle.close();
    let bytes = folder.record();
    let opened = record::open(&bytes).unwrap();
    let last = bytes
        .split(|b| *b == b'\n')
        .rfind(|l| !l.is_empty())
        .unwrap();
    assert!(opened.sealed, "{}", String::from_utf8_lossy(last));
}

#[test]
fn sound_lost_before_the_start_is_said_in_the_run() {
    let (folder, speaker) = (Folder::new("lost"), FakeSpeaker::new());
    speaker.tell(SoundNews::Lost);
    let why = "no sound output: connect or switch on a speaker";
    speaker.set_why_silent(Some(why));
    let house = open(&folder.0, &speaker).unwrap();
    let shown = house.until("no sound on the start card", has_no_sound);
    assert_eq!(shown.faults, [why], "and why, with what mends it");
    assert_eq!(shown.silent.as_deref(), Some(why), "for the ready check");
    house.press(Act::StartByHand);
    let shown = house.until("the run", |s| s.view.state == StateWord::ByHand);
    assert!(has_no_sound(&shown));
    // What was refused last says nothing any more once it plays.
    speaker.tell(SoundNews::Back);
    let shown = house.until("sound back", |s| !has_no_sound(s));
    assert_eq!((shown.faults, shown.silent), (vec![], None));
    house.handle.close();
}

#[test]
fn a_folder_that_is_none_is_said_and_the_run_goes_on() {
    let (folder, speaker) = (Folder::new("none"), FakeSpeaker::new());
    let file = folder.0.join("a-file");
    fs::write(&file, b"kept").unwrap();
    let house = open(&file, &speaker).unwrap();
    house.until("not saving", |s| s.banners.contains(&Banner::NotSaving));
    house.press(Act::StartByHand);
    let shown = house.until("the run, not kept", |s| {
        s.view.state == StateWord::ByHand && s.banners.contains(&Banner::NotSaving)
    });
    assert_eq!(shown.kept_through, None);
    assert!(
        shown.faults.iter().any(|f| f.contains("is not a folder")),
        "{:?}",
        shown.faults
    );
    assert!(
        speaker
            .orders()
            .iter()
            .any(|(_, o)| matches!(o, Order::Score(_)))
    );
    assert_eq!(shown.record.map(|r| r.is_kept), Some(false));
    house.press(Act::EndStopped);
    house.until("the end", |s| s.view.card == Card::Ended);
    // The start card after it still says so, and a class chosen there takes nothing of it away.
    let is_said = |s: &Shown| {
        s.banners.contains(&Banner::NotSaving)
            && s.faults.iter().any(|f| f.contains("is not a folder"))
    };
    house.handle.ask(Ask::PutAway);
    let next = house.until("the start card", |s| s.view.card == Card::Before);
    assert!(is_said(&next), "{next:?}");
    house.handle.ask(Ask::Class(PatientClass::Child));
    let child = house.until("the child's", |s| s.view.class == PatientClass::Child);
    assert!(is_said(&child), "{child:?}");
    house.handle.close();
    assert_eq!(fs::read(&file).unwrap(), b"kept");
}

#[test]
fn a_second_start_says_that_the_first_one_runs() {
    let (folder, speaker) = (Folder::new("second"), FakeSpeaker::new());
    let first = open(&folder.0, &speaker).unwrap();
    first.until("the start card", |s| s.view.card == Card::Before);
    match open(&folder.0, &speaker) {
        Err(StartError::Lock(e)) => assert!(e.to_string().contains("running already")),
        other => panic!("{:?}", other.err()),
    }
    first.handle.close();
}

#[test]
fn a_mark_that_is_not_taken_is_told_as_such() {
    let (folder, speaker) = (Folder::new("refused"), FakeSpeaker::new());
    let house = open(&folder.0, &speaker).unwrap();
    house.press(Act::StartByHand);
    house.until("the run", |s| s.view.state == StateWord::ByHand);
    house.press(Act::Swapped);
    let shown = house.until("the refusal", |s| s.last_act.is_some_and(|a| !a.taken));
    assert_eq!(shown.view.state, StateWord::ByHand);
    house.handle.close();
}

#[test]
fn protocols_too_long_for_the_record_are_said_and_the_run_is_kept() {
    let (folder, speaker) = (Folder::new("long"), FakeSpeaker::new());
    let long = |id| {
        let text = Protocol::example(id).unwrap();
        let text = format!("{text}#{}\n", "-".repeat(38_000));
        Protocol::parse(text.as_bytes()).unwrap()
    };
    let others = vec![long("example-child"), long("example-infant")];
    let house = open_with(&folder.0, &speaker, others).unwrap();
    house.press(Act::StartByHand);
    let shown = house.until("the start kept", |s| {
        s.view.state == StateWord::ByHand
            && s.last_act.is_some_and(|a| s.kept_through >= Some(a.seq))
    });
    assert!(
        shown.faults.iter().any(|f| f.contains("leave a class out")),
        "{:?}",
        shown.faults
    );
    house.handle.close();
    let opened = record::open(&folder.record()).unwrap();
    assert!(opened.is_sound(), "{:?}", opened.damage);
    assert_eq!(opened.protocol.unwrap().others, [""; 0]);
}

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
    let (folder, speaker) = (Folder::new("listen"), FakeSpeaker::new());
    let house = open(&folder.0, &speaker).unwrap();
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
    let (folder, speaker) = (Folder::new("listen-start"), FakeSpeaker::new());
    let house = open(&folder.0, &speaker).unwrap();
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
    let opened = record::open(&folder.record()).unwrap();
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
