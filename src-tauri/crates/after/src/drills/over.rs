//! A crew's drills over time: points and the longest pause, by scenario. Both figures, their medians and how far they
//! can be trusted come from the score sheets and from what reads many runs; nothing is measured here.

use std::collections::BTreeSet;

use ::drill::Verdict;
use chart::{Across, Dot, PointFrame, points};
use debrief::{Basis, measures};
use record::Wall;
use trends::{Measure, Seen, Spread, Trust, spread};
use words::{
    Chart, DrillOver, DrillWord, OverChart, OverGroup, SheetWord, Table, TrendWord, Words,
};

use super::{Done, is_ahead, scenarios};
use crate::{
    After, AfterError, Frame,
    debrief::{FONT, TEXT},
};

/// A median is said from so many drills on. Own: of fewer it says no more than the dots do.
const ENOUGH: usize = 5;

/// A drill among the others of its scenario.
struct One {
    seen: Seen,
    /// Passed or not; neither would stand as 0 or 100 % beside drills that were gone through to the end.
    is_scored: bool,
    percent: f64,
    day: String,
}

impl After {
    /// A crew's drills over time; an empty code stands for those without one. One that began after `now` has no place in
    /// the order of time.
    ///
    /// # Errors
    /// See [`AfterError`]; a single record that cannot be read is passed over.
    pub fn drills_over(
        &self,
        words: &Words,
        now: Wall,
        crew: &str,
        frame: Frame,
    ) -> Result<DrillOver, AfterError> {
        let known = scenarios();
        let done = self.done(&known)?;
        let of_crew: Vec<Done> = (done.into_iter())
            .filter(|one| one.past.crew == crew)
            .collect();
        let in_time = of_crew.iter().filter(|one| !is_ahead(one.began, now));
        let all: Vec<One> = in_time.filter_map(seen).collect();
        // Of a drill that was gone through again the last try counts, as in every figure over time.
        let earlier: BTreeSet<String> = all
            .iter()
            .filter_map(|one| one.seen.drill.as_ref())
            .flat_map(|drill| drill.earlier.iter().cloned())
            .collect();
        let is_last = |one: &&One| {
            let drill = one.seen.drill.as_ref();
            let is_last = drill.is_some_and(|drill| !earlier.contains(&drill.id));
            is_last && one.is_scored && one.seen.is_sound
        };
        let last: Vec<&One> = all.iter().filter(is_last).collect();
        let mut groups = Vec::new();
        for scenario in &known {
            let name = format!("{} {}", scenario.id, scenario.version);
            let of_it = |one: &&One| {
                let drill = one.seen.drill.as_ref();
                drill.and_then(|drill| drill.scenario.as_deref()) == Some(name.as_str())
            };
            let of_scenario: Vec<&One> = last.iter().copied().filter(of_it).collect();
            // Patients of two classes, and two versions of the definitions, are never in one figure.
            let key = |one: &One| (one.seen.class.word(), one.seen.definitions.to_string());
            let keys: BTreeSet<_> = of_scenario.iter().map(|one| key(one)).collect();
            let are_several = keys.len() > 1;
            for part in keys {
                let of_part: Vec<&One> = of_scenario
                    .iter()
                    .copied()
                    .filter(|one| key(one) == part)
                    .collect();
                let mut title = words.drill_name(scenario);
                if let Some(first) = of_part.first().filter(|_| are_several) {
                    let seen = &first.seen;
                    let (class, definitions) = (words.class(seen.class), &seen.definitions);
                    title = words.drill(DrillWord::OverApart, &[&title, &class, definitions]);
                }
                groups.push(group(words, &title, &of_part, frame));
            }
        }
        let crew = words.drill_crew(crew);
        let mut notes = vec![words.drill(DrillWord::OverNote, &[])];
        if groups.is_empty() {
            notes = vec![words.drill(why_none(&of_crew), &[])];
        } else {
            notes.push(words.trend(TrendWord::Precision));
        }
        Ok(DrillOver {
            title: words.drill(DrillWord::OverTitle, &[&crew]),
            notes,
            groups,
        })
    }
}

/// Why no drill of a crew's is drawn.
fn why_none(kept: &[Done]) -> DrillWord {
    let is_early = |one: &Done| one.past.verdict == Some(Verdict::NotFinished);
    if kept.is_empty() {
        DrillWord::OverNone
    } else if kept.iter().all(is_early) {
        DrillWord::OverNoneEnded
    } else {
        DrillWord::OverNoneDrawn
    }
}

fn seen(one: &Done) -> Option<One> {
    let sheet = one.sheet.as_ref()?;
    let measured = measures(&one.opened, Basis::Amended).ok()?;
    let day = one.began.to_string();
    Some(One {
        seen: Seen::of(&one.opened, &measured)?,
        is_scored: sheet.verdict != Verdict::NotFinished,
        percent: sheet.percent,
        day: day.get(..10).unwrap_or_default().to_owned(),
    })
}

fn group(words: &Words, title: &str, all: &[&One], frame: Frame) -> OverGroup {
    let of = |value: &dyn Fn(&One) -> Option<f64>| -> Vec<(&One, f64)> {
        let each = all.iter().copied();
        each.filter_map(|one| Some((one, value(one)?))).collect()
    };
    let score = Figure {
        label: words.drill(DrillWord::OverScore, &[]),
        unit: words.drill(DrillWord::OverScoreUnit, &[]),
        is_percent: true,
        values: of(&|one| Some(one.percent)),
    };
    let longest = Figure {
        label: words.trend(Measure::Longest.word()),
        unit: words.trend(TrendWord::UnitSeconds),
        is_percent: false,
        values: of(&|one| Measure::Longest.of(&one.seen)),
    };
    let figures = [score, longest];
    OverGroup {
        title: words.drill(DrillWord::OverGroup, &[title, &all.len().to_string()]),
        charts: figures
            .iter()
            .filter(|figure| !figure.values.is_empty())
            .map(|figure| figure.drawn(words, title, frame))
            .collect(),
    }
}

struct Figure<'a> {
    label: String,
    unit: String,
    is_percent: bool,
    values: Vec<(&'a One, f64)>,
}

impl Figure<'_> {
    fn shown(&self, words: &Words, value: f64) -> String {
        let text = words.decimal(&format!("{value:.1}"));
        if self.is_percent {
            format!("{text} %")
        } else {
            words.sheet_with(SheetWord::Seconds, &[&text])
        }
    }

    fn median(&self) -> Option<Spread> {
        let values: Vec<f64> = self.values.iter().map(|(_, value)| *value).collect();
        spread(&values).filter(|spread| spread.n >= ENOUGH)
    }

    fn drawn(&self, words: &Words, title: &str, frame: Frame) -> OverChart {
        let median = self.median();
        let count = self.values.len().to_string();
        let said = match median {
            Some(found) => words.drill(
                DrillWord::OverSpread,
                &[
                    &self.shown(words, found.median),
                    &words.sheet_with(
                        SheetWord::FromTo,
                        &[&self.shown(words, found.q1), &self.shown(words, found.q3)],
                    ),
                    &count,
                ],
            ),
            None => words.drill(DrillWord::OverFew, &[&count]),
        };
        let dots = self.values.iter().map(|(one, value)| Dot {
            // Day and month alone: the year stands in the table.
            label: one.day.get(5..).unwrap_or_default().to_owned(),
            value: *value,
            limits: None,
        });
        let across = median.iter().map(|found| Across {
            value: found.median,
            // The line below the picture says that it is the median: there is more room for the dots.
            label: self.shown(words, found.median),
            of_others: false,
        });
        let told = words.drill(DrillWord::OverTold, &[&self.label, title]);
        let scene = points(&PointFrame {
            title: told.clone(),
            told: format!("{told} {said}"),
            unit: self.unit.clone(),
            is_share: false,
            dots: dots.collect(),
            joined: false,
            across: across.collect(),
            decimal: words.decimal("."),
            width: frame.width(),
            text: TEXT,
        });
        let rows = self
            .values
            .iter()
            .map(|(one, value)| vec![one.day.clone(), self.shown(words, *value)]);
        OverChart {
            label: self.label.clone(),
            chart: Chart {
                svg: scene.svg(frame.theme.palette(), FONT, "px"),
                told,
                table: Table {
                    title: self.label.clone(),
                    columns: [TrendWord::ColWhen, TrendWord::ColValue]
                        .map(|word| words.trend(word))
                        .to_vec(),
                    rows: rows.collect(),
                    none: None,
                },
            },
            spread: said,
            trust: self.trust(words),
        }
    }

    /// How far the marks of these drills go, as beside every figure over time.
    fn trust(&self, words: &Words) -> String {
        let trust = self.values.iter().fold(Trust::default(), |sum, (one, _)| {
            let run = &one.seen;
            Trust {
                runs: sum.runs.saturating_add(1),
                window_ms: sum.window_ms.saturating_add(run.window.0),
                known_ms: sum.known_ms.saturating_add(run.known.0),
                checks_marked: sum.checks_marked.saturating_add(run.checks_marked),
                checks_due: sum.checks_due.saturating_add(run.checks_due),
                unsealed: sum.unsealed.saturating_add(run.unsealed),
            }
        });
        let known = trust.coverage().map_or_else(
            || words.sheet(SheetWord::NotKnown),
            |share| words.decimal(&format!("{share:.2}")),
        );
        let checks = words.sheet_with(
            SheetWord::Measured,
            &[
                &trust.checks_marked.to_string(),
                &trust.checks_due.to_string(),
            ],
        );
        words.trend_with(
            TrendWord::TrustLine,
            &[&known, &checks, &trust.unsealed.to_string()],
        )
    }
}
