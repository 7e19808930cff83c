//! Headings, paragraphs, tables and charts, one after another, on pages.

use chart::{Face, Scene, Weight, face};

use crate::{
    Paper,
    lines::{broken, widest_word, widths},
    tags::{Node, Tag},
};

/// Something on a page, in points from its upper left corner.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Drawn {
    /// A line of text; `(x, y)` is where it begins on its base line.
    Text {
        at: (f64, f64),
        size: f64,
        weight: Weight,
        text: String,
    },
    /// A thin line across.
    Rule { from: (f64, f64), to: (f64, f64) },
    /// A chart, so much larger.
    Chart {
        at: (f64, f64),
        scale: f64,
        scene: Scene,
    },
}

/// What belongs together on a page: a leaf of the structure, or only for the eye.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Piece {
    pub(crate) leaf: Option<usize>,
    pub(crate) drawn: Vec<Drawn>,
}

/// The finished pages and their structure.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Document {
    pub(crate) title: String,
    pub(crate) pages: Vec<Vec<Piece>>,
    pub(crate) nodes: Vec<Node>,
    pub(crate) leaves: usize,
    /// Where each heading stands.
    pub(crate) outline: Vec<Entry>,
}

/// A heading, its page from 0, and how far down.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Entry {
    pub(crate) text: String,
    pub(crate) page: usize,
    pub(crate) y: f64,
}

/// A table: names of its columns, and rows; the first cell names the row.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Grid {
    pub(crate) columns: Vec<String>,
    pub(crate) rows: Vec<Vec<String>>,
}

/// Sizes in points. A page's text is inside 190 by 254 mm, which both papers hold.
const SIDE: f64 = 40.0;
const TOP: f64 = 42.0;
const FOOT: f64 = 56.0;
const BODY: f64 = 9.5;
const CELL: f64 = 9.0;
const TITLE: f64 = 17.0;
const HEADING: f64 = 12.0;
const LEADING: f64 = 1.3;
const CELL_GAP: f64 = 9.0;
/// A millimetre.
pub(crate) const MM: f64 = 72.0 / 25.4;

pub(crate) struct Flow {
    size: (f64, f64),
    pages: Vec<Vec<Piece>>,
    nodes: Vec<Node>,
    leaves: usize,
    outline: Vec<Entry>,
    /// How far down the page is filled.
    y: f64,
}

fn of(weight: Weight) -> &'static Face {
    face(weight)
}

impl Flow {
    pub(crate) fn new(paper: Paper) -> Self {
        Self {
            size: paper.size(),
            pages: vec![Vec::new()],
            nodes: Vec::new(),
            leaves: 0,
            outline: Vec::new(),
            y: TOP,
        }
    }

    /// The width of the text.
    pub(crate) fn width(&self) -> f64 {
        self.size.0 - 2.0 * SIDE
    }

    fn bottom(&self) -> f64 {
        self.size.1 - FOOT
    }

    fn new_page(&mut self) {
        self.pages.push(Vec::new());
        self.y = TOP;
    }

    /// Goes to a new page unless so much still fits, or the page is empty.
    fn need(&mut self, height: f64) {
        if self.y + height > self.bottom() && self.y > TOP {
            self.new_page();
        }
    }

    fn put(&mut self, leaf: Option<usize>, drawn: Vec<Drawn>) {
        if let Some(page) = self.pages.last_mut() {
            page.push(Piece { leaf, drawn });
        }
    }

    fn leaf(&mut self, drawn: Vec<Drawn>) -> Node {
        let n = self.leaves;
        self.leaves = n.saturating_add(1);
        self.put(Some(n), drawn);
        Node::Leaf(n)
    }

    /// Lines of text, a leaf for each page that they touch.
    fn text(&mut self, text: &str, size: f64, weight: Weight) -> Vec<Node> {
        let text = of(weight).shown(text);
        let lines = broken(of(weight), &text, size, self.width());
        let count = lines.len();
        let mut leaves = Vec::new();
        let mut drawn = Vec::new();
        for (n, mut line) in lines.into_iter().enumerate() {
            if self.y + size * LEADING > self.bottom() {
                if !drawn.is_empty() {
                    leaves.push(self.leaf(std::mem::take(&mut drawn)));
                }
                self.new_page();
            }
            self.y += size * LEADING;
            // A line's end is a space to those who hear it.
            if n.saturating_add(1) < count {
                line.push(' ');
            }
            drawn.push(Drawn::Text {
                at: (SIDE, self.y - size * (LEADING - 1.0)),
                size,
                weight,
                text: line,
            });
        }
        leaves.push(self.leaf(drawn));
        leaves
    }

    fn entry(&mut self, text: &str) {
        self.outline.push(Entry {
            text: text.to_owned(),
            page: self.pages.len().saturating_sub(1),
            y: self.y,
        });
    }

    pub(crate) fn title(&mut self, text: &str) {
        self.entry(text);
        let leaves = self.text(text, TITLE, Weight::SemiBold);
        let tag = Tag::Title(text.to_owned());
        self.nodes.push(Node::Part(tag, leaves));
        self.y += 4.0;
    }

    /// A heading; it stays with so much of what comes after it.
    pub(crate) fn heading(&mut self, text: &str, with: f64) {
        self.need(14.0 + HEADING * LEADING + with);
        if self.y > TOP {
            self.y += 10.0;
        }
        self.entry(text);
        let leaves = self.text(text, HEADING, Weight::SemiBold);
        let tag = Tag::Heading(text.to_owned());
        self.nodes.push(Node::Part(tag, leaves));
        self.y += 3.0;
    }

    pub(crate) fn paragraph(&mut self, text: &str) {
        let leaves = self.text(text, BODY, Weight::Regular);
        self.nodes.push(Node::Part(Tag::Paragraph, leaves));
        self.y += 3.0;
    }

    /// A chart, whole on one page; wider than the text it is made smaller.
    pub(crate) fn chart(&mut self, scene: Scene, scale: f64) {
        let fits = (self.width() / scene.width).min((self.bottom() - TOP) / scene.height);
        let scale = scale.min(fits);
        let height = scene.height * scale;
        self.need(height + 4.0);
        let alt = format!("{}. {}", scene.title, scene.told);
        let at = (SIDE, self.y + 4.0);
        self.y += height + 8.0;
        let leaf = self.leaf(vec![Drawn::Chart { at, scale, scene }]);
        self.nodes.push(Node::Part(Tag::Figure(alt), vec![leaf]));
    }

    /// A table; a row stays whole unless it is higher than a page, and a new page has the columns' names
    /// again.
    pub(crate) fn table(&mut self, grid: &Grid) {
        let columns = self.columns(grid);
        let head = laid(&grid.columns, &columns, Weight::SemiBold);
        self.need(height(&head) + 2.0 * CELL * LEADING + 6.0);
        let names = self.row(&head, &columns, Weight::SemiBold, true);
        let names = names
            .into_iter()
            .map(|leaf| Node::Part(Tag::ColumnName, vec![leaf]));
        let mut rows = vec![Node::Part(Tag::Row, names.collect())];
        let room = self.bottom() - TOP - height(&head) - 8.0;
        for cells in &grid.rows {
            let whole = laid(cells, &columns, Weight::Regular);
            let mut parts: Vec<Vec<Node>> = vec![Vec::new(); whole.len()];
            for row in split(&whole, room) {
                if self.y + height(&row) + 4.0 > self.bottom() {
                    self.new_page();
                    // Heard once is enough.
                    self.row(&head, &columns, Weight::SemiBold, false);
                }
                let leaves = self.row(&row, &columns, Weight::Regular, true);
                let cells = row
                    .iter()
                    .zip(&mut parts)
                    .filter(|(cell, _)| !cell.is_empty());
                for ((_, part), leaf) in cells.zip(leaves) {
                    part.push(leaf);
                }
            }
            let cells = parts.into_iter().enumerate().map(|(n, leaves)| {
                let tag = if n == 0 { Tag::RowName } else { Tag::Cell };
                Node::Part(tag, leaves)
            });
            rows.push(Node::Part(Tag::Row, cells.collect()));
        }
        self.nodes.push(Node::Part(Tag::Table, rows));
        self.y += 4.0;
    }

    /// Lines to be written on by hand, under their heading and a note, all on one page: as many of the most as it has
    /// room for, and where it has none for the least, on the next.
    pub(crate) fn blanks(
        &mut self,
        heading: &str,
        note: &str,
        blank: &Grid,
        (least, most): (u32, u32),
    ) {
        let columns = self.columns(blank);
        let head = height(&laid(&blank.columns, &columns, Weight::SemiBold));
        let Some(row) = blank.rows.first() else {
            return;
        };
        let one = height(&laid(row, &columns, Weight::Regular));
        let note_lines = broken(of(Weight::Regular), note, BODY, self.width()).len();
        let note_high = u32::try_from(note_lines).map_or(1.0, f64::from) * BODY * LEADING + 3.0;
        self.heading(
            heading,
            note_high + 3.0 + head + f64::from(least) * one + 4.0,
        );
        self.paragraph(note);
        let room = self.bottom() - self.y - head - 4.0;
        let fits = (least..=most).rev().find(|n| f64::from(*n) * one <= room);
        let rows = (0..fits.unwrap_or(least)).map(|_| row.clone()).collect();
        self.table(&Grid {
            columns: blank.columns.clone(),
            rows,
        });
    }

    /// Left edge and width of each column.
    fn columns(&self, grid: &Grid) -> Vec<(f64, f64)> {
        let measured: Vec<(f64, f64)> = grid
            .columns
            .iter()
            .enumerate()
            .map(|(n, name)| {
                let cells = grid.rows.iter().filter_map(|row| row.get(n));
                let (bold, plain) = (of(Weight::SemiBold), of(Weight::Regular));
                let least = cells
                    .clone()
                    .map(|cell| widest_word(plain, cell, CELL))
                    .fold(widest_word(bold, name, CELL), f64::max);
                let most = cells
                    .map(|cell| plain.width(cell, CELL))
                    .fold(bold.width(name, CELL), f64::max);
                (least + CELL_GAP, most + CELL_GAP)
            })
            .collect();
        let mut x = SIDE;
        widths(&measured, self.width())
            .into_iter()
            .map(|wide| {
                let left = x;
                x += wide;
                (left, wide)
            })
            .collect()
    }

    /// Draws a row, to be heard or for the eye alone; a leaf for each cell that has a line.
    fn row(
        &mut self,
        cells: &[Vec<String>],
        columns: &[(f64, f64)],
        weight: Weight,
        is_heard: bool,
    ) -> Vec<Node> {
        let mut leaves = Vec::new();
        for (lines, (x, _)) in cells.iter().zip(columns) {
            let mut y = self.y + 2.0;
            let mut drawn = Vec::new();
            for line in lines {
                y += CELL * LEADING;
                drawn.push(Drawn::Text {
                    at: (*x, y - CELL * (LEADING - 1.0)),
                    size: CELL,
                    weight,
                    text: line.clone(),
                });
            }
            if drawn.is_empty() {
                continue;
            }
            if is_heard {
                let leaf = self.leaf(drawn);
                leaves.push(leaf);
            } else {
                self.put(None, drawn);
            }
        }
        self.y += height(cells);
        let right = columns.last().map_or(SIDE, |(x, wide)| x + wide - CELL_GAP);
        let rule = Drawn::Rule {
            from: (SIDE, self.y),
            to: (right, self.y),
        };
        self.put(None, vec![rule]);
        leaves
    }

    /// The finished pages, with the foot's lines on each; it is given the page and how many there are.
    pub(crate) fn finish(
        mut self,
        title: String,
        foot: impl Fn(usize, usize) -> [String; 2],
    ) -> Document {
        let all = self.pages.len();
        let y = self.bottom();
        for (n, page) in self.pages.iter_mut().enumerate() {
            let mut drawn = vec![Drawn::Rule {
                from: (SIDE, y + 8.0),
                to: (self.size.0 - SIDE, y + 8.0),
            }];
            let lines = foot(n.saturating_add(1), all);
            for (line, below) in lines.into_iter().zip([20.0, 32.0]) {
                drawn.push(Drawn::Text {
                    at: (SIDE, y + below),
                    size: CELL,
                    weight: Weight::Regular,
                    text: of(Weight::Regular).shown(&line),
                });
            }
            page.push(Piece { leaf: None, drawn });
        }
        Document {
            title,
            pages: self.pages,
            nodes: self.nodes,
            leaves: self.leaves,
            outline: self.outline,
        }
    }
}

/// The lines of each cell. A line's end is a space to those who hear it.
fn laid(cells: &[String], columns: &[(f64, f64)], weight: Weight) -> Vec<Vec<String>> {
    let lines = cells.iter().zip(columns).map(|(cell, (_, wide))| {
        let shown = of(weight).shown(cell);
        let mut lines = broken(of(weight), &shown, CELL, wide - CELL_GAP);
        let last = lines.len().saturating_sub(1);
        for line in lines.iter_mut().take(last) {
            line.push(' ');
        }
        lines
    });
    lines.collect()
}

/// A row in parts that each have room on a page: one part unless it is very high.
fn split(row: &[Vec<String>], room: f64) -> Vec<Vec<Vec<String>>> {
    let mut most: usize = 1;
    while height_of(most.saturating_add(1)) <= room {
        most = most.saturating_add(1);
    }
    let high = row.iter().map(Vec::len).max().unwrap_or(1);
    (0..high.max(1))
        .step_by(most)
        .map(|from| {
            let cells = row.iter();
            cells
                .map(|lines| lines.iter().skip(from).take(most).cloned().collect())
                .collect()
        })
        .collect()
}

fn height(row: &[Vec<String>]) -> f64 {
    height_of(row.iter().map(Vec::len).max().unwrap_or(1))
}

fn height_of(lines: usize) -> f64 {
    let lines = u32::try_from(lines).map_or(1.0, f64::from);
    lines * CELL * LEADING + 4.0
}
