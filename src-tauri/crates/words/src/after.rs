//! The screens after a run: debrief, times to carry over, review, keeping. Text is finished; what is not
//! known is a dash, never a nought.

use cycle::{
    Ms,
    mark::{ClockRef, Reason, SetState},
};
use fluent_bundle::{FluentArgs, FluentValue};
use serde::{Deserialize, Serialize};

use crate::Words;

macro_rules! after_words {
    ($($(#[$doc:meta])* $field:ident,)*) => {
        /// What stands on the keys of the screens after a run, and over their parts.
        #[derive(Clone, Debug, PartialEq, Eq, Serialize)]
        #[cfg_attr(feature = "ts", derive(ts_rs::TS))]
        pub struct AfterLabels {
            $($(#[$doc])* pub $field: String,)*
        }

        pub(crate) const AFTER: &[&str] = &[$(stringify!($field),)*];

        impl Words {
            /// The fixed words of the screens after a run.
            pub fn after_labels(&self) -> AfterLabels {
                AfterLabels { $($field: self.word("after", stringify!($field)),)* }
            }
        }
    };
}

after_words! {
    /// Opens the times to carry over.
    carry_over,
    /// Opens the review.
    review,
    /// Opens what is kept of a run, and what leaves the phone.
    keep,
    /// Asks for the reason of a pause.
    why,
    /// The page of reasons.
    why_off,
    /// The strip's part before.
    sooner,
    /// The strip's part after.
    later,
    /// Less of the run, larger.
    closer,
    /// More of the run, smaller.
    wider,
    /// Opens the same in words.
    in_words,
    /// Names the moment that is looked at in the strip.
    moment,
    /// A row was typed in.
    typed,
    /// It was not.
    not_typed,
    /// The row before.
    previous,
    /// The row after.
    next,
    /// Opens the list of all rows.
    all_rows,
    /// Opens what can be added to the run.
    add,
    /// Moves a mark in time.
    move_it,
    /// Says that a mark is right.
    confirm,
    /// Puts another mark in its place.
    replace,
    /// Gives a flag its name.
    name_it,
    /// Takes a mark out.
    take_out,
    /// Opens a mark that was not marked in the run.
    what_was_done,
    /// Says what was so in a gap.
    what_was_so,
    /// Takes the last change back.
    take_back,
    /// Ends the review.
    end_review,
    /// Opens the other clocks.
    clocks,
    /// Asks whose clock.
    whose_clock,
    /// Asks for what a clock shows.
    shows,
    /// Taken at the moment of the press.
    now,
    /// A step is of seconds.
    seconds,
    /// Of minutes.
    minutes,
    /// Of hours.
    hours,
    /// What was set is to stand.
    done,
    /// Keeps a run from being deleted.
    hold,
    /// Lets it be deleted again.
    let_go,
    /// Deletes a run, when held.
    hold_delete,
    /// Deletes all runs, when held.
    hold_delete_all,
    /// Opens what is kept of all runs.
    of_all,
    /// Deletes it now.
    delete_it,
    /// Deletes them now.
    delete_all,
    /// Hands in what has come since the last time.
    hand_in,
    /// Writes the printed page.
    to_pdf,
    /// Writes the tables.
    to_csv,
    /// Writes the times to carry over.
    to_carry_over,
}

macro_rules! said_words {
    ($($name:ident = $key:literal,)*) => {
        /// A sentence of the screens after a run. One with values takes them as `$a` and `$b`, written out.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        #[non_exhaustive]
        pub enum SaidWord {
            $(#[doc = concat!("`said-", $key, "`")] $name,)*
        }

        impl SaidWord {
            pub(crate) const ALL: &'static [Self] = &[$(Self::$name,)*];

            pub(crate) const fn key(self) -> &'static str {
                match self {
                    $(Self::$name => concat!("said-", $key),)*
                }
            }
        }
    };
}

said_words! {
    When = "when",
    Head = "head",
    Drill = "drill",
    Rehearsal = "rehearsal",
    Test = "test",
    Shortened = "shortened",
    SealWaits = "seal_waits",
    Place = "place",
    TypedOf = "typed_of",
    NothingToCarry = "nothing_to_carry",
    NotSaid = "not_said",
    NotARun = "not_a_run",
    Number = "number",
    AtTime = "at_time",
    Revision = "revision",
    RevisionOpen = "revision_open",
    ByVoice = "by_voice",
    ByVoiceSure = "by_voice_sure",
    ToConfirm = "to_confirm",
    ToName = "to_name",
    WasAt = "was_at",
    Was = "was",
    Added = "added",
    Gone = "gone",
    Confirmed = "confirmed",
    Gap = "gap",
    LastMoved = "last_moved",
    LastGone = "last_gone",
    LastReplaced = "last_replaced",
    LastAdded = "last_added",
    LastConfirmed = "last_confirmed",
    NotOver = "not_over",
    Offset = "offset",
    KeepOf = "keep_of",
    KeepAll = "keep_all",
    IsHeld = "is_held",
    IsNotHeld = "is_not_held",
    WaitsForHandIn = "waits",
    HandedIn = "handed_in",
    Waiting = "waiting",
    NothingWaits = "nothing_waits",
    DeleteMeans = "delete_means",
    Deleted = "deleted",
    DeletedAll = "deleted_all",
    Written = "written",
    HandInWritten = "hand_in_written",
}

impl Words {
    /// A sentence of the screens after a run, with its values in order.
    pub fn said(&self, word: SaidWord, values: &[&str]) -> String {
        let mut args = FluentArgs::new();
        for (name, value) in ["a", "b"].into_iter().zip(values) {
            args.set(name, FluentValue::from(*value));
        }
        self.formatted(word.key(), &args)
    }

    /// What stands on the key that makes a mark.
    pub fn act_name(&self, act: cycle::Act) -> String {
        self.word("act", act.word())
    }

    /// Whose clock.
    pub fn clock_name(&self, clock: ClockRef) -> String {
        self.word("clock", clock.word())
    }

    /// What is so, as it is set right.
    pub fn set_name(&self, state: SetState) -> String {
        self.word("set", state.word())
    }

    /// A page of keys.
    pub fn group_name(&self, group: crate::GroupWord) -> String {
        self.word("group", group.word())
    }

    /// How a run ended.
    pub fn outcome(&self, outcome: cycle::mark::Outcome) -> String {
        self.word("outcome", outcome.word())
    }
}

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
    /// Where its lanes end, of the picture's height.
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
    /// When the run began, seconds of the day by the phone's clock.
    pub began_s: u64,
    /// The last line of the run, run time.
    pub end: Ms,
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
    /// It is held; `None`: the page is of all runs.
    pub held: Option<bool>,
    /// It can be deleted.
    pub can_delete: bool,
}
