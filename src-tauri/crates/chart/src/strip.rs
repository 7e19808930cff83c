//! The strip: what was done in lanes over the minutes, of the whole run or of a part of it.

use cycle::Ms;
use debrief::Course;
use words::{SheetWord as W, Words};

use crate::{
    bars::ms,
    lanes::{self, Lane},
    legend,
    place::{Label, place},
    scene::{Anchor, Scene},
    told::{at, basis, begin, strip_told},
};

/// What the strip is drawn for. Lengths are in units of the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StripFrame {
    /// The part to be drawn, run milliseconds; `None`: the whole window.
    pub span: Option<(Ms, Ms)>,
    /// The picture's width.
    pub width: f64,
    /// How long a minute is, where parts are to have one scale; `None`: the part fills the width.
    pub minute: Option<f64>,
    /// The size of the text.
    pub text: f64,
}

impl StripFrame {
    /// A picture of the whole window on paper, in millimetres: 9 mm a minute below 20 minutes, else 3.
    pub fn paper(course: &Course, words: &Words) -> Self {
        let text = 3.2;
        let scene = Scene::new(0.0, text);
        let long = course.window.map_or(Ms::ZERO, debrief::Window::len);
        let minute = if long < Ms(20 * 60_000) { 9.0 } else { 3.0 };
        let width = gutter(&scene, words) + minute * ms(long) / 60_000.0 + MARGIN * text;
        Self {
            span: None,
            width: width.max(MIN_WIDTH * text),
            minute: Some(minute),
            text,
        }
    }

    /// Where the drawn part lies in the picture.
    pub fn edges(&self, course: &Course, words: &Words) -> Edges {
        let scene = Scene::new(self.width, self.text);
        let window = course
            .window
            .map_or((Ms::ZERO, Ms::ZERO), |w| (w.from_ms, w.to_ms));
        let (from, to) = self.span.unwrap_or(window);
        let left = gutter(&scene, words);
        let right = (self.width - MARGIN * self.text).max(left + self.text);
        let axis = Axis {
            from: from.max(window.0).min(window.1),
            to: to.min(window.1),
            left,
            right,
        };
        let used = Lane::ALL.into_iter().filter(|lane| lane.is_used(course));
        let lanes: f64 = used
            .map(|lane| lanes::height(lane, course, &scene, axis))
            .sum();
        Edges {
            left,
            right,
            top: TOP * self.text,
            foot: TOP * self.text + lanes,
        }
    }

    /// The longest part that fits at so many units a minute.
    pub fn minutes(&self, words: &Words, minute: f64) -> f64 {
        let scene = Scene::new(self.width, self.text);
        (self.width - gutter(&scene, words) - MARGIN * self.text) / minute
    }
}

/// Where the drawn part lies in a picture, in its units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edges {
    /// Its beginning.
    pub left: f64,
    /// Its end.
    pub right: f64,
    /// Where the lanes begin: above them stand the figures.
    pub top: f64,
    /// The foot of the lanes: below it stands the legend.
    pub foot: f64,
}

/// Steps of the figures over the strip, s.
const STEPS: [u32; 11] = [5, 10, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200];
/// Where the lanes begin, of the size of the text.
const TOP: f64 = 1.6;
/// Room at the right end, of the size of the text.
const MARGIN: f64 = 1.0;
/// The least width of a picture on paper, so that a short run's legend has room.
const MIN_WIDTH: f64 = 40.0;

/// Where a moment lies.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Axis {
    pub(crate) from: Ms,
    pub(crate) to: Ms,
    pub(crate) left: f64,
    pub(crate) right: f64,
}

impl Axis {
    pub(crate) fn x(&self, at: Ms) -> f64 {
        let whole = ms(self.to.since(self.from)).max(1.0);
        let part = ms(at.max(self.from).min(self.to).since(self.from));
        self.left + (self.right - self.left) * part / whole
    }

    pub(crate) fn holds(&self, at: Ms) -> bool {
        self.from <= at && at <= self.to
    }
}

fn gutter(scene: &Scene, words: &Words) -> f64 {
    let names = Lane::ALL.map(|lane| scene.wide(&words.sheet(lane.name())));
    names.into_iter().fold(0.0_f64, f64::max) + 0.8 * scene.text
}

/// Draws the strip.
pub fn strip(course: &Course, words: &Words, frame: &StripFrame) -> Scene {
    let told = strip_told(course, words);
    let mut scene = Scene::new(frame.width, frame.text);
    scene.title = told.title;
    scene.told = told.sentence;
    let t = frame.text;
    let Some(window) = course.window.filter(|w| !w.is_empty()) else {
        let none = words.sheet(W::NoWindow);
        scene.words((0.0, t), Anchor::Start, &none);
        scene.width = scene.width.max(scene.wide(&none));
        scene.height = 1.5 * t;
        return scene;
    };
    let (from, to) = frame.span.unwrap_or((window.from_ms, window.to_ms));
    let from = from.max(window.from_ms).min(window.to_ms);
    let to = to.min(window.to_ms).max(from.plus(Ms(1)));
    if frame.span.is_some() {
        scene.title = words.sheet_with(
            W::StripTitle,
            &[&at(course, from), &at(course, to), &basis(course, words)],
        );
    }
    let left = gutter(&scene, words);
    let filled = (frame.width - MARGIN * t).max(left + t);
    let scaled = frame
        .minute
        .map(|minute| left + minute * ms(to.since(from)) / 60_000.0);
    let axis = Axis {
        from,
        to,
        left,
        right: scaled.map_or(filled, |right| right.min(filled)),
    };
    let top = TOP * t;
    let shown: Vec<Lane> = Lane::ALL
        .into_iter()
        .filter(|lane| lane.is_used(course))
        .collect();
    let heights: Vec<f64> = shown
        .iter()
        .map(|lane| lanes::height(*lane, course, &scene, axis))
        .collect();
    let bottom = top + heights.iter().sum::<f64>();
    ticks(&mut scene, words, course, axis, (top, bottom));
    let mut y = top;
    for (lane, high) in shown.iter().zip(heights) {
        let base = y + high / 2.0 + 0.25 * t;
        scene.words((0.0, base), Anchor::Start, &words.sheet(lane.name()));
        lanes::draw(*lane, course, &mut scene, axis, (y, high));
        y += high;
        scene.line((left, y), (axis.right, y), false);
    }
    scene.height = legend::draw(course, words, &mut scene, bottom + 0.6 * t);
    scene
}

/// The minutes: a line for each where there is room, figures where there is room for them.
fn ticks(scene: &mut Scene, words: &Words, course: &Course, axis: Axis, (top, bottom): (f64, f64)) {
    let t = scene.text;
    let second = (axis.right - axis.left) / ms(axis.to.since(axis.from)).max(1.0) * 1000.0;
    let step = |room: f64| {
        let wide = STEPS.iter().find(|s| f64::from(**s) * second >= room);
        wide.copied().unwrap_or(7200)
    };
    let (lines, figures) = (step(0.8 * t), step(4.0 * t));
    scene.words(
        (axis.left - 1.4 * t, top - 0.6 * t),
        Anchor::End,
        &words.sheet(W::AxisMinutes),
    );
    let zero = begin(course);
    let mut labels: Vec<Label> = Vec::new();
    let mut s: u32 = 0;
    loop {
        let moment = zero.plus(Ms::secs(s));
        if moment > axis.to {
            break;
        }
        if axis.holds(moment) {
            let x = axis.x(moment);
            scene.line((x, top), (x, bottom), true);
            if s.is_multiple_of(figures) {
                let text = if figures < 60 {
                    at(course, moment)
                } else {
                    s.div_euclid(60).to_string()
                };
                labels.push(Label {
                    middle: x,
                    wide: scene.wide(&text),
                    text,
                    weight: 0,
                });
            }
        }
        s = s.saturating_add(lines.max(1));
    }
    let ends = (axis.left - t, axis.right + MARGIN * t);
    for label in place(&labels, ends, 0.3 * t, 1) {
        scene.words((label.middle, top - 0.6 * t), Anchor::Middle, &label.text);
    }
}
