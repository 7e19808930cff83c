//! A record opened for measuring: its marks in order, the state line over them, and the window.

use cycle::{
    ClipLengths, Entry, Fact, Line, Mark, Ms, Prompt, Protocol, Setup, Step,
    mark::{Outcome, RunMark},
    trace,
};
use record::{Header, Opened, Stamp};

use crate::{
    measures::{Basis, Fault},
    pauses::{Off, offs},
    spans::{Doing, Span, spans},
    window::{self, Windows},
};

/// What every measure is made from.
pub(crate) struct Run<'a> {
    pub(crate) header: &'a Header,
    pub(crate) setup: &'a Setup,
    /// The protocol is the record's own, not a stand-in.
    pub(crate) own_protocol: bool,
    pub(crate) steps: Vec<Step<'a>>,
    /// Deeds and standing marks, by the time at which they happened.
    pub(crate) entries: &'a [Entry],
    /// When each line was written, by its number: its stamp and its run time.
    pub(crate) stamps: &'a [(cycle::Seq, Stamp, Ms)],
    pub(crate) spans: Vec<Span>,
    /// Stretches of hands off within the window.
    pub(crate) offs: Vec<Off>,
    pub(crate) windows: Windows,
}

impl<'a> Run<'a> {
    pub(crate) fn new(
        header: &'a Header,
        (setup, own_protocol): (&'a Setup, bool),
        entries: &'a [Entry],
        stamps: &'a [(cycle::Seq, Stamp, Ms)],
    ) -> Self {
        let steps = trace(setup, entries);
        // A review's amendments come later and are no part of the run.
        let last = entries.iter().map(|e| e.taken.max(e.at)).max();
        let spans = spans(&steps, last.unwrap_or_default());
        let windows = window::windows(header, &steps, &spans);
        let offs = offs(&spans, windows.recognition);
        Self {
            header,
            setup,
            own_protocol,
            steps,
            entries,
            stamps,
            spans,
            offs,
            windows,
        }
    }

    /// The protocol as it was in force for these numbers; `None` where the record does not hold it.
    pub(crate) fn protocol(&self, class: cycle::mark::PatientClass) -> Option<&Protocol> {
        self.own_protocol.then(|| self.setup.protocol_of(class))
    }

    /// The window's ends; nothing where there is no window.
    pub(crate) fn ends(&self) -> Option<(Ms, Ms)> {
        self.windows.recognition.map(|w| (w.from_ms, w.to_ms))
    }

    pub(crate) fn is_in_window(&self, at: Ms) -> bool {
        self.ends().is_some_and(|(from, to)| from <= at && at <= to)
    }

    /// The marks that stand, in order.
    pub(crate) fn marks(&self) -> impl Iterator<Item = (Ms, &'a Mark)> {
        self.entries.iter().filter_map(|e| match &e.fact {
            Fact::Mark(mark) => Some((e.at, mark)),
            Fact::Deed(_) | Fact::Amend(_) => None,
        })
    }

    /// Time in a state between two moments.
    pub(crate) fn time_in(&self, from: Ms, to: Ms, is: impl Fn(Doing) -> bool) -> Ms {
        self.spans
            .iter()
            .filter(|span| is(span.doing))
            .map(|span| span.within(from, to))
            .fold(Ms::ZERO, Ms::plus)
    }

    /// The stretch of hands off that a moment lies in, its ends included.
    pub(crate) fn off_at(&self, at: Ms) -> Option<&Off> {
        self.offs.iter().find(|off| off.span.touches(at))
    }

    /// What the crew was doing from this moment on.
    pub(crate) fn doing_at(&self, at: Ms) -> Option<Doing> {
        self.spans
            .iter()
            .find(|span| span.from <= at && at < span.to)
            .map(|span| span.doing)
    }
}

/// The numbers a run was decided with, and whether they are the record's own.
///
/// # Errors
/// A built-in file that cannot be read.
pub(crate) fn setup(opened: &Opened) -> Result<(Setup, bool), Fault> {
    let class = opened.header.patient_class;
    let clips = |given: Option<ClipLengths>| {
        given
            .map_or_else(
                || ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 1000)).collect()),
                Ok,
            )
            .map_err(|prompt| Fault {
                place: "clip lengths".to_owned(),
                what: format!("{} has none", prompt.word()),
            })
    };
    if let Some(line) = &opened.protocol
        && let Ok(protocol) = Protocol::parse(line.toml.as_bytes())
    {
        let others = line.others.iter();
        return Ok((
            Setup {
                protocol,
                clips: clips(line.pack.clips().ok())?,
                class,
                others: others
                    .filter_map(|text| Protocol::parse(text.as_bytes()).ok())
                    .collect(),
            },
            true,
        ));
    }
    // The state line needs a protocol to be folded with; no window is taken from this one.
    let text = Protocol::example_for(class).unwrap_or_default();
    let protocol = Protocol::parse(text.as_bytes()).map_err(|faults| Fault {
        place: format!("the built-in protocol for class {}", class.word()),
        what: faults.first().map(ToString::to_string).unwrap_or_default(),
    })?;
    let stand_in = Setup {
        protocol,
        clips: clips(None)?,
        class,
        others: Vec::new(),
    };
    Ok((stand_in, false))
}

/// Deeds and standing marks by the time at which they happened.
pub(crate) fn standing(opened: &Opened, basis: Basis) -> Vec<Entry> {
    match basis {
        Basis::Amended => record::amended(&opened.entries).entries,
        Basis::Recorded => {
            let marks = opened.entries.iter();
            let mut entries: Vec<Entry> = marks
                .filter(|e| !matches!(e.fact, Fact::Amend(_)))
                .cloned()
                .collect();
            entries.sort_by_key(|e| (e.place(), e.seq));
            entries
        }
    }
}

/// How the crew ended the run, where that stands to the end.
pub(crate) fn outcome(steps: &[Step<'_>]) -> Option<(Ms, Option<Outcome>)> {
    let ended = steps.iter().rposition(|s| s.line != Line::Ended);
    let first = ended.map_or(0, |n| n.saturating_add(1));
    let step = steps.get(first)?;
    let outcome = match &step.entry.fact {
        Fact::Mark(Mark::Run(RunMark::End { outcome, .. })) => Some(*outcome),
        Fact::Mark(_) | Fact::Deed(_) | Fact::Amend(_) => None,
    };
    Some((step.from, outcome))
}
