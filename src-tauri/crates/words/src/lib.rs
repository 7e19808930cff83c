//! Every word of the screen: message files in, finished sentences out.
//!
//! A language is one file in `text/`. Loading it fails on a missing or a stray message, so a screen
//! never shows a key or half a sentence.
#![forbid(unsafe_code)]

mod after;
mod card;
mod carry;
mod draft;
mod drill;
mod face;
mod faults;
mod fit;
mod group;
mod keys;
mod listening;
mod paper;
#[cfg(any(test, feature = "pseudo"))]
mod pseudo;
mod sheet;
mod text;
mod trends;
mod wire;

pub use after::{
    AfterLabels, Asks, BasisKey, CarryLine, CarryPage, Change, Chart, ClockKey, Debrief, GapRow,
    Keep, KindKey, LongPause, MarkRow, Moment, ReasonKey, Review, SaidWord, SealLine, SetKey,
    Strip, Table,
};
pub use carry::CarryWord;
pub use draft::{
    Draft, DraftChange, DraftFacts, DraftField, DraftGroup, DraftInput, DraftLabels, DraftMinute,
    DraftOpen, DraftOption, DraftRow, DraftSlot, DraftSource, DraftStray, DraftWord, Situation,
    SituationKey,
};
pub use drill::{
    DrillChoice, DrillDone, DrillFace, DrillGoing, DrillKey, DrillLook, DrillOver, DrillPage,
    DrillSheet, DrillStop, DrillStrip, DrillTries, DrillWish, DrillWord, OverChart, OverGroup,
    StripKind, StripName, StripPart, TryBar, TryRow,
};
pub use faults::{WordsFault, WordsWrong, check};
pub use fit::Room;
pub use group::GroupWord;
pub use keys::Fixed;
pub use listening::{
    AnswerKey, FactLine, LevelKey, Listening, ListeningLabels, ListeningPhase, ListeningResult,
};
pub use paper::{
    FEELS, Found, Go, Paper, PaperLine, PaperWord, Part, PastRun, SettingWord, THEMES, Tongue,
    levels_of,
};
#[cfg(any(test, feature = "pseudo"))]
pub use pseudo::{OPEN, PSEUDO, SHUT};
pub use sheet::SheetWord;
pub use text::{REFERENCE, Words, WordsError, source};
pub use trends::TrendWord;
pub use wire::{
    AirwayKey, BannerLine, CardLine, ClassKey, EntryWords, Face, Group, Key, Labels, LastLine,
    ListLines, News, NextLine, NextSounds, NoteLine, PageKey, PresetKey, Pulse, PulseKind, Receipt,
    RecordLine, SaidLine, Screen, SpanKey, StateKey, ThemeKey,
};
