//! Whose drill is due, and which drills count for that.

use super::*;

/// Crew A did its last drill four days before crew B. The line is that of the crew that is set; one that nobody heard of
/// for half a year has none and stands on no page.
#[test]
fn the_line_is_that_of_the_crew_that_is_set_and_a_crew_that_is_gone_has_none() {
    let (folder, after) = Folder::with_a_run();
    drilled(&folder, GOOD, "good", None);
    redated(&folder, (GOOD, &id(1)), 0, &of_crew("A"));
    redated(&folder, (GOOD, &id(2)), 4, &of_crew("B"));
    fs::remove_file(folder.0.join(format!("{GOOD}.rec.jsonl"))).unwrap();
    let due = |n, crew| after.drill_due(&words(), on(n), crew, None).unwrap();
    assert_eq!(due(40, "B").as_deref(), Some("Drill due: B, crew B"));
    assert_eq!(due(40, "C").as_deref(), Some("Drill due: B, crew A"));
    assert_eq!(due(32, "B").as_deref(), Some("Drill due: B, crew A"));
    assert_eq!(due(181, "C").as_deref(), Some("Drill due: B, crew B"));
    assert_eq!(due(181, "A").as_deref(), Some("Drill due: B, crew A"));
    assert_eq!(due(185, "C"), None);
    let page = after.drills(&words(), on(181), ("", ""), None).unwrap();
    assert_eq!(
        page.due,
        ["Crew B: a drill is due (B: Rhythm check and shock)."]
    );
}

/// Crew B's clock was years ahead for one drill that was not passed: it stands in the list, and nothing counts from it.
#[test]
fn a_drill_that_is_dated_in_the_future_is_listed_and_counts_for_no_day() {
    let (folder, after) = Folder::with_a_run();
    drilled(&folder, GOOD, "good", None);
    drilled(&folder, SLOW, "slow", None);
    redated(&folder, (SLOW, &id(1)), 3000, &of_crew("B"));
    fs::remove_file(folder.0.join(format!("{SLOW}.rec.jsonl"))).unwrap();
    let page = after.drills(&words(), on(3), ("", "B"), None).unwrap();
    assert_eq!(page.done.len(), 2);
    assert_eq!(
        page.due,
        ["Crew B: next drill in 27 days (B: Rhythm check and shock)."]
    );
    assert_eq!(
        page.notes,
        [
            "Dated more than a day ahead of this phone's clock: 1. They count neither for the next drill nor over time."
        ]
    );
    let due = |n| after.drill_due(&words(), on(n), "B", None).unwrap();
    assert_eq!(due(29), None);
    assert_eq!(due(30).as_deref(), Some("Drill due: B, crew B"));
    let over = after.drills_over(&words(), on(3), "B", FRAME).unwrap();
    assert_eq!(over.groups[0].charts[0].chart.table.rows.len(), 1);
    // A day ahead may be a time zone.
    assert!(
        after
            .drills(&words(), on(2999), ("", "B"), None)
            .unwrap()
            .notes
            .is_empty()
    );
}

/// An app that has a newer version of a scenario knows that the crew drilled, and not how it would have scored it.
#[test]
fn a_drill_by_an_older_version_is_listed_without_a_score_and_its_day_counts() {
    let (folder, after) = Folder::with_a_run();
    drilled(&folder, SLOW, "slow", None);
    let mut older = after.open(SLOW).unwrap();
    older.header.scenario.as_mut().unwrap().version = "0".to_owned();
    rewritten(&folder, &older, SLOW, 0, &|_| ());
    let page = after.drills(&words(), on(3), ("", "B"), None).unwrap();
    let [one] = page.done.as_slice() else {
        panic!("{:?}", page.done)
    };
    assert_eq!(
        one.label,
        "2026-01-01 00:00 A: Device on. By version 0 of this drill: its day counts, it has no score here."
    );
    assert!(!one.has_sheet);
    assert_eq!(
        page.due,
        ["Crew B: next drill in 27 days (B: Rhythm check and shock)."]
    );
    drilled(&folder, GOOD, "good", None);
    let page = after.drills(&words(), on(3), ("", "B"), None).unwrap();
    let open: Vec<bool> = page.done.iter().map(|one| one.has_sheet).collect();
    assert_eq!(open.iter().filter(|open| **open).count(), 1);
}

/// What the record holds is taken away behind the app's back, at the same length and time of change: the answer is the
/// kept one, until a record is added or deleted.
#[test]
fn records_are_read_for_the_line_of_the_start_card_only_where_one_has_changed() {
    let (folder, after) = Folder::with_a_run();
    drilled(&folder, SLOW, "slow", None);
    let due = || after.drill_due(&words(), on(3), "", None).unwrap();
    assert_eq!(due().as_deref(), Some("Drill due: A, crew B"));
    let path = folder.0.join(format!("{SLOW}.rec.jsonl"));
    let before = fs::metadata(&path).unwrap();
    let length = usize::try_from(before.len()).unwrap();
    fs::write(&path, vec![b' '; length]).unwrap();
    let file = fs::File::options().write(true).open(&path).unwrap();
    file.set_modified(before.modified().unwrap()).unwrap();
    assert_eq!(due().as_deref(), Some("Drill due: A, crew B"), "kept");
    let passed = |n| after.drill_due(&words(), on(n), "", None).unwrap();
    assert_eq!(passed(-1), None, "of the same drills another day's answer");
    drilled(&folder, GOOD, "good", None);
    assert_eq!((due(), passed(29)), (None, None), "one was added");
    assert_eq!(passed(30).as_deref(), Some("Drill due: B, crew B"));
    fs::remove_file(folder.0.join(format!("{GOOD}.rec.jsonl"))).unwrap();
    assert_eq!(passed(30), None, "it was deleted");
}

/// Crew B passed drill A; at noon of the fourth of January a new device comes, and crew B does drill A on it the day after.
#[test]
fn a_new_device_makes_its_drills_due_for_each_crew_until_they_are_done_on_it() {
    let (folder, after) = Folder::with_a_run();
    drilled(&folder, GOOD, "good", None);
    redated(&folder, (GOOD, &id(1)), 2, &of_crew("C"));
    let noon = on(3).unix_ms().saturating_add(43_200_000);
    let page = |n, device| after.drills(&words(), on(n), ("", "B"), device).unwrap();
    let before = page(4, None);
    assert_eq!(
        (before.new_device, before.new_device_key.as_str()),
        (false, "New Device")
    );
    let found = page(4, Some(noon));
    assert_eq!(
        found.due,
        [
            "Crew B: new device, do it anew (A: Device on).",
            "Crew C: new device, do it anew (A: Device on)."
        ]
    );
    assert_eq!(
        found.notes,
        ["New device since 2026-01-04: each crew does the drills A, D anew."]
    );
    assert_eq!(
        (found.new_device, found.new_device_key.as_str()),
        (true, "No New Device")
    );
    let due = |device| after.drill_due(&words(), on(4), "B", device).unwrap();
    assert_eq!(due(None), None);
    assert_eq!(due(Some(noon)).as_deref(), Some("Drill due: A, crew B"));
    redated(&folder, (GOOD, &id(2)), 4, &of_crew("B"));
    assert_eq!(due(Some(noon)).as_deref(), Some("Drill due: D, crew B"));
    // Noted by a clock that was years ahead: as if it were not.
    let ahead = page(4, Some(on(3000).unix_ms()));
    assert!(!ahead.new_device && ahead.notes.is_empty());
    assert!(
        ahead.due[0].starts_with("Crew B: next drill in "),
        "{:?}",
        ahead.due
    );
}
