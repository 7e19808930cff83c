//! From a file to a checked scenario: every fault at once, each with its place, what was found and what is allowed.

mod raw;

use std::{collections::BTreeSet, fmt};

use cycle::{Mark, Ms, mark::kinds};
use serde_json::{Value, json};

use self::raw::{RawCue, RawExpected, RawMeasure, RawOnly, RawScenario, START};
use crate::scenario::{
    Choice, CueRule, Expected, MeasureRule, Only, Origin, Said, Scenario, Wanted, Yardstick,
};

/// The largest file, bytes.
pub const LARGEST: usize = 65_536;
const FORMAT: &str = "drill/1.0.0";
/// A drill lasts so long at most, s. Own: a drill of ten minutes, and one again as long, with room.
const LONGEST_S: u32 = 1800;
const MOST_CUES: usize = 40;
const MOST_EXPECTED: usize = 60;
const MOST_MEASURES: usize = 20;
const MOST_CHOICES: usize = 6;
const LONGEST_SAID: usize = 200;
/// A mark counts up to so many times its limit. Own.
const UNTIL: u32 = 3;

/// What is wrong with a scenario.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Where.
    pub place: String,
    /// What was found there, shortened.
    pub found: String,
    /// What is allowed, or what helps.
    pub allowed: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "scenario: {} = {}, allowed: {}",
            self.place, self.found, self.allowed
        )
    }
}

impl std::error::Error for Fault {}

impl Scenario {
    /// Reads a scenario. What is not in the format is refused, never passed over.
    ///
    /// # Errors
    /// Everything that is wrong; what is no JSON of this shape at its first place, by line and column.
    pub fn parse(bytes: &[u8]) -> Result<Self, Vec<Fault>> {
        if bytes.len() > LARGEST {
            let found = format!("{} bytes", bytes.len());
            return Err(vec![fault(
                "file",
                found,
                format!("{LARGEST} bytes at most"),
            )]);
        }
        let raw: RawScenario = serde_json::from_slice(bytes).map_err(|e| {
            let place = format!("line {}, column {}", e.line(), e.column());
            vec![fault(&place, e, "the fields of docs/drill.md")]
        })?;
        let mut faults = Vec::new();
        let read = Reading {
            faults: &mut faults,
        }
        .scenario(raw);
        if faults.is_empty() {
            Ok(read)
        } else {
            Err(faults)
        }
    }
}

fn fault(place: &str, found: impl fmt::Display, allowed: impl fmt::Display) -> Fault {
    let found: String = found.to_string().chars().take(LONGEST_SAID).collect();
    Fault {
        place: place.to_owned(),
        found,
        allowed: allowed.to_string(),
    }
}

/// What was found of a scenario so far.
struct Reading<'f> {
    faults: &'f mut Vec<Fault>,
}

impl Reading<'_> {
    fn wrong(&mut self, place: &str, found: impl fmt::Display, allowed: impl fmt::Display) {
        self.faults.push(fault(place, found, allowed));
    }

    fn scenario(&mut self, raw: RawScenario) -> Scenario {
        if raw.format != FORMAT {
            self.wrong("format", format!("{:?}", raw.format), FORMAT);
        }
        self.code("id", &raw.id);
        self.text("version", &raw.version, 20);
        self.text("letter", &raw.letter, 4);
        self.said("name", &raw.name);
        self.said("scene", &raw.scene);
        self.within("end_s", raw.end_s, (1, LONGEST_S));
        self.within("pass_percent", raw.pass_percent, (1, 100));
        self.most("cues", raw.cues.len(), MOST_CUES);
        self.most("expect", raw.expect.len(), MOST_EXPECTED);
        self.most("measures", raw.measures.len(), MOST_MEASURES);
        self.most("yardsticks", raw.yardsticks.len(), MOST_MEASURES);
        if raw.expect.is_empty() {
            self.wrong("expect", "nothing", "at least one mark that is expected");
        }
        let ids = Ids::of(&raw);
        self.each_once(&ids);
        let cues: Vec<CueRule> = (raw.cues.iter().enumerate())
            .map(|(n, cue)| self.cue(n, cue, &ids, raw.end_s))
            .collect();
        let expect: Vec<Expected> = (raw.expect.iter().enumerate())
            .map(|(n, expected)| self.expected(n, expected, &ids, &cues))
            .collect();
        let measures = (raw.measures.iter().enumerate())
            .map(|(n, measure)| self.measure(n, measure, &ids))
            .collect();
        for (n, yardstick) in raw.yardsticks.iter().enumerate() {
            self.said(&format!("yardsticks[{n}].source"), &yardstick.source);
        }
        Scenario {
            id: raw.id,
            version: raw.version,
            letter: raw.letter,
            name: raw.name,
            scene: raw.scene,
            protocol: raw.protocol,
            class: raw.class,
            begin: raw.begin,
            end: Ms::secs(raw.end_s),
            pass_percent: raw.pass_percent,
            cues,
            expect,
            measures,
            yardsticks: (raw.yardsticks.into_iter())
                .map(|y| Yardstick {
                    what: y.what,
                    value: y.value,
                    source: y.source,
                })
                .collect(),
            checklist: raw.checklist,
        }
    }

    fn each_once(&mut self, ids: &Ids) {
        let mut known = BTreeSet::new();
        for (place, id) in ids.all() {
            self.code(&place, id);
            if id == START || !known.insert(id.to_owned()) {
                self.wrong(
                    &place,
                    format!("{id:?}"),
                    "an id that stands once, and is not \"start\"",
                );
            }
        }
    }

    fn cue(&mut self, n: usize, raw: &RawCue, ids: &Ids, end_s: u32) -> CueRule {
        let place = |field: &str| format!("cues[{n}].{field}");
        let from = match ids.origin(&raw.from) {
            Some(from @ (Origin::Start | Origin::Mark(_))) => from,
            Some(Origin::Cue(_)) | None => {
                self.wrong(
                    &place("from"),
                    format!("{:?}", raw.from),
                    "\"start\", or the id of a mark that is expected",
                );
                Origin::Start
            }
        };
        let last = raw.after_s.saturating_add(raw.vary_s);
        self.within(&place("after_s"), raw.after_s, (0, end_s));
        match (from, raw.latest_s) {
            (Origin::Mark(_), None) => self.wrong(
                &place("latest_s"),
                "nothing",
                "seconds from the beginning: a mark that the cue waits for may never come",
            ),
            (Origin::Start, Some(found)) => {
                self.wrong(
                    &place("latest_s"),
                    found,
                    "none where it counts from the start",
                );
            }
            (_, Some(found)) => self.within(&place("latest_s"), found, (1, end_s)),
            (_, None) => self.within(&place("after_s + vary_s"), last, (0, end_s)),
        }
        self.most(&place("choices"), raw.choices.len(), MOST_CHOICES);
        if raw.choices.is_empty() {
            self.said(&place("say"), &raw.say);
        } else if !raw.say.0.is_empty() {
            self.wrong(
                &place("say"),
                "a text",
                "none where there are choices: each has its own",
            );
        }
        let mut known = BTreeSet::new();
        for (k, choice) in raw.choices.iter().enumerate() {
            let place = format!("cues[{n}].choices[{k}]");
            self.code(&format!("{place}.id"), &choice.id);
            self.said(&format!("{place}.say"), &choice.say);
            if !known.insert(choice.id.as_str()) {
                self.wrong(
                    &format!("{place}.id"),
                    format!("{:?}", choice.id),
                    "each choice of a cue once",
                );
            }
        }
        CueRule {
            id: raw.id.clone(),
            kind: raw.kind,
            from,
            after: Ms::secs(raw.after_s),
            vary_s: raw.vary_s,
            latest: raw.latest_s.map(Ms::secs),
            say: raw.say.clone(),
            choices: (raw.choices.iter())
                .map(|c| Choice {
                    id: c.id.clone(),
                    kind: c.kind,
                    say: c.say.clone(),
                })
                .collect(),
        }
    }

    fn expected(&mut self, n: usize, raw: &RawExpected, ids: &Ids, cues: &[CueRule]) -> Expected {
        let place = |field: &str| format!("expect[{n}].{field}");
        self.said(&place("name"), &raw.name);
        let origin = ids.origin(&raw.from);
        // A mark counts from one above it, so that nothing leads back to itself.
        let waits_for = match origin {
            Some(Origin::Cue(cue)) => cues.get(cue).and_then(|cue| match cue.from {
                Origin::Mark(mark) => Some(mark),
                Origin::Start | Origin::Cue(_) => None,
            }),
            Some(Origin::Mark(mark)) => Some(mark),
            Some(Origin::Start) | None => None,
        };
        if origin.is_none() || waits_for.is_some_and(|mark| mark >= n) {
            let allowed = "\"start\", the id of a cue, or of a mark above this one; a cue's own mark stands above too";
            self.wrong(&place("from"), format!("{:?}", raw.from), allowed);
        }
        self.within(&place("within_s"), raw.within_s, (1, LONGEST_S));
        let until = raw
            .until_s
            .unwrap_or_else(|| raw.within_s.saturating_mul(UNTIL));
        if raw.until_s.is_some() {
            self.within(&place("until_s"), until, (raw.within_s, LONGEST_S));
        }
        self.within(&place("earliest_s"), raw.earliest_s, (0, raw.within_s));
        self.within(&place("weight"), raw.weight, (1, 10));
        let needs = (raw.needs.iter().enumerate())
            .filter_map(|(k, id)| match ids.origin(id) {
                Some(Origin::Mark(mark)) if mark != n => Some(mark),
                Some(_) | None => {
                    let allowed = "the id of another mark that is expected";
                    self.wrong(&place(&format!("needs[{k}]")), format!("{id:?}"), allowed);
                    None
                }
            })
            .collect();
        Expected {
            id: raw.id.clone(),
            name: raw.name.clone(),
            from: origin.unwrap_or(Origin::Start),
            wants: self.wanted(n, raw),
            earliest: Ms::secs(raw.earliest_s),
            within: Ms::secs(raw.within_s),
            until: Ms::secs(until),
            weight: raw.weight,
            needs,
            must: raw.must,
            only: self.only(&place("only"), raw.only.as_ref(), ids),
        }
    }

    /// A kind of the record; where fields are given they make a whole mark, so that a slip of the pen in one is
    /// found here and not never matched.
    fn wanted(&mut self, n: usize, raw: &RawExpected) -> Wanted {
        let d = raw.d.clone().unwrap_or_default();
        if !kinds::all().any(|kind| kind == raw.ev) {
            let all: Vec<&str> = kinds::all().collect();
            self.wrong(
                &format!("expect[{n}].ev"),
                format!("{:?}", raw.ev),
                all.join(", "),
            );
        } else if raw.d.is_some() {
            let whole = json!({ "ev": raw.ev, "d": d });
            let mark: Option<Mark> = serde_json::from_value(whole).ok();
            let again = mark.and_then(|mark| serde_json::to_value(mark).ok());
            let written = again.as_ref().and_then(|again| again.get("d"));
            let kept =
                |(key, value): (&String, &Value)| written.and_then(|w| w.get(key)) == Some(value);
            if written.is_none() || !d.iter().all(kept) {
                let allowed =
                    "the fields of a whole mark of this kind (docs/record.md), or none at all";
                let found = Value::Object(d.clone());
                self.wrong(&format!("expect[{n}].d"), found, allowed);
            }
        }
        Wanted {
            ev: raw.ev.clone(),
            d,
        }
    }

    fn measure(&mut self, n: usize, raw: &RawMeasure, ids: &Ids) -> MeasureRule {
        let place = |field: &str| format!("measures[{n}].{field}");
        if raw.least.is_none() && raw.most.is_none() {
            self.wrong(&place("most"), "nothing", "least, most or both");
        }
        for (field, bound) in [("least", raw.least), ("most", raw.most)] {
            if let Some(found) = bound.filter(|b| !(0.0..=3600.0).contains(b)) {
                self.wrong(&place(field), found, "0 to 3600");
            }
        }
        self.within(&place("weight"), raw.weight, (1, 10));
        self.said(&place("source"), &raw.source);
        MeasureRule {
            what: raw.what,
            least: raw.least,
            most: raw.most,
            weight: raw.weight,
            only: self.only(&place("only"), raw.only.as_ref(), ids),
            source: raw.source.clone(),
        }
    }

    fn only(&mut self, place: &str, raw: Option<&RawOnly>, ids: &Ids) -> Option<Only> {
        let raw = raw?;
        let found = ids.choice(&raw.cue, &raw.choice);
        if found.is_none() {
            let allowed = "the id of a cue with choices, and of one of them";
            self.wrong(place, format!("{:?}, {:?}", raw.cue, raw.choice), allowed);
        }
        found
    }

    fn within(&mut self, place: &str, found: u32, (least, most): (u32, u32)) {
        if !(least..=most).contains(&found) {
            self.wrong(place, found, format!("{least} to {most}"));
        }
    }

    fn most(&mut self, place: &str, found: usize, most: usize) {
        if found > most {
            self.wrong(place, format!("{found} of them"), format!("{most} at most"));
        }
    }

    fn code(&mut self, place: &str, found: &str) {
        let good = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_';
        if !(1..=40).contains(&found.len()) || !found.bytes().all(good) {
            self.wrong(
                place,
                format!("{found:?}"),
                "1 to 40 characters of a-z, 0-9 and _",
            );
        }
    }

    fn text(&mut self, place: &str, found: &str, most: usize) {
        let plain = found.chars().all(|c| !c.is_control());
        if !(1..=most).contains(&found.chars().count()) || !plain {
            self.wrong(
                place,
                format!("{found:?}"),
                format!("1 to {most} characters on one line"),
            );
        }
    }

    fn said(&mut self, place: &str, said: &Said) {
        if said.0.is_empty() {
            self.wrong(
                place,
                "nothing",
                "a text by language, such as {\"en\": \"...\"}",
            );
        }
        for (lang, text) in &said.0 {
            let tag = |b: u8| b.is_ascii_alphanumeric() || b == b'-';
            if !(2..=12).contains(&lang.len()) || !lang.bytes().all(tag) {
                self.wrong(
                    place,
                    format!("{lang:?}"),
                    "a language's tag, such as en or es-419",
                );
            }
            self.text(&format!("{place}.{lang}"), text, LONGEST_SAID);
        }
    }
}

/// The ids of a file and where each stands.
struct Ids {
    cues: Vec<(String, Vec<String>)>,
    marks: Vec<String>,
}

impl Ids {
    fn of(raw: &RawScenario) -> Self {
        let choices = |cue: &RawCue| cue.choices.iter().map(|c| c.id.clone()).collect();
        Self {
            cues: raw
                .cues
                .iter()
                .map(|cue| (cue.id.clone(), choices(cue)))
                .collect(),
            marks: raw.expect.iter().map(|e| e.id.clone()).collect(),
        }
    }

    fn all(&self) -> impl Iterator<Item = (String, &str)> {
        let cues = self
            .cues
            .iter()
            .enumerate()
            .map(|(n, (id, _))| (format!("cues[{n}].id"), id.as_str()));
        let marks = self
            .marks
            .iter()
            .enumerate()
            .map(|(n, id)| (format!("expect[{n}].id"), id.as_str()));
        cues.chain(marks)
    }

    fn origin(&self, id: &str) -> Option<Origin> {
        if id == START {
            return Some(Origin::Start);
        }
        let cue = self
            .cues
            .iter()
            .position(|(known, _)| known == id)
            .map(Origin::Cue);
        let mark = || {
            self.marks
                .iter()
                .position(|known| known == id)
                .map(Origin::Mark)
        };
        cue.or_else(mark)
    }

    fn choice(&self, cue: &str, choice: &str) -> Option<Only> {
        let place = self.cues.iter().position(|(known, _)| known == cue)?;
        let (_, choices) = self.cues.get(place)?;
        let choice = choices.iter().position(|known| known == choice)?;
        Some(Only { cue: place, choice })
    }
}
