//! No text leaves its page or lies over another, whatever stands in the record.
#![expect(
    clippy::arithmetic_side_effects,
    reason = "small numbers of the tests; an overflow fails the test"
)]

#[path = "../../debrief/src/tests/make.rs"]
mod make;

use chart::{Area, Weight, face};
use debrief::{Basis, course, measures};
use make::{CaseLine, protocol, record};
use proptest::prelude::*;
use record::Opened;
use serde_json::json;
use words::{DrillSheet, DrillWord, Words};

use crate::{
    Paper, content, drill,
    flow::{Document, Drawn},
    lines::{broken, widths},
    pdf,
    tags::{Node, Tag},
};

#[derive(serde::Deserialize)]
struct Case {
    lines: Vec<CaseLine>,
}

fn words() -> Words {
    Words::load("en-US").unwrap()
}

fn worked() -> Vec<Vec<u8>> {
    let cases = include_str!("../../debrief/worked/cases.json");
    let cases: Vec<Case> = serde_json::from_str(cases).unwrap();
    let records = cases
        .iter()
        .map(|case| record(&case.lines, &protocol(None)));
    records.collect()
}

/// Three hours with a pause in each minute, long names and every table.
fn long() -> Vec<u8> {
    let name = "a drug whose name nobody could say in one breath, nor write on one line of a page";
    let mut lines = vec![CaseLine::Line(
        0.0,
        "compr_start".into(),
        json!({"by": "manual"}),
    )];
    for minute in 0..180_u32 {
        let at = 60.0 * f64::from(minute);
        let mut line = |s: f64, ev: &str, d| lines.push(CaseLine::Line(at + s, ev.into(), d));
        line(30.0, "compr_stop", json!({"reason": "device_fault"}));
        line(33.0, "shock", json!({"timed": true, "by": "us"}));
        line(41.0, "compr_start", json!({"by": "manual"}));
        line(45.0, "drug", json!({"drug": name}));
        line(
            50.0,
            "drug",
            json!({"drug": format!("{}{}", "x".repeat(300), minute % 40)}),
        );
    }
    lines.push(CaseLine::Line(
        10_800.0,
        "end".into(),
        json!({"outcome": "stopped"}),
    ));
    record(&lines, &protocol(None))
}

fn laid_out(opened: &Opened, basis: Basis, paper: Paper) -> Document {
    let (m, c) = (
        measures(opened, basis).unwrap(),
        course(opened, basis).unwrap(),
    );
    content::document(opened, &m, &c, &words(), paper)
}

/// The rectangles of a page's texts.
fn texts(document: &Document, page: usize) -> Vec<(Area, String)> {
    let mut all = Vec::new();
    for drawn in document.pages[page].iter().flat_map(|piece| &piece.drawn) {
        match drawn {
            Drawn::Text {
                at,
                size,
                weight,
                text,
            } => all.push((
                Area {
                    x: at.0,
                    y: at.1 - 0.75 * size,
                    w: face(*weight).width(text.trim_end(), *size),
                    h: *size,
                },
                text.clone(),
            )),
            Drawn::Chart { at, scale, scene } => {
                all.extend(scene.text_areas().into_iter().map(|(area, text)| {
                    let placed = Area {
                        x: at.0 + area.x * scale,
                        y: at.1 + area.y * scale,
                        w: area.w * scale,
                        h: area.h * scale,
                    };
                    (placed, text.to_owned())
                }));
            }
            Drawn::Rule { .. } => {}
        }
    }
    all
}

fn can_be_read(document: &Document, paper: Paper) {
    let (width, height) = paper.size();
    for page in 0..document.pages.len() {
        let all = texts(document, page);
        for (n, (area, text)) in all.iter().enumerate() {
            assert!(
                area.x >= 28.0
                    && area.y >= 28.0
                    && area.x + area.w <= width - 28.0
                    && area.y + area.h <= height - 16.0,
                "page {page}: {text:?} at {area:?}"
            );
            let over = all
                .iter()
                .skip(n + 1)
                .find(|(other, _)| other.overlaps(area));
            assert!(
                over.is_none(),
                "page {page}: {text:?} {area:?} and {over:?}"
            );
        }
    }
}

#[test]
fn no_text_leaves_its_page_or_lies_over_another() {
    let mut records = worked();
    records.push(long());
    for bytes in records {
        let opened = record::open(&bytes).unwrap();
        for paper in Paper::ALL {
            for basis in [Basis::Recorded, Basis::Amended] {
                can_be_read(&laid_out(&opened, basis, paper), paper);
            }
        }
    }
}

#[test]
fn a_long_run_has_all_its_rows_and_the_names_of_its_columns_on_each_page() {
    let opened = record::open(&long()).unwrap();
    let document = laid_out(&opened, Basis::Amended, Paper::A4);
    assert!(document.pages.len() > 10);
    let rows = |node: &Node| match node {
        Node::Part(Tag::Table, rows) => rows.len(),
        Node::Part(..) | Node::Leaf(_) => 0,
    };
    let tables: Vec<usize> = document.nodes.iter().map(rows).filter(|n| *n > 0).collect();
    // Each with the row of its columns' names: the run, fractions, longest, pauses, shocks, checks, drugs.
    assert_eq!(tables, [14, 12, 4, 181, 181, 181, 42]);
    let with_reason = (0..document.pages.len()).filter(|page| {
        let all = texts(&document, *page);
        let has = |what: &str| all.iter().any(|(_, text)| text.trim_end() == what);
        has("device stopped") && !has("Reason")
    });
    assert_eq!(with_reason.count(), 0);
}

#[test]
fn the_file_keeps_the_rules_of_tagged_pdf_and_is_the_same_each_time() {
    let mut records = worked().split_off(4);
    records.push(long());
    for (n, bytes) in records.iter().enumerate() {
        let opened = record::open(bytes).unwrap();
        for paper in Paper::ALL.into_iter().skip(n % 2) {
            let one = pdf(&opened, Basis::Amended, &words(), paper).unwrap();
            let other = pdf(&opened, Basis::Amended, &words(), paper).unwrap();
            assert!(one.starts_with(b"%PDF-1.7"));
            assert!(one == other);
        }
    }
}

fn drilled(notes: usize) -> DrillSheet {
    let table = |title: &str| words::Table {
        title: title.to_owned(),
        columns: vec!["one".to_owned(), "two".to_owned()],
        rows: vec![vec!["a".to_owned(), "b".to_owned()]; 3],
        none: None,
    };
    DrillSheet {
        title: "an invented drill".to_owned(),
        notice: "no patient".to_owned(),
        lines: vec!["points".to_owned()],
        marks: table("marks"),
        measures: table("measured"),
        yardsticks: vec![],
        notes: vec!["a note".to_owned(); notes],
    }
}

#[test]
fn a_drills_sheet_says_when_and_whose_and_its_lines_stand_together_with_what_is_signed() {
    let words = words();
    let held = "2026-11-30 18:23 \u{b7} Crew B";
    let title = words.drill(DrillWord::SignTitle, &[]);
    let mut whole_pages = 0;
    // From a page with room to spare to one that the text fills, and over it.
    for notes in 0..60 {
        for paper in Paper::ALL {
            let document = drill::document(&drilled(notes), held, "0123", &words, paper);
            can_be_read(&document, paper);
            let pages: Vec<Vec<String>> = (0..document.pages.len())
                .map(|page| {
                    texts(&document, page)
                        .into_iter()
                        .map(|(_, text)| text)
                        .collect()
                })
                .collect();
            let at = |what: &str| pages[0].iter().position(|text| text.trim_end() == what);
            assert!(at("an invented drill") < at(held) && at(held) < at("no patient"));
            let signed = |page: &Vec<String>| {
                page.iter().filter(|text| text.starts_with("____")).count() / 2
            };
            let with: Vec<usize> = pages
                .iter()
                .map(signed)
                .filter(|lines| *lines > 0)
                .collect();
            // All on one page, under their heading; a page of their own only where there is no room for four.
            assert_eq!(with.len(), 1, "{notes} notes: {with:?}");
            assert!((4..=8).contains(&with[0]), "{notes} notes: {with:?}");
            let last = pages.last().unwrap();
            assert!(signed(last) > 0 && last.iter().any(|text| text.trim_end() == title));
            whole_pages += usize::from(pages.len() == 1 && with[0] < 8);
        }
    }
    assert!(whole_pages > 4, "{whole_pages}");
}

#[test]
fn columns_shrink_towards_their_widest_words_and_no_further_than_they_must() {
    assert_eq!(widths(&[(10.0, 20.0), (10.0, 30.0)], 60.0), [20.0, 30.0]);
    assert_eq!(widths(&[(10.0, 20.0), (10.0, 30.0)], 35.0), [15.0, 20.0]);
    assert_eq!(widths(&[(30.0, 40.0), (10.0, 30.0)], 20.0), [15.0, 5.0]);
    // The long text alone shrinks; but not where a word of it would be broken.
    assert_eq!(widths(&[(10.0, 20.0), (10.0, 100.0)], 60.0), [20.0, 40.0]);
    assert_eq!(widths(&[(5.0, 20.0), (50.0, 60.0)], 60.0), [8.0, 52.0]);
    assert!(widths(&[], 60.0).is_empty());
}

proptest! {
    #[test]
    fn lines_hold_the_whole_text_and_none_is_too_wide(
        text in "[ -~é–]{0,120}",
        width in 20.0_f64..300.0,
    ) {
        let face = face(Weight::Regular);
        let lines = broken(face, &text, 9.0, width);
        let all = |text: &str| text.split_whitespace().collect::<String>();
        prop_assert_eq!(all(&lines.concat()), all(&text));
        for line in &lines {
            prop_assert!(face.width(line, 9.0) <= width + 0.02 || line.chars().count() == 1);
        }
    }
}
