//! Pauses as bars against 5 and 10 seconds, with the reason beside each.

use cycle::Ms;
use debrief::{Course, PauseRow};
use words::{SheetWord as W, Words};

use crate::{
    palette::Role,
    place::{Label, place},
    scene::{Anchor, Area, Fill, Scene, Shape},
    told::{at, bars_told, basis, seconds},
};

/// In which order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// As they came.
    Time,
    /// The longest first; of equal ones the earlier.
    Longest,
}

/// What the bars are drawn for. Lengths are in units of the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BarFrame {
    /// In which order.
    pub order: Order,
    /// Leaves out those before this many, and draws at most so many: a part for a page.
    pub part: (usize, usize),
    /// The picture's width.
    pub width: f64,
    /// The size of the text.
    pub text: f64,
}

/// A bar ends here, and is open; its figure says how long the pause was.
const LONGEST: Ms = Ms(75_000);
/// The scale reaches at least this far, so that both lines are on it.
const SHORTEST: Ms = Ms(12_000);
/// How high a row is, and the bar in it, of the size of the text.
const ROW: f64 = 1.6;
const BAR: f64 = 1.1;

/// Draws the pauses.
pub fn bars(course: &Course, words: &Words, frame: &BarFrame) -> Scene {
    let told = bars_told(course, words);
    let t = frame.text;
    let mut scene = Scene::new(frame.width, t);
    scene.title = words.sheet_with(W::BarsTitle, &[&basis(course, words)]);
    scene.told = told.sentence;
    let mut rows: Vec<&PauseRow> = course.pauses.iter().collect();
    if frame.order == Order::Longest {
        rows.sort_by_key(|row| std::cmp::Reverse(row.ms));
    }
    let rows: Vec<&PauseRow> = rows
        .into_iter()
        .skip(frame.part.0)
        .take(frame.part.1)
        .collect();
    if rows.is_empty() {
        let none = words.sheet(W::BarsNone);
        scene.words((0.0, t), Anchor::Start, &none);
        scene.height = 1.5 * t;
        return scene;
    }
    // One scale for all parts: the longest at which each bar still has its words beside it.
    let all = course.pauses.iter().map(|row| label(course, words, row));
    let all: Vec<(String, String)> = all.collect();
    let whens = all.iter().map(|(when, _)| scene.wide(when));
    let left = whens.fold(0.0_f64, f64::max) + 0.6 * t;
    let room = (frame.width - left - 1.2 * t).max(t);
    let fits = course.pauses.iter().zip(&all).map(|(row, (_, what))| {
        let beside = (room - scene.wide(what)).max(t);
        beside / ms(row.ms.min(LONGEST)).max(1.0)
    });
    let second = fits.fold(room / ms(SHORTEST), f64::min) * 1000.0;
    let labels: Vec<(String, String)> = rows.iter().map(|row| label(course, words, row)).collect();
    let top = lines(&mut scene, words, (left, second), frame.width);
    let bottom = top + ROW * t * count(rows.len());
    for s in [5.0, 10.0] {
        let x = left + s * second;
        scene.line((x, top - 0.2 * t), (x, bottom), false);
    }
    let mut y = top;
    for (row, (when, what)) in rows.iter().zip(&labels) {
        let wide = second * ms(row.ms.min(LONGEST)) / 1000.0;
        let base = y + 1.05 * t;
        scene.words((left - 0.6 * t, base), Anchor::End, when);
        let area = Area {
            x: left,
            y: y + (ROW - BAR) / 2.0 * t,
            w: wide,
            h: BAR * t,
        };
        scene.bar(area, Role::Still, Fill::Plain);
        if row.ms > LONGEST {
            open_end(&mut scene, area);
        }
        let at = (left + wide + 0.6 * t, base);
        // The lines at 5 and 10 s do not run through the words.
        let behind = scene.text_area(at, Anchor::Start, what);
        scene.put(Shape::Bar {
            area: behind,
            role: Role::Ground,
            fill: Fill::Plain,
            outlined: false,
        });
        scene.words(at, Anchor::Start, what);
        y += ROW * t;
    }
    scene.height = bottom + 0.4 * t;
    scene
}

/// When a pause began, and what stands beside its bar.
fn label(course: &Course, words: &Words, row: &PauseRow) -> (String, String) {
    let long = words.sheet_with(W::Seconds, &[&seconds(row.ms).to_string()]);
    let reason = words.reason(Some(row.reason));
    let what = words.sheet_with(W::Pair, &[&long, &reason]);
    (at(course, row.from_ms), what)
}

/// The figures over the two lines; where the bars begin.
fn lines(scene: &mut Scene, words: &Words, (left, second): (f64, f64), width: f64) -> f64 {
    let t = scene.text;
    let labels: Vec<Label> = [5_u32, 10]
        .into_iter()
        .map(|s| {
            let text = words.sheet_with(W::Seconds, &[&s.to_string()]);
            Label {
                middle: left + f64::from(s) * second,
                wide: scene.wide(&text),
                text,
                weight: u64::from(s),
            }
        })
        .collect();
    let placed = place(&labels, (0.0, width), 0.3 * t, 2);
    let levels = placed.iter().map(|p| p.level).max().unwrap_or(0);
    for label in placed {
        let y = t * (1.0 + f64::from(label.level) * 1.2);
        scene.words((label.middle, y), Anchor::Middle, &label.text);
    }
    t * (1.6 + f64::from(levels) * 1.2)
}

/// Two strokes through a bar that goes on.
fn open_end(scene: &mut Scene, area: Area) {
    let t = scene.text;
    let x = area.x + area.w - 1.2 * t;
    scene.figure(
        vec![
            (x + 0.3 * t, area.y - 0.1 * t),
            (x + 0.6 * t, area.y - 0.1 * t),
            (x + 0.3 * t, area.y + area.h + 0.1 * t),
            (x, area.y + area.h + 0.1 * t),
        ],
        Some(Role::Ground),
    );
}

/// A span as a number, ms. Exact up to 49 days; no run is longer.
pub(crate) fn ms(span: Ms) -> f64 {
    u32::try_from(span.0).map_or_else(|_| f64::from(u32::MAX), f64::from)
}

/// How many, as a number.
pub(crate) fn count(n: usize) -> f64 {
    u32::try_from(n).map_or_else(|_| f64::from(u32::MAX), f64::from)
}
