use super::*;
use crate::store::tests::Folder;

/// FIPS 180-4, the example "abc".
const ABC: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
const TOMBSTONE: &str = "{\"fingerprint\":\"ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad\",\"lines\":2,\"deleted\":\"2026-11-28\"}\n";

fn today() -> Wall {
    "2026-11-28T23:59:00.000-05:00".parse().unwrap()
}

/// Two runs whose ids begin alike, each with a sidecar and exports.
fn runs(folder: &Folder) -> PathBuf {
    let runs = folder.0.join("runs");
    let exports = folder.0.join("exports");
    fs::create_dir_all(&runs).unwrap();
    for id in ["a", "ab"] {
        let write = |path: PathBuf, text: &str| fs::write(path, text).unwrap();
        write(runs.join(format!("{id}.rec.jsonl")), "first\nabc\n");
        write(runs.join(format!("{id}.case.json")), "a link");
        fs::create_dir_all(exports.join(id)).unwrap();
        write(exports.join(id).join("pauses.csv"), "1");
        write(exports.join(format!("{id}.pdf")), "2");
    }
    runs
}

fn files(folder: &Folder) -> Vec<String> {
    fn walk(path: &Path, to: &mut Vec<String>, root: &Path) {
        for entry in fs::read_dir(path).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, to, root);
            } else {
                to.push(path.strip_prefix(root).unwrap().display().to_string());
            }
        }
    }
    let mut out = Vec::new();
    walk(&folder.0, &mut out, &folder.0);
    out.sort_unstable();
    out
}

const OF_AB: [&str; 4] = [
    "exports/ab.pdf",
    "exports/ab/pauses.csv",
    "runs/ab.case.json",
    "runs/ab.rec.jsonl",
];

#[test]
fn a_deleted_run_leaves_its_tombstone_and_no_other_run_is_touched() {
    let folder = Folder::new();
    let runs = runs(&folder);
    let keeping = Keeping::at(&runs);
    keeping.delete("a", None, today()).unwrap();
    let mut wanted = OF_AB.map(str::to_owned).to_vec();
    wanted.push("runs/tombstones.jsonl".to_owned());
    assert_eq!(files(&folder), wanted);
    let kept = fs::read_to_string(runs.join(TOMBSTONES)).unwrap();
    assert_eq!(kept, TOMBSTONE);
    let found = keeping.tombstones().unwrap();
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].fingerprint.to_string(), ABC);
    // What is not there is not deleted, and no name leads out of the folder.
    for name in ["a", "../a", ""] {
        assert!(keeping.delete(name, None, today()).is_err(), "{name}");
    }
}

#[test]
fn whatever_step_a_deletion_breaks_off_at_it_is_whole_or_gone_on_with() {
    let mut broke_off = 0;
    for at in 0.. {
        let folder = Folder::new();
        let runs = runs(&folder);
        let keeping = Keeping::at(&runs);
        let mut n = 0;
        let mut step = |_: &str| {
            n += 1;
            if n == at + 1 {
                Err(io::Error::from_raw_os_error(5))
            } else {
                Ok(())
            }
        };
        let done = keeping.delete_by_steps("a", None, today(), &mut step);
        let record = runs.join("a.rec.jsonl");
        let kept = fs::read(&record).is_ok_and(|bytes| bytes == b"first\nabc\n");
        let sidecars = runs.join("a.case.json").exists() && folder.0.join("exports/a.pdf").exists();
        let tombstone = keeping.tombstones().unwrap().len();
        // Nothing goes before its tombstone is kept.
        assert!(tombstone == 1 || (kept && sidecars), "step {at}");
        assert_eq!(done.is_err(), n == at + 1);
        let named = at > 0 && done.is_err();
        assert_eq!(keeping.finish().unwrap(), usize::from(named), "step {at}");
        if at == 0 {
            assert_eq!((keeping.tombstones().unwrap().len(), kept), (0, true));
        } else {
            let mut wanted = OF_AB.map(str::to_owned).to_vec();
            wanted.push("runs/tombstones.jsonl".to_owned());
            assert_eq!(files(&folder), wanted, "step {at}");
            let kept = fs::read_to_string(runs.join(TOMBSTONES)).unwrap();
            assert_eq!(kept, TOMBSTONE, "step {at}");
        }
        if done.is_ok() {
            break;
        }
        broke_off += 1;
    }
    // Name, tombstone, two exports, record, sidecar, sync, name again.
    assert_eq!(broke_off, 8);
}

#[test]
fn a_line_torn_by_a_power_cut_deletes_nothing_and_hides_nothing() {
    let folder = Folder::new();
    let runs = runs(&folder);
    let keeping = Keeping::at(&runs);
    for end in 0..TOMBSTONE.len() - 1 {
        fs::write(runs.join("a.delete"), &TOMBSTONE[..end]).unwrap();
        assert_eq!(keeping.finish().unwrap(), 1);
        assert!(!runs.join("a.delete").exists() && runs.join("a.rec.jsonl").exists());
    }
    fs::write(runs.join(TOMBSTONES), &TOMBSTONE[..30]).unwrap();
    fs::write(runs.join("a.delete"), TOMBSTONE).unwrap();
    assert_eq!(keeping.finish().unwrap(), 1);
    let kept = fs::read_to_string(runs.join(TOMBSTONES)).unwrap();
    assert_eq!(kept, format!("{}\n{TOMBSTONE}", &TOMBSTONE[..30]));
    assert_eq!(keeping.tombstones().unwrap().len(), 1);
    assert!(!runs.join("a.rec.jsonl").exists());
}

#[test]
fn a_run_on_hold_and_the_live_one_stay() {
    let folder = Folder::new();
    let runs = runs(&folder);
    let keeping = Keeping::at(&runs);
    keeping.hold("a", true).unwrap();
    assert!(keeping.is_held("a").unwrap() && !keeping.is_held("ab").unwrap());
    let held = keeping.delete("a", None, today()).unwrap_err();
    assert!(held.to_string().contains("release it first"), "{held}");
    let live = keeping.delete("ab", Some("ab"), today()).unwrap_err();
    assert!(live.to_string().contains("end the run first"), "{live}");
    let mut all = keeping
        .delete_all(&|| Some("ab".to_owned()), today())
        .unwrap();
    all.kept.sort_unstable();
    assert_eq!(
        (all.deleted, all.kept),
        (0, vec!["a".to_owned(), "ab".to_owned()])
    );
    assert_eq!(keeping.tombstones().unwrap(), []);
    keeping.hold("a", false).unwrap();
    let all = keeping.delete_all(&|| None, today()).unwrap();
    // What lies there is none of a record's lines: it goes, and is not counted as runs.
    assert_eq!((all.deleted, all.unread), (0, 2));
    assert_eq!(all.kept, [""; 0]);
    assert_eq!(files(&folder), ["runs/tombstones.jsonl"]);
    assert!(keeping.hold("a", true).is_err());
}

#[test]
fn a_run_is_due_after_the_services_days_and_never_by_itself() {
    let folder = Folder::new();
    let runs = runs(&folder);
    // Its seal was written at 08:31:07.001 on 2026-11-25, at five hours behind UTC.
    let bytes = include_bytes!("../../../record/golden/record-1.3.0.rec.jsonl");
    fs::write(runs.join("golden.rec.jsonl"), bytes).unwrap();
    let keeping = Keeping::at(&runs);
    let at = |text: &str| text.parse::<Wall>().unwrap();
    let due = |now: &str| keeping.due(30, at(now)).unwrap();
    assert_eq!(due("2026-12-25T08:31:07.001-05:00"), [""; 0]);
    assert_eq!(due("2026-12-25T08:31:07.002-05:00"), ["golden"]);
    keeping.hold("golden", true).unwrap();
    assert_eq!(due("2027-12-25T08:31:07.002-05:00"), [""; 0]);
    assert!(runs.join("golden.rec.jsonl").exists());
}

#[test]
fn a_hold_calls_off_a_deletion_that_did_nothing_yet() {
    let folder = Folder::new();
    let runs = runs(&folder);
    let keeping = Keeping::at(&runs);
    let stop_at = |step: &'static str| {
        move |now: &str| {
            if now == step {
                Err(io::Error::from_raw_os_error(28))
            } else {
                Ok(())
            }
        }
    };
    let mut full = stop_at("keep the tombstone");
    keeping
        .delete_by_steps("a", None, today(), &mut full)
        .unwrap_err();
    assert!(runs.join("a.delete").exists());
    keeping.hold("a", true).unwrap();
    assert_eq!(keeping.finish().unwrap(), 0);
    assert!(runs.join("a.rec.jsonl").exists() && keeping.is_held("a").unwrap());
    // Its tombstone is kept: it cannot be called off, and nobody is told that it is on hold.
    let mut full = stop_at("remove a file of the run");
    keeping
        .delete_by_steps("ab", None, today(), &mut full)
        .unwrap_err();
    let refused = keeping.hold("ab", true).unwrap_err();
    assert!(refused.to_string().contains("being deleted"), "{refused}");
    assert!(!keeping.is_held("ab").unwrap());
    assert_eq!(keeping.finish().unwrap(), 1);
    assert!(!runs.join("ab.rec.jsonl").exists());
}

#[test]
fn a_deletion_takes_the_copies_along_and_nothing_beside_them() {
    let folder = Folder::new();
    let runs = runs(&folder);
    let keeping = Keeping::at(&runs);
    let out = folder.0.join("out");
    let tables = out.join("tables");
    fs::create_dir_all(&tables).unwrap();
    let (page, table) = (out.join("page.pdf"), tables.join("runs.csv"));
    let all = [
        page.clone(),
        table.clone(),
        tables.clone(),
        out.join("gone.pdf"),
    ];
    keeping.will_copy("a", &all).unwrap();
    for path in [&page, &table] {
        fs::write(path, "1").unwrap();
    }
    fs::write(out.join("mine.pdf"), "2").unwrap();
    keeping.delete("a", None, today()).unwrap();
    assert!(!page.exists() && !tables.exists() && out.join("mine.pdf").exists());
    assert!(!folder.0.join("exports/a.copies.jsonl").exists());
    // A folder into which somebody has put something stays, with that.
    fs::create_dir_all(&tables).unwrap();
    keeping
        .will_copy("ab", &[table.clone(), tables.clone()])
        .unwrap();
    fs::write(&table, "1").unwrap();
    fs::write(tables.join("mine.csv"), "2").unwrap();
    keeping.delete("ab", None, today()).unwrap();
    assert!(!table.exists() && tables.join("mine.csv").exists());
    assert!(keeping.will_copy("../a", &[page]).is_err());
}
