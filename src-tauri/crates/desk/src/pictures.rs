//! The debrief as pictures, words and a printed page.

use chart::{BarFrame, Order, PRINT, StripFrame, Told, bars_told, strip_told};
use debrief::{Basis, Course, course};
use record::Opened;
use sheet::Paper;
use words::Words;

use crate::measures::Faults;

/// The family that a picture names; where it is missing another takes its place.
pub(crate) const FAMILY: &str = "Source Sans 3, sans-serif";

/// The paper that was asked for; A4 unless another was.
pub(crate) fn page(to: &str, asked: Option<&str>) -> Result<Paper, Faults> {
    let Some(asked) = asked else {
        return Ok(Paper::A4);
    };
    let allowed = Paper::ALL.map(Paper::word).join(", ");
    if to != "pdf" {
        return Err(vec![format!(
            "--paper {asked} with --to {to}, allowed: with --to pdf"
        )]);
    }
    let mut papers = Paper::ALL.into_iter();
    papers
        .find(|paper| paper.word() == asked)
        .ok_or_else(|| vec![format!("--paper {asked}, allowed: {allowed}")])
}

/// The course of a run, to be drawn.
pub(crate) fn drawn(path: &str, opened: &Opened, basis: Basis) -> Result<Course, Faults> {
    course(opened, basis).map_err(|e| vec![format!("{path}: {e}")])
}

/// The strip as a picture.
pub(crate) fn picture(drawn: &Course, words: &Words) -> String {
    let frame = StripFrame::paper(drawn, words);
    chart::strip(drawn, words, &frame).svg(&PRINT, FAMILY, "mm")
}

/// The strip, the pauses as bars, and both in words.
pub(crate) fn strip(drawn: &Course, words: &Words) -> Vec<(String, String)> {
    let bars = chart::bars(
        drawn,
        words,
        &BarFrame {
            order: Order::Time,
            part: (0, usize::MAX),
            width: 190.0,
            text: 3.2,
        },
    );
    let said = [strip_told(drawn, words), bars_told(drawn, words)];
    [
        ("strip.svg", picture(drawn, words)),
        ("pauses.svg", bars.svg(&PRINT, FAMILY, "mm")),
        ("strip.txt", said.map(|told| lines(&told)).concat()),
    ]
    .map(|(name, text)| (name.to_owned(), text))
    .to_vec()
}

/// A chart in words: its title, its sentence, and a line for each row.
fn lines(told: &Told) -> String {
    let rows = told.rows.iter().map(|row| {
        let cells: Vec<&str> = row.iter().map(String::as_str).collect();
        let cells = cells.into_iter().filter(|cell| !cell.is_empty());
        cells.collect::<Vec<_>>().join(", ")
    });
    let mut all = vec![told.title.clone(), told.sentence.clone()];
    all.extend(rows);
    all.join("\n") + "\n"
}
