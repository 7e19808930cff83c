//! What a store asks of a disk: the system's own, or one whose power a test can cut.

use std::{
    fmt,
    fs::{self, File},
    io::{self, Read, Write},
    path::Path,
    time::SystemTime,
};

use super::Sink;
use crate::private;

/// A file of a folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// Its name.
    pub name: String,
    /// When it was last written to.
    pub written: SystemTime,
}

/// A disk with files and folders. What it has done survives a power cut only once it was synced: a file's
/// bytes by the file's own sync, its name by that of the folder.
pub trait Disk: fmt::Debug + Send + Sync {
    /// Whether a path is a folder.
    ///
    /// # Errors
    /// The system's; there is nothing at the path.
    fn is_folder(&self, path: &Path) -> io::Result<bool>;

    /// Makes one folder in another that is there.
    ///
    /// # Errors
    /// The system's.
    fn make_folder(&self, path: &Path) -> io::Result<()>;

    /// Closes a folder to everybody but this user.
    ///
    /// # Errors
    /// The system's.
    fn close_to_others(&self, path: &Path) -> io::Result<()> {
        let _ = path;
        Ok(())
    }

    /// Makes a file and opens it for adding to it.
    ///
    /// # Errors
    /// The system's; something is there.
    fn create(&self, path: &Path) -> io::Result<Box<dyn Sink>>;

    /// Opens a file for adding to it, and makes it first if that is asked.
    ///
    /// # Errors
    /// The system's.
    fn append(&self, path: &Path, or_create: bool) -> io::Result<Box<dyn Sink>>;

    /// A file's bytes; where they are more than `most`, how many.
    ///
    /// # Errors
    /// The system's.
    fn read(&self, path: &Path, most: u64) -> io::Result<Result<Vec<u8>, u64>>;

    /// Removes a file.
    ///
    /// # Errors
    /// The system's.
    fn remove(&self, path: &Path) -> io::Result<()>;

    /// Returns once the names in a folder survive a power cut.
    ///
    /// # Errors
    /// The system's.
    fn sync_folder(&self, path: &Path) -> io::Result<()>;

    /// The files of a folder whose names are text.
    ///
    /// # Errors
    /// The system's.
    fn list(&self, path: &Path) -> io::Result<Vec<Found>>;
}

/// The system's own.
#[derive(Clone, Copy, Debug)]
pub struct SystemDisk;

impl Disk for SystemDisk {
    fn is_folder(&self, path: &Path) -> io::Result<bool> {
        fs::metadata(path).map(|found| found.is_dir())
    }

    fn make_folder(&self, path: &Path) -> io::Result<()> {
        private::one_folder(path)
    }

    fn close_to_others(&self, path: &Path) -> io::Result<()> {
        private::close_to_others(path)
    }

    fn create(&self, path: &Path) -> io::Result<Box<dyn Sink>> {
        let file = private::options()
            .append(true)
            .create_new(true)
            .open(path)?;
        Ok(Box::new(FileSink(file)))
    }

    fn append(&self, path: &Path, or_create: bool) -> io::Result<Box<dyn Sink>> {
        let file = private::options()
            .append(true)
            .create(or_create)
            .open(path)?;
        Ok(Box::new(FileSink(file)))
    }

    fn read(&self, path: &Path, most: u64) -> io::Result<Result<Vec<u8>, u64>> {
        let file = File::open(path)?;
        let bytes = file.metadata()?.len();
        if bytes > most {
            return Ok(Err(bytes));
        }
        let mut out = Vec::new();
        file.take(most).read_to_end(&mut out)?;
        Ok(Ok(out))
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        let path = if path == Path::new("") {
            Path::new(".")
        } else {
            path
        };
        if cfg!(unix) {
            File::open(path)?.sync_all()?;
        }
        Ok(())
    }

    fn list(&self, path: &Path) -> io::Result<Vec<Found>> {
        let mut found = Vec::new();
        for entry in fs::read_dir(path)? {
            let entry = entry?;
            let meta = match entry.metadata() {
                Ok(meta) => meta,
                // Removed since it was listed.
                Err(e) if e.kind() == io::ErrorKind::NotFound => continue,
                Err(e) => return Err(e),
            };
            if let (true, Some(name)) = (meta.is_file(), entry.file_name().to_str()) {
                found.push(Found {
                    name: name.to_owned(),
                    written: meta.modified().unwrap_or(SystemTime::UNIX_EPOCH),
                });
            }
        }
        Ok(found)
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
