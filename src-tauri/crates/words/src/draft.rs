//! The protocol editor: the form of a file in finished words, and what is typed into it.

mod build;
#[cfg(test)]
mod tests;

pub use build::DraftFacts;

use fluent_bundle::{FluentArgs, FluentValue};
use serde::{Deserialize, Serialize};

use crate::Words;

macro_rules! draft_words {
    ($($(#[$doc:meta])* $field:ident,)*) => {
        /// The fixed words of the protocol editor.
        #[derive(Clone, Debug, PartialEq, Eq, Serialize)]
        #[cfg_attr(feature = "ts", derive(ts_rs::TS))]
        pub struct DraftLabels {
            $($(#[$doc])* pub $field: String,)*
        }

        pub(crate) const DRAFT: &[&str] = &[$(stringify!($field),)*];

        impl Words {
            /// The fixed words of the protocol editor.
            pub fn draft_labels(&self) -> DraftLabels {
                DraftLabels { $($field: self.word("draft", stringify!($field)),)* }
            }
        }
    };
}

draft_words! {
    /// Its title, and the line that opens it.
    title,
    /// Under that line.
    note,
    /// What is done in it.
    what,
    /// Over the built-in files.
    examples,
    /// Over the service's own.
    own,
    /// Leads back to the draft.
    go_on,
    /// Leads to what can be copied.
    another,
    /// A draft that is there is put aside.
    put_aside,
    /// A value.
    value,
    /// Where it comes from.
    source,
    /// The file's own range.
    range,
    /// What may be typed there.
    range_note,
    /// It is not in the file.
    missing,
    /// Takes a table out.
    take_out,
    /// Over what can be added.
    add,
    /// Over the place of the file.
    save_as,
    /// Saves it.
    save,
    /// Takes the last change back.
    take_back,
    /// Nothing is wrong.
    no_faults,
    /// Over the minute that is heard.
    preview,
    /// What it is.
    preview_note,
    /// Makes it.
    make,
    /// Lets it sound.
    play,
    /// Silences it.
    stop,
}

macro_rules! draft_said {
    ($($name:ident = $key:literal,)*) => {
        /// A sentence of the protocol editor. One with values takes them as `$a`, `$b` and `$c`, written out.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum DraftWord {
            $(#[doc = concat!("`draft_said-", $key, "`")] $name,)*
        }

        impl DraftWord {
            pub(crate) const ALL: &'static [Self] = &[$(Self::$name,)*];

            pub(crate) const fn key(self) -> &'static str {
                match self {
                    $(Self::$name => concat!("draft_said-", $key),)*
                }
            }
        }
    };
}

draft_said! {
    Of = "of",
    Faults = "faults",
    Fault = "fault",
    AtLine = "at_line",
    Saved = "saved",
    NotSaved = "not_saved",
    Taken = "taken",
    NoFolder = "no_folder",
    NoPlace = "no_place",
    BuiltIn = "built_in",
    Mend = "mend",
    Row = "row",
    Whole = "whole",
    WholeOrNone = "whole_or_none",
    Here = "here",
    OneOf = "one_of",
    Yes = "yes",
    Words = "words",
    Text = "text",
    Key = "key",
    Lines = "lines",
    Rising = "rising",
    RisingTo = "rising_to",
    Parts = "parts",
    Source = "source",
}

/// Every field by its name on the page of the format.
pub(crate) const FIELDS: &[&str] = &[
    "format",
    "id",
    "version",
    "name",
    "class",
    "beat.rate_per_min",
    "start.first_breaths",
    "start.first_breaths_wait_s",
    "breaths.ratio",
    "breaths.ratio_alone",
    "breaths.window_s",
    "breaths.every_s",
    "breaths.mask",
    "airway.opa",
    "airway.npa",
    "airway.sga",
    "airway.ett",
    "airway.cric",
    "check.every_s",
    "check.heads_up_s",
    "check.charge_before_s",
    "check.count_from_s",
    "check.overdue_s",
    "check.form",
    "check.through_device",
    "check.rotate",
    "check.rotate_apart_s",
    "check.led_beat",
    "hands_off.numbers_s",
    "hands_off.budget_s",
    "hands_off.budget_shock_s",
    "hands_off.still_every_s",
    "procedure.airway_s",
    "procedure.access_s",
    "procedure.ultrasound_s",
    "shock.silence_s",
    "shock.stack_most",
    "shock.refractory_after",
    "shock.refractory",
    "device.allowed",
    "device.windows",
    "device.after_cycles",
    "device.reasons",
    "device.not_for",
    "device.roles",
    "device.parts",
    "device.landmarks",
    "device.before_move",
    "cup.repeat_s",
    "power.swap_window_s",
    "power.by_hand_offer_s",
    "power.full_pack_min",
    "drug.key",
    "drug.name",
    "drug.words",
    "drug.most",
    "drug.first",
    "drug.first_after_shocks",
    "drug.min_s",
    "drug.max_s",
    "drug.after_shocks",
    "drug.source",
    "drugs.other",
    "drugs.withhold_awake",
    "overlay.lines",
    "overlay.delivery_by_min",
    "overlay.first_breaths",
    "overlay.cold_shocks",
    "overlay.cold_doses_by_time",
    "overlay.cold_doses_by_shocks",
    "overlay.cold_factor",
    "overlay.source",
    "minute.prompt",
    "minute.at_min",
    "minute.zero",
    "minute.lines",
    "minute.source",
    "rosc.list",
    "rosc.recheck_s",
    "rosc.breath_tone",
    "run.still_running_min",
    "voice.also_spoken",
    "lists.kit",
    "lists.make_ready",
    "doses.table",
    "newborn.breaths_first_s",
    "newborn.breath_every_ms",
    "newborn.recheck_s",
];

/// The tables of the file; `head` is what stands above them.
pub(crate) const TABLES: [&str; 22] = [
    "head",
    "beat",
    "start",
    "breaths",
    "airway",
    "check",
    "hands_off",
    "procedure",
    "shock",
    "device",
    "cup",
    "power",
    "drug",
    "drugs",
    "overlay",
    "minute",
    "rosc",
    "run",
    "voice",
    "lists",
    "doses",
    "newborn",
];

/// Words of a file that have no message elsewhere.
pub(crate) const OPTIONS: [&str; 15] = [
    "true",
    "false",
    "short",
    "full",
    "on",
    "quiet",
    "off",
    "two",
    "one",
    "in_check",
    "arrest",
    "start",
    "als_arrival",
    "at_once",
    "never",
];

/// What is counted: as the rules name it, and its message.
pub(crate) const UNITS: [(&str, &str); 10] = [
    ("s", "s"),
    ("ms", "ms"),
    ("min", "min"),
    ("per minute", "per_minute"),
    ("times", "times"),
    ("cycles", "cycles"),
    ("shocks", "shocks"),
    ("shocks; 0: shocks do not ask for it", "shocks_ask"),
    ("doses; 0: no limit", "doses_limit"),
    ("doses below 30 degrees; 0: none", "doses_cold"),
];

/// A field's message.
pub(crate) fn field_key(page: &str) -> String {
    format!("field-{}", page.replace('.', "-"))
}

/// Which minute is heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum Situation {
    /// The first one of a run by hand.
    First,
    /// A rhythm check falls due and is answered.
    Check,
    /// Hands are off, and stay off.
    Off,
    /// An airway is put in.
    Airway,
    /// The device stops.
    Stopped,
}

impl Situation {
    /// Every one.
    pub const ALL: [Self; 5] = [
        Self::First,
        Self::Check,
        Self::Off,
        Self::Airway,
        Self::Stopped,
    ];

    /// Its word in the messages.
    pub const fn word(self) -> &'static str {
        match self {
            Self::First => "first",
            Self::Check => "check",
            Self::Off => "off",
            Self::Airway => "airway",
            Self::Stopped => "stopped",
        }
    }
}

/// The protocol editor as it is shown.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Draft {
    /// Its fixed words.
    pub labels: DraftLabels,
    /// Files that can be copied.
    pub sources: Vec<DraftSource>,
    /// The draft, if there is one.
    pub open: Option<DraftOpen>,
}

/// A file that can be copied.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DraftSource {
    /// The protocol's id.
    pub id: String,
    /// Its name.
    pub label: String,
    /// It is built in: an example, never changed.
    pub is_example: bool,
}

/// A draft.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DraftOpen {
    /// Which draft it is.
    pub title: String,
    /// How many faults it has, in words.
    pub said: String,
    /// It has none.
    pub is_sound: bool,
    /// What is wrong with no table of it.
    pub faults: Vec<DraftStray>,
    /// Its tables.
    pub groups: Vec<DraftGroup>,
    /// Tables that can be added.
    pub rows: Vec<DraftRow>,
    /// Where it would be saved.
    pub place: String,
    /// A change can be taken back.
    pub can_take_back: bool,
    /// The minutes that can be heard.
    pub situations: Vec<SituationKey>,
}

/// A fault beside the fields.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DraftStray {
    /// What is wrong.
    pub text: String,
    /// What can be taken out to mend it.
    pub take_out: Option<String>,
}

/// A table that can be added.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DraftRow {
    /// Its name for [`DraftChange::Add`].
    pub row: String,
    /// What stands on its key.
    pub label: String,
}

/// A minute that can be heard, on a key.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct SituationKey {
    /// Which.
    pub situation: Situation,
    /// What stands on the key.
    pub label: String,
}

/// A table of the file: fields that belong together.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DraftGroup {
    /// Its name in the file.
    pub id: String,
    /// Its name in words.
    pub label: String,
    /// How many faults it has, in words; empty: none.
    pub said: String,
    /// It can be taken out as a whole: what it is then called.
    pub take_out: Option<String>,
    /// What is wrong with it beside its fields.
    pub faults: Vec<DraftStray>,
    /// Its fields.
    pub fields: Vec<DraftField>,
}

/// A field of the form.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DraftField {
    /// Its name in the file.
    pub field: String,
    /// Its name in words.
    pub label: String,
    /// What is typed or chosen there.
    pub input: DraftInput,
    /// What stands there, as it is typed.
    pub value: String,
    /// It is in the file.
    pub is_there: bool,
    /// Its unit; empty: none.
    pub unit: String,
    /// What may stand there, in words.
    pub allowed: String,
    /// The file's own range; `None`: it cannot have one.
    pub range: Option<String>,
    /// Where it comes from; `None`: its row says it.
    pub source: Option<String>,
    /// What is wrong with it.
    pub faults: Vec<String>,
}

/// How a field is filled.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum DraftInput {
    /// A line is typed.
    Line {},
    /// Lines are typed, one below the other.
    Lines {},
    /// One is chosen.
    Choice {
        /// Out of these.
        options: Vec<DraftOption>,
    },
    /// Several are chosen; they are written with commas.
    Several {
        /// Out of these.
        options: Vec<DraftOption>,
    },
}

/// Something that can be chosen.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DraftOption {
    /// As the file has it.
    pub value: String,
    /// In words.
    pub label: String,
    /// It is what stands there.
    pub on: bool,
}

/// A change of the draft.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum DraftChange {
    /// A field is written anew.
    Write {
        /// Which.
        field: String,
        /// Which part of it.
        slot: DraftSlot,
        /// What was typed.
        typed: String,
    },
    /// A table or a stray key goes.
    TakeOut {
        /// Which.
        field: String,
    },
    /// A table comes.
    Add {
        /// Which.
        row: String,
    },
    /// The last change is taken back.
    TakeBack {},
}

/// A part of a field.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum DraftSlot {
    /// Its value.
    Value,
    /// Where it comes from.
    Source,
    /// The file's own range.
    Range,
}

/// A minute of a draft, to be heard and seen.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct DraftMinute {
    /// The picture, an SVG element.
    pub svg: String,
    /// The same in words.
    pub told: String,
    /// How long it sounds, ms.
    #[cfg_attr(feature = "ts", ts(type = "number"))]
    pub length_ms: u64,
}

impl Words {
    /// A sentence of the protocol editor, with its values in order.
    pub fn draft_said(&self, word: DraftWord, values: &[&str]) -> String {
        let mut args = FluentArgs::new();
        for (name, value) in crate::sheet::VALUES.into_iter().zip(values) {
            args.set(name, FluentValue::from(*value));
        }
        self.formatted(word.key(), &args)
    }

    /// A minute's name.
    pub fn situation(&self, situation: Situation) -> String {
        self.word("minute", situation.word())
    }
}
