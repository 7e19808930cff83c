//! The words of the debrief: its charts and its printed page.

use cycle::mark::{PatientClass, Reason};
use fluent_bundle::{FluentArgs, FluentValue};

use crate::Words;

macro_rules! sheet_words {
    ($($name:ident = $key:literal,)*) => {
        /// A message of the debrief. One with values takes them as `$a`, `$b` and `$c`, written out.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        #[non_exhaustive]
        pub enum SheetWord {
            $(#[doc = concat!("`sheet-", $key, "`")] $name,)*
        }

        impl SheetWord {
            pub(crate) const ALL: &'static [Self] = &[$(Self::$name,)*];

            pub(crate) const fn key(self) -> &'static str {
                match self {
                    $(Self::$name => concat!("sheet-", $key),)*
                }
            }
        }
    };
}

sheet_words! {
    Title = "title",
    TitleOf = "title_of",
    Notice = "notice",
    Precision = "precision",
    AsRecorded = "as_recorded",
    AsAmended = "as_amended",
    AsAmendedUnsealed = "as_amended_unsealed",
    NotKnown = "not_known",
    NoneMarked = "none_marked",
    Yes = "yes",
    No = "no",
    Seconds = "seconds",
    FromTo = "from_to",
    Pair = "pair",
    PageOf = "page_of",
    FootLine = "foot_line",
    Sealed = "sealed",
    SealedLater = "sealed_later",
    Unsealed = "unsealed",
    Broken = "broken",
    FingerprintOf = "fingerprint",
    HeadRun = "head_run",
    HeadRecord = "head_record",
    HeadKind = "head_kind",
    HeadBegan = "head_began",
    HeadWindow = "head_window",
    HeadBegins = "head_begins",
    HeadEnds = "head_ends",
    HeadSaw = "head_saw",
    HeadClass = "head_class",
    HeadCrew = "head_crew",
    HeadUnit = "head_unit",
    HeadProtocol = "head_protocol",
    HeadRate = "head_rate",
    HeadVersion = "head_version",
    RateValue = "rate_value",
    KindRun = "kind_run",
    KindDrill = "kind_drill",
    KindRehearsal = "kind_rehearsal",
    KindTest = "kind_test",
    BeginsRecognised = "begins_recognised",
    BeginsWitnessed = "begins_witnessed",
    BeginsCompression = "begins_compression",
    BeginsTakeover = "begins_takeover",
    EndsStopped = "ends_stopped",
    EndsHandedOver = "ends_handed_over",
    EndsCirculation = "ends_circulation",
    EndsNoArrest = "ends_no_arrest",
    EndsGap = "ends_gap",
    EndsLastLine = "ends_last_line",
    NoWindow = "no_window",
    TrustHead = "trust_head",
    TrustLine = "trust_line",
    Measured = "of",
    FractionsHead = "fractions_head",
    Measure = "measure",
    Value = "value",
    Window = "window",
    Fraction = "fraction",
    FractionModelled = "fraction_modelled",
    AfterFive = "after_five",
    OfWhole = "of_whole",
    TimeOn = "time_on",
    TimeOff = "time_off",
    TimePulse = "time_pulse",
    TimeUnknown = "time_unknown",
    TimeOffNoBreaths = "time_off_no_breaths",
    AtMost = "at_most",
    BelowFloor = "below_floor",
    WindowRecognition = "window_recognition",
    WindowCompression = "window_compression",
    WindowAfterFive = "window_after_five",
    LongestHead = "longest_head",
    PausesLine = "pauses_line",
    StripHead = "strip_head",
    StripTold = "strip_told",
    StripTitle = "strip_title",
    BarsHead = "bars_head",
    BarsTitle = "bars_title",
    BarsTold = "bars_told",
    BarsNone = "bars_none",
    BarsLongest = "bars_longest",
    At = "at",
    What = "what",
    Length = "length",
    Reason = "reason",
    ReasonNone = "reason_none",
    EndedBy = "ended_by",
    EndedCompressions = "ended_compressions",
    EndedCirculation = "ended_circulation",
    EndedUnknown = "ended_unknown",
    EndedEnd = "ended_end",
    LaneState = "lane_state",
    LaneOff = "lane_off",
    LaneChecks = "lane_checks",
    LaneShocks = "lane_shocks",
    LaneDrugs = "lane_drugs",
    LaneAir = "lane_air",
    LaneDevice = "lane_device",
    LanePower = "lane_power",
    LaneCup = "lane_cup",
    AxisMinutes = "axis_minutes",
    HeardTitle = "heard_title",
    HeardTold = "heard_told",
    HeardSaid = "heard_said",
    HeardWave = "heard_wave",
    HeardFirst = "heard_first",
    HeardBeat = "heard_beat",
    HeardLast = "heard_last",
    HeardBreath = "heard_breath",
    HeardWindow = "heard_window",
    HeardPrompt = "heard_prompt",
    HeardTone = "heard_tone",
    ByHand = "by_hand",
    ByDevice = "by_device",
    HandsOff = "hands_off",
    Circulation = "circulation",
    Unknown = "unknown",
    Check = "check",
    CheckMissed = "check_missed",
    Shock = "shock",
    ShockUntimed = "shock_untimed",
    Dose = "dose",
    AirwayIn = "airway_in",
    AirwayLost = "airway_lost",
    Breaths = "breaths",
    CupGood = "cup_good",
    CupReseat = "cup_reseat",
    CupOpen = "cup_open",
    Swap = "swap",
    PausesHead = "pauses_head",
    ShocksHead = "shocks_head",
    FittingsHead = "fittings_head",
    DrugsHead = "drugs_head",
    CupHead = "cup_head",
    PowerHead = "power_head",
    ChecksHead = "checks_head",
    EmptyPauses = "empty_pauses",
    EmptyShocks = "empty_shocks",
    EmptyFittings = "empty_fittings",
    EmptyDrugs = "empty_drugs",
    EmptyCup = "empty_cup",
    EmptyPower = "empty_power",
    EmptyChecks = "empty_checks",
    By = "by",
    ByUs = "by_us",
    ByOthers = "by_others",
    Pre = "pre",
    Post = "post",
    Peri = "peri",
    Pause = "pause",
    Remark = "remark",
    MomentNotMarked = "moment_not_marked",
    Through = "through",
    Stacked = "stacked",
    NoResume = "no_resume",
    PauseNotMarked = "pause_not_marked",
    Running = "running",
    Windows = "windows",
    Together = "together",
    HandsBefore = "hands_before",
    NeverRan = "never_ran",
    NotFitted = "not_fitted",
    Drug = "drug",
    Doses = "doses",
    DosesBefore = "doses_before",
    DrugWindow = "drug_window",
    NoDrugWindow = "no_drug_window",
    Intervals = "intervals",
    Places = "places",
    PlacesValue = "places_value",
    IntervalBefore = "interval_before",
    IntervalPulse = "interval_pulse",
    Asked = "asked",
    Answer = "answer",
    After = "after",
    PackOut = "pack_out",
    PackIn = "pack_in",
    Swapped = "swapped",
    SwapWindow = "swap_window",
    Inside = "inside",
    Outside = "outside",
    OffAround = "off_around",
    Result = "result",
    Rhythm = "rhythm",
    ResultShock = "result_shock",
    ResultNoShock = "result_no_shock",
    ResultNotSaid = "result_not_said",
    ResultMissed = "result_missed",
    NoPause = "no_pause",
    WentOn = "went_on",
}

impl Words {
    /// A message of the debrief that takes no value.
    pub fn sheet(&self, word: SheetWord) -> String {
        self.sheet_with(word, &[])
    }

    /// A message of the debrief with its values in order.
    pub fn sheet_with(&self, word: SheetWord, values: &[&str]) -> String {
        let mut args = FluentArgs::new();
        for (name, value) in ["a", "b", "c"].into_iter().zip(values) {
            args.set(name, FluentValue::from(*value));
        }
        self.formatted(word.key(), &args)
    }

    /// Why hands were off, as the debrief says it.
    pub fn reason(&self, reason: Option<Reason>) -> String {
        match reason {
            None | Some(Reason::Unknown) => self.sheet(SheetWord::ReasonNone),
            Some(reason) => self.word("reason", reason.word()),
        }
    }

    /// A reason as it stands on a key.
    pub fn reason_key(&self, reason: Reason) -> String {
        // Beside the pulse check.
        if reason == Reason::RhythmCheck {
            return self.said(crate::SaidWord::RhythmCheck, &[]);
        }
        let said = self.reason(Some(reason));
        let mut letters = said.chars();
        let first = letters.next().into_iter().flat_map(char::to_uppercase);
        first.chain(letters).collect()
    }

    /// Whose numbers.
    pub fn class(&self, class: PatientClass) -> String {
        self.word("class", class.word())
    }
}

/// The values that a message of the debrief and of the screens after a run may take.
pub(crate) const VALUES: [&str; 4] = ["a", "b", "c", "d"];
