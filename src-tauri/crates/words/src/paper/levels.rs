//! The sound levels as a page of settings shows and hands them.

use cycle::Levels;

/// Each level with its word.
pub(super) fn each(levels: Levels) -> [(&'static str, u8); 3] {
    [
        ("beat", levels.beat_db),
        ("breath", levels.breath_db),
        ("voice", levels.voice_db),
    ]
}

/// The levels that `change` makes of these, each by its number from 0.
pub(super) fn with(levels: Levels, change: impl Fn(usize, u8) -> u8) -> Levels {
    Levels {
        beat_db: change(0, levels.beat_db),
        breath_db: change(1, levels.breath_db),
        voice_db: change(2, levels.voice_db),
    }
    .within()
}

/// Levels as a page of settings keeps them.
pub(super) fn written(levels: Levels) -> String {
    each(levels).map(|(_, db)| db.to_string()).join(" ")
}

/// Levels as a page of settings hands them back: three numbers, 0 to 24 each.
pub fn levels_of(text: &str) -> Option<Levels> {
    let mut numbers = text.split(' ').map(|n| n.parse::<u8>().ok());
    let levels = Levels {
        beat_db: numbers.next()??,
        breath_db: numbers.next()??,
        voice_db: numbers.next()??,
    };
    (numbers.next().is_none() && levels.is_allowed()).then_some(levels)
}
