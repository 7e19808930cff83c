//! The measures that a drill is scored by, out of those of its run.

use cycle::{Ms, mark::Reason};
use debrief::Measures;

use crate::scenario::What;

/// A measure's value in its unit; `None`: it is not known, or there was none.
pub(crate) fn value(what: What, of: &Measures) -> Option<f64> {
    match what {
        What::FittingLongest => fitting(of)?.windows_ms.iter().max().map(|ms| seconds(*ms)),
        // A device that nobody stopped for was not fitted: no stop is no figure, not the best of all.
        What::FittingStops => {
            let stops = fitting(of)?.windows_ms.len();
            (stops > 0).then(|| count(stops))
        }
        What::FlowBefore => fitting(of)?.flow_before.map(rounded),
        What::PreShock => longest(of.shocks.of.rows.iter().filter_map(|row| row.pre_ms)),
        What::PeriShock => longest(of.shocks.of.rows.iter().filter_map(|row| row.peri_ms)),
        What::LongestPause => of.pauses.of.longest_ms.map(seconds),
        What::FirstShock => of.first.as_ref()?.of.shock_ms.map(seconds),
        What::FractionFirstFive => first_five(of),
        What::Fraction => of.fraction.as_ref()?.of.value.map(rounded),
        What::Reseat => longest(pauses(of, &[Reason::DeviceReseat])),
        What::Removal => longest(pauses(of, &[Reason::DeviceFault, Reason::DeviceOff])),
        What::MovePauses => Some(seconds(
            pauses(of, &[Reason::Move]).fold(Ms::ZERO, Ms::plus),
        )),
        What::DosesInside => doses(of),
        What::BreathsPerMin => of.ventilation.as_ref()?.of.counted_per_min.map(rounded),
    }
}

/// Whether a fraction is only known not to be higher: breath pauses were not marked.
pub(crate) fn is_upper_bound(what: What, of: &Measures) -> bool {
    let of_fraction = matches!(what, What::Fraction | What::FractionFirstFive);
    of_fraction
        && of
            .fraction
            .as_ref()
            .is_some_and(|fraction| fraction.of.upper_bound)
}

/// The first fitting that ended with the device running, as in figures over time; where none did, the last. One that was
/// put off, by a slip of the finger or in earnest, is not the drill's.
fn fitting(of: &Measures) -> Option<&debrief::Fitting> {
    let rows = &of.fittings.of.rows;
    let ran = rows.iter().find(|row| row.running_ms.is_some());
    ran.or_else(|| rows.last())
}

fn pauses<'m>(of: &'m Measures, reasons: &'m [Reason]) -> impl Iterator<Item = Ms> + 'm {
    let rows = of.pauses.of.rows.iter();
    rows.filter(move |row| reasons.contains(&row.reason))
        .map(|row| row.ms)
}

fn first_five(of: &Measures) -> Option<f64> {
    let rows = of
        .minutes
        .as_ref()?
        .of
        .rows
        .iter()
        .filter(|row| row.minute < 5);
    let sum = |ms: fn(&debrief::Minute) -> Ms| rows.clone().map(ms).fold(Ms::ZERO, Ms::plus);
    let (on, off) = (sum(|row| row.compressing_ms), sum(|row| row.hands_off_ms));
    let known = on.plus(off);
    (known > Ms::ZERO).then(|| rounded(seconds(on) / seconds(known)))
}

fn doses(of: &Measures) -> Option<f64> {
    let rows = of.drugs.of.rows.iter();
    let (inside, placed) = rows.fold((0_usize, 0_usize), |(inside, placed), row| {
        let all = row
            .below
            .saturating_add(row.inside)
            .saturating_add(row.above);
        (
            inside.saturating_add(row.inside),
            placed.saturating_add(all),
        )
    });
    (placed > 0).then(|| rounded(count(inside) / count(placed)))
}

fn longest(spans: impl Iterator<Item = Ms>) -> Option<f64> {
    spans.max().map(seconds)
}

/// A drill is shorter than 49 days.
pub(crate) fn seconds(ms: Ms) -> f64 {
    f64::from(u32::try_from(ms.0).unwrap_or(u32::MAX)) / 1000.0
}

fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

/// To four places.
fn rounded(value: f64) -> f64 {
    (value * 10_000.0).round() / 10_000.0
}
