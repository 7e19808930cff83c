//! Drills: what was done and when it is time again, a score sheet with its tries, one that was stopped, over time.

use cycle::{
    Fact,
    fact::{Deed, DrillLine, DrillWord},
};
use record::{Chain, Stamp, Wall};

use super::*;

mod due;
mod early;
mod round;

/// An invented crew at the desk, as the phone would have kept its drill.
fn drilled(folder: &Folder, id: &str, crew: &str, again: Option<&str>) {
    let scenario = ::drill::Scenario::built_in("device_on").unwrap();
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../tests/drills/device_on");
    let script = fs::read(path.join(format!("{crew}.json"))).unwrap();
    let script = ::drill::crew(&script, &scenario, 0).unwrap();
    let clips = ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 1000)).collect()).unwrap();
    let setup = conduct::of_example("example-adult", clips)
        .unwrap()
        .unwrap();
    let heads = Heads {
        kind: RunKind::Drill,
        version: "0".to_owned(),
        pack_id: "none".to_owned(),
        pack_sha256: Digest::of(b""),
        lang: "en-US".to_owned(),
        tz: "UTC".to_owned(),
        record_id: id.to_owned(),
        scenario: Some(record::Scenario {
            id: scenario.id.clone(),
            version: scenario.version.clone(),
        }),
        unit_code: Some("B".to_owned()),
    };
    let done = conduct::rehearse_drill(
        &script,
        (&scenario, 0),
        setup,
        &heads,
        &mut FakeSpeaker::new(),
    )
    .unwrap();
    let mut text = String::from_utf8(done.record).unwrap();
    if let Some(first) = again {
        // As the second try's line names the first.
        let begun = "\"d\":{\"what\":\"begun\",\"seed\":0}";
        let other = format!("\"d\":{{\"what\":\"again\",\"of\":\"{first}\",\"from_ms\":1000}}");
        assert!(text.contains(begun), "{text}");
        text = text.replacen(begun, &other, 1);
    }
    fs::write(folder.0.join(format!("{id}.rec.jsonl")), text).unwrap();
}

const SLOW: &str = "2f0c6f0e-7a8e-4b5c-9d61-0d9f1f2a3b4d";
const GOOD: &str = "2f0c6f0e-7a8e-4b5c-9d61-0d9f1f2a3b4e";

/// So many days after the first of January 2026, of which the desk's records are.
fn on(day: i64) -> Wall {
    let ms = day.saturating_mul(86_400_000);
    Wall::new(ms.saturating_add(1_767_225_600_000), 0).unwrap()
}

#[test]
fn drills_are_listed_apart_from_runs_and_say_when_it_is_time_again() {
    let (folder, after) = Folder::with_a_run();
    let empty = after.drills(&words(), on(0), ("", ""), None).unwrap();
    assert!(
        empty.done.is_empty() && empty.due.is_empty(),
        "a rehearsal is no drill"
    );
    assert_eq!(empty.drills.len(), 6);
    assert_eq!((empty.unit.as_str(), empty.crew.as_str()), ("", ""));
    assert_eq!(after.drill_due(&words(), on(0), "", None).unwrap(), None);
    drilled(&folder, GOOD, "good", None);
    let page = after.drills(&words(), on(3), ("", ""), None).unwrap();
    assert_eq!(page.done[0].label, "2026-01-01 00:00 A: Device on, 100.0 %");
    assert_eq!(
        page.due,
        ["Crew B: next drill in 27 days (B: Rhythm check and shock)."]
    );
    let page = after.drills(&words(), on(30), ("", ""), None).unwrap();
    assert_eq!(
        page.due,
        ["Crew B: a drill is due (B: Rhythm check and shock)."]
    );
    // One line for the start card, from the day on.
    let due = |n| after.drill_due(&words(), on(n), "", None).unwrap();
    assert_eq!(due(29), None);
    assert_eq!(due(30).as_deref(), Some("Drill due: B, crew B"));
    drilled(&folder, SLOW, "slow", None);
    assert_eq!(due(3).as_deref(), Some("Drill due: A, crew B"));
    let page = after.drills(&words(), on(3), ("", ""), None).unwrap();
    assert_eq!((page.done.len(), page.due.len()), (2, 1));
    assert_eq!(
        page.due,
        ["Crew B: not passed, do it again (A: Device on)."]
    );
}

/// The slow try was stopped and gone through again: the good one after it is a pass, and nothing is to be done again.
#[test]
fn a_try_that_was_gone_through_again_is_no_failed_drill() {
    let (folder, after) = Folder::with_a_run();
    drilled(&folder, SLOW, "slow", None);
    drilled(&folder, GOOD, "good", Some(SLOW));
    let day = Wall::new(1_767_225_600_000, 0).unwrap();
    let page = after.drills(&words(), day, ("", ""), None).unwrap();
    assert_eq!(page.done.len(), 2, "both are listed");
    assert_eq!(
        page.due,
        ["Crew B: next drill in 30 days (B: Rhythm check and shock)."]
    );
}

#[test]
fn a_sheet_stands_with_its_tries_side_by_side_and_a_run_has_none() {
    let (folder, after) = Folder::with_a_run();
    let refused = after.drill_sheet(&words(), ID).unwrap_err().to_string();
    assert!(
        refused.contains("allowed: the record of a built-in drill"),
        "{refused}"
    );
    drilled(&folder, SLOW, "slow", None);
    let one = after.drill_sheet(&words(), SLOW).unwrap();
    assert!(one.rows.is_empty());
    assert_eq!(one.sheet.lines[0], "10 of 24 points, 41.7 %.");
    drilled(&folder, GOOD, "good", Some(SLOW));
    let two = after.drill_sheet(&words(), GOOD).unwrap();
    assert_eq!(two.sheet.lines[0], "24 of 24 points, 100.0 %.");
    // The first stop: 70 s and 12 s, of 40 s allowed; the row is as long as the longest.
    let row = &two.rows[1];
    let bars: Vec<_> = row
        .bars
        .iter()
        .map(|bar| (bar.label.as_str(), bar.width, bar.text.as_str(), bar.good))
        .collect();
    assert_eq!(row.name, "First stop");
    assert_eq!(
        bars,
        [
            ("Try 1", 1000, "70 s, late", false),
            ("Try 2", 171, "12 s, in time", true)
        ]
    );
    assert_eq!(row.limit, 571);
    fs::remove_file(folder.0.join(format!("{SLOW}.rec.jsonl"))).unwrap();
    assert!(
        after.drill_sheet(&words(), GOOD).unwrap().rows.is_empty(),
        "the other stands by itself"
    );
}

#[test]
fn a_sheet_to_sign_is_written_beside_the_other_copies_and_has_no_name() {
    let (folder, after) = Folder::with_a_run();
    drilled(&folder, GOOD, "good", None);
    let out = folder.0.join("out");
    let written = after.export(&words(), GOOD, What::Drill, &out).unwrap();
    let [path] = written.files.as_slice() else {
        panic!("{:?}", written.files);
    };
    let name = path.file_name().unwrap().to_string_lossy().into_owned();
    assert!(
        name.starts_with("carrybeat-") && name.ends_with("-drill.pdf"),
        "{name}"
    );
    assert!(fs::read(path).unwrap().starts_with(b"%PDF-"));
    assert!(
        after.export(&words(), ID, What::Drill, &out).is_err(),
        "a run has none"
    );
}

/// What is kept of a drill, dated so many days later, by another id; with `again` as a later try of another record,
/// the same up to then; with `crew` as newer apps write it.
fn redated(folder: &Folder, (from, to): (&str, &str), days: i64, change: &dyn Fn(&mut Fact)) {
    let bytes = fs::read(folder.0.join(format!("{from}.rec.jsonl"))).unwrap();
    rewritten(folder, &record::open(&bytes).unwrap(), to, days, change);
}

fn rewritten(folder: &Folder, opened: &Opened, to: &str, days: i64, change: &dyn Fn(&mut Fact)) {
    let by = days.checked_mul(86_400_000).unwrap();
    let later = |stamp: &Stamp| Stamp {
        wall: Wall::new(stamp.wall.unix_ms().checked_add(by).unwrap(), 0).unwrap(),
        ..stamp.clone()
    };
    let mut header = opened.header.clone();
    to.clone_into(&mut header.record_id);
    let first = later(&opened.stamps[0]);
    let mut chain = Chain::new();
    let mut out = record::encode_header(&mut chain, &first, &header).unwrap();
    out.extend(
        record::encode_protocol(&mut chain, &first, opened.protocol.as_ref().unwrap()).unwrap(),
    );
    for (entry, stamp) in opened.entries.iter().zip(&opened.stamps) {
        let mut entry = entry.clone();
        change(&mut entry.fact);
        out.extend(record::encode(&mut chain, &later(stamp), &entry).unwrap());
    }
    let last = later(opened.stamps.last().unwrap());
    out.extend(record::encode_seal(&mut chain, &last, 1).unwrap());
    fs::write(folder.0.join(format!("{to}.rec.jsonl")), out).unwrap();
}

fn id(n: u32) -> String {
    format!("2f0c6f0e-7a8e-4b5c-9d61-0d9f1f2b{n:04x}")
}

/// The line by which it begins.
fn begun(fact: &mut Fact, change: impl Fn(&mut DrillLine)) {
    if let Fact::Deed(Deed::Drill(line)) = fact
        && line.what == DrillWord::Begun
    {
        change(line);
    }
}

fn of_crew(crew: &str) -> impl Fn(&mut Fact) + '_ {
    move |fact| begun(fact, |line| line.crew = Some(crew.to_owned()))
}

/// `n` drills of a crew, three days apart: slow, good, good, slow, good, good and so on.
fn many(folder: &Folder, crew: &str, n: u32) {
    drilled(folder, SLOW, "slow", None);
    drilled(folder, GOOD, "good", None);
    for k in 0..n {
        let from = if k % 3 == 0 { SLOW } else { GOOD };
        redated(
            folder,
            (from, &id(k)),
            i64::from(k).saturating_mul(3),
            &of_crew(crew),
        );
    }
    for from in [SLOW, GOOD] {
        fs::remove_file(folder.0.join(format!("{from}.rec.jsonl"))).unwrap();
    }
}

fn over_many(words: &Words, frame: Frame) -> words::DrillOver {
    let folder = Folder::new();
    many(&folder, "B", 7);
    After::at(&folder.0)
        .drills_over(words, on(20), "B", frame)
        .unwrap()
}

/// Points of the two crews: 41.7 and 100 % (the sheets beside their scripts). Six drills have 41.7, 41.7 and four times
/// 100; a quarter of the way lies 1.25 steps in: 41.7 + 0.25 x 58.3 = 56.3.
#[test]
fn a_crew_s_drills_over_time_are_dots_by_scenario_with_a_median_from_five_on() {
    let (folder, after) = Folder::with_a_run();
    let none = after.drills_over(&words(), on(20), "B", FRAME).unwrap();
    assert!(none.groups.is_empty());
    assert_eq!(
        none.notes,
        ["No drill of this crew that has ended is kept on this phone."]
    );
    many(&folder, "B", 4);
    let four = after.drills_over(&words(), on(20), "B", FRAME).unwrap();
    assert_eq!(four.title, "Over time: Crew B");
    let [group] = four.groups.as_slice() else {
        panic!("{:?}", four.groups)
    };
    assert_eq!(group.title, "A: Device on (4)");
    let [score, longest] = group.charts.as_slice() else {
        panic!("{:?}", group.charts)
    };
    assert_eq!(
        score.spread,
        "4 of 5 drills that a median needs: dots alone."
    );
    assert!(!score.chart.svg.contains(">100.0 %<"), "no line across");
    let rows: Vec<&[String]> = score.chart.table.rows.iter().map(Vec::as_slice).collect();
    assert_eq!(
        rows,
        [
            ["2026-01-01", "41.7 %"],
            ["2026-01-04", "100.0 %"],
            ["2026-01-07", "100.0 %"],
            ["2026-01-10", "41.7 %"]
        ]
    );
    assert_eq!(longest.label, "Longest pause");
    assert_eq!(longest.chart.table.rows.len(), 4);
    for one in [score, longest] {
        assert!(
            one.trust
                .starts_with("How far the marks go: known share of the windows 1.00;"),
            "{}",
            one.trust
        );
    }
    many(&folder, "B", 6);
    let six = after.drills_over(&words(), on(20), "B", FRAME).unwrap();
    let score = &six.groups[0].charts[0];
    assert_eq!(
        score.spread,
        "Median 100.0 %, quartiles 56.3 % to 100.0 %, of 6 drills."
    );
    assert!(score.chart.svg.contains(">100.0 %<"), "{}", score.chart.svg);
    assert!(
        after
            .drills_over(&words(), on(20), "C", FRAME)
            .unwrap()
            .groups
            .is_empty()
    );
}

/// Of the good crew's drill nothing that must be had its time when it ended at 80 s: what it had was all in time.
#[test]
fn a_drill_that_was_ended_early_is_in_no_picture_and_no_median() {
    let (folder, after) = Folder::with_a_run();
    many(&folder, "B", 2);
    let mut early = after.open(&id(1)).unwrap();
    early.entries.retain(|entry| entry.taken <= Ms(80_000));
    rewritten(&folder, &early, &id(7), 6, &|_| ());
    let page = after.drills(&words(), on(20), ("", ""), None).unwrap();
    assert!(
        page.done[0].label.ends_with("neither passed nor failed."),
        "{}",
        page.done[0].label
    );
    let over = after.drills_over(&words(), on(20), "B", FRAME).unwrap();
    for chart in &over.groups[0].charts {
        let days: Vec<&str> = (chart.chart.table.rows.iter())
            .map(|row| row[0].as_str())
            .collect();
        assert_eq!(days, ["2026-01-01", "2026-01-04"], "{}", chart.label);
    }
}

/// Where nothing is drawn it is said why: none was kept, none came to its end, or none can be drawn for several reasons.
#[test]
fn where_no_drill_is_drawn_it_is_said_whether_any_is_kept() {
    let (folder, after) = Folder::with_a_run();
    drilled(&folder, GOOD, "good", None);
    let said = |crew: &str| {
        let over = after.drills_over(&words(), on(20), crew, FRAME).unwrap();
        assert!(over.groups.is_empty());
        over.notes
    };
    let none = "No drill of this crew that has ended is kept on this phone.";
    assert_eq!(said("C"), [none]);
    let mut early = after.open(GOOD).unwrap();
    early.entries.retain(|entry| entry.taken <= Ms(80_000));
    rewritten(&folder, &early, &id(1), 6, &of_crew("C"));
    assert_eq!(
        said("C"),
        ["Drills of this crew are kept, but none to its end, so none is drawn."]
    );
    redated(&folder, (GOOD, &id(2)), 40, &of_crew("C"));
    assert_eq!(
        said("C"),
        [
            "Drills of this crew are kept, but none can be drawn: ended early, of another version of the drill, changed, or dated ahead of the phone's clock."
        ]
    );
}

/// As many drills by one version of the definitions as by another: two pictures, and each says which.
#[test]
fn drills_of_two_versions_of_the_definitions_have_pictures_with_names_of_their_own() {
    let (folder, after) = Folder::with_a_run();
    many(&folder, "B", 2);
    let mut older = after.open(&id(1)).unwrap();
    older.header.metrics = "metrics/0.9.0".to_owned();
    rewritten(&folder, &older, &id(1), 0, &|_| ());
    let over = after.drills_over(&words(), on(20), "B", FRAME).unwrap();
    let titles: Vec<&str> = over.groups.iter().map(|g| g.title.as_str()).collect();
    assert_eq!(
        titles,
        [
            "A: Device on, Adult, definitions metrics/0.9.0 (1)",
            "A: Device on, Adult, definitions metrics/1.0.0 (1)"
        ]
    );
}

#[test]
fn of_a_drill_that_was_gone_through_again_the_last_try_is_in_the_figure() {
    let (folder, after) = Folder::with_a_run();
    many(&folder, "B", 2);
    let again = |fact: &mut Fact| {
        begun(fact, |line| {
            *line = DrillLine {
                of: Some(id(0)),
                from_ms: Some(Ms(1000)),
                ..DrillLine::of(DrillWord::Again)
            };
        });
    };
    redated(&folder, (&id(1), &id(9)), 1, &again);
    // It has no code of its own there: that of the header stands for it, as in older records.
    let over = after.drills_over(&words(), on(20), "B", FRAME).unwrap();
    let rows = &over.groups[0].charts[0].chart.table.rows;
    let days: Vec<&str> = rows.iter().map(|row| row[0].as_str()).collect();
    assert_eq!(
        days,
        ["2026-01-04", "2026-01-05"],
        "the first, slow try is not among them"
    );
}

#[test]
fn a_drill_that_was_stopped_and_gone_on_with_is_one_and_its_code_is_the_crew_s_own() {
    let (folder, after) = Folder::with_a_run();
    drilled(&folder, GOOD, "good", None);
    let end = after.open(GOOD).unwrap().run_end();
    let goes_on = |fact: &mut Fact| {
        begun(fact, |line| {
            *line = DrillLine {
                of: Some(GOOD.to_owned()),
                from_ms: Some(end),
                ..DrillLine::of(DrillWord::Again)
            };
        });
    };
    redated(&folder, (GOOD, &id(1)), 1, &goes_on);
    redated(&folder, (GOOD, &id(2)), 2, &of_crew("C"));
    redated(&folder, (GOOD, &id(3)), 3, &of_crew(""));
    let page = after.drills(&words(), on(3), ("", "C"), None).unwrap();
    let ids: Vec<&str> = page.done.iter().map(|one| one.id.as_str()).collect();
    assert_eq!(ids, [&id(3), &id(2), &id(1)], "not twice");
    let whose: Vec<&str> = page
        .due
        .iter()
        .map(|line| line.split(':').next().unwrap())
        .collect();
    assert_eq!(whose, ["No crew code", "Crew B", "Crew C"]);
    assert!(
        after
            .drill_sheet(&words(), &id(1))
            .unwrap()
            .strips
            .is_empty(),
        "one try"
    );
}

/// The slow crew stops for the first time 70 s after the device is there, the good one after 12 s; that is at a minute.
#[test]
fn two_tries_stand_side_by_side_as_strips_of_one_length_of_time() {
    let (folder, after) = Folder::with_a_run();
    drilled(&folder, SLOW, "slow", None);
    drilled(&folder, GOOD, "good", Some(SLOW));
    let found = after.drill_sheet(&words(), GOOD).unwrap();
    let [one, two] = found.strips.as_slice() else {
        panic!("{:?}", found.strips)
    };
    assert_eq!((one.label.as_str(), two.label.as_str()), ("Try 1", "Try 2"));
    assert_eq!((&one.from, &one.to), (&two.from, &two.to));
    assert_eq!(one.cut, None);
    let whole = [SLOW, GOOD].map(|id| after.open(id).unwrap().run_end().0);
    let whole = whole.into_iter().max().unwrap();
    assert_eq!(
        two.cut,
        Some(u32::try_from((1000 * 1000 + whole / 2) / whole).unwrap())
    );
    let off = |strip: &words::DrillStrip| -> Vec<u64> {
        let parts = strip
            .parts
            .iter()
            .filter(|part| part.kind == words::StripKind::Off);
        parts
            .map(|part| u64::from(part.left) * whole / 1000)
            .collect()
    };
    assert!(off(one)[0].abs_diff(130_000) < 1000, "{:?}", off(one));
    assert!(off(two)[0].abs_diff(72_000) < 1000, "{:?}", off(two));
    assert_eq!(two.told, "Off the chest: 6 s, 7 s");
    let names: Vec<&str> = found.names.iter().map(|name| name.label.as_str()).collect();
    assert_eq!(names.len(), 3, "{names:?}");
}

/// The good crew: first stop after 12 s, hands back on 6 s later, second stop 17 s after that, running after 7 s.
#[test]
fn a_stopped_drill_shows_its_last_half_minute_and_the_marks_so_far_without_points() {
    let (folder, after) = Folder::with_a_run();
    drilled(&folder, GOOD, "good", None);
    let scenario = ::drill::Scenario::built_in("device_on").unwrap();
    let cue = ::drill::walk(&scenario, 0, &[], &::drill::Heard::default()).cues[0];
    // Fifteen seconds after the cue: the first stop is over the chest's edge, hands are not back on.
    let at = cue.plus(Ms(15_000));
    let look = after.drill_look(&words(), GOOD, at).unwrap();
    let rows: Vec<(&str, &str)> = look
        .rows
        .iter()
        .map(|row| (row.name.as_str(), row.bars[0].text.as_str()))
        .collect();
    assert_eq!(
        rows[0],
        ("Device open and on before anyone stops", "5 s, in time")
    );
    assert_eq!(rows[1], ("First stop", "12 s, in time"));
    // It came at 78 s: what was not marked by then is open, and what counts from it is not asked for.
    assert_eq!(rows[2..], [("Hands back on", "not yet")]);
    assert_eq!(
        (look.strip.from.as_str(), look.strip.to.as_str()),
        clock_of(at)
    );
    let all = serde_json::to_string(&look).unwrap();
    assert!(!all.contains("points") && !all.contains(" %"), "{all}");
    assert!(look.tries.is_empty() && look.none.is_none());
    let refused = after.drill_look(&words(), ID, at).unwrap_err().to_string();
    assert!(
        refused.contains("allowed: the record of a built-in drill"),
        "{refused}"
    );
}

fn clock_of(at: Ms) -> (&'static str, &'static str) {
    assert_eq!(at, Ms(75_000), "the cue of drill A comes at a minute");
    ("0:45", "1:15")
}

#[test]
fn what_was_injected_stands_on_the_sheet_and_costs_no_point() {
    let (folder, after) = Folder::with_a_run();
    drilled(&folder, GOOD, "good", None);
    let before = after.drill_sheet(&words(), GOOD).unwrap().sheet;
    // The app's own heartbeat, which says nothing of care, becomes the line of an event.
    let first = std::cell::Cell::new(true);
    let injected = |fact: &mut Fact| {
        if matches!(fact, Fact::Deed(Deed::Heartbeat {})) && first.replace(false) {
            *fact = Fact::Deed(Deed::Drill(DrillLine {
                id: Some("cup_slips".to_owned()),
                ..DrillLine::of(DrillWord::Injected)
            }));
        }
    };
    redated(&folder, (GOOD, &id(1)), 0, &injected);
    let after = after.drill_sheet(&words(), &id(1)).unwrap().sheet;
    assert_eq!((&after.lines, &after.marks), (&before.lines, &before.marks));
    let more: Vec<&String> = after
        .notes
        .iter()
        .filter(|note| !before.notes.contains(note))
        .collect();
    assert_eq!(
        more,
        [
            "Injected by the instructor at 10 s: Cup slips. No mark was expected for it; times and measures may be \
          longer by it."
        ]
    );
}

/// What the page's checks of drills are shown; the build compares it with the committed file.
#[test]
fn drill_screens_are_written() {
    let (folder, after) = Folder::with_a_run();
    drilled(&folder, SLOW, "slow", None);
    drilled(&folder, GOOD, "good", Some(SLOW));
    let words = words();
    let scenario = ::drill::Scenario::built_in("out_to_vehicle").unwrap();
    let going = words::DrillGoing {
        told: &[true, false, false, false, false],
        next: Some(1),
        by_hand: false,
        ticked: &[::drill::Item::AnswersGiven],
        is_noisy: false,
        stopped: None,
    };
    let now = Wall::new(1_767_225_600_000, 0).unwrap();
    // The good crew's try, stopped three seconds after the device runs.
    let mut until = after.open(GOOD).unwrap();
    until.entries.retain(|entry| entry.taken <= Ms(105_000));
    let cut = id(1);
    rewritten(&folder, &until, &cut, 0, &|_| ());
    let at = after.open(&cut).unwrap().run_end();
    let noisy = words::DrillGoing {
        is_noisy: true,
        ..going
    };
    let stopped = words::DrillGoing {
        told: &[true],
        next: None,
        stopped: Some(at),
        ..going
    };
    let frame = Frame {
        recorded: false,
        width: 334,
        theme: Theme::Day,
    };
    let look = after.drill_look(&words, &cut, at).unwrap();
    fs::remove_file(folder.0.join(format!("{cut}.rec.jsonl"))).unwrap();
    let first = ::drill::Scenario::built_in("device_on").unwrap();
    let over = over_many(&words, frame);
    let in_a_month = Wall::new(now.unix_ms().saturating_add(30 * 86_400_000), 0).unwrap();
    let due = after.drill_due(&words, in_a_month, "B", None).unwrap();
    assert_eq!(due.as_deref(), Some("Drill due: B, crew B"));
    let screens = serde_json::json!({
        "drills": after.drills(&words, now, ("M12", "B"), None).unwrap(),
        "drill_due_line": due,
        "drill_look": look,
        "drill_over": over,
        "drill_told": words.drill_event(::drill::CueKind::CupSlips),
        "drill_stopped": words.drill_face(&first, 0, Some(stopped)),
        "drill_noisy": words.drill_face(&scenario, 0, Some(noisy)),
        "drill_sheet": after.drill_sheet(&words, GOOD).unwrap(),
        "drill_chosen": words.drill_face(&scenario, 0, None),
        "drill_live": words.drill_face(&scenario, 0, Some(going)),
    });
    let text = serde_json::to_string_pretty(&screens).unwrap();
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../tests/ui/drill.json");
    fs::write(path, format!("{text}\n")).unwrap();
}
