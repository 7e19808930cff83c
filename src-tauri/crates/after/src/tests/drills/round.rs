//! Records whose tries name each other, or themselves: no app writes such a one, and a file may say anything.

use std::{sync::mpsc, thread, time::Duration};

use super::*;

/// The line of a later try, in the place of the one by which a drill begins.
fn again(of: String, from: Ms) -> impl Fn(&mut Fact) {
    move |fact| {
        begun(fact, |line| {
            *line = DrillLine {
                of: Some(of.clone()),
                from_ms: Some(from),
                ..DrillLine::of(DrillWord::Again)
            };
        });
    }
}

/// How many tries stand side by side, none where there is but one; it must come to an end.
fn strips(after: After, id: String) -> usize {
    let (told, sheet) = mpsc::channel();
    thread::spawn(move || told.send(after.drill_sheet(&words(), &id).unwrap().strips.len()));
    let found = sheet.recv_timeout(Duration::from_secs(20));
    found.expect("the sheet never came")
}

/// A second into it, or from its end on: then the earlier one is no try of its own.
fn moments(after: &After) -> [Ms; 2] {
    [Ms(1000), after.open(GOOD).unwrap().run_end()]
}

#[test]
fn a_drill_that_goes_on_from_itself_is_one_try() {
    for (n, later) in [(1, 1), (2, 0)] {
        let (folder, after) = Folder::with_a_run();
        drilled(&folder, GOOD, "good", None);
        let from = moments(&after)[later];
        redated(&folder, (GOOD, &id(n)), 1, &again(id(n), from));
        assert_eq!(strips(after, id(n)), 0, "from {from}");
    }
}

#[test]
fn two_drills_that_go_on_from_each_other_are_two_tries_or_one() {
    for (later, tries) in [(1, 0), (0, 2)] {
        let (folder, after) = Folder::with_a_run();
        drilled(&folder, GOOD, "good", None);
        let from = moments(&after)[later];
        redated(&folder, (GOOD, &id(1)), 1, &again(id(2), from));
        redated(&folder, (GOOD, &id(2)), 2, &again(id(1), from));
        assert_eq!(strips(after, id(2)), tries, "from {from}");
    }
}
