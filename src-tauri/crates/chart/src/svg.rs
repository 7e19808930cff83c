//! A chart as an SVG document.

use std::fmt::Write as _;

use crate::{
    palette::{Palette, Rgb, Role},
    scene::{Anchor, Scene, Shape, strokes},
};

/// Text for between tags and in attributes. What XML cannot hold is left out.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

fn hex([r, g, b]: Rgb) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

impl Scene {
    /// The chart as an SVG document, the same for the same chart. `font` is the name of a font's family,
    /// of weight 600; a text is as wide as in [`crate::SEMIBOLD`] whatever the font, so that none grows over
    /// another. `unit` is what a unit of the frame
    /// is: `mm` or `px`. Nothing in it has an id, so that several may stand on one page.
    pub fn svg(&self, palette: &Palette, font: &str, unit: &str) -> String {
        let (w, h) = (self.width, self.height);
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" aria-label=\"{}\" \
             width=\"{w:.2}{}\" height=\"{h:.2}{}\" viewBox=\"0 0 {w:.2} {h:.2}\" \
             font-family=\"{}\" font-weight=\"600\" font-size=\"{:.2}\" stroke-width=\"{:.3}\">\n",
            escaped(&self.title),
            escaped(unit),
            escaped(unit),
            escaped(font),
            self.text,
            self.stroke(),
        );
        let _never = writeln!(out, "<title>{}</title>", escaped(&self.title));
        let _never = writeln!(out, "<desc>{}</desc>", escaped(&self.told));
        let ground = hex(palette.of(Role::Ground));
        let _never = writeln!(
            out,
            "<rect width=\"{w:.2}\" height=\"{h:.2}\" fill=\"{ground}\"/>"
        );
        for shape in &self.shapes {
            self.shape(&mut out, shape, palette);
        }
        out.push_str("</svg>\n");
        out
    }

    fn shape(&self, out: &mut String, shape: &Shape, palette: &Palette) {
        // Writing to a String cannot fail.
        let _never = match shape {
            Shape::Bar {
                area,
                role,
                fill,
                outlined,
            } => {
                let over = hex(palette.over(*role));
                let outline = if *outlined {
                    format!(" stroke=\"{over}\"")
                } else {
                    String::new()
                };
                let _never = writeln!(
                    out,
                    "<rect x=\"{:.2}\" y=\"{:.2}\" width=\"{:.2}\" height=\"{:.2}\" fill=\"{}\"{outline}/>",
                    area.x,
                    area.y,
                    area.w,
                    area.h,
                    hex(palette.of(*role)),
                );
                let lines = strokes(*area, *fill, self.pitch());
                if lines.is_empty() {
                    return;
                }
                let mut path = String::new();
                for ((x1, y1), (x2, y2)) in lines {
                    let _never = write!(path, "M{x1:.2} {y1:.2}L{x2:.2} {y2:.2}");
                }
                writeln!(out, "<path d=\"{path}\" stroke=\"{over}\" fill=\"none\"/>")
            }
            Shape::Figure { points, role } => {
                let points: Vec<String> = points
                    .iter()
                    .map(|(x, y)| format!("{x:.2},{y:.2}"))
                    .collect();
                writeln!(
                    out,
                    "<polygon points=\"{}\" fill=\"{}\" stroke=\"{}\"/>",
                    points.join(" "),
                    role.map_or_else(|| "none".to_owned(), |role| hex(palette.of(role))),
                    hex(palette.of(Role::Text)),
                )
            }
            Shape::Line {
                from,
                to,
                role,
                dashed,
            } => {
                let dash = if *dashed {
                    let (on, off) = self.dash();
                    format!(" stroke-dasharray=\"{on:.2} {off:.2}\"")
                } else {
                    String::new()
                };
                writeln!(
                    out,
                    "<path d=\"M{:.2} {:.2}L{:.2} {:.2}\" stroke=\"{}\" fill=\"none\"{dash}/>",
                    from.0,
                    from.1,
                    to.0,
                    to.1,
                    hex(palette.of(*role)),
                )
            }
            Shape::Text { at, anchor, text } => {
                let anchor = match anchor {
                    Anchor::Start => "start",
                    Anchor::Middle => "middle",
                    Anchor::End => "end",
                };
                writeln!(
                    out,
                    "<text x=\"{:.2}\" y=\"{:.2}\" text-anchor=\"{anchor}\" textLength=\"{:.2}\" \
                     lengthAdjust=\"spacingAndGlyphs\" fill=\"{}\">{}</text>",
                    at.0,
                    at.1,
                    self.wide(text),
                    hex(palette.of(Role::Text)),
                    escaped(text),
                )
            }
        };
    }

    /// A broken line's strokes and gaps.
    pub fn dash(&self) -> (f64, f64) {
        (self.text / 8.0, self.text / 3.0)
    }
}
