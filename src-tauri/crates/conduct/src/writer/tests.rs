use std::{
    io,
    path::Path,
    sync::{Arc, Condvar, Mutex},
};

use cycle::Seq;
use tokio::sync::mpsc::{UnboundedReceiver, unbounded_channel};

use super::{Durability, Receipt, Writer};
use crate::{
    clock::uptime_ms,
    fakes::{Fault, MemoryStore},
    store::{Sink, Store, StoreError},
};

fn start(store: &MemoryStore, opening: &[u8]) -> (Writer, UnboundedReceiver<Receipt>) {
    let sink = store.clone().create("one").unwrap();
    let (to, from) = unbounded_channel();
    (
        Writer::start(sink, Path::new("/a/place"), opening, to).unwrap(),
        from,
    )
}

fn line(n: u64) -> Vec<u8> {
    format!("line {n}\n").into_bytes()
}

fn all(mut from: UnboundedReceiver<Receipt>) -> Vec<Receipt> {
    std::iter::from_fn(|| from.blocking_recv()).collect()
}

fn saved(through: u64) -> Receipt {
    Receipt::Saved {
        through: Seq(through),
    }
}

#[test]
fn a_mark_is_kept_at_once() {
    let store = MemoryStore::new();
    let (writer, mut from) = start(&store, b"");
    writer.append(line(1), Seq(1), Durability::Now);
    assert_eq!(from.blocking_recv(), Some(saved(1)));
    store.cut(0);
    assert_eq!(store.read("one").unwrap(), line(1));
    assert_eq!(writer.close(), b"");
    assert_eq!(store.syncs(), 1);
}

#[test]
fn a_mark_does_not_wait_for_the_second_that_others_may_take() {
    let took = || {
        let store = MemoryStore::new();
        let (writer, mut from) = start(&store, b"");
        let began = uptime_ms();
        writer.append(line(1), Seq(1), Durability::Now);
        assert_eq!(from.blocking_recv(), Some(saved(1)));
        uptime_ms().saturating_sub(began)
    };
    // The quickest of five: the machine may be busy, a writer that waits never is below.
    let quickest = (0..5).map(|_| took()).min().unwrap();
    assert!(quickest < 500, "{quickest} ms");
}

#[test]
fn another_line_is_kept_with_the_next_mark() {
    let store = MemoryStore::new();
    let (writer, mut from) = start(&store, b"");
    writer.append(line(1), Seq(1), Durability::Soon);
    writer.append(line(2), Seq(2), Durability::Now);
    assert_eq!(from.blocking_recv(), Some(saved(2)));
    store.cut(0);
    assert_eq!(store.read("one").unwrap(), [line(1), line(2)].concat());
    assert_eq!(writer.close(), b"");
}

#[test]
fn another_line_is_kept_within_a_second_though_more_keep_coming() {
    let store = MemoryStore::new();
    let (writer, mut from) = start(&store, b"");
    let began = uptime_ms();
    let mut n = 0;
    let receipt = loop {
        n += 1;
        writer.append(line(n), Seq(n), Durability::Soon);
        // A line every 50 ms; never a mark.
        let (lock, bell) = (Mutex::new(()), Condvar::new());
        let wait = std::time::Duration::from_millis(50);
        drop(bell.wait_timeout(lock.lock().unwrap(), wait).unwrap());
        if let Ok(receipt) = from.try_recv() {
            break receipt;
        }
        assert!(uptime_ms() - began < 30_000, "never kept");
    };
    let took = uptime_ms() - began;
    // The upper bound leaves room for a busy machine; a postponed deadline would never come.
    assert!((1000..5000).contains(&took), "{took} ms");
    assert!(matches!(receipt, Receipt::Saved { through } if through.0 >= 1));
    drop(writer.close());
}

#[test]
fn closing_keeps_what_was_handed_over() {
    let store = MemoryStore::new();
    let (writer, from) = start(&store, b"");
    writer.append(line(1), Seq(1), Durability::Soon);
    assert_eq!(writer.close(), b"");
    assert_eq!(all(from), [saved(1)]);
    store.cut(0);
    assert_eq!(store.read("one").unwrap(), line(1));
}

#[test]
fn the_missing_line_feed_goes_first() {
    let store = MemoryStore::new();
    let (writer, from) = start(&store, b"\n");
    writer.append(line(1), Seq(1), Durability::Now);
    assert_eq!(writer.close(), b"");
    assert_eq!(all(from), [saved(1)]);
    assert_eq!(store.read("one").unwrap(), b"\nline 1\n");
}

/// A disk whose first sync takes until it is let go.
#[derive(Clone, Debug, Default)]
struct SlowDisk(Arc<(Mutex<Slow>, Condvar)>);

#[derive(Debug, Default)]
struct Slow {
    syncs: u64,
    let_go: bool,
}

impl Sink for SlowDisk {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        Ok(bytes.len())
    }

    fn sync(&mut self) -> io::Result<()> {
        let (lock, bell) = &*self.0;
        let mut slow = lock.lock().unwrap();
        slow.syncs = slow.syncs.saturating_add(1);
        bell.notify_all();
        while !slow.let_go {
            slow = bell.wait(slow).unwrap();
        }
        Ok(())
    }
}

#[test]
fn marks_that_come_while_the_disk_is_busy_share_one_sync() {
    let disk = SlowDisk::default();
    let (to, from) = unbounded_channel();
    let writer = Writer::start(Box::new(disk.clone()), Path::new("/"), b"", to).unwrap();
    writer.append(line(1), Seq(1), Durability::Now);
    let (lock, bell) = &*disk.0;
    let mut slow = lock.lock().unwrap();
    while slow.syncs == 0 {
        slow = bell.wait(slow).unwrap();
    }
    // Handing over does not wait, though the disk does.
    for n in 2..=50 {
        writer.append(line(n), Seq(n), Durability::Now);
    }
    slow.let_go = true;
    bell.notify_all();
    drop(slow);
    drop(writer.close());
    assert_eq!(all(from), [saved(1), saved(50)]);
    assert_eq!(lock.lock().unwrap().syncs, 2);
}

/// Eight marks, one by one, with a fault at the `call`-th call; gives what was shown as kept, how
/// often the writer said that it does not save, and what stayed in memory.
fn with_fault(store: &MemoryStore, call: u64, fault: Fault) -> (u64, Vec<StoreError>, Vec<u8>) {
    let (writer, mut from) = start(store, b"");
    store.fail_at(call, fault);
    let (mut kept, mut errors) = (0, Vec::new());
    for n in 1..=8 {
        writer.append(line(n), Seq(n), Durability::Now);
        if errors.is_empty() {
            match from.blocking_recv().unwrap() {
                Receipt::Saved { through } => kept = through.0,
                Receipt::NotSaving { error } => errors.push(error),
            }
        }
    }
    let unsaved = writer.close();
    for receipt in all(from) {
        match receipt {
            Receipt::Saved { through } => panic!("{through:?} after a fault"),
            Receipt::NotSaving { error } => errors.push(error),
        }
    }
    (kept, errors, unsaved)
}

#[test]
fn after_any_fault_nothing_more_is_written_and_nothing_is_lost() {
    let whole: Vec<u8> = (1..=8).flat_map(line).collect();
    for fault in [Fault::Device, Fault::Full] {
        // A write and a sync for each of eight marks.
        for call in 1..=16 {
            let store = MemoryStore::new();
            let (kept, errors, unsaved) = with_fault(&store, call, fault);
            assert_eq!(kept, (call - 1) / 2, "call {call}");
            assert_eq!(errors.len(), 1, "said once");
            let says = match fault {
                Fault::Full => "no space is left",
                Fault::Device | Fault::Short(_) => "check the disk",
            };
            assert!(errors[0].to_string().contains(says), "{}", errors[0]);
            assert_eq!(store.calls(), call, "nothing is tried after the fault");
            assert!(whole.starts_with(&store.read("one").unwrap()));
            // What was shown as kept is on the disk, and all the rest is in memory.
            store.cut(0);
            let synced = store.read("one").unwrap();
            assert_eq!(synced, (1..=kept).flat_map(line).collect::<Vec<u8>>());
            assert_eq!([synced, unsaved].concat(), whole, "call {call}");
        }
    }
}

#[test]
fn a_short_write_is_gone_on_with() {
    let whole: Vec<u8> = (1..=8).flat_map(line).collect();
    for call in 1..=16 {
        let store = MemoryStore::new();
        let (kept, errors, unsaved) = with_fault(&store, call, Fault::Short(3));
        assert_eq!((kept, errors, unsaved), (8, vec![], vec![]));
        assert_eq!(store.read("one").unwrap(), whole);
    }
    // A write that takes nothing is no progress.
    let (kept, errors, unsaved) = with_fault(&MemoryStore::new(), 5, Fault::Short(0));
    assert_eq!((kept, errors.len()), (2, 1));
    assert_eq!(unsaved, (3..=8).flat_map(line).collect::<Vec<u8>>());
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_says_so() {
    // full(4): every write to it fails with ENOSPC.
    #[derive(Debug)]
    struct FullDisk(std::fs::File);
    impl Sink for FullDisk {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            io::Write::write(&mut self.0, bytes)
        }
        fn sync(&mut self) -> io::Result<()> {
            self.0.sync_data()
        }
    }
    let file = std::fs::OpenOptions::new()
        .append(true)
        .open("/dev/full")
        .unwrap();
    let (to, from) = unbounded_channel();
    let place = Path::new("/dev/full");
    let writer = Writer::start(Box::new(FullDisk(file)), place, b"", to).unwrap();
    writer.append(line(1), Seq(1), Durability::Now);
    assert_eq!(writer.close(), line(1));
    let error = StoreError::Full {
        path: place.to_owned(),
    };
    assert_eq!(all(from), [Receipt::NotSaving { error }]);
}
