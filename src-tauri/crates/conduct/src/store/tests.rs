use std::{
    fs, io,
    path::{Path, PathBuf},
};

use cycle::Ms;

use super::{FileStore, Passed, Store, StoreError};
use crate::{clock::Clock, fakes::FakeClock, resume::tests::Sample};

/// A folder of a test's own, gone when the test is.
pub(crate) struct Folder(pub(crate) PathBuf);

impl Folder {
    pub(crate) fn new() -> Self {
        let path = std::env::temp_dir().join(format!("record-{}", uuid::Uuid::new_v4()));
        fs::create_dir(&path).unwrap();
        Self(path)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        drop(fs::remove_dir_all(&self.0));
    }
}

fn begun() -> Vec<u8> {
    Sample::begin(&FakeClock::new()).bytes()
}

fn sealed() -> Vec<u8> {
    let clock = FakeClock::new();
    let mut sample = Sample::begin(&clock);
    let line = record::encode_seal(&mut sample.chain, &clock.stamp(Ms(9), 0), 1).unwrap();
    sample.lines.push(line);
    sample.bytes()
}

/// Files in this order of age, the oldest first.
fn with(files: &[(&str, &[u8])]) -> (Folder, FileStore) {
    let folder = Folder::new();
    let store = FileStore::open(&folder.0).unwrap();
    for (n, (name, bytes)) in (0_u64..).zip(files) {
        let path = folder.0.join(name);
        fs::write(&path, bytes).unwrap();
        let written = std::time::UNIX_EPOCH
            .checked_add(std::time::Duration::from_secs(n))
            .unwrap();
        let file = fs::OpenOptions::new().append(true).open(&path).unwrap();
        file.set_modified(written).unwrap();
    }
    (folder, store)
}

#[test]
fn what_is_written_is_in_the_file() {
    let folder = Folder::new();
    let mut store = FileStore::open(&folder.0.join("a/b")).unwrap();
    let mut sink = store.create("one").unwrap();
    assert_eq!(sink.write(b"first\n").unwrap(), 6);
    sink.sync().unwrap();
    drop(sink);
    let mut sink = store.reopen("one").unwrap();
    sink.write(b"second\n").unwrap();
    sink.sync().unwrap();
    assert_eq!(store.read("one").unwrap(), b"first\nsecond\n");
    assert!(folder.0.join("a/b/one.rec.jsonl").is_file());
}

#[test]
fn nothing_that_is_there_is_overwritten() {
    let (folder, mut store) = with(&[("one.rec.jsonl", b"precious")]);
    let path = folder.0.join("one.rec.jsonl");
    let error = store.create("one").unwrap_err();
    assert_eq!(error, StoreError::Exists { path: path.clone() });
    assert!(error.to_string().contains("left as it is"), "{error}");
    assert_eq!(fs::read(path).unwrap(), b"precious");
}

#[test]
fn the_latest_run_is_found_if_it_is_not_finished() {
    let (begun, sealed) = (begun(), sealed());
    let (_folder, store) = with(&[
        ("old.rec.jsonl", &begun),
        ("done.rec.jsonl", &sealed),
        ("now.rec.jsonl", &begun),
        ("empty.rec.jsonl", b""),
        ("other.rec.jsonl", b"%PDF-1.7\n"),
        ("torn.rec.jsonl", &begun[..100]),
        ("UPPER.rec.jsonl", &begun),
        ("notes.txt", b"hello"),
    ]);
    assert_eq!(
        store.list().unwrap(),
        ["torn", "other", "empty", "now", "done", "old"]
    );
    let last = store.last_unfinished().unwrap();
    assert_eq!(last.found.unwrap().0, "now");
    let passed: Vec<String> = last
        .passed_over
        .iter()
        .map(|(id, why)| format!("{id}: {why}"))
        .collect();
    assert_eq!(passed.len(), 3);
    assert!(
        passed[0].starts_with("torn: the record's first line is damaged"),
        "{passed:?}"
    );
    assert!(
        passed[1].starts_with("other: this is not a record"),
        "{passed:?}"
    );
    assert!(
        passed[2].starts_with("empty: the file is empty"),
        "{passed:?}"
    );
}

#[test]
fn a_finished_run_hides_the_older_ones() {
    let (begun, sealed) = (begun(), sealed());
    let (_folder, store) = with(&[("old.rec.jsonl", &begun), ("done.rec.jsonl", &sealed)]);
    assert!(store.last_unfinished().unwrap().found.is_none());
    let (_folder, store) = with(&[]);
    let none = store.last_unfinished().unwrap();
    assert!(none.found.is_none() && none.passed_over.is_empty());
}

#[test]
fn a_record_killed_before_its_protocol_is_no_run() {
    let begun = begun();
    let header = begun.iter().position(|b| *b == b'\n').unwrap() + 1;
    let (_folder, store) = with(&[
        ("old.rec.jsonl", &begun),
        ("new.rec.jsonl", &begun[..header]),
    ]);
    assert_eq!(store.last_unfinished().unwrap().found.unwrap().0, "old");
}

#[cfg(unix)]
#[test]
fn a_file_that_cannot_be_read_is_passed_over() {
    let begun = begun();
    let (folder, store) = with(&[("old.rec.jsonl", &begun), ("big.rec.jsonl", &begun)]);
    let big = fs::OpenOptions::new()
        .append(true)
        .open(folder.0.join("big.rec.jsonl"))
        .unwrap();
    big.set_len(super::LARGEST + 1).unwrap();
    let last = store.last_unfinished().unwrap();
    assert_eq!(last.found.unwrap().0, "old");
    let (id, why) = &last.passed_over[0];
    assert!(
        matches!(why, Passed::Store(StoreError::TooLarge { .. })),
        "{id}: {why}"
    );
}

#[test]
fn each_refusal_of_the_disk_has_its_own_words() {
    let (folder, mut store) = with(&[("file", b"")]);
    let path = folder.0.join("file");
    let error = FileStore::open(&path).unwrap_err();
    assert_eq!(error, StoreError::NotAFolder { path: path.clone() });
    let error = FileStore::open(&path.join("below")).unwrap_err();
    assert!(matches!(error, StoreError::NotAFolder { .. }), "{error}");
    let error = store.reopen("gone").unwrap_err();
    assert!(matches!(error, StoreError::Missing { .. }), "{error}");
    for name in ["", "../up", "a/b", "A", "a.b", &"a".repeat(65)] {
        let error = store.create(name).unwrap_err();
        assert!(error.to_string().contains(&format!("{name:?}")), "{error}");
    }
    // Linux's numbers, errno(3) and asm-generic/errno.h.
    let place = Path::new("/a/place");
    let from =
        |number| StoreError::from_io(place, &io::Error::from_raw_os_error(number)).to_string();
    let texts = [
        from(30),
        from(13),
        from(28),
        from(20),
        from(17),
        from(2),
        from(5),
    ];
    let says = [
        "can only be read",
        "permission denied",
        "no space is left",
        "not a folder",
        "is there already",
        "is not there",
        "check the disk",
    ];
    for (text, says) in texts.iter().zip(says) {
        assert!(
            text.starts_with("/a/place") && text.contains(says),
            "{text}"
        );
    }
    assert!(from(122).contains("no space is left"), "quota");
}

#[test]
fn what_could_not_be_added_lies_beside_the_record_and_is_read_with_it() {
    // However much of it reached the record's own file before the disk failed.
    let rest = b"third\nfourth\n";
    for reached in 0..=rest.len() {
        let own = [b"first\nsecond\n", &rest[..reached]].concat();
        let (folder, mut store) = with(&[("one.rec.jsonl", &own)]);
        store.keep_rest("one", rest).unwrap();
        assert_eq!(store.list().unwrap(), ["one"]);
        assert_eq!(
            store.read("one").unwrap(),
            b"first\nsecond\nthird\nfourth\n"
        );
        // Taken up again, it goes where it belongs before anything new does.
        let mut sink = store.reopen("one").unwrap();
        sink.write(b"fifth\n").unwrap();
        assert!(!folder.0.join("one.rest.jsonl").exists());
        let whole = b"first\nsecond\nthird\nfourth\nfifth\n";
        assert_eq!(store.read("one").unwrap(), whole);
    }
    // A record that could never be begun is all rest.
    let (_folder, store) = with(&[]);
    store.keep_rest("two", rest).unwrap();
    assert_eq!(store.list().unwrap(), ["two"]);
    assert_eq!(store.read("two").unwrap(), rest);
    assert!(matches!(
        store.keep_rest("two", rest),
        Err(StoreError::Exists { .. })
    ));
}
