//! What the screens after a run are sent, and what they ask for.

use cycle::{
    Ms,
    mark::{ClockRef, Reason, SetState},
};
use serde::{Deserialize, Serialize};

/// A table: a row of names, then the rows.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Table {
    /// What it is of.
    pub title: String,
    /// Names of the columns.
    pub columns: Vec<String>,
    /// The rows, each with a cell for every column.
    pub rows: Vec<Vec<String>>,
    /// What is said where there is no row.
    pub none: Option<String>,
}

/// A chart, drawn, and the same in words.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Chart {
    /// The picture, an SVG element.
    pub svg: String,
    /// What it shows, in a sentence.
    pub told: String,
    /// The same as a table.
    pub table: Table,
}

/// A part of the strip.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Strip {
    /// The picture and its words.
    pub chart: Chart,
    /// What is drawn, run time.
    pub from: Ms,
    /// Its end.
    pub to: Ms,
    /// The beginning of the whole, from which the strip's times count.
    pub begin: Ms,
    /// The end of the whole.
    pub end: Ms,
    /// Where in the picture the drawn part begins, of its width.
    pub left: f64,
    /// Where it ends.
    pub right: f64,
    /// Where its lanes begin, below the figures, of the picture's height.
    pub top: f64,
    /// Where they end.
    pub foot: f64,
    /// What was so from each moment on, of the whole, in order.
    pub moments: Vec<Moment>,
}

/// What was so from a moment on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Moment {
    /// From then on.
    pub from: Ms,
    /// In words.
    pub text: String,
}

/// One of the longest pauses.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct LongPause {
    /// Its beginning, run time.
    pub at: Ms,
    /// How long.
    pub length: String,
    /// When, from the beginning, and by the clock.
    pub when: String,
    /// Its reason; `None`: nobody said one.
    pub reason: Option<String>,
}

/// A reason that can be said.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct ReasonKey {
    /// Which.
    pub reason: Reason,
    /// What stands on its key.
    pub label: String,
}

/// One of two ways to take the marks.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct BasisKey {
    /// As they were recorded; else as amended.
    pub recorded: bool,
    /// What stands on its key.
    pub label: String,
    /// It is what is shown.
    pub on: bool,
}

/// The record's seal and fingerprint.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct SealLine {
    /// Over it.
    pub title: String,
    /// What the file shows: whole and sealed, not sealed yet, changed or damaged.
    pub verdict: String,
    /// The first digits in groups, to be written down.
    pub digits: String,
    /// The whole fingerprint.
    pub whole: String,
    /// What it is for.
    pub used: String,
}

/// A run's debrief.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Debrief {
    /// The record's id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// When, how long, how it ended; that it was a drill.
    pub head: Vec<String>,
    /// As recorded, as amended.
    pub bases: Vec<BasisKey>,
    /// Over the longest pauses.
    pub longest_title: String,
    /// The three longest.
    pub longest: Vec<LongPause>,
    /// How many there are, or that there is none.
    pub longest_line: String,
    /// The reasons that can be said.
    pub reasons: Vec<ReasonKey>,
    /// Over the strip.
    pub strip_title: String,
    /// The strip of the whole; `None`: nothing can be drawn.
    pub strip: Option<Strip>,
    /// Over the bars.
    pub bars_title: String,
    /// The pauses as bars; `None`: nothing can be drawn.
    pub bars: Option<Chart>,
    /// The measures with their windows.
    pub measures: Table,
    /// How far the marks go: beside every fraction.
    pub trust: String,
    /// The version of the definitions, and how exact marks are.
    pub notes: Vec<String>,
    /// The tables for those who read.
    pub tables: Vec<Table>,
    /// Why it cannot be reviewed yet; `None`: it can.
    pub shut: Option<String>,
    /// The seal.
    pub seal: SealLine,
}

/// A value to carry over.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct CarryLine {
    /// The element's number in the standard.
    pub element: String,
    /// Its name.
    pub name: String,
    /// What is typed: a time as HH:MM:SS, or the words to be chosen.
    pub value: String,
    /// The date of a time, where there is one.
    pub day: Option<String>,
    /// Where it comes from, by which clock; that it is to be confirmed.
    pub notes: Vec<String>,
    /// Which of how many, in words.
    pub place: String,
}

/// What is carried over into the care record, one row at a time.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct CarryPage {
    /// The record's id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// The rows in the standard's order.
    pub rows: Vec<CarryLine>,
    /// So many rows are typed, in words: none, one, and so on to all.
    pub typed: Vec<String>,
    /// What is said where there is no row.
    pub none: String,
}

/// A mark in a review.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct MarkRow {
    /// Its line.
    pub seq: u64,
    /// When, run time.
    pub at: Ms,
    /// When, by the clock and from the start.
    pub when: String,
    /// When, seconds of the day by the clock that `when` is of.
    pub day_s: u64,
    /// What it says.
    pub text: String,
    /// What is to be known of it: to be confirmed, moved, added, taken out.
    pub state: Vec<String>,
    /// It counts.
    pub stands: bool,
    /// It waits for a finger: a voice that nobody confirmed, a flag without a name.
    pub asks: Option<Asks>,
    /// What can be put in its place, by number among the kinds.
    pub others: Vec<usize>,
}

/// What a mark waits for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum Asks {
    /// That somebody says it is right.
    Confirm,
    /// A name.
    Name,
}

/// A stretch of which nobody knows what was done.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct GapRow {
    /// Its beginning, run time.
    pub at: Ms,
    /// In words.
    pub text: String,
}

/// A mark that can be added or put in another's place.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct KindKey {
    /// What stands on its key.
    pub label: String,
    /// The page of keys that it stands on.
    pub group: String,
}

/// A clock that can be looked at.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct ClockKey {
    /// Whose.
    pub clock: ClockRef,
    /// What stands on its key.
    pub label: String,
}

/// A review.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Review {
    /// The record's id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Which revision, and how many changes are not sealed.
    pub revision: String,
    /// Why nothing can be changed.
    pub refused: Option<String>,
    /// What is not known.
    pub gaps: Vec<GapRow>,
    /// All marks by time as amended.
    pub marks: Vec<MarkRow>,
    /// What can be added.
    pub kinds: Vec<KindKey>,
    /// What can have been so in a gap.
    pub states: Vec<SetKey>,
    /// The last change, in words; `None`: nothing can be taken back.
    pub last: Option<String>,
    /// There are changes that are not sealed.
    pub unsealed: bool,
    /// Whose clocks can be looked at.
    pub clocks: Vec<ClockKey>,
    /// What other clocks showed.
    pub offsets: Vec<String>,
    /// The last line of the run, run time.
    pub end: Ms,
    /// The same, seconds of the day by the phone's clock.
    pub end_day_s: u64,
}

/// A state that can be said of a gap.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct SetKey {
    /// Which.
    pub state: SetState,
    /// What stands on its key.
    pub label: String,
}

/// A change that a reviewer asks for.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum Change {
    /// A mark was at another time.
    Move {
        /// Its line.
        seq: u64,
        /// When, run time.
        at: Ms,
    },
    /// It never was.
    TakeOut {
        /// Its line.
        seq: u64,
    },
    /// It was, after all.
    PutBack {
        /// Its line.
        seq: u64,
    },
    /// It is right.
    Confirm {
        /// Its line.
        seq: u64,
    },
    /// It was another mark.
    Replace {
        /// Its line.
        seq: u64,
        /// The other one, by number among the kinds.
        with: usize,
    },
    /// There was a mark that nobody made.
    Add {
        /// Which, by number among the kinds.
        what: usize,
        /// When, run time.
        at: Ms,
    },
    /// A pause had this reason.
    Why {
        /// Its beginning, run time.
        at: Ms,
        /// The reason.
        reason: Reason,
    },
    /// This was so from a moment on.
    WasSo {
        /// When, run time.
        at: Ms,
        /// What.
        state: SetState,
    },
    /// Another clock shows this now.
    Clock {
        /// Whose.
        clock: ClockRef,
        /// `HH:MM:SS`.
        shown: String,
        /// It shows no seconds: they are nought in `shown`.
        no_seconds: bool,
        /// The finger went down so long ago, ms.
        ago: u64,
    },
    /// The last change is taken back.
    TakeBack {},
    /// The review ends: what was changed is sealed.
    Seal {},
}

/// What is kept of a run, and what of it has left the phone.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Keep {
    /// The record's id; empty: the page is of all runs.
    pub id: String,
    /// Its title.
    pub title: String,
    /// What is so.
    pub lines: Vec<String>,
    /// What is asked before it is deleted.
    pub question: String,
    /// It is held; `None`: the page is of all runs.
    pub held: Option<bool>,
    /// It can be deleted.
    pub can_delete: bool,
}
