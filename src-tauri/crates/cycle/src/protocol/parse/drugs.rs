//! Drugs with their windows, and checkpoints by the minute: tables of which there may be several.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use super::{
    sheet::{Row, Sheet},
    values::whole,
};
use crate::{
    Ms,
    prompts::Prompt,
    protocol::{DRUG_BY_CLOCK, DRUG_BY_SHOCKS, DrugDue, DrugRule, FirstDose, MinuteRule, Zero},
};

const MOST_MINUTES: usize = 12;
const BY_TIME: [&str; 4] = ["first", "first_after_shocks", "min_s", "max_s"];

pub(super) fn drugs(s: &mut Sheet<'_>) -> Option<Vec<DrugRule>> {
    let rows = s.rows("drug", true);
    let all: Vec<_> = rows.iter().map(|(_, row)| drug(s, row)).collect();
    let mut seen: Vec<&DrugRule> = Vec::new();
    for ((_, row), drug) in rows.iter().zip(&all) {
        let Some(drug) = drug else {
            continue;
        };
        let by_time = |drug: &DrugRule| matches!(drug.due, DrugDue::Interval { .. });
        let due = if by_time(drug) {
            DRUG_BY_CLOCK
        } else {
            DRUG_BY_SHOCKS
        };
        if drug.key != due {
            let place = s.of_row(row, "key");
            s.wrong(
                &place,
                &format!("{due}, the record's key of a drug with such a window"),
            );
        }
        if seen.iter().any(|other| by_time(other) == by_time(drug)) {
            let found = format!(
                "a second drug by {}",
                if by_time(drug) { "time" } else { "shocks" }
            );
            let allowed = "one drug by time and one by shocks at most: the prompts name no drug";
            s.fault(row.line, &row.name, found, allowed);
        }
        seen.push(drug);
    }
    all.into_iter().collect()
}

fn drug<'a>(s: &mut Sheet<'a>, row: &Row<'a>) -> Option<DrugRule> {
    s.source(row);
    let place = s.of_row(row, "key");
    let key = s.key_at(&place);
    let place = s.of_row(row, "name");
    let name = s.text_at(&place);
    let place = s.of_row(row, "words");
    let words = s.lines_at(&place, 1, 6);
    let place = s.of_row(row, "most");
    let most = s.number_at(&place, whole(0, 20, "doses; 0: no limit"));
    let own = ["key", "name", "words", "most", "source"];
    let due = if s.has(row, "after_shocks") {
        let known = [own.as_slice(), &["after_shocks"]].concat();
        s.close(row, &known);
        let place = s.of_row(row, "after_shocks");
        s.rising_at(&place, 20).map(DrugDue::Shocks)
    } else if BY_TIME.iter().any(|key| s.has(row, key)) {
        let known = [own.as_slice(), &BY_TIME].concat();
        s.close(row, &known);
        interval(s, row)
    } else {
        let known = [own.as_slice(), &BY_TIME, &["after_shocks"]].concat();
        s.close(row, &known);
        let allowed = "after_shocks, or all of first, first_after_shocks, min_s, max_s";
        s.fault(row.line, &row.name, "no window".to_string(), allowed);
        None
    };
    Some(DrugRule {
        key: key?,
        name: name?,
        words: words?,
        due: due?,
        most: most?,
    })
}

fn interval<'a>(s: &mut Sheet<'a>, row: &Row<'a>) -> Option<DrugDue> {
    let place = s.of_row(row, "first");
    let first = s.word_at(&place, FirstDose::ALL, FirstDose::word);
    let place = s.of_row(row, "first_after_shocks");
    let shocks = s.number_at(&place, whole(0, 6, "shocks; 0: shocks do not ask for it"));
    let place = s.of_row(row, "min_s");
    let min = s.seconds_at(&place, whole(60, 900, "s"));
    let place = s.of_row(row, "max_s");
    let max = s.seconds_at(&place, whole(60, 1800, "s"));
    if min >= max && max.is_some() {
        let allowed = format!("more than min_s, {} s", seconds(min));
        s.wrong(&place, &allowed);
    }
    Some(DrugDue::Interval {
        first: first?,
        first_after_shocks: shocks?,
        min: min?,
        max: max?,
    })
}

fn seconds(ms: Option<Ms>) -> u64 {
    ms.map_or(0, |ms| ms.0.checked_div(1000).unwrap_or(0))
}

pub(super) fn minutes(s: &mut Sheet<'_>) -> Option<Vec<MinuteRule>> {
    let rows = s.rows("minute", true);
    if let Some((_, row)) = rows.get(MOST_MINUTES) {
        let found = format!("{} checkpoints", rows.len());
        s.fault(row.line, "minute", found, "at most 12");
    }
    let all: Vec<_> = rows.iter().map(|(_, row)| minute(s, row)).collect();
    let mut seen: Vec<&MinuteRule> = Vec::new();
    for ((_, row), rule) in rows.iter().zip(&all) {
        let Some(rule) = rule else {
            continue;
        };
        let same = |other: &&MinuteRule| {
            (other.prompt, other.at, other.zero) == (rule.prompt, rule.at, rule.zero)
        };
        if seen.iter().any(same) {
            let found = format!("{} twice at one minute", rule.prompt.word());
            s.fault(row.line, &row.name, found, "each checkpoint once");
        }
        seen.push(rule);
    }
    all.into_iter().collect()
}

fn minute<'a>(s: &mut Sheet<'a>, row: &Row<'a>) -> Option<MinuteRule> {
    s.source(row);
    s.close(row, &["prompt", "at_min", "zero", "lines", "source"]);
    let place = s.of_row(row, "prompt");
    let prompt = s.word_at(&place, &[Prompt::Causes, Prompt::PlanNow], Prompt::word);
    let place = s.of_row(row, "at_min");
    let at: Option<u32> = s.number_at(&place, whole(5, 60, "min"));
    let place = s.of_row(row, "zero");
    let zero = s.word_at(&place, Zero::ALL, Zero::word);
    let place = s.of_row(row, "lines");
    let lines: Option<Vec<String>> = s.lines_at(&place, 0, 12);
    Some(MinuteRule {
        prompt: prompt?,
        at: Ms::secs(at?.saturating_mul(60)),
        zero: zero?,
        lines: lines?,
    })
}
