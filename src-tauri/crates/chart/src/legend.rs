//! What each shape of the strip stands for: only what the run has.

use cycle::mark::{By, CupAct};
use debrief::{CheckResult, Course, Happening, State};
use words::{SheetWord as W, Words};

use crate::{
    lanes::{Glyph, state},
    palette::Role,
    scene::{Anchor, Area, Fill, Scene},
    told::{cup, state as state_word},
};

enum Sample {
    State(State),
    Glyph(Glyph),
    Swap,
}

fn samples(course: &Course) -> Vec<(Sample, W)> {
    let mut all = Vec::new();
    for found in [
        State::Compressing(By::Manual),
        State::Compressing(By::Mechanical),
        State::HandsOff,
        State::Circulation,
        State::Unknown,
    ] {
        if course.stretches.iter().any(|s| s.state == found) {
            all.push((Sample::State(found), state_word(found)));
        }
    }
    let mut glyph = |is: bool, glyph: Glyph, word: W| {
        if is {
            all.push((Sample::Glyph(glyph), word));
        }
    };
    for (marked, word) in [(true, W::Check), (false, W::CheckMissed)] {
        let is = |r: &debrief::CheckRow| (r.result != CheckResult::NotMarked) == marked;
        glyph(course.checks.iter().any(is), Glyph::Check(marked), word);
    }
    for (timed, word) in [(true, W::Shock), (false, W::ShockUntimed)] {
        let is = course.shocks.iter().any(|row| row.timed == timed);
        glyph(is, Glyph::Shock(timed), word);
    }
    let happened = |is: fn(&Happening) -> bool| course.happenings.iter().any(|(_, h)| is(h));
    for (is, mark, word) in [
        (
            happened(|h| *h == Happening::AirwayIn),
            Glyph::Airway(true),
            W::AirwayIn,
        ),
        (
            happened(|h| *h == Happening::AirwayLost),
            Glyph::Airway(false),
            W::AirwayLost,
        ),
        (
            happened(|h| matches!(h, Happening::Breaths(_))),
            Glyph::Breaths,
            W::Breaths,
        ),
    ] {
        glyph(is, mark, word);
    }
    for answer in [Some(CupAct::Good), Some(CupAct::Reseat), None] {
        let is = course.cup.iter().any(|row| row.answer == answer);
        glyph(is, Glyph::Cup(answer), cup(answer));
    }
    if !course.power.is_empty() {
        all.push((Sample::Swap, W::Swap));
    }
    all
}

/// Draws it below `top`, in as many rows as it needs, and says where it ends.
pub(crate) fn draw(course: &Course, words: &Words, scene: &mut Scene, top: f64) -> f64 {
    let t = scene.text;
    let (mut x, mut y) = (0.0, top);
    for (sample, word) in samples(course) {
        let text = words.sheet(word);
        let wide = 2.6 * t + scene.wide(&text);
        if x > 0.0 && x + wide > scene.width {
            x = 0.0;
            y += 1.5 * t;
        }
        let area = Area {
            x,
            y: y + 0.15 * t,
            w: 2.0 * t,
            h: 1.1 * t,
        };
        match sample {
            Sample::State(found) => state(scene, found, area),
            Sample::Glyph(glyph) => glyph.draw(scene, (x + 1.2 * t, y + 0.7 * t)),
            Sample::Swap => scene.bar(area, Role::Kit, Fill::Plain),
        }
        scene.words((x + 2.4 * t, y + 1.05 * t), Anchor::Start, &text);
        x += wide + 1.0 * t;
    }
    y + 1.6 * t
}
