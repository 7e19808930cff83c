//! Time off the chest, pause by pause.

use cycle::{Ms, mark::Reason};
use serde::Serialize;

use crate::{
    run::Run,
    spans::{Doing, Span},
    window::Window,
};

/// A pause above this is counted by itself: no interruption above 10 s, adult basic life support 2020.
const TEN_SECONDS: Ms = Ms(10_000);

/// What ended a stretch of hands off.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum EndedBy {
    /// Hands or the device on again.
    Compressions,
    /// Circulation.
    Circulation,
    /// A gap: it may have been longer.
    Unknown,
    /// The end of the window.
    End,
}

/// A stretch of hands off within the window.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Off {
    pub(crate) span: Span,
    /// What came before it.
    before: Option<Doing>,
    pub(crate) ended_by: EndedBy,
}

impl Off {
    pub(crate) fn follows_compressions(&self) -> bool {
        matches!(self.before, Some(Doing::Compressing(_)))
    }
}

/// One pause.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PauseRow {
    /// Hands off.
    pub from_ms: Ms,
    /// Its end.
    pub to_ms: Ms,
    /// How long, ms.
    pub ms: Ms,
    /// The reason that stands.
    pub reason: Reason,
    /// Every reason that was given, in order.
    pub reasons: Vec<Reason>,
    /// What ended it.
    pub ended_by: EndedBy,
}

/// The pauses of the window.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Pauses {
    /// Shorter ones are none, ms.
    pub min_ms: Ms,
    /// How many.
    pub count: usize,
    /// How many above ten seconds.
    pub over_10_s: usize,
    /// The longest, ms.
    pub longest_ms: Option<Ms>,
    /// Its reason.
    pub longest_reason: Option<Reason>,
    /// In order.
    pub rows: Vec<PauseRow>,
}

/// Stretches of hands off that begin in the window, ended with it.
pub(crate) fn offs(spans: &[Span], window: Option<Window>) -> Vec<Off> {
    let Some(window) = window else {
        return Vec::new();
    };
    let mut out = Vec::new();
    let mut before: Option<Doing> = None;
    for (n, span) in spans.iter().enumerate() {
        let is_in = span.from < window.to_ms && window.from_ms < span.to;
        if span.is_off() && is_in {
            let next = spans.get(n.saturating_add(1)).map(|s| s.doing);
            let ended_by = match next {
                _ if span.to > window.to_ms => EndedBy::End,
                Some(Doing::Compressing(_)) => EndedBy::Compressions,
                Some(Doing::Circulation) => EndedBy::Circulation,
                Some(Doing::Unknown) => EndedBy::Unknown,
                Some(Doing::Ended | Doing::HandsOff) | None => EndedBy::End,
            };
            let cut = Span {
                from: span.from.max(window.from_ms),
                to: span.to.min(window.to_ms),
                ..span.clone()
            };
            out.push(Off {
                span: cut,
                before,
                ended_by,
            });
        }
        before = Some(span.doing);
    }
    out
}

pub(crate) fn pauses(run: &Run<'_>) -> Pauses {
    let min = Ms(u64::from(run.header.settings.pause_min_ms));
    let rows: Vec<PauseRow> = run
        .offs
        .iter()
        .filter(|off| off.follows_compressions() && off.span.len() >= min)
        .map(|off| PauseRow {
            from_ms: off.span.from,
            to_ms: off.span.to,
            ms: off.span.len(),
            reason: off.span.reason(),
            reasons: off.span.reasons.clone(),
            ended_by: off.ended_by,
        })
        .collect();
    // Of equally long ones the first.
    let longest = rows.iter().rev().max_by_key(|row| row.ms);
    Pauses {
        min_ms: min,
        count: rows.len(),
        over_10_s: rows.iter().filter(|row| row.ms > TEN_SECONDS).count(),
        longest_ms: longest.map(|row| row.ms),
        longest_reason: longest.map(|row| row.reason),
        rows,
    }
}
