//! The tables of many runs: those of one run, longer, with what is followed over time beside them.

use debrief::{Column, Form, Measures, Table, sheets};
use record::Opened;

use crate::{Drill, Group, Seen, spread::real};

/// The tables that are written, each with one row a run, pause, shock, drug, interval, fitting, cup check, swap.
pub const NAMES: [&str; 8] = [
    "runs",
    "pauses",
    "shocks",
    "drugs",
    "drug_intervals",
    "fittings",
    "cup_checks",
    "power_swaps",
];

const fn column(
    name: &'static str,
    datatype: &'static str,
    unit: &'static str,
    what: &'static str,
) -> Column {
    Column {
        name,
        datatype,
        unit,
        what,
    }
}

/// What every table has besides: of which copy a row is.
const COPY: Column = column(
    "fingerprint",
    "string",
    "",
    "SHA-256 of the last line of the copy that was measured: with run it joins the tables",
);

/// What `runs` has besides.
const MORE: [Column; 13] = [
    column(
        "definitions",
        "string",
        "",
        "version of the definitions that the record names: figures of two are never mixed",
    ),
    column("schema", "string", "", "version of the record's format"),
    column("crew_size", "integer", "", "people in the crew"),
    column(
        "first_fitting_s",
        "decimal",
        "s",
        "off the chest in the first fitting that ended with the device running",
    ),
    column(
        "pre_shock_s",
        "decimal",
        "s",
        "median before its timed shocks",
    ),
    column(
        "post_shock_s",
        "decimal",
        "s",
        "median after its timed shocks",
    ),
    column(
        "peri_shock_s",
        "decimal",
        "s",
        "median around its timed shocks",
    ),
    column(
        "doses_inside",
        "integer",
        "",
        "intervals between doses inside their window",
    ),
    column(
        "doses_placed",
        "integer",
        "",
        "intervals between doses that have a window",
    ),
    column(
        "scenario",
        "string",
        "",
        "of a drill: id and version of its scenario",
    ),
    column(
        "again_of",
        "string",
        "",
        "of a drill: the earlier try that it goes on from, whose lines it repeats",
    ),
    column(
        "class",
        "string",
        "",
        "whose numbers, at the end: figures of two classes are never mixed",
    ),
    column(
        "lines",
        "integer",
        "",
        "lines of the copy that was measured",
    ),
];

fn seconds(value: Option<f64>) -> String {
    // A median of two lies half a millisecond between them.
    value.map_or_else(String::new, |value| format!("{value:.4}"))
}

/// The tables of a run, in the order of [`NAMES`].
pub fn tables(opened: &Opened, measures: &Measures, seen: &Seen) -> Vec<Table> {
    let mut all = sheets(opened, measures, &Form::Own);
    all.retain(|table| NAMES.contains(&table.name));
    if let Some(runs) = all.iter_mut().find(|table| table.name == "runs") {
        runs.columns.extend(MORE);
        let drill = |of: fn(&Drill) -> Option<String>| {
            let drill = seen.drill.as_ref();
            drill.and_then(|drill| of(drill)).unwrap_or_default()
        };
        for row in &mut runs.rows {
            row.extend([
                seen.definitions.to_string(),
                opened.header.schema.to_string(),
                opened.header.crew_size.to_string(),
                seconds(seen.fitting_s),
                seconds(seen.pre_s),
                seconds(seen.post_s),
                seconds(seen.peri_s),
                seen.doses_inside.to_string(),
                seen.doses_placed.to_string(),
                drill(|d| d.scenario.clone()),
                drill(|d| d.earlier.last().cloned()),
                seen.class.word().to_owned(),
                opened.chain.next().0.to_string(),
            ]);
        }
    }
    let copy = opened.chain.head().to_string();
    for table in &mut all {
        table.columns.push(COPY);
        for row in &mut table.rows {
            row.push(copy.clone());
        }
    }
    all
}

const FIGURES: [Column; 19] = [
    column("kind", "string", "", "run or drill"),
    column(
        "definitions",
        "string",
        "",
        "version of the definitions that the records name",
    ),
    column("class", "string", "", "whose numbers, at the end"),
    column(
        "scenario",
        "string",
        "",
        "of drills: id and version of their scenario",
    ),
    column("measure", "string", "", "the measure, with its unit"),
    column(
        "n",
        "integer",
        "",
        "runs with a value; of a share: of how many",
    ),
    column("x", "integer", "", "of a share: so many of n"),
    column("q1", "decimal", "", "lower quartile, in the measure's unit"),
    column("median", "decimal", "", "median; of a share: the share"),
    column("q3", "decimal", "", "upper quartile"),
    column(
        "coverage",
        "decimal",
        "1",
        "known time of the windows of those runs",
    ),
    column(
        "checks_marked",
        "integer",
        "",
        "rhythm checks of those runs that were marked",
    ),
    column(
        "checks_due",
        "integer",
        "",
        "those and the ones never marked",
    ),
    column("points", "integer", "", "points of its chart"),
    column(
        "longest_run",
        "integer",
        "",
        "longest run of points on one side of their median; empty: no rule",
    ),
    column(
        "longest_run_limit",
        "integer",
        "",
        "a longer one is a signal",
    ),
    column("crossings", "integer", "", "crossings of the median"),
    column("crossings_limit", "integer", "", "fewer are a signal"),
    column(
        "outside_limits",
        "integer",
        "",
        "of a share: points outside their limits; empty: no point has limits",
    ),
];

/// Every figure of the report as a table.
pub fn figures_table(groups: &[Group]) -> Table {
    let number = |value: f64| format!("{value:.6}");
    let may = |value: Option<usize>| value.map_or_else(String::new, |n| n.to_string());
    let mut rows = Vec::new();
    for group in groups {
        let head = || {
            vec![
                group.kind.word().to_owned(),
                group.definitions.clone(),
                group.class.word().to_owned(),
                group.scenario.clone().unwrap_or_default(),
            ]
        };
        for figure in &group.figures {
            let rules = figure.rules.map(|(_, rules)| rules);
            let mut row = head();
            row.extend([
                figure.measure.key().to_owned(),
                figure.spread.n.to_string(),
                String::new(),
                number(figure.spread.q1),
                number(figure.spread.median),
                number(figure.spread.q3),
                figure.trust.coverage().map(number).unwrap_or_default(),
                figure.trust.checks_marked.to_string(),
                figure.trust.checks_due.to_string(),
                figure.points.len().to_string(),
                may(rules.map(|r| r.longest)),
                may(rules.map(|r| r.longest_limit)),
                may(rules.map(|r| r.crossings)),
                may(rules.map(|r| r.crossings_limit)),
                String::new(),
            ]);
            rows.push(row);
        }
        for share in &group.shares {
            let whole = real(share.x) / real(share.n).max(1.0);
            let mut row = head();
            row.extend([
                share.of.key().to_owned(),
                share.n.to_string(),
                share.x.to_string(),
                String::new(),
                number(whole),
                String::new(),
                share.trust.coverage().map(number).unwrap_or_default(),
                share.trust.checks_marked.to_string(),
                share.trust.checks_due.to_string(),
                share.points.len().to_string(),
                String::new(),
                String::new(),
                String::new(),
                String::new(),
                may(share.limits.as_ref().map(|_| share.outside())),
            ]);
            rows.push(row);
        }
    }
    Table {
        name: "figures",
        columns: FIGURES.to_vec(),
        rows,
    }
}
