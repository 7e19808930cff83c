//! The words of the report over many runs.

use fluent_bundle::{FluentArgs, FluentValue};

use crate::Words;

macro_rules! trend_words {
    ($($name:ident = $key:literal,)*) => {
        /// A message of the report over many runs. One with values takes them as `$a`, `$b` and `$c`, written out.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        #[non_exhaustive]
        pub enum TrendWord {
            $(#[doc = concat!("`trend-", $key, "`")] $name,)*
        }

        impl TrendWord {
            pub(crate) const ALL: &'static [Self] = &[$(Self::$name,)*];

            pub(crate) const fn key(self) -> &'static str {
                match self {
                    $(Self::$name => concat!("trend-", $key),)*
                }
            }
        }
    };
}

trend_words! {
    Title = "title",
    Notice = "notice",
    Precision = "precision",
    Read = "read",
    Foot = "foot",
    UnitOnly = "unit_only",
    NoGroup = "no_group",
    GroupRun = "group_run",
    GroupDrill = "group_drill",
    NoScenario = "no_scenario",
    Apart = "apart",
    GroupLine = "group_line",
    Unended = "unended",
    Earlier = "earlier",
    TablesOnly = "tables_only",
    Damaged = "damaged",
    Summary = "summary",
    ColMeasure = "col_measure",
    ColRuns = "col_runs",
    ColMedian = "col_median",
    ColQuartiles = "col_quartiles",
    ColTrust = "col_trust",
    ColWhen = "col_when",
    ColValue = "col_value",
    AsTable = "as_table",
    ColFile = "col_file",
    ColWhat = "col_what",
    ColDetail = "col_detail",
    Fraction = "fraction",
    FractionBound = "fraction_bound",
    FractionSeen = "fraction_seen",
    FractionBoundSeen = "fraction_bound_seen",
    Longest = "longest",
    Fitting = "fitting",
    Pre = "pre",
    Post = "post",
    Peri = "peri",
    FirstCompression = "first_compression",
    FirstShock = "first_shock",
    FirstDrug = "first_drug",
    AboveFloor = "above_floor",
    DosesInside = "doses_inside",
    UnitSeconds = "unit_seconds",
    UnitShare = "unit_share",
    ByRun = "by_run",
    ByMonth = "by_month",
    ByQuarter = "by_quarter",
    ShareByMonth = "share_by_month",
    ShareByQuarter = "share_by_quarter",
    MedianLine = "median_line",
    WholeLine = "whole_line",
    SpreadLine = "spread_line",
    ShareLine = "share_line",
    TrustLine = "trust_line",
    TrustShort = "trust_short",
    AtMost = "at_most",
    AtLeast = "at_least",
    SignalNo = "signal_no",
    SignalYes = "signal_yes",
    SignalNone = "signal_none",
    OutsideNo = "outside_no",
    OutsideYes = "outside_yes",
    ThinAll = "thin_all",
    ThinSome = "thin_some",
    Few = "few",
    YardMedian = "yard_median",
    YardBefore = "yard_before",
    YardAfter = "yard_after",
    YardManikin = "yard_manikin",
    YardFigure = "yard_figure",
    Guideline = "guideline",
    RulesHead = "rules_head",
    RulesRun = "rules_run",
    RulesShare = "rules_share",
    RulesYards = "rules_yards",
    LeftHead = "left_head",
    LeftNone = "left_none",
    CopiesHead = "copies_head",
    CopiesNone = "copies_none",
    GoneHead = "gone_head",
    GoneNone = "gone_none",
    More = "more",
    WhyForeign = "why_foreign",
    WhyNewer = "why_newer",
    WhyHalf = "why_half",
    WhyDamaged = "why_damaged",
    WhyClock = "why_clock",
    WhyUnreadable = "why_unreadable",
    WhyEmpty = "why_empty",
    CopySame = "copy_same",
    CopyEarlier = "copy_earlier",
    CopyDiffers = "copy_differs",
    GoneHandIn = "gone_hand_in",
    GoneUnread = "gone_unread",
    GoneWaiting = "gone_waiting",
    GoneLost = "gone_lost",
}

impl Words {
    /// A message of the report that takes no value.
    pub fn trend(&self, word: TrendWord) -> String {
        self.trend_with(word, &[])
    }

    /// A message of the report with its values in order.
    pub fn trend_with(&self, word: TrendWord, values: &[&str]) -> String {
        let mut args = FluentArgs::new();
        for (name, value) in ["a", "b", "c"].into_iter().zip(values) {
            args.set(name, FluentValue::from(*value));
        }
        self.formatted(word.key(), &args)
    }
}
