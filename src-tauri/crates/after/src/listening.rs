//! Score sheets of the listening test: written where a person can reach them, beside what all that lie there add up
//! to.

use std::{
    collections::BTreeSet,
    fs, io,
    path::{Path, PathBuf},
};

use ::listening::{Sheet, TOTALS_HEADER, add_up, read, totals};
use words::{SaidWord as S, Words};

use crate::keep::{KeepError, free, written};

const NAME: &str = "carrybeat-listening-";
const TOTALS: &str = "carrybeat-listening-totals";
/// Ten thousand sheets in one file.
const LARGEST: u64 = 1 << 25;

/// Writes a sheet into `folder`, adds up all that lie there, and says where both are. A sheet that lies there
/// already is not written twice.
///
/// # Errors
/// See [`KeepError`].
pub fn keep_sheet(words: &Words, sheet: &Sheet, folder: &Path) -> Result<String, KeepError> {
    let name = format!("{NAME}{}", sheet.facts.sheet);
    let text = sheet.csv();
    let first = folder.join(format!("{name}.csv"));
    let path = if fs::read_to_string(&first).is_ok_and(|there| there == text) {
        first
    } else {
        let path = free(folder, &name, ".csv");
        written(&path, text.as_bytes())?;
        path
    };
    let (sheets, unread) = all(folder)?;
    let table = totals(&add_up(&sheets));
    let sum = replace(folder, &table)?;
    let mut said = words.said(
        S::ListeningWritten,
        &[&path.display().to_string(), &sum.display().to_string()],
    );
    if unread > 0 {
        said.push(' ');
        said.push_str(&words.said(S::NotRead, &[&unread.to_string()]));
    }
    Ok(said)
}

fn failed(path: &Path) -> impl FnOnce(io::Error) -> KeepError {
    let path = path.to_owned();
    |error| KeepError::File { path, error }
}

/// The sheets in a folder, each once, and how many files are none.
fn all(folder: &Path) -> Result<(Vec<Sheet>, usize), KeepError> {
    let mut paths = Vec::new();
    for entry in fs::read_dir(folder).map_err(failed(folder))? {
        let path = entry.map_err(failed(folder))?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let is_csv = path.extension().is_some_and(|ending| ending == "csv");
        if is_csv && name.starts_with(NAME) && !name.starts_with(TOTALS) {
            paths.push(path);
        }
    }
    paths.sort();
    let (mut sheets, mut unread, mut known) = (Vec::new(), 0_usize, BTreeSet::new());
    for path in paths {
        let is_small =
            fs::metadata(&path).is_ok_and(|found| found.is_file() && found.len() <= LARGEST);
        let text = is_small.then(|| fs::read_to_string(&path).ok()).flatten();
        match text.and_then(|text| read(&text).ok()) {
            Some(found) => {
                let new = found
                    .into_iter()
                    .filter(|s| known.insert(s.facts.sheet.clone()));
                sheets.extend(new.collect::<Vec<_>>());
            }
            None => unread = unread.saturating_add(1),
        }
    }
    Ok((sheets, unread))
}

/// Puts the table in the place of an earlier one, whole; a file of that name that is none of ours stays.
fn replace(folder: &Path, table: &str) -> Result<PathBuf, KeepError> {
    let own = folder.join(format!("{TOTALS}.csv"));
    let is_ours = fs::read_to_string(&own).is_ok_and(|there| there.starts_with(TOTALS_HEADER));
    if !is_ours {
        let path = free(folder, TOTALS, ".csv");
        written(&path, table.as_bytes())?;
        return Ok(path);
    }
    let new = free(folder, TOTALS, ".new");
    written(&new, table.as_bytes())?;
    fs::rename(&new, &own).map_err(failed(&own))?;
    Ok(own)
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicU32, Ordering};

    use ::listening::{Facts, Level, Row, draw};

    use super::*;

    struct Folder(PathBuf);

    impl Folder {
        fn new() -> Self {
            static NEXT: AtomicU32 = AtomicU32::new(0);
            let n = NEXT.fetch_add(1, Ordering::Relaxed);
            let name = format!("carrybeat-sheets-{}-{n}", std::process::id());
            Self(std::env::temp_dir().join(name))
        }

        fn names(&self) -> Vec<String> {
            let entries = fs::read_dir(&self.0).unwrap();
            let mut names: Vec<String> = entries
                .map(|entry| entry.unwrap().file_name().into_string().unwrap())
                .collect();
            names.sort();
            names
        }

        fn read(&self, name: &str) -> String {
            fs::read_to_string(self.0.join(name)).unwrap()
        }
    }

    impl Drop for Folder {
        fn drop(&mut self) {
            drop(fs::remove_dir_all(&self.0));
        }
    }

    /// An invented listener who understands everything.
    fn sheet(id: &str) -> Sheet {
        let rows = draw(3).into_iter().map(|trial| Row {
            answer: Some(trial.prompt),
            prompt: trial.prompt,
            choices: trial.choices,
            ms: 900,
        });
        let fact = |text: &str| text.to_owned();
        Sheet {
            facts: Facts {
                sheet: fact(id),
                version: fact("0"),
                pack: fact("en-US"),
                pack_sha256: fact("ab"),
                date: fact("2026-01-01"),
                device: fact("x"),
            },
            level: Level::ALL[2],
            listener: None,
            seed: 3,
            rows: rows.collect(),
        }
    }

    fn words() -> Words {
        Words::load("en-US").unwrap()
    }

    #[test]
    fn sheets_are_collected_and_added_up_and_none_counts_twice() {
        let folder = Folder::new();
        let words = words();
        let all = |said: &str| {
            let text = folder.read("carrybeat-listening-totals.csv");
            let row = text.lines().nth(1).unwrap().to_owned();
            assert!(said.contains("carrybeat-listening-totals.csv"), "{said}");
            row
        };
        let said = keep_sheet(&words, &sheet("aa"), &folder.0).unwrap();
        assert!(said.contains("carrybeat-listening-aa.csv"), "{said}");
        assert!(all(&said).starts_with("en-US,ab,12,1,0,all,,,,12,12,0.7354,"));
        let said = keep_sheet(&words, &sheet("bb"), &folder.0).unwrap();
        assert!(all(&said).starts_with("en-US,ab,12,2,0,all,,,,24,24,"));
        // Once more, and a copy by hand: the same sheet.
        keep_sheet(&words, &sheet("bb"), &folder.0).unwrap();
        let copy = folder.0.join("carrybeat-listening-copy.csv");
        fs::copy(folder.0.join("carrybeat-listening-bb.csv"), copy).unwrap();
        let said = keep_sheet(&words, &sheet("aa"), &folder.0).unwrap();
        assert!(all(&said).starts_with("en-US,ab,12,2,0,all,,,,24,24,"));
        let names = folder.names();
        assert_eq!(names.len(), 4, "{names:?}");
        assert_eq!(
            read(&folder.read("carrybeat-listening-aa.csv")),
            Ok(vec![sheet("aa")])
        );
    }

    #[test]
    fn what_is_no_sheet_is_counted_and_what_is_not_ours_is_left_alone() {
        let folder = Folder::new();
        fs::create_dir_all(&folder.0).unwrap();
        let foreign = folder.0.join("carrybeat-listening-totals.csv");
        fs::write(&foreign, "a service's own table").unwrap();
        fs::write(folder.0.join("carrybeat-listening-zz.csv"), "none").unwrap();
        let said = keep_sheet(&words(), &sheet("aa"), &folder.0).unwrap();
        assert!(said.ends_with("stay as they are: 1"), "{said}");
        assert_eq!(
            folder.read("carrybeat-listening-totals.csv"),
            "a service's own table"
        );
        let own = folder.read("carrybeat-listening-totals-2.csv");
        assert!(own.contains("all,,,,12,12,"), "{own}");
    }

    #[test]
    fn a_folder_that_cannot_be_is_named() {
        let folder = Folder::new();
        fs::write(&folder.0, "a file").unwrap();
        let error = keep_sheet(&words(), &sheet("aa"), &folder.0)
            .unwrap_err()
            .to_string();
        fs::remove_file(&folder.0).unwrap();
        assert!(
            error.contains("carrybeat-sheets-") && error.contains("allowed: a folder"),
            "{error}"
        );
    }
}
