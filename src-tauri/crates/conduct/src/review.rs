//! The review of a run that is over: amendments go to the end of its own file, each as it is made, and a new
//! seal closes the session. A session that breaks off leaves its amendments in the file, unsealed.

use std::{fmt, io};

use cycle::{
    Entry, Fact, Ms, Seq,
    fact::{AmendOp, AmendReason, Source},
};
use record::{
    Chain, Digest, EncodeError, OpenError, Opened, Stamp, Tail,
    review::{self, AmendError, View},
    script::{Aim, Wanted},
};

use crate::{
    Clock, RunClock, Store, StoreError,
    conductor::RESUME_WITHIN,
    past::{self, PastError},
    store::Sink,
};

/// Why a run cannot be reviewed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ReviewError {
    /// The disk. Nothing more is written in this session; what was kept before stays.
    Store(StoreError),
    /// It is no record.
    Record(OpenError),
    /// Its protocol line is missing, or this version cannot read it.
    Past(PastError),
    /// It has no seal: it is live, or was left without an end not long ago and may be taken up again.
    NotOver {
        /// The record.
        record_id: String,
    },
    /// A newer version has written to it: what it says cannot all be read here.
    Newer,
    /// Its file is not what it was when the session began: another session has written to it.
    Changed {
        /// The record.
        record_id: String,
    },
    /// The session is over after a failed write.
    Broken,
    /// The amendment makes no sense.
    Amend(AmendError),
    /// There is no change to take back.
    NoChange,
    /// The line cannot be written.
    Encode(EncodeError),
}

impl fmt::Display for ReviewError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Store(e) => e.fmt(f),
            Self::Record(e) => e.fmt(f),
            Self::Past(e) => e.fmt(f),
            Self::NotOver { record_id } => write!(
                f,
                "record {record_id} has no seal, allowed: a run that is over: end it first, or wait until six \
                 hours after its last line, when no app takes it up any more"
            ),
            Self::Newer => f.write_str(
                "the record holds lines of a newer version, allowed: what this app can read whole: \
                 review it with the newer app",
            ),
            Self::Changed { record_id } => write!(
                f,
                "record {record_id} has got lines from elsewhere since this review began: close it \
                 and open it again"
            ),
            Self::Broken => f.write_str(
                "the review broke off when the disk failed: see to the disk and open it again",
            ),
            Self::Amend(e) => e.fmt(f),
            Self::NoChange => {
                f.write_str("no change of a review is in force: nothing to take back")
            }
            Self::Encode(e) => e.fmt(f),
        }
    }
}

impl std::error::Error for ReviewError {}

impl From<StoreError> for ReviewError {
    fn from(e: StoreError) -> Self {
        Self::Store(e)
    }
}

impl From<AmendError> for ReviewError {
    fn from(e: AmendError) -> Self {
        Self::Amend(e)
    }
}

impl From<EncodeError> for ReviewError {
    fn from(e: EncodeError) -> Self {
        Self::Encode(e)
    }
}

/// What a review sees of a run, without beginning one: the file stays as it is. Also of a run that has no
/// seal.
///
/// # Errors
/// See [`ReviewError`].
pub fn look(store: &dyn Store, record_id: &str) -> Result<View, ReviewError> {
    let opened = read(store, record_id)?.1;
    view(&opened)
}

fn read(store: &dyn Store, record_id: &str) -> Result<(Vec<u8>, Opened), ReviewError> {
    let bytes = store.read(record_id)?;
    let opened = record::open(&bytes).map_err(ReviewError::Record)?;
    Ok((bytes, opened))
}

fn view(opened: &Opened) -> Result<View, ReviewError> {
    let setup = past::setup(opened).map_err(ReviewError::Past)?;
    Ok(review::view(opened, &setup))
}

/// Whether a record can be reviewed now, and by which clock.
///
/// # Errors
/// It is not over, of a newer version, or its protocol cannot be read.
pub fn reviewable(opened: &Opened, clocks: Clocks) -> Result<Box<dyn Clock>, ReviewError> {
    let clock = clocks(opened);
    // Nobody may have been left to end it. What no app takes up again is over all the same.
    // Reckoned from the run's own last line: a review's lines keep nothing going.
    let left = clock.now().since(opened.run_end()) > RESUME_WITHIN;
    if opened.seals.is_empty() && !left {
        let record_id = opened.header.record_id.clone();
        return Err(ReviewError::NotOver { record_id });
    }
    if opened.newer_minor || opened.unknown.iter().any(|line| line.ev == "amend") {
        return Err(ReviewError::Newer);
    }
    past::setup(opened).map_err(ReviewError::Past)?;
    Ok(clock)
}

/// Where a session's moments come from, given the last line's place on the run clock.
pub type Clocks = fn(&Opened) -> Box<dyn Clock>;

/// The system's clock.
pub fn system(opened: &Opened) -> Box<dyn Clock> {
    Box::new(RunClock::resume(
        &opened.base,
        &opened.last,
        opened.last_run,
    ))
}

/// One sitting over one run. Nothing is written before the first amendment.
#[derive(Debug)]
pub struct Session {
    store: Box<dyn Store>,
    record_id: String,
    bytes: Vec<u8>,
    opened: Opened,
    clock: Box<dyn Clock>,
    proc: u32,
    sink: Option<Box<dyn Sink>>,
    is_broken: bool,
}

impl Session {
    /// Opens a run that is over. Whoever opens it holds the folder: the app, or a [`crate::RunLock`].
    ///
    /// # Errors
    /// See [`ReviewError`].
    pub fn open(
        store: Box<dyn Store>,
        record_id: &str,
        clocks: Clocks,
    ) -> Result<Self, ReviewError> {
        let (bytes, opened) = read(store.as_ref(), record_id)?;
        let clock = reviewable(&opened, clocks)?;
        Ok(Self {
            record_id: record_id.to_owned(),
            clock,
            proc: opened.last.proc.saturating_add(1),
            store,
            bytes,
            opened,
            sink: None,
            is_broken: false,
        })
    }

    /// What the review sees now.
    ///
    /// # Errors
    /// Where the protocol cannot be read, which [`Session::open`] has looked at.
    pub fn view(&self) -> Result<View, ReviewError> {
        view(&self.opened)
    }

    /// The present run time: no later than that of the next amendment.
    pub fn now(&self) -> Ms {
        self.clock.now().max(self.opened.last_run)
    }

    /// The record as it is now.
    pub const fn opened(&self) -> &Opened {
        &self.opened
    }

    /// Amends, and keeps it. `target` is a mark's line, or that of an amendment to be retracted; none where
    /// a mark is added. Gives the amendment's line.
    ///
    /// # Errors
    /// See [`ReviewError`]; after a failed write nothing more is written.
    pub fn amend(
        &mut self,
        target: Option<Seq>,
        op: AmendOp,
        reason: AmendReason,
    ) -> Result<Seq, ReviewError> {
        let now = self.clock.now().max(self.opened.last_run);
        let amend = review::amendment(&self.opened, now, (target, op, reason))?;
        let seq = self.opened.chain.next();
        let entry = Entry {
            seq,
            at: now,
            taken: now,
            src: Source::Review,
            fact: Fact::Amend(amend),
        };
        self.write(now, |chain, stamp| record::encode(chain, stamp, &entry))?;
        Ok(seq)
    }

    /// Takes back the last change of a review that is in force, of this session or an earlier one. Gives the
    /// line that was taken back.
    ///
    /// # Errors
    /// See [`ReviewError`].
    pub fn take_back(&mut self) -> Result<Seq, ReviewError> {
        let last = review::last_change(&self.opened).ok_or(ReviewError::NoChange)?;
        self.amend(Some(last), AmendOp::Retract, AmendReason::NotStated)?;
        Ok(last)
    }

    /// Puts a mark back that was taken out. Gives the line of the amendment that was undone.
    ///
    /// # Errors
    /// See [`ReviewError`]; `NoChange`: the mark stands, or there is none.
    pub fn put_back(&mut self, mark: Seq) -> Result<Seq, ReviewError> {
        let marks = self.view()?.marks;
        let out = marks.iter().find(|m| m.seq == mark && !m.stands);
        let out = out.and_then(|m| m.amended_by.last().copied());
        let out = out.ok_or(ReviewError::NoChange)?;
        self.amend(Some(out), AmendOp::Retract, AmendReason::NotStated)?;
        Ok(out)
    }

    /// All of a list, or none: a list with one that makes no sense writes nothing.
    ///
    /// # Errors
    /// The number of the amendment, from 1, and see [`ReviewError`].
    pub fn amend_all(&mut self, wanted: &[Wanted]) -> Result<Vec<Seq>, (usize, ReviewError)> {
        let mut dry = Self {
            store: Box::new(Nothing),
            record_id: self.record_id.clone(),
            bytes: self.bytes.clone(),
            opened: self.opened.clone(),
            clock: Box::new(Still(self.clock.now(), self.clock.stamp(Ms::ZERO, 0))),
            proc: self.proc,
            sink: Some(Box::new(Nothing)),
            is_broken: self.is_broken,
        };
        dry.list(wanted)?;
        self.list(wanted)
    }

    fn list(&mut self, wanted: &[Wanted]) -> Result<Vec<Seq>, (usize, ReviewError)> {
        let mut made: Vec<Seq> = Vec::new();
        for (n, one) in wanted.iter().enumerate() {
            let target = match one.aim {
                Aim::Line(seq) => Some(seq),
                Aim::Here(place) => made.get(place).copied(),
                Aim::Nothing => None,
            };
            let seq = self.amend(target, one.op.clone(), one.reason);
            made.push(seq.map_err(|e| (n.saturating_add(1), e))?);
        }
        Ok(made)
    }

    /// Ends the session: what is not sealed gets a seal of the next revision. Gives the fingerprint. Without
    /// an amendment the file stays as it is.
    ///
    /// # Errors
    /// See [`ReviewError`].
    pub fn close(mut self) -> Result<Digest, ReviewError> {
        if self.opened.unsealed() > 0 {
            let rev = self.opened.seals.last().map_or(0, |(seal, _)| seal.rev);
            let now = self.clock.now().max(self.opened.last_run);
            self.write(now, |chain, stamp| {
                record::encode_seal(chain, stamp, rev.saturating_add(1))
            })?;
        }
        Ok(record::fingerprint(&self.opened))
    }

    fn write(
        &mut self,
        now: Ms,
        line: impl FnOnce(&mut Chain, &Stamp) -> Result<Vec<u8>, EncodeError>,
    ) -> Result<(), ReviewError> {
        if self.is_broken {
            return Err(ReviewError::Broken);
        }
        let mut chain = self.opened.chain;
        let bytes = line(&mut chain, &self.clock.stamp(now, self.proc))?;
        if self.sink.is_none() {
            self.begin()?;
        }
        let mut more: Vec<u8> = match self.opened.tail {
            Tail::Clean => Vec::new(),
            Tail::NoLineFeed | Tail::Torn(_) => vec![b'\n'],
        };
        more.extend(bytes);
        if let Some(sink) = &mut self.sink
            && let Err(e) = kept(sink.as_mut(), &more)
        {
            // Nobody knows what the file holds now: the next session reads it and tells.
            self.is_broken = true;
            let place = std::path::Path::new(&self.record_id);
            return Err(StoreError::from_io(place, &e).into());
        }
        self.bytes.extend(more);
        self.opened = record::open(&self.bytes).map_err(ReviewError::Record)?;
        Ok(())
    }

    /// Opens the file for adding. What a failed disk left beside it goes into it first.
    fn begin(&mut self) -> Result<(), ReviewError> {
        let sink = self.store.reopen(&self.record_id)?;
        if self.store.read(&self.record_id)? != self.bytes {
            let record_id = self.record_id.clone();
            return Err(ReviewError::Changed { record_id });
        }
        self.sink = Some(sink);
        Ok(())
    }
}

/// Written whole and synced.
fn kept(sink: &mut dyn Sink, mut bytes: &[u8]) -> io::Result<()> {
    while !bytes.is_empty() {
        match sink.write(bytes) {
            Ok(0) => return Err(io::ErrorKind::WriteZero.into()),
            Ok(n) => bytes = bytes.get(n..).unwrap_or_default(),
            Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
            Err(e) => return Err(e),
        }
    }
    sink.sync()
}

/// Where a list is tried out: it keeps nothing.
#[derive(Debug)]
struct Nothing;

impl Sink for Nothing {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        Ok(bytes.len())
    }

    fn sync(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Nothing {
    fn missing(record_id: &str) -> StoreError {
        let path = record_id.into();
        StoreError::Missing { path }
    }
}

impl Store for Nothing {
    fn create(&mut self, record_id: &str) -> Result<Box<dyn Sink>, StoreError> {
        Err(Self::missing(record_id))
    }

    fn reopen(&mut self, record_id: &str) -> Result<Box<dyn Sink>, StoreError> {
        Err(Self::missing(record_id))
    }

    fn list(&self) -> Result<Vec<String>, StoreError> {
        Ok(Vec::new())
    }

    fn read(&self, record_id: &str) -> Result<Vec<u8>, StoreError> {
        Err(Self::missing(record_id))
    }
}

/// One moment.
#[derive(Debug)]
struct Still(Ms, Stamp);

impl Clock for Still {
    fn mono_ns(&self) -> u64 {
        self.1
            .mono_ms
            .saturating_add(self.0.0)
            .saturating_mul(1_000_000)
    }

    fn wall(&self) -> record::Wall {
        self.1.wall
    }

    fn boot(&self) -> &str {
        &self.1.boot
    }

    fn zero_ms(&self) -> i64 {
        i64::try_from(self.1.mono_ms).unwrap_or(i64::MAX)
    }
}
