//! What needs no record: codes, names and words. The records' side is in `tests/py`.
use words::{CarryWord, Words};

use crate::{Procedure, ProcedureCodes, codes, filled};

#[test]
fn names_stand_once_and_in_the_dictionarys_order() {
    let sections = [
        "eTimes",
        "eArrest",
        "eVitals",
        "eMedications",
        "eProcedures",
        "eAirway",
    ];
    let place = |id: &str| {
        let (section, number) = id.split_once('.').unwrap();
        let section = sections.iter().position(|s| *s == section).unwrap();
        (section, number.parse::<u8>().unwrap())
    };
    for pair in filled::NAMES.windows(2) {
        assert!(place(pair[0].0) < place(pair[1].0), "{pair:?}");
    }
    assert_eq!(filled::name("eArrest.19"), "Date/Time of Initial CPR");
}

#[test]
fn a_list_of_codes_is_read_or_each_wrong_line_is_named() {
    let read = ProcedureCodes::parse("# ours\n\n access_iv , 123456 \nshock,123456789012345678\n");
    let read = read.unwrap();
    assert_eq!(read.get(Procedure::Iv), Some("123456"));
    assert_eq!(read.get(Procedure::Shock), Some("123456789012345678"));
    assert_eq!(read.get(Procedure::Io), None);
    for wrong in [
        "access",
        "access_iv",
        "access_iv,12345",
        "access_iv,1234567890123456789",
        "access_iv,012345",
        "access_iv,12345a",
        "access_iv,123456\naccess_iv,123457",
    ] {
        let faults = ProcedureCodes::parse(wrong).unwrap_err();
        assert_eq!(faults.len(), 1, "{wrong}");
        assert!(faults[0].contains("allowed: "), "{faults:?}");
    }
}

#[test]
fn a_key_is_a_code_only_of_the_list_that_is_asked_for() {
    assert!(codes::is_code("3913047", "3913"));
    for other in ["3914047", "391304", "39130471", "3913o47", "left_arm", ""] {
        assert!(!codes::is_code(other, "3913"), "{other}");
    }
}

#[test]
fn every_word_has_its_text() {
    let words = Words::load("en-US").unwrap();
    for word in CarryWord::ALL {
        assert!(!words.carry(*word).is_empty(), "{word:?}");
    }
}

/// Writes the page's types; the build compares them with the committed ones.
#[cfg(feature = "ts")]
#[test]
fn bindings_are_written() {
    use ts_rs::{Config, TS};

    let config = Config::new().with_large_int("number").with_out_dir(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../../ui/src/bindings"
    ));
    crate::CarryOver::export_all(&config).unwrap();
}
