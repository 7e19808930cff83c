//! The reference case in the real window: a cut of three minutes always, the whole 35 minutes when asked.
//!
//! The whole one can be taken up again: what was played to its end is judged without playing it anew, and
//! a result that is kept for the same sources is not run again. `CARRYBEAT_AGAIN=1` runs it all the same.

use std::{fs, path::PathBuf};

use crate::{
    figures::{again, append, is_kept, note, sources},
    five_minutes::{CARD, empty, fresh, is_played, judge, play},
    rig::{Told, root, say},
};

/// The project's own limit; no source.
const MOST_TAPS: usize = 65;

#[test]
fn three_minutes_of_the_reference_case() -> Told<()> {
    let case = "three-minutes";
    let folder = fresh(case)?;
    play(case, &folder)?;
    let (figures, taps) = judge(case, &folder)?;
    note(case, &figures.to_string(), taps)?;
    fs::remove_dir_all(&folder).map_err(|e| e.to_string())
}

#[test]
#[ignore = "35 minutes of real time"]
fn the_reference_case() -> Told<()> {
    let case = "reference-35";
    let sources = sources();
    if let Some(sources) = &sources
        && is_kept(case, sources)
        && !again()
    {
        say(&format!(
            "{case}: a whole result is kept for these sources; CARRYBEAT_AGAIN=1 plays it again"
        ));
        return Ok(());
    }
    // What was played with changes that no commit knows cannot be told from other changes.
    let folder = kept_folder(case, sources.as_deref().unwrap_or("changed"))?;
    if sources.is_some() && is_played(&folder) && !again() {
        say(&format!("{case}: judged from {}", folder.display()));
    } else {
        empty(&folder)?;
        play(case, &folder)?;
    }
    let (figures, taps) = judge(case, &folder)?;
    assert!(
        taps <= MOST_TAPS,
        "{taps} taps, at most {MOST_TAPS} are allowed"
    );
    append(case, &figures, taps)?;
    let picture = root().join("docs/pictures").join(CARD);
    fs::copy(folder.join(CARD), &picture).map_err(|e| format!("{}: {e}", picture.display()))?;
    fs::remove_dir_all(&folder).map_err(|e| e.to_string())
}

/// Where a case stays from its playing to a judgement without a fault: beside the built programs.
fn kept_folder(case: &str, sources: &str) -> Told<PathBuf> {
    let test = std::env::current_exe().map_err(|e| format!("own path: {e}"))?;
    // target/debug/deps/it-... stands three folders below target.
    test.ancestors()
        .nth(3)
        .map(|target| target.join("proofs").join(format!("{case}-{sources}")))
        .ok_or_else(|| "the test is not in a target folder".to_owned())
}
