//! The run as one state after another, without a hole: what the crew is said to have been doing.

use cycle::{
    Line, Ms, Step,
    mark::{By, Reason},
};

/// A pulse shorter than this was a slip of the finger that was set right: it never was. The rules of the
/// run say the same.
const LEAST_PULSE: Ms = Ms(1000);

/// One of the four states, and what lies outside the run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doing {
    /// Compressing, by hand or by device.
    Compressing(By),
    /// Not compressing, no circulation.
    HandsOff,
    /// Spontaneous circulation.
    Circulation,
    /// Not known.
    Unknown,
    /// After the end.
    Ended,
}

/// A stretch of one state.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Span {
    pub(crate) from: Ms,
    pub(crate) to: Ms,
    pub(crate) doing: Doing,
    /// Hands off: every reason that was given, in order, each once; the last one stands.
    pub(crate) reasons: Vec<Reason>,
}

impl Span {
    pub(crate) fn len(&self) -> Ms {
        self.to.since(self.from)
    }

    pub(crate) fn is_compressing(&self) -> bool {
        matches!(self.doing, Doing::Compressing(_))
    }

    pub(crate) fn is_off(&self) -> bool {
        self.doing == Doing::HandsOff
    }

    pub(crate) fn reason(&self) -> Reason {
        self.reasons.last().copied().unwrap_or(Reason::Unknown)
    }

    /// How much of it lies between these moments.
    pub(crate) fn within(&self, from: Ms, to: Ms) -> Ms {
        self.to.min(to).since(self.from.max(from))
    }

    /// Whether the moment lies in it, its ends included.
    pub(crate) fn touches(&self, at: Ms) -> bool {
        self.from <= at && at <= self.to
    }
}

/// The run's spans up to `end`.
pub(crate) fn spans(steps: &[Step<'_>], end: Ms) -> Vec<Span> {
    let mut raw: Vec<(Ms, Line)> = vec![(Ms::ZERO, Line::Before)];
    for step in steps {
        if step.from < step.entry.at && matches!(step.line, Line::Compressing(_)) {
            // What compressed in truth, from the beginning on; a gap in between stays one.
            let since = raw.iter_mut().filter(|(from, _)| *from >= step.from);
            for (_, line) in since.filter(|(_, line)| matches!(line, Line::Compressing(_))) {
                *line = step.line;
            }
            continue;
        }
        // What is not known after a kill takes the place of what was thought of that time.
        while raw.last().is_some_and(|(from, _)| *from > step.from) {
            raw.pop();
        }
        if raw.last().is_none_or(|(_, line)| *line != step.line) {
            raw.push((step.from, step.line));
        }
    }
    let ends = raw.iter().skip(1).map(|(from, _)| *from).chain([end]);
    let mut spans: Vec<Span> = Vec::new();
    for ((from, line), to) in raw.iter().zip(ends) {
        let (doing, reason) = told(*line);
        take(&mut spans, *from, to.max(*from), doing, reason);
    }
    without_slips(spans)
}

fn told(line: Line) -> (Doing, Option<Reason>) {
    match line {
        Line::Before => (Doing::HandsOff, None),
        Line::Compressing(by) => (Doing::Compressing(by), None),
        Line::HandsOff(reason) => (Doing::HandsOff, Some(reason)),
        Line::Pulse => (Doing::Circulation, None),
        Line::Unknown => (Doing::Unknown, None),
        Line::Ended => (Doing::Ended, None),
    }
}

/// Adds a span; one without length is none, and hands off that go on are one span.
fn take(spans: &mut Vec<Span>, from: Ms, to: Ms, doing: Doing, reason: Option<Reason>) {
    if from == to {
        return;
    }
    match spans.last_mut().filter(|last| last.doing == doing) {
        Some(last) => {
            last.to = to;
            if let Some(reason) = reason.filter(|r| last.reasons.last() != Some(r)) {
                last.reasons.retain(|known| *known != reason);
                last.reasons.push(reason);
            }
        }
        None => spans.push(Span {
            from,
            to,
            doing,
            reasons: reason.into_iter().collect(),
        }),
    }
}

/// A pulse set right within its first second goes to what was before it.
fn without_slips(spans: Vec<Span>) -> Vec<Span> {
    let next: Vec<Doing> = spans.iter().skip(1).map(|s| s.doing).collect();
    let mut kept: Vec<Span> = Vec::new();
    for (n, span) in spans.into_iter().enumerate() {
        let set_right = span.doing == Doing::Circulation
            && span.len() < LEAST_PULSE
            && matches!(next.get(n), Some(Doing::Compressing(_) | Doing::HandsOff));
        match kept.last_mut() {
            Some(last) if set_right => last.to = span.to,
            Some(last) if last.doing == span.doing => {
                last.to = span.to;
                for reason in span.reasons {
                    last.reasons.retain(|known| *known != reason);
                    last.reasons.push(reason);
                }
            }
            Some(_) | None => kept.push(span),
        }
    }
    kept
}
