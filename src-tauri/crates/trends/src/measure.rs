//! What is followed over time, and the published figures beside it.

use record::RunKind;
use words::TrendWord as W;

use crate::Seen;

/// What a run has one value of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Measure {
    /// Compression fraction, neither an upper bound nor of an arrest that the crew saw.
    Fraction,
    /// Upper bounds of it, never among the others.
    FractionBound,
    /// Of arrests that the crew saw, which registries report apart.
    FractionSeen,
    /// Upper bounds of these.
    FractionBoundSeen,
    /// The longest pause.
    Longest,
    /// Off the chest in the first fitting.
    Fitting,
    /// Before the shocks.
    Pre,
    /// After them.
    Post,
    /// Around them.
    Peri,
    /// To the first compression, of runs in which the arrest was marked before it.
    FirstCompression,
    /// To the first shock.
    FirstShock,
    /// To the first dose.
    FirstDrug,
}

/// In the order of the report.
pub const VALUES: [Measure; 12] = [
    Measure::Fraction,
    Measure::FractionBound,
    Measure::FractionSeen,
    Measure::FractionBoundSeen,
    Measure::Longest,
    Measure::Fitting,
    Measure::Pre,
    Measure::Post,
    Measure::Peri,
    Measure::FirstCompression,
    Measure::FirstShock,
    Measure::FirstDrug,
];

/// What is a share of many.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ShareOf {
    /// Runs whose fraction is at least 0.60, of those where it is known whether it is.
    AboveFloor,
    /// Intervals between doses inside their window.
    DosesInside,
}

/// In the order of the report.
pub const SHARES: [ShareOf; 2] = [ShareOf::AboveFloor, ShareOf::DosesInside];

/// A published figure of others, for a line across a chart. It is no limit and no aim of ours.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Yardstick {
    /// Where.
    pub value: f64,
    /// How it is said.
    pub word: W,
    /// Surname and year of a paper, or its journal; `None`: the guideline.
    pub source: Option<&'static str>,
}

const fn yard(value: f64, word: W, source: &'static str) -> Yardstick {
    Yardstick {
        value,
        word,
        source: Some(source),
    }
}

const fn guideline(value: f64) -> Yardstick {
    Yardstick {
        value,
        word: W::YardFigure,
        source: None,
    }
}

impl Measure {
    /// As tables name it, with its unit.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Fraction => "fraction",
            Self::FractionBound => "fraction_upper_bound",
            Self::FractionSeen => "fraction_crew_saw_arrest",
            Self::FractionBoundSeen => "fraction_upper_bound_crew_saw_arrest",
            Self::Longest => "longest_pause_s",
            Self::Fitting => "first_fitting_s",
            Self::Pre => "pre_shock_s",
            Self::Post => "post_shock_s",
            Self::Peri => "peri_shock_s",
            Self::FirstCompression => "first_compression_s",
            Self::FirstShock => "first_shock_s",
            Self::FirstDrug => "first_drug_s",
        }
    }

    /// Its name in words.
    pub const fn word(self) -> W {
        match self {
            Self::Fraction => W::Fraction,
            Self::FractionBound => W::FractionBound,
            Self::FractionSeen => W::FractionSeen,
            Self::FractionBoundSeen => W::FractionBoundSeen,
            Self::Longest => W::Longest,
            Self::Fitting => W::Fitting,
            Self::Pre => W::Pre,
            Self::Post => W::Post,
            Self::Peri => W::Peri,
            Self::FirstCompression => W::FirstCompression,
            Self::FirstShock => W::FirstShock,
            Self::FirstDrug => W::FirstDrug,
        }
    }

    /// A share of time, not seconds.
    pub const fn is_share(self) -> bool {
        matches!(
            self,
            Self::Fraction | Self::FractionBound | Self::FractionSeen | Self::FractionBoundSeen
        )
    }

    /// A run's value; `None`: not known, or not of this figure.
    pub fn of(self, run: &Seen) -> Option<f64> {
        let fraction = |is_bound: bool, crew_saw: bool| {
            run.fraction
                .filter(|_| (run.is_bound, run.crew_saw) == (is_bound, crew_saw))
        };
        match self {
            Self::Fraction => fraction(false, false),
            Self::FractionBound => fraction(true, false),
            Self::FractionSeen => fraction(false, true),
            Self::FractionBoundSeen => fraction(true, true),
            Self::Longest => run.longest_s,
            Self::Fitting => run.fitting_s,
            Self::Pre => run.pre_s,
            Self::Post => run.post_s,
            Self::Peri => run.peri_s,
            // One touch of Start marks arrest and compressions: that 0 s says nothing of the crew.
            Self::FirstCompression => run.first_compression_s.filter(|s| *s > 0.0),
            Self::FirstShock => run.first_shock_s,
            Self::FirstDrug => run.first_drug_s,
        }
    }

    /// Published figures of others. What they were measured of differs from place to place: docs/trends.md.
    pub fn yardsticks(self, kind: RunKind) -> Vec<Yardstick> {
        match (self, kind) {
            // At least 0.60: adult basic life support 2020; 0.90 to 0.95: Levy, Resuscitation 2015;92:32.
            (Self::Fraction | Self::FractionSeen, _) => vec![
                guideline(0.60),
                yard(0.90, W::YardBefore, "Levy 2015"),
                yard(0.95, W::YardAfter, "Levy 2015"),
            ],
            // 0.65 by hand with breath pauses in it: Beesems 2013. An upper bound lies above what was done.
            (Self::FractionBound | Self::FractionBoundSeen, _) => vec![guideline(0.60)],
            // Above 10 s none: adult basic life support 2020; 25 s, then 13 s: Levy 2015.
            (Self::Longest, _) => vec![
                guideline(10.0),
                yard(25.0, W::YardBefore, "Levy 2015"),
                yard(13.0, W::YardAfter, "Levy 2015"),
            ],
            // Of nurses at a manikin 31.6 s: Am J Emerg Med, S0735-6757(15)00787-1; the better of two devices.
            (Self::Fitting, RunKind::Drill) => vec![
                yard(7.0, W::YardAfter, "Levy 2015"),
                yard(31.6, W::YardManikin, "Am J Emerg Med"),
            ],
            // 21 s, then 7 s: Levy 2015.
            (Self::Fitting, RunKind::Run | RunKind::Rehearsal | RunKind::Test) => vec![
                yard(21.0, W::YardBefore, "Levy 2015"),
                yard(7.0, W::YardAfter, "Levy 2015"),
            ],
            // 15 s, 6 s and 22 s: Cheskes 2014, n = 2006.
            (Self::Pre, _) => vec![yard(15.0, W::YardMedian, "Cheskes 2014")],
            (Self::Post, _) => vec![yard(6.0, W::YardMedian, "Cheskes 2014")],
            (Self::Peri, _) => vec![yard(22.0, W::YardMedian, "Cheskes 2014")],
            (Self::FirstCompression | Self::FirstShock | Self::FirstDrug, _) => Vec::new(),
        }
    }
}

impl ShareOf {
    /// As tables name it.
    pub const fn key(self) -> &'static str {
        match self {
            Self::AboveFloor => "share_fraction_from_0_60",
            Self::DosesInside => "share_doses_inside",
        }
    }

    /// Its name in words.
    pub const fn word(self) -> W {
        match self {
            Self::AboveFloor => W::AboveFloor,
            Self::DosesInside => W::DosesInside,
        }
    }

    /// How many of how many, in a run.
    pub fn of(self, run: &Seen) -> (usize, usize) {
        match self {
            // An upper bound can only tell that a run lies below: with these alone the share would be too low.
            Self::AboveFloor => match run.below_floor.filter(|_| !run.is_bound && !run.crew_saw) {
                Some(below) => (usize::from(!below), 1),
                None => (0, 0),
            },
            Self::DosesInside => (run.doses_inside, run.doses_placed),
        }
    }
}
