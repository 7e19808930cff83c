use super::*;
use crate::store::tests::Folder;

/// FIPS 180-4, the example "abc".
const ABC: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

fn now() -> Wall {
    "2026-11-28T12:00:00.000-05:00".parse().unwrap()
}

/// Two runs; the second ends within a line.
fn runs(folder: &Folder) -> PathBuf {
    let runs = folder.0.join("runs");
    fs::create_dir_all(&runs).unwrap();
    fs::write(runs.join("a.rec.jsonl"), "abc").unwrap();
    fs::write(runs.join("b.rec.jsonl"), "one\ntw").unwrap();
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
    fs::write(runs.join("a.rec.jsonl"), "abc").unwrap();
    let out = folder.0.join("one.handin");
    hand_in(&runs, &out, None, now()).unwrap();
    let wanted = format!(
        "{{\"schema\":\"handin/1.1.0\",\"made\":\"2026-11-28T12:00:00.000-05:00\",\"records\":\
         [{{\"record_id\":\"a\",\"bytes\":3,\"sha256\":\"{ABC}\",\"fingerprint\":\"{ABC}\"}}]}}\nabc"
    );
    assert_eq!(fs::read_to_string(&out).unwrap(), wanted);
    let desk = folder.0.join("desk");
    let made = unpack(&out, &desk).unwrap();
    assert_eq!((made.new, made.grown, made.same), (1, 0, 0));
    assert_eq!(fs::read(desk.join("a.rec.jsonl")).unwrap(), b"abc");
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
    fs::write(runs.join("a.rec.jsonl"), "abc\nd\n").unwrap();
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
    assert_eq!(fs::read(desk.join("a.rec.jsonl")).unwrap(), b"abc\nd\n");
    // An earlier state does not take the place of a later one, and another record not of this one.
    let refused = unpack(&out(1), &desk).unwrap_err();
    assert!(
        refused.to_string().contains("nothing was unpacked"),
        "{refused}"
    );
    assert_eq!(fs::read(desk.join("a.rec.jsonl")).unwrap(), b"abc\nd\n");
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
        assert_eq!(fs::read(runs.join("a.rec.jsonl")).unwrap(), b"abc");
        assert_eq!(fs::read(runs.join("b.rec.jsonl")).unwrap(), b"one\ntw");
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
    assert_eq!(&text[usize::try_from(head.from).unwrap()..], b"abc");
    assert_eq!(head.manifest.records[0].is(b"abc"), Ok(()));
    let wrong = head.manifest.records[0].is(b"abd").unwrap_err();
    assert!(wrong.contains("SHA-256") && wrong.contains(ABC), "{wrong}");
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
    store.create("a").unwrap().write(b"abc").unwrap();
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
