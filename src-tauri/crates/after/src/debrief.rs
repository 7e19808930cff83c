//! The debrief: the longest pauses first, then the strip, the bars, the measures and the tables.

use chart::{BarFrame, Order, Palette, StripFrame};
use cycle::{Fact, Mark, Ms, mark::Reason};
use debrief::{Basis, Course, Fault, Measures, PauseRow, State};
use words::{
    BasisKey, Chart, Debrief, LongPause, Moment, ReasonKey, SaidWord as S, SealLine,
    SheetWord as W, Strip, Table,
};

use crate::seen::Seen;

/// What the page is drawn for.
#[derive(Clone, Copy, Debug)]
pub struct Frame {
    /// As recorded; else as amended.
    pub recorded: bool,
    /// How wide a picture may be, px.
    pub width: u32,
    /// The colours.
    pub theme: Theme,
}

/// The colours of the screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Theme {
    /// Light on dark.
    Day,
    /// Dark on light.
    Glare,
    /// Dimmed.
    Night,
}

impl Theme {
    pub(crate) const fn palette(self) -> &'static Palette {
        match self {
            Self::Day => &chart::DAY_DARK,
            Self::Glare => &chart::GLARE,
            Self::Night => &chart::NIGHT,
        }
    }
}

/// The page's font, and the size of a chart's words: 20 minutes of arc at 0.4 m (`docs/glance.md` has the limits).
pub(crate) const FONT: &str = "Carry Sans";
pub(crate) const TEXT: f64 = 22.0;
/// Narrower pictures hold no words.
const NARROWEST: u32 = 240;
/// So many pauses stand at the top. Source: own; what a crew talks about first.
const LONGEST: usize = 3;
/// So many digits of a fingerprint are set apart. Source: common practice, no source; 64 bits, more than
/// any two records agree in by chance.
const DIGITS: usize = 16;
/// What can be said of a pause, in the order of the keys.
const REASONS: [Reason; 16] = [
    Reason::RhythmCheck,
    Reason::PulseCheck,
    Reason::Shock,
    Reason::Ventilation,
    Reason::Airway,
    Reason::Access,
    Reason::Ultrasound,
    Reason::Procedure,
    Reason::Rotate,
    Reason::Move,
    Reason::DeviceFit,
    Reason::DeviceReseat,
    Reason::DeviceOff,
    Reason::DeviceFault,
    Reason::Power,
    Reason::StopCare,
];

impl Frame {
    const fn basis(self) -> Basis {
        if self.recorded {
            Basis::Recorded
        } else {
            Basis::Amended
        }
    }

    pub(crate) fn width(self) -> f64 {
        f64::from(self.width.max(NARROWEST))
    }
}

impl Seen<'_> {
    pub(crate) fn debrief(&self, frame: Frame, shut: Option<String>) -> Result<Debrief, Fault> {
        let words = self.words;
        let m = debrief::measures(self.opened, frame.basis())?;
        let course = debrief::course(self.opened, frame.basis())?;
        let drawn = course.window.is_some_and(|w| !w.is_empty());
        Ok(Debrief {
            id: self.opened.header.record_id.clone(),
            title: words.sheet(W::Title),
            head: self.head(&m),
            bases: self.bases(frame),
            longest_title: words.sheet(W::LongestHead),
            longest: self.longest(&m),
            longest_line: self.pauses_line(&m),
            reasons: REASONS
                .iter()
                .map(|reason| ReasonKey {
                    reason: *reason,
                    label: words.reason_key(*reason),
                })
                .collect(),
            strip_title: words.sheet(W::StripHead),
            strip: drawn.then(|| self.drawn_strip(&course, frame, None)),
            bars_title: words.sheet(W::BarsHead),
            bars: (!course.pauses.is_empty()).then(|| self.bars(&course, frame)),
            measures: table(sheet::fractions(words, &m)),
            trust: sheet::trust_line(words, &m),
            notes: vec![words.sheet(W::Precision), m.version.to_owned()],
            tables: sheet::tables(words, &m, &course)
                .into_iter()
                .map(table)
                .chain(self.all_marks(frame))
                .collect(),
            shut,
            seal: self.seal(),
        })
    }

    /// A part of the strip.
    pub(crate) fn strip(&self, frame: Frame, span: (Ms, Ms)) -> Result<Strip, Fault> {
        let course = debrief::course(self.opened, frame.basis())?;
        Ok(self.drawn_strip(&course, frame, Some(span)))
    }

    fn head(&self, m: &Measures) -> Vec<String> {
        let words = self.words;
        let began = self.opened.stamps.first().map_or_else(
            || words.said(S::NotSaid, &[]),
            |s| conduct::clock::shown(s.wall),
        );
        let length = chart::clock(conduct::past::length(self.opened));
        let mut out = vec![
            words.said(S::Head, &[&began, &length]),
            if self.is_amended() {
                sheet::basis(words, m.basis)
            } else {
                words.said(S::NothingAmended, &[])
            },
        ];
        out.extend(self.kind());
        if !m.is_sound {
            out.push(words.said(S::Shortened, &[]));
        }
        out
    }

    /// Whether a mark was changed, by the crew in the run or by a review.
    fn is_amended(&self) -> bool {
        let entries = self.opened.entries.iter();
        entries
            .map(|entry| &entry.fact)
            .any(|fact| matches!(fact, Fact::Amend(_)))
    }

    /// Every mark that stands, in order; `None`: the protocol that names them cannot be read.
    fn all_marks(&self, frame: Frame) -> Option<Table> {
        let setup = conduct::past::setup(self.opened).ok()?;
        let drugs = Seen::drugs(&setup);
        let view = record::review::view(self.opened, &setup);
        let mut marks: Vec<(Ms, cycle::Seq, &Mark)> = view
            .marks
            .iter()
            .filter_map(|m| match &m.recorded {
                Some((at, mark)) if frame.recorded => Some((*at, m.seq, mark)),
                _ => (m.stands && !frame.recorded).then_some((m.at, m.seq, &m.mark)),
            })
            .collect();
        marks.sort_by_key(|(at, seq, _)| (*at, *seq));
        let words = self.words;
        let row = |(at, _, mark): (Ms, cycle::Seq, &Mark)| {
            vec![self.when(self.wall(at), at), words.mark_text(mark, &drugs)]
        };
        Some(Table {
            title: words.said(S::AllMarks, &[]),
            columns: vec![words.said(S::MarkWhen, &[]), words.said(S::MarkWhat, &[])],
            rows: marks.into_iter().map(row).collect(),
            none: None,
        })
    }

    fn bases(&self, frame: Frame) -> Vec<BasisKey> {
        if !self.is_amended() {
            return Vec::new();
        }
        let taken = |recorded: bool| {
            let basis = Frame { recorded, ..frame }.basis();
            debrief::taken(self.opened, basis)
        };
        [true, false]
            .map(|recorded| BasisKey {
                recorded,
                label: sheet::basis(self.words, taken(recorded)),
                on: recorded == frame.recorded,
            })
            .to_vec()
    }

    fn longest(&self, m: &Measures) -> Vec<LongPause> {
        let zero = m.windows.recognition.map_or(Ms::ZERO, |w| w.from_ms);
        let mut rows: Vec<&PauseRow> = m.pauses.of.rows.iter().collect();
        rows.sort_by_key(|row| (std::cmp::Reverse(row.ms), row.from_ms));
        rows.into_iter()
            .take(LONGEST)
            .map(|row| LongPause {
                at: row.from_ms,
                length: self
                    .words
                    .sheet_with(W::Seconds, &[&chart::seconds(row.ms).to_string()]),
                when: self.when(self.wall(row.from_ms), row.from_ms.since(zero)),
                reason: (row.reason != Reason::Unknown)
                    .then(|| self.words.reason(Some(row.reason))),
            })
            .collect()
    }

    fn pauses_line(&self, m: &Measures) -> String {
        let all = &m.pauses.of;
        if m.windows.recognition.is_none() {
            return self.words.sheet(W::NoWindow);
        }
        if all.rows.is_empty() {
            return self.words.sheet(W::EmptyPauses);
        }
        self.words.sheet_with(
            W::PausesLine,
            &[
                &all.count.to_string(),
                &chart::seconds(all.min_ms).to_string(),
                &all.over_10_s.to_string(),
            ],
        )
    }

    fn drawn_strip(&self, course: &Course, frame: Frame, span: Option<(Ms, Ms)>) -> Strip {
        let words = self.words;
        let width = frame.width();
        let asked = StripFrame {
            span,
            width,
            minute: None,
            text: TEXT,
        };
        let (begin, end) = course
            .window
            .map_or((Ms::ZERO, Ms::ZERO), |w| (w.from_ms, w.to_ms));
        let (from, to) = span.unwrap_or((begin, end));
        let from = from.max(begin).min(end);
        let scene = chart::strip(course, words, &asked);
        let edges = asked.edges(course, words);
        let told = chart::strip_told(course, words);
        Strip {
            chart: Chart {
                svg: scene.svg(frame.theme.palette(), FONT, "px"),
                told: told.sentence.clone(),
                table: told_table(told),
            },
            from,
            to: to.max(from).min(end),
            begin,
            end,
            left: edges.left / width,
            right: edges.right / width,
            top: (edges.top / scene.height).min(1.0),
            foot: (edges.foot / scene.height).min(1.0),
            moments: course.stretches.iter().map(|s| self.moment(s)).collect(),
        }
    }

    fn moment(&self, stretch: &debrief::Stretch) -> Moment {
        let words = self.words;
        let name = words.sheet(match stretch.state {
            State::Compressing(cycle::mark::By::Manual) => W::ByHand,
            State::Compressing(cycle::mark::By::Mechanical) => W::ByDevice,
            State::HandsOff => W::HandsOff,
            State::Circulation => W::Circulation,
            State::Unknown => W::Unknown,
        });
        let long = words.sheet_with(W::Seconds, &[&chart::seconds(stretch.len()).to_string()]);
        let said = words.sheet_with(W::Pair, &[&name, &long]);
        Moment {
            from: stretch.from,
            text: match stretch.reason.filter(|_| stretch.state == State::HandsOff) {
                Some(reason) => words.sheet_with(W::Pair, &[&said, &words.reason(Some(reason))]),
                None => said,
            },
        }
    }

    fn bars(&self, course: &Course, frame: Frame) -> Chart {
        let scene = chart::bars(
            course,
            self.words,
            &BarFrame {
                order: Order::Time,
                part: (0, course.pauses.len()),
                width: frame.width(),
                text: TEXT,
            },
        );
        let told = chart::bars_told(course, self.words);
        Chart {
            svg: scene.svg(frame.theme.palette(), FONT, "px"),
            told: told.sentence.clone(),
            table: told_table(told),
        }
    }

    fn seal(&self) -> SealLine {
        let words = self.words;
        let whole = record::fingerprint(self.opened).to_string();
        let digits: Vec<char> = whole.chars().take(DIGITS).collect();
        let groups: Vec<String> = digits.chunks(4).map(|four| four.iter().collect()).collect();
        let waits = self.opened.seals.is_empty() && self.opened.is_sound();
        SealLine {
            title: words.fixed(words::Fixed::Fingerprint).to_owned(),
            verdict: if waits {
                words.said(S::SealWaits, &[])
            } else {
                sheet::verdict(self.opened, words)
            },
            digits: groups.join(" "),
            whole,
            used: words.fixed(words::Fixed::FingerprintUse).to_owned(),
        }
    }
}

fn told_table(told: chart::Told) -> Table {
    Table {
        title: told.title,
        columns: told.columns,
        rows: told.rows,
        none: Some(told.sentence),
    }
}

fn table(listed: sheet::Table) -> Table {
    Table {
        title: listed.title,
        columns: listed.columns,
        rows: listed.rows,
        none: Some(listed.none),
    }
}
