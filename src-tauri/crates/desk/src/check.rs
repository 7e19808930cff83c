//! `carrybeat protocol check`: every fault of a protocol file at once.

use std::path::Path;

use cycle::Protocol;

/// The file's name and numbers, or every fault.
pub(crate) fn protocol(file: &Path) -> Result<String, Vec<String>> {
    let shown = file.display();
    let bytes = std::fs::read(file).map_err(|e| vec![format!("{shown}: {e}")])?;
    match Protocol::parse(&bytes) {
        Ok(p) => Ok(format!(
            "{shown}: {} {} ({}), {} a minute, {}, every number in range",
            p.id,
            p.version,
            p.class.word(),
            p.rate.per_minute(),
            p.ratio.word(),
        )),
        Err(faults) => Err(faults
            .into_iter()
            .map(|f| format!("{shown}: {f}"))
            .collect()),
    }
}
