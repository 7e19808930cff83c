//! Runs that may stand in one figure: of one kind and patient class, drills of one scenario, by one version of the
//! definitions.

use std::collections::BTreeSet;

use cycle::mark::PatientClass;
use record::RunKind;

use crate::{
    SHARES, Seen, VALUES,
    figures::{Figure, Share, figure, share},
};

/// Runs, or drills of one scenario, of one patient class by one version of the definitions, and their figures.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Runs, or drills.
    pub kind: RunKind,
    /// Of drills id and version of the scenario; `None` also where their headers name none.
    pub scenario: Option<String>,
    /// Whose numbers.
    pub class: PatientClass,
    /// The version of the definitions that their records name.
    pub definitions: String,
    /// How many.
    pub runs: usize,
    /// Earlier tries of these drills, which are in no figure: a later one repeats their lines.
    pub earlier: usize,
    /// How many neither ended nor were sealed: measured to their last line.
    pub unended: usize,
    /// The first and the last month, as `2026-03`.
    pub span: (String, String),
    /// The measures that have a value.
    pub figures: Vec<Figure>,
    /// The shares that have something to share.
    pub shares: Vec<Share>,
}

const fn order(kind: RunKind) -> u8 {
    match kind {
        RunKind::Run => 0,
        RunKind::Drill => 1,
        RunKind::Rehearsal => 2,
        RunKind::Test => 3,
    }
}

/// What all of a group share, in the order of the groups.
fn key(run: &Seen) -> (u8, Option<&str>, &'static str, &str) {
    let scenario = run.drill.as_ref().and_then(|d| d.scenario.as_deref());
    let definitions = run.definitions.as_ref();
    (order(run.kind), scenario, run.class.word(), definitions)
}

/// The groups of runs and of drills, in this order. Rehearsals and tests have no figures, and neither has a record
/// that was changed or damaged, nor a try of a drill that another one goes on from; with `unit` only that unit's are
/// taken.
pub fn groups(all: &[Seen], unit: Option<&str>) -> Vec<Group> {
    let mut runs: Vec<&Seen> = all
        .iter()
        .filter(|run| matches!(run.kind, RunKind::Run | RunKind::Drill) && run.is_sound)
        .filter(|run| unit.is_none() || run.unit.as_deref() == unit)
        .collect();
    // Stable: of runs that began together the order of the record ids stays.
    runs.sort_by_key(|run| run.began.unix_ms());
    runs.sort_by(|a, b| key(a).cmp(&key(b)));
    let gone_on: BTreeSet<&str> = runs
        .iter()
        .filter_map(|run| run.drill.as_ref())
        .flat_map(|drill| drill.earlier.iter().map(String::as_str))
        .collect();
    let is_last = |run: &&Seen| {
        let drill = run.drill.as_ref();
        drill.is_none_or(|drill| !gone_on.contains(drill.id.as_str()))
    };
    let parts = runs.chunk_by(|a, b| key(a) == key(b));
    parts
        .filter_map(|part| {
            let last: Vec<&Seen> = part.iter().copied().filter(is_last).collect();
            group(&last, part.len().saturating_sub(last.len()))
        })
        .collect()
}

fn group(runs: &[&Seen], earlier: usize) -> Option<Group> {
    let first = runs.first()?;
    let month = |run: &Seen| format!("{:04}-{:02}", run.year, run.month);
    // Clocks of two zones may show another order of months than that of the moments.
    let earliest = runs.iter().min_by_key(|run| run.months())?;
    let latest = runs.iter().max_by_key(|run| run.months())?;
    let mut by_month = runs.to_vec();
    by_month.sort_by_key(|run| (run.months(), run.began.unix_ms()));
    Some(Group {
        kind: first.kind,
        scenario: first.drill.as_ref().and_then(|d| d.scenario.clone()),
        class: first.class,
        definitions: first.definitions.to_string(),
        runs: runs.len(),
        earlier,
        unended: runs.iter().filter(|run| !run.is_over).count(),
        span: (month(earliest), month(latest)),
        figures: VALUES
            .iter()
            .filter_map(|measure| figure(*measure, &by_month))
            .collect(),
        shares: SHARES
            .iter()
            .filter_map(|of| share(*of, &by_month))
            .collect(),
    })
}
