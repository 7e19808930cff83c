//! Values that a mark's fields can hold but no run can.

use std::fmt;

use cycle::{
    Levels, Overlay,
    mark::{
        AirMark, BreathMode, CareMark, CheckMark, DeviceMark, Mark, Preset, PriorCare, PriorDose,
        RunMark, SoundAct,
    },
};

/// Shocks or doses of one drug before this crew. Common practice, no source: more is a slip.
const MOST_BEFORE: u64 = 30;
/// Minutes before this crew. Common practice, no source: more is a slip.
const LONGEST_BEFORE_MIN: u64 = 600;
/// Different drugs before this crew.
const MOST_DRUGS: usize = 12;

/// A field, what was found, what is allowed.
pub(crate) type Bad = (String, String, String);

fn bad(field: &str, found: impl fmt::Display, allowed: impl fmt::Display) -> Bad {
    (field.to_owned(), format!("{found}"), format!("{allowed}"))
}

fn within(
    field: &str,
    found: Option<impl Into<u64>>,
    (least, most): (u64, u64),
) -> Result<(), Bad> {
    match found.map(Into::into) {
        Some(n) if n < least || n > most => Err(bad(field, n, format!("{least} to {most}"))),
        Some(_) | None => Ok(()),
    }
}

fn one_of(field: &str, found: Option<&String>, allowed: &[&str]) -> Result<(), Bad> {
    match found {
        Some(word) if !allowed.contains(&word.as_str()) => {
            Err(bad(field, format!("{word:?}"), allowed.join(", ")))
        }
        Some(_) | None => Ok(()),
    }
}

/// A code of a list that a protocol or a service keeps. No blank and no capital: a code is no place
/// for a name or a sentence.
fn code(field: &str, found: Option<&String>) -> Result<(), Bad> {
    let good = |text: &String| {
        (1..=40).contains(&text.len())
            && text
                .bytes()
                .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_')
    };
    match found {
        Some(text) if !good(text) => Err(bad(
            field,
            format!("{text:?}"),
            "a code of 1 to 40 characters of a-z, 0-9 and _",
        )),
        Some(_) | None => Ok(()),
    }
}

/// What a clock showed: HH:MM:SS, on the 24-hour clock.
fn clock(field: &str, text: &str) -> Result<(), Bad> {
    let part = |part: &str, most: u8| {
        let two = part.len() == 2 && part.bytes().all(|b| b.is_ascii_digit());
        two && part.parse::<u8>().is_ok_and(|n| n <= most)
    };
    let good = match text.split(':').collect::<Vec<_>>().as_slice() {
        [h, m, s] => part(h, 23) && part(m, 59) && part(s, 59),
        _ => false,
    };
    if good {
        return Ok(());
    }
    Err(bad(
        field,
        format!("{text:?}"),
        "HH:MM:SS, 00:00:00 to 23:59:59",
    ))
}

/// A decimal of at most `digits` digits, `after` of them after the point, and at most `most`.
fn decimal(
    field: &str,
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
    Err(bad(
        field,
        format!("{text:?}"),
        format!("a decimal of up to {digits} digits, {after} after the point, 0 to {most}"),
    ))
}

/// Whether a mark's numbers and words can be.
pub(crate) fn mark(mark: &Mark) -> Result<(), Bad> {
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
        RunMark::PriorCare(before) => prior(before),
        RunMark::Patient { rescuers, .. } => within("d.rescuers", *rescuers, (1, 2)),
        RunMark::Overlay {
            kind, temp_band, ..
        } => match temp_band {
            Some(band) if *kind != Overlay::Cold => {
                let allowed = format!(
                    "no temp_band where kind is {}, only in the cold",
                    kind.word()
                );
                Err(bad("d.temp_band", band.word(), allowed))
            }
            Some(_) | None => Ok(()),
        },
        RunMark::Decision { answer, .. } => code("d.answer", answer.as_ref()),
        RunMark::ClockMark {
            shown, precision_s, ..
        } => {
            clock("d.shown", shown)?;
            within("d.precision_s", *precision_s, (0, 3600))
        }
        RunMark::Note { code: text } => code("d.code", Some(text)),
        RunMark::End { reason, .. } => code("d.reason", reason.as_ref()),
        RunMark::Arrest { .. }
        | RunMark::Leads { .. }
        | RunMark::Ack { .. }
        | RunMark::Times { .. }
        | RunMark::Resume { .. }
        | RunMark::Flag {} => Ok(()),
        RunMark::Sound {
            what,
            levels,
            preset,
        } => sound(*what, *levels, *preset),
    }
}

/// Levels stand where levels are set, and a kind of place where they are set for it.
fn sound(what: SoundAct, levels: Option<Levels>, preset: Option<Preset>) -> Result<(), Bad> {
    let sets = matches!(what, SoundAct::Level | SoundAct::Preset);
    let places = what == SoundAct::Preset;
    let there = |is: bool| if is { "there" } else { "absent" };
    if levels.is_some() != sets {
        let allowed = format!("{} where what is {}", there(sets), what.word());
        return Err(bad("d.levels", there(!sets), allowed));
    }
    if preset.is_some() != places {
        let allowed = format!("{} where what is {}", there(places), what.word());
        return Err(bad("d.preset", there(!places), allowed));
    }
    let Some(levels) = levels else {
        return Ok(());
    };
    for (field, db) in [
        ("d.levels.beat_db", levels.beat_db),
        ("d.levels.breath_db", levels.breath_db),
        ("d.levels.voice_db", levels.voice_db),
    ] {
        within(field, Some(db), (0, u64::from(Levels::LOWEST_DB)))?;
    }
    Ok(())
}

fn prior(before: &PriorCare) -> Result<(), Bad> {
    within("d.began_min", before.began_min, (0, LONGEST_BEFORE_MIN))?;
    within("d.shocks", before.shocks, (0, MOST_BEFORE))?;
    if before.doses.len() > MOST_DRUGS {
        let allowed = format!("a list of 1 to {MOST_DRUGS} drugs");
        return Err(bad(
            "d.doses",
            format!("{} drugs", before.doses.len()),
            allowed,
        ));
    }
    let mut rest = before.doses.as_slice();
    let mut place = 1_usize;
    while let Some((dose, after)) = rest.split_first() {
        prior_dose(dose, place)?;
        if after.iter().any(|other| other.drug == dose.drug) {
            return Err(bad(
                "d.doses",
                format!("{} twice", dose.drug),
                "each drug once",
            ));
        }
        rest = after;
        place = place.saturating_add(1);
    }
    Ok(())
}

fn prior_dose(dose: &PriorDose, place: usize) -> Result<(), Bad> {
    let field = |key: &str| format!("d.doses[{place}].{key}");
    code(&field("drug"), Some(&dose.drug))?;
    within(&field("n"), Some(dose.n), (0, MOST_BEFORE))?;
    match dose.last_min {
        Some(min) if dose.n == 0 => {
            let allowed = "no last_min where n is 0: none was given";
            Err(bad(&field("last_min"), min, allowed))
        }
        Some(_) | None => within(&field("last_min"), dose.last_min, (0, LONGEST_BEFORE_MIN)),
    }
}

fn air(mark: &AirMark) -> Result<(), Bad> {
    match mark {
        AirMark::Airway {
            attempt, technique, ..
        } => {
            // NEMSIS 3.5.1, eProcedures.05: 1 to 10.
            within("d.attempt", *attempt, (1, 10))?;
            code("d.technique", technique.as_ref())
        }
        AirMark::AirwayConfirm { .. } => Ok(()),
        AirMark::BreathMode {
            mode,
            ratio,
            every_ms,
            ..
        } => {
            if let (Some(ratio), BreathMode::Continuous | BreathMode::None) = (ratio, mode) {
                let allowed = format!("no ratio where mode is {}", mode.word());
                return Err(bad("d.ratio", ratio.word(), allowed));
            }
            if let (Some(ms), BreathMode::Ratio | BreathMode::None) = (every_ms, mode) {
                let allowed = format!("no every_ms where mode is {}", mode.word());
                return Err(bad("d.every_ms", ms, allowed));
            }
            // Common practice, no source: 1 to 60 breaths a minute.
            within("d.every_ms", *every_ms, (1000, 60_000))
        }
        // Common practice, no source.
        AirMark::Vent { n, .. } => within("d.n", Some(*n), (1, 60)),
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
        CheckMark::Shock { energy_j, .. } => within("d.energy_j", *energy_j, (1, 9000)),
        CheckMark::Pads { .. }
        | CheckMark::Charge { .. }
        | CheckMark::Analysing {}
        | CheckMark::Rhythm { .. }
        | CheckMark::NoShock {}
        | CheckMark::HeartRate { .. } => Ok(()),
    }
}

fn device(mark: &DeviceMark) -> Result<(), Bad> {
    match mark {
        DeviceMark::Fit { step, reason, .. } => {
            code("d.step", Some(step))?;
            code("d.reason", reason.as_ref())
        }
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
            code("d.drug", Some(drug))?;
            // NEMSIS 3.5.1, eMedications.05: 9 digits, 3 after the point.
            decimal("d.dose", dose.as_ref(), (9, 3), 999_999_999)?;
            one_of("d.unit", unit.as_ref(), &["mg", "mcg", "mEq", "mL", "g"])?;
            one_of("d.route", route.as_ref(), &["iv", "io", "im", "in", "et"])
        }
        CareMark::Access {
            kind,
            site,
            attempt,
            ..
        } => {
            one_of("d.kind", Some(kind), &["iv", "io"])?;
            code("d.site", site.as_ref())?;
            // NEMSIS 3.5.1, eProcedures.05: 1 to 10.
            within("d.attempt", *attempt, (1, 10))
        }
        CareMark::Procedure { .. } | CareMark::Awake { .. } => Ok(()),
    }
}
