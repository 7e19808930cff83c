//! Breaths as they were marked. Tones are no breaths: without marks there is no measure.

use cycle::{Mark, Ms, mark::AirMark};
use serde::Serialize;

use crate::{
    flow::mean,
    number::{count, number},
    run::Run,
    spans::Doing,
    window::Window,
};

const MINUTE: Ms = Ms(60_000);

/// Breaths a minute, from marks alone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ventilation {
    /// Complete minutes from the first marked breath to the last one; those with circulation or unknown
    /// time in them are left out.
    pub minutes: usize,
    /// Mean of the breaths counted in them.
    pub counted_per_min: Option<f64>,
    /// Mean of 60 s over each interval; only where every mark is of one breath.
    pub measured_per_min: Option<f64>,
    /// Minutes with fewer than 6.
    pub below_6: usize,
    /// Minutes with more than 12.
    pub above_12: usize,
}

pub(crate) fn ventilation(run: &Run<'_>, window: Window) -> Option<Ventilation> {
    let vents: Vec<(Ms, u8)> = run
        .marks()
        .filter(|(at, _)| run.is_in_window(*at))
        .filter_map(|(at, mark)| match mark {
            Mark::Air(AirMark::Vent { n, .. }) => Some((at, *n)),
            Mark::Air(_)
            | Mark::Run(_)
            | Mark::Flow(_)
            | Mark::Check(_)
            | Mark::Device(_)
            | Mark::Care(_) => None,
        })
        .collect();
    let (first, _) = *vents.first()?;
    let (last, _) = *vents.last()?;
    // Whoever marks breaths and then stops gives no more: the last mark stands for one more interval.
    let before = vents.iter().rev().nth(1).map_or(last, |(at, _)| *at);
    let marked_to = last.plus(last.since(before)).min(window.to_ms);
    let mut counts: Vec<u32> = Vec::new();
    let mut from = first;
    while from.plus(MINUTE) <= marked_to {
        let to = from.plus(MINUTE);
        let other = |d: Doing| matches!(d, Doing::Circulation | Doing::Unknown | Doing::Ended);
        if run.time_in(from, to, other) == Ms::ZERO {
            let in_it = vents.iter().filter(|(at, _)| from <= *at && *at < to);
            counts.push(in_it.map(|(_, n)| u32::from(*n)).sum());
        }
        from = to;
    }
    let total = counts.iter().map(|n| f64::from(*n)).sum::<f64>();
    let rates: Vec<f64> = vents
        .iter()
        .zip(vents.iter().skip(1))
        .map(|((a, _), (b, _))| b.since(*a))
        .filter(|span| *span > Ms::ZERO)
        .map(|span| 60_000.0 / number(span))
        .collect();
    let single = vents.iter().all(|(_, n)| *n == 1);
    Some(Ventilation {
        minutes: counts.len(),
        counted_per_min: (!counts.is_empty()).then(|| total / count(counts.len())),
        measured_per_min: single.then(|| mean(&rates)).flatten(),
        below_6: counts.iter().filter(|n| **n < 6).count(),
        above_12: counts.iter().filter(|n| **n > 12).count(),
    })
}
