//! Score sheets of the listening test: written where a person can reach them, beside what all that lie there add up
//! to.

use std::{
    fs, io,
    path::{Path, PathBuf},
};

use ::listening::{Sheet, SheetFault, TOTALS_BEGIN, add_up, read, totals};
use words::{SaidWord as S, Words};

use crate::keep::{KeepError, free, written};

const NAME: &str = "carrybeat-listening-";
const TOTALS: &str = "carrybeat-listening-totals";
/// Of a file that is not whole yet: it is written under this ending and then named.
const NEW: &str = "new";
/// Ten thousand sheets in one file.
const LARGEST: u64 = 1 << 25;

/// Writes a sheet into `folder`, adds up all that lie there, and says where both are, what the urgent prompts come to,
/// and of each file that does not count why. A sheet that lies there already is not written twice.
///
/// # Errors
/// See [`KeepError`].
pub fn keep_sheet(words: &Words, sheet: &Sheet, folder: &Path) -> Result<String, KeepError> {
    fs::create_dir_all(folder).map_err(failed(folder))?;
    let cut_off = without_cut_off(folder)?;
    let name = format!("{NAME}{}", sheet.facts.sheet);
    let text = sheet.csv();
    let first = folder.join(format!("{name}.csv"));
    let path = if fs::read_to_string(&first).is_ok_and(|there| there == text) {
        first
    } else {
        let path = free(folder, &name, ".csv");
        put(&path, &text)?;
        path
    };
    let Found { sheets, skipped } = all(folder)?;
    let groups = add_up(&sheets);
    let sum = replace(folder, &totals(&groups))?;
    let mut said = vec![words.said(
        S::ListeningWritten,
        &[&path.display().to_string(), &sum.display().to_string()],
    )];
    said.extend(
        groups
            .iter()
            .find(|group| group.has(sheet))
            .map(|group| words.listening_total(group)),
    );
    let of_file = |name: &String, why: String| words.said(S::ListeningSkipped, &[name, &why]);
    said.extend(
        skipped
            .iter()
            .map(|(name, why)| of_file(name, why.told(words))),
    );
    said.extend(
        cut_off
            .iter()
            .map(|name| words.said(S::ListeningCutOff, &[name])),
    );
    Ok(said.join("\n"))
}

fn failed(path: &Path) -> impl FnOnce(io::Error) -> KeepError {
    let path = path.to_owned();
    |error| KeepError::File { path, error }
}

/// Why a file that is named like a sheet does not count.
enum Why {
    /// It cannot be read; the system's reason.
    Unread(io::Error),
    /// It is a folder, or larger than [`LARGEST`].
    NoFile,
    /// It is no sheet, or not a whole one.
    Faults(Vec<SheetFault>),
    /// A sheet of the same name that says something else counts already.
    Another(String),
}

impl Why {
    fn told(&self, words: &Words) -> String {
        match self {
            Self::Unread(error) => error.to_string(),
            Self::NoFile => words.said(S::ListeningNoFile, &[]),
            // The others are told by the desk.
            Self::Faults(faults) => faults.first().map(ToString::to_string).unwrap_or_default(),
            Self::Another(id) => words.said(S::ListeningAnother, &[id]),
        }
    }
}

/// What lies in a folder.
#[derive(Default)]
struct Found {
    /// The sheets, each once.
    sheets: Vec<Sheet>,
    /// The files that do not count, by name.
    skipped: Vec<(String, Why)>,
}

/// The files of ours with this ending, in order.
fn named(folder: &Path, ending: &str) -> Result<Vec<PathBuf>, KeepError> {
    let mut paths = Vec::new();
    for entry in fs::read_dir(folder).map_err(failed(folder))? {
        let path = entry.map_err(failed(folder))?.path();
        let is_so = path.extension().is_some_and(|found| found == ending);
        if is_so && name_of(&path).starts_with(NAME) {
            paths.push(path);
        }
    }
    paths.sort();
    Ok(paths)
}

fn name_of(path: &Path) -> String {
    let name = path.file_name().unwrap_or_default();
    name.to_string_lossy().into_owned()
}

/// Removes what a write that was cut off has left, and names it: its sheet was never told as written.
fn without_cut_off(folder: &Path) -> Result<Vec<String>, KeepError> {
    let left = named(folder, NEW)?;
    for path in &left {
        fs::remove_file(path).map_err(failed(path))?;
    }
    Ok(left.iter().map(|path| name_of(path)).collect())
}

fn all(folder: &Path) -> Result<Found, KeepError> {
    let mut all = Found::default();
    for path in named(folder, "csv")? {
        let name = name_of(&path);
        if name.starts_with(TOTALS) {
            continue;
        }
        match sheets_of(&path) {
            Ok(sheets) => {
                for sheet in sheets {
                    let id = &sheet.facts.sheet;
                    match all.sheets.iter().find(|known| known.facts.sheet == *id) {
                        Some(known) if *known == sheet => {}
                        Some(_) => all.skipped.push((name.clone(), Why::Another(id.clone()))),
                        None => all.sheets.push(sheet),
                    }
                }
            }
            Err(why) => all.skipped.push((name, why)),
        }
    }
    Ok(all)
}

fn sheets_of(path: &Path) -> Result<Vec<Sheet>, Why> {
    let found = fs::metadata(path).map_err(Why::Unread)?;
    if !found.is_file() || found.len() > LARGEST {
        return Err(Why::NoFile);
    }
    let text = fs::read_to_string(path).map_err(Why::Unread)?;
    read(&text).map_err(Why::Faults)
}

/// Puts the table in the place of an earlier one, whole; a file of that name that is none of ours stays.
fn replace(folder: &Path, table: &str) -> Result<PathBuf, KeepError> {
    let own = folder.join(format!("{TOTALS}.csv"));
    let is_ours = fs::read_to_string(&own).is_ok_and(|there| {
        there
            .trim_start_matches('\u{feff}')
            .starts_with(TOTALS_BEGIN)
    });
    let path = if is_ours {
        own
    } else {
        free(folder, TOTALS, ".csv")
    };
    put(&path, table)?;
    Ok(path)
}

/// A file is there whole or not at all, wherever a write is cut off.
fn put(path: &Path, text: &str) -> Result<(), KeepError> {
    let new = path.with_extension(NEW);
    written(&new, text.as_bytes())?;
    fs::rename(&new, path).map_err(failed(path))
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicU32, Ordering};

    use ::listening::{Facts, Level, Row, Way, draw};

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
            way: Way::default(),
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
    fn what_is_no_sheet_is_named_and_what_is_not_ours_is_left_alone() {
        let folder = Folder::new();
        fs::create_dir_all(&folder.0).unwrap();
        let foreign = folder.0.join("carrybeat-listening-totals.csv");
        fs::write(&foreign, "a service's own table").unwrap();
        fs::write(folder.0.join("carrybeat-listening-zz.csv"), "none").unwrap();
        let said = keep_sheet(&words(), &sheet("aa"), &folder.0).unwrap();
        assert!(
            said.contains(
                "Not counted: carrybeat-listening-zz.csv: line 1, header: \"none\", allowed: sheet,"
            ),
            "{said}"
        );
        assert_eq!(
            folder.read("carrybeat-listening-totals.csv"),
            "a service's own table"
        );
        let own = folder.read("carrybeat-listening-totals-2.csv");
        assert!(own.contains("all,,,,12,12,"), "{own}");
    }

    /// Of each that does not count the name and why stand there, a line each; the others count.
    #[test]
    fn each_file_that_does_not_count_is_named_with_its_reason() {
        let folder = Folder::new();
        let put = |name: &str, bytes: &[u8]| {
            fs::create_dir_all(&folder.0).unwrap();
            fs::write(
                folder.0.join(format!("carrybeat-listening-{name}.csv")),
                bytes,
            )
            .unwrap();
        };
        let good = sheet("bb").csv();
        put(
            "bb",
            format!("\u{feff}{}", good.replace('\n', "\r\n")).as_bytes(),
        );
        put("latin", b"sheet,\xe9");
        put(
            "short",
            good.replace("bb,", "cc,")
                .lines()
                .take(12)
                .collect::<Vec<_>>()
                .join("\n")
                .as_bytes(),
        );
        put("twin", good.replacen(",en-US,", ",en-GB,", 12).as_bytes());
        fs::create_dir(folder.0.join("carrybeat-listening-folder.csv")).unwrap();
        let said = keep_sheet(&words(), &sheet("aa"), &folder.0).unwrap();
        let named: Vec<&str> = said
            .lines()
            .filter_map(|line| line.strip_prefix("Not counted: carrybeat-listening-"))
            .collect();
        let [first, second, third, fourth] = named.as_slice() else {
            panic!("{said}");
        };
        assert_eq!(
            *first,
            "folder.csv: it is no file, or too large for a sheet"
        );
        assert!(
            second.starts_with("latin.csv: ") && second.contains("UTF-8"),
            "{second}"
        );
        assert!(
            third.starts_with("short.csv: line 12, order: \"the last of 11\""),
            "{third}"
        );
        assert_eq!(
            *fourth,
            "twin.csv: another sheet has the number bb and other answers"
        );
        let table = folder.read("carrybeat-listening-totals.csv");
        assert!(table.contains("en-US,ab,12,2,0,all,,,,24,24,"), "{table}");
        assert!(
            said.contains(
                "all sheets: 20 of 20 right. Too few to judge: it takes 150 answers, 15 tests."
            ),
            "{said}"
        );
    }

    /// A write is whole or not there. What one that was cut off has left is never read: it is named and goes.
    #[test]
    fn what_a_write_that_was_cut_off_has_left_is_never_read_and_goes() {
        let folder = Folder::new();
        fs::create_dir_all(&folder.0).unwrap();
        for left in ["cc", "totals"] {
            let path = folder.0.join(format!("carrybeat-listening-{left}.new"));
            fs::write(path, sheet("cc").csv()).unwrap();
        }
        fs::write(folder.0.join("a-service-s-own.new"), "stays").unwrap();
        let said = keep_sheet(&words(), &sheet("aa"), &folder.0).unwrap();
        for left in ["cc", "totals"] {
            let line = format!("cut off: carrybeat-listening-{left}.new");
            assert!(said.contains(&line), "{said}");
        }
        assert_eq!(
            folder.names(),
            [
                "a-service-s-own.new",
                "carrybeat-listening-aa.csv",
                "carrybeat-listening-totals.csv"
            ]
        );
        let table = folder.read("carrybeat-listening-totals.csv");
        assert!(table.contains("en-US,ab,12,1,0,all,"), "{table}");
        // A table of before, saved by a spreadsheet, is ours all the same.
        let before = table.replace(",wanted,gate", "");
        fs::write(
            folder.0.join("carrybeat-listening-totals.csv"),
            format!("\u{feff}{before}"),
        )
        .unwrap();
        let said = keep_sheet(&words(), &sheet("aa"), &folder.0).unwrap();
        assert!(!said.contains("cut off"), "{said}");
        assert_eq!(folder.read("carrybeat-listening-totals.csv"), table);
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
