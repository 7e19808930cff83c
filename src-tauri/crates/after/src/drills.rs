//! Drills on the phone: what can be chosen, what was done, when it is time again.

use std::{
    collections::BTreeSet, ffi::OsString, fs, io, path::Path, sync::PoisonError, time::SystemTime,
};

use ::drill::{Due, Past, Scenario, Sheet, due, sheet, told};
use conduct::{FileStore, past};
use record::{Opened, RunKind, Wall};
use words::{DrillDone, DrillPage, Words};

use crate::{After, AfterError};

mod over;
mod tries;

/// So many of the last records are looked through for drills.
const MOST: usize = 200;
/// So many drills are listed.
const LISTED: usize = 20;
const DAY_MS: i64 = 86_400_000;

/// Whether a record began more than a day after now: this phone's clock was wrong then, and the record tells no day. As
/// in figures over time of many phones.
fn is_ahead(began: Wall, now: Wall) -> bool {
    began.unix_ms() > now.unix_ms().saturating_add(DAY_MS)
}

/// The day that a wall clock showed, counted from 1970.
fn day(wall: Wall) -> i64 {
    let shift = i64::from(wall.offset_min()).saturating_mul(60_000);
    wall.unix_ms().saturating_add(shift).div_euclid(DAY_MS)
}

fn date(at: Wall) -> String {
    at.to_string().get(..10).unwrap_or_default().to_owned()
}

/// The built-in scenarios.
fn scenarios() -> Vec<Scenario> {
    let ids = Scenario::BUILT_IN.iter().map(|(id, _)| *id);
    ids.filter_map(Scenario::built_in).collect()
}

/// The scenario of a drill's record, in whatever version it is known, and the version that the drill was done by.
fn named<'o, 's>(opened: &'o Opened, known: &'s [Scenario]) -> Option<(&'s Scenario, &'o str)> {
    let of = opened
        .header
        .scenario
        .as_ref()
        .filter(|_| opened.header.kind == RunKind::Drill)?;
    let found = known.iter().find(|own| own.id == of.id)?;
    Some((found, &of.version))
}

/// The scenario of a drill's record, if it is known in the version that it was done by.
fn scenario_of<'s>(opened: &Opened, known: &'s [Scenario]) -> Option<&'s Scenario> {
    let (found, version) = named(opened, known)?;
    (found.version == version).then_some(found)
}

/// A drill that was done, on this phone.
struct Done {
    opened: Opened,
    /// `None`: by another version of its scenario, which this app cannot score.
    sheet: Option<Sheet>,
    past: Past,
    began: Wall,
}

/// Names, lengths and times of a folder's files: where none has changed, nothing was added or deleted.
type Files = BTreeSet<(OsString, u64, SystemTime)>;

fn files(folder: &Path) -> io::Result<Files> {
    let one = |entry: io::Result<fs::DirEntry>| {
        let entry = entry?;
        let meta = entry.metadata()?;
        Ok((entry.file_name(), meta.len(), meta.modified()?))
    };
    fs::read_dir(folder)?.map(one).collect()
}

/// Drills by which the next one's day is found, each with its beginning.
type Dated = Vec<(Past, Wall)>;

/// The same with the files that they were read from: the start card asks each time it comes, and hundreds of records are
/// read and scored for one line.
#[derive(Debug)]
pub(crate) struct Read {
    files: Files,
    drills: Dated,
}

fn dated(done: &[Done]) -> Dated {
    done.iter()
        .map(|one| (one.past.clone(), one.began))
        .collect()
}

impl After {
    /// Read anew only where a file was added, deleted or changed since.
    fn dated(&self, known: &[Scenario]) -> Result<Dated, AfterError> {
        let mut read = self.read.lock().unwrap_or_else(PoisonError::into_inner);
        // Before the records: what is written meanwhile is seen the next time.
        let files = files(&self.folder).ok();
        if let (Some(read), Some(files)) = (read.as_ref(), &files)
            && read.files == *files
        {
            return Ok(read.drills.clone());
        }
        let drills = dated(&self.done(known)?);
        *read = files.map(|files| Read {
            files,
            drills: drills.clone(),
        });
        drop(read);
        Ok(drills)
    }

    /// The drills that were done, in order of time. One that was stopped and then gone on with is one with the record
    /// that goes on: that one has all its lines.
    fn done(&self, known: &[Scenario]) -> Result<Vec<Done>, AfterError> {
        let mut done: Vec<Done> = Vec::new();
        let mut gone_on: BTreeSet<(String, cycle::Ms)> = BTreeSet::new();
        let store = FileStore::at(&self.folder);
        let kept = past::runs(&store, MOST)?;
        for run in kept.iter().filter(|run| run.kind == RunKind::Drill) {
            let Ok(opened) = self.open(&run.record_id) else {
                continue;
            };
            let Some((scenario, version)) = named(&opened, known) else {
                continue;
            };
            let told = told(&opened);
            gone_on.extend(told.again.clone());
            // What is not over has no sheet yet.
            if opened.seals.is_empty() {
                continue;
            }
            let found = if scenario.version == version {
                let Ok(found) = sheet(scenario, &opened) else {
                    continue;
                };
                Some(found)
            } else {
                None
            };
            let crew = told.crew_of(opened.header.unit_code.as_deref());
            let past = Past {
                record: run.record_id.clone(),
                again_of: told.again.clone().map(|(before, _)| before),
                crew: crew.unwrap_or_default(),
                scenario: scenario.id.clone(),
                day: day(run.began),
                verdict: found.as_ref().map(|found| found.verdict),
                old_device: false,
            };
            done.push(Done {
                sheet: found,
                past,
                began: run.began,
                opened,
            });
        }
        done.retain(|one| {
            let (id, end) = (&one.opened.header.record_id, one.opened.run_end());
            !gone_on.iter().any(|(of, from)| of == id && *from >= end)
        });
        done.sort_by_key(|one| one.began.unix_ms());
        Ok(done)
    }

    /// The page on which a drill is chosen: the drills, those that were done, and when each crew drills again. A try
    /// that another one goes on from is listed, for it was done; when it is time again the last one says. `codes` are
    /// unit and crew as they are set, `device` when a new device came, ms from 1970.
    ///
    /// # Errors
    /// See [`AfterError`]; a single record that cannot be read is passed over.
    pub fn drills(
        &self,
        words: &Words,
        now: Wall,
        codes: (&str, &str),
        device: Option<i64>,
    ) -> Result<DrillPage, AfterError> {
        let known = scenarios();
        let done = self.done(&known)?;
        let due = when(&dated(&done), &known, now, (codes.1, device));
        let came = came(device, now);
        let ahead = done.iter().filter(|one| is_ahead(one.began, now)).count();
        let listed = done.iter().rev().take(LISTED).filter_map(|one| {
            let (scenario, version) = named(&one.opened, &known)?;
            let when = one.began.to_string();
            let when = when.get(..16).unwrap_or_default().replace('T', " ");
            Some(DrillDone {
                id: one.opened.header.record_id.clone(),
                label: match &one.sheet {
                    Some(sheet) => words.drill_done(&when, scenario, sheet),
                    None => words.drill_done_before(&when, scenario, version),
                },
                has_sheet: one.sheet.is_some(),
            })
        });
        Ok(DrillPage {
            notes: (words.drill_ahead(ahead).into_iter())
                .chain(came.map(|at| words.drill_new_device(&known, &date(at))))
                .collect(),
            ..words.drill_page(
                &known,
                listed.collect(),
                &due,
                day(now),
                codes,
                came.is_some(),
            )
        })
    }

    /// The drill that is due, in one line, that of the crew whose code is set first; `None` while none is.
    ///
    /// # Errors
    /// As [`Self::drills`].
    pub fn drill_due(
        &self,
        words: &Words,
        now: Wall,
        crew: &str,
        device: Option<i64>,
    ) -> Result<Option<String>, AfterError> {
        let known = scenarios();
        let due = when(&self.dated(&known)?, &known, now, (crew, device));
        Ok(words.drill_due_line(&known, &due, day(now), crew))
    }
}

/// When a new device came, by this phone's clock; one that was noted by a clock far ahead counts as none.
fn came(device: Option<i64>, now: Wall) -> Option<Wall> {
    let at = Wall::new(device?, now.offset_min()).ok()?;
    Some(at).filter(|at| !is_ahead(*at, now))
}

/// When the crews that are still here drill next.
fn when(
    drills: &[(Past, Wall)],
    known: &[Scenario],
    now: Wall,
    (crew, device): (&str, Option<i64>),
) -> Vec<Due> {
    let device = came(device, now);
    let dated = drills.iter().filter(|(_, began)| !is_ahead(*began, now));
    let pasts: Vec<Past> = dated
        .map(|(past, began)| Past {
            old_device: device.is_some_and(|at| began.unix_ms() < at.unix_ms()),
            ..past.clone()
        })
        .collect();
    let ids: Vec<String> = known.iter().map(|scenario| scenario.id.clone()).collect();
    let mut found = due(&pasts, &ids, device.map(day));
    found.retain(|due| due.is_here(crew, day(now)));
    found
}
