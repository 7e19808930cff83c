//! The score sheet of a drill that is over, in words.

use ::drill::{MarkRow, MeasureRow, Scenario, Sheet, Verdict, Yardstick};

use super::{DrillSheet, DrillWord, NOTHING};
use crate::{Table, Words};

impl Words {
    /// The score sheet of a drill.
    pub fn drill_sheet(&self, scenario: &Scenario, sheet: &Sheet) -> DrillSheet {
        let percent = self.decimal(&format!("{:.1}", sheet.percent));
        let points = [sheet.points.to_string(), sheet.of.to_string()];
        let [points, of] = &points;
        let verdict = match sheet.verdict {
            Verdict::Passed => DrillWord::Passed,
            Verdict::NotPassed => DrillWord::NotPassed,
            Verdict::NotFinished => DrillWord::NotFinished,
        };
        let mut notes: Vec<String> = (sheet.checklist.iter())
            .map(|item| {
                let is_ticked = sheet.ticked.contains(item);
                let word = if is_ticked {
                    DrillWord::Ticked
                } else {
                    DrillWord::NotTicked
                };
                self.drill(word, &[&self.drill_item(*item)])
            })
            .collect();
        notes.push(self.drill(DrillWord::NotMeasured, &[]));
        DrillSheet {
            title: self.drill(
                DrillWord::Sheet,
                &[&scenario.letter, scenario.name.of(self.lang())],
            ),
            notice: format!(
                "{} {}",
                self.drill(DrillWord::Notice, &[]),
                self.drill_variation(sheet.seed)
            ),
            lines: vec![
                // Nought of nought would read as a score.
                if sheet.of == 0 {
                    self.drill(DrillWord::NothingReached, &[])
                } else {
                    self.drill(DrillWord::Points, &[points, of, &percent])
                },
                self.drill(verdict, &[]),
            ],
            marks: self.drill_marks(scenario, &sheet.marks),
            measures: self.drill_measures(&sheet.measures),
            yardsticks: self.drill_sources(scenario, sheet),
            notes,
        }
    }

    fn drill_marks(&self, scenario: &Scenario, rows: &[MarkRow]) -> Table {
        let name = |row: &MarkRow| {
            let rule = scenario.expect.iter().find(|rule| rule.id == row.id);
            let name = rule.map_or("", |rule| rule.name.of(self.lang()));
            if row.must {
                self.drill(DrillWord::Must, &[name])
            } else {
                name.to_owned()
            }
        };
        let limit = |row: &MarkRow| {
            if row.earliest_s > 0.0 {
                let span = [self.figure(row.earliest_s), self.figure(row.within_s)];
                let [from, to] = &span;
                self.drill(DrillWord::Between, &[from, to])
            } else {
                self.figure(row.within_s)
            }
        };
        let columns = [
            DrillWord::ColMark,
            DrillWord::ColOutcome,
            DrillWord::ColTook,
            DrillWord::ColLimit,
            DrillWord::ColPoints,
        ];
        Table {
            title: self.drill(DrillWord::Expected, &[]),
            columns: columns.iter().map(|word| self.drill(*word, &[])).collect(),
            rows: (rows.iter())
                .map(|row| {
                    vec![
                        name(row),
                        self.drill_outcome(row.outcome),
                        row.took_s
                            .map_or_else(|| NOTHING.to_owned(), |s| self.figure(s)),
                        limit(row),
                        points(row.points, row.of),
                    ]
                })
                .collect(),
            none: None,
        }
    }

    fn drill_measures(&self, rows: &[MeasureRow]) -> Table {
        let columns = [
            DrillWord::ColMeasure,
            DrillWord::ColValue,
            DrillWord::ColAim,
            DrillWord::ColPoints,
        ];
        let value = |row: &MeasureRow| match row.value {
            None => NOTHING.to_owned(),
            Some(value) if row.upper_bound => {
                self.drill(DrillWord::OrLower, &[&self.figure(value)])
            }
            Some(value) => self.figure(value),
        };
        Table {
            title: self.drill(DrillWord::ColMeasure, &[]),
            columns: columns.iter().map(|word| self.drill(*word, &[])).collect(),
            rows: (rows.iter())
                .map(|row| {
                    vec![
                        self.drill_measure(row.what),
                        value(row),
                        self.drill_aim(row),
                        points(row.points, row.of),
                    ]
                })
                .collect(),
            none: None,
        }
    }

    fn drill_aim(&self, row: &MeasureRow) -> String {
        match (row.least, row.most) {
            (Some(least), Some(most)) => self.drill(
                DrillWord::Between,
                &[&self.figure(least), &self.figure(most)],
            ),
            (Some(least), None) => self.drill(DrillWord::AtLeast, &[&self.figure(least)]),
            (None, Some(most)) => self.drill(DrillWord::AtMost, &[&self.figure(most)]),
            (None, None) => NOTHING.to_owned(),
        }
    }

    /// Where each aim comes from, whose the limits are, and what was published beside the measures.
    fn drill_sources(&self, scenario: &Scenario, sheet: &Sheet) -> Vec<String> {
        let aim = |row: &MeasureRow| {
            let of = [self.drill_measure(row.what), self.drill_aim(row)];
            let [name, aim] = &of;
            self.drill(DrillWord::Aim, &[name, aim, row.source.of(self.lang())])
        };
        let yardstick = |yard: &Yardstick| {
            let of = [self.drill_measure(yard.what), self.figure(yard.value)];
            let [name, value] = &of;
            let source = yard.source.of(self.lang());
            self.drill(DrillWord::Yardstick, &[name, value, source])
        };
        let mut lines: Vec<String> = sheet.measures.iter().map(aim).collect();
        lines.push(self.drill(DrillWord::Limits, &[&sheet.pass_percent.to_string()]));
        let beside = scenario.yardsticks.iter();
        let beside = beside.filter(|yard| sheet.measures.iter().any(|row| row.what == yard.what));
        lines.extend(beside.map(yardstick));
        lines
    }
}

/// What was not reached has none.
fn points(points: u32, of: u32) -> String {
    if of == 0 {
        return NOTHING.to_owned();
    }
    format!("{points}/{of}")
}
