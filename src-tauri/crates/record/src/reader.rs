//! Reads a whole file: what can be read, what cannot, and where the chain breaks.

mod damage;

use std::collections::BTreeMap;

use cycle::{
    Entry, Fact, Ms, Seq,
    fact::{Deed, Source},
};
use serde_json::{Map, Value};

use crate::{
    chain::{Chain, Digest},
    header::{Header, HeaderError, ProtocolLine, Schema},
    line::{Body, Happened, LINE_MAX, Line, PROTOCOL_MAX, Stamp, decode, header_of},
    seal::Seal,
    wall::Wall,
};
pub use damage::{Damage, DamageKind, OpenError};

/// How the file ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Tail {
    /// With a line feed.
    Clean,
    /// The last line is whole, only its line feed is missing.
    NoLineFeed,
    /// Within a line: these bytes are of no use.
    Torn(Vec<u8>),
}

/// Turns `mono_ms` into run time, within one boot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Base {
    /// The boot.
    pub boot: String,
    /// Its `mono_ms` ...
    pub mono_ms: u64,
    /// ... at this run time.
    pub run: Ms,
}

impl Base {
    /// Run time of a monotonic time.
    pub const fn run_at(&self, mono_ms: u64) -> Ms {
        Ms(self
            .run
            .0
            .saturating_add(mono_ms)
            .saturating_sub(self.mono_ms))
    }
}

/// A line that was kept without being understood.
#[derive(Clone, Debug, PartialEq)]
pub struct Unknown {
    /// Its number.
    pub seq: Seq,
    /// Its kind.
    pub ev: String,
    /// When it was written.
    pub stamp: Stamp,
    /// Its fields.
    pub d: Map<String, Value>,
}

/// A record, read.
#[derive(Clone, Debug, PartialEq)]
pub struct Opened {
    /// Line 0.
    pub header: Header,
    /// Line 1; `None` if it is missing or damaged.
    pub protocol: Option<ProtocolLine>,
    /// The run's facts by number.
    pub entries: Vec<Entry>,
    /// When each of [`Self::entries`] was written.
    pub stamps: Vec<Stamp>,
    /// How sure the voice marks among them are, by number.
    pub conf: BTreeMap<Seq, String>,
    /// Lines of kinds that are not known here.
    pub unknown: Vec<Unknown>,
    /// Seals, each with the SHA-256 of its line.
    pub seals: Vec<(Seal, Digest)>,
    /// How the file ends.
    pub tail: Tail,
    /// What is wrong, by line.
    pub damage: Vec<Damage>,
    /// The line of the file from which the chain is not to be trusted; `None` if it is whole.
    pub broken_at: Option<usize>,
    /// The record is of a newer minor version: it may hold kinds that are not known here.
    pub newer_minor: bool,
    /// What the next line must name, once [`Self::tail`] has got its line feed.
    pub chain: Chain,
    /// Stamp of the last readable line.
    pub last: Stamp,
    /// Its run time.
    pub last_run: Ms,
    /// The run clock of the last line's boot.
    pub base: Base,
    /// The last readable line is a seal.
    pub sealed: bool,
    /// Bytes after the last readable line, line feeds left out.
    pub bad_bytes: u64,
}

impl Opened {
    /// Run time of the last line that is no review's: a review is no part of the run.
    pub fn run_end(&self) -> Ms {
        let of_run = self.entries.iter().filter(|e| e.src != Source::Review);
        of_run.map(|e| e.taken).max().unwrap_or(Ms::ZERO)
    }

    /// Amendments after the last seal.
    pub fn unsealed(&self) -> usize {
        let sealed = self.seals.last().map_or(0, |(seal, _)| seal.lines);
        let later = self.entries.iter();
        later
            .filter(|e| matches!(e.fact, Fact::Amend(_)) && e.seq.0 > sealed)
            .count()
    }

    /// Whether nothing was changed: lines torn by a kill do not count.
    pub fn is_sound(&self) -> bool {
        self.damage.iter().all(|d| {
            matches!(
                d.what,
                DamageKind::Torn { .. } | DamageKind::Unfinished { .. }
            )
        })
    }
}

/// Reads a file. Never panics, whatever the bytes.
///
/// # Errors
/// The file is empty, is not a record, has a damaged first line or is of another major version.
pub fn open(bytes: &[u8]) -> Result<Opened, OpenError> {
    if bytes.is_empty() {
        return Err(OpenError::Empty);
    }
    let (whole, tail) = match bytes.iter().rposition(|b| *b == b'\n') {
        Some(end) => bytes.split_at(end.saturating_add(1)),
        None => (bytes.get(..0).unwrap_or_default(), bytes),
    };
    let mut lines = spans(whole);
    let first = lines.next().unwrap_or(Span {
        start: 0,
        bytes: tail,
    });
    let mut reading = Reading::begin(bytes, &first)?;
    let mut number = 0_usize;
    for span in lines {
        number = number.saturating_add(1);
        reading.line(number, &span);
    }
    // A first line without its line feed has been read already.
    let tail = (!whole.is_empty() && !tail.is_empty()).then_some(Span {
        start: whole.len(),
        bytes: tail,
    });
    Ok(reading.finish(number.saturating_add(1), tail.as_ref(), whole.is_empty()))
}

/// How line 0 of a record begins.
const OURS: &[u8] = br#"{"seq":0,"ev":"header","#;

struct Span<'a> {
    start: usize,
    bytes: &'a [u8],
}

fn spans(whole: &[u8]) -> impl Iterator<Item = Span<'_>> {
    let mut start = 0_usize;
    whole.split_inclusive(|b| *b == b'\n').map(move |line| {
        let span = Span {
            start,
            bytes: line.strip_suffix(b"\n").unwrap_or(line),
        };
        start = start.saturating_add(line.len());
        span
    })
}

struct Reading<'a> {
    file: &'a [u8],
    out: Opened,
    bases: Vec<Base>,
    /// Where the last readable line begins.
    last_start: usize,
    /// Unreadable lines since then: number, bytes, why.
    bad: Vec<(usize, usize, String)>,
}

impl<'a> Reading<'a> {
    fn begin(file: &'a [u8], first: &Span<'_>) -> Result<Self, OpenError> {
        let foreign = |what: &str| OpenError::Foreign {
            what: what.to_owned(),
        };
        let loose: Value = serde_json::from_slice(first.bytes).map_err(|e| {
            if first.bytes.starts_with(OURS) {
                OpenError::Header(HeaderError {
                    field: "line 0",
                    found: Some(format!("{} bytes", first.bytes.len())),
                    what: e.to_string(),
                })
            } else {
                foreign(&format!("its first line is not JSON ({e})"))
            }
        })?;
        if loose.get("ev").and_then(Value::as_str) != Some("header") {
            return Err(foreign("its first line is not a header"));
        }
        let schema = loose.get("d").and_then(|d| d.get("schema"));
        let schema = schema.ok_or_else(|| foreign("its header names no schema"))?;
        let schema: Schema = schema
            .as_str()
            .and_then(|text| text.parse().ok())
            .ok_or_else(|| foreign(&format!("its schema is {}", crate::header::shown(schema))))?;
        let known = Schema::CURRENT;
        if schema.major != known.major {
            return Err(OpenError::Version {
                found: schema,
                known,
            });
        }
        let line = decode(first.bytes).map_err(|e| {
            OpenError::Header(HeaderError {
                field: "line 0",
                found: Some(format!("{} bytes", first.bytes.len())),
                what: e.what,
            })
        })?;
        let header = match header_of(&line) {
            Some(parsed) => parsed.map_err(OpenError::Header)?,
            None => return Err(foreign("its first line is not a header")),
        };
        let mut damage = Vec::new();
        let mut broken_at = None;
        if line.prev != Digest::ZERO {
            broken_at = Some(0);
            damage.push(Damage {
                line: 0,
                what: DamageKind::Chain {
                    found: line.prev,
                    allowed: Digest::ZERO,
                },
            });
        }
        if line.seq != Seq(0) {
            damage.push(Damage {
                line: 0,
                what: DamageKind::Seq {
                    found: line.seq,
                    allowed: Seq(0),
                },
            });
        }
        let base = Base {
            boot: line.stamp.boot.clone(),
            mono_ms: line.stamp.mono_ms,
            run: Ms::ZERO,
        };
        Ok(Self {
            file,
            out: Opened {
                newer_minor: schema.minor > known.minor,
                header,
                protocol: None,
                entries: Vec::new(),
                stamps: Vec::new(),
                conf: BTreeMap::new(),
                unknown: Vec::new(),
                seals: Vec::new(),
                tail: Tail::Clean,
                damage,
                broken_at,
                chain: Chain::at(Digest::ZERO, Seq(line.seq.0.saturating_add(1))),
                last: line.stamp,
                last_run: Ms::ZERO,
                base: base.clone(),
                sealed: false,
                bad_bytes: 0,
            },
            bases: vec![base],
            last_start: 0,
            bad: Vec::new(),
        })
    }

    fn damaged(&mut self, line: usize, what: DamageKind) {
        self.out.damage.push(Damage { line, what });
    }

    /// SHA-256 from the beginning of the last readable line up to `end`. In an undamaged file that
    /// is the line before; after a torn line it holds the torn bytes too, so that neither can be
    /// changed unseen.
    fn link(&self, end: usize) -> Digest {
        Digest::of(self.file.get(self.last_start..end).unwrap_or_default())
    }

    fn line(&mut self, number: usize, span: &Span<'_>) {
        match decode(span.bytes) {
            Ok(line) => self.readable(number, span, line),
            Err(e) => self.bad.push((number, span.bytes.len(), e.what)),
        }
    }

    fn readable(&mut self, number: usize, span: &Span<'_>, line: Line) {
        let allowed = self.link(span.start.saturating_sub(1));
        let linked = line.prev == allowed;
        // What an app adds once it has come back: in a run `recovered`, after it a review's lines.
        let accounted = linked
            && (matches!(
                line.body,
                Body::Fact(Fact::Deed(Deed::Recovered { .. })) | Body::Seal(_)
            ) || line.src == Source::Review);
        for (at, bytes, why) in std::mem::take(&mut self.bad) {
            self.damaged(
                at,
                if accounted {
                    DamageKind::Torn { bytes }
                } else {
                    DamageKind::Unreadable { why }
                },
            );
        }
        if !linked {
            self.out.broken_at.get_or_insert(number);
            let found = line.prev;
            self.damaged(number, DamageKind::Chain { found, allowed });
        }
        let next = self.out.chain.next();
        if line.seq != next {
            let found = line.seq;
            self.damaged(
                number,
                DamageKind::Seq {
                    found,
                    allowed: next,
                },
            );
        }
        let longest = if number == 1 { PROTOCOL_MAX } else { LINE_MAX };
        if span.bytes.len() >= longest {
            let why = format!("{} bytes, allowed: up to {longest}", span.bytes.len());
            self.damaged(number, DamageKind::Content { why });
        }
        self.last_start = span.start;
        self.out.chain = Chain::at(Digest::ZERO, Seq(line.seq.0.saturating_add(1).max(next.0)));
        self.keep(number, span, line);
    }

    fn keep(&mut self, number: usize, span: &Span<'_>, line: Line) {
        let taken = self.run_time(&line.stamp);
        self.out.last_run = taken;
        self.out.last = line.stamp.clone();
        self.out.sealed = matches!(line.body, Body::Seal(_));
        match line.body {
            Body::Header(_) => {
                let why = "a second header".to_owned();
                self.damaged(number, DamageKind::Content { why });
            }
            Body::Protocol(found) if self.out.protocol.is_none() => {
                if found.sha256() != self.out.header.protocol.sha256 {
                    let why = format!(
                        "protocol: its SHA-256 is {}, the header names {}",
                        found.sha256(),
                        self.out.header.protocol.sha256
                    );
                    self.damaged(number, DamageKind::Content { why });
                }
                self.out.protocol = Some(found);
            }
            Body::Protocol(_) => {
                let why = "a second protocol".to_owned();
                self.damaged(number, DamageKind::Content { why });
            }
            Body::Seal(seal) => {
                let rev = self.out.seals.last().map_or(0, |(seal, _)| seal.rev);
                if seal.lines != line.seq.0 || Some(seal.rev) != rev.checked_add(1) {
                    let why = format!(
                        "seal: rev = {}, lines = {}; expected rev {} and {} lines",
                        seal.rev,
                        seal.lines,
                        rev.saturating_add(1),
                        line.seq.0
                    );
                    self.damaged(number, DamageKind::Content { why });
                }
                self.out.seals.push((seal, Digest::of(span.bytes)));
            }
            Body::Fact(fact) => {
                if let Some(conf) = line.conf {
                    self.out.conf.entry(line.seq).or_insert(conf);
                }
                self.out.entries.push(Entry {
                    seq: line.seq,
                    at: at(line.happened, taken, line.stamp.wall),
                    taken,
                    src: line.src,
                    fact,
                });
                self.out.stamps.push(line.stamp);
            }
            Body::Unknown { ev, d, fault } => {
                // A newer minor version may well have new fields and words in old kinds.
                if let Some(why) = fault.filter(|_| !self.out.newer_minor) {
                    self.damaged(number, DamageKind::Content { why });
                }
                self.out.unknown.push(Unknown {
                    seq: line.seq,
                    ev,
                    stamp: line.stamp,
                    d,
                });
            }
        }
    }

    /// Run time of a stamp: by the monotonic clock within a boot, by the wall clock across boots.
    fn run_time(&mut self, stamp: &Stamp) -> Ms {
        if self.out.base.boot != stamp.boot {
            let known = self.bases.iter().find(|base| base.boot == stamp.boot);
            self.out.base = known.cloned().unwrap_or_else(|| Base {
                boot: stamp.boot.clone(),
                mono_ms: stamp.mono_ms,
                run: self
                    .out
                    .last_run
                    .plus(Ms(stamp.wall.ms_since(self.out.last.wall))),
            });
            if known.is_none() {
                self.bases.push(self.out.base.clone());
            }
        }
        self.out.base.run_at(stamp.mono_ms)
    }

    fn finish(mut self, number: usize, tail: Option<&Span<'_>>, only_header: bool) -> Opened {
        if only_header {
            self.out.tail = Tail::NoLineFeed;
            let bytes = self.file.len();
            self.damaged(0, DamageKind::Unfinished { bytes });
        }
        if let Some(span) = tail {
            // Whole only if it is in every way the next line; anything else is left alone.
            let whole = decode(span.bytes).ok().filter(|line| {
                line.seq == self.out.chain.next()
                    && line.prev == self.link(span.start.saturating_sub(1))
            });
            match whole {
                Some(line) => {
                    self.readable(number, span, line);
                    self.out.tail = Tail::NoLineFeed;
                }
                None => self.out.tail = Tail::Torn(span.bytes.to_vec()),
            }
            self.damaged(
                number,
                DamageKind::Unfinished {
                    bytes: span.bytes.len(),
                },
            );
        }
        let torn = match &self.out.tail {
            Tail::Torn(bytes) => bytes.len(),
            Tail::Clean | Tail::NoLineFeed => 0,
        };
        let bad = self.bad.iter().map(|(_, bytes, _)| *bytes);
        let bytes = bad.fold(torn, usize::saturating_add);
        self.out.bad_bytes = u64::try_from(bytes).unwrap_or(u64::MAX);
        // Nothing stands after them but half a line: the power went again while the app came back.
        let torn_again = matches!(self.out.tail, Tail::Torn(_));
        for (at, bytes, why) in std::mem::take(&mut self.bad) {
            let kind = if torn_again {
                DamageKind::Torn { bytes }
            } else {
                DamageKind::Unreadable { why }
            };
            self.damaged(at, kind);
        }
        if self.out.protocol.is_none() {
            let why = "protocol: missing or damaged".to_owned();
            self.damaged(1, DamageKind::Content { why });
        }
        let end = match &self.out.tail {
            Tail::Clean => self.file.len().saturating_sub(1),
            Tail::NoLineFeed | Tail::Torn(_) => self.file.len(),
        };
        self.out.chain = Chain::at(self.link(end), self.out.chain.next());
        self.sort();
        self.out
    }

    /// Facts by number; of lines with the same number the first stands.
    fn sort(&mut self) {
        let stamps = std::mem::take(&mut self.out.stamps);
        let entries = std::mem::take(&mut self.out.entries);
        let mut both: Vec<(Entry, Stamp)> = entries.into_iter().zip(stamps).collect();
        both.sort_by_key(|(entry, _)| entry.seq);
        both.dedup_by_key(|(entry, _)| entry.seq);
        (self.out.entries, self.out.stamps) = both.into_iter().unzip();
        self.out.damage.sort_by_key(|d| d.line);
    }
}

fn at(happened: Option<Happened>, taken: Ms, written: Wall) -> Ms {
    match happened {
        None => taken,
        Some(Happened::Back { back_ms }) => taken.minus(Ms(back_ms)),
        Some(Happened::Wall { wall } | Happened::Estimate { wall, .. }) => {
            taken.minus(Ms(written.ms_since(wall)))
        }
    }
}
