//! What is carried over into the care record, a row at a time.

use debrief::{Basis, Fault};
use exports::ProcedureCodes;
use record::RunKind;
use words::{CarryLine, CarryPage, SaidWord as S};

use crate::seen::Seen;

impl Seen<'_> {
    pub(crate) fn carry_page(&self) -> Result<CarryPage, Fault> {
        let words = self.words;
        let own = ProcedureCodes::default();
        let carried = exports::carry_over(self.opened, Basis::Amended, words, &own)?;
        let count = carried.rows.len();
        let no_run = (carried.kind != RunKind::Run).then(|| words.said(S::NotARun, &[]));
        // An offset is told beside each time; no time is shifted by it.
        let clocks: Vec<String> = carried
            .clocks
            .iter()
            .map(|clock| {
                let said = if clock.moved {
                    S::ClockMoved
                } else {
                    S::Offset
                };
                words.said(said, &[&clock.name, &clock.offset()])
            })
            .collect();
        let rows = (1_usize..).zip(&carried.rows).map(|(n, row)| {
            let time = row.time.as_ref();
            let is_time = time.is_some_and(|t| {
                let whole = format!("{}T{}{}", t.date, t.time, t.offset);
                row.value.as_ref().is_none_or(|value| *value == whole)
            });
            let value = match (time, &row.value) {
                (Some(time), _) if is_time => time.time.clone(),
                (_, Some(value)) => value.clone(),
                (_, None) => words.said(S::NotSaid, &[]),
            };
            let mut notes: Vec<String> = Vec::new();
            notes.extend(row.group.map(|n| words.said(S::Number, &[&n.to_string()])));
            notes.extend(
                time.filter(|_| !is_time)
                    .map(|t| words.said(S::AtTime, &[&t.time])),
            );
            notes.extend(row.confirm.clone());
            notes.extend(row.source_words.clone());
            match &no_run {
                Some(said) => notes.push(said.clone()),
                None if time.is_some() => notes.extend(clocks.clone()),
                None => {}
            }
            CarryLine {
                element: row.element.clone(),
                name: row.name.clone(),
                value,
                day: time.map(|t| t.date.clone()),
                notes,
                place: words.said(S::Place, &[&n.to_string(), &count.to_string()]),
            }
        });
        Ok(CarryPage {
            id: self.opened.header.record_id.clone(),
            title: words.after_labels().carry_over,
            rows: rows.collect(),
            typed: (0..=count)
                .map(|n| words.said(S::TypedOf, &[&n.to_string()]))
                .collect(),
            none: words.said(S::NothingToCarry, &[]),
        })
    }
}
