use std::{
    collections::BTreeMap,
    io,
    path::Path,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use crate::store::{Sink, Store, StoreError};

/// The system's numbers of these errors (POSIX names them, Linux and Apple number them alike).
const EIO: i32 = 5;
const ENOSPC: i32 = 28;

/// A store in memory that fails when told to. Its clones are the same store.
#[derive(Clone, Debug, Default)]
pub struct MemoryStore(Arc<Mutex<Inner>>);

#[derive(Debug, Default)]
struct Inner {
    files: BTreeMap<String, MemoryFile>,
    /// Ids, the one last written to at the end.
    order: Vec<String>,
    calls: u64,
    syncs: u64,
    fault: Option<(u64, Fault)>,
    create_fault: Option<StoreError>,
}

#[derive(Clone, Debug, Default)]
struct MemoryFile {
    written: Vec<u8>,
    synced: usize,
}

/// How a call fails.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// The device fails (EIO): a write takes nothing, a sync keeps nothing.
    Device,
    /// No space is left (ENOSPC).
    Full,
    /// A write takes only so many bytes; the calls after it go well.
    Short(usize),
}

impl MemoryStore {
    /// Empty, and well.
    pub fn new() -> Self {
        Self::default()
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The `call`-th call of write or sync from now on, counted from 1, fails so.
    pub fn fail_at(&self, call: u64, fault: Fault) {
        let mut inner = self.lock();
        let at = inner.calls.saturating_add(call);
        inner.fault = Some((at, fault));
    }

    /// Creating a record fails so.
    pub fn fail_create(&self, error: StoreError) {
        self.lock().create_fault = Some(error);
    }

    /// Calls of write and sync so far.
    pub fn calls(&self) -> u64 {
        self.lock().calls
    }

    /// Calls of sync so far.
    pub fn syncs(&self) -> u64 {
        self.lock().syncs
    }

    /// The power is cut: of what was not synced, only the first `torn` bytes are on the disk.
    pub fn cut(&self, torn: usize) {
        for file in self.lock().files.values_mut() {
            file.written.truncate(file.synced.saturating_add(torn));
            file.synced = file.written.len();
        }
    }

    /// Puts a file there.
    pub fn put(&self, record_id: &str, bytes: &[u8]) {
        let mut inner = self.lock();
        let file = MemoryFile {
            written: bytes.to_vec(),
            synced: bytes.len(),
        };
        inner.files.insert(record_id.to_owned(), file);
        inner.order.retain(|id| id != record_id);
        inner.order.push(record_id.to_owned());
    }
}

#[derive(Debug)]
struct MemorySink {
    store: MemoryStore,
    record_id: String,
}

impl MemorySink {
    fn call(&self) -> (MutexGuard<'_, Inner>, Option<Fault>) {
        let mut inner = self.store.lock();
        inner.calls = inner.calls.saturating_add(1);
        let now = inner.calls;
        let fault = inner.fault.filter(|(at, _)| *at == now).map(|(_, f)| f);
        (inner, fault)
    }
}

impl Sink for MemorySink {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let (mut inner, fault) = self.call();
        let taken = match fault {
            None => bytes.len(),
            Some(Fault::Device) => return Err(io::Error::from_raw_os_error(EIO)),
            Some(Fault::Full) => return Err(io::Error::from_raw_os_error(ENOSPC)),
            Some(Fault::Short(most)) => most.min(bytes.len()),
        };
        inner.order.retain(|id| *id != self.record_id);
        inner.order.push(self.record_id.clone());
        if let Some(file) = inner.files.get_mut(&self.record_id) {
            file.written.extend(bytes.iter().take(taken));
        }
        Ok(taken)
    }

    fn sync(&mut self) -> io::Result<()> {
        let (mut inner, fault) = self.call();
        inner.syncs = inner.syncs.saturating_add(1);
        match fault {
            Some(Fault::Device) => return Err(io::Error::from_raw_os_error(EIO)),
            Some(Fault::Full) => return Err(io::Error::from_raw_os_error(ENOSPC)),
            Some(Fault::Short(_)) | None => {}
        }
        if let Some(file) = inner.files.get_mut(&self.record_id) {
            file.synced = file.written.len();
        }
        Ok(())
    }
}

impl Store for MemoryStore {
    fn create(&mut self, record_id: &str) -> Result<Box<dyn Sink>, StoreError> {
        let mut inner = self.lock();
        if let Some(error) = &inner.create_fault {
            return Err(error.clone());
        }
        if inner.files.contains_key(record_id) {
            return Err(StoreError::Exists {
                path: Path::new(record_id).to_owned(),
            });
        }
        inner
            .files
            .insert(record_id.to_owned(), MemoryFile::default());
        inner.order.push(record_id.to_owned());
        drop(inner);
        Ok(Box::new(MemorySink {
            store: self.clone(),
            record_id: record_id.to_owned(),
        }))
    }

    fn reopen(&mut self, record_id: &str) -> Result<Box<dyn Sink>, StoreError> {
        self.read(record_id)?;
        Ok(Box::new(MemorySink {
            store: self.clone(),
            record_id: record_id.to_owned(),
        }))
    }

    fn list(&self) -> Result<Vec<String>, StoreError> {
        Ok(self.lock().order.iter().rev().cloned().collect())
    }

    fn read(&self, record_id: &str) -> Result<Vec<u8>, StoreError> {
        let inner = self.lock();
        let file = inner.files.get(record_id);
        file.map(|file| file.written.clone())
            .ok_or_else(|| StoreError::Missing {
                path: Path::new(record_id).to_owned(),
            })
    }
}
