//! A scenario: what is told when, what is expected of the crew, what is measured.

use std::collections::BTreeMap;

use cycle::{Mark, Ms, mark::PatientClass};
use serde::{Deserialize, Serialize};

use crate::dice::draw;

macro_rules! listed {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
        pub enum $name {
            $($(#[$vdoc])* #[serde(rename = $word)] $variant,)+
        }
        impl $name {
            /// Every value.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];
            /// The word of the file.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }
        }
    };
}

listed! {
    /// How the drill begins.
    Begin {
        /// With compressions by hand, or with the arrest.
        Hand = "hand",
        /// With the device running.
        Device = "device",
    }
}
listed! {
    /// What a cue does.
    CueKind {
        /// It is said.
        Say = "say",
        /// What the monitor shows is said.
        Rhythm = "rhythm",
        /// The device stops by itself.
        DeviceStops = "device_stops",
        /// The cup slips.
        CupSlips = "cup_slips",
        /// The device's pack runs down.
        PackLow = "pack_low",
        /// The patient is too large for the device.
        TooLarge = "too_large",
        /// An airway device is in place.
        AirwayPlaced = "airway_placed",
        /// Noise, as in a vehicle.
        Noise = "noise",
    }
}
impl CueKind {
    /// What the instructor can inject at any moment, whatever the scenario plans.
    pub const EVENTS: [Self; 6] = [
        Self::DeviceStops,
        Self::CupSlips,
        Self::PackLow,
        Self::TooLarge,
        Self::AirwayPlaced,
        Self::Noise,
    ];
}
listed! {
    /// A measure that a drill is scored by; each is one of `docs/measures.md`.
    What {
        /// The longest window of the first fitting, s.
        FittingLongest = "fitting_longest_s",
        /// Stops that it took.
        FittingStops = "fitting_stops",
        /// Share of the minute before the device ran in which hands were on.
        FlowBefore = "flow_before",
        /// The longest pause before a shock, s.
        PreShock = "pre_shock_longest_s",
        /// The longest pause around a shock, s.
        PeriShock = "peri_shock_longest_s",
        /// The longest pause, s.
        LongestPause = "longest_pause_s",
        /// Time to the first shock, s.
        FirstShock = "first_shock_s",
        /// Compression fraction of the first five minutes.
        FractionFirstFive = "fraction_first_5_min",
        /// Compression fraction.
        Fraction = "fraction",
        /// The longest pause to seat the device again, s.
        Reseat = "reseat_longest_s",
        /// The longest pause to take the device off, s.
        Removal = "removal_longest_s",
        /// Pauses for the move together, s.
        MovePauses = "move_pauses_s",
        /// Share of intervals between doses inside their window.
        DosesInside = "doses_inside",
        /// Breaths a minute, counted.
        BreathsPerMin = "breaths_per_min",
    }
}
listed! {
    /// What only the instructor sees; none of it is scored.
    Item {
        /// Who does what was said aloud.
        RolesSaid = "roles_said",
        /// What was asked for was answered.
        AnswersGiven = "answers_given",
        /// Position of hands or cup was looked at again.
        PositionAgain = "position_again",
        /// Breaths were given by count.
        BreathsByCount = "breaths_by_count",
    }
}

/// A text in one or more languages.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Said(pub(crate) BTreeMap<String, String>);

impl Said {
    /// In this language, else in another of its tongue, else in English, else in the first there is.
    pub fn of(&self, lang: &str) -> &str {
        let tongue = lang.split('-').next().unwrap_or(lang);
        let found = [lang, tongue, "en"].iter().find_map(|tag| self.0.get(*tag));
        found
            .or_else(|| self.0.values().next())
            .map_or("", String::as_str)
    }
}

/// Something that the crew is told, or that happens to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CueRule {
    /// Its id.
    pub id: String,
    /// What it does, where there is no choice.
    pub kind: CueKind,
    /// What it counts from.
    pub from: Origin,
    /// How long after that.
    pub after: Ms,
    /// And up to so much more, by the seed, whole seconds.
    pub vary_s: u32,
    /// From the drill's beginning, whatever the crew did.
    pub latest: Option<Ms>,
    /// What is said.
    pub say: Said,
    /// One of these instead, by the seed; none: the cue itself.
    pub choices: Vec<Choice>,
}

/// One of several ways in which a scenario may go on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// Its id.
    pub id: String,
    /// What it does.
    pub kind: CueKind,
    /// What is said.
    pub say: Said,
}

/// What a time counts from: places in the scenario's lists.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// The beginning.
    Start,
    /// A cue.
    Cue(usize),
    /// A mark that is expected.
    Mark(usize),
}

/// It is expected only where a cue went this way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Only {
    /// The cue's place.
    pub cue: usize,
    /// The choice's place.
    pub choice: usize,
}

/// A mark that is expected.
#[derive(Clone, Debug, PartialEq)]
pub struct Expected {
    /// Its id.
    pub id: String,
    /// How it is named to the crew.
    pub name: Said,
    /// What it counts from.
    pub from: Origin,
    /// Which mark.
    pub wants: Wanted,
    /// In time from here.
    pub earliest: Ms,
    /// In time up to here.
    pub within: Ms,
    /// Up to here it counts at all.
    pub until: Ms,
    /// What it weighs.
    pub weight: u32,
    /// What has to stand before it, by place.
    pub needs: Vec<usize>,
    /// Without it, and in order, the drill is not passed.
    pub must: bool,
    /// Only where a cue went this way.
    pub only: Option<Only>,
}

/// The mark that is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// Its kind.
    pub ev: String,
    /// Fields that it must have; others may be anything.
    pub d: serde_json::Map<String, serde_json::Value>,
}

impl Wanted {
    /// Whether a mark is it.
    pub fn is(&self, mark: &Mark) -> bool {
        if cycle::mark::kind_of(mark) != self.ev {
            return false;
        }
        let Ok(written) = serde_json::to_value(mark) else {
            return false;
        };
        let d = written.get("d");
        let has =
            |(key, value): (&String, &serde_json::Value)| d.and_then(|d| d.get(key)) == Some(value);
        self.d.iter().all(has)
    }
}

/// A measure and what it is to come to, bounds included.
#[derive(Clone, Debug, PartialEq)]
pub struct MeasureRule {
    /// Which.
    pub what: What,
    /// At least.
    pub least: Option<f64>,
    /// At most.
    pub most: Option<f64>,
    /// What it weighs.
    pub weight: u32,
    /// Only where a cue went this way.
    pub only: Option<Only>,
    /// Where the bound comes from, or that it is the drill's own.
    pub source: Said,
}

/// A published figure beside a measure: no aim.
#[derive(Clone, Debug, PartialEq)]
pub struct Yardstick {
    /// Of which measure.
    pub what: What,
    /// The figure, in the measure's unit.
    pub value: f64,
    /// Whose.
    pub source: Said,
}

/// A scenario, checked.
#[derive(Clone, Debug, PartialEq)]
pub struct Scenario {
    /// Its id.
    pub id: String,
    /// Its version.
    pub version: String,
    /// Its letter or number in the service's list.
    pub letter: String,
    /// How it is called.
    pub name: Said,
    /// What is read out before it begins.
    pub scene: Said,
    /// The id of a built-in protocol, or a file beside the scenario; `None`: what is in force.
    pub protocol: Option<String>,
    /// Whose numbers.
    pub class: PatientClass,
    /// How it begins.
    pub begin: Begin,
    /// It is over then.
    pub end: Ms,
    /// Passed from here on, per cent of the points.
    pub pass_percent: u32,
    /// What is told.
    pub cues: Vec<CueRule>,
    /// What is expected.
    pub expect: Vec<Expected>,
    /// What is measured.
    pub measures: Vec<MeasureRule>,
    /// Published figures.
    pub yardsticks: Vec<Yardstick>,
    /// What the instructor looks at.
    pub checklist: Vec<Item>,
}

impl Scenario {
    /// The built-in ones, in order: id and text.
    pub const BUILT_IN: &'static [(&'static str, &'static str)] = &[
        ("device_on", include_str!("../drills/device_on.json")),
        (
            "check_and_shock",
            include_str!("../drills/check_and_shock.json"),
        ),
        (
            "first_minutes",
            include_str!("../drills/first_minutes.json"),
        ),
        ("slip_and_off", include_str!("../drills/slip_and_off.json")),
        (
            "out_to_vehicle",
            include_str!("../drills/out_to_vehicle.json"),
        ),
        (
            "drugs_and_breaths",
            include_str!("../drills/drugs_and_breaths.json"),
        ),
    ];

    /// A built-in one; `None`: there is none of this id.
    pub fn built_in(id: &str) -> Option<Self> {
        let (_, text) = Self::BUILT_IN.iter().find(|(known, _)| *known == id)?;
        // A test reads all of them.
        Self::parse(text.as_bytes()).ok()
    }

    /// Which way a cue goes with this seed; `None`: it has one way only.
    pub fn choice(&self, cue: usize, seed: u32) -> Option<usize> {
        let rule = self.cues.get(cue)?;
        let last = rule.choices.len().checked_sub(1)?;
        let place = cue.saturating_add(self.cues.len());
        let drawn = draw(seed, place, u32::try_from(last).unwrap_or(0));
        usize::try_from(drawn).ok()
    }

    /// How much later than planned a cue comes with this seed.
    pub(crate) fn vary(&self, cue: usize, seed: u32) -> Ms {
        let most = self.cues.get(cue).map_or(0, |rule| rule.vary_s);
        Ms::secs(draw(seed, cue, most))
    }

    /// Whether something is part of the scenario with this seed.
    pub(crate) fn holds(&self, only: Option<Only>, seed: u32) -> bool {
        only.is_none_or(|only| self.choice(only.cue, seed) == Some(only.choice))
    }

    /// What a cue does and says with this seed.
    pub fn cue(&self, cue: usize, seed: u32) -> Option<(CueKind, &Said)> {
        let rule = self.cues.get(cue)?;
        let choice = self.choice(cue, seed).and_then(|n| rule.choices.get(n));
        Some(choice.map_or((rule.kind, &rule.say), |c| (c.kind, &c.say)))
    }
}
