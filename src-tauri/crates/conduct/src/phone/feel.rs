//! The beat as vibration, where the crew may not hear it.
//!
//! A vibrator plays what it was given and knows no clock of ours, so it is given the next seconds again and
//! again: whatever its own error is, it does not grow.

use beat::{Kind, Placed};
use cycle::Ms;
use serde::Serialize;

/// So far the vibrator is told ahead.
pub(crate) const AHEAD_MS: u64 = 12_000;
/// It is told anew so often, and on each change of the score.
pub(crate) const EVERY_MS: u64 = 10_000;
/// How long a beat is felt. Source: 40 ms and more is felt by most (from memory); a phone's motor takes some
/// 20 ms to run up.
const BEAT_MS: u32 = 60;
/// The first of a cycle is felt longer.
const FIRST_MS: u32 = 120;
/// One long pulse stands for a prompt that may not be heard. Source: beat and one long pulse, never a vocabulary
/// (recognition of patterns falls with distraction).
pub(crate) const LONG_MS: u32 = 700;
/// A score so far below full is not played.
const OFF_DDB: u16 = 960;
/// A beat right behind a long pulse would only make it longer.
const APART_MS: u64 = 100;

/// One pulse of the vibrator.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct FeltPulse {
    /// So long after the wish is taken.
    pub in_ms: u32,
    /// So long.
    pub len_ms: u32,
}

/// What is to be felt of a score from `now` on, behind a long pulse where a prompt begins at `long`.
pub(crate) fn pulses(placed: Option<Placed>, now: Ms, long: Option<Ms>) -> Vec<FeltPulse> {
    let until = now.0.saturating_add(AHEAD_MS);
    let in_ms = |at: u64| u32::try_from(at.saturating_sub(now.0)).unwrap_or(u32::MAX);
    let long = long.filter(|at| at.0.saturating_add(u64::from(LONG_MS)) > now.0);
    let long = long.map(|at| {
        let from = at.0.max(now.0);
        let left = at.0.saturating_add(u64::from(LONG_MS)).saturating_sub(from);
        (from, u32::try_from(left).unwrap_or(LONG_MS))
    });
    let is_free = |at: u64, len: u32| {
        long.is_none_or(|(from, left)| {
            at.saturating_add(u64::from(len)).saturating_add(APART_MS) <= from
                || at
                    >= from
                        .saturating_add(u64::from(left))
                        .saturating_add(APART_MS)
        })
    };
    // With the beat off there is none to be felt either.
    let placed = placed.filter(|placed| placed.score.quiet_ddb < OFF_DDB);
    let beats = placed.into_iter().flat_map(|placed| {
        let first = placed.first(now.0, 1000);
        std::iter::successors(first, move |s| placed.after(*s, 1000))
            .take_while(move |s| s.at < until)
            .filter(|s| s.kind != Kind::Breath)
    });
    let len = |kind: Kind| {
        if kind == Kind::BeatFirst {
            FIRST_MS
        } else {
            BEAT_MS
        }
    };
    let mut felt: Vec<FeltPulse> = beats
        .filter(|s| is_free(s.at, len(s.kind)))
        .map(|s| FeltPulse {
            in_ms: in_ms(s.at),
            len_ms: len(s.kind),
        })
        .collect();
    felt.extend(long.map(|(from, len_ms)| FeltPulse {
        in_ms: in_ms(from),
        len_ms,
    }));
    felt.sort_unstable_by_key(|pulse| pulse.in_ms);
    felt
}

#[cfg(test)]
mod tests;
