//! A folder of runs against its own lists: what was never handed in, and what was and is gone.

use std::{collections::BTreeSet, fs, io, path::Path};

use conduct::{FileStore, Store as _};
use record::Digest;
use serde::Deserialize;
use trends::{Gone, LeftOut, Missing, Why};

const HANDED_IN: &str = "handed-in.jsonl";
const TOMBSTONES: &str = "tombstones.jsonl";
/// What only a folder of runs holds besides records; the last two end a name.
const OWN: [&str; 3] = [HANDED_IN, TOMBSTONES, "lock"];
const MARKS: [&str; 2] = [".hold", ".delete"];

/// Whether a folder with these names is one of runs: a phone's, or one that was worked on as one.
pub(super) fn is_house(names: &BTreeSet<String>) -> bool {
    let is_mark = |name: &String| MARKS.iter().any(|end| name.ends_with(end));
    OWN.iter().any(|name| names.contains(*name)) || names.iter().any(is_mark)
}

/// A folder of runs.
pub(super) struct House<'a> {
    pub(super) folder: &'a Path,
    /// As it is said; empty: the folder that is looked at itself.
    pub(super) shown: &'a str,
    /// The last lines of all records in hand-ins.
    pub(super) came_in: &'a BTreeSet<String>,
    /// What was left out already.
    pub(super) left_out: &'a mut Vec<LeftOut>,
    pub(super) missing: &'a mut Vec<Missing>,
}

/// A line of either list.
#[derive(Deserialize)]
struct Line {
    fingerprint: Digest,
}

/// What became of a list.
enum List {
    Absent,
    Unreadable,
    Of(BTreeSet<String>),
}

impl House<'_> {
    fn place(&self, name: &str) -> String {
        if self.shown.is_empty() {
            name.to_owned()
        } else {
            format!("{}/{name}", self.shown)
        }
    }

    fn left(&mut self, place: String, detail: String) {
        self.left_out.push(LeftOut {
            place,
            why: Why::Unreadable,
            detail,
        });
    }

    fn own_place(&self) -> String {
        if self.shown.is_empty() {
            ".".to_owned()
        } else {
            self.shown.to_owned()
        }
    }

    /// The fingerprints of a list. What cannot be read of it is said, and what that leaves open.
    fn list(&mut self, name: &str, open: &str) -> List {
        let bytes = match fs::read(self.folder.join(name)) {
            Ok(bytes) => bytes,
            Err(e) if e.kind() == io::ErrorKind::NotFound => return List::Absent,
            Err(e) => {
                let what = format!("{e}; allowed: a file that can be read; until then {open}");
                self.left(self.place(name), what);
                return List::Unreadable;
            }
        };
        let mut prints = BTreeSet::new();
        let mut bad = Vec::new();
        for (n, line) in bytes.split(|b| *b == b'\n').enumerate() {
            if line.trim_ascii().is_empty() {
                continue;
            }
            match serde_json::from_slice::<Line>(line) {
                Ok(line) => {
                    prints.insert(line.fingerprint.to_string());
                }
                Err(_) => bad.push(n.saturating_add(1).to_string()),
            }
        }
        if !bad.is_empty() {
            let what = format!(
                "no fingerprint in line {}, allowed: one in every line; copy the folder again; until then {open}",
                bad.join(", ")
            );
            self.left(self.place(name), what);
        }
        List::Of(prints)
    }

    /// Looks at its runs and its lists.
    pub(super) fn look(mut self) {
        let open = "which of its runs were handed in is not known for certain";
        let handed = self.list(HANDED_IN, open);
        let open = "a run listed as handed_in_but_not_here may be one that was deleted";
        let deleted = self.list(TOMBSTONES, open);
        let ids = match FileStore::at(self.folder).list() {
            Ok(ids) => ids,
            Err(e) => return self.left(self.own_place(), e.to_string()),
        };
        let told_by = match handed {
            List::Absent => self.own_place(),
            List::Unreadable | List::Of(_) => self.place(HANDED_IN),
        };
        let named = |gone: Gone, name: String| Missing {
            gone,
            name,
            told_by: told_by.clone(),
        };
        // A run that a review has changed since was handed in by an earlier last line.
        let mut lines: BTreeSet<String> = BTreeSet::new();
        for id in ids {
            let bytes = match FileStore::at(self.folder).read(&id) {
                Ok(bytes) => bytes,
                Err(e) => {
                    self.unread(&id, &e.to_string());
                    continue;
                }
            };
            let first = bytes.split_inclusive(|b| *b == b'\n').next();
            if let Err(e) = record::open(first.unwrap_or_default()) {
                // It holds no run, and no hand-in takes it.
                self.unread(&id, &e.to_string());
                continue;
            }
            let own = bytes.split(|b| *b == b'\n').filter(|line| !line.is_empty());
            let own: Vec<String> = own.map(|line| Digest::of(line).to_string()).collect();
            let is_in = |last: &String| match &handed {
                List::Of(list) => list.contains(last) || self.came_in.contains(last),
                List::Absent => self.came_in.contains(last),
                // Nothing can be said.
                List::Unreadable => true,
            };
            if own.last().is_some_and(|last| !is_in(last)) {
                self.missing.push(named(Gone::Waiting, id));
            }
            lines.extend(own);
        }
        if let List::Of(deleted) = deleted {
            lines.extend(deleted);
        }
        if let List::Of(handed) = handed {
            for lost in handed {
                if !lines.contains(&lost) && !self.came_in.contains(&lost) {
                    self.missing.push(named(Gone::Lost, lost));
                }
            }
        }
    }

    /// A run that cannot be read, unless that was said as its file was looked at.
    fn unread(&mut self, id: &str, why: &str) {
        let place = self.place(id);
        let is_said =
            |one: &LeftOut| one.place == place || one.place == format!("{place}.rec.jsonl");
        if !self.left_out.iter().any(is_said) {
            self.left(place, why.to_owned());
        }
    }
}
