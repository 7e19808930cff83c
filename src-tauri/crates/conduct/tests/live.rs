//! The conductor as the app starts it: its own thread, the real clock, store and writer; only the
//! speaker is a fake.
#![expect(
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test that meets an error fails, as it should"
)]

#[path = "live/heard.rs"]
mod heard;
mod house;

use std::{fs, path::Path, time::Duration};

use conduct::{
    Ask, Clock, Order, PhoneNews, RunClock, Shown, StartError, Voice, clock::uptime_ms,
    fakes::FakeSpeaker,
};
use cycle::{
    Act, Banner, Card, Entered, Entry, Fact, Ms, Protocol, Seq, Setup, SoundNews, StateWord,
    fact::{Deed, Source, Way},
    mark::{PatientClass, kind_of},
};
use record::{Digest, Stamp, Wall};

use house::{
    House,
    folder::Folder,
    parts::{clips, now, parts},
};

/// The record in a folder that has one.
fn record(folder: &Folder) -> Vec<u8> {
    let files: Vec<_> = fs::read_dir(folder.path())
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.to_string_lossy().ends_with(".rec.jsonl"))
        .collect();
    let [file] = files.as_slice() else {
        panic!("{files:?}")
    };
    fs::read(file).unwrap()
}

fn open(folder: &Path, speaker: &FakeSpeaker) -> Result<House, StartError> {
    open_with(folder, speaker, Vec::new())
}

fn open_with(
    folder: &Path,
    speaker: &FakeSpeaker,
    others: Vec<Protocol>,
) -> Result<House, StartError> {
    let (mut parts, shown) = parts(folder, speaker.clone());
    parts.setup.others = others;
    House::start((parts, shown))
}

fn enter(house: &House, value: &str) {
    let (value, unit) = (value.to_owned(), "mmHg".to_owned());
    let entered = Entered::Co2 { value, unit };
    let touch = now();
    house.handle.ask(Ask::Enter { entered, touch });
}

const LEFT: &str = "5f0f1c3e-2a4b-4c1d-8e6f-0123456789ab";

/// An unfinished run by hand that a process before the last boot left so long ago.
fn leave_behind(folder: &Path, ago: Duration) {
    let (mut parts, _) = parts(folder, FakeSpeaker::new());
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
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    leave_behind(folder.path(), Duration::from_mins(20));
    let house = open(folder.path(), &speaker).unwrap();
    let shown = house.until("the question", |s| s.view.card == Card::Unknown);
    assert_eq!(shown.view.main, [Act::SamePatient, Act::NewPatient]);
    house.press(Act::NewPatient);
    house.until("the start card", |s| s.view.card == Card::Before);
    house.press(Act::StartByHand);
    house.until("the run", |s| s.view.state == StateWord::ByHand);
    house.handle.close();
    let left = fs::read(folder.path().join(format!("{LEFT}.rec.jsonl"))).unwrap();
    let opened = record::open(&left).unwrap();
    assert!(opened.is_sound() && opened.sealed, "{:?}", opened.damage);
}

#[test]
fn a_run_left_for_a_day_is_nobody_s() {
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    leave_behind(folder.path(), Duration::from_hours(24));
    let house = open(folder.path(), &speaker).unwrap();
    let shown = house.shown.recv_timeout(Duration::from_secs(20)).unwrap();
    assert_eq!(shown.view.card, Card::Before);
    house.handle.close();
}

/// The record's names of the marks that were kept, in order.
fn marks(folder: &Folder) -> Vec<&'static str> {
    let opened = record::open(&record(folder)).unwrap();
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
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let house = open(folder.path(), &speaker).unwrap();
    house.until("the start card", |s| s.view.card == Card::Before);
    house.press(Act::StartByHand);
    house.until("the start kept", |s| {
        s.view.state == StateWord::ByHand
            && s.last_act.is_some_and(|a| s.kept_through >= Some(a.seq))
    });
    house.press(Act::EndStopped);
    house.until("the end", |s| s.view.card == Card::Ended);
    house.handle.close();
    let opened = record::open(&record(&folder)).unwrap();
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
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let house = open(folder.path(), &speaker).unwrap();
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
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let house = open_with(folder.path(), &speaker, beside()).unwrap();
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
    let opened = record::open(&record(&folder)).unwrap();
    assert_eq!(opened.header.patient_class, PatientClass::Child);
    // Said before the class, and not lost by it.
    assert_eq!(marks(&folder).first(), Some(&"overlay"));
}

#[test]
fn another_protocol_comes_with_its_own_class() {
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let house = open_with(folder.path(), &speaker, beside()).unwrap();
    house.handle.ask(Ask::Class(PatientClass::Infant));
    house.until("the infant's numbers", |s| {
        s.view.class == PatientClass::Infant
    });
    let set = conduct::of_example("example-adult-b", clips(1000))
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
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let (mut first, shown) = parts(folder.path(), speaker.clone());
    first.setup.others = beside();
    first.remarks = vec!["no voice of that name".to_owned()];
    let setup = first.setup.clone();
    let house = House::start((first, shown)).unwrap();
    let start = house.until("the start card", |s| s.view.card == Card::Before);
    assert_eq!(start.lang, "en-US");
    assert_eq!(start.faults, ["no voice of that name"]);
    let speak = |lang: &str, ms: u32, fault: &str| {
        let voice = Voice {
            lang: lang.to_owned(),
            pack_id: format!("voice-{lang}"),
            pack_sha256: Digest::of(lang.as_bytes()),
            setup: Setup {
                clips: clips(ms),
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
    let opened = record::open(&record(&folder)).unwrap();
    assert_eq!(opened.header.lang, "es-419");
    let pack = opened.protocol.unwrap().pack;
    assert_eq!(pack.id, "voice-es-419");
    assert!(pack.clip_ms.values().all(|ms| *ms == 1234));
}

#[test]
fn the_shown_run_names_its_record_and_whether_it_is_kept() {
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let house = open(folder.path(), &speaker).unwrap();
    house.press(Act::StartByHand);
    let shown = house.until("the run kept", |s| {
        s.last_act.is_some_and(|a| s.kept_through >= Some(a.seq))
    });
    let record = shown.record.unwrap();
    assert!(record.is_kept);
    let path = folder.path().join(format!("{}.rec.jsonl", record.id));
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
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let house = open(folder.path(), &speaker).unwrap();
    house.handle.ask(Ask::Phone(PhoneNews::Battery {
        pct: 9,
        charging: false,
    }));
    house.press(Act::StartByHand);
    house.until("a low battery, known before the start", |s| {
        s.view.banners.contains(&Banner::PhoneLow)
    });
    enter(&house, "35");
    house.until("the reading", |s| {
        s.view.entries.co2.as_ref().is_some_and(|c| c.value == "35")
    });
    enter(&house, "900");
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
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let house = open(folder.path(), &speaker).unwrap();
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
    let opened = record::open(&record(&folder)).unwrap();
    assert!(opened.is_sound() && opened.sealed, "{:?}", opened.damage);
    // By hand, silence, by hand again, silence.
    let scores = |o: &&(Ms, Order)| matches!(o.1, Order::Score(_));
    assert_eq!(speaker.orders().iter().filter(scores).count(), 4);
}

#[test]
fn nothing_is_written_after_the_seal() {
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let house = open(folder.path(), &speaker).unwrap();
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
    let bytes = record(&folder);
    let opened = record::open(&bytes).unwrap();
    let last = bytes
        .split(|b| *b == b'\n')
        .rfind(|l| !l.is_empty())
        .unwrap();
    assert!(opened.sealed, "{}", String::from_utf8_lossy(last));
}

#[test]
fn sound_lost_before_the_start_is_said_in_the_run() {
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    speaker.tell(SoundNews::Lost);
    let why = "no sound output: connect or switch on a speaker";
    speaker.set_why_silent(Some(why));
    let house = open(folder.path(), &speaker).unwrap();
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

/// Its beats and frames are the run's own: the ready check's are in no count of it.
#[test]
fn what_is_counted_of_a_run_begins_with_it() {
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let house = open(folder.path(), &speaker).unwrap();
    house.press(Act::StartByHand);
    house.until("the run", |s| s.view.state == StateWord::ByHand);
    house.handle.close();
    let [(_, orders)] = speaker.counted()[..] else {
        panic!("{:?}", speaker.counted())
    };
    let first = speaker
        .orders()
        .iter()
        .position(|(_, order)| matches!(order, Order::Score(_)));
    assert!(Some(orders) <= first, "{orders}, {first:?}");
}

#[test]
fn what_is_counted_of_a_run_that_is_taken_up_begins_there() {
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    leave_behind(folder.path(), Duration::from_mins(2));
    let house = open(folder.path(), &speaker).unwrap();
    house.until("the run", |s| s.view.card != Card::Before);
    house.handle.close();
    let counted = speaker.counted();
    assert!(matches!(counted[..], [(_, 0)]), "{counted:?}");
}

#[test]
fn a_folder_that_is_none_is_said_and_the_run_goes_on() {
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let file = folder.path().join("a-file");
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
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let first = open(folder.path(), &speaker).unwrap();
    first.until("the start card", |s| s.view.card == Card::Before);
    match open(folder.path(), &speaker) {
        Err(StartError::Lock(e)) => assert!(e.to_string().contains("running already")),
        other => panic!("{:?}", other.err()),
    }
    first.handle.close();
}

#[test]
fn a_mark_that_is_not_taken_is_told_as_such() {
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let house = open(folder.path(), &speaker).unwrap();
    house.press(Act::StartByHand);
    house.until("the run", |s| s.view.state == StateWord::ByHand);
    house.press(Act::Swapped);
    let shown = house.until("the refusal", |s| s.last_act.is_some_and(|a| !a.taken));
    assert_eq!(shown.view.state, StateWord::ByHand);
    house.handle.close();
}

#[test]
fn protocols_too_long_for_the_record_are_said_and_the_run_is_kept() {
    let (folder, speaker) = (Folder::new(), FakeSpeaker::new());
    let long = |id| {
        let text = Protocol::example(id).unwrap();
        let text = format!("{text}#{}\n", "-".repeat(38_000));
        Protocol::parse(text.as_bytes()).unwrap()
    };
    let others = vec![long("example-child"), long("example-infant")];
    let house = open_with(folder.path(), &speaker, others).unwrap();
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
    let opened = record::open(&record(&folder)).unwrap();
    assert!(opened.is_sound(), "{:?}", opened.damage);
    assert_eq!(opened.protocol.unwrap().others, [""; 0]);
}
