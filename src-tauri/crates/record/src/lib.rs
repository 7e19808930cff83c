//! A run's record: bytes to lines and back. No file and no clock.
//!
//! The format is described in `docs/record.md`.
#![forbid(unsafe_code)]

mod amended;
mod chain;
mod header;
mod line;
mod reader;
pub mod review;
pub mod script;
mod seal;
mod wall;

pub use amended::{Amended, RefusedAmend, amended};
pub use chain::{Chain, Digest, DigestError};
pub use header::{
    Answer, App, BreathSetting, ClockState, Header, HeaderError, Pack, Platform, ProtocolId,
    ProtocolLine, RunKind, Scenario, Schema, Settings, Window, encode_header, encode_protocol,
};
pub use line::{
    Body, EncodeError, Happened, LINE_MAX, Line, LineError, PROTOCOL_MAX, Stamp, decode, encode,
};
pub use reader::{Base, Damage, DamageKind, OpenError, Opened, Tail, Unknown, open};
pub use seal::{Seal, Verdict, encode_seal, fingerprint, verify};
pub use wall::{Wall, WallError};

#[cfg(test)]
mod tests;
