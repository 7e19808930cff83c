//! What of many files counts: which copy of a record, what is left out and why, what was never handed in.

use cycle::Ms;
use record::{Opened, Tail, Wall};
use words::TrendWord as W;

/// Why a file, or a record in a hand-in, is left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// Neither a record nor a hand-in.
    Foreign,
    /// Written by a newer app.
    Newer,
    /// It breaks off.
    Half,
    /// Its bytes are not those that its hand-in names, or its first line is damaged.
    Damaged,
    /// The phone's clock was years off: no year can be said.
    Clock,
    /// The disk does not give it.
    Unreadable,
    /// It holds nothing that can be measured.
    Empty,
}

impl Why {
    /// As tables name it.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Foreign => "foreign",
            Self::Newer => "newer_version",
            Self::Half => "half_written",
            Self::Damaged => "damaged",
            Self::Clock => "clock_off",
            Self::Unreadable => "unreadable",
            Self::Empty => "nothing_to_measure",
        }
    }

    /// In words.
    pub const fn word(self) -> W {
        match self {
            Self::Foreign => W::WhyForeign,
            Self::Newer => W::WhyNewer,
            Self::Half => W::WhyHalf,
            Self::Damaged => W::WhyDamaged,
            Self::Clock => W::WhyClock,
            Self::Unreadable => W::WhyUnreadable,
            Self::Empty => W::WhyEmpty,
        }
    }
}

/// A file, or a record in a hand-in, that no table and no figure holds.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct LeftOut {
    /// Its path below the folder, with `: record ID` where it lies in a hand-in.
    pub place: String,
    /// Why.
    pub why: Why,
    /// What was found, what is allowed, what helps.
    pub detail: String,
}

/// How a copy that was dropped is to the one that counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Like {
    /// The same bytes.
    Same,
    /// An earlier state of it: its first lines.
    Earlier,
    /// Another course of the same record.
    Differs,
}

impl Like {
    /// As tables name it.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Same => "same",
            Self::Earlier => "earlier_state",
            Self::Differs => "differs",
        }
    }

    /// In words.
    pub const fn word(self) -> W {
        match self {
            Self::Same => W::CopySame,
            Self::Earlier => W::CopyEarlier,
            Self::Differs => W::CopyDiffers,
        }
    }
}

/// A copy that was dropped.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Copied {
    /// The record's id.
    pub record_id: String,
    /// Where it lies.
    pub place: String,
    /// Where the one lies that counts.
    pub kept: String,
    /// How it is to that one.
    pub like: Like,
}

/// What did not come in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gone {
    /// A hand-in that another one follows.
    HandIn,
    /// A run that could not be read when its phone handed in.
    Unread,
    /// A run in a folder of runs that was never handed in as it is.
    Waiting,
    /// A run that was handed in, and is in none of the files.
    Lost,
}

impl Gone {
    /// As tables name it.
    pub const fn key(self) -> &'static str {
        match self {
            Self::HandIn => "hand_in_missing",
            Self::Unread => "unread_at_hand_in",
            Self::Waiting => "never_handed_in",
            Self::Lost => "handed_in_but_not_here",
        }
    }

    /// In words.
    pub const fn word(self) -> W {
        match self {
            Self::HandIn => W::GoneHandIn,
            Self::Unread => W::GoneUnread,
            Self::Waiting => W::GoneWaiting,
            Self::Lost => W::GoneLost,
        }
    }
}

/// One of them.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Missing {
    /// What is missing.
    pub gone: Gone,
    /// Its record id, fingerprint or the SHA-256 of a hand-in's first line.
    pub name: String,
    /// Where that is known from.
    pub told_by: String,
}

/// How far a copy of a record can be trusted and how complete it is: the greatest counts. That nothing in it was
/// changed weighs first, then that it is whole or sealed, then the last seal's revision, then the number of lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Weight {
    /// Nothing in it was changed.
    pub is_sound: bool,
    /// Its last line is whole, or it was sealed: a review that broke off leaves the sealed run as it was.
    pub whole: bool,
    /// The last seal's revision; 0: none.
    pub revision: u32,
    /// The number that its next line would have.
    pub lines: u64,
}

impl Weight {
    /// Weighs a copy.
    pub fn of(opened: &Opened) -> Self {
        Self {
            is_sound: opened.is_sound(),
            whole: !matches!(opened.tail, Tail::Torn(_)) || !opened.seals.is_empty(),
            revision: opened.seals.last().map_or(0, |(seal, _)| seal.rev),
            lines: opened.chain.next().0,
        }
    }
}

/// How a dropped copy is to the one that counts.
pub fn like(kept: &[u8], dropped: &[u8]) -> Like {
    if kept == dropped {
        Like::Same
    } else if kept.starts_with(dropped) {
        Like::Earlier
    } else {
        Like::Differs
    }
}

/// No app wrote a record before 2025: 2025-01-01T00:00Z.
const FIRST_MS: i64 = 1_735_689_600_000;
/// A clock may be ahead of the desk's by a day: time zones, and clocks that nobody set.
const DAY_MS: i64 = 86_400_000;
/// Longer than two days no run is.
const LONGEST: Ms = Ms(2 * 86_400_000);

/// Why a record that can be read is left out all the same; `now` is the desk's clock.
pub fn why_left_out(opened: &Opened, now: Wall) -> Option<(Why, String)> {
    if matches!(opened.tail, Tail::Torn(_)) && opened.seals.is_empty() {
        let lines = opened.chain.next().0;
        let what = format!(
            "it breaks off within line {lines} and has no seal, allowed: a record with its last line; hand it in \
             again once the app has taken the run up"
        );
        return Some((Why::Half, what));
    }
    let Some(began) = debrief::began(opened) else {
        let what = "no line after the protocol, allowed: at least one; hand it in again".to_owned();
        return Some((Why::Half, what));
    };
    let latest = now.unix_ms().saturating_add(DAY_MS);
    if began.unix_ms() < FIRST_MS || began.unix_ms() > latest {
        let what = format!(
            "it began at {began} by its phone's clock, allowed: from 2025-01-01 to a day after {now}, this desk's \
             clock; set the clock that is wrong, and look at the record by itself with `carrybeat measures`"
        );
        return Some((Why::Clock, what));
    }
    if opened.last_run > LONGEST && opened.run_end() > LONGEST {
        let what = format!(
            "it is {} days long, allowed: up to 2; its phone's clock was set between two boots; look at the record by \
             itself with `carrybeat measures`",
            opened.run_end().0.div_euclid(86_400_000)
        );
        return Some((Why::Clock, what));
    }
    None
}
