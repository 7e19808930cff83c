//! What a rehearsal sounds like: the wave of its file over the grid of its scores, breath windows and prompts,
//! in rows of half a minute.
//!
//! Wave, grid and prompts come from three places (the file, the record, the list of sounds), so that one look
//! shows whether they agree.

use cycle::Ms;
use words::{SheetWord as W, Words};

use crate::{
    bars::ms,
    palette::Role,
    scene::{Anchor, Area, Fill, Scene, Shape},
    told::clock,
};

/// What is drawn.
#[derive(Clone, Debug)]
pub struct Heard<'a> {
    /// The rehearsal's name.
    pub name: &'a str,
    /// What is drawn begins here.
    pub from: Ms,
    /// It ends here.
    pub length: Ms,
    /// The lowest and the highest sample of each [`OUTLINE_MS`], 16 bits.
    pub outline: &'a [(i16, i16)],
    /// What the scores place, in order.
    pub grid: &'a [(Ms, Grid)],
    /// Breath windows: from and to.
    pub windows: &'a [(Ms, Ms)],
    /// What was said or sounded besides, in order.
    pub cues: &'a [HeardCue],
}

/// A moment of a score.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grid {
    /// The first beat of a cycle.
    First,
    /// A beat.
    Beat,
    /// The last beat of a cycle.
    Last,
    /// A breath tone.
    Breath,
}

/// A prompt, or a tone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeardCue {
    /// When it begins.
    pub at: Ms,
    /// How long it sounds.
    pub len: Ms,
    /// What is said; `None`: a tone.
    pub words: Option<String>,
}

/// A point of the outline is so long, ms.
pub const OUTLINE_MS: u64 = 20;
/// A row is so long, ms.
const ROW: u64 = 30_000;
/// A second is so long, mm.
const SECOND: f64 = 9.0;
const TEXT: f64 = 3.2;
/// Full is so far from the middle of the wave, mm.
const FULL: f64 = 7.0;
/// How high the marks of the grid stand over the wave, mm.
const MARKS: f64 = 4.2;
/// Prompts stand on so many levels at most.
const LEVELS: usize = 4;
const LEVEL: f64 = 1.5 * TEXT;

/// Draws it, in millimetres.
pub fn heard(run: &Heard<'_>, words: &Words) -> Scene {
    let mut scene = Scene::new(0.0, TEXT);
    let left = scene.wide("000:00") + 0.6 * TEXT;
    let whole = run.length.since(run.from);
    let longest = whole.min(Ms(ROW));
    // The legend has room beside the shortest run too.
    scene.title = words.sheet_with(W::HeardTitle, &[run.name, &clock(whole)]);
    scene.width = (left + SECOND * ms(longest) / 1000.0 + 1.5 * TEXT)
        .max(50.0 * TEXT)
        .max(scene.wide(&scene.title));
    scene.told = told(run, words);
    let mut y = 1.2 * TEXT;
    let title = scene.title.clone();
    scene.words((0.0, y), Anchor::Start, &title);
    y += 0.8 * TEXT;
    let mut from = run.from.0;
    while from < run.length.0.max(1) {
        let to = from.saturating_add(ROW).min(run.length.0);
        let row = Row {
            from: Ms(from),
            to: Ms(to),
            left,
            top: y,
        };
        y = row.draw(run, &mut scene);
        from = from.saturating_add(ROW);
    }
    scene.height = legend(run, words, &mut scene, y + 0.4 * TEXT);
    scene
}

/// The same in words: how much of each, and every prompt with its time.
fn told(run: &Heard<'_>, words: &Words) -> String {
    let breaths = run.grid.iter().filter(|(_, g)| *g == Grid::Breath).count();
    let beats = run.grid.len().saturating_sub(breaths);
    let said: Vec<&HeardCue> = run.cues.iter().filter(|c| c.words.is_some()).collect();
    let counts = [beats, breaths, run.windows.len()].map(|n| n.to_string());
    let counts = counts.each_ref().map(String::as_str);
    let tones = run.cues.len().saturating_sub(said.len());
    let mut all = vec![
        words.sheet_with(W::HeardTold, &counts),
        words.sheet_with(W::HeardSaid, &[&said.len().to_string(), &tones.to_string()]),
    ];
    for cue in said {
        let text = cue.words.as_deref().unwrap_or_default();
        all.push(format!("{} {text}", clock(whole_seconds(cue.at))));
    }
    all.join(" ")
}

/// Rounded down: a moment is never told before it is there.
fn whole_seconds(at: Ms) -> Ms {
    Ms(at.0.saturating_sub(at.0 % 1000))
}

/// A part of the run, and where it lies.
#[derive(Clone, Copy, Debug)]
struct Row {
    from: Ms,
    to: Ms,
    left: f64,
    top: f64,
}

impl Row {
    fn x(&self, at: Ms) -> f64 {
        let at = at.max(self.from).min(self.to);
        self.left + SECOND * ms(at.since(self.from)) / 1000.0
    }

    fn holds(&self, at: Ms) -> bool {
        self.from <= at && at < self.to
    }

    fn meets(&self, from: Ms, to: Ms) -> bool {
        from < self.to && to > self.from
    }

    /// Draws it and says where it ends.
    fn draw(&self, run: &Heard<'_>, scene: &mut Scene) -> f64 {
        let marks = self.top + 1.4 * TEXT;
        let wave = marks + MARKS;
        let foot = wave + 2.0 * FULL;
        let middle = wave + FULL;
        let name = clock(self.from);
        scene.words((0.0, middle + 0.25 * TEXT), Anchor::Start, &name);
        for (from, to) in run.windows.iter().filter(|(f, t)| self.meets(*f, *t)) {
            let x = self.x(*from);
            let area = Area {
                x,
                y: wave,
                w: self.x(*to) - x,
                h: 2.0 * FULL,
            };
            window(scene, area);
        }
        self.seconds(scene, (marks, foot));
        self.wave(run, scene, middle);
        scene.line((self.left, middle), (self.x(self.to), middle), false);
        for (at, mark) in run.grid.iter().filter(|(at, _)| self.holds(*at)) {
            grid(scene, *mark, (self.x(*at), wave));
        }
        self.cues(run, scene, foot + 0.3 * TEXT)
    }

    fn seconds(&self, scene: &mut Scene, (top, foot): (f64, f64)) {
        let mut at = Ms(self.from.0.div_ceil(5000).saturating_mul(5000));
        while at < self.to {
            let x = self.x(at);
            scene.line((x, top), (x, foot), true);
            scene.words((x, top - 0.35 * TEXT), Anchor::Middle, &clock(at));
            at = at.plus(Ms(5000));
        }
    }

    /// One closed figure for each stretch that is not silent.
    fn wave(&self, run: &Heard<'_>, scene: &mut Scene, middle: f64) {
        let height = |sample: i16| middle - FULL * f64::from(sample) / 32_768.0;
        let (mut upper, mut lower) = (Vec::new(), Vec::new());
        let points = (0_u64..).zip(run.outline);
        let points = points.map(|(n, sizes)| (Ms(n.saturating_mul(OUTLINE_MS)), *sizes));
        for (at, (low, high)) in points.filter(|(at, _)| self.holds(*at)) {
            if (low, high) == (0, 0) {
                close(scene, &mut upper, &mut lower);
                continue;
            }
            let ends = [self.x(at), self.x(at.plus(Ms(OUTLINE_MS)))];
            upper.extend(ends.map(|x| (x, height(high.max(0)))));
            lower.extend(ends.map(|x| (x, height(low.min(0)))));
        }
        close(scene, &mut upper, &mut lower);
    }

    /// Prompts as bars with their words, tones as squares; the foot of the row.
    fn cues(&self, run: &Heard<'_>, scene: &mut Scene, top: f64) -> f64 {
        let right = scene.width;
        let mut ends = [f64::NEG_INFINITY; LEVELS];
        let mut used = 0;
        for cue in run.cues {
            if !self.meets(cue.at, cue.at.plus(cue.len)) {
                continue;
            }
            let (x, to) = (self.x(cue.at), self.x(cue.at.plus(cue.len)));
            // What goes on from the row above has its words there.
            let text = cue.words.as_deref().filter(|_| cue.at >= self.from);
            let gap = 0.3 * TEXT;
            let wide = text.map_or(0.0, |text| scene.wide(text) + gap);
            // Words that would leave the picture stand before their bar.
            let before = to + wide > right;
            let (begin, end) = match cue.words {
                None => (x, x + TEXT),
                Some(_) if before => (x - wide, to),
                Some(_) => (x, to + wide),
            };
            let free = ends.iter().position(|taken| taken + gap <= begin);
            let level = free.unwrap_or(LEVELS - 1);
            if let Some(taken) = ends.get_mut(level) {
                *taken = taken.max(end);
            }
            used = used.max(level.saturating_add(1));
            let y = top + LEVEL * f64::from(u8::try_from(level).unwrap_or(0));
            match cue.words {
                None => tone(scene, (x, y)),
                Some(_) => prompt(scene, (x, to), y),
            }
            // Where there is no room the words are left to the text beside the picture.
            let fits = free.is_some() && begin >= 0.0;
            if let (Some(text), true) = (text, fits) {
                let (at, anchor) = if before {
                    (x - gap, Anchor::End)
                } else {
                    (to + gap, Anchor::Start)
                };
                scene.words((at, y + 0.95 * TEXT), anchor, text);
            }
        }
        top + LEVEL * f64::from(u8::try_from(used).unwrap_or(0)) + 0.9 * TEXT
    }
}

fn close(scene: &mut Scene, upper: &mut Vec<(f64, f64)>, lower: &mut Vec<(f64, f64)>) {
    if upper.is_empty() {
        return;
    }
    upper.extend(lower.drain(..).rev());
    scene.figure(std::mem::take(upper), Some(Role::Flow));
}

fn window(scene: &mut Scene, area: Area) {
    scene.bar(area, Role::Still, Fill::Dots);
}

/// A mark of the grid over the wave at `at`: a stroke for a beat, longer with a flag for the first, longer
/// with a foot for the last, an arrow head for a breath.
fn grid(scene: &mut Scene, mark: Grid, (x, foot): (f64, f64)) {
    let mut stroke = |from: (f64, f64), to: (f64, f64)| {
        scene.put(Shape::Line {
            from,
            to,
            role: Role::Text,
            dashed: false,
        });
    };
    let (low, high) = (foot - 0.4 * MARKS, foot - 0.85 * MARKS);
    match mark {
        Grid::Beat => stroke((x, low), (x, foot)),
        Grid::First => {
            stroke((x, high), (x, foot));
            let flag = vec![(x, high), (x + 1.4, high + 0.8), (x, high + 1.6)];
            scene.figure(flag, Some(Role::Text));
        }
        Grid::Last => {
            stroke((x, high), (x, foot));
            stroke((x - 0.9, high), (x + 0.9, high));
        }
        Grid::Breath => {
            let head = vec![(x - 1.1, foot - 0.3), (x, high), (x + 1.1, foot - 0.3)];
            scene.figure(head, Some(Role::Ground));
        }
    }
}

fn prompt(scene: &mut Scene, (from, to): (f64, f64), y: f64) {
    let area = Area {
        x: from,
        y: y + 0.2 * TEXT,
        w: (to - from).max(0.4),
        h: 0.8 * TEXT,
    };
    scene.bar(area, Role::Kit, Fill::Plain);
}

fn tone(scene: &mut Scene, (x, y): (f64, f64)) {
    let (side, y) = (0.6 * TEXT, y + 0.3 * TEXT);
    let square = vec![(x, y), (x + side, y), (x + side, y + side), (x, y + side)];
    scene.figure(square, None);
}

/// What each shape stands for: only what the run has.
fn legend(run: &Heard<'_>, words: &Words, scene: &mut Scene, top: f64) -> f64 {
    let has = |mark| run.grid.iter().any(|(_, g)| *g == mark);
    let said = |is: bool| run.cues.iter().any(|c| c.words.is_some() == is);
    let all = [
        (true, W::HeardWave),
        (has(Grid::First), W::HeardFirst),
        (has(Grid::Beat), W::HeardBeat),
        (has(Grid::Last), W::HeardLast),
        (has(Grid::Breath), W::HeardBreath),
        (!run.windows.is_empty(), W::HeardWindow),
        (said(true), W::HeardPrompt),
        (said(false), W::HeardTone),
    ];
    let (mut x, mut y) = (0.0, top);
    for (_, word) in all.into_iter().filter(|(is, _)| *is) {
        let text = words.sheet(word);
        let wide = 2.8 * TEXT + scene.wide(&text);
        if x > 0.0 && x + wide > scene.width {
            (x, y) = (0.0, y + 1.7 * TEXT);
        }
        let area = Area {
            x,
            y: y + 0.2 * TEXT,
            w: 2.0 * TEXT,
            h: TEXT,
        };
        let at = (x + TEXT, y + 1.2 * TEXT);
        #[expect(
            clippy::wildcard_enum_match_arm,
            reason = "the list is open; of these the wave alone is left"
        )]
        match word {
            W::HeardFirst => grid(scene, Grid::First, at),
            W::HeardBeat => grid(scene, Grid::Beat, at),
            W::HeardLast => grid(scene, Grid::Last, at),
            W::HeardBreath => grid(scene, Grid::Breath, at),
            W::HeardWindow => window(scene, area),
            W::HeardPrompt => prompt(scene, (x, x + 2.0 * TEXT), y),
            W::HeardTone => tone(scene, (x + 0.7 * TEXT, y)),
            _ => scene.figure(
                vec![
                    (area.x, area.y + area.h / 2.0),
                    (area.x + 0.6 * TEXT, area.y),
                    (area.x + area.w, area.y + area.h / 2.0),
                    (area.x + 0.6 * TEXT, area.y + area.h),
                ],
                Some(Role::Flow),
            ),
        }
        scene.words((x + 2.4 * TEXT, y + 1.05 * TEXT), Anchor::Start, &text);
        x += wide + TEXT;
    }
    y + 2.0 * TEXT
}
