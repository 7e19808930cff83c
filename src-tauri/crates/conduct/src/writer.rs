//! The thread that keeps a record: writes at once, syncs marks at once, latches on an error.
//!
//! Nothing else of the app waits for the disk.

use std::{
    fmt, io,
    path::Path,
    sync::{
        Arc, Mutex, PoisonError,
        mpsc::{self, RecvTimeoutError},
    },
    thread::{self, JoinHandle},
    time::Duration,
};

use cycle::Seq;
use tokio::sync::mpsc::UnboundedSender;

use crate::{
    clock::uptime_ms,
    store::{Sink, StoreError},
};

/// Lines that need not be kept at once are kept after this time at the latest.
const SOON_MS: u64 = 1000;

/// How soon a line must survive a power cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Durability {
    /// At once: what the crew marked.
    Now,
    /// With the next mark, or within a second.
    Soon,
}

/// What became of the lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Receipt {
    /// Everything up to this line survives any kill or power cut.
    Saved {
        /// The line.
        through: Seq,
    },
    /// The disk failed: nothing is written any more. Said once.
    NotSaving {
        /// Why.
        error: StoreError,
    },
}

struct Job {
    bytes: Vec<u8>,
    through: Seq,
    durability: Durability,
}

/// A running writer.
pub struct Writer {
    jobs: mpsc::Sender<Job>,
    thread: JoinHandle<()>,
    unsaved: Arc<Mutex<Vec<u8>>>,
}

impl fmt::Debug for Writer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Writer").finish_non_exhaustive()
    }
}

impl Writer {
    /// Starts the thread. `place` is named in errors; `opening` goes before the first line: the
    /// line feed that a torn tail lacks, or nothing.
    ///
    /// # Errors
    /// The system gives no thread.
    pub fn start(
        sink: Box<dyn Sink>,
        place: &Path,
        opening: &[u8],
        receipts: UnboundedSender<Receipt>,
    ) -> Result<Self, StoreError> {
        let (jobs, inbox) = mpsc::channel();
        let unsaved = Arc::new(Mutex::new(Vec::new()));
        let mut work = Work {
            sink,
            place: place.to_owned(),
            receipts,
            unwritten: opening.to_vec(),
            unsynced: Vec::new(),
            through: None,
            due: None,
            latched: false,
            unsaved: Arc::clone(&unsaved),
        };
        let thread = thread::Builder::new()
            .name("record-writer".to_owned())
            .spawn(move || work.run(&inbox))
            .map_err(|e| StoreError::from_io(place, &e))?;
        Ok(Self {
            jobs,
            thread,
            unsaved,
        })
    }

    /// Hands lines over and returns at once. `through` is the last of them.
    pub fn append(&self, bytes: Vec<u8>, through: Seq, durability: Durability) {
        let job = Job {
            bytes,
            through,
            durability,
        };
        if let Err(mpsc::SendError(job)) = self.jobs.send(job) {
            // The thread is gone, which only a panic in it can do; the bytes stay with the app.
            lock(&self.unsaved).extend(job.bytes);
        }
    }

    /// What could not be kept since the disk failed, in order, for a copy elsewhere.
    pub fn unsaved(&self) -> Vec<u8> {
        lock(&self.unsaved).clone()
    }

    /// Keeps everything, ends the thread, and gives back what could not be kept.
    pub fn close(self) -> Vec<u8> {
        drop(self.jobs);
        // A panic in the thread has no news beyond the bytes below.
        drop(self.thread.join());
        std::mem::take(&mut *lock(&self.unsaved))
    }
}

fn lock(unsaved: &Mutex<Vec<u8>>) -> std::sync::MutexGuard<'_, Vec<u8>> {
    unsaved.lock().unwrap_or_else(PoisonError::into_inner)
}

struct Work {
    sink: Box<dyn Sink>,
    place: std::path::PathBuf,
    receipts: UnboundedSender<Receipt>,
    unwritten: Vec<u8>,
    unsynced: Vec<u8>,
    /// The last line that is not synced.
    through: Option<Seq>,
    /// When it has to be.
    due: Option<u64>,
    latched: bool,
    unsaved: Arc<Mutex<Vec<u8>>>,
}

impl Work {
    fn run(&mut self, inbox: &mpsc::Receiver<Job>) {
        loop {
            let first = match self.due {
                None => inbox.recv().map_err(|_| RecvTimeoutError::Disconnected),
                Some(due) => {
                    inbox.recv_timeout(Duration::from_millis(due.saturating_sub(uptime_ms())))
                }
            };
            let over = matches!(first, Err(RecvTimeoutError::Disconnected));
            let mut now = over;
            // All that is waiting goes in one write and one sync.
            for job in first.into_iter().chain(inbox.try_iter()) {
                now |= job.durability == Durability::Now;
                self.unwritten.extend(job.bytes);
                self.through = Some(job.through);
                self.due
                    .get_or_insert_with(|| uptime_ms().saturating_add(SOON_MS));
            }
            let due = self.due.is_some_and(|due| due <= uptime_ms());
            if !self.latched
                && let Err(error) = self.keep(now || due)
            {
                self.latch(&error);
            }
            if self.latched {
                self.due = None;
                lock(&self.unsaved).append(&mut self.unwritten);
            }
            if over {
                return;
            }
        }
    }

    fn keep(&mut self, sync: bool) -> io::Result<()> {
        while !self.unwritten.is_empty() {
            match self.sink.write(&self.unwritten) {
                Ok(0) => return Err(io::ErrorKind::WriteZero.into()),
                Ok(n) => {
                    let n = n.min(self.unwritten.len());
                    self.unsynced.extend(self.unwritten.drain(..n));
                }
                Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
                Err(e) => return Err(e),
            }
        }
        if sync && self.through.is_some() {
            self.sink.sync()?;
            self.unsynced.clear();
            self.due = None;
            if let Some(through) = self.through.take() {
                self.tell(Receipt::Saved { through });
            }
        }
        Ok(())
    }

    /// After a failed write or sync nobody knows what is on the disk: no more is written, so that
    /// no gap can be covered up, and all that is not known to be kept stays in memory.
    fn latch(&mut self, error: &io::Error) {
        self.latched = true;
        lock(&self.unsaved).append(&mut self.unsynced);
        let error = StoreError::from_io(&self.place, error);
        self.tell(Receipt::NotSaving { error });
    }

    fn tell(&self, receipt: Receipt) {
        // Nobody listens any more once the conductor is gone; the bytes are kept all the same.
        drop(self.receipts.send(receipt));
    }
}

#[cfg(test)]
mod tests;
