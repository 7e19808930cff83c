//! The lanes of the strip, and the shape of what stands in each.

use cycle::{
    Ms,
    mark::{By, CupAct},
};
use debrief::{CheckResult, Course, Happening, State, Stretch};
use words::SheetWord as W;

use crate::{
    palette::Role,
    place::{Label, Placed, place},
    scene::{Anchor, Area, Fill, Scene},
    strip::Axis,
    told::seconds,
};

/// A lane.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Lane {
    State,
    Off,
    Checks,
    Shocks,
    Drugs,
    Air,
    Device,
    Power,
    Cup,
}

/// Labels that find no room on so many levels are left to the table.
const LEVELS: u32 = 4;
/// How high a lane is, and a level of its labels, of the size of the text.
const LANE: f64 = 1.6;
const LEVEL: f64 = 1.1;

impl Lane {
    pub(crate) const ALL: [Self; 9] = [
        Self::State,
        Self::Off,
        Self::Checks,
        Self::Shocks,
        Self::Drugs,
        Self::Air,
        Self::Device,
        Self::Power,
        Self::Cup,
    ];

    pub(crate) const fn name(self) -> W {
        match self {
            Self::State => W::LaneState,
            Self::Off => W::LaneOff,
            Self::Checks => W::LaneChecks,
            Self::Shocks => W::LaneShocks,
            Self::Drugs => W::LaneDrugs,
            Self::Air => W::LaneAir,
            Self::Device => W::LaneDevice,
            Self::Power => W::LanePower,
            Self::Cup => W::LaneCup,
        }
    }

    /// Whether the run has anything for it: what is drawn of a part has the lanes of the whole.
    pub(crate) fn is_used(self, course: &Course) -> bool {
        let happened = |is: fn(&Happening) -> bool| course.happenings.iter().any(|(_, h)| is(h));
        match self {
            Self::State | Self::Off => true,
            Self::Checks => !course.checks.is_empty(),
            Self::Shocks => !course.shocks.is_empty(),
            Self::Drugs => happened(|h| matches!(h, Happening::Dose(_))),
            Self::Air => happened(|h| !matches!(h, Happening::Dose(_))),
            Self::Device => course
                .stretches
                .iter()
                .any(|s| s.state == State::Compressing(By::Mechanical)),
            Self::Power => !course.power.is_empty(),
            Self::Cup => !course.cup.is_empty(),
        }
    }
}

/// Each dose and what it is called: the first of a drug by its name, later ones by its beginning and their
/// number.
fn doses(course: &Course) -> Vec<(Ms, String, u64)> {
    let mut out: Vec<(Ms, String, u64)> = Vec::new();
    let mut given: Vec<&str> = Vec::new();
    for (at, happening) in &course.happenings {
        let Happening::Dose(name) = happening else {
            continue;
        };
        given.push(name);
        let n = given.iter().filter(|known| *known == name).count();
        if n == 1 {
            out.push((*at, name.clone(), 1));
        } else {
            let short: String = name.chars().take(3).collect();
            out.push((*at, format!("{short} {n}"), 0));
        }
    }
    out
}

/// The labels of a lane, placed.
fn labels(lane: Lane, course: &Course, scene: &Scene, axis: Axis) -> Vec<Placed> {
    let of = |middle: f64, text: String, weight: u64| Label {
        middle,
        wide: scene.wide(&text),
        text,
        weight,
    };
    let all: Vec<Label> = match lane {
        Lane::Off => in_part(course, axis)
            .filter(|s| s.state == State::HandsOff)
            .map(|s| {
                let middle = f64::midpoint(axis.x(s.from), axis.x(s.to));
                of(middle, seconds(s.len()).to_string(), s.len().0)
            })
            .collect(),
        Lane::Drugs => doses(course)
            .into_iter()
            .filter(|(at, ..)| axis.holds(*at))
            .map(|(at, text, weight)| of(axis.x(at), text, weight))
            .collect(),
        Lane::State
        | Lane::Checks
        | Lane::Shocks
        | Lane::Air
        | Lane::Device
        | Lane::Power
        | Lane::Cup => Vec::new(),
    };
    place(&all, (axis.left, axis.right), 0.25 * scene.text, LEVELS)
}

/// How high a lane is: one with labels has as many levels as they need.
pub(crate) fn height(lane: Lane, course: &Course, scene: &Scene, axis: Axis) -> f64 {
    let levels = labels(lane, course, scene, axis)
        .iter()
        .map(|p| p.level.saturating_add(1))
        .max()
        .unwrap_or(0);
    let of_labels = LEVEL * f64::from(levels) + 0.3;
    let high = match lane {
        Lane::State => 2.4,
        Lane::Off => of_labels.max(LANE),
        Lane::Drugs => 1.0 + of_labels,
        Lane::Checks | Lane::Shocks | Lane::Air | Lane::Device | Lane::Power | Lane::Cup => LANE,
    };
    high * scene.text
}

fn in_part(course: &Course, axis: Axis) -> impl Iterator<Item = &Stretch> {
    let stretches = course.stretches.iter();
    stretches.filter(move |s| s.from < axis.to && axis.from < s.to)
}

pub(crate) fn draw(lane: Lane, course: &Course, scene: &mut Scene, axis: Axis, place: (f64, f64)) {
    let (y, high) = place;
    let t = scene.text;
    let middle = y + high / 2.0;
    let moments = |all: Vec<(Ms, Glyph)>, scene: &mut Scene| {
        for (at, glyph) in all.into_iter().filter(|(at, _)| axis.holds(*at)) {
            glyph.draw(scene, (axis.x(at), middle));
        }
    };
    match lane {
        Lane::State => {
            let found: Vec<Stretch> = in_part(course, axis).cloned().collect();
            for s in found {
                let area = Area {
                    x: axis.x(s.from),
                    y: y + 0.2 * t,
                    w: axis.x(s.to) - axis.x(s.from),
                    h: high - 0.4 * t,
                };
                state(scene, s.state, area);
            }
        }
        Lane::Off => levels(lane, course, scene, axis, y),
        Lane::Checks => moments(
            course
                .checks
                .iter()
                .map(|row| (row.at, Glyph::Check(row.result != CheckResult::NotMarked)))
                .collect(),
            scene,
        ),
        Lane::Shocks => moments(
            course
                .shocks
                .iter()
                .map(|row| (row.at_ms, Glyph::Shock(row.timed)))
                .collect(),
            scene,
        ),
        Lane::Drugs => {
            let doses = course.happenings.iter();
            let doses = doses.filter(|(_, h)| matches!(h, Happening::Dose(_)));
            for (at, _) in doses.filter(|(at, _)| axis.holds(*at)) {
                Glyph::Dose.draw(scene, (axis.x(*at), y + 0.6 * t));
            }
            levels(lane, course, scene, axis, y + 0.9 * t);
        }
        Lane::Air => moments(
            course
                .happenings
                .iter()
                .filter_map(|(at, h)| match h {
                    Happening::Dose(_) => None,
                    Happening::Breaths(_) => Some((*at, Glyph::Breaths)),
                    Happening::AirwayIn => Some((*at, Glyph::Airway(true))),
                    Happening::AirwayLost => Some((*at, Glyph::Airway(false))),
                })
                .collect(),
            scene,
        ),
        Lane::Device => {
            let runs: Vec<(Ms, Ms)> = in_part(course, axis)
                .filter(|s| s.state == State::Compressing(By::Mechanical))
                .map(|s| (s.from, s.to))
                .collect();
            for (from, to) in runs {
                scene.bar(flat(axis, from, to, (y, high), t), Role::Kit, Fill::Hatch);
            }
        }
        Lane::Power => {
            for row in &course.power {
                let to = row.swapped_ms.unwrap_or(row.from_ms);
                if row.from_ms <= axis.to && axis.from <= to {
                    let area = flat(axis, row.from_ms, to, (y, high), t);
                    scene.bar(
                        Area {
                            w: area.w.max(0.5 * t),
                            ..area
                        },
                        Role::Kit,
                        Fill::Plain,
                    );
                }
            }
        }
        Lane::Cup => moments(
            course
                .cup
                .iter()
                .map(|row| {
                    (
                        row.answered_ms.unwrap_or(row.asked_ms),
                        Glyph::Cup(row.answer),
                    )
                })
                .collect(),
            scene,
        ),
    }
}

fn flat(axis: Axis, from: Ms, to: Ms, (y, high): (f64, f64), t: f64) -> Area {
    Area {
        x: axis.x(from),
        y: y + 0.4 * t,
        w: axis.x(to) - axis.x(from),
        h: high - 0.8 * t,
    }
}

fn levels(lane: Lane, course: &Course, scene: &mut Scene, axis: Axis, y: f64) {
    let t = scene.text;
    for label in labels(lane, course, scene, axis) {
        let base = y + t * (1.0 + LEVEL * f64::from(label.level));
        scene.words((label.middle, base), Anchor::Middle, &label.text);
    }
}

/// A stretch of a state: each has a height and a pattern of its own.
pub(crate) fn state(scene: &mut Scene, state: State, area: Area) {
    match state {
        State::Compressing(By::Manual) => scene.bar(area, Role::Flow, Fill::Plain),
        State::Compressing(By::Mechanical) => scene.bar(area, Role::Flow, Fill::Hatch),
        // Low, so that it is a gap.
        State::HandsOff => scene.bar(
            Area {
                y: area.y + 0.7 * area.h,
                h: 0.3 * area.h,
                ..area
            },
            Role::Still,
            Fill::Plain,
        ),
        State::Circulation => scene.bar(
            Area {
                y: area.y + 0.25 * area.h,
                h: 0.5 * area.h,
                ..area
            },
            Role::Ground,
            Fill::Dots,
        ),
        State::Unknown => scene.bar(area, Role::Ground, Fill::Cross),
    }
}

/// What stands for a moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Glyph {
    /// Marked, or never.
    Check(bool),
    /// Its moment was marked, or not.
    Shock(bool),
    Dose,
    /// In, or lost.
    Airway(bool),
    Breaths,
    Cup(Option<CupAct>),
}

impl Glyph {
    pub(crate) fn draw(self, scene: &mut Scene, (x, y): (f64, f64)) {
        let t = scene.text;
        let square = |x: f64, y: f64, side: f64| {
            vec![(x, y), (x + side, y), (x + side, y + side), (x, y + side)]
        };
        match self {
            // Two squares that touch at a corner.
            Self::Check(marked) => {
                let fill = marked.then_some(Role::Text);
                let side = 0.42 * t;
                scene.figure(square(x - side, y, side), fill);
                scene.figure(square(x, y - side, side), fill);
            }
            Self::Shock(timed) => {
                let r = 0.55 * t;
                scene.figure(
                    vec![(x, y - r), (x + 0.6 * r, y), (x, y + r), (x - 0.6 * r, y)],
                    timed.then_some(Role::Text),
                );
            }
            Self::Dose => scene.figure(
                vec![
                    (x - 0.45 * t, y - 0.4 * t),
                    (x + 0.45 * t, y - 0.4 * t),
                    (x, y + 0.4 * t),
                ],
                Some(Role::Dose),
            ),
            // A chevron that points up, or down.
            Self::Airway(is_in) => {
                let d = if is_in { 1.0 } else { -1.0 };
                let point = |dx: f64, dy: f64| (x + dx * t, y + d * dy * t);
                scene.figure(
                    vec![
                        point(-0.5, 0.4),
                        point(0.0, -0.4),
                        point(0.5, 0.4),
                        point(0.25, 0.4),
                        point(0.0, 0.0),
                        point(-0.25, 0.4),
                    ],
                    is_in.then_some(Role::Text),
                );
            }
            Self::Breaths => scene.line((x, y - 0.4 * t), (x, y + 0.4 * t), false),
            Self::Cup(answer) => {
                let side = 0.8 * t;
                let corner = (x - side / 2.0, y - side / 2.0);
                let fill = match answer {
                    Some(CupAct::Good) | None => None,
                    Some(CupAct::Reseat) => Some(Role::Kit),
                };
                scene.figure(square(corner.0, corner.1, side), fill);
                if answer.is_none() {
                    scene.line(corner, (corner.0 + side, corner.1 + side), false);
                    scene.line(
                        (corner.0 + side, corner.1),
                        (corner.0, corner.1 + side),
                        false,
                    );
                }
            }
        }
    }
}
