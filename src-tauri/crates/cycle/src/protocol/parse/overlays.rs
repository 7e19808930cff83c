//! Special situations: `[overlay.cold]` and its like, each with lines and with its own numbers.

use alloc::{string::ToString, vec::Vec};

use super::{
    sheet::{Row, Sheet},
    values::whole,
};
use crate::{
    Ms,
    protocol::{Overlay, OverlayRule, rule::Whole},
};

/// Doses before and since the cold was said count alike.
const COLD_DOSES: Whole = whole(0, 20, "doses below 30 degrees; 0: none");

pub(super) fn read(s: &mut Sheet<'_>) -> Option<Vec<OverlayRule>> {
    let rows = s.rows("overlay", false);
    let mut all = Vec::new();
    for (name, row) in &rows {
        if let Some(kind) = Overlay::ALL
            .iter()
            .copied()
            .find(|kind| kind.word() == *name)
        {
            all.push(overlay(s, row, kind));
        } else {
            let words: Vec<_> = Overlay::ALL.iter().map(|kind| kind.word()).collect();
            s.fault(
                row.line,
                &row.name,
                "not known".to_string(),
                &words.join(", "),
            );
            all.push(None);
        }
    }
    all.into_iter().collect()
}

fn overlay<'a>(s: &mut Sheet<'a>, row: &Row<'a>, kind: Overlay) -> Option<OverlayRule> {
    let own: &[&str] = match kind {
        Overlay::Pregnancy => &["delivery_by_min"],
        Overlay::Drowning => &["first_breaths"],
        Overlay::Cold => &[
            "cold_shocks",
            "cold_factor",
            "cold_doses_by_time",
            "cold_doses_by_shocks",
        ],
        Overlay::Opioid | Overlay::Trauma | Overlay::AsthmaAnaphylaxis => &[],
    };
    s.source(row);
    s.close(row, &[&["lines", "source"], own].concat());
    let place = s.of_row(row, "lines");
    let lines = s.lines_at(&place, 0, 4);
    let mut rule = OverlayRule {
        kind,
        lines: Vec::new(),
        delivery_by: None,
        first_breaths: None,
        cold_shocks: None,
        cold_factor: None,
        cold_doses_by_time: None,
        cold_doses_by_shocks: None,
    };
    for key in own {
        let place = s.of_row(row, key);
        match *key {
            "delivery_by_min" => {
                let minutes: Option<u32> = s.number_at(&place, whole(1, 30, "min"));
                rule.delivery_by = minutes.map(|n| Ms::secs(n.saturating_mul(60)));
            }
            "first_breaths" => rule.first_breaths = s.one_of_at(&place, &super::fields::BREATHS),
            "cold_shocks" => rule.cold_shocks = s.number_at(&place, whole(1, 6, "shocks")),
            "cold_doses_by_time" => rule.cold_doses_by_time = s.number_at(&place, COLD_DOSES),
            "cold_doses_by_shocks" => rule.cold_doses_by_shocks = s.number_at(&place, COLD_DOSES),
            _ => rule.cold_factor = s.number_at(&place, whole(1, 3, "times")),
        }
    }
    rule.lines = lines?;
    Some(rule)
}
