//! One process on a run folder.

use std::{
    fmt,
    fs::{File, TryLockError},
    io::ErrorKind,
    path::{Path, PathBuf},
};

use crate::store::StoreError;

/// Holds the run folder until it is dropped or the process ends, however it ends.
#[derive(Debug)]
pub struct RunLock {
    _file: File,
}

/// Why the folder could not be had.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LockError {
    /// Another process has it.
    Held {
        /// The folder.
        path: PathBuf,
    },
    /// The lock file could not be made.
    Store(StoreError),
}

impl fmt::Display for LockError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Held { path } => write!(
                f,
                "{} is in use: Carrybeat is running already; go back to it",
                path.display()
            ),
            Self::Store(e) => e.fmt(f),
        }
    }
}

impl std::error::Error for LockError {}

impl RunLock {
    /// Takes the folder, which must be there.
    ///
    /// # Errors
    /// See [`LockError`].
    pub fn take(folder: &Path) -> Result<Self, LockError> {
        let path = folder.join("lock");
        let failed = |e: &std::io::Error| LockError::Store(StoreError::from_io(&path, e));
        let file = crate::private::options()
            .write(true)
            .create(true)
            .truncate(false)
            .open(&path)
            .map_err(|e| {
                // The file is made where it is not there: what is missing is the folder.
                let is_folder = [ErrorKind::NotFound, ErrorKind::NotADirectory].contains(&e.kind());
                let place = if is_folder { folder } else { &path };
                LockError::Store(StoreError::from_io(place, &e))
            })?;
        match file.try_lock() {
            Ok(()) => Ok(Self { _file: file }),
            Err(TryLockError::WouldBlock) => Err(LockError::Held {
                path: folder.to_owned(),
            }),
            Err(TryLockError::Error(e)) => Err(failed(&e)),
        }
    }
}

#[cfg(test)]
mod tests;
