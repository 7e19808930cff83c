//! What a figure needs of one run: small, so that a hundred thousand of them lie in memory together.

use std::sync::Arc;

use cycle::{
    Entry, Fact, Ms,
    fact::{Deed, DrillWord},
    mark::{Mark, PatientClass, RunMark},
};
use debrief::{Measures, Taken};
use record::{Answer, Opened, RunKind, Wall};

use crate::spread::spread;

/// What a figure needs of a drill besides.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Drill {
    /// The record's id.
    pub id: String,
    /// Id and version of its scenario, if its header names one.
    pub scenario: Option<String>,
    /// The earlier tries that it goes on from, the last of them last: it repeats their lines.
    pub earlier: Vec<String>,
}

/// A run among others.
#[derive(Clone, Debug, PartialEq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a fact of the run by itself"
)]
pub struct Seen {
    /// Run, drill, rehearsal or test.
    pub kind: RunKind,
    /// Of a drill.
    pub drill: Option<Box<Drill>>,
    /// Whose numbers were in force last: a run often begins before anybody has said whose.
    pub class: PatientClass,
    /// The version of the measures' definitions that its header names.
    pub definitions: Arc<str>,
    /// The service's own opaque code of the unit.
    pub unit: Option<Arc<str>>,
    /// When it began, by the phone's wall clock.
    pub began: Wall,
    /// The year that this clock showed.
    pub year: i32,
    /// And the month, from 1.
    pub month: i32,
    /// The crew saw the arrest: reported apart.
    pub crew_saw: bool,
    /// Nothing in its file was changed.
    pub is_sound: bool,
    /// Its end was marked, or it was sealed.
    pub is_over: bool,
    /// Amendments since the last seal.
    pub unsealed: usize,
    /// The window's length, and what of it is known.
    pub window: Ms,
    /// Known time.
    pub known: Ms,
    /// Rhythm checks that were marked.
    pub checks_marked: usize,
    /// Those and the ones never marked.
    pub checks_due: usize,
    /// Compression fraction from recognition.
    pub fraction: Option<f64>,
    /// It is an upper bound: breath pauses were not marked.
    pub is_bound: bool,
    /// It lies below 0.60; `None`: not known.
    pub below_floor: Option<bool>,
    /// The longest pause, s.
    pub longest_s: Option<f64>,
    /// Off the chest in the first fitting that ended with the device running, s.
    pub fitting_s: Option<f64>,
    /// Median before its timed shocks, s.
    pub pre_s: Option<f64>,
    /// Median after them, s.
    pub post_s: Option<f64>,
    /// Median around them, s.
    pub peri_s: Option<f64>,
    /// From the window's beginning to the first compression, s.
    pub first_compression_s: Option<f64>,
    /// To the first shock, s.
    pub first_shock_s: Option<f64>,
    /// To the first dose, s.
    pub first_drug_s: Option<f64>,
    /// Intervals between doses that lie inside their window.
    pub doses_inside: usize,
    /// Intervals that have a window.
    pub doses_placed: usize,
}

fn seconds(ms: Ms) -> f64 {
    u32::try_from(ms.0).map_or_else(|_| f64::from(u32::MAX), f64::from) / 1000.0
}

fn middle(values: impl Iterator<Item = Option<Ms>>) -> Option<f64> {
    let values: Vec<f64> = values.flatten().map(seconds).collect();
    spread(&values).map(|s| s.median)
}

/// Year and month that a wall clock showed.
fn month_of(wall: Wall) -> Option<(i32, i32)> {
    let text = wall.to_string();
    let mut parts = text.split('-');
    let year = parts.next()?.parse().ok()?;
    Some((year, parts.next()?.parse().ok()?))
}

fn drill_of(opened: &Opened) -> Drill {
    let earlier = opened.entries.iter().filter_map(|entry| match &entry.fact {
        Fact::Deed(Deed::Drill(line)) if line.what == DrillWord::Again => line.of.clone(),
        Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
    });
    let scenario = opened.header.scenario.as_ref();
    Drill {
        id: opened.header.record_id.clone(),
        scenario: scenario.map(|of| format!("{} {}", of.id, of.version)),
        earlier: earlier.collect(),
    }
}

/// The class of the last mark of one that stands, else the header's.
fn class_of(opened: &Opened, basis: Taken) -> PatientClass {
    let last = |entries: &[Entry]| {
        let marks = entries.iter().filter_map(|entry| match &entry.fact {
            Fact::Mark(Mark::Run(RunMark::Patient { class, .. })) => {
                Some((entry.place(), entry.seq, *class))
            }
            Fact::Mark(_) | Fact::Deed(_) | Fact::Amend(_) => None,
        });
        marks
            .max_by_key(|(at, seq, _)| (*at, *seq))
            .map(|(_, _, class)| class)
    };
    let is_amended = basis != Taken::Recorded
        && opened
            .entries
            .iter()
            .any(|entry| matches!(entry.fact, Fact::Amend(_)));
    let marked = if is_amended {
        last(&record::amended(&opened.entries).entries)
    } else {
        last(&opened.entries)
    };
    marked.unwrap_or(opened.header.patient_class)
}

impl Seen {
    /// A run that was measured; `None` where no line says when it began.
    pub fn of(opened: &Opened, m: &Measures) -> Option<Self> {
        let began = debrief::began(opened)?;
        let (year, month) = month_of(began)?;
        let time = m.time.as_ref().map(|t| &t.of);
        let trust = m.trust.as_ref().map(|t| &t.of);
        let fraction = m.fraction.as_ref().map(|f| &f.of);
        let first = m.first.as_ref().map(|f| &f.of);
        let window = m.windows.recognition.map_or(Ms::ZERO, debrief::Window::len);
        let intervals = || m.drugs.of.rows.iter().flat_map(|drug| &drug.intervals);
        let placed = intervals().filter(|i| i.place.is_some());
        let inside = intervals().filter(|i| i.place == Some(debrief::Place::Inside));
        let shocks = || m.shocks.of.rows.iter();
        let fitted = m.fittings.of.rows.iter().find(|f| f.running_ms.is_some());
        Some(Self {
            kind: m.kind,
            drill: (m.kind == RunKind::Drill).then(|| Box::new(drill_of(opened))),
            class: class_of(opened, m.basis),
            definitions: opened.header.metrics.as_str().into(),
            unit: opened.header.unit_code.as_deref().map(Arc::from),
            began,
            year,
            month,
            crew_saw: m.windows.ems_witnessed == Answer::Yes,
            is_sound: m.is_sound,
            is_over: m.windows.ends_by != debrief::EndsBy::LastLine || !opened.seals.is_empty(),
            unsealed: opened.unsealed(),
            window,
            known: window.minus(time.map_or(window, |t| t.unknown_ms)),
            checks_marked: trust.map_or(0, |t| t.checks_marked),
            checks_due: trust.map_or(0, |t| t.checks_due),
            fraction: fraction.and_then(|f| f.value),
            is_bound: fraction.is_some_and(|f| f.upper_bound),
            below_floor: fraction.and_then(|f| f.below_floor),
            longest_s: m.pauses.of.longest_ms.map(seconds),
            fitting_s: fitted.map(|f| seconds(f.total_ms)),
            pre_s: middle(shocks().map(|s| s.pre_ms)),
            post_s: middle(shocks().map(|s| s.post_ms)),
            peri_s: middle(shocks().map(|s| s.peri_ms)),
            first_compression_s: first.and_then(|f| f.compression_ms).map(seconds),
            first_shock_s: first.and_then(|f| f.shock_ms).map(seconds),
            first_drug_s: first.and_then(|f| f.drug_ms).map(seconds),
            doses_inside: inside.count(),
            doses_placed: placed.count(),
        })
    }

    /// Months since the year 0.
    pub(crate) const fn months(&self) -> i32 {
        self.year
            .saturating_mul(12)
            .saturating_add(self.month)
            .saturating_sub(1)
    }

    /// What is known of its window.
    pub fn coverage(&self) -> Option<f64> {
        let whole = seconds(self.window);
        (whole > 0.0).then(|| seconds(self.known) / whole)
    }
}

/// Milliseconds as a number, exact up to 2^53 of them.
pub(crate) fn length(ms: u64) -> f64 {
    let part = |n: u64| u32::try_from(n).map_or_else(|_| f64::from(u32::MAX), f64::from);
    part(ms.div_euclid(1 << 32)) * 4_294_967_296.0 + part(ms.rem_euclid(1 << 32))
}
