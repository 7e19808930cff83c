//! A rehearsal's sound as a picture: its file's wave, its record's scores, its list of prompts.

use audio::{Sounded, SoundedAs};
use beat::{Kind, Pattern, Placed};
use chart::{Grid, Heard, HeardCue, Scene};
use conduct::Rehearsed;
use cycle::{CueSound, Fact, Ms, fact::Deed};
use words::Words;

const FRAMES_A_MS: u64 = 48;

/// What is drawn.
#[derive(Clone, Copy, Debug)]
pub struct Sketch<'a> {
    /// The rehearsal's name.
    pub name: &'a str,
    /// What it left.
    pub rehearsed: &'a Rehearsed,
    /// Its sounds.
    pub sounds: &'a [Sounded],
    /// The lowest and the highest sample of each [`chart::OUTLINE_MS`].
    pub outline: &'a [(i16, i16)],
    /// From and to, run time.
    pub span: (Ms, Ms),
}

/// The picture.
///
/// # Errors
/// The rehearsal's record cannot be read.
pub fn picture(sketch: &Sketch<'_>, words: &Words) -> Result<Scene, record::OpenError> {
    let opened = record::open(&sketch.rehearsed.record)?;
    let scores: Vec<Placed> = opened
        .entries
        .iter()
        .filter_map(|entry| match &entry.fact {
            Fact::Deed(Deed::Score(line)) => Placed::try_from(*line).ok(),
            Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
        })
        .collect();
    let (from, to) = sketch.span;
    let (mut grid, mut windows) = (Vec::new(), Vec::new());
    for (n, placed) in scores.iter().enumerate() {
        let next = scores.get(n.saturating_add(1));
        let until = next.map_or(sketch.rehearsed.end, |p| Ms(p.from_ms));
        placed_until(placed, until.min(to), &mut grid, &mut windows);
    }
    grid.retain(|(at, _)| *at >= from);
    windows.retain(|(_, end)| *end > from);
    let mut cues: Vec<HeardCue> = sketch.sounds.iter().filter_map(|s| cue(s, words)).collect();
    cues.retain(|cue| cue.at < to && cue.at.plus(cue.len) > from);
    let run = Heard {
        name: sketch.name,
        from,
        length: to,
        outline: sketch.outline,
        grid: &grid,
        windows: &windows,
        cues: &cues,
    };
    Ok(chart::heard(&run, words))
}
/// What a score places before `until`.
fn placed_until(
    placed: &Placed,
    until: Ms,
    grid: &mut Vec<(Ms, Grid)>,
    windows: &mut Vec<(Ms, Ms)>,
) {
    let first = placed.first(placed.from_ms, 1000);
    let sounds = std::iter::successors(first, |s| placed.after(*s, 1000));
    for sound in sounds.take_while(|s| s.at < until.0) {
        let at = Ms(sound.at);
        let mark = match sound.kind {
            Kind::BeatFirst => Grid::First,
            Kind::Beat => Grid::Beat,
            Kind::BeatLast => Grid::Last,
            Kind::Breath => Grid::Breath,
        };
        grid.push((at, mark));
        if let (Grid::Last, Pattern::Ratio { window_ms, .. }) = (mark, placed.score.pattern) {
            let period = 60_000_u64.checked_div(u64::from(placed.score.rate.per_minute()));
            let from = at.plus(Ms(period.unwrap_or(0)));
            let to = from.plus(Ms(u64::from(window_ms))).min(until);
            if from < to {
                windows.push((from, to));
            }
        }
    }
}

/// A sound that is no part of a score.
fn cue(sound: &Sounded, words: &Words) -> Option<HeardCue> {
    let words = match sound.what {
        SoundedAs::Score(_) => return None,
        SoundedAs::Cue(_, CueSound::Voice(prompt)) => Some(words.prompt(prompt)),
        SoundedAs::Cue(_, CueSound::Tone(_)) => None,
    };
    let ms = |frames: u64| Ms(frames.checked_div(FRAMES_A_MS).unwrap_or(0));
    Some(HeardCue {
        at: ms(sound.at_frame),
        len: ms(u64::from(sound.frames)),
        words,
    })
}
