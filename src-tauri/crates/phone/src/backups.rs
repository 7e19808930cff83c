//! Records stay on the phone: no backup carries them away, and a locked phone still writes them.

use std::{
    fmt,
    path::{Path, PathBuf},
};

/// Keeps a folder or file out of the system's backups, and has it readable and writable from the first unlock
/// after the phone was switched on, also while it is locked.
///
/// On iOS each is a mark on the folder itself, which files made in it later take on. Elsewhere nothing is done:
/// Android's manifest turns backups off for the whole app, and a desktop's backups are its owner's.
///
/// # Errors
/// The folder does not exist, or the system refuses; the records are kept all the same.
pub fn keep_out_of_backups(path: &Path) -> Result<(), BackupError> {
    #[cfg(target_os = "ios")]
    crate::system::keep_out_of_backups(path).map_err(|what| BackupError {
        path: path.to_owned(),
        what,
    })?;
    #[cfg(not(target_os = "ios"))]
    let _ = path;
    Ok(())
}

/// A folder could not be kept out of the system's backups.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BackupError {
    /// Which.
    pub path: PathBuf,
    /// What the system said.
    pub what: String,
}

impl fmt::Display for BackupError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}: cannot be kept out of the phone's backups: {}; turn backups off for this app in the phone's settings",
            self.path.display(),
            self.what
        )
    }
}

impl std::error::Error for BackupError {}
