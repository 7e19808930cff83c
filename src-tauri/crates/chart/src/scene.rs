//! A chart before it is written down: shapes with roles, in units of the frame that it was drawn for.

use crate::{
    face::{Weight, face},
    palette::Role,
};

/// A rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
}

impl Area {
    /// Whether two rectangles have a point inside both.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.x < other.x + other.w
            && other.x < self.x + self.w
            && self.y < other.y + other.h
            && other.y < self.y + self.h
    }
}

/// Where a text's point lies in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// At its left end.
    Start,
    /// In its middle.
    Middle,
    /// At its right end.
    End,
}

/// The pattern over a fill.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fill {
    /// None.
    Plain,
    /// Lines from lower left to upper right.
    Hatch,
    /// Lines both ways.
    Cross,
    /// Dots.
    Dots,
}

/// One shape.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A rectangle with an outline and a pattern.
    Bar {
        /// Where.
        area: Area,
        /// Its colour.
        role: Role,
        /// Over it.
        fill: Fill,
        /// Whether it has an outline.
        outlined: bool,
    },
    /// A closed figure, filled or hollow, with an outline.
    Figure {
        /// Its corners.
        points: Vec<(f64, f64)>,
        /// Its colour; `None`: hollow.
        role: Option<Role>,
    },
    /// A line.
    Line {
        /// From.
        from: (f64, f64),
        /// To.
        to: (f64, f64),
        /// Its colour.
        role: Role,
        /// Broken.
        dashed: bool,
    },
    /// A line of text.
    Text {
        /// Where its point lies.
        at: (f64, f64),
        /// How it lies about it.
        anchor: Anchor,
        /// The words.
        text: String,
    },
}

/// A chart.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// The size of its text.
    pub text: f64,
    /// Its title.
    pub title: String,
    /// What it shows, in a sentence.
    pub told: String,
    /// Its shapes, the lowest first.
    pub shapes: Vec<Shape>,
}

/// A character reaches so far above and below the line that it stands on, of the size of the text.
const ABOVE: f64 = 0.75;
const BELOW: f64 = 0.25;

impl Scene {
    pub(crate) fn new(width: f64, text: f64) -> Self {
        Self {
            width,
            height: 0.0,
            text,
            title: String::new(),
            told: String::new(),
            shapes: Vec::new(),
        }
    }

    /// How thick a line is.
    pub fn stroke(&self) -> f64 {
        self.text / 18.0
    }

    /// How far the lines of a pattern are apart.
    pub fn pitch(&self) -> f64 {
        self.text / 2.0
    }

    /// How wide a text is in this chart.
    pub fn wide(&self, text: &str) -> f64 {
        face(Weight::SemiBold).width(text, self.text)
    }

    /// The rectangle that a text fills.
    pub fn text_area(&self, at: (f64, f64), anchor: Anchor, text: &str) -> Area {
        let w = self.wide(text);
        let x = match anchor {
            Anchor::Start => at.0,
            Anchor::Middle => at.0 - w / 2.0,
            Anchor::End => at.0 - w,
        };
        Area {
            x,
            y: at.1 - ABOVE * self.text,
            w,
            h: (ABOVE + BELOW) * self.text,
        }
    }

    /// The rectangles of all texts.
    pub fn text_areas(&self) -> Vec<(Area, &str)> {
        let texts = self.shapes.iter().filter_map(|shape| match shape {
            Shape::Text { at, anchor, text } => {
                Some((self.text_area(*at, *anchor, text), text.as_str()))
            }
            Shape::Bar { .. } | Shape::Figure { .. } | Shape::Line { .. } => None,
        });
        texts.collect()
    }

    pub(crate) fn put(&mut self, shape: Shape) {
        self.shapes.push(shape);
    }

    pub(crate) fn words(&mut self, at: (f64, f64), anchor: Anchor, text: &str) {
        let text = face(Weight::SemiBold).shown(text);
        self.put(Shape::Text { at, anchor, text });
    }

    pub(crate) fn bar(&mut self, area: Area, role: Role, fill: Fill) {
        self.put(Shape::Bar {
            area,
            role,
            fill,
            outlined: true,
        });
    }

    pub(crate) fn line(&mut self, from: (f64, f64), to: (f64, f64), dashed: bool) {
        self.put(Shape::Line {
            from,
            to,
            role: Role::Line,
            dashed,
        });
    }

    /// A line that is itself what is shown.
    pub(crate) fn edge(&mut self, from: (f64, f64), to: (f64, f64), dashed: bool) {
        self.put(Shape::Line {
            from,
            to,
            role: Role::Text,
            dashed,
        });
    }

    pub(crate) fn figure(&mut self, points: Vec<(f64, f64)>, role: Option<Role>) {
        self.put(Shape::Figure { points, role });
    }
}

/// A straight line from one point to another.
pub type Segment = ((f64, f64), (f64, f64));

/// The strokes of a pattern in a rectangle. A dot is a short stroke.
pub fn strokes(area: Area, fill: Fill, pitch: f64) -> Vec<Segment> {
    match fill {
        Fill::Plain => Vec::new(),
        Fill::Hatch => diagonals(area, pitch, false),
        Fill::Cross => {
            let mut all = diagonals(area, pitch, false);
            all.extend(diagonals(area, pitch, true));
            all
        }
        Fill::Dots => dots(area, pitch),
    }
}

/// Lines at half a right angle, cut to the rectangle.
fn diagonals(area: Area, pitch: f64, falling: bool) -> Vec<Segment> {
    let mut out = Vec::new();
    let end = area.w + area.h;
    let mut along = pitch;
    while along < end {
        // From a point of the upper or right edge to one of the left or lower edge.
        let (x1, y1) = (along.min(area.w), (along - area.w).max(0.0));
        let (x2, y2) = ((along - area.h).max(0.0), along.min(area.h));
        let place = |x: f64, y: f64| {
            let y = if falling { area.h - y } else { y };
            (area.x + x, area.y + y)
        };
        out.push((place(x1, y1), place(x2, y2)));
        along += pitch;
    }
    out
}

fn dots(area: Area, pitch: f64) -> Vec<Segment> {
    let mut out = Vec::new();
    let side = pitch / 4.0;
    let mut y = pitch / 2.0;
    while y < area.h {
        let mut x = pitch / 2.0;
        while x + side < area.w {
            let at = (area.x + x, area.y + y);
            out.push((at, (at.0 + side, at.1)));
            x += pitch;
        }
        y += pitch;
    }
    out
}
