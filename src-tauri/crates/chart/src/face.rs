//! The font of charts and page: which characters it has and how wide they are.

use std::sync::OnceLock;

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
pub struct Face {
    font: Option<FontRef<'static>>,
    per_em: f64,
}

impl std::fmt::Debug for Face {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Face")
            .field("per_em", &self.per_em)
            .finish_non_exhaustive()
    }
}

/// The measures of one weight.
pub fn face(weight: Weight) -> &'static Face {
    static FACES: [OnceLock<Face>; 2] = [const { OnceLock::new() }; 2];
    let ([regular, semibold], bytes) = match weight {
        Weight::Regular => (&FACES, REGULAR),
        Weight::SemiBold => (&FACES, SEMIBOLD),
    };
    let slot = match weight {
        Weight::Regular => regular,
        Weight::SemiBold => semibold,
    };
    slot.get_or_init(|| Face::new(bytes))
}

impl Face {
    fn new(bytes: &'static [u8]) -> Self {
        let font = FontRef::new(bytes).ok();
        let per_em = font.as_ref().map_or(1000, |font| {
            font.metrics(Size::unscaled(), LocationRef::default())
                .units_per_em
        });
        Self {
            font,
            per_em: f64::from(per_em),
        }
    }

    /// The shape of a character, if the font has one.
    pub fn glyph(&self, character: char) -> Option<u32> {
        let font = self.font.as_ref()?;
        font.charmap().map(character).map(|id| id.to_u32())
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
        let Some(font) = &self.font else { return 1.0 };
        let metrics = font.glyph_metrics(Size::unscaled(), LocationRef::default());
        let glyph = font
            .charmap()
            .map(character)
            .or_else(|| font.charmap().map(STAND_IN));
        let units = glyph.and_then(|id| metrics.advance_width(id));
        units.map_or(1.0, |units| f64::from(units) / self.per_em)
    }

    /// How wide a text is at a size.
    pub fn width(&self, text: &str, size: f64) -> f64 {
        size * text.chars().map(|c| self.advance(c)).sum::<f64>()
    }
}
