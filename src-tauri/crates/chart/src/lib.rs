//! The charts of a run, drawn once: as SVG for the screen and as lines and words for the printed page.
//!
//! A chart is a [`Scene`] of a few shapes with roles for colours. What it shows never hangs on colour
//! alone: each state has a height and a pattern of its own, each event a shape. No clock and no file.
#![forbid(unsafe_code)]

mod bars;
mod face;
mod heard;
mod lanes;
mod legend;
mod palette;
mod place;
mod points;
mod scene;
mod strip;
mod svg;
mod told;

pub use bars::{BarFrame, Order, bars};
pub use face::{Face, REGULAR, SEMIBOLD, Weight, face};
pub use heard::{Grid, Heard, HeardCue, OUTLINE_MS, heard};
pub use palette::{DAY_DARK, GLARE, NIGHT, PRINT, Palette, Rgb, Role};
pub use points::{Across, Dot, PointFrame, points};
pub use scene::{Anchor, Area, Fill, Scene, Segment, Shape, strokes};
pub use strip::{Edges, StripFrame, strip};
pub use told::{Told, bars_told, clock, seconds, strip_told};

#[cfg(test)]
mod tests;
