//! Lines 0 and 1: what the record is, and the protocol it ran on.

use std::{collections::BTreeMap, fmt, str::FromStr};

use cycle::{
    ClipLengths, Prompt,
    fact::Source,
    mark::{BreathMode, PatientClass, Ratio, Via},
};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de, de::DeserializeOwned};
use serde_json::{Map, Value};

use crate::{
    chain::{Chain, Digest},
    line::{EncodeError, LINE_MAX, PROTOCOL_MAX, Stamp, json_of, write_line},
};

/// A version of the format, written `record/1.0.0`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Schema {
    /// Another one cannot be read.
    pub major: u32,
    /// A higher one adds kinds or fields.
    pub minor: u32,
    /// A higher one only says things more clearly.
    pub patch: u32,
}

impl Schema {
    /// The version that is written here.
    pub const CURRENT: Self = Self {
        major: 1,
        minor: 8,
        patch: 0,
    };
}

impl fmt::Display for Schema {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "record/{}.{}.{}", self.major, self.minor, self.patch)
    }
}

impl FromStr for Schema {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let parse = || {
            let mut parts = text.strip_prefix("record/")?.split('.').map(|part| {
                let plain = part.bytes().all(|b| b.is_ascii_digit());
                plain.then(|| part.parse().ok()).flatten()
            });
            let schema = Self {
                major: parts.next()??,
                minor: parts.next()??,
                patch: parts.next()??,
            };
            parts.next().is_none().then_some(schema)
        };
        parse().ok_or_else(|| format!("{text:?}, allowed: record/MAJOR.MINOR.PATCH"))
    }
}

impl Serialize for Schema {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Schema {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        String::deserialize(from)?
            .parse()
            .map_err(de::Error::custom)
    }
}

/// What kind of run it was.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum RunKind {
    /// With a patient.
    Run,
    /// A drill.
    Drill,
    /// A rehearsal from a script.
    Rehearsal,
    /// A test of the app.
    Test,
}

impl RunKind {
    /// As record, tables, folders and lists name it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Run => "run",
            Self::Drill => "drill",
            Self::Rehearsal => "rehearsal",
            Self::Test => "test",
        }
    }
}

/// An answer that may not be known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Answer {
    /// Yes.
    Yes,
    /// No.
    No,
    /// Not known.
    Unknown,
}

/// The app that wrote the record.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct App {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
    /// Its build.
    pub build: String,
}

/// What it ran on. Never a serial number.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Platform {
    /// The system.
    pub os: String,
    /// The system's version.
    pub os_version: String,
    /// The class of machine.
    pub model_class: String,
}

/// What is known of the wall clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ClockState {
    /// Whether the system sets it by itself.
    pub auto_time: Answer,
    /// Seconds since it was last set, if known.
    pub last_sync_s: Option<u64>,
}

/// Names the protocol file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ProtocolId {
    /// Its id.
    pub id: String,
    /// Its version.
    pub version: String,
    /// SHA-256 of its text.
    pub sha256: Digest,
}

/// How breaths were set, with the fields of the mark `breath_mode`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BreathSetting {
    /// The mode.
    pub mode: BreathMode,
    /// The ratio, in that mode.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ratio: Option<Ratio>,
    /// Milliseconds from breath to breath, in the continuous mode.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub every_ms: Option<u32>,
    /// How breaths get in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub via: Option<Via>,
}

/// A drug's window.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Window {
    /// The protocol's key of the drug.
    pub name: String,
    /// Not due before.
    pub min_s: u32,
    /// Late after.
    pub max_s: u32,
}

/// The settings in force at the start.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Settings {
    /// Beats a minute.
    pub rate_per_min: u16,
    /// Breaths.
    pub breath_mode: BreathSetting,
    /// Seconds from check to check.
    pub cycle_s: u32,
    /// Shorter times off the chest are no pause.
    pub pause_min_ms: u32,
    /// Drug windows.
    pub drug_windows: Vec<Window>,
}

/// The scenario of a drill.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Scenario {
    /// Its id.
    pub id: String,
    /// Its version.
    pub version: String,
}

/// Line 0. Holds no name of a person, no serial number and no case number.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Header {
    /// The format's version.
    pub schema: Schema,
    /// A random UUID, version 4.
    #[cfg_attr(feature = "schema", schemars(regex(pattern = crate::schema::UUID_V4)))]
    pub record_id: String,
    /// What kind of run.
    pub kind: RunKind,
    /// The app.
    pub app: App,
    /// The machine.
    pub platform: Platform,
    /// The time zone's name.
    pub tz: String,
    /// The wall clock.
    pub clock: ClockState,
    /// The version of the measures' definitions.
    pub metrics: String,
    /// The protocol.
    pub protocol: ProtocolId,
    /// The settings.
    pub settings: Settings,
    /// The agency's own opaque code of the unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit_code: Option<String>,
    /// People in the crew.
    pub crew_size: u8,
    /// Whose numbers.
    pub patient_class: PatientClass,
    /// Whether the crew saw the arrest.
    pub ems_witnessed: Answer,
    /// The scenario, in a drill.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub scenario: Option<Scenario>,
    /// The language of screen and voice.
    pub lang: String,
}

/// A header's field that is missing or wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeaderError {
    /// The field.
    pub field: &'static str,
    /// What was found, as JSON, shortened; `None` if the field is missing.
    pub found: Option<String>,
    /// What is wrong with it.
    pub what: String,
}

impl fmt::Display for HeaderError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.found {
            Some(found) => write!(f, "header: {} = {found}: {}", self.field, self.what),
            None => write!(f, "header: {} is missing", self.field),
        }
    }
}

impl std::error::Error for HeaderError {}

/// A value as JSON, short enough for a message.
pub(crate) fn shown(value: &Value) -> String {
    const MOST: usize = 120;
    let text = value.to_string();
    match text.char_indices().nth(MOST) {
        Some((end, _)) => format!("{}...", text.get(..end).unwrap_or_default()),
        None => text,
    }
}

fn optional<T: DeserializeOwned>(
    d: &Map<String, Value>,
    field: &'static str,
) -> Result<Option<T>, HeaderError> {
    match d.get(field) {
        None => Ok(None),
        Some(value) => serde_json::from_value(value.clone())
            .map(Some)
            .map_err(|e| HeaderError {
                field,
                found: Some(shown(value)),
                what: e.to_string(),
            }),
    }
}

fn required<T: DeserializeOwned>(
    d: &Map<String, Value>,
    field: &'static str,
) -> Result<T, HeaderError> {
    optional(d, field)?.ok_or_else(|| HeaderError {
        field,
        found: None,
        what: String::new(),
    })
}

/// Whether it is a UUID of version 4 in lower case (RFC 9562, section 5.4).
fn is_uuid_v4(text: &str) -> bool {
    const SHAPE: &[u8] = b"xxxxxxxx-xxxx-4xxx-vxxx-xxxxxxxxxxxx";
    text.len() == SHAPE.len()
        && text.bytes().zip(SHAPE).all(|(found, shape)| match shape {
            b'x' => matches!(found, b'0'..=b'9' | b'a'..=b'f'),
            b'v' => matches!(found, b'8' | b'9' | b'a' | b'b'),
            other => found == *other,
        })
}

impl Header {
    /// Reads line 0's fields. Fields that this version does not know are left aside.
    ///
    /// # Errors
    /// The first field that is missing or wrong.
    pub fn parse(d: &Map<String, Value>) -> Result<Self, HeaderError> {
        let record_id: String = required(d, "record_id")?;
        if !is_uuid_v4(&record_id) {
            return Err(HeaderError {
                field: "record_id",
                found: Some(format!("{record_id:?}")),
                what: "allowed: a UUID of version 4 in lower case".to_owned(),
            });
        }
        Ok(Self {
            schema: required(d, "schema")?,
            record_id,
            kind: required(d, "kind")?,
            app: required(d, "app")?,
            platform: required(d, "platform")?,
            tz: required(d, "tz")?,
            clock: required(d, "clock")?,
            metrics: required(d, "metrics")?,
            protocol: required(d, "protocol")?,
            settings: required(d, "settings")?,
            unit_code: optional(d, "unit_code")?,
            crew_size: required(d, "crew_size")?,
            patient_class: required(d, "patient_class")?,
            ems_witnessed: required(d, "ems_witnessed")?,
            scenario: optional(d, "scenario")?,
            lang: required(d, "lang")?,
        })
    }
}

/// The voice pack in use.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Pack {
    /// Its id.
    pub id: String,
    /// SHA-256 of its manifest.
    pub sha256: Digest,
    /// Length of each prompt's clip, whole milliseconds, by the prompt's id.
    pub clip_ms: BTreeMap<String, u32>,
}

impl Pack {
    /// The clips' lengths as the rules want them; prompts that are not known here are left aside.
    ///
    /// # Errors
    /// The first prompt that the pack has no length for.
    pub fn clips(&self) -> Result<ClipLengths, Prompt> {
        ClipLengths::new(
            Prompt::ALL
                .iter()
                .filter_map(|prompt| Some((*prompt, *self.clip_ms.get(prompt.word())?)))
                .collect(),
        )
    }
}

/// Line 1: all a replay needs besides the facts.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ProtocolLine {
    /// The whole protocol file.
    pub toml: String,
    /// The service's files for the other patient classes, for a run that turns out to be theirs.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub others: Vec<String>,
    /// The voice pack.
    pub pack: Pack,
}

impl ProtocolLine {
    /// SHA-256 of the protocol's text, as the header names it.
    pub fn sha256(&self) -> Digest {
        Digest::of(self.toml.as_bytes())
    }
}

/// Line 0, with its line feed.
///
/// # Errors
/// See [`EncodeError`].
pub fn encode_header(
    chain: &mut Chain,
    stamp: &Stamp,
    header: &Header,
) -> Result<Vec<u8>, EncodeError> {
    head_line(chain, stamp, 0, ("header", header), LINE_MAX)
}

/// Line 1, with its line feed.
///
/// # Errors
/// See [`EncodeError`].
pub fn encode_protocol(
    chain: &mut Chain,
    stamp: &Stamp,
    line: &ProtocolLine,
) -> Result<Vec<u8>, EncodeError> {
    head_line(chain, stamp, 1, ("protocol", line), PROTOCOL_MAX)
}

fn head_line<D: Serialize>(
    chain: &mut Chain,
    stamp: &Stamp,
    place: u64,
    (ev, d): (&str, &D),
    allowed: usize,
) -> Result<Vec<u8>, EncodeError> {
    if chain.next().0 != place {
        return Err(EncodeError::Seq {
            found: cycle::Seq(place),
            allowed: chain.next(),
        });
    }
    write_line(
        chain,
        stamp,
        (ev, &json_of(d)?),
        (None, Source::Auto),
        allowed,
    )
}
