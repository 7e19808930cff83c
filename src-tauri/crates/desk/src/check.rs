//! `carrybeat protocol`: every fault of a protocol file at once, and what differs between two.

use std::path::Path;

use cycle::Protocol;

/// The protocol's name and numbers, or every fault.
pub(crate) fn protocol(place: &str) -> Result<String, Vec<String>> {
    let p = read(place)?;
    Ok(format!(
        "{place}: {} {} ({}), {} a minute, {}, every number in range",
        p.id,
        p.version,
        p.class.word(),
        p.rate.per_minute(),
        p.ratio.word(),
    ))
}

/// One line for each field in which two protocols differ.
pub(crate) fn diff(here: &str, there: &str) -> Result<String, Vec<String>> {
    let (a, b) = match (read(here), read(there)) {
        (Ok(a), Ok(b)) => (a, b),
        (a, b) => {
            let faults = [a.err(), b.err()].into_iter().flatten();
            return Err(faults.flatten().collect());
        }
    };
    let differences = a.diff(&b);
    if differences.is_empty() {
        return Ok(format!("{here} and {there} do not differ in any field"));
    }
    let mut lines = vec![format!("{} fields: {here} | {there}", differences.len())];
    for d in differences {
        let word = |value: Option<String>| value.unwrap_or_else(|| "no such field".to_owned());
        lines.push(format!("{}: {} | {}", d.field, word(d.here), word(d.there)));
    }
    Ok(lines.join("\n"))
}

/// A built-in example by its id, else a file.
fn read(place: &str) -> Result<Protocol, Vec<String>> {
    let bytes = match Protocol::example(place) {
        Some(text) => text.as_bytes().to_vec(),
        None => std::fs::read(Path::new(place)).map_err(|e| {
            let known: Vec<_> = Protocol::EXAMPLES.iter().map(|(id, _)| *id).collect();
            let known = known.join(", ");
            vec![format!("{place}: {e}; allowed: a file, or one of {known}")]
        })?,
    };
    Protocol::parse(&bytes)
        .map_err(|faults| faults.iter().map(|f| format!("{place}: {f}")).collect())
}
