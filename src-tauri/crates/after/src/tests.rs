//! The screens of the thirty-five minute rehearsal, an invented case; its figures are worked out by hand
//! from the script.

use std::{
    fs,
    path::PathBuf,
    sync::atomic::{AtomicU32, Ordering},
};

use conduct::{
    Clock, Heads,
    fakes::{FakeClock, FakeSpeaker},
};
use cycle::{
    ClipLengths, Prompt,
    mark::{ClockRef, Reason},
};
use record::{Digest, RunKind, script::Script};
use words::Asks;

use super::*;

mod drills;

const ID: &str = "2f0c6f0e-7a8e-4b5c-9d61-0d9f1f2a3b4c";
const FRAME: Frame = Frame {
    recorded: false,
    width: 358,
    theme: Theme::Day,
};

struct Folder(PathBuf);

impl Folder {
    fn new() -> Self {
        static NEXT: AtomicU32 = AtomicU32::new(0);
        let n = NEXT.fetch_add(1, Ordering::Relaxed);
        let name = format!("carrybeat-after-{}-{n}", std::process::id());
        let path = std::env::temp_dir().join(name).join("runs");
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    /// With the rehearsal in it.
    fn with_a_run() -> (Self, After) {
        let folder = Self::new();
        fs::write(folder.0.join(format!("{ID}.rec.jsonl")), rehearsed()).unwrap();
        let after = After::at(&folder.0);
        (folder, after)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        drop(fs::remove_dir_all(self.0.parent().unwrap()));
    }
}

fn rehearsed() -> Vec<u8> {
    let script = include_bytes!("../../../../tests/scripts/reference-35.json");
    let script = Script::parse(script).unwrap();
    let clips = ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 1000)).collect()).unwrap();
    let setup = conduct::of_example("example-adult-b", clips)
        .unwrap()
        .unwrap();
    let heads = Heads {
        kind: RunKind::Rehearsal,
        version: "0".to_owned(),
        pack_id: "none".to_owned(),
        pack_sha256: Digest::of(b""),
        lang: "en-US".to_owned(),
        tz: "UTC".to_owned(),
        record_id: ID.to_owned(),
        scenario: None,
        unit_code: None,
    };
    conduct::rehearse(&script, setup, &heads, &mut FakeSpeaker::new())
        .unwrap()
        .record
}

fn words() -> Words {
    Words::load("en-US").unwrap()
}

fn lengths(debrief: &Debrief) -> Vec<&str> {
    debrief.longest.iter().map(|p| p.length.as_str()).collect()
}

/// Worked out by hand from the script: from the finger's way down at each hands off to that at the
/// next hands on (each mark's `at_s` less its `age_ms`).
const PAUSES: [(u64, u64, Reason); 12] = [
    (43_890, 50_900, Reason::RhythmCheck),
    (172_880, 181_100, Reason::RhythmCheck),
    (302_900, 310_100, Reason::RhythmCheck),
    (374_910, 381_400, Reason::DeviceFit),
    (390_910, 397_670, Reason::DeviceFit),
    (872_900, 886_900, Reason::DeviceReseat),
    (1_439_900, 1_487_900, Reason::Power),
    // The mistaken pulse was taken back: the pause goes on to the device's start.
    (1_493_900, 1_500_900, Reason::PulseCheck),
    (1_619_900, 1_627_900, Reason::DeviceFault),
    (1_671_900, 1_679_000, Reason::RhythmCheck),
    (1_801_900, 1_808_900, Reason::RhythmCheck),
    (1_999_900, 2_007_900, Reason::DeviceFit),
];

#[test]
fn the_rehearsal_has_the_pauses_that_its_script_has() {
    let (_folder, after) = Folder::with_a_run();
    let measured = ::debrief::measures(&after.open(ID).unwrap(), ::debrief::Basis::Amended);
    let rows = measured.unwrap().pauses.of.rows;
    let found: Vec<_> = rows
        .iter()
        .map(|p| (p.from_ms.0, p.to_ms.0, p.reason))
        .collect();
    assert_eq!(found, PAUSES);
}

#[test]
fn drugs_have_the_services_names() {
    let (_folder, after) = Folder::with_a_run();
    let setup = past::setup(&after.open(ID).unwrap()).unwrap();
    // The record has the key; example-adult-b, the run's own protocol, has the service's name.
    let name = (
        "adrenaline".to_owned(),
        "Epinephrine (adrenaline)".to_owned(),
    );
    assert!(Seen::drugs(&setup).contains(&name));
}

#[test]
fn it_opens_on_the_three_longest_pauses_with_their_reasons() {
    let (_folder, after) = Folder::with_a_run();
    let shown = after.debrief(&words(), ID, FRAME).unwrap();
    // 48 s for the pack, 14 s for the cup, 8.2 s for the second check.
    assert_eq!(lengths(&shown), ["48 s", "14 s", "8 s"]);
    assert_eq!(shown.longest[0].at, Ms(1_439_900));
    assert!(shown.longest.iter().all(|pause| pause.reason.is_some()));
    let recorded = Frame {
        recorded: true,
        ..FRAME
    };
    let recorded = after.debrief(&words(), ID, recorded).unwrap();
    assert_eq!(
        recorded.bases.iter().map(|b| b.on).collect::<Vec<_>>(),
        [true, false]
    );
    assert_ne!(recorded.head, shown.head);
}

#[test]
fn a_reason_that_was_not_said_is_said_afterwards_and_taken_back() {
    let (_folder, after) = Folder::with_a_run();
    let words = words();
    let pause = after.debrief(&words, ID, FRAME).unwrap().longest[1].clone();
    // The reason that was marked is taken out first: hands were off, and nobody said why.
    let review = after.review(&words, ID).unwrap();
    assert!(review.last.is_none() && !review.unsealed);
    let unknown = review
        .kinds
        .iter()
        .position(|kind| kind.label == words.mark_text(&cycle::Act::HandsOff.marks()[0], &[]))
        .unwrap();
    let stop = review
        .marks
        .iter()
        .find(|mark| mark.at == pause.at && mark.others.contains(&unknown))
        .unwrap();
    let replaced = Change::Replace {
        seq: stop.seq,
        with: unknown,
    };
    after.change(&words, ID, &replaced).unwrap();
    let asked = after.debrief(&words, ID, FRAME).unwrap();
    assert_eq!(asked.longest[1].reason, None);
    let why = Change::Why {
        at: pause.at,
        reason: Reason::Airway,
    };
    let review = after.change(&words, ID, &why).unwrap();
    assert!(review.unsealed && review.last.is_some());
    let said = after.debrief(&words, ID, FRAME).unwrap();
    let reason = said.longest[1].reason.clone();
    assert_eq!(reason, Some(words.reason(Some(Reason::Airway))));
    // As recorded nothing has moved.
    let frame = Frame {
        recorded: true,
        ..FRAME
    };
    let recorded = after.debrief(&words, ID, frame).unwrap();
    assert_eq!(recorded.longest[1].reason, pause.reason);
    after.change(&words, ID, &Change::TakeBack {}).unwrap();
    let back = after.debrief(&words, ID, FRAME).unwrap();
    assert_eq!(back.longest[1].reason, None);
    let sealed = after.change(&words, ID, &Change::Seal {}).unwrap();
    assert!(!sealed.unsealed);
    let bytes = FileStore::at(&after.folder).read(ID).unwrap();
    let opened = record::open(&bytes).unwrap();
    assert!(opened.is_sound() && opened.sealed);
    assert_eq!(opened.seals.last().unwrap().0.rev, 2);
}

#[test]
fn a_flag_waits_for_its_name_and_a_clock_for_its_offset() {
    let (_folder, after) = Folder::with_a_run();
    let words = words();
    let clock = Change::Clock {
        clock: ClockRef::Monitor,
        shown: "08:15:00".to_owned(),
        no_seconds: false,
        ago: 0,
    };
    let review = after.change(&words, ID, &clock).unwrap();
    assert_eq!(review.offsets.len(), 1);
    assert!(review.offsets[0].contains(&words.clock_name(ClockRef::Monitor)));
    let wrong = Change::Clock {
        clock: ClockRef::Wall,
        shown: "25:00:00".to_owned(),
        no_seconds: false,
        ago: 0,
    };
    let refused = after.change(&words, ID, &wrong).unwrap_err().to_string();
    assert!(refused.contains("25:00:00"), "{refused}");
    assert_eq!(after.review(&words, ID).unwrap().offsets.len(), 1);
    let flag = review.marks.iter().find(|m| m.asks == Some(Asks::Name));
    for mark in &review.marks {
        assert!(mark.others.iter().all(|n| *n < review.kinds.len()));
    }
    assert!(flag.is_none_or(|flag| !flag.others.is_empty()));
    let beyond = Change::Add {
        what: review.kinds.len(),
        at: Ms(1000),
    };
    let refused = after.change(&words, ID, &beyond);
    assert!(matches!(refused, Err(AfterError::Kind)));
}

#[test]
fn a_mark_that_was_taken_out_is_put_back_whether_it_was_recorded_or_added() {
    let (_folder, after) = Folder::with_a_run();
    let words = words();
    let first = after.review(&words, ID).unwrap().marks[3].clone();
    let stands = |review: &Review, seq: u64| review.marks.iter().any(|m| m.seq == seq && m.stands);
    let add = Change::Add {
        what: 0,
        at: Ms(60_000),
    };
    let before: Vec<u64> = after
        .review(&words, ID)
        .unwrap()
        .marks
        .iter()
        .map(|m| m.seq)
        .collect();
    let review = after.change(&words, ID, &add).unwrap();
    let added = review
        .marks
        .iter()
        .find(|m| !before.contains(&m.seq))
        .unwrap()
        .seq;
    for seq in [first.seq, added] {
        let out = after.change(&words, ID, &Change::TakeOut { seq }).unwrap();
        assert!(!stands(&out, seq));
        let back = after.change(&words, ID, &Change::PutBack { seq }).unwrap();
        assert!(stands(&back, seq), "{seq}");
        assert!(after.change(&words, ID, &Change::PutBack { seq }).is_err());
    }
}

/// No question of why is asked on the screen: the record states none but what follows from the act itself.
#[test]
fn a_change_for_which_no_reason_was_asked_states_none() {
    let (_folder, after) = Folder::with_a_run();
    let words = words();
    let review = after.review(&words, ID).unwrap();
    let seq = review.marks[3].seq;
    let other = review
        .marks
        .iter()
        .find(|m| m.asks.is_none() && !m.others.is_empty());
    let other = other.unwrap();
    let replace = Change::Replace {
        seq: other.seq,
        with: other.others[0],
    };
    let at = Ms(review.marks[3].at.0 + 500);
    for change in [
        Change::Move { seq, at },
        Change::TakeBack {},
        Change::TakeOut { seq },
        Change::PutBack { seq },
        Change::Confirm { seq },
        replace,
        Change::Add {
            what: 0,
            at: Ms(60_000),
        },
    ] {
        after.change(&words, ID, &change).unwrap();
    }
    let opened = after.open(ID).unwrap();
    let why = |entry: &cycle::Entry| match &entry.fact {
        cycle::Fact::Amend(amend) if amend.by_role.is_some() => Some(amend.reason.word()),
        cycle::Fact::Mark(_) | cycle::Fact::Amend(_) | cycle::Fact::Deed(_) => None,
    };
    let why: Vec<&str> = opened.entries.iter().filter_map(why).collect();
    // What is added after the run is a late entry, whoever adds it.
    let mut said = ["not_stated"; 7];
    said[6] = "late_entry";
    assert_eq!(why, said);
}

#[test]
fn a_clock_without_seconds_leaves_a_minute_open() {
    let (_folder, after) = Folder::with_a_run();
    let words = words();
    let clock = Change::Clock {
        clock: ClockRef::Dispatch,
        shown: "14:05:00".to_owned(),
        no_seconds: true,
        ago: 0,
    };
    after.change(&words, ID, &clock).unwrap();
    let measured = ::debrief::measures(&after.open(ID).unwrap(), ::debrief::Basis::Amended);
    let span = measured.unwrap().clocks.of.spans[0].clone();
    assert_eq!(span.to_ms.unwrap() - span.from_ms.unwrap(), 60_000);
    // A second look that does not agree: none is chosen, and the page says so.
    let other = Change::Clock {
        clock: ClockRef::Dispatch,
        shown: "17:05:00".to_owned(),
        no_seconds: true,
        ago: 0,
    };
    after.change(&words, ID, &other).unwrap();
    let opened = after.open(ID).unwrap();
    let carried = exports::carry_over(
        &opened,
        ::debrief::Basis::Amended,
        &words,
        &exports::ProcedureCodes::default(),
    );
    let clock = carried.unwrap().clocks[0].clone();
    assert!(clock.moved && clock.offset().contains(" / "), "{clock:?}");
}

/// The last line's own moment: the app may be waiting to seal it.
fn at_once(opened: &Opened) -> Box<dyn Clock> {
    let clock = FakeClock::new();
    clock.set_wall(opened.last.wall);
    let clock = clock.resume(&opened.base, &opened.last, opened.last_run);
    clock.set(opened.last_run);
    Box::new(clock)
}

#[test]
fn a_run_without_a_seal_says_when_it_can_be_reviewed() {
    let (folder, after) = Folder::with_a_run();
    let now = After::by(&folder.0, at_once);
    let words = words();
    let path = folder.0.join(format!("{ID}.rec.jsonl"));
    let whole = fs::read_to_string(&path).unwrap();
    let cut = whole.trim_end().rfind('\n').unwrap();
    fs::write(&path, &whole[..=cut]).unwrap();
    let review = now.review(&words, ID).unwrap();
    assert_eq!(review.refused, Some(words.said(SaidWord::NotOver, &[])));
    let seq = review.marks[0].seq;
    assert!(now.change(&words, ID, &Change::TakeOut { seq }).is_err());
    let seal = now.debrief(&words, ID, FRAME).unwrap().seal;
    assert_eq!(seal.verdict, words.said(SaidWord::SealWaits, &[]));
    assert_eq!(fs::read_to_string(&path).unwrap(), whole[..=cut]);
    // Nobody ended it, and it is long ago: by the system's clock it can be reviewed and sealed.
    assert_eq!(after.review(&words, ID).unwrap().refused, None);
    let changed = after.change(&words, ID, &Change::TakeOut { seq }).unwrap();
    assert_eq!(changed.refused, None);
    // Neither a refused change nor the app's end shuts it.
    let beyond = Change::Move {
        seq: u64::MAX,
        at: Ms(0),
    };
    assert!(after.change(&words, ID, &beyond).is_err());
    let after = After::at(&folder.0);
    assert_eq!(after.review(&words, ID).unwrap().refused, None);
    after.change(&words, ID, &Change::Seal {}).unwrap();
    let opened = record::open(&fs::read(&path).unwrap()).unwrap();
    assert!(opened.is_sound() && opened.sealed);
    assert_eq!(opened.seals.last().unwrap().0.rev, 1);
}

#[test]
fn a_part_of_the_strip_lies_in_the_whole_and_knows_its_edges() {
    let (_folder, after) = Folder::with_a_run();
    let words = words();
    let whole = after.debrief(&words, ID, FRAME).unwrap().strip.unwrap();
    let part = after
        .strip(&words, ID, FRAME, (Ms(600_000), Ms(900_000)))
        .unwrap();
    assert_eq!((part.from, part.to), (Ms(600_000), Ms(900_000)));
    assert_eq!((part.begin, part.end), (whole.begin, whole.end));
    assert!(0.0 < part.left && part.left < part.right && part.right <= 1.0);
    // The legend stands below the lanes.
    assert!(0.02 < part.top && part.top < 0.2, "{}", part.top);
    assert!(0.3 < part.foot && part.foot < 0.9, "{}", part.foot);
    assert_eq!(part.moments, whole.moments);
    let beyond = after
        .strip(&words, ID, FRAME, (Ms(9_999_000), Ms(99_999_000)))
        .unwrap();
    assert!(beyond.from <= beyond.to && beyond.to <= whole.end);
}

#[test]
fn what_is_carried_over_has_its_time_its_place_and_a_count_for_every_tick() {
    let (_folder, after) = Folder::with_a_run();
    let words = words();
    let page = after.carry_page(&words, ID).unwrap();
    // The script's mark of 933 s, its finger down 0.1 s before; the rehearsal begins at midnight.
    let left = page.rows.iter().find(|row| row.element == "eTimes.09");
    let left = left.unwrap();
    assert_eq!(left.value, "00:15:32");
    assert_eq!(left.day.as_deref(), Some("2026-01-01"));
    assert!(left.notes.contains(&words.said(SaidWord::NotARun, &[])));
    let count = page.rows.len();
    assert_eq!(page.typed.len(), count + 1);
    let last = words.said(SaidWord::Place, &[&count.to_string(), &count.to_string()]);
    assert_eq!(page.rows.last().unwrap().place, last);
    // What the crew alone can say is asked for, and never nought.
    let open = page.rows.iter().find(|row| row.element == "eArrest.01");
    assert_eq!(open.unwrap().value, words.said(SaidWord::NotSaid, &[]));
}

#[test]
fn a_run_without_a_file_is_said_to_be_so_and_no_other_is_opened() {
    let (_folder, after) = Folder::with_a_run();
    let words = words();
    let other = ID.replace('2', "3");
    let missing = after.debrief(&words, &other, FRAME);
    assert!(matches!(
        missing,
        Err(AfterError::Store(StoreError::Missing { .. }))
    ));
    assert!(after.debrief(&words, "", FRAME).is_err());
    assert!(after.carry_page(&words, "../runs").is_err());
    assert!(after.hold(&other, true).is_err());
}

#[test]
fn a_held_run_stays_and_the_others_go() {
    let (folder, after) = Folder::with_a_run();
    let words = words();
    let other = ID.replace('2', "3");
    fs::write(folder.0.join(format!("{other}.rec.jsonl")), rehearsed()).unwrap();
    after.hold(ID, true).unwrap();
    assert_eq!(after.keep(&words, ID, None).unwrap().held, Some(true));
    assert!(after.delete(&words, ID, &|| None).is_err());
    let said = after.delete(&words, "", &|| Some(other.clone())).unwrap();
    assert_eq!(said, words.said(SaidWord::DeletedAll, &["0", "2"]));
    let said = after.delete(&words, "", &|| None).unwrap();
    assert_eq!(said, words.said(SaidWord::DeletedAll, &["1", "1"]));
    assert!(after.debrief(&words, &other, FRAME).is_err());
    after.debrief(&words, ID, FRAME).unwrap();
}

/// On its page each file that holds no run is named with its reason, before the hand-in and after it.
#[test]
fn what_cannot_be_read_is_named_and_counts_as_no_run() {
    let (folder, after) = Folder::with_a_run();
    let words = words();
    let put = |name: &str, bytes: &[u8]| {
        fs::write(folder.0.join(format!("{name}.rec.jsonl")), bytes).unwrap();
    };
    put("b", b"");
    put("c", b"hello");
    put("d", &rehearsed()[..400]);
    let newer = String::from_utf8(rehearsed()).unwrap();
    put(
        "e",
        newer.replacen("\"record/1.", "\"record/9.", 1).as_bytes(),
    );
    let long = fs::File::create(folder.0.join("f.rec.jsonl")).unwrap();
    long.set_len(300 << 20).unwrap();
    let names = [
        "b.rec.jsonl: there is nothing in it.",
        "c.rec.jsonl: it is no record of a run.",
        "d.rec.jsonl: its first line is damaged.",
        "e.rec.jsonl: it is a record of another version of the app.",
        "f.rec.jsonl: it is no record of a run.",
    ];
    let told = |first: &str| {
        let page = after.keep(&words, "", None).unwrap();
        assert_eq!(page.lines[0], first);
        let count =
            "Files that cannot be read as runs. They are not handed in and stay as they are: 5";
        assert_eq!(page.lines[1], count);
        let mut files = page.lines[2..7].to_vec();
        files.sort_unstable();
        assert_eq!(files, names);
        page.question
    };
    let question = told("Runs to be handed in: 1");
    let asked = "Delete all? Runs: 1. Files that cannot be read: 5. Kept: 0";
    assert_eq!(question, asked);
    let out = folder.0.with_file_name("out");
    let said = after.hand_in(&words, None, &out).unwrap().said;
    assert!(said.contains("runs in it: 1."), "{said}");
    told("Every run is handed in as it is now.");
    // The longest one cannot be deleted, which is said.
    let said = after.delete(&words, "", &|| None).unwrap();
    let gone = "Runs deleted: 1. Files deleted that could not be read: 4. Kept, since they are protected or going on: 0 ";
    assert!(
        said.starts_with(gone) && said.contains("f.rec.jsonl"),
        "{said}"
    );
}

#[test]
fn copies_are_written_beside_each_other_and_their_place_is_told() {
    let (folder, after) = Folder::with_a_run();
    let words = words();
    let out = folder.0.with_file_name("out");
    for what in [What::Pdf, What::Csv, What::CarryOver, What::Pdf] {
        let written = after.export(&words, ID, what, &out).unwrap();
        let files = &written.files;
        assert!(files.iter().all(|path| path.is_file()), "{written:?}");
        let place = files[0].parent().unwrap();
        let is_alone = what == What::Pdf;
        assert_eq!(files.len() == 1, is_alone, "{written:?}");
        assert_eq!(place == out, is_alone, "{written:?}");
        let there = fs::read_dir(place).unwrap().count();
        assert!(is_alone || there == files.len(), "{written:?}");
        let said = written.said;
        assert!(said.contains(&out.display().to_string()), "{said}");
        assert!(!said.contains(ID), "{said}");
    }
    assert_eq!(fs::read_dir(&out).unwrap().count(), 4);
    let before = after.keep(&words, ID, None).unwrap().lines;
    after.hand_in(&words, None, &out).unwrap();
    assert_ne!(after.keep(&words, ID, None).unwrap().lines, before);
    assert!(after.hand_in(&words, None, &out).is_err());
    // What goes on is in no hand-in, whatever was handed in before.
    let going = after.keep(&words, ID, Some(ID)).unwrap();
    assert_eq!(going.lines[1], words.said(SaidWord::NotPutAway, &[]));
    // Deleted, it takes its copies along; the hand-in stays.
    after.delete(&words, ID, &|| None).unwrap();
    let left: Vec<_> = fs::read_dir(&out)
        .unwrap()
        .map(|e| e.unwrap().file_name())
        .collect();
    assert_eq!(left.len(), 1, "{left:?}");
    fs::write(folder.0.join(format!("{ID}.rec.jsonl")), rehearsed()).unwrap();
    // A file where the folder should be.
    let file = folder.0.with_file_name("file");
    fs::write(&file, "").unwrap();
    let refused = after.export(&words, ID, What::Pdf, &file).unwrap_err();
    assert!(refused.to_string().contains("file"), "{refused}");
}

/// Every screen after a run, in one language, a line each.
fn screens(words: &Words) -> String {
    let (_folder, after) = Folder::with_a_run();
    let mut said = after.debrief(words, ID, FRAME).unwrap();
    // One of them without a reason, as where nobody said one.
    if let Some(pause) = said.longest.get_mut(1) {
        pause.reason = None;
    }
    // Written from the types: their order is the same whatever else is built along.
    let line = |name: &str, screen: Result<String, serde_json::Error>| {
        format!("\"{name}\": {}", screen.unwrap())
    };
    let part = after.strip(words, ID, FRAME, (Ms(600_000), Ms(900_000)));
    let carried = after.carry_page(words, ID).unwrap();
    // With a change that can be taken back.
    let seq = after.review(words, ID).unwrap().marks[2].seq;
    let reviewed = after.change(words, ID, &Change::TakeOut { seq });
    let lines = [
        // At the width of an upright phone of 390 px.
        line("debrief", serde_json::to_string(&said)),
        line("strip", serde_json::to_string(&part.unwrap())),
        line("carry_over", serde_json::to_string(&carried)),
        line("review", serde_json::to_string(&reviewed.unwrap())),
        line(
            "keep",
            serde_json::to_string(&after.keep(words, ID, None).unwrap()),
        ),
        line(
            "keep_all",
            serde_json::to_string(&after.keep(words, "", None).unwrap()),
        ),
    ];
    format!("{{\n{}\n}}\n", lines.join(",\n"))
}

/// What the page's own checks are shown; the build compares it with the committed file.
#[test]
fn screens_are_written() {
    let text = screens(&words());
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../tests/ui/after.json");
    fs::write(path, text).unwrap();
}

/// Every text of a screen, with the name that it has there.
fn texts(name: &str, value: &serde_json::Value, into: &mut Vec<(String, String)>) {
    match value {
        serde_json::Value::String(text) => into.push((name.to_owned(), text.clone())),
        serde_json::Value::Array(items) => items.iter().for_each(|item| texts(name, item, into)),
        serde_json::Value::Object(fields) => {
            fields
                .iter()
                .for_each(|(name, field)| texts(name, field, into));
        }
        serde_json::Value::Null | serde_json::Value::Bool(_) | serde_json::Value::Number(_) => {}
    }
}

/// With a language in which every text is in brackets, what has none did not come from a message file. What
/// else may stand there is the protocol's own text, and names.
#[test]
fn every_text_after_a_run_comes_from_a_message_file() {
    // Words of the wire: closed lists, ids, hashes; and what the care standard itself calls its elements.
    const WIRE: [&str; 12] = [
        "id",
        "reason",
        "clock",
        "state",
        "act",
        "group",
        "fingerprint",
        "kind",
        "digits",
        "whole",
        "element",
        "name",
    ];
    let protocols: String = cycle::Protocol::EXAMPLES
        .iter()
        .map(|(_, text)| *text)
        .collect();
    let mut found = Vec::new();
    let screens = screens(&Words::pseudo().unwrap());
    texts("", &serde_json::from_str(&screens).unwrap(), &mut found);
    assert!(found.len() > 300, "{} texts", found.len());
    let mut strays = Vec::new();
    for (name, text) in found {
        // A picture's words stand between tags, and a long one over several lines.
        let (parts, in_picture) = if name == "svg" {
            let parts = text.split('>').filter_map(|part| part.split_once('<'));
            (parts.map(|(words, _)| words.to_owned()).collect(), true)
        } else {
            (vec![text], false)
        };
        for part in parts {
            let is_ours = part.contains(words::OPEN) && part.contains(words::SHUT)
                || in_picture && !part.is_ascii();
            let is_text = part.chars().filter(|c| c.is_alphabetic()).count() > 2
                && !part.starts_with("metrics/");
            // A drug of the protocol with the number of its dose.
            let part = part
                .trim_end_matches(|c: char| c.is_ascii_digit() || c == ' ')
                .to_owned();
            if is_text && !is_ours && !WIRE.contains(&name.as_str()) && !protocols.contains(&part) {
                strays.push((name.clone(), part));
            }
        }
    }
    assert!(strays.is_empty(), "{strays:#?}");
}
