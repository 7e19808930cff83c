//! How much a key holds: the page's layout tests measure it, this finds what is too long before that.

use std::fmt;

/// The room for the words of a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Room {
    /// So many lines.
    pub lines: usize,
    /// So many letters on each; a longer word is not broken.
    pub letters: usize,
}

/// In one of two columns of the smallest screen: 30 px letters are half as wide, 154 px are ten of them.
/// Three lines fill a key of 113 px.
const COLUMN: Room = Room {
    lines: 3,
    letters: 10,
};
/// Over both columns.
const ROW: Room = Room {
    lines: 2,
    letters: 19,
};

/// Keys that never share their row.
const ROWS: [&str; 3] = ["act-start_by_hand", "fixed-hold_end", "fixed-new_run"];
/// Lists whose words stand on keys.
const KEYS: [&str; 6] = ["act-", "group-", "set-", "class-", "preset-", "colours-"];
/// Single words that do.
const SINGLE: [&str; 45] = [
    "drill-end",
    "drill-leave",
    "drill-real_patient",
    "entry-beat",
    "entry-breath",
    "entry-voice",
    "entry-all",
    "fixed-set_right",
    "fixed-last_marks",
    "fixed-since_now",
    "fixed-since_minutes",
    "fixed-since_change",
    "fixed-earlier",
    "fixed-remove",
    "fixed-hand_over",
    "fixed-back",
    "fixed-menu",
    "fixed-patient",
    "fixed-turn",
    "fixed-screen",
    "fixed-cover",
    "fixed-debrief",
    "fixed-make_ready",
    "fixed-not_ended",
    "fixed-mark",
    "fixed-undo",
    "fixed-close",
    "fixed-more",
    "title-about",
    "title-protocol",
    "title-past",
    "title-ready",
    "title-settings",
    "entry-done",
    "entry-next",
    "entry-not_known",
    "listening-less",
    "listening-one_more",
    "listening-ten_more",
    "listening-begin",
    "listening-play",
    "listening-nothing",
    "listening-home",
    "listening-export",
    "listening-again",
];

impl Room {
    /// Whether the words stand in it, filled line by line as a page fills them.
    pub fn holds(self, text: &str) -> bool {
        let mut lines = 1_usize;
        let mut left = self.letters;
        // A hyphen ends a part of a word that may stand alone.
        for word in text.split(' ').flat_map(|word| word.split_inclusive('-')) {
            let long = word.chars().count();
            if long > self.letters {
                return false;
            }
            let with_space = if left == self.letters {
                long
            } else {
                long.saturating_add(1)
            };
            if with_space <= left {
                left = left.saturating_sub(with_space);
            } else {
                lines = lines.saturating_add(1);
                left = self.letters.saturating_sub(long);
            }
        }
        lines <= self.lines
    }
}

impl fmt::Display for Room {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} lines of {} letters", self.lines, self.letters)
    }
}

/// The room of a message's key; `None`: it stands on none.
pub(crate) fn room_of(key: &str) -> Option<Room> {
    if ROWS.contains(&key) {
        return Some(ROW);
    }
    let is_on_key = KEYS.iter().any(|list| key.starts_with(list)) || SINGLE.contains(&key);
    is_on_key.then_some(COLUMN)
}
