//! What can be found out about this device before a shift.

use std::{
    fs,
    io::{self, Write},
    path::Path,
};

use crate::{FileStore, StoreError, clock::uptime_ms};

/// As long as a mark's line.
const LINE: [u8; 320] = [b'.'; 320];
const MB: u64 = 1_000_000;

/// Writes a line into the run folder as a mark is written, and takes it away again: how many
/// milliseconds until it was on the disk.
///
/// # Errors
/// See [`StoreError`].
pub fn kept_within(folder: &Path) -> Result<u64, StoreError> {
    let store = FileStore::open(folder)?;
    let path = store.folder().join("ready.check");
    let failed = |e: io::Error| StoreError::from_io(&path, &e);
    let began = uptime_ms();
    let mut options = crate::private::options();
    let file = options.write(true).create(true).truncate(true);
    let mut file = file.open(&path).map_err(failed)?;
    file.write_all(&LINE).map_err(failed)?;
    file.sync_data().map_err(failed)?;
    let took = uptime_ms().saturating_sub(began);
    fs::remove_file(&path).map_err(failed)?;
    Ok(took)
}

/// Free space for this user where the runs lie, in whole MB; `None`: this system does not tell.
pub fn free_mb(folder: &Path) -> Option<u64> {
    #[cfg(unix)]
    {
        let found = nix::sys::statvfs::statvfs(folder).ok()?;
        let blocks = whole(found.blocks_available())?;
        let size = whole(found.fragment_size())?;
        blocks.saturating_mul(size).checked_div(MB)
    }
    #[cfg(not(unix))]
    {
        let _ = folder;
        None
    }
}

/// The system's counts are of another width on each system.
fn whole(n: impl TryInto<u64>) -> Option<u64> {
    n.try_into().ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::tests::Folder;

    #[test]
    fn a_line_is_kept_and_nothing_is_left_behind() {
        let folder = Folder::new();
        let runs = folder.0.join("runs");
        assert!(kept_within(&runs).unwrap() < 60_000);
        assert_eq!(fs::read_dir(&runs).unwrap().count(), 0);
    }

    #[test]
    fn a_place_that_is_no_folder_is_told() {
        let folder = Folder::new();
        let path = folder.0.join("runs");
        fs::write(&path, "x").unwrap();
        assert_eq!(
            kept_within(&path),
            Err(StoreError::NotAFolder { path: path.clone() })
        );
        assert_eq!(free_mb(&folder.0.join("nowhere")), None);
    }

    /// Source of the comparison: `df`, where there is one.
    #[cfg(unix)]
    #[test]
    fn free_space_is_what_the_system_says() {
        let folder = Folder::new();
        let Ok(df) = std::process::Command::new("df")
            .args(["-B1", "--output=avail"])
            .arg(&folder.0)
            .output()
        else {
            return;
        };
        let text = String::from_utf8(df.stdout).unwrap();
        let Some(bytes) = text
            .lines()
            .nth(1)
            .and_then(|n| n.trim().parse::<u64>().ok())
        else {
            return;
        };
        let found = free_mb(&folder.0).unwrap();
        assert!(found.abs_diff(bytes / MB) < 500, "{found} MB, df: {bytes}");
    }
}
