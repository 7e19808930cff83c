//! Figures of the real-time proofs, kept in `docs/measurements.jsonl` when a full run is asked for.

use std::{fs, io::Write as _, process::Command};

use serde_json::{Value, json};

use crate::rig::{Told, root};

/// What a proof is a proof of: the app, its sounds, and the checks themselves. A commit that changes none
/// of them, as one that keeps a figure, leaves the proof whole.
const SOURCES: [&str; 5] = ["Cargo.lock", "src-tauri", "ui", "sounds", "tests"];

/// Whether the long form was asked for.
pub(crate) fn full() -> bool {
    std::env::var_os("CARRYBEAT_FULL").is_some()
}

/// Whether a proof is to be run although a whole result is there.
pub(crate) fn again() -> bool {
    std::env::var_os("CARRYBEAT_AGAIN").is_some()
}

/// What the machine is, for whoever compares figures.
fn machine() -> Value {
    let cpu = fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let model = cpu
        .lines()
        .find_map(|line| line.strip_prefix("model name"))
        .map_or("unknown", |rest| rest.trim_start_matches([' ', '\t', ':']));
    let load = fs::read_to_string("/proc/loadavg").unwrap_or_default();
    let cores = std::thread::available_parallelism().map_or(0, std::num::NonZero::get);
    json!({"cpu": model, "cores": cores, "load": load.split(' ').next()})
}

/// What git says; nothing where there is no repository.
fn git(args: &[&str]) -> Option<String> {
    let said = Command::new("git")
        .arg("-C")
        .arg(root())
        .args(args)
        .output()
        .ok()?;
    said.status
        .success()
        .then(|| String::from_utf8_lossy(&said.stdout).trim().to_owned())
}

/// The sources as they are committed, in one word; `None` where they cannot be told by a commit.
pub(crate) fn sources() -> Option<String> {
    let changed = git(&[&["status", "--porcelain", "--"], SOURCES.as_slice()].concat())?;
    if !changed.is_empty() {
        return None;
    }
    let trees = SOURCES.map(|path| format!("HEAD:{path}"));
    let args: Vec<&str> = ["rev-parse"]
        .into_iter()
        .chain(trees.iter().map(String::as_str))
        .collect();
    let told = git(&args)?;
    let short: Vec<&str> = told.lines().filter_map(|tree| tree.get(..8)).collect();
    (short.len() == SOURCES.len()).then(|| short.join("-"))
}

/// The commit in short, with a `+` where the sources differ from it.
fn commit() -> String {
    let head = git(&["rev-parse", "--short", "HEAD"]).unwrap_or_else(|| "unknown".to_owned());
    if sources().is_some() {
        head
    } else {
        format!("{head}+")
    }
}

/// Whether a whole result of this proof is kept for these sources.
pub(crate) fn is_kept(proof: &str, sources: &str) -> bool {
    fs::read_to_string(root().join("docs/measurements.jsonl"))
        .is_ok_and(|all| holds(&all, proof, sources))
}

fn holds(measurements: &str, proof: &str, sources: &str) -> bool {
    measurements
        .lines()
        .filter_map(|line| serde_json::from_str::<Value>(line).ok())
        .any(|line| {
            line["proof"] == proof && line["sources"] == sources && line["figures"]["faults"] == 0
        })
}

/// Appends the last line of what a judge said, with date, machine and taps, if a full run was asked for.
pub(crate) fn note(proof: &str, said: &str, taps: usize) -> Told<()> {
    if full() {
        append(proof, &figures_of(said)?, taps)
    } else {
        Ok(())
    }
}

/// The figures of a judge: the last line of what it said.
pub(crate) fn figures_of(said: &str) -> Told<Value> {
    let last = said.trim().lines().last().unwrap_or("{}");
    serde_json::from_str(last).map_err(|e| format!("{last}: {e}"))
}

/// Appends figures, with date, commit, machine and taps.
pub(crate) fn append(proof: &str, figures: &Value, taps: usize) -> Told<()> {
    let date = Command::new("date")
        .args(["-u", "+%F"])
        .output()
        .map_err(|e| e.to_string())?;
    let line = json!({
        "date": String::from_utf8_lossy(&date.stdout).trim(),
        "commit": commit(), "sources": sources(),
        "proof": proof, "machine": machine(), "taps": taps, "figures": figures,
    });
    let path = root().join("docs/measurements.jsonl");
    let mut file = fs::OpenOptions::new()
        .create(true)
        .append(true)
        .open(&path)
        .map_err(|e| format!("{}: {e}", path.display()))?;
    writeln!(file, "{line}").map_err(|e| e.to_string())
}

#[test]
fn a_whole_result_is_one_of_the_same_sources_without_a_fault() {
    let line = |proof, sources, faults| {
        json!({"proof": proof, "sources": sources, "figures": {"faults": faults}}).to_string()
    };
    assert!(holds(&line("case", "a-b", 0), "case", "a-b"));
    assert!(!holds(&line("case", "a-b", 0), "case", "a-c"));
    assert!(!holds(&line("other", "a-b", 0), "case", "a-b"));
    assert!(!holds(&line("case", "a-b", 1), "case", "a-b"));
    assert!(!holds("{\"proof\":\"case\"}\nno JSON", "case", "a-b"));
    assert!(holds(
        &format!("no JSON\n{}\n", line("case", "a-b", 0)),
        "case",
        "a-b"
    ));
}
