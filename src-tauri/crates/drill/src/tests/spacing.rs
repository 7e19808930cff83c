use crate::{ABOUT_DEVICE, Past, Verdict, due};

fn past(list: &[(&str, &str, i64, bool)]) -> Vec<Past> {
    let each = list
        .iter()
        .enumerate()
        .map(|(n, (crew, scenario, day, passed))| Past {
            record: format!("r{n}"),
            again_of: None,
            crew: (*crew).to_owned(),
            scenario: (*scenario).to_owned(),
            day: *day,
            old_device: false,
            verdict: Some(if *passed {
                Verdict::Passed
            } else {
                Verdict::NotPassed
            }),
        });
    each.collect()
}

fn scenarios() -> Vec<String> {
    ["a", "b", "c"].map(str::to_owned).to_vec()
}

/// Crew, day, drill, whether it is one that was not passed.
fn told(list: &[(&str, &str, i64, bool)]) -> Vec<(String, i64, String, bool)> {
    let all = due(&past(list), &scenarios(), None).into_iter();
    all.map(|due| (due.crew, due.day, due.scenario, due.again))
        .collect()
}

/// Of the one crew that drilled: day, drill, whether it is one that was not passed, passes in a row.
fn next(drills: &[Past]) -> (i64, String, bool, usize) {
    let found = due(drills, &scenarios(), None).remove(0);
    (found.day, found.scenario, found.again, found.in_a_row)
}

fn one(day: i64, scenario: &str, again: bool) -> Vec<(String, i64, String, bool)> {
    vec![("k".to_owned(), day, scenario.to_owned(), again)]
}

#[test]
fn a_month_after_a_pass_comes_one_that_was_never_done() {
    assert_eq!(told(&[("k", "a", 100, true)]), one(130, "b", false));
    assert_eq!(
        told(&[("k", "a", 100, true), ("k", "b", 130, true)]),
        one(160, "c", false)
    );
}

#[test]
fn three_passes_in_a_row_make_it_two_months_and_a_fail_makes_it_now() {
    let three = [
        ("k", "a", 100, true),
        ("k", "b", 130, true),
        ("k", "c", 160, true),
    ];
    assert_eq!(told(&three), one(220, "a", false));
    let failed = [three[0], three[1], three[2], ("k", "a", 220, false)];
    assert_eq!(told(&failed), one(220, "a", true));
}

#[test]
fn after_a_fail_it_is_done_until_it_was_passed_twice() {
    let fail = ("k", "a", 100, false);
    let pass = |day| ("k", "a", day, true);
    assert_eq!(told(&[fail, pass(100)]), one(100, "a", true));
    assert_eq!(told(&[fail, pass(100), pass(101)]), one(131, "b", false));
    assert_eq!(
        told(&[fail, pass(100), fail, pass(100)]),
        one(100, "a", true)
    );
}

#[test]
fn crews_are_kept_apart_and_one_that_never_drilled_is_not_known() {
    let found = told(&[("x", "a", 10, true), ("k", "b", 20, false)]);
    assert_eq!(
        found,
        [
            ("k".to_owned(), 20, "b".to_owned(), true),
            ("x".to_owned(), 40, "b".to_owned(), false)
        ]
    );
    assert!(due(&[], &scenarios(), None).is_empty());
    assert!(due(&past(&[("k", "a", 1, true)]), &[], None).is_empty());
}

#[test]
fn a_crew_without_a_drill_for_half_a_year_is_gone_unless_its_code_is_set() {
    let found = due(&past(&[("k", "a", 100, true)]), &scenarios(), None).remove(0);
    assert_eq!(found.last, 100);
    assert!(found.is_here("x", 280));
    assert!(!found.is_here("x", 281) && found.is_here("k", 281));
    assert!(found.is_here("x", 90), "a clock that was set back");
}

/// The instructor stopped the first two tries; nobody failed.
#[test]
fn of_a_drill_that_was_gone_through_again_the_last_try_counts() {
    let mut tries = past(&[
        ("k", "a", 100, false),
        ("k", "a", 100, false),
        ("k", "a", 100, true),
    ]);
    tries[1].again_of = Some("r0".to_owned());
    tries[2].again_of = Some("r1".to_owned());
    assert_eq!(next(&tries), (130, "b".to_owned(), false, 1));
    tries[2].verdict = Some(Verdict::NotPassed);
    let failed = due(&tries, &scenarios(), None).remove(0);
    assert_eq!((failed.day, failed.again), (100, true));
    // Passed in the second try of three is not passed: the third says.
    tries[1].verdict = Some(Verdict::Passed);
    assert_eq!(due(&tries, &scenarios(), None).remove(0).in_a_row, 0);
}

#[test]
fn what_was_ended_early_is_neither_a_pass_nor_a_fail() {
    let mut drills = past(&[("k", "a", 100, true), ("k", "b", 120, false)]);
    drills[1].verdict = Some(Verdict::NotFinished);
    assert_eq!(next(&drills), (130, "b".to_owned(), false, 1));
    assert!(
        due(&drills[1..], &scenarios(), None).is_empty(),
        "none was done"
    );
}

/// The scenario was worked over since: that the crew drilled, and what, is known; how it went is not.
#[test]
fn of_a_drill_by_another_version_the_day_counts_alone() {
    let mut drills = past(&[
        ("k", "a", 100, false),
        ("k", "b", 120, true),
        ("k", "a", 150, false),
    ]);
    drills[0].verdict = None;
    drills[2].verdict = None;
    assert_eq!(next(&drills), (180, "c".to_owned(), false, 1));
    let alone = due(&drills[..1], &scenarios(), None).remove(0);
    assert_eq!((alone.day, alone.scenario.as_str()), (130, "b"));
}

/// The device's two drills are due from the day on that it came, one after the other, for each crew that did neither since.
#[test]
fn a_new_device_makes_the_drills_about_it_due_anew() {
    let known = ["device_on", "check", "slip_and_off"].map(str::to_owned);
    let [a, b] = ABOUT_DEVICE;
    let list = [("k", a, 100, true), ("k", b, 130, true)];
    let of = |drills: &[Past], device| {
        let found = due(drills, &known, device).remove(0);
        (found.day, found.scenario, found.new_device, found.again)
    };
    let mut drills = past(&list);
    assert_eq!(of(&drills, None), (160, "check".to_owned(), false, false));
    for drill in &mut drills {
        drill.old_device = true;
    }
    assert_eq!(of(&drills, Some(135)), (135, a.to_owned(), true, false));
    drills.extend(past(&[("k", a, 136, true)]));
    assert_eq!(of(&drills, Some(135)), (135, b.to_owned(), true, false));
    drills.extend(past(&[("k", b, 137, false)]));
    // Not passed: again, as any drill.
    assert_eq!(of(&drills, Some(135)), (137, b.to_owned(), false, true));
    drills.extend(past(&[("k", b, 137, true), ("k", b, 138, true)]));
    assert_eq!(
        of(&drills, Some(135)),
        (168, "check".to_owned(), false, false)
    );
    // They are drills that there are.
    for id in ABOUT_DEVICE {
        assert!(crate::Scenario::built_in(id).is_some(), "{id}");
    }
}
