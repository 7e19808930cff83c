//! What is kept of runs, and what leaves the phone: holds, deletion, exports, hand-in.

use std::{
    fmt, fs,
    io::{self, Write},
    path::{Path, PathBuf},
};

use ::debrief::{Basis, Form, measures, tables};
use conduct::{
    FileStore, Passed, Store, StoreError, Unread,
    clock::wall_now,
    hand_in::{HandInError, hand_in, is_waiting, waiting},
    keeping::{Keeping, KeepingError},
};
use exports::{ProcedureCodes, carry_files, carry_over};
use record::OpenError;
use words::{Keep, SaidWord as S, Words};

use crate::{After, AfterError};

/// What is written of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// The debrief as a printed page.
    Pdf,
    /// The tables.
    Csv,
    /// The times to carry over.
    CarryOver,
    /// The score sheet of a drill, with lines to sign on.
    Drill,
}

/// Why something is not kept, deleted or written.
#[derive(Debug)]
pub enum KeepError {
    /// The run cannot be read.
    After(AfterError),
    /// It is held, or goes on.
    Keeping(KeepingError),
    /// The hand-in.
    HandIn(HandInError),
    /// The printed page.
    Pdf(sheet::SheetError),
    /// A file cannot be written.
    File {
        /// Where.
        path: PathBuf,
        /// Why.
        error: io::Error,
    },
}

impl fmt::Display for KeepError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::After(e) => e.fmt(f),
            Self::Keeping(e) => e.fmt(f),
            Self::HandIn(e) => e.fmt(f),
            Self::Pdf(e) => e.fmt(f),
            Self::File { path, error } => write!(
                f,
                "{}: {error}; allowed: a folder with room that this app may write to",
                path.display()
            ),
        }
    }
}

impl std::error::Error for KeepError {}

impl<E: Into<AfterError>> From<E> for KeepError {
    fn from(e: E) -> Self {
        Self::After(e.into())
    }
}

impl After {
    fn keeping(&self) -> Keeping {
        Keeping::at(&self.folder)
    }

    /// What is kept of a run, or of all where there is no id. `live` is the run that goes on.
    ///
    /// # Errors
    /// See [`KeepError`].
    pub fn keep(&self, words: &Words, id: &str, live: Option<&str>) -> Result<Keep, KeepError> {
        let delete = words.said(S::DeleteMeans, &[]);
        if id.is_empty() {
            let waits = waiting(&self.folder, live)?;
            let unread = &waits.unread;
            let mut lines = vec![if waits.runs.is_empty() {
                words.said(S::NothingWaits, &[])
            } else {
                words.said(S::Waiting, &[&waits.runs.len().to_string()])
            }];
            if !unread.is_empty() {
                lines.push(words.said(S::NotRead, &[&unread.len().to_string()]));
                lines.extend(unread.iter().map(|file| unread_line(words, file)));
            }
            lines.push(delete);
            let ids = FileStore::at(&self.folder).list()?;
            let (mut runs, mut kept, mut files) = (0_usize, 0_usize, 0_usize);
            for id in &ids {
                let count = if live == Some(id) || self.keeping().is_held(id)? {
                    &mut kept
                } else if unread.iter().any(|file| file.record_id == *id) {
                    &mut files
                } else {
                    &mut runs
                };
                *count = count.saturating_add(1);
            }
            let counts = [runs, kept, files];
            return Ok(Keep {
                question: counted(words, (S::AskDeleteAll, S::AskDeleteAllUnread), counts),
                id: String::new(),
                title: words.said(S::KeepAll, &[]),
                lines,
                held: None,
                can_delete: true,
            });
        }
        let held = self.keeping().is_held(id)?;
        let handed = if live == Some(id) {
            S::NotPutAway
        } else if is_waiting(&self.folder, id)? {
            S::WaitsForHandIn
        } else {
            S::HandedIn
        };
        Ok(Keep {
            question: words.said(S::AskDelete, &[]),
            id: id.to_owned(),
            title: words.said(S::KeepOf, &[]),
            lines: vec![
                words.said(if held { S::IsHeld } else { S::IsNotHeld }, &[]),
                words.said(handed, &[]),
                delete,
            ],
            held: Some(held),
            can_delete: !held && live != Some(id),
        })
    }

    /// Puts a run on hold, or lets it go.
    ///
    /// # Errors
    /// See [`KeepError`].
    pub fn hold(&self, id: &str, held: bool) -> Result<(), KeepError> {
        let done = self.keeping().hold(id, held);
        done.map_err(KeepError::Keeping)
    }

    /// Deletes a run, or all where there is no id. Says what was done. `live` tells which run goes on.
    ///
    /// # Errors
    /// See [`KeepError`].
    pub fn delete(
        &self,
        words: &Words,
        id: &str,
        live: &dyn Fn() -> Option<String>,
    ) -> Result<String, KeepError> {
        // A sitting over a run that is gone would write into nothing.
        self.sitting().take();
        if id.is_empty() {
            let done = self.keeping().delete_all(live, wall_now())?;
            let counts = [done.deleted, done.kept.len(), done.unread];
            let mut said = counted(words, (S::DeletedAll, S::DeletedAllUnread), counts);
            for e in &done.failed {
                said.push(' ');
                said.push_str(&e.to_string());
            }
            return Ok(said);
        }
        self.keeping()
            .delete(id, live().as_deref(), wall_now())
            .map_err(KeepError::Keeping)?;
        Ok(words.said(S::Deleted, &[]))
    }

    /// Writes a copy of a run into `folder`, under a new name, and says where.
    ///
    /// # Errors
    /// See [`KeepError`].
    pub fn export(
        &self,
        words: &Words,
        id: &str,
        what: What,
        folder: &Path,
    ) -> Result<Written, KeepError> {
        let opened = self.open(id)?;
        let basis = Basis::Amended;
        let fingerprint = record::fingerprint(&opened).to_string();
        // The copy's name has the state of the record that it was made of, and nothing else.
        let short = fingerprint.get(..8).unwrap_or_default();
        let named = |kind: &str| format!("carrybeat-{short}-{kind}");
        let (path, files) = match what {
            What::Pdf => {
                let bytes =
                    sheet::pdf(&opened, basis, words, sheet::Paper::A4).map_err(KeepError::Pdf)?;
                let path = free(folder, &named("debrief"), ".pdf");
                self.keeping().will_copy(id, std::slice::from_ref(&path))?;
                written(&path, &bytes)?;
                (path.clone(), vec![path])
            }
            What::Drill => {
                let drill = self.drill_sheet(words, id)?.sheet;
                let crew = ::drill::told(&opened).crew.unwrap_or_default();
                let began = ::debrief::began(&opened).map(|wall| wall.to_string());
                let held = words.drill_held(began.as_deref(), &crew);
                let bytes = sheet::drill_pdf(&drill, &held, short, words, sheet::Paper::A4)
                    .map_err(KeepError::Pdf)?;
                let path = free(folder, &named("drill"), ".pdf");
                self.keeping().will_copy(id, std::slice::from_ref(&path))?;
                written(&path, &bytes)?;
                (path.clone(), vec![path])
            }
            What::Csv => {
                let found = measures(&opened, basis)?;
                let path = free(folder, &named("tables"), "");
                let files = self.new_folder(id, &path, &tables(&opened, &found, &Form::Own))?;
                (path, files)
            }
            What::CarryOver => {
                let own = ProcedureCodes::default();
                let carried = carry_over(&opened, basis, words, &own)?;
                let path = free(folder, &named("carry-over"), "");
                let files = self.new_folder(id, &path, &carry_files(&carried, &fingerprint))?;
                (path, files)
            }
        };
        let said = words.said(S::Written, &[&path.display().to_string()]);
        Ok(Written { files, said })
    }

    /// Writes files into a folder that was not there; where they are.
    fn new_folder<N: AsRef<str>>(
        &self,
        id: &str,
        path: &Path,
        files: &[(N, String)],
    ) -> Result<Vec<PathBuf>, KeepError> {
        let paths: Vec<PathBuf> = files.iter().map(|(n, _)| path.join(n.as_ref())).collect();
        let mut copies = paths.clone();
        copies.push(path.to_owned());
        self.keeping().will_copy(id, &copies)?;
        fs::create_dir_all(path).map_err(|error| KeepError::File {
            path: path.to_owned(),
            error,
        })?;
        for (path, (_, text)) in paths.iter().zip(files) {
            written(path, text.as_bytes())?;
        }
        Ok(paths)
    }

    /// Writes everything since the last hand-in into `folder`, and says where.
    ///
    /// # Errors
    /// See [`KeepError`]; nothing counts as handed in then.
    pub fn hand_in(
        &self,
        words: &Words,
        live: Option<&str>,
        folder: &Path,
    ) -> Result<Written, KeepError> {
        let now = wall_now();
        let date = now.to_string();
        let day = date.get(..10).unwrap_or_default();
        fs::create_dir_all(folder).map_err(|error| KeepError::File {
            path: folder.to_owned(),
            error,
        })?;
        let path = free(folder, &format!("carrybeat-hand-in-{day}"), ".handin");
        let made = hand_in(&self.folder, &path, live, now).map_err(KeepError::HandIn)?;
        let count = made.records.len().to_string();
        let said = words.said(S::HandInWritten, &[&path.display().to_string(), &count]);
        let files = vec![path];
        Ok(Written { files, said })
    }
}

/// Runs, those that are kept, and files that cannot be read, which are told of only where there are some.
fn counted(words: &Words, (runs, both): (S, S), counts: [usize; 3]) -> String {
    let word = if counts[2] == 0 { runs } else { both };
    let [a, b, c] = counts.map(|count| count.to_string());
    words.said(word, &[&a, &b, &c])
}

/// A file that cannot be read, and why.
fn unread_line(words: &Words, file: &Unread) -> String {
    let why = match &file.why {
        Passed::Record(OpenError::Empty) => S::UnreadEmpty,
        Passed::Record(OpenError::Foreign { .. }) | Passed::Store(StoreError::TooLarge { .. }) => {
            S::UnreadForeign
        }
        Passed::Record(OpenError::Header(_)) => S::UnreadDamaged,
        Passed::Record(OpenError::Version { .. }) => S::UnreadVersion,
        Passed::Store(_) => S::UnreadDisk,
    };
    words.said(why, &[&file.file()])
}

/// What was written for others.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// The files, each once.
    pub files: Vec<PathBuf>,
    /// Where it is, for the crew.
    pub said: String,
}

/// A name that nothing has yet: a number is added where it must be.
pub(crate) fn free(folder: &Path, name: &str, ending: &str) -> PathBuf {
    let first = folder.join(format!("{name}{ending}"));
    let others = (2_u32..).map(|n| folder.join(format!("{name}-{n}{ending}")));
    std::iter::once(first.clone())
        .chain(others)
        .find(|path| !path.exists())
        .unwrap_or(first)
}

pub(crate) fn written(path: &Path, bytes: &[u8]) -> Result<(), KeepError> {
    let failed = |error| KeepError::File {
        path: path.to_owned(),
        error,
    };
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(failed)?;
    }
    let mut file = fs::File::create_new(path).map_err(failed)?;
    file.write_all(bytes).map_err(failed)?;
    file.sync_all().map_err(failed)
}
