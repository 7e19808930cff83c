use super::*;
use crate::store::tests::Folder;

/// A whole record; one that was cut after any of its lines is one as well.
const WHOLE: &str = include_str!("../../../record/golden/record-1.7.0.rec.jsonl");
/// Of its first line without the line feed, by `sha256sum`.
const FIRST: &str = "5486125fbd1b8c7da331b701bc216b7fb68f50c1b3aae5be0fe8804ac1d8476a";
/// The bytes of that line, by `wc`.
const FIRST_BYTES: usize = 888;

/// The first lines of the record.
fn lines_of_it(count: usize) -> String {
    WHOLE.split_inclusive('\n').take(count).collect()
}

/// One line that its line feed is missing of.
fn one() -> String {
    lines_of_it(1).trim_end().to_owned()
}

/// Ends within a line.
fn torn() -> String {
    lines_of_it(3) + "tw"
}

/// The first one when a review has added to it.
fn grown() -> String {
    lines_of_it(2)
}

fn now() -> Wall {
    "2026-11-28T12:00:00.000-05:00".parse().unwrap()
}

/// Two runs; the second ends within a line.
fn runs(folder: &Folder) -> PathBuf {
    let runs = folder.0.join("runs");
    fs::create_dir_all(&runs).unwrap();
    fs::write(runs.join("a.rec.jsonl"), one()).unwrap();
    fs::write(runs.join("b.rec.jsonl"), torn()).unwrap();
    runs
}

fn named(ids: &[String]) -> Vec<&str> {
    let mut ids: Vec<&str> = ids.iter().map(String::as_str).collect();
    ids.sort_unstable();
    ids
}

#[test]
fn a_hand_in_is_a_manifest_and_the_records_byte_for_byte() {
    let folder = Folder::new();
    let runs = folder.0.join("runs");
    fs::create_dir_all(&runs).unwrap();
    fs::write(runs.join("a.rec.jsonl"), one()).unwrap();
    let out = folder.0.join("one.handin");
    hand_in(&runs, &out, None, now()).unwrap();
    let wanted = format!(
        "{{\"schema\":\"handin/1.1.0\",\"made\":\"2026-11-28T12:00:00.000-05:00\",\"records\":\
         [{{\"record_id\":\"a\",\"bytes\":{FIRST_BYTES},\"sha256\":\"{FIRST}\",\"fingerprint\":\"{FIRST}\"}}]}}\n{}",
        one()
    );
    assert_eq!(fs::read_to_string(&out).unwrap(), wanted);
    let desk = folder.0.join("desk");
    let made = unpack(&out, &desk).unwrap();
    assert_eq!((made.new, made.grown, made.same), (1, 0, 0));
    assert_eq!(fs::read_to_string(desk.join("a.rec.jsonl")).unwrap(), one());
}

#[test]
fn what_was_handed_in_is_not_again_until_it_changes() {
    let folder = Folder::new();
    let runs = runs(&folder);
    let out = |n: u8| folder.0.join(format!("{n}.handin"));
    assert_eq!(named(&waiting(&runs, None).unwrap().runs), ["a", "b"]);
    let first = hand_in(&runs, &out(1), Some("b"), now()).unwrap();
    assert_eq!(first.records.len(), 1);
    assert_eq!(waiting(&runs, None).unwrap().runs, ["b"]);
    hand_in(&runs, &out(2), None, now()).unwrap();
    assert_eq!(
        hand_in(&runs, &out(3), None, now()),
        Err(HandInError::Nothing)
    );
    assert!(!out(3).exists());
    // A review has added to it.
    fs::write(runs.join("a.rec.jsonl"), grown()).unwrap();
    assert_eq!(waiting(&runs, None).unwrap().runs, ["a"]);
    // A file that is there is left alone.
    fs::write(out(3), "mine").unwrap();
    assert!(hand_in(&runs, &out(3), None, now()).is_err());
    assert_eq!(fs::read(out(3)).unwrap(), b"mine");
    hand_in(&runs, &out(4), None, now()).unwrap();
    // The desk has both states, in order.
    let desk = folder.0.join("desk");
    let of = |n: u8| {
        let made = unpack(&out(n), &desk).unwrap();
        (made.new, made.grown, made.same)
    };
    assert_eq!(
        [of(1), of(2), of(4), of(2)],
        [(1, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)]
    );
    assert_eq!(
        fs::read_to_string(desk.join("a.rec.jsonl")).unwrap(),
        grown()
    );
    // An earlier state does not take the place of a later one, and another record not of this one.
    let refused = unpack(&out(1), &desk).unwrap_err();
    assert!(
        refused.to_string().contains("nothing was unpacked"),
        "{refused}"
    );
    assert_eq!(
        fs::read_to_string(desk.join("a.rec.jsonl")).unwrap(),
        grown()
    );
}

#[test]
fn a_file_that_cannot_be_read_keeps_no_other_run_back() {
    let folder = Folder::new();
    let runs = runs(&folder);
    // Longer than any record is: it takes no room on the disk.
    let long = fs::File::create(runs.join("c.rec.jsonl")).unwrap();
    long.set_len(300 << 20).unwrap();
    let found = waiting(&runs, None).unwrap();
    assert_eq!(named(&found.runs), ["a", "b"]);
    assert_eq!(found.unread.len(), 1);
    assert!(found.unread[0].to_string().contains("c.rec.jsonl"));
    assert!(is_waiting(&runs, "a").unwrap());
    let out = folder.0.join("one.handin");
    let made = hand_in(&runs, &out, None, now()).unwrap();
    assert_eq!(made.records.len(), 2);
    assert!(!is_waiting(&runs, "a").unwrap());
    // Only that file is left: it is named, for it was not handed in.
    let left = hand_in(&runs, &folder.0.join("two.handin"), None, now()).unwrap_err();
    assert!(left.to_string().contains("c.rec.jsonl"), "{left}");
    let keeping = crate::keeping::Keeping::at(&runs);
    let done = keeping.delete_all(&|| None, now()).unwrap();
    assert_eq!((done.deleted, done.failed.len()), (2, 1));
    assert!(runs.join("c.rec.jsonl").exists());
}

/// What a file holds tells whether it is a run: one without a record's first line is named with its reason, is not
/// marked as handed in and stays.
#[test]
fn what_holds_no_run_is_named_and_left_out_like_a_file_that_the_disk_does_not_give() {
    let folder = Folder::new();
    let runs = runs(&folder);
    let noise: Vec<u8> = (0..=255).rev().cycle().take(5000).collect();
    fs::write(runs.join("c.rec.jsonl"), &noise).unwrap();
    fs::write(runs.join("d.rec.jsonl"), "hello").unwrap();
    fs::write(runs.join("e.rec.jsonl"), "").unwrap();
    let broken = lines_of_it(4).replacen("\"mono_ms\"", "\"m0no_ms\"", 1);
    fs::write(runs.join("f.rec.jsonl"), broken).unwrap();
    let newer = WHOLE.replacen("record/1.7.0", "record/9.0.0", 1);
    fs::write(runs.join("g.rec.jsonl"), newer).unwrap();
    // Damaged further on: what can be read of it goes to the desk as it is.
    let damaged = WHOLE.replacen("\"seq\":4", "\"s3q\":4", 1);
    assert_ne!(damaged, WHOLE);
    fs::write(runs.join("h.rec.jsonl"), &damaged).unwrap();
    let found = waiting(&runs, None).unwrap();
    assert_eq!(named(&found.runs), ["a", "b", "h"]);
    let mut why: Vec<String> = found.unread.iter().map(ToString::to_string).collect();
    why.sort_unstable();
    let expected = [
        "c.rec.jsonl: this is not a record",
        "d.rec.jsonl: this is not a record",
        "e.rec.jsonl: the file is empty",
        "f.rec.jsonl: the record's first line is damaged",
        "g.rec.jsonl: the record is record/9.0.0",
    ];
    assert_eq!(why.len(), expected.len(), "{why:?}");
    for (why, part) in why.iter().zip(expected) {
        assert!(why.starts_with(part), "{part:?}: {why:?}");
    }
    let out = folder.0.join("one.handin");
    let made = hand_in(&runs, &out, None, now()).unwrap();
    assert_eq!(made.records.len(), 3);
    assert_eq!(named(&made.unread), ["c", "d", "e", "f", "g"]);
    assert_eq!(handed(&runs).unwrap().len(), 3);
    let (_, records) = read(&out).unwrap();
    assert!(records.contains(&damaged.into_bytes()));
    // They are told of again, all of them, and are where they were.
    assert_eq!(waiting(&runs, None).unwrap().unread.len(), 5);
    let none = hand_in(&runs, &folder.0.join("two.handin"), None, now()).unwrap_err();
    for part in expected {
        assert!(none.to_string().contains(part), "{part:?}: {none}");
    }
    assert_eq!(fs::read(runs.join("c.rec.jsonl")).unwrap(), noise);
    // Who deletes all is told of both.
    let keeping = crate::keeping::Keeping::at(&runs);
    let done = keeping.delete_all(&|| None, now()).unwrap();
    assert_eq!((done.deleted, done.unread), (3, 5));
}

#[test]
fn whatever_step_it_breaks_off_at_nothing_is_lost_and_nothing_is_marked() {
    let mut broke_off = 0;
    for at in 1.. {
        let folder = Folder::new();
        let runs = runs(&folder);
        let out = folder.0.join("one.handin");
        let mut n = 0;
        let mut step = |_: &str| {
            n += 1;
            if n == at {
                Err(io::Error::from_raw_os_error(28))
            } else {
                Ok(())
            }
        };
        let done = hand_in_by_steps(&runs, &out, None, now(), &mut step);
        assert_eq!(fs::read_to_string(runs.join("a.rec.jsonl")).unwrap(), one());
        assert_eq!(
            fs::read_to_string(runs.join("b.rec.jsonl")).unwrap(),
            torn()
        );
        if done.is_ok() {
            assert_eq!(waiting(&runs, None).unwrap().runs, [""; 0]);
            break;
        }
        broke_off += 1;
        assert_eq!(
            named(&waiting(&runs, None).unwrap().runs),
            ["a", "b"],
            "step {at}"
        );
        // A file of that name is a whole one.
        if out.exists() {
            assert_eq!(read(&out).unwrap().1.len(), 2);
            fs::remove_file(&out).unwrap();
        }
        let again = hand_in(&runs, &out, None, now()).unwrap();
        assert_eq!(again.records.len(), 2, "step {at}");
    }
    // Write, two records, sync, read, name, mark.
    assert_eq!(broke_off, 7);
}

#[test]
fn a_hand_in_that_is_not_whole_is_refused_with_its_place() {
    let folder = Folder::new();
    let runs = runs(&folder);
    let out = folder.0.join("one.handin");
    hand_in(&runs, &out, None, now()).unwrap();
    let whole = fs::read(&out).unwrap();
    let desk = folder.0.join("desk");
    let refused = |bytes: &[u8]| {
        fs::write(&out, bytes).unwrap();
        let error = unpack(&out, &desk).unwrap_err().to_string();
        assert!(!desk.join("a.rec.jsonl").exists() && !desk.join("b.rec.jsonl").exists());
        error
    };
    for end in 0..whole.len() {
        let error = refused(&whole[..end]);
        assert!(error.contains("one.handin"), "{end}: {error}");
    }
    for n in whole.len() - 9..whole.len() {
        let mut changed = whole.clone();
        changed[n] ^= 1;
        assert!(refused(&changed).contains("SHA-256"), "{n}");
    }
    let mut longer = whole.clone();
    longer.push(b'x');
    assert!(refused(&longer).contains("1 bytes after the last record"));
    // No id leads out of the folder.
    let text = String::from_utf8(whole).unwrap();
    let out_of = text.replace("\"record_id\":\"a\"", "\"record_id\":\"../a\"");
    assert_ne!(out_of, text);
    assert!(refused(out_of.as_bytes()).contains("record id \"../a\""));
    let twice = text.replace("\"record_id\":\"a\"", "\"record_id\":\"b\"");
    assert!(refused(twice.as_bytes()).contains("twice"));
    let other = text.replace("handin/1.1.0", "handin/2.0.0");
    assert!(refused(other.as_bytes()).contains("handin/1.x"));
}

/// What is missing between two hand-ins of one folder shows: each names the one before by its first line.
#[test]
fn a_hand_in_names_the_one_before_and_what_could_not_be_read() {
    let folder = Folder::new();
    let runs = runs(&folder);
    let out = |n: u8| folder.0.join(format!("{n}.handin"));
    assert_eq!(
        hand_in(&runs, &out(1), Some("b"), now()).unwrap().before,
        None
    );
    let text = fs::read(out(1)).unwrap();
    let end = text.iter().position(|b| *b == b'\n').unwrap();
    let line = Digest::of(&text[..end]);
    fs::File::create(runs.join("c.rec.jsonl"))
        .unwrap()
        .set_len(300 << 20)
        .unwrap();
    let second = hand_in(&runs, &out(2), None, now()).unwrap();
    assert_eq!(second.before, Some(line));
    assert_eq!(second.unread, ["c"]);
    // It is read without the records, which are each where the lengths before it say.
    let head = head(&out(1)).unwrap();
    assert_eq!((head.line, head.manifest.records.len()), (line, 1));
    assert_eq!(
        &text[usize::try_from(head.from).unwrap()..],
        one().as_bytes()
    );
    assert_eq!(head.manifest.records[0].is(one().as_bytes()), Ok(()));
    let wrong = head.manifest.records[0].is(b"abd").unwrap_err();
    assert!(
        wrong.contains("SHA-256") && wrong.contains(FIRST),
        "{wrong}"
    );
    assert!(super::head(&runs.join("b.rec.jsonl")).is_err());
}

/// Whatever the umask: only this user reads what the app keeps.
#[cfg(unix)]
#[test]
fn what_is_kept_is_closed_to_others() {
    use crate::{RunLock, keeping::Keeping, settings::Settings};
    use std::os::unix::fs::PermissionsExt as _;
    let folder = Folder::new();
    let runs = folder.0.join("data/runs");
    fs::create_dir_all(&runs).unwrap();
    fs::set_permissions(&runs, fs::Permissions::from_mode(0o755)).unwrap();
    let mut store = FileStore::open(&runs).unwrap();
    let first = lines_of_it(1);
    let mut file = store.create("a").unwrap();
    file.write(first.as_bytes()).unwrap();
    store.keep_rest("a", b"d").unwrap();
    let lock = RunLock::take(&runs).unwrap();
    Settings::default()
        .save(&runs.join("settings.json"))
        .unwrap();
    let keeping = Keeping::at(&runs);
    keeping.hold("a", true).unwrap();
    keeping.hold("a", false).unwrap();
    keeping.hold("a", true).unwrap();
    hand_in(&runs, &runs.join("one.handin"), None, now()).unwrap();
    store.create("b").unwrap();
    keeping.delete("b", None, now()).unwrap();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(&runs), 0o700);
    let mut names = Vec::new();
    for entry in fs::read_dir(&runs).unwrap() {
        let path = entry.unwrap().path();
        assert_eq!(mode(&path), 0o600, "{}", path.display());
        names.push(path.file_name().unwrap().to_str().unwrap().to_owned());
    }
    names.sort_unstable();
    assert_eq!(
        names,
        [
            "a.hold",
            "a.rec.jsonl",
            "a.rest.jsonl",
            "handed-in.jsonl",
            "lock",
            "one.handin",
            "settings.json",
            "tombstones.jsonl"
        ]
    );
    drop(lock);
}
