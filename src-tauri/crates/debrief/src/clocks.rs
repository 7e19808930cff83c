//! What other clocks showed, against the phone's.

use cycle::{
    Fact, Mark, Ms,
    mark::{ClockRef, RunMark},
};
use serde::Serialize;

use crate::run::Run;

const DAY_S: i64 = 86_400;

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
}

/// The clocks of a run.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Clocks {
    /// In order.
    pub rows: Vec<ClockOffset>,
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
        let place = run.stamps.binary_search_by_key(&entry.seq, |(seq, _)| *seq);
        let stamp = place.ok().and_then(|n| run.stamps.get(n));
        let offset = stamp.zip(of_day(shown)).map(|((_, stamp), shown)| {
            let back = i64::try_from(entry.taken.0)
                .unwrap_or(0)
                .saturating_sub(i64::try_from(entry.at.0).unwrap_or(0));
            let local = stamp
                .wall
                .unix_ms()
                .saturating_sub(back)
                .div_euclid(1000)
                .saturating_add(i64::from(stamp.wall.offset_min()).saturating_mul(60));
            // The nearer way round the clock.
            let half = DAY_S.div_euclid(2);
            shown
                .saturating_sub(local)
                .saturating_add(half)
                .rem_euclid(DAY_S)
                .saturating_sub(half)
        });
        rows.push(ClockOffset {
            clock: *clock,
            at_ms: entry.at,
            offset_s: offset,
            precision_s: *precision_s,
        });
    }
    Clocks { rows }
}
