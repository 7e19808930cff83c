//! How long runs are kept: holds, what is past the service's period, deletion and what is left of it.
//!
//! Nothing is deleted by itself. A deletion is begun with a file that names it, then its tombstone is kept,
//! then the run goes, then the file that named it: whatever breaks off in between is gone on with by
//! [`Keeping::finish`], and nothing goes whose tombstone is not kept.

use std::{
    collections::BTreeSet,
    fmt, fs, io,
    path::{Path, PathBuf},
};

use record::{Digest, Wall};
use serde::{Deserialize, Serialize};

use crate::{
    FileStore, Store, StoreError,
    private::{add_lines, lines, make_folder, options, sync_folder},
};

const HOLD: &str = "hold";
const DELETE: &str = "delete";
const COPIES: &str = "copies.jsonl";
const TOMBSTONES: &str = "tombstones.jsonl";
const DAY_MS: i64 = 86_400_000;

/// What is left of a deleted run: nothing that leads to anybody.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tombstone {
    /// Of its last line.
    pub fingerprint: Digest,
    /// Its lines.
    pub lines: u64,
    /// The day on which it was deleted, `2026-11-28`.
    pub deleted: String,
}

/// Why a run is not deleted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum KeepingError {
    /// The disk.
    Store(StoreError),
    /// It is on hold.
    Held {
        /// The record.
        record_id: String,
    },
    /// Its deletion has begun and broke off.
    Going {
        /// The record.
        record_id: String,
    },
    /// It is going on.
    Live {
        /// The record.
        record_id: String,
    },
}

impl fmt::Display for KeepingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Store(e) => e.fmt(f),
            Self::Held { record_id } => write!(
                f,
                "record {record_id} is on hold and is not deleted: release it first"
            ),
            Self::Going { record_id } => write!(
                f,
                "record {record_id} is being deleted and cannot be put on hold: what is left of it goes at the \
                 next start; copy its file out of the folder before that"
            ),
            Self::Live { record_id } => write!(
                f,
                "record {record_id} is of the run that goes on and is not deleted: end the run first"
            ),
        }
    }
}

impl std::error::Error for KeepingError {}

impl From<StoreError> for KeepingError {
    fn from(e: StoreError) -> Self {
        Self::Store(e)
    }
}

/// What a deletion of all runs came to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Deleted {
    /// Runs that are gone.
    pub deleted: usize,
    /// Files that could not be read as a run and are gone.
    pub unread: usize,
    /// Runs on hold, or live, that stay.
    pub kept: Vec<String>,
    /// What could not be deleted, and why.
    pub failed: Vec<KeepingError>,
}

/// Called before each step with its name; an error breaks off there, as a kill would.
pub(crate) type Steps<'a> = &'a mut dyn FnMut(&'static str) -> io::Result<()>;

/// A folder of runs, for keeping and deleting. Whoever has it holds the folder: the app, or a
/// [`crate::RunLock`].
#[derive(Clone, Debug)]
pub struct Keeping {
    store: FileStore,
}

/// Beside the folder of the runs: what the app itself exports, each file or folder named by its record id, or
/// by that, a dot and anything.
pub fn exports_folder(runs: &Path) -> PathBuf {
    runs.with_file_name("exports")
}

impl Keeping {
    /// The runs of a folder.
    pub fn at(folder: &Path) -> Self {
        Self {
            store: FileStore::at(folder),
        }
    }

    fn beside(&self, record_id: &str, what: &str) -> Result<PathBuf, StoreError> {
        let path = self.store.path(record_id)?;
        Ok(path.with_file_name(format!("{record_id}.{what}")))
    }

    /// Whether a run is on hold.
    ///
    /// # Errors
    /// The name is no record id.
    pub fn is_held(&self, record_id: &str) -> Result<bool, StoreError> {
        Ok(self.beside(record_id, HOLD)?.exists())
    }

    /// Puts a run on hold, or releases it.
    ///
    /// # Errors
    /// See [`KeepingError`].
    pub fn hold(&self, record_id: &str, on: bool) -> Result<(), KeepingError> {
        // A hold of nothing would be a promise that nobody keeps.
        self.store.read(record_id)?;
        let path = self.beside(record_id, HOLD)?;
        if on {
            self.call_off(record_id)?;
            let made = options()
                .write(true)
                .create(true)
                .truncate(false)
                .open(&path)
                .and_then(|file| file.sync_all());
            made.map_err(|e| StoreError::from_io(&path, &e))?;
        } else {
            remove(&path)?;
        }
        Ok(sync_folder(self.store.folder())?)
    }

    /// Calls a deletion off that was named and did nothing yet: what goes on with it would not ask for a hold.
    fn call_off(&self, record_id: &str) -> Result<(), KeepingError> {
        let named = self.beside(record_id, DELETE)?;
        let kept = self.tombstones()?;
        if lines::<Tombstone>(&named)?
            .iter()
            .any(|stone| kept.contains(stone))
        {
            let record_id = record_id.to_owned();
            return Err(KeepingError::Going { record_id });
        }
        remove(&named)?;
        Ok(sync_folder(self.store.folder())?)
    }

    /// Writes down that a copy of a run is about to be made there: a deletion takes it along, if it is still
    /// there. Folders come after what is in them.
    ///
    /// # Errors
    /// See [`StoreError`]; nothing is to be written then.
    pub fn will_copy(&self, record_id: &str, paths: &[PathBuf]) -> Result<(), StoreError> {
        self.store.path(record_id)?;
        let folder = exports_folder(self.store.folder());
        make_folder(&folder).map_err(|e| StoreError::from_io(&folder, &e))?;
        let list = folder.join(format!("{record_id}.{COPIES}"));
        let mut text = String::new();
        for path in paths {
            let line = serde_json::to_string(path);
            text.push_str(&line.map_err(|e| StoreError::from_io(path, &e.into()))?);
            text.push('\n');
        }
        add_lines(&list, &text)
    }

    /// The copies of a run that are still where they were put.
    fn copies(&self, record_id: &str) -> Result<Vec<PathBuf>, StoreError> {
        let folder = exports_folder(self.store.folder());
        let mut all: Vec<PathBuf> = lines(&folder.join(format!("{record_id}.{COPIES}")))?;
        all.retain(|path| path.is_absolute() && path.exists());
        Ok(all)
    }

    /// What is left of deleted runs, in the order of deletion.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn tombstones(&self) -> Result<Vec<Tombstone>, StoreError> {
        lines(&self.store.folder().join(TOMBSTONES))
    }

    /// Runs whose last line was written more than `days` days before `now`, by the phone's clock, and that are
    /// not on hold: a person looks at them and deletes them. A file that is no run is not among them.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn due(&self, days: u32, now: Wall) -> Result<Vec<String>, StoreError> {
        let limit = now
            .unix_ms()
            .saturating_sub(i64::from(days).saturating_mul(DAY_MS));
        let mut out = Vec::new();
        for record_id in self.store.list()? {
            let read = self.store.read(&record_id).ok();
            let Some(opened) = read.and_then(|bytes| record::open(&bytes).ok()) else {
                continue;
            };
            if opened.last.wall.unix_ms() < limit && !self.is_held(&record_id)? {
                out.push(record_id);
            }
        }
        Ok(out)
    }

    /// Deletes a run: its record, what lies beside it, and what the app exported of it. `live` is the run
    /// that goes on; `today` is the phone's clock.
    ///
    /// # Errors
    /// See [`KeepingError`]; what broke off is gone on with by [`Keeping::finish`].
    pub fn delete(
        &self,
        record_id: &str,
        live: Option<&str>,
        today: Wall,
    ) -> Result<(), KeepingError> {
        self.delete_by_steps(record_id, live, today, &mut |_| Ok(()))
    }

    /// Deletes all runs but those on hold and the live one, for which `live` is asked before each: one may begin
    /// meanwhile. What cannot be deleted keeps no other one.
    ///
    /// # Errors
    /// The folder cannot be read.
    pub fn delete_all(
        &self,
        live: &dyn Fn() -> Option<String>,
        today: Wall,
    ) -> Result<Deleted, StoreError> {
        let mut out = Deleted::default();
        for record_id in self.store.list()? {
            let bytes = self.store.read(&record_id);
            let is_run = bytes.is_ok_and(|bytes| record::open(&bytes).is_ok());
            match self.delete(&record_id, live().as_deref(), today) {
                Ok(()) if is_run => out.deleted = out.deleted.saturating_add(1),
                Ok(()) => out.unread = out.unread.saturating_add(1),
                Err(KeepingError::Held { record_id } | KeepingError::Live { record_id }) => {
                    out.kept.push(record_id);
                }
                Err(e) => out.failed.push(e),
            }
        }
        Ok(out)
    }

    fn delete_by_steps(
        &self,
        record_id: &str,
        live: Option<&str>,
        today: Wall,
        step: Steps<'_>,
    ) -> Result<(), KeepingError> {
        let record_id = record_id.to_owned();
        if live == Some(record_id.as_str()) {
            return Err(KeepingError::Live { record_id });
        }
        if self.is_held(&record_id)? {
            return Err(KeepingError::Held { record_id });
        }
        let bytes = self.store.read(&record_id)?;
        let date = today.to_string();
        let tombstone = Tombstone {
            fingerprint: last_line(&bytes),
            lines: count(&bytes),
            deleted: date.get(..10).unwrap_or_default().to_owned(),
        };
        let path = self.beside(&record_id, DELETE)?;
        let failed = |e: &io::Error| StoreError::from_io(&path, e);
        let text = serde_json::to_string(&tombstone).map_err(|e| failed(&e.into()))?;
        step("name the deletion").map_err(|e| failed(&e))?;
        add_lines(&path, &format!("{text}\n"))?;
        Ok(self.go_on(&record_id, step)?)
    }

    /// Goes on with every deletion that broke off. Asked for when the app starts.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn finish(&self) -> Result<usize, StoreError> {
        self.finish_by_steps(&mut |_| Ok(()))
    }

    fn finish_by_steps(&self, step: Steps<'_>) -> Result<usize, StoreError> {
        let mut begun = BTreeSet::new();
        for name in names(self.store.folder())? {
            if let Some(record_id) = name.strip_suffix(".delete")
                && self.store.path(record_id).is_ok()
            {
                begun.insert(record_id.to_owned());
            }
        }
        for record_id in &begun {
            self.go_on(record_id, step)?;
        }
        Ok(begun.len())
    }

    /// From the file that names the deletion on.
    fn go_on(&self, record_id: &str, step: Steps<'_>) -> Result<(), StoreError> {
        let named = self.beside(record_id, DELETE)?;
        let failed = |e: &io::Error| StoreError::from_io(&named, e);
        let Some(tombstone) = lines::<Tombstone>(&named)?.into_iter().next_back() else {
            // It broke off while it was named: nothing has gone, and nothing goes.
            step("drop a torn name").map_err(|e| failed(&e))?;
            remove(&named)?;
            return Ok(());
        };
        if !self.tombstones()?.contains(&tombstone) {
            let path = self.store.folder().join(TOMBSTONES);
            let text = serde_json::to_string(&tombstone).map_err(|e| failed(&e.into()))?;
            step("keep the tombstone").map_err(|e| failed(&e))?;
            add_lines(&path, &format!("{text}\n"))?;
        }
        for copy in self.copies(record_id)? {
            step("remove a copy").map_err(|e| failed(&e))?;
            // It lies where others may write: what they have done to it keeps nothing here.
            drop(if copy.is_dir() {
                fs::remove_dir(&copy)
            } else {
                fs::remove_file(&copy)
            });
        }
        let exports = exports_folder(self.store.folder());
        for name in of_record(&exports, record_id)? {
            step("remove an export").map_err(|e| failed(&e))?;
            remove(&exports.join(name))?;
        }
        for name in of_record(self.store.folder(), record_id)? {
            let path = self.store.folder().join(name);
            if path != named {
                step("remove a file of the run").map_err(|e| failed(&e))?;
                remove(&path)?;
            }
        }
        step("sync the folder").map_err(|e| failed(&e))?;
        sync_folder(self.store.folder())?;
        step("remove the name").map_err(|e| failed(&e))?;
        remove(&named)?;
        sync_folder(self.store.folder())
    }
}

/// SHA-256 of the last line without its line feed: of a record that can be read, its fingerprint.
pub(crate) fn last_line(bytes: &[u8]) -> Digest {
    record::open(bytes).map_or_else(
        |_| {
            let whole = bytes.strip_suffix(b"\n").unwrap_or(bytes);
            Digest::of(whole.rsplit(|b| *b == b'\n').next().unwrap_or_default())
        },
        |opened| record::fingerprint(&opened),
    )
}

fn count(bytes: &[u8]) -> u64 {
    let lines = bytes.split_inclusive(|b| *b == b'\n').count();
    u64::try_from(lines).unwrap_or(u64::MAX)
}

fn names(folder: &Path) -> Result<Vec<String>, StoreError> {
    let failed = |e: &io::Error| StoreError::from_io(folder, e);
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(e) => return Err(failed(&e)),
    };
    let mut out = Vec::new();
    for entry in entries {
        let name = entry.map_err(|e| failed(&e))?.file_name();
        out.extend(name.to_str().map(str::to_owned));
    }
    out.sort_unstable();
    Ok(out)
}

/// What in a folder is named by this record: not by another one whose id begins alike.
fn of_record(folder: &Path, record_id: &str) -> Result<Vec<String>, StoreError> {
    let mut names = names(folder)?;
    names.retain(|name| {
        name.strip_prefix(record_id)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
    });
    Ok(names)
}

fn remove(path: &Path) -> Result<(), StoreError> {
    let gone = if path.is_dir() {
        fs::remove_dir_all(path)
    } else {
        fs::remove_file(path)
    };
    match gone {
        Err(e) if e.kind() != io::ErrorKind::NotFound => Err(StoreError::from_io(path, &e)),
        Ok(()) | Err(_) => Ok(()),
    }
}

#[cfg(test)]
mod tests;
