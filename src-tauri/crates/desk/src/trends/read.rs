//! Records opened and measured, on every core, a few hundred at a time.

use std::{
    fs,
    io::{self, Read as _, Seek as _, SeekFrom},
    thread,
};

use conduct::{FileStore, Store as _};
use debrief::{Basis, Known, Table};
use record::{Digest, Opened, Wall};
use trends::{Copied, LeftOut, Like, Seen, Weight, Why, like, tables, why_left_out};

use super::tree::{Found, Source, Where};
use crate::measures::Faults;

/// How records are taken.
pub(crate) struct How {
    /// The desk's clock.
    pub(crate) now: Wall,
    pub(crate) basis: Basis,
}

/// What became of the copies of one record.
#[derive(Default)]
pub(crate) struct Outcome {
    pub(crate) kept: Option<(Seen, Vec<Table>)>,
    pub(crate) left_out: Vec<LeftOut>,
    pub(crate) copied: Vec<Copied>,
}

/// Records that a thread has measured before they are written: what lies in memory at once.
const AT_ONCE: usize = 64;

/// Measures all, and gives them in the order of their ids: while some are measured those before are taken.
pub(crate) fn all(
    found: &Found,
    how: &How,
    mut take: impl FnMut(Outcome) -> Result<(), Faults>,
) -> Result<(), Faults> {
    let threads = thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let mut known: Vec<Known> = (0..threads).map(|_| Known::default()).collect();
    let mut done: Vec<Outcome> = Vec::new();
    for block in found.records.chunks(threads.saturating_mul(AT_ONCE)) {
        let next = thread::scope(|scope| {
            let parts = block.chunks(block.len().div_ceil(threads).max(1));
            let workers: Vec<_> = parts
                .zip(&mut known)
                .map(|(part, known)| {
                    scope.spawn(move || {
                        let outcomes = part.iter().map(|copies| one(copies, how, known));
                        outcomes.collect::<Vec<_>>()
                    })
                })
                .collect();
            done.drain(..).try_for_each(&mut take)?;
            let mut next = Vec::new();
            for worker in workers {
                next.extend(worker.join().map_err(|_| {
                    vec!["a thread broke off while it measured: a fault of this program".to_owned()]
                })?);
            }
            Ok::<_, Faults>(next)
        })?;
        done = next;
    }
    done.into_iter().try_for_each(take)
}

/// A copy that can be read.
struct Whole<'a> {
    source: &'a Source,
    bytes: Vec<u8>,
    sha256: Digest,
    opened: Opened,
}

/// Chooses among the copies of a record, and measures the one that counts.
fn one(copies: &[Source], how: &How, known: &mut Known) -> Outcome {
    let mut out = Outcome::default();
    let mut good: Vec<Whole<'_>> = Vec::new();
    let mut same: Vec<(&Source, Digest)> = Vec::new();
    for source in copies {
        // What is there once needs no name to be told by.
        let name = |bytes: &[u8]| {
            if copies.len() == 1 {
                Digest::ZERO
            } else {
                Digest::of(bytes)
            }
        };
        let read = bytes_of(source).and_then(|bytes| {
            let sha256 = name(&bytes);
            if good.iter().any(|copy| copy.sha256 == sha256) {
                return Ok((bytes, sha256, None));
            }
            let opened = record::open(&bytes).map_err(|e| {
                let help = match source.part {
                    // Its bytes are those that the phone has.
                    Where::Piece(..) => {
                        "so it lies on the phone: handed in again it would be no other"
                    }
                    Where::File | Where::Joined(_) => "hand it in again",
                };
                (why_of(&e), format!("{e}; {help}"))
            })?;
            is_the_one(source, &opened)?;
            Ok((bytes, sha256, Some(opened)))
        });
        match read {
            Ok((_, sha256, None)) => same.push((source, sha256)),
            Ok((bytes, sha256, Some(opened))) => good.push(Whole {
                source,
                bytes,
                sha256,
                opened,
            }),
            Err((why, detail)) => out.left_out.push(LeftOut {
                place: source.place(),
                why,
                detail,
            }),
        }
    }
    // Of equal ones the first, by the order of the paths.
    let best = good
        .iter()
        .enumerate()
        .max_by_key(|(n, copy)| (Weight::of(&copy.opened), std::cmp::Reverse(*n)))
        .map(|(n, _)| n);
    let Some(best) = best else {
        return out;
    };
    let best = good.swap_remove(best);
    let kept = best.source.place();
    let id = best.opened.header.record_id.clone();
    let mut dropped = |source: &Source, like: Like| {
        out.copied.push(Copied {
            record_id: id.clone(),
            place: source.place(),
            kept: kept.clone(),
            like,
        });
    };
    for copy in &good {
        dropped(copy.source, like(&best.bytes, &copy.bytes));
    }
    for (source, sha256) in same {
        let of = good.iter().find(|copy| copy.sha256 == sha256);
        dropped(
            source,
            of.map_or(Like::Same, |copy| like(&best.bytes, &copy.bytes)),
        );
    }
    measured(&best, how, known, &mut out);
    out
}

fn measured(best: &Whole<'_>, how: &How, known: &mut Known, out: &mut Outcome) {
    let mut left = |why: Why, detail: String| {
        out.left_out.push(LeftOut {
            place: best.source.place(),
            why,
            detail,
        });
    };
    if let Some((why, detail)) = why_left_out(&best.opened, how.now) {
        return left(why, detail);
    }
    match known.measures(&best.opened, how.basis) {
        Err(e) => left(Why::Empty, e.to_string()),
        Ok(measures) => match Seen::of(&best.opened, &measures) {
            None => left(
                Why::Half,
                "no line after the protocol; hand it in again".to_owned(),
            ),
            Some(seen) => {
                let tables = tables(&best.opened, &measures, &seen);
                out.kept = Some((seen, tables));
            }
        },
    }
}

const fn why_of(e: &record::OpenError) -> Why {
    match e {
        record::OpenError::Empty => Why::Half,
        record::OpenError::Foreign { .. } => Why::Foreign,
        record::OpenError::Header(_) => Why::Damaged,
        record::OpenError::Version { .. } => Why::Newer,
    }
}

/// A hand-in's record has the id that it is named by.
fn is_the_one(source: &Source, opened: &Opened) -> Result<(), (Why, String)> {
    match &source.part {
        Where::Piece(_, piece) if piece.record_id != opened.header.record_id => Err((
            Why::Damaged,
            format!(
                "its header names the record {}, allowed: {}; hand it in again",
                opened.header.record_id, piece.record_id
            ),
        )),
        Where::Piece(..) | Where::File | Where::Joined(_) => Ok(()),
    }
}

fn bytes_of(source: &Source) -> Result<Vec<u8>, (Why, String)> {
    let disk = |e: io::Error| {
        (
            Why::Unreadable,
            format!("{e}; allowed: a file that can be read"),
        )
    };
    match &source.part {
        Where::File => fs::read(&source.path).map_err(disk),
        Where::Joined(id) => FileStore::at(&source.path)
            .read(id)
            .map_err(|e| (Why::Unreadable, e.to_string())),
        Where::Piece(from, piece) => {
            let mut file = fs::File::open(&source.path).map_err(disk)?;
            file.seek(SeekFrom::Start(*from)).map_err(disk)?;
            // No more than there is, whatever the hand-in says.
            let mut bytes = Vec::new();
            file.take(piece.bytes)
                .read_to_end(&mut bytes)
                .map_err(disk)?;
            if u64::try_from(bytes.len()) != Ok(piece.bytes) {
                let what = format!(
                    "{} bytes of it, allowed: {}; hand it in again",
                    bytes.len(),
                    piece.bytes
                );
                return Err((Why::Half, what));
            }
            match piece.is(&bytes) {
                Ok(()) => Ok(bytes),
                Err(what) => Err((Why::Damaged, format!("{what}; hand it in again"))),
            }
        }
    }
}
