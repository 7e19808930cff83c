//! A language that nobody speaks: every text of the reference, longer by 35 %, accented and bracketed. What
//! stands on the screen without brackets does not come from a message file.

use fluent_syntax::{
    ast::{Entry, Expression, Pattern, PatternElement},
    parser, serializer,
};

use crate::{Words, WordsError, text};

/// Its tag: of the private region.
pub const PSEUDO: &str = "en-XA";
/// What every text begins with.
pub const OPEN: char = '«';
/// What every text ends with.
pub const SHUT: char = '»';
/// What is added, a word at a time: translations grow by words more than within them.
const FILL: &str = "äläñgë";

impl Words {
    /// The language that nobody speaks.
    ///
    /// # Errors
    /// [`WordsError`]: the reference's file is damaged.
    pub fn pseudo() -> Result<Self, WordsError> {
        Self::read(PSEUDO, &made(text::reference()))
    }
}

/// The message file of the language that nobody speaks.
fn made(source: &str) -> String {
    let mut resource = parser::parse(source.to_owned()).unwrap_or_else(|(whole, _)| whole);
    for entry in &mut resource.body {
        if let Entry::Message(message) = entry
            // A mark between figures is no text.
            && message.id.name != crate::Fixed::Decimal.key()
            && let Some(pattern) = &mut message.value
        {
            grow(pattern);
        }
    }
    serializer::serialize(&resource)
}

fn grow(pattern: &mut Pattern<String>) {
    // A choice of texts: each is a text of its own.
    let mut is_choice = false;
    for element in &mut pattern.elements {
        if let PatternElement::Placeable { expression } = element
            && let Expression::Select { variants, .. } = expression
        {
            is_choice = true;
            for variant in variants {
                grow(&mut variant.value);
            }
        }
    }
    if is_choice {
        return;
    }
    let mut letters = 0_usize;
    for element in &mut pattern.elements {
        if let PatternElement::TextElement { value } = element {
            letters = letters.saturating_add(value.chars().filter(|c| c.is_alphabetic()).count());
            *value = value.chars().map(accented).collect();
        }
    }
    let more = letters.saturating_mul(35).div_ceil(100);
    let mut tail: String = String::new();
    let mut left = more;
    while left > 0 {
        let word: String = FILL.chars().take(left).collect();
        left = left.saturating_sub(FILL.chars().count());
        tail.push(' ');
        tail.push_str(&word);
    }
    tail.push(SHUT);
    let text = |value: String| PatternElement::TextElement { value };
    pattern.elements.insert(0, text(OPEN.to_string()));
    pattern.elements.push(text(tail));
}

/// Each is in the font of the screen.
const fn accented(c: char) -> char {
    match c {
        'a' => 'á',
        'c' => 'ç',
        'e' => 'é',
        'i' => 'í',
        'n' => 'ñ',
        'o' => 'ö',
        'u' => 'ü',
        'y' => 'ý',
        'A' => 'Å',
        'C' => 'Ç',
        'D' => 'Ð',
        'E' => 'É',
        'I' => 'Î',
        'N' => 'Ñ',
        'O' => 'Ø',
        'U' => 'Ü',
        'Y' => 'Ý',
        _ => c,
    }
}
