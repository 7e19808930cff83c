//! A drill that was over before anything of it was reached.

use super::*;

/// Over before its first cue: nought of nought points would read as a score.
#[test]
fn a_drill_of_which_nothing_was_reached_says_so_and_has_no_points() {
    let (folder, after) = Folder::with_a_run();
    drilled(&folder, GOOD, "good", None);
    let whole = after.drill_sheet(&words(), GOOD).unwrap().sheet;
    assert!(whole.lines[0].contains(" points"), "{:?}", whole.lines);
    let mut early = after.open(GOOD).unwrap();
    early.entries.retain(|entry| entry.taken <= Ms(5000));
    rewritten(&folder, &early, &id(7), 6, &|_| ());
    let found = after.drill_sheet(&words(), &id(7)).unwrap().sheet;
    assert_eq!(
        found.lines,
        [
            "Nothing that has points was reached.",
            "Ended early: neither passed nor failed."
        ]
    );
}
