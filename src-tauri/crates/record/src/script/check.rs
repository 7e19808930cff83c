//! Values that a mark's fields can hold but no run can.

use cycle::mark::{AirMark, BreathMode, CareMark, CheckMark, DeviceMark, Mark, RunMark};

/// A field, what was found, what is allowed.
pub(super) type Bad = (&'static str, String, String);

fn within(field: &'static str, found: Option<u64>, least: u64, most: u64) -> Result<(), Bad> {
    match found {
        Some(n) if n < least || n > most => {
            Err((field, n.to_string(), format!("{least} to {most}")))
        }
        Some(_) | None => Ok(()),
    }
}

fn one_of(field: &'static str, found: Option<&String>, allowed: &[&str]) -> Result<(), Bad> {
    match found {
        Some(word) if !allowed.contains(&word.as_str()) => {
            Err((field, format!("{word:?}"), allowed.join(", ")))
        }
        Some(_) | None => Ok(()),
    }
}

/// A word of a list that a protocol or a service keeps.
fn word(field: &'static str, found: Option<&String>) -> Result<(), Bad> {
    let good = |text: &String| {
        (1..=64).contains(&text.len())
            && text
                .bytes()
                .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_')
    };
    match found {
        Some(text) if !good(text) => Err((
            field,
            format!("{text:?}"),
            "1 to 64 characters of a-z, 0-9 and _".to_owned(),
        )),
        Some(_) | None => Ok(()),
    }
}

/// A decimal of at most `digits` digits, `after` of them after the point, and at most `most`.
fn decimal(
    field: &'static str,
    found: Option<&String>,
    (digits, after): (usize, usize),
    most: u32,
) -> Result<(), Bad> {
    let Some(text) = found else { return Ok(()) };
    let (whole, part) = text.split_once('.').unwrap_or((text, "0"));
    let plain = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    let count = text.bytes().filter(u8::is_ascii_digit).count();
    let zero = part.bytes().all(|b| b == b'0');
    let small = whole
        .parse::<u32>()
        .is_ok_and(|n| n < most || (n == most && zero));
    if plain(whole) && plain(part) && count <= digits && part.len() <= after && small {
        return Ok(());
    }
    Err((
        field,
        format!("{text:?}"),
        format!("a decimal of up to {digits} digits, {after} after the point, 0 to {most}"),
    ))
}

/// Whether a mark's numbers and words can be.
pub(super) fn mark(mark: &Mark) -> Result<(), Bad> {
    match mark {
        Mark::Run(mark) => run(mark),
        // Words of closed lists only.
        Mark::Flow(_) => Ok(()),
        Mark::Air(mark) => air(mark),
        Mark::Check(mark) => check(mark),
        Mark::Device(mark) => device(mark),
        Mark::Care(mark) => care(mark),
    }
}

fn run(mark: &RunMark) -> Result<(), Bad> {
    match mark {
        RunMark::Patient { rescuers, .. } => within("d.rescuers", rescuers.map(u64::from), 1, 2),
        RunMark::End { reason, .. } => word("d.reason", reason.as_ref()),
        RunMark::Arrest { .. }
        | RunMark::Resume { .. }
        | RunMark::Sound { .. }
        | RunMark::Flag {} => Ok(()),
    }
}

fn air(mark: &AirMark) -> Result<(), Bad> {
    match mark {
        // NEMSIS 3.5.1, eProcedures.05: 1 to 10.
        AirMark::Airway { attempt, .. } => within("d.attempt", attempt.map(u64::from), 1, 10),
        AirMark::BreathMode {
            mode,
            ratio,
            every_ms,
            ..
        } => {
            if let (Some(ratio), BreathMode::Continuous | BreathMode::None) = (ratio, mode) {
                let allowed = format!("no ratio where mode is {}", mode.word());
                return Err(("d.ratio", ratio.word().to_owned(), allowed));
            }
            if let (Some(ms), BreathMode::Ratio | BreathMode::None) = (every_ms, mode) {
                let allowed = format!("no every_ms where mode is {}", mode.word());
                return Err(("d.every_ms", ms.to_string(), allowed));
            }
            // Common practice, no source: 1 to 60 breaths a minute.
            within("d.every_ms", every_ms.map(u64::from), 1000, 60_000)
        }
        // Common practice, no source.
        AirMark::Vent { n, .. } => within("d.n", Some(u64::from(*n)), 1, 60),
        // NEMSIS 3.5.1, eVitals.16: 4 digits, 1 after the point, up to 760.
        AirMark::Etco2 { value, unit } => {
            decimal("d.value", Some(value), (4, 1), 760)?;
            one_of("d.unit", Some(unit), &["mmHg", "kPa", "pct"])
        }
    }
}

fn check(mark: &CheckMark) -> Result<(), Bad> {
    match mark {
        // NEMSIS 3.5.1, eDevice.10: 1 to 9000.
        CheckMark::Shock { energy_j, .. } => within("d.energy_j", energy_j.map(u64::from), 1, 9000),
        CheckMark::Pads { .. }
        | CheckMark::Charge { .. }
        | CheckMark::Analysing {}
        | CheckMark::Rhythm { .. }
        | CheckMark::NoShock {} => Ok(()),
    }
}

fn device(mark: &DeviceMark) -> Result<(), Bad> {
    match mark {
        DeviceMark::Fit { step } => word("d.step", Some(step)),
        DeviceMark::FitRefused { reason } => one_of(
            "d.reason",
            Some(reason),
            &["too_small", "too_large", "local_list", "other"],
        ),
        DeviceMark::Cup { .. } | DeviceMark::Move { .. } | DeviceMark::Power { .. } => Ok(()),
    }
}

fn care(mark: &CareMark) -> Result<(), Bad> {
    match mark {
        CareMark::Drug {
            drug,
            dose,
            unit,
            route,
            ..
        } => {
            word("d.drug", Some(drug))?;
            // NEMSIS 3.5.1, eMedications.05: 9 digits, 3 after the point.
            decimal("d.dose", dose.as_ref(), (9, 3), 999_999_999)?;
            one_of("d.unit", unit.as_ref(), &["mg", "mcg", "mEq", "mL", "g"])?;
            one_of("d.route", route.as_ref(), &["iv", "io", "im", "in", "et"])
        }
        CareMark::Access { kind, .. } => one_of("d.kind", Some(kind), &["iv", "io"]),
    }
}
