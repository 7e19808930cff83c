//! Values over time as points: a run chart, a chart of shares, or dots alone.

use crate::{
    palette::Role,
    scene::{Anchor, Scene},
};

/// A value in time.
#[derive(Clone, Debug, PartialEq)]
pub struct Dot {
    /// Its name on the axis.
    pub label: String,
    /// Its height.
    pub value: f64,
    /// Lower and upper limit, if it has any.
    pub limits: Option<(f64, f64)>,
}

/// A line across, with what it says beside its end.
#[derive(Clone, Debug, PartialEq)]
pub struct Across {
    /// Its height.
    pub value: f64,
    /// What it says.
    pub label: String,
    /// Of others: broken.
    pub of_others: bool,
}

/// What is drawn. Lengths are in units of the picture; every word in it is given.
#[derive(Clone, Debug, PartialEq)]
pub struct PointFrame {
    /// Its title.
    pub title: String,
    /// What it shows, in a sentence.
    pub told: String,
    /// The unit over the axis.
    pub unit: String,
    /// The scale ends at 1, not where the values do.
    pub is_share: bool,
    /// In order of time.
    pub dots: Vec<Dot>,
    /// Joined by a line: not where they are too few.
    pub joined: bool,
    /// The median and the figures of others.
    pub across: Vec<Across>,
    /// The mark between whole and part of a number.
    pub decimal: String,
    /// The picture's width.
    pub width: f64,
    /// The size of the text.
    pub text: f64,
}

/// How high the plot is, and how far a point reaches, of the size of the text.
const PLOT: f64 = 14.0;
const REACH: f64 = 0.32;

/// Draws the points.
pub fn points(frame: &PointFrame) -> Scene {
    let t = frame.text;
    let mut scene = Scene::new(frame.width, t);
    scene.title.clone_from(&frame.title);
    scene.told.clone_from(&frame.told);
    let ticks = ticks(frame);
    let top = ticks.last().copied().unwrap_or(1.0);
    let names: Vec<String> = ticks.iter().map(|v| shown(*v, frame)).collect();
    let left = widest(&scene, names.iter().map(String::as_str)) + 0.8 * t;
    let beside = widest(&scene, frame.across.iter().map(|a| a.label.as_str()));
    let right = (frame.width - beside - 1.6 * t).max(left + 4.0 * t);
    let (high, low) = (1.8 * t, (1.8 + PLOT) * t);
    let y = |value: f64| low - (low - high) * (value / top).clamp(0.0, 1.0);
    scene.words((0.0, t), Anchor::Start, &frame.unit);
    for (value, name) in ticks.iter().zip(&names) {
        scene.line((left, y(*value)), (right, y(*value)), false);
        scene.words((left - 0.4 * t, y(*value) + 0.3 * t), Anchor::End, name);
    }
    let step = (right - left) / (crate::bars::count(frame.dots.len()).max(1.0));
    let x = |n: usize| left + step * (crate::bars::count(n) + 0.5);
    limits(&mut scene, frame, &x, &y, step);
    let places: Vec<(f64, f64)> = frame
        .dots
        .iter()
        .enumerate()
        .map(|(n, dot)| (x(n), y(dot.value)))
        .collect();
    across(&mut scene, frame, (left, right), &y, (high, low));
    if frame.joined {
        for two in places.windows(2) {
            if let [from, to] = two {
                scene.edge(*from, *to, false);
            }
        }
    }
    let reach = (REACH * t).min(0.45 * step);
    for at in &places {
        scene.figure(round(*at, reach), Some(Role::Flow));
    }
    axis(&mut scene, frame, &x, low + 1.3 * t, right);
    scene.height = low + 1.8 * t;
    scene
}

fn widest<'a>(scene: &Scene, texts: impl Iterator<Item = &'a str>) -> f64 {
    texts.map(|text| scene.wide(text)).fold(0.0, f64::max)
}

/// Eight corners: a point that is none of the diamonds, squares and triangles of events.
fn round(at: (f64, f64), reach: f64) -> Vec<(f64, f64)> {
    let near = reach * 0.414;
    [
        (near, reach),
        (reach, near),
        (reach, -near),
        (near, -reach),
        (-near, -reach),
        (-reach, -near),
        (-reach, near),
        (-near, reach),
    ]
    .map(|(dx, dy)| (at.0 + dx, at.1 + dy))
    .to_vec()
}

/// Heights of the lines of the scale: steps of 1, 2 or 5 times a power of ten, four to eight of them.
fn ticks(frame: &PointFrame) -> Vec<f64> {
    let dots = frame.dots.iter().map(|dot| dot.value);
    let lines = frame.across.iter().map(|line| line.value);
    let most = if frame.is_share {
        1.0
    } else {
        dots.chain(lines)
            .filter(|v| v.is_finite())
            .fold(1.0_f64, f64::max)
    };
    let power = 10.0_f64.powf((most / 8.0).log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .map(|times| times * power)
        .into_iter()
        .find(|step| most / step <= 8.0)
        .unwrap_or(most);
    // Whole seconds: marks are no better.
    let step = if frame.is_share { step } else { step.max(1.0) };
    let mut out = vec![0.0];
    let mut n = 0.0_f64;
    // A scale's last line lies at or above the greatest value.
    while n * step < most - step * 1e-9 {
        n += 1.0;
        out.push(n * step);
    }
    out
}

fn shown(value: f64, frame: &PointFrame) -> String {
    let text = if frame.is_share {
        format!("{value:.1}")
    } else {
        format!("{value:.0}")
    };
    text.replace('.', &frame.decimal)
}

/// Each point's limits as two short strokes, stepped like a stair.
fn limits(
    scene: &mut Scene,
    frame: &PointFrame,
    x: &dyn Fn(usize) -> f64,
    y: &dyn Fn(f64) -> f64,
    step: f64,
) {
    for (n, dot) in frame.dots.iter().enumerate() {
        let Some((low, high)) = dot.limits else {
            continue;
        };
        for value in [low, high] {
            let (from, to) = (x(n) - 0.5 * step, x(n) + 0.5 * step);
            scene.edge((from, y(value)), (to, y(value)), false);
        }
    }
}

/// The lines across and their words, pushed down where two would lie on each other.
fn across(
    scene: &mut Scene,
    frame: &PointFrame,
    (left, right): (f64, f64),
    y: &dyn Fn(f64) -> f64,
    (high, low): (f64, f64),
) {
    let t = scene.text;
    let mut lines: Vec<&Across> = frame.across.iter().collect();
    lines.sort_by(|a, b| b.value.total_cmp(&a.value));
    let all = crate::bars::count(lines.len());
    let mut next = high;
    for (n, line) in lines.into_iter().enumerate() {
        let at = y(line.value);
        scene.edge((left, at), (right, at), line.of_others);
        let rest = (all - crate::bars::count(n) - 1.0) * 1.2 * t;
        let place = at.max(next).min((low - rest).max(next));
        next = place + 1.2 * t;
        scene.line((right, at), (right + 1.0 * t, place), false);
        scene.words(
            (right + 1.2 * t, place + 0.3 * t),
            Anchor::Start,
            &line.label,
        );
    }
}

/// Names below the points, as many as have room.
fn axis(scene: &mut Scene, frame: &PointFrame, x: &dyn Fn(usize) -> f64, base: f64, right: f64) {
    let t = scene.text;
    let mut free = f64::NEG_INFINITY;
    let mut last: Option<&str> = None;
    for (n, dot) in frame.dots.iter().enumerate() {
        let half = scene.wide(&dot.label) / 2.0;
        let at = x(n).max(half);
        if at - half < free || at + half > right + half || last == Some(dot.label.as_str()) {
            continue;
        }
        scene.words((at, base), Anchor::Middle, &dot.label);
        free = at + half + 0.8 * t;
        last = Some(dot.label.as_str());
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::Shape;

    fn frame(values: &[f64], is_share: bool) -> PointFrame {
        let dots = values.iter().map(|value| Dot {
            label: "2026-01".to_owned(),
            value: *value,
            limits: None,
        });
        PointFrame {
            title: "a title".to_owned(),
            told: "what it shows".to_owned(),
            unit: "seconds".to_owned(),
            is_share,
            dots: dots.collect(),
            joined: false,
            across: Vec::new(),
            decimal: ",".to_owned(),
            width: 180.0,
            text: 3.0,
        }
    }

    fn words(scene: &Scene) -> Vec<&str> {
        scene
            .text_areas()
            .into_iter()
            .map(|(_, text)| text)
            .collect()
    }

    /// By hand: 23 s in steps of 5 are five steps, in steps of 2 twelve; a share goes to 1 in steps of 0.2.
    #[test]
    fn the_scale_has_four_to_eight_whole_steps() {
        let seconds = points(&frame(&[23.0, 1.0], false));
        assert_eq!(
            words(&seconds),
            ["seconds", "0", "5", "10", "15", "20", "25", "2026-01"]
        );
        let share = points(&frame(&[0.31], true));
        assert_eq!(
            words(&share),
            [
                "seconds", "0,0", "0,2", "0,4", "0,6", "0,8", "1,0", "2026-01"
            ]
        );
        // Nothing below a second is told apart.
        let small = points(&frame(&[0.2], false));
        assert_eq!(words(&small), ["seconds", "0", "1", "2026-01"]);
    }

    fn middles(scene: &Scene) -> Vec<(f64, f64)> {
        let figures = scene.shapes.iter().filter_map(|shape| match shape {
            Shape::Figure { points, .. } => {
                let n = crate::bars::count(points.len());
                let sum = points
                    .iter()
                    .fold((0.0, 0.0), |s, p| (s.0 + p.0, s.1 + p.1));
                Some((sum.0 / n, sum.1 / n))
            }
            Shape::Bar { .. } | Shape::Line { .. } | Shape::Text { .. } => None,
        });
        figures.collect()
    }

    /// The scale ends at 20 here: 10 lies half way between 0 and 20, and time goes to the right in equal steps.
    #[test]
    fn a_point_lies_where_its_value_is_on_the_scale() {
        let scene = points(&frame(&[0.0, 10.0, 20.0], false));
        let at = middles(&scene);
        assert_eq!(at.len(), 3);
        assert!((at[1].1 - f64::midpoint(at[0].1, at[2].1)).abs() < 1e-9);
        assert!(at[0].1 > at[2].1);
        assert!((at[1].0 - f64::midpoint(at[0].0, at[2].0)).abs() < 1e-9);
        assert!(at[0].0 < at[2].0);
    }

    /// A figure of others is broken and within the scale although no point is as high.
    #[test]
    fn a_figure_of_others_is_a_broken_line_with_its_words() {
        let mut with = frame(&[4.0], false);
        with.across = vec![Across {
            value: 31.6,
            label: "31.6 s: somebody".to_owned(),
            of_others: true,
        }];
        let scene = points(&with);
        assert!(words(&scene).contains(&"31.6 s: somebody"));
        let broken = scene.shapes.iter().filter(|shape| {
            matches!(shape, Shape::Line { from, to, dashed: true, .. }
                if (from.1 - to.1).abs() < 1e-9 && from.1 > 0.0 && from.1 < scene.height)
        });
        assert_eq!(broken.count(), 1);
    }

    #[test]
    fn points_are_joined_only_where_that_is_asked() {
        let lines = |joined: bool| {
            let mut frame = frame(&[1.0, 2.0, 3.0], false);
            frame.joined = joined;
            let lines = points(&frame).shapes;
            lines
                .iter()
                .filter(|s| {
                    matches!(
                        s,
                        Shape::Line {
                            role: Role::Text,
                            ..
                        }
                    )
                })
                .count()
        };
        assert_eq!((lines(false), lines(true)), (0, 2));
    }
}
