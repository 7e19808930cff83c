//! Every fault of a message file at once, each with its place and what mends it.

use std::{collections::BTreeSet, fmt};

use fluent_bundle::{FluentArgs, FluentBundle, FluentResource, FluentValue};
use fluent_syntax::{
    ast::{Entry, Expression, InlineExpression, Pattern, PatternElement},
    parser,
};
use unic_langid::LanguageIdentifier;

use crate::{
    fit::{Room, room_of},
    keys,
    text::{REFERENCE, reference as reference_file},
};

/// What is wrong with a message file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WordsFault {
    /// The language.
    pub lang: String,
    /// The line, from 1; `None`: it is nowhere.
    pub line: Option<usize>,
    /// The message, if it is one's.
    pub key: String,
    /// What was found.
    pub wrong: WordsWrong,
}

/// The ways in which a message can be wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WordsWrong {
    /// The language's tag cannot be read.
    Tag,
    /// The line cannot be read as a message.
    Damaged(String),
    /// There is no such message.
    Missing {
        /// What it says in the language that all others are copied from.
        reference: String,
    },
    /// Nothing shows it.
    Stray,
    /// It is there twice.
    Twice,
    /// It does not take the values that it is given.
    Values {
        /// What it takes.
        found: String,
        /// What it is given.
        given: String,
    },
    /// No text comes of it.
    NotFormed(String),
    /// It does not fit its key.
    TooLong {
        /// The text.
        text: String,
        /// The room that its key has.
        room: Room,
    },
    /// It says the same as the file that it was copied from.
    Untranslated {
        /// The text.
        text: String,
    },
}

impl fmt::Display for WordsFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            lang, line, key, ..
        } = self;
        match line {
            Some(line) => write!(f, "{lang}.ftl line {line}: ")?,
            None => write!(f, "{lang}.ftl: ")?,
        }
        match &self.wrong {
            WordsWrong::Tag => write!(
                f,
                "{lang:?} names no language, allowed: a tag such as es-419; rename the file"
            ),
            WordsWrong::Damaged(what) => write!(
                f,
                "cannot be read: {what}; write it as KEY = TEXT, further lines indented"
            ),
            WordsWrong::Missing { reference } => write!(
                f,
                "{key} is missing; add it, it says {reference:?} in {REFERENCE}"
            ),
            WordsWrong::Stray => write!(f, "{key} is shown nowhere; take it out"),
            WordsWrong::Twice => write!(f, "{key} is there a second time; take one of them out"),
            WordsWrong::Values { found, given } => write!(
                f,
                "{key} takes {found}, allowed: {given}, each once or more; put them where the language wants them"
            ),
            WordsWrong::NotFormed(what) => write!(
                f,
                "{key} gives no text: {what}; write it like the line of {REFERENCE}"
            ),
            WordsWrong::TooLong { text, room } => write!(
                f,
                "{key} = {text:?} does not fit its key, allowed: {room}; find shorter words"
            ),
            WordsWrong::Untranslated { text } => write!(
                f,
                "{key} = {text:?} is as in {REFERENCE}; translate it, or name it in SAME of faults.rs with a reason"
            ),
        }
    }
}

impl std::error::Error for WordsFault {}

/// What may read as in English in another language, and why.
pub(crate) const SAME: &[(&str, &str)] = &[
    ("act-co2", "a symbol"),
    ("mark-etco2", "a symbol"),
    ("act-heart_from_60", "figures alone"),
    ("act-overlay_trauma", "the same word"),
    ("overlay-trauma", "the same word"),
    ("fixed-app", "a name"),
    ("fixed-decimal", "a mark that several languages share"),
    ("start-own", "a name alone"),
    ("fixed-seconds", "a unit"),
    ("fixed-since_minutes", "a unit"),
    ("fixed-ms", "a unit"),
    ("fixed-mb", "a unit"),
    ("entry-db", "a unit"),
    ("sheet-seconds", "a unit"),
    ("sheet-axis_minutes", "a unit"),
    ("after-to_pdf", "a format's name"),
    ("clock-monitor", "the same word"),
    ("drill-instructor", "the same word"),
    ("drill-over_group", "values alone"),
    ("drill-over_told", "values alone"),
    ("carry-source_sensor", "the same word"),
    ("sheet-no", "the same word"),
    ("carry-no", "the same word"),
    ("carry-aed_none", "the same word"),
    ("carry-rosc_none", "the same word"),
    ("sheet-pair", "values alone"),
    ("sheet-foot_line", "values alone"),
    ("sheet-places_value", "values alone"),
    ("trend-yard_figure", "values alone"),
    ("said-when", "values alone"),
    ("said-head", "values alone"),
    ("said-not_said", "a dash"),
    ("said-listening_level", "a unit"),
    ("draft_said-row", "values alone"),
    ("option-false", "the same word"),
    ("unit-s", "a unit"),
    ("unit-ms", "a unit"),
    ("unit-min", "a unit"),
];

/// Every fault of a language's message file, in the order of its lines, what is missing last.
pub fn check(lang: &str, source: &str) -> Vec<WordsFault> {
    let fault = |line, key: &str, wrong| WordsFault {
        lang: lang.to_owned(),
        line,
        key: key.to_owned(),
        wrong,
    };
    let Ok(tag) = lang.parse::<LanguageIdentifier>() else {
        return vec![fault(None, "", WordsWrong::Tag)];
    };
    let mut faults = Vec::new();
    let read = parser::parse(source).unwrap_or_else(|(whole, errors)| {
        for error in errors {
            let line = Some(line_at(source, error.pos.start));
            faults.push(fault(line, "", WordsWrong::Damaged(error.to_string())));
        }
        whole
    });
    let reference = parser::parse(reference_file()).unwrap_or_else(|(whole, _)| whole);
    let wanted: BTreeSet<String> = keys::all().into_iter().collect();
    let mut seen: BTreeSet<&str> = BTreeSet::new();
    let bundle = bundle_of(&tag, source);
    for entry in &read.body {
        let (key, value) = match entry {
            Entry::Message(message) => (message.id.name, message.value.as_ref()),
            Entry::Term(term) => (term.id.name, None),
            Entry::Comment(_)
            | Entry::GroupComment(_)
            | Entry::ResourceComment(_)
            | Entry::Junk { .. } => continue,
        };
        let place = Some(line_of(source, key, seen.contains(key)));
        let mut found = |wrong| faults.push(fault(place, key, wrong));
        let Some(value) = value.filter(|_| wanted.contains(key)) else {
            found(WordsWrong::Stray);
            continue;
        };
        if !seen.insert(key) {
            found(WordsWrong::Twice);
            continue;
        }
        let like = pattern_of(&reference.body, key);
        let (takes, given) = (values(Some(value)), values(like));
        if takes != given {
            let (found_there, given) = (listed(&takes), listed(&given));
            found(WordsWrong::Values {
                found: found_there,
                given,
            });
            continue;
        }
        match formed(&bundle, key, &given) {
            Err(what) => found(WordsWrong::NotFormed(what)),
            Ok(text) => {
                let is_same = like.is_some_and(|like| like == value);
                let may_be = tag.language.as_str() == "en" || SAME.iter().any(|(k, _)| *k == key);
                if is_same && !may_be {
                    found(WordsWrong::Untranslated { text: text.clone() });
                }
                if let Some(room) = room_of(key).filter(|room| !room.holds(&text)) {
                    found(WordsWrong::TooLong { text, room });
                }
            }
        }
    }
    for key in wanted.iter().filter(|key| !seen.contains(key.as_str())) {
        let like = pattern_of(&reference.body, key);
        let reference = like.map(plain).unwrap_or_default();
        faults.push(fault(None, key, WordsWrong::Missing { reference }));
    }
    faults
}

/// What the file gives, whatever is wrong with a part of it.
fn bundle_of(tag: &LanguageIdentifier, source: &str) -> FluentBundle<FluentResource> {
    let resource =
        FluentResource::try_new(source.to_owned()).unwrap_or_else(|(whole, _errors)| whole);
    let mut bundle = FluentBundle::new(vec![tag.clone()]);
    bundle.set_use_isolating(false);
    bundle.add_resource_overriding(resource);
    bundle
}

/// The text of a message with a value for each name, or what keeps it from being formed.
fn formed(
    bundle: &FluentBundle<FluentResource>,
    key: &str,
    given: &BTreeSet<&str>,
) -> Result<String, String> {
    let mut args = FluentArgs::new();
    for name in given {
        match *name {
            "n" => args.set("n", FluentValue::from(2)),
            name => args.set(name.to_owned(), FluentValue::from(name.to_owned())),
        }
    }
    let message = bundle.get_message(key);
    let Some(pattern) = message.and_then(|message| message.value()) else {
        return Err("it has no text".to_owned());
    };
    let mut errors = Vec::new();
    let text = bundle.format_pattern(pattern, Some(&args), &mut errors);
    match errors.first() {
        Some(error) => Err(error.to_string()),
        None if text.trim().is_empty() => Err("it has no text".to_owned()),
        None => Ok(text.into_owned()),
    }
}

fn pattern_of<'a, 's>(body: &'a [Entry<&'s str>], key: &str) -> Option<&'a Pattern<&'s str>> {
    body.iter().find_map(|entry| {
        let Entry::Message(message) = entry else {
            return None;
        };
        (message.id.name == key).then_some(message.value.as_ref())?
    })
}

/// The names of the values that a pattern takes.
fn values<'s>(pattern: Option<&Pattern<&'s str>>) -> BTreeSet<&'s str> {
    fn inline<'s>(expression: &InlineExpression<&'s str>, into: &mut BTreeSet<&'s str>) {
        match expression {
            InlineExpression::VariableReference { id } => {
                into.insert(id.name);
            }
            InlineExpression::Placeable { expression } => of(expression, into),
            InlineExpression::FunctionReference { arguments, .. } => {
                for argument in &arguments.positional {
                    inline(argument, into);
                }
            }
            InlineExpression::StringLiteral { .. }
            | InlineExpression::NumberLiteral { .. }
            | InlineExpression::MessageReference { .. }
            | InlineExpression::TermReference { .. } => {}
        }
    }
    fn of<'s>(expression: &Expression<&'s str>, into: &mut BTreeSet<&'s str>) {
        match expression {
            Expression::Inline(expression) => inline(expression, into),
            Expression::Select { selector, variants } => {
                inline(selector, into);
                for variant in variants {
                    all(&variant.value, into);
                }
            }
        }
    }
    fn all<'s>(pattern: &Pattern<&'s str>, into: &mut BTreeSet<&'s str>) {
        for element in &pattern.elements {
            if let PatternElement::Placeable { expression } = element {
                of(expression, into);
            }
        }
    }
    let mut names = BTreeSet::new();
    if let Some(pattern) = pattern {
        all(pattern, &mut names);
    }
    names
}

fn listed(names: &BTreeSet<&str>) -> String {
    if names.is_empty() {
        return "no value".to_owned();
    }
    let names: Vec<String> = names.iter().map(|name| format!("${name}")).collect();
    names.join(", ")
}

/// A pattern as it would be written, values by their names.
fn plain(pattern: &Pattern<&str>) -> String {
    let parts = pattern.elements.iter().map(|element| match element {
        PatternElement::TextElement { value } => (*value).to_owned(),
        PatternElement::Placeable { .. } => "{ … }".to_owned(),
    });
    parts.collect()
}

/// The line of a place in a file, from 1.
fn line_at(source: &str, place: usize) -> usize {
    let before = source.get(..place).unwrap_or(source);
    before.matches('\n').count().saturating_add(1)
}

/// The line on which a message begins; the second such line if `again`.
fn line_of(source: &str, key: &str, again: bool) -> usize {
    let begins = |line: &str| {
        let rest = line.strip_prefix('-').unwrap_or(line).strip_prefix(key);
        rest.is_some_and(|rest| rest.trim_start().starts_with('='))
    };
    let mut lines = source.lines().enumerate().filter(|(_, line)| begins(line));
    let first = lines.next();
    let found = if again { lines.next().or(first) } else { first };
    found.map_or(1, |(n, _)| n.saturating_add(1))
}

#[cfg(test)]
mod tests;
