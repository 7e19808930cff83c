//! `eVitals`, `eMedications` and `eProcedures`: one group a reading, a dose, a procedure.

use cycle::{
    Mark,
    fact::Source,
    mark::{AirMark, By, CareMark, CheckMark, GivenBy, ShockMode},
};
use record::Wall;
use words::CarryWord;

use crate::{
    airway, arrest,
    codes::{self, Procedure},
    facts::{Facts, Marked},
    filled::{Filled, Value},
};

/// Numbers a group's rows.
pub(crate) fn numbered(groups: Vec<Vec<Filled>>) -> Vec<Filled> {
    let groups = groups.into_iter().enumerate().flat_map(|(n, rows)| {
        rows.into_iter().map(move |row| Filled {
            group: Some(n.saturating_add(1)),
            ..row
        })
    });
    groups.collect()
}

pub(crate) fn vitals(facts: &Facts<'_>) -> Vec<Filled> {
    let groups = facts.marks.iter().filter_map(|m| {
        let reading = match &m.mark {
            Mark::Check(CheckMark::Rhythm { rhythm, .. }) => {
                let element = "eVitals.03";
                match codes::rhythm(*rhythm) {
                    Some((_, code, word)) => Filled::by(element, Value::Code(code, word), m),
                    None => Filled::by(element, Value::Word(CarryWord::OtherRhythm), m)
                        .ask(CarryWord::AskWhich),
                }
            }
            Mark::Air(AirMark::Etco2 { value, unit }) => {
                let gas = codes::gas(unit)?;
                Filled::by(
                    "eVitals.16",
                    Value::Gas(value.clone(), gas, unit.clone()),
                    m,
                )
            }
            Mark::Run(_)
            | Mark::Flow(_)
            | Mark::Air(_)
            | Mark::Check(_)
            | Mark::Device(_)
            | Mark::Care(_) => return None,
        };
        Some(vec![
            Filled::by("eVitals.01", Value::Time, m),
            Filled::by("eVitals.02", Value::Code(codes::NO, CarryWord::No), m),
            reading,
        ])
    });
    numbered(groups.collect())
}

pub(crate) fn medications(facts: &Facts<'_>) -> Vec<Filled> {
    let mut groups = told(facts);
    groups.extend(facts.marks.iter().filter_map(|m| {
        let Mark::Care(CareMark::Drug {
            drug,
            dose,
            unit,
            route,
            prior,
            by_other_unit,
        }) = &m.mark
        else {
            return None;
        };
        // The mark of an earlier dose says that it was given, not when.
        let time = if *prior {
            Filled::open("eMedications.01")
        } else {
            Filled::by("eMedications.01", Value::Time, m)
        };
        let yes = if *prior {
            Value::Code(codes::YES, CarryWord::Yes)
        } else {
            Value::Code(codes::NO, CarryWord::No)
        };
        let mut rows = vec![time, Filled::by("eMedications.02", yes, m), named(m, drug)];
        let or_open = |element: &'static str, value: Option<Value>| match value {
            Some(value) => Filled::by(element, value, m),
            None => Filled::open(element),
        };
        let route = route.as_deref().and_then(codes::route);
        rows.push(or_open(
            "eMedications.04",
            route.map(|(code, word)| Value::Code(code, word)),
        ));
        rows.push(or_open("eMedications.05", dose.clone().map(Value::Number)));
        let unit = unit
            .as_deref()
            .and_then(|key| Some((codes::unit(key)?, key)));
        rows.push(or_open(
            "eMedications.06",
            unit.map(|(code, key)| Value::Unit(code, key.to_owned())),
        ));
        if *by_other_unit {
            let yes = Value::Code(codes::YES, CarryWord::Yes);
            rows.push(Filled::by("eMedications.13", yes, m));
        }
        Some(rows)
    }));
    numbered(groups)
}

fn named(marked: &Marked, key: &str) -> Filled {
    let row = Filled::by("eMedications.03", Value::Drug(key.to_owned()), marked);
    match codes::drug(key) {
        Some((_, Some(_))) => row.ask_if(
            matches!(key, "adrenaline" | "epinephrine"),
            CarryWord::AskStrength,
        ),
        Some((_, None)) | None => row.ask(CarryWord::AskWhich),
    }
}

/// Doses before this crew, as told: of each drug so many, and when the last one was, to the minute.
fn told(facts: &Facts<'_>) -> Vec<Vec<Filled>> {
    let Some((marked, prior)) = arrest::prior(facts) else {
        return Vec::new();
    };
    let mut groups = Vec::new();
    for dose in &prior.doses {
        for nth in 1..=dose.n {
            let when = dose.last_min.filter(|_| nth == dose.n);
            let wall = when.and_then(|minutes| earlier(marked.wall?, minutes));
            let time = match wall {
                Some(wall) => Filled {
                    wall: Some(wall),
                    ..Filled::by("eMedications.01", Value::Time, marked)
                }
                .ask(CarryWord::AskTold),
                None => Filled::open("eMedications.01"),
            };
            let yes = Value::Code(codes::YES, CarryWord::Yes);
            groups.push(vec![
                time,
                Filled::by("eMedications.02", yes, marked).ask(CarryWord::AskTold),
                named(marked, &dose.drug).ask(CarryWord::AskTold),
            ]);
        }
    }
    groups
}

fn earlier(wall: Wall, minutes: u16) -> Option<Wall> {
    let back = i64::from(minutes).saturating_mul(60_000);
    Wall::new(wall.unix_ms().checked_sub(back)?, wall.offset_min()).ok()
}

/// A procedure by a mark of this crew.
pub(crate) fn procedure(marked: &Marked, what: Procedure) -> Vec<Filled> {
    vec![
        Filled::by("eProcedures.01", Value::Time, marked),
        Filled::by(
            "eProcedures.02",
            Value::Code(codes::NO, CarryWord::No),
            marked,
        ),
        Filled::by("eProcedures.03", Value::Procedure(what), marked),
    ]
}

/// The same with a procedure that the mark does not name whole.
pub(crate) fn unsure(rows: Vec<Filled>, why: CarryWord) -> Vec<Filled> {
    let rows = rows.into_iter().map(|row| {
        let is_name = row.element == "eProcedures.03";
        row.ask_if(is_name, why)
    });
    rows.collect()
}

pub(crate) fn said(yes: bool) -> Value {
    if yes {
        Value::Code(codes::YES, CarryWord::Yes)
    } else {
        Value::Code(codes::NO, CarryWord::No)
    }
}

pub(crate) fn procedures(facts: &Facts<'_>) -> Vec<Filled> {
    let mut groups: Vec<(cycle::Ms, Vec<Filled>)> = Vec::new();
    for (by, what) in [
        (By::Manual, Procedure::ByHand),
        (By::Mechanical, Procedure::ByDevice),
    ] {
        if let Some((marked, _, _)) = arrest::compressions(facts).find(|(_, b, _)| *b == by) {
            groups.push((marked.at, procedure(marked, what)));
        }
    }
    for marked in &facts.marks {
        if let Some(rows) = shock(marked).or_else(|| access(marked)) {
            groups.push((marked.at, rows));
        }
    }
    groups.extend(airway::placed(facts));
    groups.sort_by_key(|(at, _)| *at);
    numbered(groups.into_iter().map(|(_, rows)| rows).collect())
}

/// Shocks by this crew: those of others are not this unit's procedures.
fn shock(marked: &Marked) -> Option<Vec<Filled>> {
    let Mark::Check(CheckMark::Shock {
        by: GivenBy::Us,
        mode,
        ..
    }) = &marked.mark
    else {
        return None;
    };
    Some(match mode {
        Some(ShockMode::Aed) => procedure(marked, Procedure::ShockAed),
        Some(ShockMode::Manual) => procedure(marked, Procedure::ShockManual),
        None => unsure(procedure(marked, Procedure::Shock), CarryWord::AskWhich),
    })
}

fn access(marked: &Marked) -> Option<Vec<Filled>> {
    let Mark::Care(CareMark::Access {
        kind,
        site,
        attempt,
        success,
    }) = &marked.mark
    else {
        return None;
    };
    let what = match kind.as_str() {
        "iv" => Procedure::Iv,
        "io" => Procedure::Io,
        _ => return None,
    };
    let mut rows = procedure(marked, what);
    rows.extend(attempt.map(|n| tries(marked, u16::from(n))));
    rows.extend(success.map(|yes| Filled::by("eProcedures.06", said(yes), marked)));
    if let Some(site) = site {
        let own = codes::is_code(site, "3913");
        rows.push(if own {
            Filled::by("eProcedures.13", Value::Own(site.clone()), marked)
        } else {
            Filled::open("eProcedures.13")
        });
    }
    Some(rows)
}

/// Tries, of which the standard counts to ten.
pub(crate) fn tries(marked: &Marked, n: u16) -> Filled {
    let capped = u8::try_from(n.min(10)).unwrap_or(10);
    Filled::by("eProcedures.05", Value::Tries(capped), marked).ask_if(n > 10, CarryWord::AskTries)
}

/// Every element that is filled or that the crew has to say, in the dictionary's order.
pub(crate) fn all(facts: &Facts<'_>) -> Vec<Filled> {
    let mut rows = arrest::times(facts);
    rows.extend(arrest::arrest(facts));
    rows.extend(vitals(facts));
    rows.extend(medications(facts));
    rows.extend(procedures(facts));
    rows.extend(airway::confirmed(facts));
    rows
}

/// The word of a source.
pub(crate) const fn source(src: Source) -> Option<CarryWord> {
    Some(match src {
        Source::Button => CarryWord::SourceButton,
        Source::Voice => CarryWord::SourceVoice,
        Source::Sensor => CarryWord::SourceSensor,
        Source::Import => CarryWord::SourceImport,
        Source::Review => CarryWord::SourceReview,
        Source::Auto => return None,
    })
}
