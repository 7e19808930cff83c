//! Where records are kept: a trait, and a folder of files.

use std::{
    fmt,
    fs::{self, File},
    io::{self, Read, Write},
    path::{Path, PathBuf},
    time::SystemTime,
};

use cycle::fact::Source;
use record::{OpenError, Opened};

use crate::private::{self, sync_folder};

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
}

impl FileStore {
    /// Records in `folder`, which nothing has looked at yet.
    pub fn at(folder: &Path) -> Self {
        Self {
            folder: folder.to_owned(),
        }
    }

    /// Records in `folder`, which is made if it is not there.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn open(folder: &Path) -> Result<Self, StoreError> {
        let failed = |e: &io::Error| StoreError::from_io(folder, e);
        match fs::metadata(folder) {
            // Also one that an earlier version left open to others.
            Ok(found) if found.is_dir() => private::make_folder(folder).map_err(|e| failed(&e))?,
            Ok(_) => {
                return Err(StoreError::NotAFolder {
                    path: folder.to_owned(),
                });
            }
            Err(e) if e.kind() == io::ErrorKind::NotFound => {
                private::make_folder(folder).map_err(|e| failed(&e))?;
                if let Some(parent) = folder.parent() {
                    sync_folder(parent)?;
                }
            }
            Err(e) => return Err(failed(&e)),
        }
        Ok(Self {
            folder: folder.to_owned(),
        })
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
        private::make_folder(&self.folder).map_err(|e| failed(&e))?;
        let mut file = private::options()
            .append(true)
            .create_new(true)
            .open(&path)
            .map_err(|e| failed(&e))?;
        file.write_all(bytes).map_err(|e| failed(&e))?;
        file.sync_data().map_err(|e| failed(&e))?;
        sync_folder(&self.folder)
    }

    /// The rest that lies beside a record, if there is one.
    fn rest(&self, record_id: &str) -> Result<Option<Vec<u8>>, StoreError> {
        let path = self.rest_path(record_id)?;
        match bytes_of(&path) {
            Err(StoreError::Missing { .. }) => Ok(None),
            bytes => bytes.map(Some),
        }
    }
}

fn bytes_of(path: &Path) -> Result<Vec<u8>, StoreError> {
    let failed = |e: &io::Error| StoreError::from_io(path, e);
    let file = File::open(path).map_err(|e| failed(&e))?;
    let bytes = file.metadata().map_err(|e| failed(&e))?.len();
    if bytes > LARGEST {
        let path = path.to_owned();
        return Err(StoreError::TooLarge { path, bytes });
    }
    let mut out = Vec::new();
    file.take(LARGEST)
        .read_to_end(&mut out)
        .map_err(|e| failed(&e))?;
    Ok(out)
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
        let file = private::options()
            .append(true)
            .create_new(true)
            .open(&path)
            .map_err(|e| StoreError::from_io(&path, &e))?;
        sync_folder(&self.folder)?;
        Ok(Box::new(FileSink(file)))
    }

    fn reopen(&mut self, record_id: &str) -> Result<Box<dyn Sink>, StoreError> {
        let path = self.path(record_id)?;
        let failed = |e: &io::Error| StoreError::from_io(&path, e);
        let rest = self.rest(record_id)?;
        let mut file = private::options()
            .append(true)
            .create(rest.is_some())
            .open(&path)
            .map_err(|e| failed(&e))?;
        if let Some(rest) = rest {
            // It goes where it belongs before anything new does.
            let done = overlap(&bytes_of(&path)?, &rest);
            let left = rest.get(done..).unwrap_or_default();
            file.write_all(left).map_err(|e| failed(&e))?;
            file.sync_data().map_err(|e| failed(&e))?;
            fs::remove_file(self.rest_path(record_id)?).map_err(|e| failed(&e))?;
            sync_folder(&self.folder)?;
        }
        Ok(Box::new(FileSink(file)))
    }

    fn list(&self) -> Result<Vec<String>, StoreError> {
        let failed = |e: &io::Error| StoreError::from_io(&self.folder, e);
        let mut found: Vec<(SystemTime, String)> = Vec::new();
        for entry in fs::read_dir(&self.folder).map_err(|e| failed(&e))? {
            let entry = entry.map_err(|e| failed(&e))?;
            let name = entry.file_name();
            let Some(record_id) = name.to_str().and_then(|name| {
                name.strip_suffix(SUFFIX)
                    .or_else(|| name.strip_suffix(REST))
            }) else {
                continue;
            };
            if self.path(record_id).is_err() {
                continue;
            }
            let meta = entry.metadata().map_err(|e| failed(&e))?;
            if meta.is_file() {
                let written = meta.modified().unwrap_or(SystemTime::UNIX_EPOCH);
                match found.iter_mut().find(|(_, id)| id == record_id) {
                    Some((latest, _)) => *latest = written.max(*latest),
                    None => found.push((written, record_id.to_owned())),
                }
            }
        }
        found.sort();
        Ok(found.into_iter().rev().map(|(_, id)| id).collect())
    }

    fn read(&self, record_id: &str) -> Result<Vec<u8>, StoreError> {
        let own = bytes_of(&self.path(record_id)?);
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

#[derive(Debug)]
struct FileSink(File);

impl Sink for FileSink {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.0.sync_data()
    }
}

#[cfg(test)]
pub(crate) mod tests;
