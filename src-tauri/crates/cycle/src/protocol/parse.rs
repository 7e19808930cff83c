//! From a file's bytes to a [`Protocol`], or to every fault of it.

mod drugs;
mod fields;
mod overlays;
mod sheet;
mod values;

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use toml::de::DeTable;

use super::{Protocol, ProtocolFault};
use sheet::Sheet;

pub(super) use sheet::Asked;

/// The largest file: the protocol is one line of the record, which is at most 64 KiB long.
const MAX_BYTES: usize = 48 * 1024;

pub(super) fn parse(bytes: &[u8]) -> Result<Protocol, Vec<ProtocolFault>> {
    let text = text_of(bytes).map_err(|fault| Vec::from([fault]))?;
    let (table, errors) = DeTable::parse_recoverable(text);
    let mut sheet = Sheet::new(text, table.get_ref());
    for e in errors {
        let line = e.span().map_or(0, |span| sheet.line(span.start));
        sheet.fault(line, "", e.message().to_string(), "TOML");
    }
    if sheet.is_sound() {
        let made = fields::read(&mut sheet);
        sheet.finish(made)
    } else {
        Err(sheet.into_faults())
    }
}

/// Every field that a file of this class is asked for, in the order of the reading.
pub(super) fn asked_of(text: &str) -> Vec<Asked> {
    let (table, _) = DeTable::parse_recoverable(text);
    let mut sheet = Sheet::new(text, table.get_ref());
    fields::read(&mut sheet);
    sheet.into_asked()
}

/// The same by the names of the page of the format, each once, with what is allowed there.
pub(super) fn asked(text: &str) -> Vec<(String, String)> {
    let mut all: Vec<(String, String)> = Vec::new();
    for Asked { page, rule, .. } in asked_of(text) {
        if all.iter().all(|(known, _)| *known != page) {
            all.push((page, rule.allowed()));
        }
    }
    all
}

fn text_of(bytes: &[u8]) -> Result<&str, ProtocolFault> {
    let whole = |line: usize, found: String, allowed: &str| ProtocolFault {
        line,
        field: String::new(),
        found,
        allowed: allowed.to_string(),
    };
    if bytes.len() > MAX_BYTES {
        let found = format!("a file of {} bytes", bytes.len());
        return Err(whole(0, found, "at most 49152 bytes"));
    }
    let text = core::str::from_utf8(bytes).map_err(|e| {
        let at = e.valid_up_to();
        let before = bytes.iter().take(at).filter(|b| **b == b'\n').count();
        let found = format!("byte {at} is not UTF-8");
        whole(before.saturating_add(1), found, "UTF-8 text")
    })?;
    if text.trim().is_empty() {
        let found = "an empty file".to_string();
        return Err(whole(0, found, "a protocol; copy a built-in example"));
    }
    Ok(text)
}
