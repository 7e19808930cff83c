//! How far the marks can be trusted: checks that were marked, time that is not known.

use cycle::{
    Fact, Mark, Ms,
    fact::Deed,
    mark::{CheckMark, Reason},
};
use serde::Serialize;

use crate::{flow::time, run::Run, window::Window};

/// The trust line, printed beside every fraction.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Trust {
    /// Rhythm checks that were marked, by a pause or by a result.
    pub checks_marked: usize,
    /// Those and the ones that fell due and were never marked.
    pub checks_due: usize,
    /// Time that is not known.
    pub unknown_ms: Ms,
    /// Known time of the window's.
    pub coverage: Option<f64>,
}

pub(crate) fn trust(run: &Run<'_>, window: Window) -> Trust {
    let results: Vec<(Ms, bool)> = run
        .marks()
        .filter(|(at, _)| run.is_in_window(*at))
        .filter_map(|(at, mark)| match mark {
            Mark::Check(CheckMark::Shock { stacked, .. }) => Some((at, *stacked)),
            Mark::Check(CheckMark::NoShock {}) => Some((at, false)),
            Mark::Check(
                CheckMark::Pads { .. }
                | CheckMark::Charge { .. }
                | CheckMark::Analysing {}
                | CheckMark::Rhythm { .. }
                | CheckMark::HeartRate { .. },
            )
            | Mark::Run(_)
            | Mark::Flow(_)
            | Mark::Air(_)
            | Mark::Device(_)
            | Mark::Care(_) => None,
        })
        .collect();
    let in_pauses = run
        .offs
        .iter()
        .filter(|off| {
            off.span.reasons.contains(&Reason::RhythmCheck)
                || results.iter().any(|(at, _)| off.span.touches(*at))
        })
        .count();
    // With the device running a result needs no pause.
    let running = results
        .iter()
        .filter(|(at, stacked)| !stacked && run.off_at(*at).is_none())
        .count();
    let unmarked = run
        .entries
        .iter()
        .filter(|e| match &e.fact {
            Fact::Deed(Deed::CheckUnmarked { due_ms }) => run.is_in_window(*due_ms),
            Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => false,
        })
        .count();
    let time = time(run, window);
    let marked = in_pauses.saturating_add(running);
    Trust {
        checks_marked: marked,
        checks_due: marked.saturating_add(unmarked),
        unknown_ms: time.unknown_ms,
        coverage: time.coverage,
    }
}
