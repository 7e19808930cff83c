//! The font of charts and page: which characters it has and how wide they are.

use std::{collections::BTreeMap, sync::OnceLock};

use skrifa::{
    FontRef, MetadataProvider,
    instance::{LocationRef, Size},
};

/// The font's file, regular.
pub const REGULAR: &[u8] = include_bytes!("../fonts/regular.ttf");
/// The font's file, semi-bold.
pub const SEMIBOLD: &[u8] = include_bytes!("../fonts/semibold.ttf");

/// What a character without a shape in the font is shown as.
const STAND_IN: char = '?';

/// Which of the two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Running text.
    Regular,
    /// Headings, and all of a chart.
    SemiBold,
}

/// The measures of a font. It is set without kerning, so that a line is as wide as its characters.
#[derive(Debug)]
pub struct Face {
    /// Each character's shape, and how wide it is of the size of the text.
    known: BTreeMap<char, (u32, f64)>,
}

/// The measures of one weight.
pub fn face(weight: Weight) -> &'static Face {
    static FACES: [OnceLock<Face>; 2] = [const { OnceLock::new() }; 2];
    let [regular, semibold] = &FACES;
    let (slot, bytes) = match weight {
        Weight::Regular => (regular, REGULAR),
        Weight::SemiBold => (semibold, SEMIBOLD),
    };
    slot.get_or_init(|| Face::new(bytes))
}

impl Face {
    fn new(bytes: &'static [u8]) -> Self {
        let mut known = BTreeMap::new();
        if let Ok(font) = FontRef::new(bytes) {
            let (size, place) = (Size::unscaled(), LocationRef::default());
            let per_em = f64::from(font.metrics(size, place).units_per_em.max(1));
            let metrics = font.glyph_metrics(size, place);
            for (code, glyph) in font.charmap().mappings() {
                let wide = metrics.advance_width(glyph).map(f64::from);
                if let (Some(c), Some(wide)) = (char::from_u32(code), wide) {
                    known.insert(c, (glyph.to_u32(), wide / per_em));
                }
            }
        }
        Self { known }
    }

    /// The shape of a character, if the font has one.
    pub fn glyph(&self, character: char) -> Option<u32> {
        self.known.get(&character).map(|(glyph, _)| *glyph)
    }

    /// The text with every character that the font lacks replaced.
    pub fn shown(&self, text: &str) -> String {
        let known = text.chars().map(|c| match c {
            c if c.is_whitespace() => ' ',
            c if self.glyph(c).is_some() => c,
            _ => STAND_IN,
        });
        known.collect()
    }

    /// How wide a character is, of the size of the text.
    pub fn advance(&self, character: char) -> f64 {
        let known = self.known.get(&character);
        known
            .or_else(|| self.known.get(&STAND_IN))
            .map_or(1.0, |(_, wide)| *wide)
    }

    /// How wide a text is at a size.
    pub fn width(&self, text: &str, size: f64) -> f64 {
        size * text.chars().map(|c| self.advance(c)).sum::<f64>()
    }
}
