//! Where records are kept: a trait, and a folder of files.

use std::{
    fmt, io,
    path::{Path, PathBuf},
    sync::Arc,
    time::SystemTime,
};

use cycle::fact::Source;
use record::{OpenError, Opened};

mod disk;

pub use disk::{Disk, Found, SystemDisk};

/// The end of a record's file name.
const SUFFIX: &str = ".rec.jsonl";
/// The end of the name of what could not be added to a record while its disk failed.
const REST: &str = ".rest.jsonl";
/// More than a day's record holds; a larger file is not read into memory.
const LARGEST: u64 = 256 * 1024 * 1024;

/// An open record that bytes can be added to, and nothing else.
pub trait Sink: fmt::Debug + Send {
    /// Adds bytes at the end; may take only the first of them, and says how many.
    ///
    /// # Errors
    /// The system's.
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize>;

    /// Returns once everything written survives a power cut.
    ///
    /// # Errors
    /// The system's; what was written since the last good sync may be lost then.
    fn sync(&mut self) -> io::Result<()>;
}

/// A place for records.
pub trait Store: fmt::Debug + Send {
    /// Begins a record. Never touches one that is there.
    ///
    /// # Errors
    /// See [`StoreError`].
    fn create(&mut self, record_id: &str) -> Result<Box<dyn Sink>, StoreError>;

    /// Opens a record for adding to it.
    ///
    /// # Errors
    /// See [`StoreError`].
    fn reopen(&mut self, record_id: &str) -> Result<Box<dyn Sink>, StoreError>;

    /// Ids of the records, the one last written to first.
    ///
    /// # Errors
    /// See [`StoreError`].
    fn list(&self) -> Result<Vec<String>, StoreError>;

    /// A record's bytes.
    ///
    /// # Errors
    /// See [`StoreError`].
    fn read(&self, record_id: &str) -> Result<Vec<u8>, StoreError>;

    /// The latest run, if it is not finished. Files that hold no run are passed over and named. A finished run
    /// hides the older ones: where the wall clock was set back between two runs that may be the wrong way
    /// round, and the crew starts anew; an old run is never taken up under a new patient.
    ///
    /// # Errors
    /// See [`StoreError`]; a single file that cannot be read is passed over.
    fn last_unfinished(&self) -> Result<LastRun, StoreError> {
        let mut passed_over = Vec::new();
        // A review writes to an old run's file: when that run was is told by its own lines.
        let mut reviewed: Option<i64> = None;
        for record_id in self.list()? {
            let opened = match self.read(&record_id) {
                Ok(bytes) => record::open(&bytes).map_err(Passed::Record),
                Err(error) => Err(Passed::Store(error)),
            };
            match opened {
                // Killed before its protocol was kept: nothing can have been marked.
                Ok(opened) if opened.protocol.is_none() && opened.entries.is_empty() => {}
                Ok(opened) => {
                    if let Some(ended) = reviewed_run(&opened) {
                        reviewed = reviewed.max(Some(ended));
                        continue;
                    }
                    let last = opened.last.wall.unix_ms();
                    let unfinished =
                        opened.seals.is_empty() && reviewed.is_none_or(|ended| ended < last);
                    return Ok(LastRun {
                        found: unfinished.then(|| Box::new((record_id, opened))),
                        passed_over,
                    });
                }
                Err(why) => passed_over.push((record_id, why)),
            }
        }
        Ok(LastRun {
            found: None,
            passed_over,
        })
    }
}

/// When a run that was reviewed had its last line of its own, by the wall clock; `None`: no review has
/// written to it.
fn reviewed_run(opened: &Opened) -> Option<i64> {
    let both = || opened.entries.iter().zip(&opened.stamps);
    both().find(|(entry, _)| entry.src == Source::Review)?;
    let own = both().filter(|(entry, _)| entry.src != Source::Review);
    own.map(|(_, stamp)| stamp.wall.unix_ms()).max()
}

/// What [`Store::last_unfinished`] found.
#[derive(Debug)]
pub struct LastRun {
    /// Id and content of the latest run, if it is not finished.
    pub found: Option<Box<(String, Opened)>>,
    /// Later files that hold no run, and why.
    pub passed_over: Vec<(String, Passed)>,
}

/// Why a file was passed over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Passed {
    /// It cannot be read from the disk.
    Store(StoreError),
    /// It is no record.
    Record(OpenError),
}

impl fmt::Display for Passed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Store(e) => e.fmt(f),
            Self::Record(e) => e.fmt(f),
        }
    }
}

impl std::error::Error for Passed {}

/// A file among the records that holds no run which can be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unread {
    /// The record's id, as the file is named.
    pub record_id: String,
    /// Why.
    pub why: Passed,
}

impl Unread {
    /// The file's name.
    pub fn file(&self) -> String {
        format!("{}{SUFFIX}", self.record_id)
    }
}

impl fmt::Display for Unread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.file(), self.why)
    }
}

/// What the disk refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StoreError {
    /// The run folder is something else.
    NotAFolder {
        /// Where.
        path: PathBuf,
    },
    /// The disk can only be read.
    ReadOnly {
        /// Where.
        path: PathBuf,
    },
    /// This user may not.
    Denied {
        /// Where.
        path: PathBuf,
    },
    /// No space is left.
    Full {
        /// Where.
        path: PathBuf,
    },
    /// A record of that name is there; it is left as it is.
    Exists {
        /// Where.
        path: PathBuf,
    },
    /// There is no record of that name.
    Missing {
        /// Where.
        path: PathBuf,
    },
    /// The name is no record id.
    Name {
        /// What was found.
        found: String,
    },
    /// The file is larger than any record.
    TooLarge {
        /// Where.
        path: PathBuf,
        /// Its bytes.
        bytes: u64,
    },
    /// Anything else.
    Other {
        /// Where.
        path: PathBuf,
        /// The system's words.
        what: String,
    },
}

impl StoreError {
    /// Sorts a system's error.
    pub fn from_io(path: &Path, error: &io::Error) -> Self {
        let path = path.to_owned();
        #[expect(
            clippy::wildcard_enum_match_arm,
            reason = "the system's list of kinds is open"
        )]
        match error.kind() {
            io::ErrorKind::NotADirectory => Self::NotAFolder { path },
            io::ErrorKind::ReadOnlyFilesystem => Self::ReadOnly { path },
            io::ErrorKind::PermissionDenied => Self::Denied { path },
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::Full { path },
            io::ErrorKind::AlreadyExists => Self::Exists { path },
            io::ErrorKind::NotFound => Self::Missing { path },
            _ => Self::Other {
                path,
                what: error.to_string(),
            },
        }
    }
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotAFolder { path } => write!(
                f,
                "{} is not a folder: move it away or choose another folder",
                path.display()
            ),
            Self::ReadOnly { path } => write!(
                f,
                "{} is on a disk that can only be read: choose another folder",
                path.display()
            ),
            Self::Denied { path } => write!(
                f,
                "{}: permission denied: give this user the right to write there",
                path.display()
            ),
            Self::Full { path } => {
                write!(f, "{}: no space is left: free some space", path.display())
            }
            Self::Exists { path } => write!(
                f,
                "{} is there already and is left as it is: use another record id",
                path.display()
            ),
            Self::Missing { path } => write!(
                f,
                "{} is not there: check the name and the folder",
                path.display()
            ),
            Self::Name { found } => write!(
                f,
                "record id {found:?}, allowed: 1 to 64 characters of a-z, 0-9 and -"
            ),
            Self::TooLarge { path, bytes } => write!(
                f,
                "{} has {bytes} bytes, allowed: up to {LARGEST}: it is no record of a run",
                path.display()
            ),
            Self::Other { path, what } => {
                write!(f, "{}: {what}: check the disk", path.display())
            }
        }
    }
}

impl std::error::Error for StoreError {}

/// Records as files `<record_id>.rec.jsonl` in one folder.
#[derive(Clone, Debug)]
pub struct FileStore {
    folder: PathBuf,
    disk: Arc<dyn Disk>,
}

impl FileStore {
    /// Records in `folder`, which nothing has looked at yet.
    pub fn at(folder: &Path) -> Self {
        Self::on(folder, Arc::new(SystemDisk))
    }

    /// Records in `folder` of this disk, which nothing has looked at yet.
    pub fn on(folder: &Path, disk: Arc<dyn Disk>) -> Self {
        Self {
            folder: folder.to_owned(),
            disk,
        }
    }

    /// Records in `folder`, which is made if it is not there.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn open(folder: &Path) -> Result<Self, StoreError> {
        let store = Self::at(folder);
        store.make()?;
        Ok(store)
    }

    /// Makes the folder if it is not there.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn make(&self) -> Result<(), StoreError> {
        self.make_folder(&self.folder)?;
        // Also one that an earlier version left open to others.
        let closed = self.disk.close_to_others(&self.folder);
        closed.map_err(|e| StoreError::from_io(&self.folder, &e))
    }

    /// Each folder that is made is synced into the one above it: a record is only as safe as the whole
    /// way to it.
    fn make_folder(&self, folder: &Path) -> Result<(), StoreError> {
        let failed = |e: &io::Error| StoreError::from_io(folder, e);
        match self.disk.is_folder(folder) {
            Ok(true) => return Ok(()),
            Ok(false) => {
                return Err(StoreError::NotAFolder {
                    path: folder.to_owned(),
                });
            }
            Err(e) if e.kind() == io::ErrorKind::NotFound => {}
            Err(e) => return Err(failed(&e)),
        }
        let above = folder.parent().unwrap_or_else(|| Path::new(""));
        if above != Path::new("") {
            self.make_folder(above)?;
        }
        match self.disk.make_folder(folder) {
            Err(e) if e.kind() != io::ErrorKind::AlreadyExists => return Err(failed(&e)),
            Ok(()) | Err(_) => {}
        }
        self.sync_folder(above)
    }

    /// A file's sync does not cover its name in the folder.
    fn sync_folder(&self, folder: &Path) -> Result<(), StoreError> {
        let synced = self.disk.sync_folder(folder);
        synced.map_err(|e| StoreError::from_io(folder, &e))
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// A record's file.
    ///
    /// # Errors
    /// The id cannot be part of a file name.
    pub fn path(&self, record_id: &str) -> Result<PathBuf, StoreError> {
        let good = (1..=64).contains(&record_id.len())
            && record_id
                .bytes()
                .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
        if !good {
            return Err(StoreError::Name {
                found: record_id.to_owned(),
            });
        }
        Ok(self.folder.join(format!("{record_id}{SUFFIX}")))
    }

    fn rest_path(&self, record_id: &str) -> Result<PathBuf, StoreError> {
        let path = self.path(record_id)?;
        Ok(path.with_file_name(format!("{record_id}{REST}")))
    }

    /// Keeps what could not be added to a record, in a file beside it: nobody knows what of it the record's
    /// own file holds, so that is left as it is. [`Store::read`] gives both as one.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn keep_rest(&self, record_id: &str, bytes: &[u8]) -> Result<(), StoreError> {
        let path = self.rest_path(record_id)?;
        let failed = |e: &io::Error| StoreError::from_io(&path, e);
        self.make()?;
        let mut file = self.disk.create(&path).map_err(|e| failed(&e))?;
        write_all(file.as_mut(), bytes).map_err(|e| failed(&e))?;
        file.sync().map_err(|e| failed(&e))?;
        self.sync_folder(&self.folder)
    }

    /// The rest that lies beside a record, if there is one.
    fn rest(&self, record_id: &str) -> Result<Option<Vec<u8>>, StoreError> {
        let path = self.rest_path(record_id)?;
        match self.bytes_of(&path) {
            Err(StoreError::Missing { .. }) => Ok(None),
            bytes => bytes.map(Some),
        }
    }
    fn bytes_of(&self, path: &Path) -> Result<Vec<u8>, StoreError> {
        let read = self.disk.read(path, LARGEST);
        let read = read.map_err(|e| StoreError::from_io(path, &e))?;
        read.map_err(|bytes| StoreError::TooLarge {
            path: path.to_owned(),
            bytes,
        })
    }
}

fn write_all(file: &mut dyn Sink, mut bytes: &[u8]) -> io::Result<()> {
    while !bytes.is_empty() {
        match file.write(bytes) {
            Ok(0) => return Err(io::ErrorKind::WriteZero.into()),
            Ok(n) => bytes = bytes.get(n..).unwrap_or_default(),
            Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
            Err(e) => return Err(e),
        }
    }
    Ok(())
}

/// How many of the rest's first bytes stand at the record's end already.
fn overlap(record: &[u8], rest: &[u8]) -> usize {
    (0..=rest.len().min(record.len()))
        .rev()
        .find(|n| rest.get(..*n).is_some_and(|begin| record.ends_with(begin)))
        .unwrap_or(0)
}

impl Store for FileStore {
    fn create(&mut self, record_id: &str) -> Result<Box<dyn Sink>, StoreError> {
        let path = self.path(record_id)?;
        let made = self.disk.create(&path);
        let file = made.map_err(|e| StoreError::from_io(&path, &e))?;
        self.sync_folder(&self.folder)?;
        Ok(file)
    }

    fn reopen(&mut self, record_id: &str) -> Result<Box<dyn Sink>, StoreError> {
        let path = self.path(record_id)?;
        let failed = |e: &io::Error| StoreError::from_io(&path, e);
        let rest = self.rest(record_id)?;
        let opened = self.disk.append(&path, rest.is_some());
        let mut file = opened.map_err(|e| failed(&e))?;
        if let Some(rest) = rest {
            // It goes where it belongs before anything new does.
            let done = overlap(&self.bytes_of(&path)?, &rest);
            let left = rest.get(done..).unwrap_or_default();
            write_all(file.as_mut(), left).map_err(|e| failed(&e))?;
            file.sync().map_err(|e| failed(&e))?;
            // A record that was all rest has its name now: that must be kept before the other goes.
            self.sync_folder(&self.folder)?;
            let rest = self.rest_path(record_id)?;
            self.disk.remove(&rest).map_err(|e| failed(&e))?;
            self.sync_folder(&self.folder)?;
        }
        Ok(file)
    }

    fn list(&self) -> Result<Vec<String>, StoreError> {
        let failed = |e: &io::Error| StoreError::from_io(&self.folder, e);
        let mut found: Vec<(SystemTime, String)> = Vec::new();
        for Found { name, written } in self.disk.list(&self.folder).map_err(|e| failed(&e))? {
            let Some(record_id) = name
                .strip_suffix(SUFFIX)
                .or_else(|| name.strip_suffix(REST))
            else {
                continue;
            };
            if self.path(record_id).is_err() {
                continue;
            }
            match found.iter_mut().find(|(_, id)| id == record_id) {
                Some((latest, _)) => *latest = written.max(*latest),
                None => found.push((written, record_id.to_owned())),
            }
        }
        found.sort();
        Ok(found.into_iter().rev().map(|(_, id)| id).collect())
    }

    fn read(&self, record_id: &str) -> Result<Vec<u8>, StoreError> {
        let own = self.bytes_of(&self.path(record_id)?);
        match (own, self.rest(record_id)?) {
            (own, None) => own,
            (Err(StoreError::Missing { .. }), Some(rest)) => Ok(rest),
            (Err(error), Some(_)) => Err(error),
            (Ok(mut record), Some(rest)) => {
                let done = overlap(&record, &rest);
                record.extend(rest.get(done..).unwrap_or_default());
                Ok(record)
            }
        }
    }
}

#[cfg(test)]
pub(crate) mod tests;
