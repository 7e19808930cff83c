//! All measures of one record, each with its window and the version of its definition.

use std::fmt;

use cycle::{Ms, Seq, Setup};
use record::{Opened, ProtocolLine, RunKind, Stamp};
use serde::Serialize;

use crate::{
    AfterFive, Clocks, Cup, DevicePauses, Drugs, First, Fittings, Fraction, Minutes, NoFlow,
    Pauses, Power, Shocks, Time, Trust, Ventilation, Window, WindowName, Windows, breaths, checks,
    clocks, cup, device, drugs, firsts, flow, pauses, power,
    run::{Run, setup, standing},
    shocks,
};

/// The version of the measures' definitions, as a record's header names it.
pub const VERSION: &str = "metrics/1.0.0";

/// Which of the marks count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// Every mark at its first time, with no amendment.
    Recorded,
    /// With every amendment.
    Amended,
}

/// Which marks the measures were taken of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "as", rename_all = "snake_case")]
pub enum Taken {
    /// As recorded.
    Recorded,
    /// As amended.
    Amended {
        /// The last seal's revision; 0: there is no seal yet.
        revision: u32,
        /// Amendments that were written after it.
        unsealed: usize,
    },
}

/// Why a record cannot be measured.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Where.
    pub place: String,
    /// What was found.
    pub what: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.what)
    }
}

impl std::error::Error for Fault {}

/// A measure with what it is of.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Of<T> {
    /// Its window.
    pub window: WindowName,
    /// The version of its definition.
    pub version: &'static str,
    /// The measure.
    #[serde(flatten)]
    pub of: T,
}

impl<T> Of<T> {
    const fn recognition(of: T) -> Self {
        Self {
            window: WindowName::Recognition,
            version: VERSION,
            of,
        }
    }
}

/// The protocol that the record holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ProtocolUsed {
    /// Its id.
    pub id: String,
    /// Its version.
    pub version: String,
    /// The beat's rate, a minute: what was set, not what was done.
    pub set_rate_per_min: u16,
}

/// The measures of a run. What needs a window is `None` where there is none.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Measures {
    /// The version of the definitions.
    pub version: &'static str,
    /// Which marks they were taken of.
    pub basis: Taken,
    /// The record.
    pub record_id: String,
    /// Run, drill, rehearsal or test.
    pub kind: RunKind,
    /// Nothing in its file was changed.
    pub is_sound: bool,
    /// `None`: the record's protocol is missing or cannot be read, and no window was taken from one.
    pub protocol: Option<ProtocolUsed>,
    /// The windows.
    pub windows: Windows,
    /// The trust line.
    pub trust: Option<Of<Trust>>,
    /// Time in each state.
    pub time: Option<Of<Time>>,
    /// Compression fraction from recognition.
    pub fraction: Option<Of<Fraction>>,
    /// Compression fraction from the first compression.
    pub fraction_from_compression: Option<Of<Fraction>>,
    /// Time off the chest.
    pub no_flow: Option<Of<NoFlow>>,
    /// Minute by minute.
    pub minutes: Option<Of<Minutes>>,
    /// All but the first five minutes.
    pub after_five_minutes: Option<Of<AfterFive>>,
    /// The pauses.
    pub pauses: Of<Pauses>,
    /// Pauses around shocks.
    pub shocks: Of<Shocks>,
    /// Fittings of the device.
    pub fittings: Of<Fittings>,
    /// Pauses for the device.
    pub device_pauses: Of<DevicePauses>,
    /// Times to the first of each.
    pub first: Option<Of<First>>,
    /// Doses and the time between them.
    pub drugs: Of<Drugs>,
    /// Cup checks.
    pub cup: Of<Cup>,
    /// Changes of packs.
    pub power: Of<Power>,
    /// Breaths, where they were marked.
    pub ventilation: Option<Of<Ventilation>>,
    /// Other clocks against the phone's.
    pub clocks: Of<Clocks>,
}

/// Opens a record for measuring.
pub(crate) fn with_run<T>(
    opened: &Opened,
    basis: Basis,
    take: impl FnOnce(&Run<'_>) -> T,
) -> Result<T, Fault> {
    let (setup, own) = setup(opened)?;
    Ok(folded(opened, basis, (&setup, own), take))
}

/// The same with the rules of the record's protocol, and whether they are its own.
fn folded<T>(
    opened: &Opened,
    basis: Basis,
    rules: (&Setup, bool),
    take: impl FnOnce(&Run<'_>) -> T,
) -> T {
    let entries = standing(opened, basis);
    let stamps: Vec<(Seq, Stamp, Ms)> = opened
        .entries
        .iter()
        .zip(&opened.stamps)
        .map(|(entry, stamp)| (entry.seq, stamp.clone(), entry.taken))
        .collect();
    let run = Run::new(&opened.header, rules, &entries, &stamps);
    take(&run)
}

/// The rules of records that were measured before. Many records of one service hold the same protocol, and
/// reading it takes longer than all measures together.
#[derive(Debug, Default)]
pub struct Known {
    rules: Vec<(ProtocolLine, Setup)>,
}

impl Known {
    /// So many protocols are remembered; of more the oldest is forgotten.
    const MOST: usize = 16;

    /// Measures a record, as [`measures`] does.
    ///
    /// # Errors
    /// See [`measures`].
    pub fn measures(&mut self, opened: &Opened, basis: Basis) -> Result<Measures, Fault> {
        let of = |rules: (&Setup, bool)| folded(opened, basis, rules, |r| all(opened, basis, r));
        let class = opened.header.patient_class;
        let line = opened.protocol.as_ref();
        let known = self
            .rules
            .iter()
            .find(|(known, setup)| setup.class == class && Some(known) == line);
        if let Some((_, setup)) = known {
            return Ok(of((setup, true)));
        }
        let (setup, own) = setup(opened)?;
        let found = of((&setup, own));
        if let Some(line) = line.filter(|_| own) {
            if self.rules.len() >= Self::MOST {
                self.rules.remove(0);
            }
            self.rules.push((line.clone(), setup));
        }
        Ok(found)
    }
}

/// Measures a record.
///
/// # Errors
/// Where the state line cannot be folded, since not even a built-in protocol can be read.
pub fn measures(opened: &Opened, basis: Basis) -> Result<Measures, Fault> {
    with_run(opened, basis, |run| all(opened, basis, run))
}

fn all(opened: &Opened, basis: Basis, run: &Run<'_>) -> Measures {
    let window = run.windows.recognition;
    let from_compression = run.windows.compression.map(|window| Of {
        window: WindowName::Compression,
        version: VERSION,
        of: flow::fraction(run, window),
    });
    let pauses = pauses::pauses(run);
    Measures {
        version: VERSION,
        basis: taken(opened, basis),
        record_id: opened.header.record_id.clone(),
        kind: opened.header.kind,
        is_sound: opened.is_sound(),
        protocol: run
            .protocol(opened.header.patient_class)
            .map(|p| ProtocolUsed {
                id: p.id.clone(),
                version: p.version.clone(),
                set_rate_per_min: p.rate.per_minute(),
            }),
        windows: run.windows,
        trust: of(window, |w| checks::trust(run, w)),
        time: of(window, |w| flow::time(run, w)),
        fraction: of(window, |w| flow::fraction(run, w)),
        fraction_from_compression: from_compression,
        no_flow: of(window, |w| flow::no_flow(run, w)),
        minutes: of(window, |w| flow::minutes(run, w)),
        after_five_minutes: of(window, |w| flow::after_five(run, w)),
        device_pauses: Of::recognition(device::device_pauses(&pauses)),
        pauses: Of::recognition(pauses),
        shocks: Of::recognition(shocks::shocks(run)),
        fittings: Of::recognition(device::fittings(run)),
        first: of(window, |w| firsts::first(run, w)),
        drugs: Of::recognition(drugs::drugs(run)),
        cup: Of::recognition(cup::cup(run)),
        power: Of::recognition(power::power(run)),
        ventilation: window
            .and_then(|w| breaths::ventilation(run, w))
            .map(Of::recognition),
        clocks: Of::recognition(clocks::clocks(run)),
    }
}

fn of<T>(window: Option<Window>, take: impl FnOnce(Window) -> T) -> Option<Of<T>> {
    window.map(take).map(Of::recognition)
}

/// Which marks a measure is taken of.
pub fn taken(opened: &Opened, basis: Basis) -> Taken {
    match basis {
        Basis::Recorded => Taken::Recorded,
        Basis::Amended => {
            let last = opened.seals.last().map(|(seal, _)| seal);
            let sealed = last.map_or(0, |seal| seal.lines);
            let later = opened
                .entries
                .iter()
                .filter(|e| matches!(e.fact, cycle::Fact::Amend(_)) && e.seq.0 > sealed);
            Taken::Amended {
                revision: last.map_or(0, |seal| seal.rev),
                unsealed: later.count(),
            }
        }
    }
}
