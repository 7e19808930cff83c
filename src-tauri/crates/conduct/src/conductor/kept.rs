//! The lines of a run on their way to the disk.

use std::io;

use cycle::Seq;
use tokio::sync::mpsc::UnboundedSender;

use crate::{Durability, FileStore, Keeper, Receipt, Sink, Store, StoreError, Writer};

/// Has a run's lines written to its record. `opening` goes before them.
///
/// # Errors
/// No thread could be had.
pub(super) fn keeper(
    store: &FileStore,
    record_id: String,
    is_new: bool,
    opening: &[u8],
    to_us: UnboundedSender<Receipt>,
) -> Result<Kept, StoreError> {
    let sink = Box::new(Lazy {
        store: store.clone(),
        record_id: record_id.clone(),
        is_new,
        sink: None,
    });
    Ok(Kept {
        writer: Some(Writer::start(sink, store.folder(), opening, to_us)?),
        store: store.clone(),
        record_id,
    })
}

/// Lines to the disk. Let go of, it waits until everything it was given is written.
#[derive(Debug)]
pub(super) struct Kept {
    writer: Option<Writer>,
    store: FileStore,
    record_id: String,
}

impl Keeper for Kept {
    fn keep(&mut self, line: Vec<u8>, through: Seq, durability: Durability) {
        if let Some(writer) = &self.writer {
            writer.append(line, through, durability);
        }
    }
}

impl Drop for Kept {
    fn drop(&mut self) {
        if let Some(writer) = self.writer.take() {
            let rest = writer.close();
            if !rest.is_empty() {
                // A disk that was full may have room again. That it failed was said when it did.
                drop(self.store.keep_rest(&self.record_id, &rest));
            }
        }
    }
}

/// No writer could be started; the screen says so already.
#[derive(Debug)]
pub(super) struct Nowhere;

impl Keeper for Nowhere {
    fn keep(&mut self, _line: Vec<u8>, _through: Seq, _durability: Durability) {}
}

/// Opens the file on the writer's thread, so that a start never waits for the disk.
#[derive(Debug)]
struct Lazy {
    store: FileStore,
    record_id: String,
    is_new: bool,
    sink: Option<Box<dyn Sink>>,
}

impl Lazy {
    fn sink(&mut self) -> io::Result<&mut Box<dyn Sink>> {
        if self.sink.is_none() {
            self.store.make().map_err(|e| io_error(&e))?;
            let opened = if self.is_new {
                self.store.create(&self.record_id)
            } else {
                self.store.reopen(&self.record_id)
            };
            self.sink = Some(opened.map_err(|e| io_error(&e))?);
        }
        self.sink
            .as_mut()
            .ok_or_else(|| io::Error::other("no file"))
    }
}

impl Sink for Lazy {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.sink()?.write(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.sink()?.sync()
    }
}

fn io_error(error: &StoreError) -> io::Error {
    let kind = match error {
        StoreError::NotAFolder { .. } => io::ErrorKind::NotADirectory,
        StoreError::ReadOnly { .. } => io::ErrorKind::ReadOnlyFilesystem,
        StoreError::Denied { .. } => io::ErrorKind::PermissionDenied,
        StoreError::Full { .. } => io::ErrorKind::StorageFull,
        StoreError::Exists { .. } => io::ErrorKind::AlreadyExists,
        StoreError::Missing { .. } => io::ErrorKind::NotFound,
        StoreError::Name { .. } | StoreError::TooLarge { .. } | StoreError::Other { .. } => {
            io::ErrorKind::Other
        }
    };
    io::Error::new(kind, error.to_string())
}
