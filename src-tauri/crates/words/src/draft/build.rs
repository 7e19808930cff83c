//! From a form to what is shown of it.

use cycle::{Form, FormField, Prompt, Protocol, ProtocolFault, Rule, Whole, mark::BreathMode};

use super::{
    Draft, DraftField, DraftGroup, DraftInput, DraftOpen, DraftOption, DraftRow, DraftSource,
    DraftStray, DraftWord as W, OPTIONS, Situation, SituationKey, UNITS, field_key,
};
use crate::{Go, PaperLine, Part, Words};

/// What is known of a draft beside its form.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DraftFacts {
    /// Its name.
    pub of: String,
    /// Where it would be saved.
    pub place: String,
    /// A change can be taken back.
    pub can_take_back: bool,
    /// The minutes that can be heard with it.
    pub situations: Vec<Situation>,
}

impl Words {
    /// The line of the settings that opens the editor, where there is one.
    pub fn draft_door(&self) -> Part {
        let labels = self.draft_labels();
        let line = PaperLine {
            text: labels.title,
            note: Some(labels.note),
            go: Some(Go::Draft {}),
            ..PaperLine::default()
        };
        Part {
            heading: None,
            lines: vec![line],
        }
    }

    /// The editor: what can be copied, and the draft if there is one.
    pub fn draft(&self, sources: Vec<DraftSource>, open: Option<(&Form, &DraftFacts)>) -> Draft {
        Draft {
            labels: self.draft_labels(),
            sources,
            open: open.map(|(form, facts)| self.draft_open(form, facts)),
        }
    }

    fn draft_open(&self, form: &Form, facts: &DraftFacts) -> DraftOpen {
        let mut groups: Vec<DraftGroup> = Vec::new();
        for field in &form.fields {
            let id = group_of(&field.field);
            if groups.last().is_none_or(|group| group.id != id) {
                groups.push(self.draft_group(id, form));
            }
            if let Some(group) = groups.last_mut() {
                group.fields.push(self.draft_field(field));
            }
        }
        let mut faults = Vec::new();
        for fault in &form.faults {
            let stray = self.draft_stray(fault);
            let own = groups
                .iter_mut()
                .find(|group| group.id == group_of(&fault.field));
            own.map_or(&mut faults, |group| &mut group.faults)
                .push(stray);
        }
        let mut count = faults.len();
        for group in &mut groups {
            let own = group.fields.iter().map(|field| field.faults.len());
            let own = own.sum::<usize>().saturating_add(group.faults.len());
            count = count.saturating_add(own);
            if own > 0 {
                group.said = self.draft_said(W::Faults, &[&own.to_string()]);
            }
        }
        DraftOpen {
            title: self.draft_said(W::Of, &[&facts.of]),
            said: if count == 0 {
                self.word("draft", "no_faults")
            } else {
                self.draft_said(W::Faults, &[&count.to_string()])
            },
            is_sound: count == 0,
            faults,
            rows: self.draft_rows(&groups),
            groups,
            place: facts.place.clone(),
            can_take_back: facts.can_take_back,
            situations: facts
                .situations
                .iter()
                .map(|situation| SituationKey {
                    situation: *situation,
                    label: self.situation(*situation),
                })
                .collect(),
        }
    }

    /// Tables of the example that the draft has not; a checkpoint can come any number of times.
    fn draft_rows(&self, groups: &[DraftGroup]) -> Vec<DraftRow> {
        let is_there = |row: &str| {
            groups.iter().any(|group| {
                let own = format!("{}.key", group.id);
                let key = group.fields.iter().find(|field| field.field == own);
                let drug = key.map(|key| format!("drug.{}", key.value));
                group.id == row || drug.as_deref() == Some(row)
            })
        };
        let mut rows = Protocol::example_rows();
        rows.retain(|row| !is_there(row));
        let label = |row: &str| {
            let (table, name) = row.split_once('.').unwrap_or((row, ""));
            let name = match table {
                "overlay" => self.word("overlay", name),
                "drug" => name.to_owned(),
                _ => return self.word("form", table),
            };
            self.draft_said(W::Row, &[&self.word("form", table), &name])
        };
        rows.into_iter()
            .map(|row| DraftRow {
                label: label(&row),
                row,
            })
            .collect()
    }

    fn draft_group(&self, id: String, form: &Form) -> DraftGroup {
        let (table, row) = id.split_once('.').unwrap_or((&id, ""));
        let name = self.word("form", table);
        let value = |key: &str| {
            let field = format!("{id}.{key}");
            let found = form.fields.iter().find(|known| known.field == field);
            found
                .and_then(|found| found.value.clone())
                .unwrap_or_default()
        };
        let label = match table {
            "drug" => self.draft_said(W::Row, &[&name, &value("name")]),
            "minute" => self.draft_said(W::Row, &[&name, &value("at_min")]),
            "overlay" => self.draft_said(W::Row, &[&name, &self.word("overlay", row)]),
            _ => name,
        };
        DraftGroup {
            label,
            said: String::new(),
            take_out: (!row.is_empty()).then(|| id.clone()),
            faults: Vec::new(),
            fields: Vec::new(),
            id,
        }
    }

    fn draft_field(&self, field: &FormField) -> DraftField {
        let value = field.value.clone().unwrap_or_default();
        let faults = field.faults.iter();
        let mut allowed = self.draft_allowed(&field.rule);
        if let Some(range) = &field.range {
            allowed = self.draft_said(W::Here, &[&allowed, range]);
        }
        DraftField {
            label: self.draft_name(&field.page),
            input: self.draft_input(field, &value),
            is_there: field.value.is_some(),
            unit: unit(&field.rule).map_or_else(String::new, |unit| self.draft_unit(unit)),
            allowed,
            range: field
                .rule
                .has_range()
                .then(|| field.range.clone().unwrap_or_default())
                .filter(|_| field.has_source),
            source: field
                .has_source
                .then(|| field.source.clone().unwrap_or_default()),
            faults: faults.map(|fault| self.draft_fault(field, fault)).collect(),
            field: field.field.clone(),
            value,
        }
    }

    fn draft_name(&self, page: &str) -> String {
        self.plain(&field_key(page)).to_owned()
    }

    fn draft_input(&self, field: &FormField, value: &str) -> DraftInput {
        let chosen: Vec<&str> = value.split(',').map(str::trim).collect();
        let option = |word: String| DraftOption {
            label: self.draft_option(&field.page, &word),
            on: chosen.contains(&word.as_str()),
            value: word,
        };
        let words = |words: &[&str]| -> Vec<DraftOption> {
            words
                .iter()
                .map(|word| option((*word).to_owned()))
                .collect()
        };
        let numbers = |few: &[u8]| -> Vec<DraftOption> {
            few.iter().map(|n| option(n.to_string())).collect()
        };
        match &field.rule {
            Rule::Yes => DraftInput::Choice {
                options: words(&["true", "false"]),
            },
            Rule::Word(list) => DraftInput::Choice {
                options: words(list),
            },
            Rule::OneOf(few) => DraftInput::Choice {
                options: numbers(few),
            },
            Rule::Words(list) => DraftInput::Several {
                options: words(list),
            },
            Rule::Rising(few) => DraftInput::Several {
                options: numbers(few),
            },
            Rule::Lines(..) | Rule::Parts | Rule::Source => DraftInput::Lines {},
            Rule::Only(_)
            | Rule::Whole(_)
            | Rule::Text
            | Rule::Key
            | Rule::RisingTo(_)
            | Rule::Rows => DraftInput::Line {},
        }
    }

    /// A word of the file as it is read.
    fn draft_option(&self, page: &str, word: &str) -> String {
        if let Some(prompt) = Prompt::ALL.iter().find(|prompt| prompt.word() == word)
            && matches!(page, "voice.also_spoken" | "minute.prompt")
        {
            return self.prompt(*prompt);
        }
        if page == "class" {
            return self.word("class", word);
        }
        let is_mode = BreathMode::ALL.iter().any(|mode| mode.word() == word);
        if is_mode && (page.starts_with("airway.") || page == "breaths.mask") {
            return self.word("breaths", word);
        }
        if OPTIONS.contains(&word) {
            return self.word("option", word);
        }
        word.to_owned()
    }

    fn draft_unit(&self, unit: &str) -> String {
        let known = UNITS.iter().find(|(known, _)| *known == unit);
        known.map_or_else(|| unit.to_owned(), |(_, word)| self.word("unit", word))
    }

    /// What a rule allows, in words.
    fn draft_allowed(&self, rule: &Rule) -> String {
        let few = |few: &[u8]| {
            let few: Vec<String> = few.iter().map(u8::to_string).collect();
            few.join(", ")
        };
        match rule {
            Rule::Whole(Whole {
                low,
                high,
                unit,
                or_none,
            }) => {
                let word = if *or_none { W::WholeOrNone } else { W::Whole };
                let unit = self.draft_unit(unit);
                self.draft_said(word, &[&low.to_string(), &high.to_string(), &unit])
            }
            Rule::OneOf(list) => self.draft_said(W::OneOf, &[&few(list)]),
            Rule::Word(list) => self.draft_said(W::OneOf, &[&list.join(", ")]),
            Rule::Yes => self.draft_said(W::Yes, &[]),
            Rule::Words(_) => self.draft_said(W::Words, &[]),
            Rule::Text => self.draft_said(W::Text, &[]),
            Rule::Key => self.draft_said(W::Key, &[]),
            Rule::Lines(least, most) => {
                self.draft_said(W::Lines, &[&least.to_string(), &most.to_string()])
            }
            Rule::Rising(list) => self.draft_said(W::Rising, &[&few(list)]),
            Rule::RisingTo(high) => self.draft_said(W::RisingTo, &[&high.to_string()]),
            Rule::Parts => self.draft_said(W::Parts, &[]),
            Rule::Source => self.draft_said(W::Source, &[]),
            // Told in English, as a fault's detail is.
            Rule::Only(what) => self.fault(what),
            Rule::Rows => String::new(),
        }
    }

    /// A fault at its field. What its own rules say is said in the language of the screen; what comes of
    /// several fields together is a detail in English, as everywhere.
    fn draft_fault(&self, field: &FormField, fault: &ProtocolFault) -> String {
        let rules = [
            Some(field.rule.clone()),
            narrowed(field),
            Some(Rule::Source),
        ];
        let own = rules
            .into_iter()
            .flatten()
            .find(|rule| rule.allowed() == fault.allowed);
        let found = if fault.found == "missing" {
            self.word("draft", "missing")
        } else {
            fault.found.clone()
        };
        let allowed = own.map_or_else(
            || self.fault(&fault.allowed),
            |rule| self.draft_allowed(&rule),
        );
        let said = self.draft_said(W::Fault, &[&found, &allowed]);
        self.at_line(fault, said)
    }

    fn draft_stray(&self, fault: &ProtocolFault) -> DraftStray {
        let is_stray = fault.found == "not known";
        let detail = ProtocolFault {
            line: 0,
            ..fault.clone()
        };
        DraftStray {
            text: self.at_line(fault, self.fault(&detail.to_string())),
            take_out: is_stray.then(|| fault.field.clone()),
        }
    }

    fn at_line(&self, fault: &ProtocolFault, said: String) -> String {
        if fault.line == 0 {
            return said;
        }
        self.draft_said(W::AtLine, &[&fault.line.to_string(), &said])
    }
}

/// The rule as the file's own range has it.
fn narrowed(field: &FormField) -> Option<Rule> {
    let Rule::Whole(whole) = &field.rule else {
        return None;
    };
    let (low, high) = field.range.as_ref()?.split_once(", ")?;
    Some(Rule::Whole(Whole {
        low: low.parse().ok()?,
        high: high.parse().ok()?,
        ..*whole
    }))
}

fn unit(rule: &Rule) -> Option<&'static str> {
    match rule {
        Rule::Whole(whole) => Some(whole.unit),
        Rule::Rising(_) => Some("s"),
        Rule::Only(_)
        | Rule::OneOf(_)
        | Rule::Yes
        | Rule::Word(_)
        | Rule::Words(_)
        | Rule::Text
        | Rule::Key
        | Rule::Lines(..)
        | Rule::RisingTo(_)
        | Rule::Parts
        | Rule::Source
        | Rule::Rows => None,
    }
}

/// The table that a field stands in; a row is a table of its own.
fn group_of(field: &str) -> String {
    let mut parts = field.split('.');
    match (parts.next(), parts.next()) {
        (Some(table @ ("drug" | "minute" | "overlay")), Some(row)) => format!("{table}.{row}"),
        (Some(table), Some(_)) => table.to_owned(),
        _ => "head".to_owned(),
    }
}
