//! How fast a folder of records becomes a report: `trends CARRYBEAT FOLDER [N] [LINES]`, 10,000 of 500 lines unless
//! said otherwise.
//!
//! Half of the invented records are files, half lie in hand-ins of 500; each fifth is a drill. FOLDER is new and is
//! removed at the end. Wall clock, CPU time and most memory are those of `carrybeat trends` alone.

use std::{
    fs,
    io::{BufWriter, Write as _},
    path::Path,
    process::Command,
    time::Instant,
};

use bench::{Failure, Invented, invented, setup, single};
use nix::sys::{
    resource::{UsageWho, getrusage},
    time::TimeValLike,
};
use record::{Digest, RunKind};
use serde_json::json;

/// Records of one hand-in.
const A_HAND_IN: usize = 500;
/// From 2025-01-02, seven hours apart, over 680 days.
const FIRST_MS: i64 = 1_735_790_400_000;
const APART_MS: i64 = 7 * 3_600_000;
const SPAN_MS: i64 = 680 * 86_400_000;

fn what(n: usize, lines: usize) -> Result<Invented, Failure> {
    let seed = u64::try_from(n)?;
    Ok(Invented {
        seed,
        lines,
        record_id: format!("0f9b6c1e-3c1d-4f0a-9d3e-{seed:012x}"),
        kind: if n % 5 == 4 {
            RunKind::Drill
        } else {
            RunKind::Run
        },
        began_ms: FIRST_MS + (i64::try_from(n)? * APART_MS) % SPAN_MS,
    })
}

fn hand_in(path: &Path, records: &[(String, Vec<u8>)]) -> Result<(), Failure> {
    let pieces = records.iter().map(|(id, bytes)| {
        let last = bytes.strip_suffix(b"\n").unwrap_or(bytes);
        let last = last.rsplit(|b| *b == b'\n').next().unwrap_or_default();
        json!({
            "record_id": id,
            "bytes": bytes.len(),
            "sha256": Digest::of(bytes),
            "fingerprint": Digest::of(last),
        })
    });
    let pieces: Vec<_> = pieces.collect();
    let manifest = json!({"made": "2026-11-28T12:00:00.000-05:00", "records": pieces});
    let rest = manifest.to_string();
    let mut file = BufWriter::new(fs::File::create_new(path)?);
    // A hand-in begins with its schema.
    writeln!(
        file,
        "{{\"schema\":\"handin/1.1.0\",{}",
        rest.strip_prefix('{').unwrap_or_default()
    )?;
    for (_, bytes) in records {
        file.write_all(bytes)?;
    }
    file.flush()?;
    Ok(())
}

fn make(folder: &Path, n: usize, lines: usize) -> Result<(), Failure> {
    let setup = setup()?;
    let mut waiting = Vec::new();
    let mut hand_ins = 0;
    for k in 0..n {
        let what = what(k, lines)?;
        let bytes = invented(&what, &setup)?;
        if k % 2 == 0 {
            let place = folder.join(format!("{:03}", k / 1000));
            fs::create_dir_all(&place)?;
            fs::write(place.join(format!("{}.rec.jsonl", what.record_id)), bytes)?;
            continue;
        }
        waiting.push((what.record_id, bytes));
        if waiting.len() == A_HAND_IN || k + 2 > n {
            hand_ins += 1;
            hand_in(&folder.join(format!("{hand_ins}.handin")), &waiting)?;
            waiting.clear();
        }
    }
    Ok(())
}

fn main() -> Result<(), Failure> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [carrybeat, folder, numbers @ ..] = words.as_slice() else {
        return Err("usage: trends CARRYBEAT FOLDER [N] [LINES]".into());
    };
    let number = |at: usize, absent: usize| numbers.get(at).map_or(Ok(absent), |word| word.parse());
    let (n, lines) = (number(0, 10_000)?, number(1, 500)?);
    let folder = Path::new(folder);
    fs::create_dir(folder)?;
    let (records, out) = (folder.join("records"), folder.join("out"));
    fs::create_dir(&records)?;
    make(&records, n, lines)?;
    let begun = Instant::now();
    let status = Command::new(carrybeat)
        .arg("trends")
        .arg(&records)
        .arg("--out")
        .arg(&out)
        .status()?;
    let spent = begun.elapsed().as_secs_f64();
    if !status.success() {
        return Err("carrybeat trends failed".into());
    }
    let used = getrusage(UsageWho::RUSAGE_CHILDREN)?;
    let cpu = used.user_time().num_microseconds() + used.system_time().num_microseconds();
    let cpu = f64::from(u32::try_from(cpu / 1000)?) / 1000.0;
    let most = f64::from(u32::try_from(used.max_rss())?) / 1024.0;
    let of = |what: &str| format!("trends, {n} records of {lines} lines, {what}");
    single(&of("wall clock"), "s", n, spent);
    single(&of("CPU time"), "s", n, cpu);
    let each = f64::from(u32::try_from(n)?).max(1.0);
    single(&of("CPU time of each"), "us", n, 1e6 * cpu / each);
    single(&of("most memory of the process"), "MiB", n, most);
    fs::remove_dir_all(folder)?;
    Ok(())
}
