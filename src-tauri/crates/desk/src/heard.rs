//! A rehearsal's sound as a picture.

use std::path::Path;

use audio::{Sounded, outline};
use chart::{OUTLINE_MS, PRINT};
use conduct::Rehearsed;
use cycle::Ms;
use drafting::Sketch;
use record::script::Script;
use words::Words;

use crate::pictures::FAMILY;

const FRAMES_A_MS: u64 = 48;

/// The picture as SVG.
pub(crate) fn picture(
    script: &Script,
    rehearsed: &Rehearsed,
    sounds: &[Sounded],
    wav: &Path,
) -> Result<String, Vec<String>> {
    let fault = |e: &dyn std::fmt::Display| vec![format!("{}: {e}", wav.display())];
    let words = Words::load(&script.lang).map_err(|e| vec![e.to_string()])?;
    let every = usize::try_from(OUTLINE_MS.saturating_mul(FRAMES_A_MS)).unwrap_or(1);
    let outline = outline(wav, every).map_err(|e| fault(&e))?;
    let sketch = Sketch {
        name: &script.name,
        rehearsed,
        sounds,
        outline: &outline,
        span: (Ms::ZERO, rehearsed.end),
    };
    let scene = drafting::picture(&sketch, &words).map_err(|e| vec![e.to_string()])?;
    Ok(scene.svg(&PRINT, FAMILY, "mm"))
}
