//! How fast `carrybeat rehearse` is: `rehearsal CARRYBEAT FIVE_MINUTES.json FOLDER`.
//!
//! CPU time of the whole command, five times for the five-minute case and for an invented one of 35
//! minutes that is written into FOLDER; in multiples of real time. FOLDER takes what is made.

use std::{
    fs,
    path::{Path, PathBuf},
    process::{Command, Stdio},
    time::Instant,
};

use bench::{Failure, Spread, quartiles};
use nix::sys::{
    resource::{UsageWho, getrusage},
    time::TimeValLike,
};
use serde_json::{Value, json};

const REPEATS: usize = 5;

fn main() -> Result<(), Failure> {
    let words: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    let [program, short, folder] = words.as_slice() else {
        return Err("rehearsal CARRYBEAT FIVE_MINUTES.json FOLDER".into());
    };
    let long = folder.join("thirty-five-minutes.json");
    fs::write(&long, long_case().to_string())?;
    measure(program, short, folder, ("5 minutes", 300.0))?;
    measure(program, &long, folder, ("35 minutes", 2100.0))?;
    Ok(())
}

fn measure(
    program: &Path,
    script: &Path,
    folder: &Path,
    (name, seconds): (&str, f64),
) -> Result<(), Failure> {
    let (mut cpu, mut wall) = (Vec::new(), Vec::new());
    for _ in 0..REPEATS {
        let before = children_s()?;
        let begun = Instant::now();
        let status = Command::new(program)
            .arg("rehearse")
            .arg(script)
            .arg("--wav")
            .arg(folder.join("out.wav"))
            .arg("--record")
            .arg(folder.join("out.rec.jsonl"))
            .arg("--cues")
            .arg(folder.join("out.json"))
            .stdout(Stdio::null())
            .status()?;
        if !status.success() {
            return Err(format!("{} ended with {status}", program.display()).into());
        }
        wall.push(seconds / begun.elapsed().as_secs_f64());
        cpu.push(seconds / (children_s()? - before));
    }
    // 44 bytes of header, two bytes a sample.
    let found = fs::metadata(folder.join("out.wav"))?.len();
    let expected = format!("{:.0}", seconds * 96_000.0 + 44.0);
    if found.to_string() != expected {
        return Err(format!("{found} bytes of sound, expected {expected}").into());
    }
    let what = format!("rehearse, script of {name}");
    let unit = "times real time";
    quartiles(&format!("{what}, CPU time"), unit, &Spread::of(cpu));
    quartiles(&format!("{what}, wall time"), unit, &Spread::of(wall));
    Ok(())
}

/// CPU time of all processes waited for, user and system, seconds.
#[expect(
    clippy::cast_precision_loss,
    reason = "microseconds of some minutes lie far below 2 to the 53rd"
)]
fn children_s() -> Result<f64, Failure> {
    let usage = getrusage(UsageWho::RUSAGE_CHILDREN)?;
    let us = usage.user_time().num_microseconds() + usage.system_time().num_microseconds();
    Ok(us as f64 / 1e6)
}

/// An invented case of 35 minutes: hands for six, a device with checks, moves and a power swap, its
/// fault, a pulse, arrest again.
fn long_case() -> Value {
    let mut marks = Vec::new();
    let mut mark = |at: u32, ev: &str, d: Value| {
        marks.push(json!({ "at_s": at, "ev": ev, "d": d }));
    };
    let shock = || json!({ "timed": false, "by": "us" });
    mark(0, "arrest", json!({ "basis": "recognised" }));
    mark(0, "compr_start", json!({ "by": "manual" }));
    mark(40, "pads", json!({ "connected": true }));
    for at in [44, 170, 296] {
        mark(at, "compr_stop", json!({ "reason": "rhythm_check" }));
        mark(at + 7, "shock", shock());
        mark(at + 7, "compr_start", json!({ "by": "manual" }));
    }
    mark(360, "fit", json!({ "step": "open_on" }));
    mark(372, "compr_stop", json!({ "reason": "device_fit" }));
    mark(384, "compr_start", json!({ "by": "mechanical" }));
    mark(390, "cup", json!({ "act": "good", "why": "start" }));
    for n in 0..5 {
        let at = 424 + n * 220;
        mark(at, "compr_stop", json!({ "reason": "rhythm_check" }));
        mark(at + 6, "no_shock", json!({}));
        mark(at + 6, "compr_start", json!({ "by": "mechanical" }));
        if n == 0 {
            mark(540, "airway", json!({ "act": "in", "device": "sga" }));
        }
        mark(at + 120, "move", json!({ "act": "begin" }));
        mark(at + 145, "move", json!({ "act": "set_down" }));
        mark(at + 151, "cup", json!({ "act": "good", "why": "move" }));
    }
    mark(1500, "power", json!({ "act": "swap_begin" }));
    mark(1548, "power", json!({ "act": "swap_end" }));
    mark(1553, "cup", json!({ "act": "good", "why": "power" }));
    mark(1620, "compr_stop", json!({ "reason": "device_fault" }));
    mark(1628, "compr_start", json!({ "by": "manual" }));
    mark(1750, "compr_stop", json!({ "reason": "rhythm_check" }));
    mark(1757, "rosc", json!({}));
    mark(1980, "rearrest", json!({ "by": "manual" }));
    mark(2098, "end", json!({ "outcome": "handed_over" }));
    json!({
        "name": "thirty-five minutes, an invented case", "protocol": "example-adult",
        "class": "adult", "lang": "en-US", "seed": 0, "marks": marks, "end_s": 2100,
    })
}
