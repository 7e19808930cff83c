//! How long a debrief takes to be drawn: `charts [N]`, 200 records unless said otherwise.
//!
//! Invented records of three hours (2,250 lines), made one after another and not counted: CPU time from the
//! file's bytes to the strip and the bars as SVG, and from the same bytes to the PDF.

use bench::{Failure, Spread, cpu_us, record_of, tails};
use chart::{BarFrame, DAY_DARK, Order, StripFrame};
use debrief::Basis;
use sheet::Paper;
use words::Words;

const LINES: usize = 2_250;

fn main() -> Result<(), Failure> {
    let n = match std::env::args().nth(1) {
        Some(word) => word.parse()?,
        None => 200_u64,
    };
    let words = Words::load("en-US")?;
    let (mut drawn, mut written) = (Vec::new(), Vec::new());
    for run in 0..n {
        let bytes = record_of(run, LINES)?;
        let begun = cpu_us()?;
        let opened = record::open(&bytes)?;
        let course = debrief::course(&opened, Basis::Amended)?;
        let window = course.window.ok_or("the record has no window")?;
        if window.len().0 < 9_000_000 {
            return Err(format!("the record is {} ms long", window.len().0).into());
        }
        let frame = StripFrame {
            span: None,
            width: 1600.0,
            minute: None,
            text: 22.0,
        };
        let bars = BarFrame {
            order: Order::Longest,
            part: (0, usize::MAX),
            width: 390.0,
            text: 22.0,
        };
        let charts = [
            chart::strip(&course, &words, &frame),
            chart::bars(&course, &words, &bars),
        ];
        let long: usize = charts
            .iter()
            .map(|scene| scene.svg(&DAY_DARK, "sans-serif", "px").len())
            .sum();
        let done = cpu_us()?;
        if long < 10_000 {
            return Err(format!("the charts hold {long} bytes").into());
        }
        drawn.push((done - begun) / 1000.0);
        let begun = cpu_us()?;
        let opened = record::open(&bytes)?;
        sheet::pdf(&opened, Basis::Amended, &words, Paper::A4)?;
        written.push((cpu_us()? - begun) / 1000.0);
    }
    tails(
        "charts, a record of three hours to strip and bars as SVG, CPU time",
        "ms",
        &Spread::of(drawn),
    );
    tails(
        "charts, a record of three hours to the debrief as PDF, CPU time",
        "ms",
        &Spread::of(written),
    );
    Ok(())
}
