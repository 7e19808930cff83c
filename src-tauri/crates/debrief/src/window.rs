//! Where the measures begin and end.

use cycle::{
    Fact, Mark, Ms, Step,
    mark::{ArrestBasis, Outcome, PriorCpr, Reason, RunMark, TimesWhich},
};
use record::{Answer, Header};
use serde::Serialize;

use crate::{
    run::outcome,
    spans::{Doing, Span},
};

/// A window of the run clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Window {
    /// Its beginning, run milliseconds.
    pub from_ms: Ms,
    /// Its end.
    pub to_ms: Ms,
}

impl Window {
    /// How long.
    pub const fn len(self) -> Ms {
        self.to_ms.since(self.from_ms)
    }

    /// Whether nothing is in it.
    pub const fn is_empty(self) -> bool {
        self.len().0 == 0
    }
}

/// Which window a measure is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WindowName {
    /// From recognition.
    Recognition,
    /// From the crew's first compression.
    Compression,
}

/// What the window from recognition begins with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BeginsBy {
    /// The crew recognised the arrest.
    Recognised,
    /// The crew saw it happen.
    Witnessed,
    /// The first compression; nobody marked the arrest before it.
    Compression,
    /// Others compressed, and the crew took over.
    Takeover,
}

/// What the window ends with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum EndsBy {
    /// The resuscitation was stopped.
    Stopped,
    /// Care was handed over.
    HandedOver,
    /// Circulation came back and lasted to the end of the record.
    Circulation,
    /// It was no arrest.
    NoArrest,
    /// A gap, after which another run was begun.
    Gap,
    /// Nothing: the record has no end mark, and the window ends with its last line.
    LastLine,
}

/// The windows of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Windows {
    /// From recognition; `None`: neither arrest nor compressions were marked.
    pub recognition: Option<Window>,
    /// From the first compression; `None`: there was none.
    pub compression: Option<Window>,
    /// What the first begins with.
    pub begins_by: Option<BeginsBy>,
    /// What both end with.
    pub ends_by: EndsBy,
    /// Whether the crew saw the arrest: such runs are reported apart.
    pub ems_witnessed: Answer,
}

pub(crate) fn windows(header: &Header, steps: &[Step<'_>], spans: &[Span]) -> Windows {
    let first = spans.iter().find(|s| s.is_compressing()).map(|s| s.from);
    let (begin, witnessed) = begin(header, steps, first);
    let (end, ends_by) = end(steps, spans);
    let window = |from: Ms| Window {
        from_ms: from,
        to_ms: end.max(from),
    };
    Windows {
        recognition: begin.map(|(from, _)| window(from)),
        compression: first.map(window),
        begins_by: begin.map(|(_, by)| by),
        ends_by,
        ems_witnessed: if witnessed {
            Answer::Yes
        } else {
            header.ems_witnessed
        },
    }
}

fn run_marks<'a>(steps: &[Step<'a>]) -> impl Iterator<Item = (Ms, &'a RunMark)> {
    steps.iter().filter_map(|step| match &step.entry.fact {
        Fact::Mark(Mark::Run(mark)) => Some((step.entry.at, mark)),
        Fact::Mark(_) | Fact::Deed(_) | Fact::Amend(_) => None,
    })
}

type Begin = Option<(Ms, BeginsBy)>;

fn begin(header: &Header, steps: &[Step<'_>], first: Option<Ms>) -> (Begin, bool) {
    let mut witnessed = header.ems_witnessed == Answer::Yes;
    let (mut arrest, mut recognised) = (None, None);
    let mut others = false;
    for (at, mark) in run_marks(steps) {
        match mark {
            RunMark::Arrest { basis } => {
                arrest = arrest.or(Some(at));
                witnessed |= *basis == Some(ArrestBasis::Witnessed);
                if *basis != Some(ArrestBasis::Reported) {
                    recognised = recognised.or(Some(at));
                }
            }
            RunMark::PriorCare(prior) => {
                if let Some(cpr) = prior.cpr {
                    others = cpr != PriorCpr::None;
                }
            }
            RunMark::Patient { .. }
            | RunMark::Overlay { .. }
            | RunMark::Leads { .. }
            | RunMark::Ack { .. }
            | RunMark::Times { .. }
            | RunMark::Decision { .. }
            | RunMark::ClockMark { .. }
            | RunMark::Note { .. }
            | RunMark::Resume { .. }
            | RunMark::Sound { .. }
            | RunMark::Flag {}
            | RunMark::End { .. } => {}
        }
    }
    let begin = match (witnessed.then_some(arrest).flatten(), first) {
        // Marked after the first compression it was marked late.
        (Some(at), _) => Some((first.map_or(at, |c| c.min(at)), BeginsBy::Witnessed)),
        (None, Some(at)) if others => Some((at, BeginsBy::Takeover)),
        (None, Some(at)) if recognised.is_none_or(|said| at < said) => {
            Some((at, BeginsBy::Compression))
        }
        (None, _) => recognised.map(|at| (at, BeginsBy::Recognised)),
    };
    (begin, witnessed)
}

fn end(steps: &[Step<'_>], spans: &[Span]) -> (Ms, EndsBy) {
    let live: Vec<&Span> = spans.iter().filter(|s| s.doing != Doing::Ended).collect();
    let last = live.last();
    let handed = run_marks(steps)
        .filter(|(_, mark)| {
            matches!(
                mark,
                RunMark::Times {
                    which: TimesWhich::Handover
                }
            )
        })
        .map(|(at, _)| (at, EndsBy::HandedOver))
        .last();
    let lasting = last
        .filter(|s| s.doing == Doing::Circulation)
        .map(|s| (s.from, EndsBy::Circulation));
    let (closing, otherwise) = match outcome(steps) {
        Some((at, Some(Outcome::Stopped))) => {
            // Resuscitation was given up when hands came off for good.
            let given_up = last.filter(|s| s.is_off() && s.reason() == Reason::StopCare);
            let at = given_up.map_or(at, |s| s.from);
            (Some((at, EndsBy::Stopped)), None)
        }
        Some((at, Some(Outcome::HandedOver))) => (Some((at, EndsBy::HandedOver)), None),
        Some((at, Some(Outcome::NoArrest))) => (Some((at, EndsBy::NoArrest)), None),
        Some((at, Some(Outcome::Rosc))) => (None, Some((at, EndsBy::Circulation))),
        // Another run was begun after a gap: nobody knows how long this one went on.
        Some((at, None)) => {
            let gap = last.filter(|s| s.doing == Doing::Unknown);
            (None, Some((gap.map_or(at, |s| s.from), EndsBy::Gap)))
        }
        None => {
            let at = last.map_or(Ms::ZERO, |s| s.to);
            (None, Some((at, EndsBy::LastLine)))
        }
    };
    [closing, handed, lasting]
        .into_iter()
        .flatten()
        .max_by_key(|(at, _)| *at)
        .or(otherwise)
        .unwrap_or((Ms::ZERO, EndsBy::LastLine))
}
