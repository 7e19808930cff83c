//! Figures of the real-time proofs, kept in `docs/measurements.jsonl` when a full run is asked for.

use std::{fs, io::Write as _, process::Command};

use serde_json::{Value, json};

use crate::rig::{Told, root};

/// Whether the long form was asked for.
pub(crate) fn full() -> bool {
    std::env::var_os("CARRYBEAT_FULL").is_some()
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

/// Appends the last line of what a judge said, with date, machine and taps, if a full run was asked for.
pub(crate) fn note(proof: &str, said: &str, taps: usize) -> Told<()> {
    if !full() {
        return Ok(());
    }
    let last = said.trim().lines().last().unwrap_or("{}");
    let figures: Value = serde_json::from_str(last).map_err(|e| format!("{last}: {e}"))?;
    let date = Command::new("date")
        .args(["-u", "+%F"])
        .output()
        .map_err(|e| e.to_string())?;
    let line = json!({
        "date": String::from_utf8_lossy(&date.stdout).trim(),
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
