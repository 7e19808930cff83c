//! Files that nobody but this user reads: 0700 for folders, 0600 for files, where the system has such rights.

use std::{
    fs::{self, File, OpenOptions},
    io::{self, Read, Seek, SeekFrom, Write},
    path::Path,
};

use crate::StoreError;

/// How a file of ours is made.
pub(crate) fn options() -> OpenOptions {
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        let mut options = OpenOptions::new();
        options.mode(0o600);
        options
    }
    #[cfg(not(unix))]
    OpenOptions::new()
}

/// Makes a folder and those above it that are missing; one that is there is closed to others.
pub(crate) fn make_folder(path: &Path) -> io::Result<()> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::{DirBuilderExt as _, PermissionsExt as _};
        fs::DirBuilder::new()
            .recursive(true)
            .mode(0o700)
            .create(path)?;
        let open = fs::metadata(path)?.permissions().mode() & 0o077;
        if open != 0 {
            fs::set_permissions(path, fs::Permissions::from_mode(0o700))?;
        }
        Ok(())
    }
    #[cfg(not(unix))]
    fs::create_dir_all(path)
}

/// A file's sync does not cover its name in the folder.
pub(crate) fn sync_folder(folder: &Path) -> Result<(), StoreError> {
    let folder = if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    };
    if cfg!(unix) {
        File::open(folder)
            .and_then(|folder| folder.sync_all())
            .map_err(|e| StoreError::from_io(folder, &e))?;
    }
    Ok(())
}

/// Adds whole lines to a list, on a line of their own also where the last one was torn.
pub(crate) fn add_lines(path: &Path, lines: &str) -> Result<(), StoreError> {
    let failed = |e: io::Error| StoreError::from_io(path, &e);
    let mut file = options()
        .read(true)
        .append(true)
        .create(true)
        .open(path)
        .map_err(failed)?;
    let mut text = String::new();
    let mut last = [b'\n'];
    if file.metadata().map_err(failed)?.len() > 0 {
        file.seek(SeekFrom::End(-1)).map_err(failed)?;
        file.read_exact(&mut last).map_err(failed)?;
    }
    if last != *b"\n" {
        text.push('\n');
    }
    text.push_str(lines);
    file.write_all(text.as_bytes()).map_err(failed)?;
    file.sync_all().map_err(failed)?;
    sync_folder(path.parent().unwrap_or_else(|| Path::new("")))
}

/// The lines of a list that can be read; a list that is not there is empty.
pub(crate) fn lines<T: serde::de::DeserializeOwned>(path: &Path) -> Result<Vec<T>, StoreError> {
    match fs::read_to_string(path) {
        Ok(text) => Ok(text
            .lines()
            .filter_map(|line| serde_json::from_str(line).ok())
            .collect()),
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(Vec::new()),
        Err(e) => Err(StoreError::from_io(path, &e)),
    }
}
