//! Invented records, and the time that the process has used.

use cycle::{
    Entry, Fact, Mark, Ms, Setup,
    fact::{Deed, Source, Way},
    mark::{By, CareMark, CheckMark, FlowMark, GivenBy, Reason},
};
use nix::{
    sys::time::TimeValLike,
    time::{ClockId, clock_gettime},
};
use record::{Chain, RunKind, Stamp, Wall};

use crate::{Failure, heads, setup};

/// CPU time of the process, microseconds.
///
/// # Errors
/// The system has no such clock.
pub fn cpu_us() -> Result<f64, Failure> {
    let now = clock_gettime(ClockId::CLOCK_PROCESS_CPUTIME_ID)?;
    let us = u32::try_from(now.num_microseconds() % 4_000_000_000)?;
    Ok(f64::from(us))
}

/// When invented records begin unless it is said: 2025-11-25 08:30 at five hours behind UTC.
const BEGAN_MS: i64 = 1_764_077_400_000;

/// An invented record.
#[derive(Clone, Debug)]
pub struct Invented {
    /// What its times come from.
    pub seed: u64,
    /// Its lines.
    pub lines: usize,
    /// Its id.
    pub record_id: String,
    /// Run or drill.
    pub kind: RunKind,
    /// When it began, ms since 1970.
    pub began_ms: i64,
}

fn stamp(began_ms: i64, run: u64) -> Result<Stamp, Failure> {
    Ok(Stamp {
        mono_ms: 3_600_000 + run,
        boot: "a-boot".to_owned(),
        proc: 0,
        wall: Wall::new(began_ms + i64::try_from(run)?, -300)?,
    })
}

/// An invented record of so many lines, 4.8 s apart: a heartbeat, a pause, a dose now and then, a shock in
/// every fourth pause.
///
/// # Errors
/// Those of the record's writer.
pub fn record_of(seed: u64, lines: usize) -> Result<Vec<u8>, Failure> {
    let what = Invented {
        seed,
        lines,
        record_id: "0f9b6c1e-3c1d-4f0a-9d3e-5a7b8c9d0e1f".to_owned(),
        kind: RunKind::Test,
        began_ms: BEGAN_MS,
    };
    invented(&what, &setup()?)
}

/// The same of any id, kind and day.
///
/// # Errors
/// Those of the record's writer.
pub fn invented(what: &Invented, setup: &Setup) -> Result<Vec<u8>, Failure> {
    let (seed, lines) = (what.seed, what.lines);
    let stamp = |run: u64| stamp(what.began_ms, run);
    let heads = conduct::Heads {
        record_id: what.record_id.clone(),
        kind: what.kind,
        ..heads()
    };
    let (mut chain, mut out) = heads.open(setup, &stamp(0)?)?;
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
    for n in 4..lines {
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
