//! The pages as a file.

use chart::{
    Anchor, Fill as Pattern, PRINT, REGULAR, Rgb, SEMIBOLD, Scene, Segment, Shape, Weight, face,
};
use krilla::{
    Document as Pdf, SerializeSettings,
    color::rgb,
    configure::{Accessibility, ConfigurationBuilder, Validator},
    destination::XyzDestination,
    geom::{Path, PathBuilder, Point, Transform},
    metadata::Metadata,
    outline::{Outline, OutlineNode},
    page::PageSettings,
    paint::{Fill, Stroke, StrokeDash},
    surface::Surface,
    tagging::{Artifact, ArtifactType, ContentTag, Identifier},
    text::{Font, GlyphId, KrillaGlyph},
};

use crate::{
    Paper, SheetError,
    flow::{Document, Drawn},
    tags::tree,
};

struct Fonts {
    regular: Font,
    semibold: Font,
}

/// The PDF library works in single precision; a point of a page is far inside it.
#[expect(
    clippy::as_conversions,
    clippy::cast_possible_truncation,
    reason = "there is no other way from f64 to f32"
)]
const fn pt(value: f64) -> f32 {
    value as f32
}

/// Writes the file.
pub(crate) fn written(document: Document, lang: &str, paper: Paper) -> Result<Vec<u8>, SheetError> {
    let fault = |what: String| SheetError::Page(what);
    let font = |bytes: &'static [u8]| {
        Font::new(bytes.into(), 0).ok_or_else(|| fault("the font cannot be read".to_owned()))
    };
    let fonts = Fonts {
        regular: font(REGULAR)?,
        semibold: font(SEMIBOLD)?,
    };
    let configuration = ConfigurationBuilder::new()
        .set_validator(Validator::Ua(Accessibility::UA1))
        .finish()
        .map_err(|e| fault(format!("{e:?}")))?;
    let mut pdf = Pdf::new_with(SerializeSettings {
        configuration,
        ..SerializeSettings::default()
    });
    let (w, h) = paper.size();
    let mut drawn: Vec<Option<Identifier>> = vec![None; document.leaves];
    for pieces in &document.pages {
        let settings = PageSettings::from_wh(pt(w), pt(h))
            .ok_or_else(|| fault(format!("a page of {w} by {h} points")))?;
        let mut page = pdf.start_page_with(settings);
        let mut surface = page.surface();
        for piece in pieces {
            let tag = match piece.leaf {
                Some(_) => ContentTag::Other,
                None => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Other)),
            };
            let id = surface.start_tagged(tag);
            if let Some(slot) = piece.leaf.and_then(|n| drawn.get_mut(n)) {
                *slot = Some(id);
            }
            for one in &piece.drawn {
                draw(&mut surface, &fonts, one);
            }
            surface.end_tagged();
        }
        surface.finish();
        page.finish();
    }
    let drawn: Option<Vec<Identifier>> = drawn.into_iter().collect();
    let drawn = drawn.ok_or_else(|| fault("a part stands on no page".to_owned()))?;
    let mut outline = Outline::new();
    for entry in &document.outline {
        let place = Point::from_xy(0.0, pt(entry.y));
        let place = XyzDestination::new(entry.page, place);
        outline.push_child(OutlineNode::new(entry.text.clone(), place));
    }
    pdf.set_outline(outline);
    pdf.set_tag_tree(tree(&document.nodes, &drawn, lang));
    pdf.set_metadata(
        Metadata::new()
            .title(document.title)
            .language(lang.to_owned())
            .creator("Carrybeat".to_owned())
            .producer("Carrybeat".to_owned()),
    );
    pdf.finish().map_err(|e| fault(format!("{e:?}")))
}

fn fill(color: Rgb) -> Fill {
    let [r, g, b] = color;
    Fill {
        paint: rgb::Color::new(r, g, b).into(),
        ..Fill::default()
    }
}

fn stroke(color: Rgb, width: f64, dash: Option<(f64, f64)>) -> Stroke {
    let [r, g, b] = color;
    Stroke {
        paint: rgb::Color::new(r, g, b).into(),
        width: pt(width),
        dash: dash.map(|(on, off)| StrokeDash {
            array: vec![pt(on), pt(off)],
            offset: 0.0,
        }),
        ..Stroke::default()
    }
}

fn path(lines: &[Segment]) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for ((x1, y1), (x2, y2)) in lines {
        builder.move_to(pt(*x1), pt(*y1));
        builder.line_to(pt(*x2), pt(*y2));
    }
    builder.finish()
}

fn closed(points: &[(f64, f64)]) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for (n, (x, y)) in points.iter().enumerate() {
        if n == 0 {
            builder.move_to(pt(*x), pt(*y));
        } else {
            builder.line_to(pt(*x), pt(*y));
        }
    }
    builder.close();
    builder.finish()
}

fn paint(
    surface: &mut Surface<'_>,
    path: Option<Path>,
    inside: Option<Fill>,
    edge: Option<Stroke>,
) {
    let Some(path) = path else { return };
    if inside.is_none() && edge.is_none() {
        return;
    }
    surface.set_fill(inside);
    surface.set_stroke(edge);
    surface.draw_path(&path);
}

fn draw(surface: &mut Surface<'_>, fonts: &Fonts, drawn: &Drawn) {
    match drawn {
        Drawn::Text {
            at,
            size,
            weight,
            text,
        } => words(surface, fonts, *weight, *at, *size, text),
        Drawn::Rule { from, to } => {
            let thin = stroke(PRINT.line, 0.5, None);
            paint(surface, path(&[(*from, *to)]), None, Some(thin));
        }
        Drawn::Chart { at, scale, scene } => {
            let s = pt(*scale);
            let placed = Transform::from_row(s, 0.0, 0.0, s, pt(at.0), pt(at.1));
            surface.push_transform(&placed);
            for shape in &scene.shapes {
                chart(surface, fonts, scene, shape);
            }
            surface.pop();
        }
    }
}

fn words(
    surface: &mut Surface<'_>,
    fonts: &Fonts,
    weight: Weight,
    at: (f64, f64),
    size: f64,
    text: &str,
) {
    let measures = face(weight);
    let glyphs: Vec<KrillaGlyph> = text
        .char_indices()
        .map(|(from, c)| KrillaGlyph {
            glyph_id: GlyphId::new(measures.glyph(c).unwrap_or(0)),
            text_range: from..from.saturating_add(c.len_utf8()),
            x_advance: pt(measures.advance(c)),
            x_offset: 0.0,
            y_offset: 0.0,
            y_advance: 0.0,
            location: None,
        })
        .collect();
    let font = match weight {
        Weight::Regular => &fonts.regular,
        Weight::SemiBold => &fonts.semibold,
    };
    surface.set_stroke(None);
    surface.set_fill(Some(fill(PRINT.text)));
    let start = Point::from_xy(pt(at.0), pt(at.1));
    surface.draw_glyphs(start, &glyphs, font.clone(), text, pt(size), false);
}

fn chart(surface: &mut Surface<'_>, fonts: &Fonts, scene: &Scene, shape: &Shape) {
    match shape {
        Shape::Bar {
            area,
            role,
            fill: pattern,
            outlined,
        } => {
            let (right, below) = (area.x + area.w, area.y + area.h);
            let corners = [
                (area.x, area.y),
                (right, area.y),
                (right, below),
                (area.x, below),
            ];
            let over = stroke(PRINT.over(*role), scene.stroke(), None);
            let edge = outlined.then(|| over.clone());
            paint(surface, closed(&corners), Some(fill(PRINT.of(*role))), edge);
            if *pattern != Pattern::Plain {
                let lines = chart::strokes(*area, *pattern, scene.pitch());
                paint(surface, path(&lines), None, Some(over));
            }
        }
        Shape::Figure { points, role } => {
            let edge = stroke(PRINT.text, scene.stroke(), None);
            let inside = role.map(|role| fill(PRINT.of(role)));
            paint(surface, closed(points), inside, Some(edge));
        }
        Shape::Line {
            from,
            to,
            role,
            dashed,
        } => {
            let dash = dashed.then(|| scene.dash());
            let edge = stroke(PRINT.of(*role), scene.stroke(), dash);
            paint(surface, path(&[(*from, *to)]), None, Some(edge));
        }
        Shape::Text { at, anchor, text } => {
            let wide = scene.wide(text);
            let x = match anchor {
                Anchor::Start => at.0,
                Anchor::Middle => at.0 - wide / 2.0,
                Anchor::End => at.0 - wide,
            };
            words(
                surface,
                fonts,
                Weight::SemiBold,
                (x, at.1),
                scene.text,
                text,
            );
        }
    }
}
