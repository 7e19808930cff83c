//! A record opened for its screens, and the clock times of its moments.

use cycle::{Ms, Seq, Setup};
use record::{Opened, RunKind, Wall};
use words::{SaidWord as S, Words};

/// A record opened for its screens.
#[derive(Debug)]
pub(crate) struct Seen<'a> {
    pub(crate) words: &'a Words,
    pub(crate) opened: &'a Opened,
}

/// `HH:MM:SS` of a wall time, by the clock that it was taken from.
pub(crate) fn of_day(wall: Wall) -> String {
    wall.to_string().get(11..19).unwrap_or_default().to_owned()
}

/// A wall time so much earlier or later; `None`: no clock shows it.
fn shifted(wall: Wall, by_ms: i64) -> Option<Wall> {
    Wall::new(wall.unix_ms().checked_add(by_ms)?, wall.offset_min()).ok()
}

fn signed(at: Ms) -> i64 {
    i64::try_from(at.0).unwrap_or(i64::MAX)
}

impl Seen<'_> {
    /// What the phone's clock showed at a moment of the run: reckoned from the line of the run that was
    /// written nearest before it, since the clock may have been set in between.
    pub(crate) fn wall(&self, at: Ms) -> Option<Wall> {
        let lines = self.opened.entries.iter().zip(&self.opened.stamps);
        let of_run = lines.filter(|(entry, _)| entry.src != cycle::fact::Source::Review);
        let (taken, wall) = of_run
            .map(|(entry, stamp)| (entry.taken, stamp.wall))
            .filter(|(taken, _)| *taken <= at)
            .max_by_key(|(taken, _)| *taken)
            .or_else(|| {
                let first = self.opened.entries.first().map(|entry| entry.taken);
                first.zip(self.opened.stamps.first().map(|stamp| stamp.wall))
            })?;
        shifted(wall, signed(at).checked_sub(signed(taken))?)
    }

    /// What the phone's clock showed at a mark, as it was recorded: by its own line.
    pub(crate) fn wall_of(&self, seq: Seq, at: Ms) -> Option<Wall> {
        let lines = self.opened.entries.iter().zip(&self.opened.stamps);
        let (entry, stamp) = lines.into_iter().find(|(entry, _)| entry.seq == seq)?;
        // What a review wrote has the review's time.
        if entry.src == cycle::fact::Source::Review {
            return self.wall(at);
        }
        shifted(stamp.wall, signed(at).checked_sub(signed(entry.taken))?)
    }

    /// When, by the clock and from the start.
    pub(crate) fn when(&self, wall: Option<Wall>, from_start: Ms) -> String {
        let clock = wall.map_or_else(|| self.words.said(S::NotSaid, &[]), of_day);
        self.words
            .said(S::When, &[&clock, &chart::clock(from_start)])
    }

    /// What is said of a record that is no run's.
    pub(crate) fn kind(&self) -> Option<String> {
        let word = match self.opened.header.kind {
            RunKind::Run => return None,
            RunKind::Drill => S::Drill,
            RunKind::Rehearsal => S::Rehearsal,
            RunKind::Test => S::Test,
        };
        Some(self.words.said(word, &[]))
    }

    /// The service's names of the drugs, by the record's key.
    pub(crate) fn drugs(setup: &Setup) -> Vec<(String, String)> {
        let protocols = || std::iter::once(&setup.protocol).chain(&setup.others);
        let keys = protocols().flat_map(|p| {
            let by_rule = p.drugs.iter().map(|drug| drug.key.clone());
            by_rule.chain(p.other_drugs.iter().map(|(key, _)| key.clone()))
        });
        let mut out: Vec<(String, String)> = Vec::new();
        for key in keys {
            if out.iter().any(|(known, _)| *known == key) {
                continue;
            }
            let name = protocols()
                .map(|p| p.drug_name(&key))
                .find(|name| *name != key);
            out.push((key.clone(), name.unwrap_or(key)));
        }
        out
    }
}
