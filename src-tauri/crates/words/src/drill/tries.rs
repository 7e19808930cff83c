//! Tries of one drill side by side, and one that was stopped to be looked at.

use ::drill::{CueKind, MarkRow, Outcome, Scenario, Sheet, Walked};
use cycle::Ms;

use super::{
    DrillStrip, DrillWord, NOTHING, StripKind, StripName, StripPart, TryBar, TryRow, face::clock,
};
use crate::{SheetWord, Words};

impl Words {
    /// Tries of one drill side by side, the first first: how long each mark took in each. A bar that ends at its
    /// limit says so without colour: the limit is a line, and the words stand beside it.
    pub fn drill_tries(&self, scenario: &Scenario, sheets: &[Sheet]) -> Vec<TryRow> {
        let ids = sheets
            .last()
            .map(|sheet| sheet.marks.as_slice())
            .unwrap_or_default();
        ids.iter()
            .map(|row| {
                let of_row: Vec<Option<&MarkRow>> = (sheets.iter())
                    .map(|sheet| sheet.marks.iter().find(|other| other.id == row.id))
                    .collect();
                let took = of_row.iter().flatten().filter_map(|row| row.took_s);
                let longest = took.fold(row.within_s, f64::max);
                let bar = |(n, found): (usize, Option<&MarkRow>)| {
                    let took = found.and_then(|row| row.took_s);
                    let outcome = found.map_or(Outcome::Forgotten, |row| row.outcome);
                    let seconds = took.map_or_else(|| NOTHING.to_owned(), |s| self.figure(s));
                    TryBar {
                        label: self.drill(DrillWord::Try, &[&n.saturating_add(1).to_string()]),
                        width: took.map_or(0, |took| thousandths(took, longest)),
                        text: format!("{seconds} s, {}", self.drill_outcome(outcome)),
                        good: outcome == Outcome::InTime,
                    }
                };
                let name = scenario.expect.iter().find(|rule| rule.id == row.id);
                TryRow {
                    name: name.map_or("", |rule| rule.name.of(self.lang())).to_owned(),
                    limit: thousandths(row.within_s, longest),
                    bars: of_row.iter().copied().enumerate().map(bar).collect(),
                }
            })
            .collect()
    }

    /// The marks that were expected up to now, of a drill that was stopped: how long each took, and what is still open.
    /// No points: a drill that goes on is not scored.
    pub fn drill_so_far(&self, scenario: &Scenario, walked: &Walked, now: Ms) -> Vec<TryRow> {
        let each = scenario.expect.iter().zip(&walked.marks);
        let begun = each.filter_map(|(rule, met)| {
            let met = (*met)?;
            (met.zero <= now).then_some((rule, met))
        });
        begun
            .map(|(rule, met)| {
                let (within, open) = (seconds(rule.within), met.at.is_none() && now < met.until);
                let took = met.took().map(seconds);
                let longest = took.unwrap_or(0.0).max(within);
                let text = match took {
                    None if open => self.drill(DrillWord::NotYet, &[]),
                    None => self.drill_outcome(Outcome::Forgotten),
                    Some(took) => {
                        format!(
                            "{} s, {}",
                            self.figure(took),
                            self.drill_outcome(met.outcome())
                        )
                    }
                };
                TryRow {
                    name: rule.name.of(self.lang()).to_owned(),
                    limit: thousandths(within, longest),
                    bars: vec![TryBar {
                        label: String::new(),
                        width: took.map_or(0, |took| thousandths(took, longest)),
                        text,
                        good: met.outcome() == Outcome::InTime,
                    }],
                }
            })
            .collect()
    }

    /// On the chest and off it from `span.0` to `span.1`: stretches of time and what was done in each; `off` are the times off the chest, s.
    pub fn drill_strip(
        &self,
        label: String,
        pieces: &[(Ms, Ms, StripKind)],
        off: &[u64],
        (span, cut): ((Ms, Ms), Option<Ms>),
    ) -> DrillStrip {
        let (from, to) = span;
        let whole = seconds(to.since(from));
        let place = |at: Ms| thousandths(seconds(at.max(from).min(to).since(from)), whole);
        let parts = pieces
            .iter()
            .filter(|(begin, end, _)| *begin < to && *end > from);
        let off: Vec<String> = off
            .iter()
            .map(|s| self.sheet_with(SheetWord::Seconds, &[&s.to_string()]))
            .collect();
        DrillStrip {
            label,
            parts: parts
                .map(|(begin, end, kind)| StripPart {
                    left: place(*begin),
                    width: place(*end).saturating_sub(place(*begin)),
                    kind: *kind,
                })
                .collect(),
            cut: cut.map(place),
            told: if off.is_empty() {
                self.drill(DrillWord::StripNone, &[])
            } else {
                self.drill(DrillWord::StripOff, &[&off.join(", ")])
            },
            from: clock(from),
            to: clock(to),
        }
    }

    /// What the parts of these strips stand for.
    pub fn drill_strip_names(&self, strips: &[&DrillStrip]) -> Vec<StripName> {
        let parts = strips.iter().flat_map(|strip| &strip.parts);
        let mut kinds: Vec<StripKind> = parts.map(|part| part.kind).collect();
        kinds.sort_unstable();
        kinds.dedup();
        kinds
            .into_iter()
            .map(|kind| StripName {
                kind,
                label: self.sheet(match kind {
                    StripKind::Hand => SheetWord::ByHand,
                    StripKind::Device => SheetWord::ByDevice,
                    StripKind::Off => SheetWord::HandsOff,
                    StripKind::Other => SheetWord::Unknown,
                }),
            })
            .collect()
    }

    /// What the instructor injected, a line each: it stands on the score sheet, and no mark was expected for it.
    pub fn drill_injected(&self, injected: &[(CueKind, Ms)]) -> Vec<String> {
        let each = injected.iter();
        each.map(|(kind, at)| {
            let s = at.0.checked_div(1000).unwrap_or(0).to_string();
            self.drill(DrillWord::InjectedAt, &[&self.drill_kind(*kind), &s])
        })
        .collect()
    }
}

fn seconds(ms: Ms) -> f64 {
    u32::try_from(ms.0).map_or_else(|_| f64::from(u32::MAX), f64::from) / 1000.0
}

/// A share of the whole, thousandths; nought where there is no whole.
fn thousandths(part: f64, whole: f64) -> u32 {
    if whole <= 0.0 {
        return 0;
    }
    #[expect(
        clippy::as_conversions,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 1000 by the clamp"
    )]
    let found = (part / whole * 1000.0).round().clamp(0.0, 1000.0) as u32;
    found
}
