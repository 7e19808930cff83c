//! A rehearsal's sound as a picture: its file's wave, its record's scores, its list of prompts.

use std::path::Path;

use audio::{Sounded, SoundedAs, outline};
use beat::{Kind, Pattern, Placed};
use chart::{Grid, Heard, HeardCue, OUTLINE_MS, PRINT};
use conduct::Rehearsed;
use cycle::{CueSound, Fact, Ms, fact::Deed};
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
    let opened = record::open(&rehearsed.record).map_err(|e| vec![e.to_string()])?;
    let scores: Vec<Placed> = opened
        .entries
        .iter()
        .filter_map(|entry| match &entry.fact {
            Fact::Deed(Deed::Score(line)) => Placed::try_from(*line).ok(),
            Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
        })
        .collect();
    let (mut grid, mut windows) = (Vec::new(), Vec::new());
    for (n, placed) in scores.iter().enumerate() {
        let next = scores.get(n.saturating_add(1));
        let until = next.map_or(rehearsed.end, |p| Ms(p.from_ms));
        placed_until(placed, until.min(rehearsed.end), &mut grid, &mut windows);
    }
    let cues: Vec<HeardCue> = sounds.iter().filter_map(|s| cue(s, &words)).collect();
    let run = Heard {
        name: &script.name,
        length: rehearsed.end,
        outline: &outline,
        grid: &grid,
        windows: &windows,
        cues: &cues,
    };
    Ok(chart::heard(&run, &words).svg(&PRINT, FAMILY, "mm"))
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
