//! The page of the format, docs/record.md, held against the kinds.

use std::collections::BTreeSet;

use cycle::{
    Overlay, Route,
    fact::{
        AmendReason, CueOutcome, DEED_KINDS, DrillWord, HeldWhy, PatternWord, SettingName,
        SoundChange, Way,
    },
    mark::*,
};

/// A list's words as they stand in a record, a word in another list included.
macro_rules! words {
    ($($list:ty),+ $(,)?) => {
        [$((stringify!($list), <$list>::ALL.iter().map(|w| w.word()).collect::<Vec<_>>())),+]
    };
}

#[test]
fn the_page_of_the_format_names_every_kind_and_every_word() {
    let page = include_str!("../../../../../docs/record.md");
    let (_, page) = page.split_once("\n## Kinds\n").unwrap();
    let (page, _) = page.split_once("\n### Seal\n").unwrap();
    for kind in kinds::all().chain(DEED_KINDS.iter().copied()) {
        assert!(page.contains(&format!("\n| `{kind}` |")), "no row {kind}");
    }
    let held: BTreeSet<&str> = page
        .split(|c: char| !(c.is_ascii_alphanumeric() || c == '_' || c == ':'))
        .map(|word| word.trim_end_matches(':'))
        .collect();
    let lists = words![
        By,
        Reason,
        BreathMode,
        Ratio,
        AirwayDevice,
        Via,
        AirwayAct,
        CupAct,
        CupWhy,
        MoveAct,
        Stage,
        PowerAct,
        Outcome,
        SetState,
        Resume,
        PatientClass,
        SoundAct,
        Preset,
        SettingName,
        Route,
        DrillWord,
        ArrestBasis,
        StartBasis,
        RhythmSeen,
        ChargeAct,
        GivenBy,
        Pulse,
        ShockMode,
        PadPosition,
        HeartRate,
        PriorCpr,
        PriorAed,
        TempBand,
        Task,
        DecisionWhat,
        TimesWhich,
        ConfirmBy,
        ProcedureAct,
        ProcedureWhat,
        MechKind,
        ClockRef,
        Overlay,
        HeldWhy,
        CueOutcome,
        AmendReason,
        SoundChange,
        Way,
        PatternWord,
    ];
    for (list, words) in lists {
        for word in words {
            assert!(held.contains(word), "{list}: no {word}");
        }
    }
}
