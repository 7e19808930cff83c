//! How fast records are measured: `measures [N]`, 10,000 unless said otherwise.
//!
//! Invented records of 500 lines, each other in its times, made one after another and not counted: CPU time
//! of opening one (lines read, chain checked) and of all its measures, and the most memory of the process.

use bench::{Failure, Spread, heads, setup, single, tails};
use cycle::{
    Entry, Fact, Mark, Ms,
    fact::{Deed, Source, Way},
    mark::{By, CareMark, CheckMark, FlowMark, GivenBy, Reason},
};
use debrief::{Basis, measures};
use nix::{
    sys::{
        resource::{UsageWho, getrusage},
        time::TimeValLike,
    },
    time::{ClockId, clock_gettime},
};
use record::{Chain, Stamp, Wall};

const LINES: usize = 500;

fn main() -> Result<(), Failure> {
    let n = match std::env::args().nth(1) {
        Some(word) => word.parse()?,
        None => 10_000_usize,
    };
    let (mut open, mut measure) = (Vec::new(), Vec::new());
    let mut compressing = 0;
    for run in 0..n {
        let bytes = record_of(u64::try_from(run)?)?;
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

fn cpu_us() -> Result<f64, Failure> {
    let now = clock_gettime(ClockId::CLOCK_PROCESS_CPUTIME_ID)?;
    let us = u32::try_from(now.num_microseconds() % 4_000_000_000)?;
    Ok(f64::from(us))
}

fn stamp(run: u64) -> Result<Stamp, Failure> {
    Ok(Stamp {
        mono_ms: 3_600_000 + run,
        boot: "a-boot".to_owned(),
        proc: 0,
        wall: Wall::new(1_764_077_400_000 + i64::try_from(run)?, -300)?,
    })
}

/// Forty minutes: a heartbeat, a pause, a dose now and then, a shock in every fourth pause.
fn record_of(seed: u64) -> Result<Vec<u8>, Failure> {
    let heads = conduct::Heads {
        record_id: "0f9b6c1e-3c1d-4f0a-9d3e-5a7b8c9d0e1f".to_owned(),
        ..heads()
    };
    let (mut chain, mut out) = heads.open(&setup()?, &stamp(0)?)?;
    let mut now = 0;
    let mut add = |chain: &mut Chain, now: u64, fact: Fact| -> Result<(), Failure> {
        let src = match fact {
            Fact::Deed(_) => Source::Auto,
            Fact::Mark(_) | Fact::Amend(_) => Source::Button,
        };
        let entry = Entry {
            seq: chain.next(),
            at: Ms(now),
            taken: Ms(now),
            src,
            fact,
        };
        out.extend(record::encode(chain, &stamp(now)?, &entry)?);
        Ok(())
    };
    add(&mut chain, 0, Fact::Deed(Deed::Start { way: Way::Hand }))?;
    let start = || {
        Fact::Mark(Mark::Flow(FlowMark::ComprStart {
            by: By::Manual,
            mech_kind: None,
            basis: None,
        }))
    };
    add(&mut chain, 0, start())?;
    for n in 4..LINES {
        now += 2_000 + (seed * 7_919 + u64::try_from(n)? * 104_729) % 5_600;
        let fact = match n % 8 {
            0 => Fact::Mark(Mark::Flow(FlowMark::ComprStop {
                reason: Reason::RhythmCheck,
            })),
            1 if n % 32 == 1 => Fact::Mark(Mark::Check(CheckMark::Shock {
                timed: true,
                by: GivenBy::Us,
                through: false,
                stacked: false,
                mode: None,
                energy_j: None,
            })),
            2 => start(),
            5 if n % 64 == 5 => Fact::Mark(Mark::Care(CareMark::Drug {
                drug: "adrenaline".to_owned(),
                dose: None,
                unit: None,
                route: None,
                prior: false,
                by_other_unit: false,
            })),
            _ => Fact::Deed(Deed::Heartbeat {}),
        };
        add(&mut chain, now, fact)?;
    }
    Ok(out)
}
