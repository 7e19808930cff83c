//! What lies in a folder of runs, for how long, and what is handed in to the desk.

use std::path::Path;

use conduct::{FileStore, RunLock, clock::wall_now, hand_in, keeping::Keeping, past};

type Faults = Vec<String>;

fn said(e: &dyn std::fmt::Display) -> Faults {
    vec![e.to_string()]
}

fn locked(folder: &str) -> Result<RunLock, Faults> {
    RunLock::take(Path::new(folder)).map_err(|e| said(&e))
}

/// Writes everything since the last hand-in to a new file.
pub(crate) fn hand_in(folder: &str, file: &str) -> Result<String, Faults> {
    let lock = locked(folder)?;
    let made = hand_in::hand_in(Path::new(folder), Path::new(file), None, wall_now());
    drop(lock);
    let made = made.map_err(|e| said(&e))?;
    let lines = made
        .records
        .iter()
        .map(|piece| format!("{}: fingerprint {}", piece.record_id, piece.fingerprint));
    let mut lines: Vec<String> = lines.collect();
    let count = match lines.len() {
        1 => "1 run".to_owned(),
        several => format!("{several} runs"),
    };
    let left = hand_in::waiting(Path::new(folder), None).map_err(|e| said(&e))?;
    lines.extend(left.unread.iter().map(|e| format!("left out: {e}")));
    Ok(format!("{file}: {count}\n{}", lines.join("\n")))
}

/// Puts the records of a hand-in into a folder.
pub(crate) fn unpack(file: &str, folder: &str) -> Result<String, Faults> {
    let made = hand_in::unpack(Path::new(file), Path::new(folder)).map_err(|e| said(&e))?;
    Ok(format!(
        "{folder}: {} new, {} with a review's lines since, {} there already",
        made.new, made.grown, made.same
    ))
}

/// The runs of a folder and what is left of those that were deleted; with `days`, those that are past them.
pub(crate) fn runs(folder: &str, days: Option<&str>) -> Result<String, Faults> {
    let path = Path::new(folder);
    let keeping = Keeping::at(path);
    if let Some(days) = days {
        let days: u32 = days
            .parse()
            .map_err(|_| vec![format!("--due {days}, allowed: whole days from 0")])?;
        let due = keeping.due(days, wall_now()).map_err(|e| said(&e))?;
        return Ok(if due.is_empty() {
            "none".to_owned()
        } else {
            due.join("\n")
        });
    }
    let store = FileStore::at(path);
    let kept = past::kept(&store, usize::MAX).map_err(|e| said(&e))?;
    let mut out = Vec::new();
    for run in kept.runs {
        let held = keeping.is_held(&run.record_id).map_err(|e| said(&e))?;
        out.push(format!(
            "{}: {}, {}, {}, revision {}, {} unsealed{}",
            run.record_id,
            run.kind.word(),
            run.began,
            run.length,
            run.revision.rev,
            run.revision.unsealed,
            if held { ", on hold" } else { "" }
        ));
    }
    out.extend(
        kept.unread
            .iter()
            .map(|file| format!("cannot be read: {file}")),
    );
    for gone in keeping.tombstones().map_err(|e| said(&e))? {
        out.push(format!(
            "deleted {}: {} lines, fingerprint {}",
            gone.deleted, gone.lines, gone.fingerprint
        ));
    }
    Ok(if out.is_empty() {
        "none".to_owned()
    } else {
        out.join("\n")
    })
}

/// Puts a run on hold, or releases it.
pub(crate) fn hold(folder: &str, id: &str, on: bool) -> Result<String, Faults> {
    let lock = locked(folder)?;
    let done = Keeping::at(Path::new(folder)).hold(id, on);
    drop(lock);
    done.map_err(|e| said(&e))?;
    Ok(format!("{id}: {}", if on { "on hold" } else { "released" }))
}

/// Deletes a run.
pub(crate) fn delete(folder: &str, id: &str) -> Result<String, Faults> {
    let lock = locked(folder)?;
    let keeping = Keeping::at(Path::new(folder));
    let done = keeping
        .finish()
        .map_err(|e| said(&e))
        .and_then(|_| keeping.delete(id, None, wall_now()).map_err(|e| said(&e)));
    drop(lock);
    done?;
    Ok(format!("{id}: deleted"))
}

/// Deletes all runs but those on hold.
pub(crate) fn delete_all(folder: &str) -> Result<String, Faults> {
    let lock = locked(folder)?;
    let keeping = Keeping::at(Path::new(folder));
    let done = keeping.finish().map_err(|e| said(&e)).and_then(|_| {
        keeping
            .delete_all(&|| None, wall_now())
            .map_err(|e| said(&e))
    });
    drop(lock);
    let done = done?;
    let gone = match done.unread {
        0 => format!("{} deleted", done.deleted),
        unread => format!(
            "{} deleted, files that could not be read: {unread}",
            done.deleted
        ),
    };
    if !done.failed.is_empty() {
        let mut faults = vec![gone];
        faults.extend(done.failed.iter().map(ToString::to_string));
        return Err(faults);
    }
    Ok(format!(
        "{gone}, {} on hold: {}",
        done.kept.len(),
        done.kept.join(", ")
    ))
}
