//! Time in each state, and the compression fraction of it.

use cycle::{Fact, Ms, RatioCycle, Step};
use serde::Serialize;

use crate::{
    number::{count, number, share},
    run::Run,
    spans::Doing,
    window::Window,
};

const MINUTE: Ms = Ms(60_000);
const FIVE_MINUTES: Ms = Ms(300_000);

/// Time in each state.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Time {
    /// Compressing.
    pub compressing_ms: Ms,
    /// Hands off, no circulation.
    pub hands_off_ms: Ms,
    /// Spontaneous circulation.
    pub circulation_ms: Ms,
    /// Not known.
    pub unknown_ms: Ms,
    /// Known time of the window's.
    pub coverage: Option<f64>,
}

/// The compression fraction of a window.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fraction {
    /// Compressing of (compressing + hands off).
    pub value: Option<f64>,
    /// Compressing of the whole window, circulation and unknown time in it.
    pub of_whole_window: Option<f64>,
    /// Breath pauses were not marked, so that the true value lies below.
    pub upper_bound: bool,
    /// The value with the protocol's breath pauses taken off; only beside an upper bound.
    pub modelled: Option<f64>,
    /// The value lies below the guidelines' least, 0.60. Empty where that is not known: there is no value, or
    /// only an upper bound that does not lie below it itself.
    pub below_floor: Option<bool>,
}

/// Time off the chest.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NoFlow {
    /// All of it.
    pub ms: Ms,
    /// Of (compressing + hands off).
    pub fraction: Option<f64>,
    /// Without stretches for breaths: beside the whole, never instead of it.
    pub without_ventilation_ms: Ms,
}

/// One minute of the window.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Minute {
    /// From 0.
    pub minute: usize,
    /// Its beginning.
    pub from_ms: Ms,
    /// Its end; the last one may be short.
    pub to_ms: Ms,
    /// Compressing.
    pub compressing_ms: Ms,
    /// Hands off.
    pub hands_off_ms: Ms,
    /// Circulation.
    pub circulation_ms: Ms,
    /// Not known.
    pub unknown_ms: Ms,
    /// Compressing of (compressing + hands off).
    pub fraction: Option<f64>,
}

/// The window minute by minute.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Minutes {
    /// One row a minute.
    pub rows: Vec<Minute>,
}

/// All but the first five minutes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AfterFive {
    /// Compressing.
    pub compressing_ms: Ms,
    /// Hands off.
    pub hands_off_ms: Ms,
    /// Compressing of (compressing + hands off).
    pub fraction: Option<f64>,
}

/// Compressing x 5 < known arrest time x 3: below 0.60, in whole numbers so that 0.60 itself is not. Source: a
/// fraction of at least 60 %, adult basic life support 2020.
fn is_below_floor(on: Ms, known: Ms) -> bool {
    on.0.saturating_mul(5) < known.0.saturating_mul(3)
}

const fn is_compressing(doing: Doing) -> bool {
    matches!(doing, Doing::Compressing(_))
}

impl Run<'_> {
    /// Compressing, hands off, circulation, unknown.
    fn tally(&self, from: Ms, to: Ms) -> [Ms; 4] {
        [
            self.time_in(from, to, is_compressing),
            self.time_in(from, to, |d| d == Doing::HandsOff),
            self.time_in(from, to, |d| d == Doing::Circulation),
            // An end that was taken back later tells nothing of what was done then.
            self.time_in(from, to, |d| matches!(d, Doing::Unknown | Doing::Ended)),
        ]
    }
}

pub(crate) fn time(run: &Run<'_>, window: Window) -> Time {
    let [on, off, pulse, unknown] = run.tally(window.from_ms, window.to_ms);
    Time {
        compressing_ms: on,
        hands_off_ms: off,
        circulation_ms: pulse,
        unknown_ms: unknown,
        coverage: share(on.plus(off).plus(pulse), window.len()),
    }
}

pub(crate) fn fraction(run: &Run<'_>, window: Window) -> Fraction {
    let [on, off, ..] = run.tally(window.from_ms, window.to_ms);
    let unmarked = unmarked(run, window);
    let upper_bound = unmarked.iter().any(|(_, on)| *on > Ms::ZERO);
    let breaths = |(ratio, on): &(RatioCycle, Ms)| {
        let pause = number(ratio.window);
        let compressions = f64::from(ratio.beats) * 60_000.0 / f64::from(ratio.per_minute);
        number(*on) * pause / (compressions + pause)
    };
    let modelled = || {
        let taken_off: f64 = unmarked.iter().map(breaths).sum();
        let whole = on.plus(off);
        (whole > Ms::ZERO).then(|| (number(on) - taken_off) / number(whole))
    };
    let known = on.plus(off);
    let below = is_below_floor(on, known);
    Fraction {
        value: share(on, known),
        of_whole_window: share(on, window.len()),
        upper_bound,
        modelled: (upper_bound && run.own_protocol).then(modelled).flatten(),
        below_floor: (known > Ms::ZERO && (below || !upper_bound)).then_some(below),
    }
}

/// Compressing in stretches of a ratio in which no breath pause was marked.
fn unmarked(run: &Run<'_>, window: Window) -> Vec<(RatioCycle, Ms)> {
    stretches(&run.steps, window.to_ms)
        .into_iter()
        .filter(|(_, from, to)| {
            let is_breath_pause = |off: &&crate::pauses::Off| {
                off.follows_compressions()
                    && off.span.reason() == cycle::mark::Reason::Ventilation
                    && *from <= off.span.from
                    && off.span.from < *to
            };
            !run.offs.iter().any(|off| is_breath_pause(&off))
        })
        .map(|(ratio, from, to)| {
            let (from, to) = (from.max(window.from_ms), to.min(window.to_ms));
            (ratio, run.time_in(from, to, is_compressing))
        })
        .collect()
}

/// Stretches in which one cycle of compressions and breaths was in force.
fn stretches(steps: &[Step<'_>], end: Ms) -> Vec<(RatioCycle, Ms, Ms)> {
    let mut out: Vec<(RatioCycle, Ms, Ms)> = Vec::new();
    let mut open: Option<(RatioCycle, Ms)> = None;
    for step in steps {
        // What the app does moves no breath mode.
        if !matches!(step.entry.fact, Fact::Mark(_)) {
            continue;
        }
        if open.map(|(ratio, _)| ratio) == step.ratio {
            continue;
        }
        if let Some((ratio, from)) = open {
            out.push((ratio, from, step.entry.at));
        }
        open = step.ratio.map(|ratio| (ratio, step.entry.at));
    }
    if let Some((ratio, from)) = open {
        out.push((ratio, from, end.max(from)));
    }
    out
}

pub(crate) fn no_flow(run: &Run<'_>, window: Window) -> NoFlow {
    let [on, off, ..] = run.tally(window.from_ms, window.to_ms);
    let breaths = run
        .offs
        .iter()
        .filter(|off| off.span.reason() == cycle::mark::Reason::Ventilation)
        .map(|off| off.span.within(window.from_ms, window.to_ms))
        .fold(Ms::ZERO, Ms::plus);
    NoFlow {
        ms: off,
        fraction: share(off, on.plus(off)),
        without_ventilation_ms: off.minus(breaths),
    }
}

pub(crate) fn minutes(run: &Run<'_>, window: Window) -> Minutes {
    let mut rows = Vec::new();
    let mut from = window.from_ms;
    while from < window.to_ms {
        let to = from.plus(MINUTE).min(window.to_ms);
        let [on, off, pulse, unknown] = run.tally(from, to);
        rows.push(Minute {
            minute: rows.len(),
            from_ms: from,
            to_ms: to,
            compressing_ms: on,
            hands_off_ms: off,
            circulation_ms: pulse,
            unknown_ms: unknown,
            fraction: share(on, on.plus(off)),
        });
        from = from.plus(MINUTE);
    }
    Minutes { rows }
}

pub(crate) fn after_five(run: &Run<'_>, window: Window) -> AfterFive {
    let from = window.from_ms.plus(FIVE_MINUTES).min(window.to_ms);
    let [on, off, ..] = run.tally(from, window.to_ms);
    AfterFive {
        compressing_ms: on,
        hands_off_ms: off,
        fraction: share(on, on.plus(off)),
    }
}

/// Share of the minute before a moment in which hands were on; `None` where that minute is not wholly of
/// the window, or not wholly known.
pub(crate) fn minute_before(run: &Run<'_>, at: Ms) -> Option<f64> {
    let from = at.minus(MINUTE);
    let (begin, _) = run.ends()?;
    let [on, off, ..] = run.tally(from, at);
    (at >= begin.plus(MINUTE) && on.plus(off) == MINUTE)
        .then(|| share(on, MINUTE))
        .flatten()
}

/// The mean of some numbers.
pub(crate) fn mean(numbers: &[f64]) -> Option<f64> {
    (!numbers.is_empty()).then(|| numbers.iter().sum::<f64>() / count(numbers.len()))
}
