//! Runs that may stand in one figure: of one kind, by one version of the definitions.

use record::RunKind;

use crate::{
    SHARES, Seen, VALUES,
    figures::{Figure, Share, figure, share},
};

/// Runs or drills by one version of the definitions, and their figures.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Runs, or drills.
    pub kind: RunKind,
    /// The version of the definitions that their records name.
    pub definitions: String,
    /// How many.
    pub runs: usize,
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

/// The groups of runs and of drills, in this order. Rehearsals and tests have no figures, and neither has a record
/// that was changed or damaged; with `unit` only that unit's are taken.
pub fn groups(all: &[Seen], unit: Option<&str>) -> Vec<Group> {
    let mut runs: Vec<&Seen> = all
        .iter()
        .filter(|run| matches!(run.kind, RunKind::Run | RunKind::Drill) && run.is_sound)
        .filter(|run| unit.is_none() || run.unit.as_deref() == unit)
        .collect();
    // Stable: of runs that began together the order of the record ids stays.
    runs.sort_by_key(|run| run.began.unix_ms());
    runs.sort_by(|a, b| {
        let by = |run: &Seen| order(run.kind);
        by(a)
            .cmp(&by(b))
            .then_with(|| a.definitions.cmp(&b.definitions))
    });
    let parts = runs.chunk_by(|a, b| a.kind == b.kind && a.definitions == b.definitions);
    parts.filter_map(group).collect()
}

fn group(runs: &[&Seen]) -> Option<Group> {
    let first = runs.first()?;
    let month = |run: &Seen| format!("{:04}-{:02}", run.year, run.month);
    // Clocks of two zones may show another order of months than that of the moments.
    let earliest = runs.iter().min_by_key(|run| run.months())?;
    let latest = runs.iter().max_by_key(|run| run.months())?;
    let mut by_month = runs.to_vec();
    by_month.sort_by_key(|run| (run.months(), run.began.unix_ms()));
    Some(Group {
        kind: first.kind,
        definitions: first.definitions.to_string(),
        runs: runs.len(),
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
