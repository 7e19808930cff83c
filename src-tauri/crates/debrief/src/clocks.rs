//! What other clocks showed, against the phone's.

use cycle::{
    Fact, Mark, Ms,
    mark::{ClockRef, RunMark},
};
use serde::Serialize;

use crate::run::Run;

const DAY_MS: i64 = 86_400_000;
/// How exact a clock is of which that was not said: it shows whole seconds.
const SECOND: u16 = 1;

/// One look at another clock.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ClockOffset {
    /// Whose clock.
    #[serde(rename = "ref")]
    pub clock: ClockRef,
    /// When it was looked at.
    pub at_ms: Ms,
    /// What it showed less what the phone's wall clock showed, s.
    pub offset_s: Option<i64>,
    /// How exact that is, s, if said.
    pub precision_s: Option<u16>,
    /// The other clock is ahead of the phone's by at least this, ms ...
    pub from_ms: Option<i64>,
    /// ... and by less than this.
    pub to_ms: Option<i64>,
}

/// What all looks at one clock leave open.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ClockSpan {
    /// Whose clock.
    #[serde(rename = "ref")]
    pub clock: ClockRef,
    /// Looks that it is made from.
    pub looks: usize,
    /// It is ahead of the phone's by at least this, ms; `None`: no offset agrees with all looks.
    pub from_ms: Option<i64>,
    /// By less than this.
    pub to_ms: Option<i64>,
    /// No offset agrees with all looks: one of the two clocks moved. None is chosen.
    pub moved: bool,
}

/// The clocks of a run. No time of the run is shifted by them.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Clocks {
    /// In order.
    pub rows: Vec<ClockOffset>,
    /// One a clock, in the order of the first look at each.
    pub spans: Vec<ClockSpan>,
}

/// Seconds of the day of `HH:MM:SS`.
fn of_day(shown: &str) -> Option<i64> {
    let mut parts = shown.split(':').map(|part| part.parse::<i64>().ok());
    let mut part = |most: i64| parts.next().flatten().filter(|n| (0..most).contains(n));
    let (hours, minutes, seconds) = (part(24)?, part(60)?, part(60)?);
    let all = hours.checked_mul(3600)?;
    all.checked_add(minutes.checked_mul(60)?)?
        .checked_add(seconds)
}

pub(crate) fn clocks(run: &Run<'_>) -> Clocks {
    let mut rows = Vec::new();
    for entry in run.entries {
        let Fact::Mark(Mark::Run(RunMark::ClockMark {
            clock,
            shown,
            precision_s,
        })) = &entry.fact
        else {
            continue;
        };
        let place = run
            .stamps
            .binary_search_by_key(&entry.seq, |(seq, _, _)| *seq);
        let written = place.ok().and_then(|n| run.stamps.get(n));
        let offset = written
            .zip(of_day(shown))
            .map(|((_, stamp, taken), shown)| {
                // How long before the line the look was; a review writes its line days later.
                let back = signed(*taken).saturating_sub(signed(entry.at));
                let east = i64::from(stamp.wall.offset_min()).saturating_mul(60_000);
                let local = stamp
                    .wall
                    .unix_ms()
                    .saturating_sub(back)
                    .saturating_add(east);
                let whole = local.div_euclid(1000).saturating_mul(1000);
                let shown = shown.saturating_mul(1000);
                (
                    near(shown.saturating_sub(local)),
                    near(shown.saturating_sub(whole)),
                )
            });
        let exact = i64::from(precision_s.unwrap_or(SECOND)).saturating_mul(1000);
        rows.push(ClockOffset {
            clock: *clock,
            at_ms: entry.at,
            offset_s: offset.map(|(_, whole)| whole.div_euclid(1000)),
            precision_s: *precision_s,
            from_ms: offset.map(|(from, _)| from),
            to_ms: offset.map(|(from, _)| from.saturating_add(exact)),
        });
    }
    let spans = spans(&rows);
    Clocks { rows, spans }
}

fn signed(at: Ms) -> i64 {
    i64::try_from(at.0).unwrap_or(i64::MAX)
}

/// The nearer way round the clock.
fn near(ms: i64) -> i64 {
    let half = DAY_MS.div_euclid(2);
    ms.saturating_add(half)
        .rem_euclid(DAY_MS)
        .saturating_sub(half)
}

/// What all looks at a clock agree on.
fn spans(rows: &[ClockOffset]) -> Vec<ClockSpan> {
    let mut out: Vec<ClockSpan> = Vec::new();
    for row in rows {
        let Some((from, to)) = row.from_ms.zip(row.to_ms) else {
            continue;
        };
        let Some(span) = out.iter_mut().find(|span| span.clock == row.clock) else {
            out.push(ClockSpan {
                clock: row.clock,
                looks: 1,
                from_ms: Some(from),
                to_ms: Some(to),
                moved: false,
            });
            continue;
        };
        span.looks = span.looks.saturating_add(1);
        let Some((least, most)) = span.from_ms.zip(span.to_ms) else {
            continue;
        };
        // Twelve hours apart the nearer way round may be the other one.
        let turn = from.saturating_sub(near(from.saturating_sub(least)).saturating_add(least));
        let (from, to) = (from.saturating_sub(turn), to.saturating_sub(turn));
        let (least, most) = (least.max(from), most.min(to));
        span.moved = least >= most;
        (span.from_ms, span.to_ms) = if span.moved {
            (None, None)
        } else {
            (Some(least), Some(most))
        };
    }
    out
}
