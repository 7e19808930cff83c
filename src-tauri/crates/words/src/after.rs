//! The screens after a run: debrief, times to carry over, review, keeping. Text is finished; what is not
//! known is a dash, never a nought.

mod wire;

use cycle::mark::{ClockRef, SetState};
use fluent_bundle::{FluentArgs, FluentValue};
use serde::Serialize;

pub use wire::{
    Asks, BasisKey, CarryLine, CarryPage, Change, Chart, ClockKey, Debrief, GapRow, Keep, KindKey,
    LongPause, MarkRow, Moment, ReasonKey, Review, SealLine, SetKey, Strip, Table,
};

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
    /// Before what was typed, where that has changed since.
    typed_was,
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
    /// Puts a mark back that was taken out.
    put_back,
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
    /// Of a clock without seconds: when the key is to be pressed.
    as_it_turns,
    /// The clock shows seconds.
    with_seconds,
    /// It shows none.
    no_seconds,
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
    RhythmCheck = "rhythm_check",
    NothingAmended = "nothing_amended",
    AllMarks = "all_marks",
    MarkWhen = "mark_when",
    MarkWhat = "mark_what",
    Held = "held",
    AskDelete = "ask_delete",
    AskDeleteAll = "ask_delete_all",
    ClockMoved = "clock_moved",
    KeepOf = "keep_of",
    KeepAll = "keep_all",
    IsHeld = "is_held",
    IsNotHeld = "is_not_held",
    WaitsForHandIn = "waits",
    HandedIn = "handed_in",
    NotPutAway = "not_put_away",
    Waiting = "waiting",
    NothingWaits = "nothing_waits",
    DeleteMeans = "delete_means",
    Deleted = "deleted",
    DeletedAll = "deleted_all",
    NotRead = "not_read",
    UnreadEmpty = "unread_empty",
    UnreadForeign = "unread_foreign",
    UnreadDamaged = "unread_damaged",
    UnreadVersion = "unread_version",
    UnreadDisk = "unread_disk",
    AskDeleteAllUnread = "ask_delete_all_unread",
    DeletedAllUnread = "deleted_all_unread",
    Written = "written",
    HandInWritten = "hand_in_written",
    ListeningLevel = "listening_level",
    ListeningRight = "listening_right",
    ListeningPressing = "listening_pressing",
    ListeningBetween = "listening_between",
    ListeningGate = "listening_gate",
    ListeningEnough = "listening_enough",
    ListeningTotal = "listening_total",
    ListeningTooFew = "listening_too_few",
    ListeningReached = "listening_reached",
    ListeningNotReached = "listening_not_reached",
    ListeningSkipped = "listening_skipped",
    ListeningNoFile = "listening_no_file",
    ListeningAnother = "listening_another",
    ListeningCutOff = "listening_cut_off",
    ListeningVoiceSet = "listening_voice_set",
    ListeningOutput = "listening_output",
    ListeningConfused = "listening_confused",
    ListeningSaid = "listening_said",
    ListeningTaken = "listening_taken",
    ListeningNoneWrong = "listening_none_wrong",
    ListeningPack = "listening_pack",
    ListeningSeed = "listening_seed",
    ListeningDevice = "listening_device",
    ListeningDate = "listening_date",
    ListeningWritten = "listening_written",
}

impl Words {
    /// A sentence of the screens after a run, with its values in order.
    pub fn said(&self, word: SaidWord, values: &[&str]) -> String {
        let mut args = FluentArgs::new();
        for (name, value) in crate::sheet::VALUES.into_iter().zip(values) {
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
