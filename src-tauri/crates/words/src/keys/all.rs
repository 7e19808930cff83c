use ::drill::{CueKind, Item, What};
use cycle::{
    Act, Ask, Banner, Card, DrugWord, ListWord, NextWord, Overlay, Prompt, StateWord,
    mark::{
        AirwayDevice, ArrestBasis, BreathMode, By, ClockRef, Outcome, PatientClass, Preset,
        PriorAed, PriorCpr, Reason, RhythmSeen, SetState, TempBand, kinds,
    },
};

use crate::{
    CarryWord, DrillWord, Fixed, GroupWord, SheetWord, TrendWord,
    after::{AFTER, SaidWord},
    card::{CARD_LINES, DUE, due},
    draft::{DRAFT, DraftWord, FIELDS, OPTIONS, Situation, TABLES, UNITS, field_key},
    listening::LISTENING,
    paper::{FEELS, LISTS, THEMES},
};

/// Where a drug has a line of its own.
const DRUGS: [DrugWord; 4] = [
    DrugWord::Due,
    DrugWord::Late,
    DrugWord::Withheld,
    DrugWord::Doubled,
];

/// The words of the pages on which a value is entered.
const ENTRY: [&str; 17] = [
    "done",
    "next",
    "not_known",
    "minutes",
    "shocks",
    "doses",
    "last_dose",
    "by",
    "airway",
    "hand",
    "device",
    "beat",
    "breath",
    "voice",
    "all",
    "db",
    "full",
];

/// Every key that a message file must hold; it may hold no other.
pub(crate) fn all() -> Vec<String> {
    fn listed<T: Copy>(
        list: &'static [T],
        prefix: &'static str,
        word: fn(T) -> &'static str,
    ) -> impl Iterator<Item = String> {
        list.iter()
            .map(move |item| format!("{prefix}-{}", word(*item)))
    }
    listed(Act::ALL, "act", Act::word)
        .chain(listed(Card::ALL, "card", Card::word))
        .chain(listed(StateWord::ALL, "state", StateWord::word))
        .chain(listed(Reason::ALL, "reason", Reason::word))
        .chain(listed(Banner::ALL, "banner", Banner::word))
        .chain(listed(NextWord::ALL, "next", NextWord::word))
        .chain(listed(Outcome::ALL, "outcome", Outcome::word))
        .chain(listed(Prompt::ALL, "prompt", Prompt::word))
        .chain(listed(Ask::ALL, "ask", Ask::word))
        .chain(listed(ListWord::ALL, "list", ListWord::word))
        .chain(listed(GroupWord::ALL, "group", GroupWord::word))
        .chain(listed(BreathMode::ALL, "device_mode", BreathMode::word))
        .chain(listed(BreathMode::ALL, "breaths", BreathMode::word))
        .chain(listed(SetState::ALL, "set", SetState::word))
        .chain(listed(PatientClass::ALL, "class", PatientClass::word))
        .chain(listed(ArrestBasis::ALL, "basis", ArrestBasis::word))
        .chain(listed(RhythmSeen::ALL, "rhythm", RhythmSeen::word))
        .chain(listed(AirwayDevice::ALL, "airway", AirwayDevice::word))
        .chain(listed(AirwayDevice::ALL, "airway_key", AirwayDevice::word))
        .chain(ENTRY.iter().map(|word| format!("entry-{word}")))
        .chain(listed(Preset::ALL, "preset", Preset::word))
        .chain(listed(PriorCpr::ALL, "prior", PriorCpr::word))
        .chain(listed(PriorAed::ALL, "aed", PriorAed::word))
        .chain(listed(Overlay::ALL, "overlay", Overlay::word))
        .chain(listed(TempBand::ALL, "cold", TempBand::word))
        .chain(listed(By::ALL, "by", By::word))
        .chain(listed(ClockRef::ALL, "clock", ClockRef::word))
        .chain(AFTER.iter().map(|word| format!("after-{word}")))
        .chain(DRAFT.iter().map(|word| format!("draft-{word}")))
        .chain(DraftWord::ALL.iter().map(|word| word.key().to_owned()))
        .chain(listed(&Situation::ALL, "minute", Situation::word))
        .chain(TABLES.iter().map(|table| format!("form-{table}")))
        .chain(FIELDS.iter().map(|page| field_key(page)))
        .chain(OPTIONS.iter().map(|word| format!("option-{word}")))
        .chain(UNITS.iter().map(|(_, word)| format!("unit-{word}")))
        .chain(LISTENING.iter().map(|word| format!("listening-{word}")))
        .chain(DUE.iter().map(|word| format!("due-{}", due(*word))))
        .chain(CARD_LINES.iter().map(|line| format!("card_line-{line}")))
        .chain(listed(CarryWord::ALL, "carry", CarryWord::word))
        .chain(DRUGS.iter().map(|word| format!("drug-{}", word.word())))
        .chain(THEMES.iter().map(|theme| format!("theme-{theme}")))
        .chain(THEMES.iter().map(|theme| format!("colours-{theme}")))
        .chain(FEELS.iter().map(|feel| format!("feel-{feel}")))
        .chain(
            LISTS
                .iter()
                .flat_map(|(list, lines)| lines.iter().map(move |line| format!("{list}-{line}"))),
        )
        .chain(kinds::all().map(|kind| format!("mark-{kind}")))
        .chain(SaidWord::ALL.iter().map(|word| word.key().to_owned()))
        .chain(SheetWord::ALL.iter().map(|word| word.key().to_owned()))
        .chain(TrendWord::ALL.iter().map(|word| word.key().to_owned()))
        .chain(DrillWord::ALL.iter().map(|word| word.key().to_owned()))
        .chain(listed(What::ALL, "drill_measure", What::word))
        .chain(listed(Item::ALL, "drill_item", Item::word))
        .chain(listed(CueKind::ALL, "drill_kind", CueKind::word))
        .chain(listed(&CueKind::EVENTS, "drill_event", CueKind::word))
        .chain(Fixed::ALL.iter().map(|fixed| fixed.key().to_owned()))
        .collect()
}
