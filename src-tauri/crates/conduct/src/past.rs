//! The runs that are kept, and what one of them tells.

use std::fmt;

use cycle::{
    Fact, Mark, Ms, Protocol, Setup,
    fact::Source,
    mark::{Outcome, RunMark},
};
use record::{Digest, Opened, RunKind, Wall, amended, review::Revision};

use crate::{Passed, Store, StoreError, Unread};

/// A kept run, as its file tells.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Past {
    /// The record's id.
    pub record_id: String,
    /// Run, drill, rehearsal or test.
    pub kind: RunKind,
    /// The wall clock as its first line was written.
    pub began: Wall,
    /// From its zero to its end as marked, else to its last line.
    pub length: Ms,
    /// How it ended; `None`: it was left without an end.
    pub outcome: Option<Outcome>,
    /// Nothing in its file was changed.
    pub is_sound: bool,
    /// Which state of it this is: the last seal's revision, and what came after it.
    pub revision: Revision,
    /// Of its last line: kept elsewhere, it shows that nothing was cut from the end.
    pub fingerprint: Digest,
}

/// Why nobody can tell what a kept run was decided with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PastError {
    /// Its protocol line is missing, or this version cannot read it.
    Protocol {
        /// What is wrong.
        what: String,
    },
}

impl fmt::Display for PastError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::Protocol { what } = self;
        write!(f, "the run's protocol: {what}; its file stays as it is")
    }
}

impl std::error::Error for PastError {}

/// The last `most` runs, the latest first. Files that are no run are passed over.
///
/// # Errors
/// See [`StoreError`]; a single file that cannot be read is passed over.
pub fn runs(store: &dyn Store, most: usize) -> Result<Vec<Past>, StoreError> {
    let ids = store.list()?;
    let runs = ids.into_iter().filter_map(|id| {
        let opened = record::open(&store.read(&id).ok()?).ok()?;
        Some(past(id, &opened))
    });
    Ok(runs.take(most).collect())
}

/// What a folder keeps.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Kept {
    /// The last runs, the latest first.
    pub runs: Vec<Past>,
    /// All files among them that cannot be read, in the same order.
    pub unread: Vec<Unread>,
}

/// The last `most` runs, and every file that is named as a record and cannot be read as one.
///
/// # Errors
/// See [`StoreError`].
pub fn kept(store: &dyn Store, most: usize) -> Result<Kept, StoreError> {
    let mut out = Kept::default();
    for record_id in store.list()? {
        let is_listed = out.runs.len() < most;
        let opened = store.read(&record_id).map_err(Passed::Store);
        let opened = opened.and_then(|bytes| {
            // Of the others the first line tells whether they are runs.
            let first = bytes.split_inclusive(|b| *b == b'\n').next();
            let asked = if is_listed { Some(&*bytes) } else { first };
            record::open(asked.unwrap_or_default()).map_err(Passed::Record)
        });
        match opened {
            Ok(opened) if is_listed => out.runs.push(past(record_id, &opened)),
            Ok(_) => {}
            Err(why) => out.unread.push(Unread { record_id, why }),
        }
    }
    Ok(out)
}

fn past(record_id: String, opened: &Opened) -> Past {
    let outcome = standing(opened).find_map(|(_, mark)| match mark {
        Mark::Run(RunMark::End { outcome, .. }) => Some(outcome),
        Mark::Run(_)
        | Mark::Flow(_)
        | Mark::Air(_)
        | Mark::Check(_)
        | Mark::Device(_)
        | Mark::Care(_) => None,
    });
    Past {
        record_id,
        kind: opened.header.kind,
        began: opened.stamps.first().unwrap_or(&opened.last).wall,
        length: length(opened),
        outcome,
        is_sound: opened.is_sound(),
        revision: record::review::revision(opened),
        fingerprint: record::fingerprint(opened),
    }
}

/// How long a run was: to its end as it was marked. Without one, to its last line: its seal, not a review's days later.
pub fn length(opened: &Opened) -> Ms {
    let ended =
        |(at, mark): (Ms, Mark)| matches!(mark, Mark::Run(RunMark::End { .. })).then_some(at);
    if let Some(at) = standing(opened).filter_map(ended).last() {
        return at;
    }
    let is_reviewed =
        opened.seals.len() > 1 || opened.entries.iter().any(|e| e.src == Source::Review);
    if is_reviewed {
        opened.run_end()
    } else {
        opened.last_run
    }
}

fn standing(opened: &Opened) -> impl Iterator<Item = (Ms, Mark)> {
    let entries = amended(&opened.entries).entries;
    entries.into_iter().filter_map(|entry| match entry.fact {
        Fact::Mark(mark) => Some((entry.at, mark)),
        Fact::Amend(_) | Fact::Deed(_) => None,
    })
}

/// What the run was decided with.
///
/// # Errors
/// The protocol line is missing, or this version cannot read it.
pub fn setup(opened: &Opened) -> Result<Setup, PastError> {
    let wrong = |what: String| PastError::Protocol { what };
    let line = opened
        .protocol
        .as_ref()
        .ok_or_else(|| wrong("its line is missing or damaged".to_owned()))?;
    let read = |text: &String| {
        Protocol::parse(text.as_bytes()).map_err(|faults| {
            let faults: Vec<String> = faults.iter().map(ToString::to_string).collect();
            wrong(faults.join("; "))
        })
    };
    let clips = line
        .pack
        .clips()
        .map_err(|prompt| wrong(format!("its voice pack has no {}", prompt.word())))?;
    Ok(Setup {
        protocol: read(&line.toml)?,
        others: line.others.iter().map(read).collect::<Result<_, _>>()?,
        class: opened.header.patient_class,
        clips,
    })
}
