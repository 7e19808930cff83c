//! The score sheet of a drill: every expected mark, every measure, the points. Only of a drill that is over.

use cycle::{Fact, Mark, Ms, mark::RunMark};
use debrief::{Basis, Fault, measures};
use record::{Opened, amended};
use serde::Serialize;

use crate::{
    measured::{is_upper_bound, seconds, value},
    scenario::{CueKind, Item, MeasureRule, Said, Scenario, What},
    told::{Told, told},
    walk::{Heard, Met, Outcome, Walked, walk_over},
};

/// A cue as it came.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CueRow {
    /// Its id.
    pub id: String,
    /// What it did.
    pub kind: CueKind,
    /// Which way it went, where there were several.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub choice: Option<String>,
    /// When, s from the beginning; `None`: it was never told.
    pub at_s: Option<f64>,
}

/// A mark that was expected.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MarkRow {
    /// Its id.
    pub id: String,
    /// What became of it.
    pub outcome: Outcome,
    /// How long it took, s; `None`: it did not come.
    pub took_s: Option<f64>,
    /// In time from here, s.
    #[serde(skip_serializing_if = "is_zero")]
    pub earliest_s: f64,
    /// Its limit, s.
    pub within_s: f64,
    /// Without it, and in order, the drill is not passed.
    pub must: bool,
    /// Points.
    pub points: u32,
    /// Of so many; none where it was not reached.
    pub of: u32,
}

/// A measure.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MeasureRow {
    /// Which.
    pub what: What,
    /// Its value; `None`: not known.
    pub value: Option<f64>,
    /// It may be lower: breath pauses were not marked.
    #[serde(skip_serializing_if = "core::ops::Not::not")]
    pub upper_bound: bool,
    /// At least.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least: Option<f64>,
    /// At most.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub most: Option<f64>,
    /// Points.
    pub points: u32,
    /// Of so many; none where the drill was over before it could be known.
    pub of: u32,
    /// Where the bound comes from, or that it is the drill's own.
    pub source: Said,
}

/// What no mark tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NotMeasured {
    /// How deep compressions were.
    Depth,
    /// Whether the chest came up again.
    Recoil,
}

/// How a drill ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Enough points, and each mark that must be there in order.
    Passed,
    /// Not that.
    NotPassed,
    /// It was over before each mark that must be could come, and none of them was missed: neither passed nor failed.
    NotFinished,
}

/// The score sheet of a drill.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sheet {
    /// The scenario's id.
    pub scenario: String,
    /// Its version.
    pub version: String,
    /// What it varied by.
    pub seed: u32,
    /// The cues as they came.
    pub cues: Vec<CueRow>,
    /// The marks that were expected.
    pub marks: Vec<MarkRow>,
    /// The measures.
    pub measures: Vec<MeasureRow>,
    /// Points.
    pub points: u32,
    /// Of so many.
    pub of: u32,
    /// Per cent, to a tenth.
    pub percent: f64,
    /// Whether it was passed.
    pub passed: bool,
    /// Whether it was passed, not passed, or neither.
    pub verdict: Verdict,
    /// Of which points it is passed, per cent.
    pub pass_percent: u32,
    /// What the instructor ticked: beside the score, never in it.
    pub ticked: Vec<Item>,
    /// What the instructor was to look at.
    pub checklist: Vec<Item>,
    /// What this sheet says nothing of.
    pub not_measured: [NotMeasured; 2],
}

/// Scores the record of a drill.
///
/// # Errors
/// Where the run cannot be measured, see [`debrief::measures()`].
pub fn sheet(scenario: &Scenario, opened: &Opened) -> Result<Sheet, Fault> {
    let told = told(opened);
    let seed = told.seed.unwrap_or(0);
    let marks = standing(opened);
    let walked = walk_over(scenario, seed, &marks, &told.heard, over(opened, &marks));
    let of = measures(opened, Basis::Amended)?;
    let rows = mark_rows(scenario, &walked);
    let whole = (rows.iter()).all(|row| row.outcome != Outcome::NotReached);
    let measured: Vec<MeasureRow> = (scenario.measures.iter())
        .filter(|rule| scenario.holds(rule.only, seed))
        .map(|rule| measure_row(rule, &of, whole))
        .collect();
    let sum = |points: &mut dyn Iterator<Item = u32>| points.fold(0, u32::saturating_add);
    let points = sum(&mut rows
        .iter()
        .map(|row| row.points)
        .chain(measured.iter().map(|row| row.points)));
    let all = sum(&mut rows
        .iter()
        .map(|row| row.of)
        .chain(measured.iter().map(|row| row.of)));
    let tenths = tenths(points, all);
    let verdict = verdict(
        &rows,
        all,
        tenths >= scenario.pass_percent.saturating_mul(10),
    );
    Ok(Sheet {
        scenario: scenario.id.clone(),
        version: scenario.version.clone(),
        seed,
        cues: cue_rows(scenario, seed, &told.heard),
        marks: rows,
        measures: measured,
        points,
        of: all,
        percent: f64::from(tenths) / 10.0,
        passed: verdict == Verdict::Passed,
        verdict,
        pass_percent: scenario.pass_percent,
        ticked: ticked(scenario, &told),
        checklist: scenario.checklist.clone(),
        not_measured: [NotMeasured::Depth, NotMeasured::Recoil],
    })
}

/// The marks of a record that stand, in order of time.
pub(crate) fn standing(opened: &Opened) -> Vec<(Ms, Mark)> {
    let entries = amended(&opened.entries).entries;
    let marks = entries.into_iter().filter_map(|entry| match entry.fact {
        Fact::Mark(mark) => Some((entry.at, mark)),
        Fact::Amend(_) | Fact::Deed(_) => None,
    });
    marks.collect()
}

/// When the drill was over: its end as marked, else its last line that is no review's.
fn over(opened: &Opened, marks: &[(Ms, Mark)]) -> Ms {
    let ended =
        |(at, mark): &(Ms, Mark)| matches!(mark, Mark::Run(RunMark::End { .. })).then_some(*at);
    let ended = marks.iter().rev().find_map(ended);
    ended.unwrap_or_else(|| opened.run_end())
}

/// With no point to be had nothing was reached.
fn verdict(rows: &[MarkRow], of: u32, enough: bool) -> Verdict {
    let must = || rows.iter().filter(|row| row.must).map(|row| row.outcome);
    let is_missed = |outcome| matches!(outcome, Outcome::WrongOrder | Outcome::Forgotten);
    if must().any(is_missed) {
        Verdict::NotPassed
    } else if of == 0 || must().any(|outcome| outcome == Outcome::NotReached) {
        Verdict::NotFinished
    } else if enough {
        Verdict::Passed
    } else {
        Verdict::NotPassed
    }
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks by reference")]
fn is_zero(seconds: &f64) -> bool {
    *seconds <= 0.0
}

/// Tenths of a per cent, halves upwards.
fn tenths(points: u32, of: u32) -> u32 {
    let half = of.checked_div(2).unwrap_or(0);
    let scaled = points.saturating_mul(1000).saturating_add(half);
    scaled.checked_div(of).unwrap_or(0)
}

/// In the order in which they were told; those that never were come last.
fn cue_rows(scenario: &Scenario, seed: u32, heard: &Heard) -> Vec<CueRow> {
    let mut rows: Vec<(Option<Ms>, CueRow)> = (scenario.cues.iter().enumerate())
        .map(|(n, rule)| {
            let at = heard.0.get(&rule.id).copied();
            let row = CueRow {
                id: rule.id.clone(),
                kind: scenario.cue(n, seed).map_or(rule.kind, |(kind, _)| kind),
                choice: (scenario.choice(n, seed))
                    .and_then(|choice| rule.choices.get(choice))
                    .map(|choice| choice.id.clone()),
                at_s: at.map(seconds),
            };
            (at, row)
        })
        .collect();
    rows.sort_by_key(|(at, _)| (at.is_none(), *at));
    rows.into_iter().map(|(_, row)| row).collect()
}

fn mark_rows(scenario: &Scenario, walked: &Walked) -> Vec<MarkRow> {
    let each = scenario.expect.iter().zip(&walked.marks);
    let row = |(rule, met): (&crate::Expected, &Option<Met>)| {
        let met = (*met)?;
        Some(MarkRow {
            id: rule.id.clone(),
            outcome: met.outcome(),
            took_s: met.took().map(seconds),
            earliest_s: seconds(rule.earliest),
            within_s: seconds(rule.within),
            must: rule.must,
            points: met.points().saturating_mul(rule.weight),
            of: if met.reached {
                rule.weight.saturating_mul(2)
            } else {
                0
            },
        })
    };
    each.filter_map(row).collect()
}

/// What is not known of a drill that was over before all was reached may have come later.
fn measure_row(rule: &MeasureRule, of: &debrief::Measures, whole: bool) -> MeasureRow {
    let value = value(rule.what, of);
    let inside = value.is_some_and(|found| {
        rule.least.is_none_or(|least| found >= least) && rule.most.is_none_or(|most| found <= most)
    });
    let all = if value.is_some() || whole {
        rule.weight.saturating_mul(2)
    } else {
        0
    };
    MeasureRow {
        what: rule.what,
        value,
        upper_bound: is_upper_bound(rule.what, of),
        least: rule.least,
        most: rule.most,
        points: if inside { all } else { 0 },
        of: all,
        source: rule.source.clone(),
    }
}

fn ticked(scenario: &Scenario, told: &Told) -> Vec<Item> {
    let items = scenario.checklist.iter().copied();
    items
        .filter(|item| told.ticked.contains(item.word()))
        .collect()
}
