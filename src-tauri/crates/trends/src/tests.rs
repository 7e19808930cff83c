mod charts;
mod figures;
mod pages;
mod sift;

use crate::Seen;
use cycle::{Ms, mark::PatientClass};
use record::RunKind;

/// A run that began on the first of a month, with a fraction and a longest pause.
pub(crate) fn seen(year: i32, month: i32, fraction: f64, longest_s: f64) -> Seen {
    Seen {
        kind: RunKind::Run,
        drill: None,
        class: PatientClass::Adult,
        definitions: "metrics/1.0.0".into(),
        unit: None,
        began: format!("{year:04}-{month:02}-01T12:00:00.000+00:00")
            .parse()
            .unwrap(),
        year,
        month,
        crew_saw: false,
        is_sound: true,
        is_over: true,
        unsealed: 0,
        window: Ms(100_000),
        known: Ms(90_000),
        checks_marked: 3,
        checks_due: 4,
        fraction: Some(fraction),
        is_bound: false,
        below_floor: Some(fraction < 0.6),
        longest_s: Some(longest_s),
        fitting_s: None,
        pre_s: None,
        post_s: None,
        peri_s: None,
        first_compression_s: None,
        first_shock_s: None,
        first_drug_s: None,
        doses_inside: 1,
        doses_placed: 2,
    }
}
