//! The words of the times that are carried over into the care record.

use crate::Words;

macro_rules! words {
    ($($variant:ident = $word:literal,)+) => {
        /// A plain word for a value, a source or what is still to be confirmed.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        #[expect(missing_docs, reason = "each is named as its word in the message file")]
        pub enum CarryWord { $($variant,)+ }
        impl CarryWord {
            /// Every one.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];
            /// Its word in the message files.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }
        }
    };
}

words! {
    Yes = "yes",
    No = "no",
    AfterArrival = "after_arrival",
    Compressions = "compressions",
    Breaths = "breaths",
    Defibrillation = "defibrillation",
    AedNone = "aed_none",
    AedApplied = "aed_applied",
    AedShocked = "aed_shocked",
    Bystander = "bystander",
    Family = "family",
    HealthWorker = "hcp",
    ByHand = "by_hand",
    ByBand = "by_band",
    ByPiston = "by_piston",
    ByPistonArm = "by_piston_arm",
    ByOther = "by_other",
    ByDevice = "by_device",
    WithBreaths = "with_breaths",
    MaskBreaths = "mask",
    AirwayBreaths = "airway",
    Vf = "vf",
    Pvt = "pvt",
    Pea = "pea",
    Asystole = "asystole",
    AedShock = "aed_shock",
    AedNoShock = "aed_no_shock",
    OtherRhythm = "other_rhythm",
    RoscNone = "rosc_none",
    RoscBefore = "rosc_before",
    RoscAt = "rosc_at",
    RoscLong = "rosc_long",
    StopDnr = "stop_dnr",
    StopControl = "stop_control",
    StopObvious = "stop_obvious",
    StopUnable = "stop_unable",
    StopProtocol = "stop_protocol",
    StopRosc = "stop_rosc",
    EndRosc = "end_rosc",
    EndField = "end_field",
    EndHospital = "end_hospital",
    Adrenaline = "adrenaline",
    Amiodarone = "amiodarone",
    Lidocaine = "lidocaine",
    Bicarbonate = "bicarbonate",
    CalciumChloride = "calcium_chloride",
    CalciumGluconate = "calcium_gluconate",
    Magnesium = "magnesium",
    Atropine = "atropine",
    Naloxone = "naloxone",
    Norepinephrine = "norepinephrine",
    Vasopressin = "vasopressin",
    Antiarrhythmic = "antiarrhythmic",
    Calcium = "calcium",
    Glucose = "glucose",
    RouteIv = "iv",
    RouteIo = "io",
    RouteIm = "im",
    RouteIn = "in",
    RouteEt = "et",
    Shock = "shock",
    ShockAed = "shock_aed",
    ShockManual = "shock_manual",
    AccessIv = "access_iv",
    AccessIo = "access_io",
    Opa = "opa",
    Npa = "npa",
    Sga = "sga",
    Ett = "ett",
    Cric = "cric",
    AirwayUnnamed = "airway_unnamed",
    Waveform = "waveform",
    Digital = "digital",
    Colorimetric = "colorimetric",
    Auscultation = "auscultation",
    ChestRise = "chest_rise",
    Visual = "visual",
    Drug = "drug",
    SourceButton = "source_button",
    SourceVoice = "source_voice",
    SourceSensor = "source_sensor",
    SourceImport = "source_import",
    SourceReview = "source_review",
    ClockDispatch = "clock_dispatch",
    ClockMonitor = "clock_monitor",
    ClockWall = "clock_wall",
    ClockOther = "clock_other",
    AskCrew = "ask_crew",
    AskTold = "ask_told",
    AskVoice = "ask_voice",
    AskWhich = "ask_which",
    AskTwice = "ask_twice",
    AskOthers = "ask_others",
    AskDerived = "ask_derived",
    AskTries = "ask_tries",
    AskStrength = "ask_strength",
    AskFirst = "ask_first",
    Fraction = "fraction",
    UpperBound = "upper_bound",
    Pause = "pause",
    Gas = "gas",
    Rhythm = "rhythm",
    FirstRhythm = "first_rhythm",
    Circulation = "circulation",
    EndOfEvent = "end_of_event",
    Subject = "subject",
    NotNamed = "not_named",
    ByMarks = "by_marks",
}

impl Words {
    /// A word of the times to carry over.
    pub fn carry(&self, word: CarryWord) -> String {
        self.word("carry", word.word())
    }
}
