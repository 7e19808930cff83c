//! The screens after a run: the debrief, the times to carry over, the review, and what is kept.
//!
//! Each is made of the record's file alone, in finished words. A review's changes go to that file as they
//! are made; its sitting stays open between them, so that it is one start of the app in the record.
#![forbid(unsafe_code)]

mod carry;
mod debrief;
mod drills;
mod keep;
mod listening;
mod review;
mod seen;

use std::{
    fmt,
    path::{Path, PathBuf},
    sync::{Mutex, MutexGuard, PoisonError},
};

use conduct::{
    FileStore, Store, StoreError,
    past::{self, PastError},
    review::{Clocks, ReviewError, Session, reviewable, system},
};
use cycle::{Ms, Seq};
use record::{OpenError, Opened};
use words::{CarryPage, Change, Debrief, Review, SaidWord, Strip, Words};

pub use debrief::{Frame, Theme};
pub use keep::{KeepError, What, Written};
pub use listening::keep_sheet;

use seen::Seen;

/// Why a screen cannot be had, or a change not made.
#[derive(Debug)]
pub enum AfterError {
    /// The disk.
    Store(StoreError),
    /// It is no record.
    Record(OpenError),
    /// It cannot be measured.
    Measures(::debrief::Fault),
    /// Its protocol cannot be read.
    Past(PastError),
    /// It cannot be reviewed, or the change makes no sense.
    Review(ReviewError),
    /// The page asked for a mark that this run's review does not have.
    Kind,
    /// It is no drill, or one of a scenario that is not known here: it is never scored.
    NoDrill,
}

impl fmt::Display for AfterError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Store(e) => e.fmt(f),
            Self::Record(e) => e.fmt(f),
            Self::Measures(e) => e.fmt(f),
            Self::Past(e) => e.fmt(f),
            Self::Review(e) => e.fmt(f),
            Self::Kind => f.write_str(
                "review: a mark that is not on its list, allowed: one of its list: open the review again",
            ),
            Self::NoDrill => f.write_str(
                "score sheet: no drill of a scenario that this app has, allowed: the record of a built-in drill",
            ),
        }
    }
}

impl std::error::Error for AfterError {}

impl AfterError {
    /// In the crew's own words, where it is what they meet.
    pub fn said(&self, words: &Words) -> String {
        if let Self::Review(ReviewError::NotOver { .. }) = self {
            words.said(SaidWord::NotOver, &[])
        } else {
            self.to_string()
        }
    }
}

impl From<StoreError> for AfterError {
    fn from(e: StoreError) -> Self {
        Self::Store(e)
    }
}

impl From<::debrief::Fault> for AfterError {
    fn from(e: ::debrief::Fault) -> Self {
        Self::Measures(e)
    }
}

impl From<ReviewError> for AfterError {
    fn from(e: ReviewError) -> Self {
        Self::Review(e)
    }
}

/// The screens of the runs in a folder.
#[derive(Debug)]
pub struct After {
    folder: PathBuf,
    clocks: Clocks,
    sitting: Mutex<Option<(String, Session)>>,
    read: Mutex<Option<drills::Read>>,
}

impl After {
    /// The screens of the runs in `folder`, which its caller holds.
    pub fn at(folder: &Path) -> Self {
        Self::by(folder, system)
    }

    fn by(folder: &Path, clocks: Clocks) -> Self {
        Self {
            folder: folder.to_owned(),
            clocks,
            sitting: Mutex::new(None),
            read: Mutex::new(None),
        }
    }

    fn sitting(&self) -> MutexGuard<'_, Option<(String, Session)>> {
        self.sitting.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn open(&self, id: &str) -> Result<Opened, AfterError> {
        let bytes = FileStore::at(&self.folder).read(id)?;
        record::open(&bytes).map_err(AfterError::Record)
    }

    /// A run's debrief.
    ///
    /// # Errors
    /// See [`AfterError`].
    pub fn debrief(&self, words: &Words, id: &str, frame: Frame) -> Result<Debrief, AfterError> {
        let opened = &self.open(id)?;
        let refused = reviewable(opened, self.clocks).err();
        let shut = refused.map(|why| AfterError::Review(why).said(words));
        Ok(Seen { words, opened }.debrief(frame, shut)?)
    }

    /// A part of a run's strip.
    ///
    /// # Errors
    /// See [`AfterError`].
    pub fn strip(
        &self,
        words: &Words,
        id: &str,
        frame: Frame,
        span: (Ms, Ms),
    ) -> Result<Strip, AfterError> {
        let opened = &self.open(id)?;
        Ok(Seen { words, opened }.strip(frame, span)?)
    }

    /// What is carried over into the care record.
    ///
    /// # Errors
    /// See [`AfterError`].
    pub fn carry_page(&self, words: &Words, id: &str) -> Result<CarryPage, AfterError> {
        let opened = &self.open(id)?;
        Ok(Seen { words, opened }.carry_page()?)
    }

    /// A run's review. Nothing is written; a run without a seal is shown, and why it cannot be changed.
    ///
    /// # Errors
    /// See [`AfterError`].
    pub fn review(&self, words: &Words, id: &str) -> Result<Review, AfterError> {
        let opened = &self.open(id)?;
        let setup = past::setup(opened).map_err(AfterError::Past)?;
        let view = record::review::view(opened, &setup);
        let refused = reviewable(opened, self.clocks).err();
        let refused = refused.map(|why| AfterError::Review(why).said(words));
        Ok(Seen { words, opened }.review(&setup, &view, refused))
    }

    /// Makes a change and keeps it. Gives the review after it.
    ///
    /// # Errors
    /// See [`AfterError`]; nothing was changed then.
    pub fn change(&self, words: &Words, id: &str, change: &Change) -> Result<Review, AfterError> {
        self.write(words, id, change)?;
        self.review(words, id)
    }

    fn write(&self, words: &Words, id: &str, change: &Change) -> Result<(), AfterError> {
        let mut sitting = self.sitting();
        let mut session = match sitting.take() {
            Some((of, session)) if of == id => session,
            Some(_) | None => {
                let store = Box::new(FileStore::at(&self.folder));
                Session::open(store, id, self.clocks)?
            }
        };
        if matches!(change, Change::Seal {}) {
            session.close()?;
            return Ok(());
        }
        let done = amend(&mut session, words, change);
        // After the disk has failed it is let go: the next change reads the file anew. A change that makes no
        // sense leaves it as it is.
        let is_spoilt = matches!(
            done,
            Err(AfterError::Review(
                ReviewError::Store(_) | ReviewError::Broken
            ))
        );
        if !is_spoilt {
            *sitting = Some((id.to_owned(), session));
        }
        done
    }
}

fn amend(session: &mut Session, words: &Words, change: &Change) -> Result<(), AfterError> {
    match change {
        Change::Seal {} => {}
        Change::TakeBack {} => {
            session.take_back()?;
        }
        Change::PutBack { seq } => {
            session.put_back(Seq(*seq))?;
        }
        Change::Move { .. }
        | Change::TakeOut { .. }
        | Change::Confirm { .. }
        | Change::Replace { .. }
        | Change::Add { .. }
        | Change::Why { .. }
        | Change::WasSo { .. }
        | Change::Clock { .. } => {
            let opened = session.opened();
            let setup = past::setup(opened).map_err(AfterError::Past)?;
            let kinds = review::kinds(&Seen { words, opened }, &setup);
            let view = session.view()?;
            let now = session.now();
            let (target, op, reason) =
                review::wanted(change, &kinds, &view, now).ok_or(AfterError::Kind)?;
            session.amend(target, op, reason)?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests;
