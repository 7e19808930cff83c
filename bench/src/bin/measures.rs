//! How fast records are measured: `measures [N]`, 10,000 unless said otherwise.
//!
//! Invented records of 500 lines, each other in its times, made one after another and not counted: CPU time
//! of opening one (lines read, chain checked) and of all its measures, and the most memory of the process.

use std::time::Instant;

use bench::{Failure, Spread, cpu_us, record_of, single, tails};
use debrief::{Basis, Known};
use nix::sys::resource::{UsageWho, getrusage};

const LINES: usize = 500;
/// Records that a thread has in memory before it measures them: making them is not counted.
const BATCH: u64 = 100;

/// How long two threads take for half of the records each, s: the longer one's time.
fn on_two(n: usize) -> Result<f64, Failure> {
    let half = u64::try_from(n)?.div_ceil(2);
    let work = move |first: u64| -> Result<f64, String> {
        let mut spent = 0.0;
        let mut known = Known::default();
        for begin in (first..first + half).step_by(usize::try_from(BATCH).unwrap_or(1)) {
            let end = (begin + BATCH).min(first + half);
            let made = (begin..end).map(|run| record_of(run, LINES).map_err(|e| e.to_string()));
            let made: Vec<Vec<u8>> = made.collect::<Result<_, _>>()?;
            let begun = Instant::now();
            for bytes in &made {
                let opened = record::open(bytes).map_err(|e| e.to_string())?;
                known
                    .measures(&opened, Basis::Amended)
                    .map_err(|e| e.to_string())?;
            }
            spent += begun.elapsed().as_secs_f64();
        }
        Ok(spent)
    };
    let threads = [0, half].map(|first| std::thread::spawn(move || work(first)));
    let mut longest = 0.0_f64;
    for thread in threads {
        let spent = thread.join().map_err(|_| "a thread broke off")??;
        longest = longest.max(spent);
    }
    Ok(longest)
}

fn main() -> Result<(), Failure> {
    let n = match std::env::args().nth(1) {
        Some(word) => word.parse()?,
        None => 10_000_usize,
    };
    let (mut open, mut measure) = (Vec::new(), Vec::new());
    let mut compressing = 0;
    let mut known = Known::default();
    for run in 0..n {
        let bytes = record_of(u64::try_from(run)?, LINES)?;
        let begun = cpu_us()?;
        let opened = record::open(&bytes)?;
        let read = cpu_us()?;
        let found = known.measures(&opened, Basis::Amended)?;
        let done = cpu_us()?;
        compressing += found.time.map_or(0, |t| t.of.compressing_ms.0);
        open.push(read - begun);
        measure.push(done - read);
    }
    if compressing == 0 {
        return Err("no record had compressions in it".into());
    }
    let whole: f64 = open.iter().chain(&measure).sum::<f64>() / 1e6;
    tails(
        "measures, opening a record of 500 lines, CPU time",
        "us",
        &Spread::of(open),
    );
    tails(
        "measures, all of a record of 500 lines, CPU time",
        "us",
        &Spread::of(measure),
    );
    single(
        "measures, opening and measuring, CPU time together",
        "s",
        n,
        whole,
    );
    single(
        "measures, opening and measuring on two threads, wall clock",
        "s",
        n,
        on_two(n)?,
    );
    let most = getrusage(UsageWho::RUSAGE_SELF)?.max_rss();
    let most = f64::from(u32::try_from(most)?) / 1024.0;
    single("measures, most memory of the process", "MiB", n, most);
    Ok(())
}
