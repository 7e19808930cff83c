//! The envelope that every line has, and what is in it.

use std::fmt;

use cycle::{
    Entry, Fact, Mark, Ms, Seq,
    fact::{Amend, DEED_KINDS, Deed, Source},
    mark::{AirMark, CareMark, CheckMark, DeviceMark, FlowMark, RunMark, kinds},
};
use serde::{
    Deserialize, Deserializer, Serialize,
    de::{
        DeserializeOwned, IntoDeserializer, Visitor,
        value::{BorrowedStrDeserializer, MapDeserializer},
    },
    forward_to_deserialize_any,
};
use serde_json::{
    Map, Value,
    value::{RawValue, to_raw_value},
};

use crate::{
    chain::{Chain, Digest},
    header::{Header, ProtocolLine},
    seal::Seal,
    wall::Wall,
};

/// Bytes of a line at most, with its line feed.
pub const LINE_MAX: usize = 4096;
/// Bytes of line 1, the protocol, at most.
pub const PROTOCOL_MAX: usize = 64 * 1024;

/// When and by which process a line was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stamp {
    /// Milliseconds since the system's boot, counting sleep.
    pub mono_ms: u64,
    /// Names the boot; `mono_ms` compares only inside one.
    pub boot: String,
    /// Which process start of this record: 0, 1, 2 ...
    pub proc: u32,
    /// The device's wall clock.
    pub wall: Wall,
}

/// When it happened, where that is not the moment of writing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "basis", rename_all = "snake_case")]
pub enum Happened {
    /// So long before the line's own time.
    Back {
        /// Milliseconds.
        back_ms: u64,
    },
    /// By the wall clock.
    Wall {
        /// That clock's time.
        wall: Wall,
    },
    /// By the wall clock, about.
    Estimate {
        /// That clock's time.
        wall: Wall,
        /// It may be off by as much.
        err_ms: u64,
    },
}

/// A line, read.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Its number.
    pub seq: Seq,
    /// When it was written.
    pub stamp: Stamp,
    /// When it happened, if not then.
    pub happened: Option<Happened>,
    /// Where it comes from.
    pub src: Source,
    /// How sure a voice mark is, a decimal.
    pub conf: Option<String>,
    /// What it says.
    pub body: Body,
    /// The SHA-256 that it names.
    pub prev: Digest,
}

/// What a line says.
#[derive(Clone, Debug, PartialEq)]
pub enum Body {
    /// Line 0, unread: [`Header::parse`] names the field that is wrong.
    Header(Map<String, Value>),
    /// Line 1.
    Protocol(ProtocolLine),
    /// A fact of the run.
    Fact(Fact),
    /// A seal.
    Seal(Seal),
    /// A kind that this version does not know, or one whose fields it does not: kept and ignored.
    Unknown {
        /// The kind.
        ev: String,
        /// Its fields.
        d: Map<String, Value>,
        /// What is wrong, where the kind is known.
        fault: Option<String>,
    },
}

/// Why a line cannot be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EncodeError {
    /// The number is not the record's next.
    Seq {
        /// The line's.
        found: Seq,
        /// The record's next.
        allowed: Seq,
    },
    /// It happened after it was taken.
    Ahead {
        /// When it happened.
        at: Ms,
        /// When it was taken.
        taken: Ms,
    },
    /// A mark by the app itself, or a deed by anybody else.
    Source {
        /// The kind.
        ev: String,
        /// Where it is said to come from.
        src: Source,
    },
    /// The line is longer than a line may be.
    TooLong {
        /// The kind.
        ev: String,
        /// Its bytes.
        bytes: usize,
        /// Bytes allowed.
        allowed: usize,
    },
    /// The fields have no JSON form.
    Json(String),
}

impl fmt::Display for EncodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Seq { found, allowed } => {
                write!(f, "line: seq = {}, allowed: {}", found.0, allowed.0)
            }
            Self::Ahead { at, taken } => {
                write!(
                    f,
                    "line: at = {at}, allowed: up to {taken}, when it was taken"
                )
            }
            Self::Source { ev, src } => write!(
                f,
                "line {ev}: src = {}, allowed: auto for what the app did, anything else for what \
                 the crew says",
                src.word()
            ),
            Self::TooLong { ev, bytes, allowed } => {
                write!(f, "line {ev}: {bytes} bytes, allowed: up to {allowed}")?;
                if ev == "protocol" {
                    f.write_str(
                        "; it holds the protocol files of all patient classes: shorten their texts \
                         or leave a class out",
                    )?;
                }
                Ok(())
            }
            Self::Json(what) => write!(f, "line: no JSON form: {what}"),
        }
    }
}

impl std::error::Error for EncodeError {}

/// Why bytes are not a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineError {
    /// What is wrong, with the field and the value.
    pub what: String,
}

impl fmt::Display for LineError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)
    }
}

impl std::error::Error for LineError {}

/// A line as it lies in the file: written from this struct and read into it, so that neither can have a
/// field that the other has not.
#[derive(Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Envelope<Text, Fields> {
    /// The line's number: 0, 1, 2 ... without a gap.
    seq: u64,
    /// The kind.
    ev: Text,
    /// Milliseconds since the system's boot, sleep included.
    mono_ms: u64,
    /// Names the boot: `mono_ms` compares only between lines of one boot.
    boot: Text,
    /// Which start of the app in this record: 0, 1, 2 ...
    proc: u32,
    /// The device's clock at the moment of writing.
    wall: Wall,
    /// When it happened, if that is not the moment of the line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    at: Option<Happened>,
    /// Where it comes from.
    src: Source,
    /// How sure a voice mark is, 0.00 to 1.00.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(
        feature = "schema",
        schemars(regex(pattern = r"^(0\.[0-9]{2}|1\.00)$"))
    )]
    conf: Option<Text>,
    /// The fields of the kind.
    d: Fields,
    /// SHA-256 of the line before, without its line feed; line 0 has 64 zeros.
    prev: Digest,
}

fn no_json(what: impl fmt::Display) -> EncodeError {
    EncodeError::Json(what.to_string())
}

/// One line with its line feed; `d` is JSON. The chain moves only if it succeeds.
pub(crate) fn write_line(
    chain: &mut Chain,
    stamp: &Stamp,
    (ev, d): (&str, &RawValue),
    (happened, src): (Option<Happened>, Source),
    allowed: usize,
) -> Result<Vec<u8>, EncodeError> {
    let mut bytes = serde_json::to_vec(&Envelope {
        seq: chain.next().0,
        ev,
        mono_ms: stamp.mono_ms,
        boot: &stamp.boot,
        proc: stamp.proc,
        wall: stamp.wall,
        at: happened,
        src,
        conf: None,
        d,
        prev: chain.head(),
    })
    .map_err(no_json)?;
    let whole = bytes.len().saturating_add(1);
    if whole > allowed {
        return Err(EncodeError::TooLong {
            ev: ev.to_owned(),
            bytes: whole,
            allowed,
        });
    }
    chain.push(&bytes);
    bytes.push(b'\n');
    Ok(bytes)
}

/// Fields as JSON.
pub(crate) fn json_of<D: Serialize>(d: &D) -> Result<Box<RawValue>, EncodeError> {
    to_raw_value(d).map_err(no_json)
}

/// The line of an entry, with its line feed. `stamp` is the moment at which it was taken.
///
/// # Errors
/// See [`EncodeError`]; the chain has not moved then.
pub fn encode(chain: &mut Chain, stamp: &Stamp, entry: &Entry) -> Result<Vec<u8>, EncodeError> {
    if entry.seq != chain.next() {
        return Err(EncodeError::Seq {
            found: entry.seq,
            allowed: chain.next(),
        });
    }
    let back_ms = entry
        .taken
        .0
        .checked_sub(entry.at.0)
        .ok_or(EncodeError::Ahead {
            at: entry.at,
            taken: entry.taken,
        })?;
    let happened = (back_ms != 0).then_some(Happened::Back { back_ms });
    let (ev, d) = kind_and_fields(&entry.fact)?;
    let by_app = matches!(entry.fact, Fact::Deed(_));
    if by_app != (entry.src == Source::Auto) {
        return Err(EncodeError::Source { ev, src: entry.src });
    }
    write_line(chain, stamp, (&ev, &d), (happened, entry.src), LINE_MAX)
}

/// A mark or a deed as serde writes it.
#[derive(Deserialize)]
struct Tagged {
    ev: String,
    d: Box<RawValue>,
}

/// The record's word for a fact, and its fields as JSON in the order of their declaration.
pub(crate) fn kind_and_fields(fact: &Fact) -> Result<(String, Box<RawValue>), EncodeError> {
    let tagged = match fact {
        Fact::Mark(mark) => json_of(mark)?,
        Fact::Deed(deed) => json_of(deed)?,
        Fact::Amend(amend) => return Ok(("amend".to_owned(), json_of(amend)?)),
    };
    let Tagged { ev, d } = serde_json::from_str(tagged.get()).map_err(no_json)?;
    Ok((ev, d))
}

/// Reads one line, given without its line feed.
///
/// # Errors
/// The field that is missing or wrong.
pub fn decode(line: &[u8]) -> Result<Line, LineError> {
    let wrong = |e: serde_json::Error| LineError {
        what: e.to_string(),
    };
    let raw: Envelope<String, &RawValue> = serde_json::from_slice(line).map_err(wrong)?;
    let body = match quick(&raw.ev, raw.d, raw.src) {
        Some(body) => body,
        // Whatever is wrong, the slow way says it.
        None => body(
            raw.ev,
            serde_json::from_str(raw.d.get()).map_err(wrong)?,
            raw.src,
        ),
    };
    Ok(Line {
        seq: Seq(raw.seq),
        stamp: Stamp {
            mono_ms: raw.mono_ms,
            boot: raw.boot,
            proc: raw.proc,
            wall: raw.wall,
        },
        happened: raw.at,
        src: raw.src,
        conf: raw.conf,
        body,
        prev: raw.prev,
    })
}

/// A fact of the run as [`body`] would have it, read without a map of its fields, which takes most of the
/// time of opening a record. `None`: not the common case, or something is wrong.
fn quick(ev: &str, d: &RawValue, src: Source) -> Option<Body> {
    // Serde would take the elements of an array for the fields of a struct, in their order.
    if !d.get().starts_with('{') {
        return None;
    }
    let fact = match ev {
        "header" | "protocol" | "seal" | "amend" | "sound" | "around" => return None,
        _ if DEED_KINDS.contains(&ev) => Fact::Deed(d.of(ev).ok()?),
        _ => Fact::Mark(mark(ev, d)?.ok()?),
    };
    let by_app = matches!(fact, Fact::Deed(_));
    (by_app == (src == Source::Auto)).then_some(Body::Fact(fact))
}

/// A line's body the quick way and the slow way, each where there is one; `None`: it has no envelope.
#[cfg(test)]
pub(crate) fn both_ways(line: &[u8]) -> Option<(Option<Body>, Option<Body>)> {
    let raw: Envelope<String, &RawValue> = serde_json::from_slice(line).ok()?;
    let map = serde_json::from_str(raw.d.get()).ok();
    Some((
        quick(&raw.ev, raw.d, raw.src),
        map.map(|map| body(raw.ev, map, raw.src)),
    ))
}

fn body(ev: String, d: Map<String, Value>, src: Source) -> Body {
    let known = match ev.as_str() {
        "header" => return Body::Header(d),
        "protocol" => fields(&d).map(Body::Protocol),
        "seal" => fields(&d).map(Body::Seal),
        "amend" => amend(&d).map(|amend| Body::Fact(Fact::Amend(amend))),
        // The one word that both a crew and the app may say.
        "sound" if src == Source::Auto => deed(&ev, &d),
        _ if DEED_KINDS.contains(&ev.as_str()) && ev != "sound" => deed(&ev, &d),
        _ => match mark(&ev, &d) {
            Some(mark) => mark.map(|mark| Body::Fact(Fact::Mark(mark))),
            None => return Body::Unknown { ev, d, fault: None },
        },
    };
    let by_app = |body: &Body| match body {
        Body::Fact(Fact::Deed(_)) | Body::Seal(_) | Body::Protocol(_) => true,
        Body::Fact(Fact::Mark(_) | Fact::Amend(_)) | Body::Header(_) | Body::Unknown { .. } => {
            false
        }
    };
    match known {
        Ok(body) if by_app(&body) == (src == Source::Auto) => body,
        Ok(_) => Body::Unknown {
            fault: Some(format!(
                "{ev}: src = {}, not allowed for this kind",
                src.word()
            )),
            ev,
            d,
        },
        Err(e) => Body::Unknown {
            fault: Some(format!("{ev}: {e}")),
            ev,
            d,
        },
    }
}

fn fields<T: DeserializeOwned>(d: &Map<String, Value>) -> Result<T, serde_json::Error> {
    serde_json::from_value(Value::Object(d.clone()))
}

/// The fields of a kind, to be read as the type that serde tags with that kind.
pub(crate) trait Fields {
    /// Reads them.
    fn of<T: DeserializeOwned>(&self, ev: &str) -> Result<T, serde_json::Error>;
}

impl Fields for Map<String, Value> {
    fn of<T: DeserializeOwned>(&self, ev: &str) -> Result<T, serde_json::Error> {
        let mut both = Self::new();
        both.insert("ev".to_owned(), Value::String(ev.to_owned()));
        both.insert("d".to_owned(), Value::Object(self.clone()));
        serde_json::from_value(Value::Object(both))
    }
}

impl Fields for RawValue {
    fn of<T: DeserializeOwned>(&self, ev: &str) -> Result<T, serde_json::Error> {
        let both = [("ev", Part::Word(ev)), ("d", Part::Json(self.get()))];
        T::deserialize(MapDeserializer::new(both.into_iter()))
    }
}

/// A member of an object that was never written: its kind, or its fields as they stand in the line.
#[derive(Clone, Copy)]
enum Part<'a> {
    Word(&'a str),
    Json(&'a str),
}

impl<'a> IntoDeserializer<'a, serde_json::Error> for Part<'a> {
    type Deserializer = Self;

    fn into_deserializer(self) -> Self {
        self
    }
}

impl<'de> Deserializer<'de> for Part<'de> {
    type Error = serde_json::Error;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Self::Error> {
        match self {
            Self::Word(word) => visitor.visit_borrowed_str(word),
            Self::Json(text) => serde_json::Deserializer::from_str(text).deserialize_any(visitor),
        }
    }

    // A kind is read as the name of a variant.
    fn deserialize_enum<V: Visitor<'de>>(
        self,
        name: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Self::Error> {
        match self {
            Self::Word(word) => visitor.visit_enum(BorrowedStrDeserializer::new(word)),
            Self::Json(text) => {
                serde_json::Deserializer::from_str(text).deserialize_enum(name, variants, visitor)
            }
        }
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf option unit
        unit_struct newtype_struct seq tuple tuple_struct map struct identifier ignored_any
    }
}

fn deed(ev: &str, d: &Map<String, Value>) -> Result<Body, serde_json::Error> {
    // Serde would take a number for the place of the word in its list.
    if ev == "around"
        && let Some(what) = d.get("what")
    {
        what.as_str().ok_or_else(|| {
            <serde_json::Error as serde::de::Error>::custom(format!(
                "what = {what}, allowed: a word"
            ))
        })?;
    }
    d.of::<Deed>(ev).map(|deed| Body::Fact(Fact::Deed(deed)))
}

fn amend(d: &Map<String, Value>) -> Result<Amend, serde_json::Error> {
    // Which of the six groups the new mark is of does not show in serde's own message.
    if let Some(new) = d.get("new").and_then(Value::as_object)
        && let (Some(ev), Some(d)) = (new.get("ev"), new.get("d"))
        && let (Some(ev), Some(d)) = (ev.as_str(), d.as_object())
        && let Some(mark) = mark(ev, d)
    {
        mark?;
    }
    fields(d)
}

/// A mark by its word; `None` if there is no such kind.
pub(crate) fn mark<F: Fields + ?Sized>(ev: &str, d: &F) -> Option<Result<Mark, serde_json::Error>> {
    if kinds::RUN.contains(&ev) {
        Some(d.of::<RunMark>(ev).map(Mark::Run))
    } else if kinds::FLOW.contains(&ev) {
        Some(d.of::<FlowMark>(ev).map(Mark::Flow))
    } else if kinds::AIR.contains(&ev) {
        Some(d.of::<AirMark>(ev).map(Mark::Air))
    } else if kinds::CHECK.contains(&ev) {
        Some(d.of::<CheckMark>(ev).map(Mark::Check))
    } else if kinds::DEVICE.contains(&ev) {
        Some(d.of::<DeviceMark>(ev).map(Mark::Device))
    } else if kinds::CARE.contains(&ev) {
        Some(d.of::<CareMark>(ev).map(Mark::Care))
    } else {
        None
    }
}

/// Reads line 0's fields.
pub(crate) fn header_of(line: &Line) -> Option<Result<Header, crate::header::HeaderError>> {
    match &line.body {
        Body::Header(d) => Some(Header::parse(d)),
        Body::Protocol(_) | Body::Fact(_) | Body::Seal(_) | Body::Unknown { .. } => None,
    }
}
