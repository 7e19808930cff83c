//! How fast records are measured: `measures [N]`, 10,000 unless said otherwise.
//!
//! Invented records of 500 lines, each other in its times, made one after another and not counted: CPU time
//! of opening one (lines read, chain checked) and of all its measures, and the most memory of the process.

use bench::{Failure, Spread, cpu_us, record_of, single, tails};
use debrief::{Basis, measures};
use nix::sys::resource::{UsageWho, getrusage};

const LINES: usize = 500;

fn main() -> Result<(), Failure> {
    let n = match std::env::args().nth(1) {
        Some(word) => word.parse()?,
        None => 10_000_usize,
    };
    let (mut open, mut measure) = (Vec::new(), Vec::new());
    let mut compressing = 0;
    for run in 0..n {
        let bytes = record_of(u64::try_from(run)?, LINES)?;
        let begun = cpu_us()?;
        let opened = record::open(&bytes)?;
        let read = cpu_us()?;
        let found = measures(&opened, Basis::Amended)?;
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
    let most = getrusage(UsageWho::RUSAGE_SELF)?.max_rss();
    let most = f64::from(u32::try_from(most)?) / 1024.0;
    single("measures, most memory of the process", "MiB", n, most);
    Ok(())
}
