//! Other clocks as intervals of offset: what they showed less what this device showed.

use cycle::{
    Mark,
    mark::{ClockRef, RunMark},
};
use words::{CarryWord, Words};

use crate::{
    CarryClock,
    facts::{Facts, Marked},
};

const DAY_MS: i64 = 86_400_000;

/// A look at another clock: its offset, at least and, where it was said how exact it is, below.
struct Look {
    from: i64,
    below: Option<i64>,
}

/// Milliseconds of the day of `HH:MM:SS`.
fn of_day(shown: &str) -> Option<i64> {
    let mut parts = shown.split(':').map(|part| part.parse::<i64>().ok());
    let mut part = |most: i64| parts.next().flatten().filter(|n| (0..most).contains(n));
    let (hours, minutes, seconds) = (part(24)?, part(60)?, part(60)?);
    let all = hours
        .checked_mul(3600)?
        .checked_add(minutes.checked_mul(60)?)?
        .checked_add(seconds)?;
    all.checked_mul(1000)
}

fn look(marked: &Marked, shown: &str, precision_s: Option<u16>) -> Option<Look> {
    let wall = marked.wall?;
    let east = i64::from(wall.offset_min()).checked_mul(60_000)?;
    let local = wall.unix_ms().checked_add(east)?;
    let half = DAY_MS.checked_div(2)?;
    // The nearer way round the clock.
    let from = of_day(shown)?
        .checked_sub(local)?
        .checked_add(half)?
        .rem_euclid(DAY_MS)
        .checked_sub(half)?;
    // A clock with whole seconds is no more exact than one.
    let below = precision_s.and_then(|s| from.checked_add(i64::from(s.max(1)).checked_mul(1000)?));
    Some(Look { from, below })
}

/// Milliseconds as seconds with a sign.
fn seconds(ms: i64) -> String {
    let sign = if ms < 0 { "-" } else { "+" };
    let ms = ms.unsigned_abs();
    format!("{sign}{}.{:03} s", ms.div_euclid(1000), ms.rem_euclid(1000))
}

const fn said(clock: ClockRef) -> CarryWord {
    match clock {
        ClockRef::Dispatch => CarryWord::ClockDispatch,
        ClockRef::Monitor => CarryWord::ClockMonitor,
        ClockRef::Wall => CarryWord::ClockWall,
        ClockRef::Other => CarryWord::ClockOther,
    }
}

pub(crate) fn clocks(facts: &Facts<'_>, words: &Words) -> Vec<CarryClock> {
    let of = |asked: ClockRef| {
        let looks = facts.marks.iter().filter_map(move |m| {
            let Mark::Run(RunMark::ClockMark {
                clock,
                shown,
                precision_s,
            }) = &m.mark
            else {
                return None;
            };
            (*clock == asked)
                .then(|| look(m, shown, *precision_s))
                .flatten()
        });
        looks.collect::<Vec<Look>>()
    };
    ClockRef::ALL
        .iter()
        .filter_map(|clock| one(words.carry(said(*clock)), &of(*clock)))
        .collect()
}

fn one(name: String, looks: &[Look]) -> Option<CarryClock> {
    if looks.is_empty() {
        return None;
    }
    let exact = || looks.iter().filter_map(|l| Some((l.from, l.below?)));
    let from = exact().map(|(from, _)| from).max();
    let below = exact().map(|(_, below)| below).min();
    let moved = from.zip(below).is_some_and(|(from, below)| from >= below);
    let (from_ms, to_ms) = if moved { (None, None) } else { (from, below) };
    let looks = looks.iter().map(|l| match l.below {
        Some(below) => format!("{} to {}", seconds(l.from), seconds(below)),
        None => format!("{} or more", seconds(l.from)),
    });
    Some(CarryClock {
        name,
        from_ms,
        to_ms,
        moved,
        looks: looks.collect(),
    })
}

/// All clocks in one cell of a table.
pub(crate) fn cell(clocks: &[CarryClock]) -> String {
    let all = clocks.iter().map(|clock| {
        let interval = match (clock.from_ms, clock.to_ms) {
            (Some(from), Some(to)) => format!("{} to {}", seconds(from), seconds(to)),
            _ => clock.looks.join(" / "),
        };
        format!("{} {interval}", clock.name)
    });
    all.collect::<Vec<_>>().join("; ")
}
