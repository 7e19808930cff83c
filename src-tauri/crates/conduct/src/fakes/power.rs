use std::{
    collections::{BTreeMap, BTreeSet},
    io,
    path::{Path, PathBuf},
    sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError},
    time::{Duration, SystemTime},
};

use crate::store::{Disk, Found, Sink};

/// A disk in memory whose power can be cut at any call, and which can stall. Its clones are the same disk.
///
/// What was not synced is lost or not, as chance has it: of a file's bytes any first part is left, maybe with
/// zeros where the rest would be; each name of a folder is there or not, as it was made or removed.
#[derive(Clone, Debug)]
pub struct PowerDisk(Arc<(Mutex<Inner>, Condvar)>);

/// A sync that does nothing and says that it did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lie {
    /// That of a file.
    File,
    /// That of a folder.
    Folder,
}

#[derive(Debug)]
struct Inner {
    nodes: Vec<Node>,
    /// Names as a program sees them.
    now: BTreeMap<PathBuf, usize>,
    /// Names that survive a power cut.
    kept: BTreeMap<PathBuf, usize>,
    random: u64,
    /// Calls until the power goes.
    left: Option<u64>,
    is_off: bool,
    lie: Option<Lie>,
    is_stalled: bool,
    age: u64,
}

#[derive(Debug, Default)]
struct Node {
    is_folder: bool,
    written: Vec<u8>,
    synced: usize,
    age: u64,
}

fn no_power() -> io::Error {
    io::Error::other("no power")
}

impl Inner {
    /// Marsaglia's xorshift: the same cuts for the same seed.
    fn below(&mut self, most: usize) -> usize {
        self.random ^= self.random << 13;
        self.random ^= self.random >> 7;
        self.random ^= self.random << 17;
        let most = u64::try_from(most).unwrap_or(u64::MAX).max(1);
        usize::try_from(self.random.checked_rem(most).unwrap_or(0)).unwrap_or(0)
    }

    fn node(&self, path: &Path) -> io::Result<usize> {
        self.now
            .get(path)
            .copied()
            .ok_or_else(|| io::ErrorKind::NotFound.into())
    }

    fn make(&mut self, path: &Path, is_folder: bool) -> io::Result<usize> {
        let above = path.parent().unwrap_or_else(|| Path::new("/"));
        let above = self.node(above)?;
        if !self.nodes.get(above).is_some_and(|node| node.is_folder) {
            return Err(io::ErrorKind::NotADirectory.into());
        }
        if self.now.contains_key(path) {
            return Err(io::ErrorKind::AlreadyExists.into());
        }
        let number = self.nodes.len();
        self.age = self.age.saturating_add(1);
        self.nodes.push(Node {
            is_folder,
            age: self.age,
            ..Node::default()
        });
        self.now.insert(path.to_owned(), number);
        Ok(number)
    }

    /// What a cut leaves of a file: what was synced, and any first part of the rest.
    fn tear(&mut self, number: usize) {
        let Some((written, synced)) = self.nodes.get(number).map(|n| (n.written.len(), n.synced))
        else {
            return;
        };
        let unsynced = written.saturating_sub(synced);
        let left = synced.saturating_add(self.below(unsynced.saturating_add(1)));
        let zeros = if self.below(4) == 0 {
            self.below(written.saturating_sub(left).saturating_add(1))
        } else {
            0
        };
        if let Some(node) = self.nodes.get_mut(number) {
            node.written.truncate(left);
            node.written.resize(left.saturating_add(zeros), 0);
            node.synced = node.written.len();
        }
    }
}

impl PowerDisk {
    /// An empty disk with one folder, `root`. The cuts follow from `seed`.
    pub fn new(root: &Path, seed: u64) -> Self {
        let folder = Node {
            is_folder: true,
            ..Node::default()
        };
        let names = BTreeMap::from([(root.to_owned(), 0)]);
        let inner = Inner {
            nodes: vec![folder],
            now: names.clone(),
            kept: names,
            random: seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1,
            left: None,
            is_off: false,
            lie: None,
            is_stalled: false,
            age: 0,
        };
        Self(Arc::new((Mutex::new(inner), Condvar::new())))
    }

    /// Has syncs of this kind do nothing.
    pub fn lie(&self, lie: Lie) {
        self.lock().lie = Some(lie);
    }

    /// From now on whoever asks for anything waits, or has what it waits for.
    pub fn stall(&self, on: bool) {
        self.lock().is_stalled = on;
        self.0.1.notify_all();
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.0.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Once it does not stall.
    fn answering(&self) -> MutexGuard<'_, Inner> {
        let answering = self.0.1.wait_while(self.lock(), |inner| inner.is_stalled);
        answering.unwrap_or_else(PoisonError::into_inner)
    }

    /// A number below `most`, from the same seed as the cuts.
    pub fn chance(&self, most: usize) -> usize {
        self.lock().below(most)
    }

    /// The power goes at the `call`-th call that changes something from now on, counted from 1.
    pub fn cut_at(&self, call: u64) {
        self.lock().left = Some(call);
    }

    /// The power goes now.
    pub fn cut(&self) {
        self.lock().is_off = true;
    }

    /// Whether the power is gone.
    pub fn is_off(&self) -> bool {
        self.lock().is_off
    }

    /// The power comes back: what a program sees now is what the cut has left.
    pub fn power_back(&self) {
        let mut inner = self.lock();
        let paths: BTreeSet<PathBuf> = inner.now.keys().chain(inner.kept.keys()).cloned().collect();
        let mut left: BTreeMap<PathBuf, usize> = BTreeMap::new();
        for path in paths {
            let (now, kept) = (
                inner.now.get(&path).copied(),
                inner.kept.get(&path).copied(),
            );
            let found = if now == kept || inner.below(2) == 0 {
                kept
            } else {
                now
            };
            // A name is gone with the folder that it is in; folders come before what is in them.
            let above = path
                .parent()
                .is_none_or(|above| left.contains_key(above) || left.is_empty());
            if let (Some(found), true) = (found, above) {
                left.insert(path, found);
            }
        }
        for number in 0..inner.nodes.len() {
            inner.tear(number);
        }
        inner.now = left.clone();
        inner.kept = left;
        inner.left = None;
        inner.is_off = false;
    }

    /// A call that changes something. Where the power goes in it, chance has it done or not; nobody hears of it.
    fn change<T>(&self, what: impl FnOnce(&mut Inner) -> io::Result<T>) -> io::Result<T> {
        let mut inner = self.answering();
        if inner.is_off {
            return Err(no_power());
        }
        inner.left = inner.left.map(|left| left.saturating_sub(1));
        if inner.left == Some(0) {
            inner.is_off = true;
            if inner.below(2) == 0 {
                drop(what(&mut inner));
            }
            return Err(no_power());
        }
        what(&mut inner)
    }

    fn look<T>(&self, what: impl FnOnce(&Inner) -> io::Result<T>) -> io::Result<T> {
        let inner = self.answering();
        if inner.is_off {
            return Err(no_power());
        }
        what(&inner)
    }

    fn sink(&self, number: usize) -> Box<dyn Sink> {
        Box::new(PowerSink {
            disk: self.clone(),
            number,
        })
    }
}

#[derive(Debug)]
struct PowerSink {
    disk: PowerDisk,
    number: usize,
}

impl Sink for PowerSink {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.disk.change(|inner| {
            inner.age = inner.age.saturating_add(1);
            let age = inner.age;
            if let Some(node) = inner.nodes.get_mut(self.number) {
                node.written.extend(bytes);
                node.age = age;
            }
            Ok(bytes.len())
        })
    }

    fn sync(&mut self) -> io::Result<()> {
        self.disk.change(|inner| {
            let lies = inner.lie == Some(Lie::File);
            if let Some(node) = inner.nodes.get_mut(self.number)
                && !lies
            {
                node.synced = node.written.len();
            }
            Ok(())
        })
    }
}

impl Disk for PowerDisk {
    fn is_folder(&self, path: &Path) -> io::Result<bool> {
        self.look(|inner| {
            let node = inner.nodes.get(inner.node(path)?);
            Ok(node.is_some_and(|node| node.is_folder))
        })
    }

    fn make_folder(&self, path: &Path) -> io::Result<()> {
        self.change(|inner| inner.make(path, true).map(|_| ()))
    }

    fn create(&self, path: &Path) -> io::Result<Box<dyn Sink>> {
        let number = self.change(|inner| inner.make(path, false))?;
        Ok(self.sink(number))
    }

    fn append(&self, path: &Path, or_create: bool) -> io::Result<Box<dyn Sink>> {
        match self.look(|inner| inner.node(path)) {
            Ok(number) => Ok(self.sink(number)),
            Err(e) if or_create && e.kind() == io::ErrorKind::NotFound => self.create(path),
            Err(e) => Err(e),
        }
    }

    fn read(&self, path: &Path, most: u64) -> io::Result<Result<Vec<u8>, u64>> {
        self.look(|inner| {
            let node = inner.nodes.get(inner.node(path)?);
            let bytes = node.map(|node| node.written.clone()).unwrap_or_default();
            let length = u64::try_from(bytes.len()).unwrap_or(u64::MAX);
            Ok(if length > most {
                Err(length)
            } else {
                Ok(bytes)
            })
        })
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        self.change(|inner| {
            inner.node(path)?;
            inner.now.remove(path);
            Ok(())
        })
    }

    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        self.change(|inner| {
            inner.node(path)?;
            if inner.lie == Some(Lie::Folder) {
                return Ok(());
            }
            let is_in = |name: &PathBuf| name.parent() == Some(path);
            inner.kept.retain(|name, _| !is_in(name));
            let names: Vec<_> = inner.now.iter().filter(|(name, _)| is_in(name)).collect();
            let names: Vec<_> = names
                .into_iter()
                .map(|(name, n)| (name.clone(), *n))
                .collect();
            inner.kept.extend(names);
            Ok(())
        })
    }

    fn list(&self, path: &Path) -> io::Result<Vec<Found>> {
        self.look(|inner| {
            inner.node(path)?;
            let files = inner
                .now
                .iter()
                .filter(|(name, _)| name.parent() == Some(path));
            Ok(files
                .filter_map(|(name, number)| {
                    let node = inner.nodes.get(*number).filter(|node| !node.is_folder)?;
                    let age = Duration::from_secs(node.age);
                    Some(Found {
                        name: name.file_name()?.to_str()?.to_owned(),
                        written: SystemTime::UNIX_EPOCH.checked_add(age)?,
                    })
                })
                .collect())
        })
    }
}
