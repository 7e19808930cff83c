//! The strip of a run: what was done in lanes over the minutes, and each pause as a bar against 5 and 10 s.
//!
//! Ink on white, a pattern beside every tone, so that a black print carries all of it. Text is 3.2 mm
//! (9 pt) and no line is thinner than 0.2 mm (0.5 pt). The same is told in plain text.

use std::fmt::Write as _;

use cycle::{
    Mark, Ms,
    mark::{AirMark, By, CareMark, CheckMark},
};
use record::Opened;

use crate::{
    Basis, Fault, PauseRow,
    measures::{Taken, taken, with_run},
    pauses::pauses,
    rows::word,
    run::Run,
    spans::{Doing, Span},
    table::{basis as basis_text, reason, whole},
    text::clock,
};

/// The strip and the same in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Strip {
    /// An SVG document, millimetres.
    pub svg: String,
    /// What it shows, line by line, in order of time.
    pub text: String,
}

/// Room for the lanes' names, mm.
const LEFT: f64 = 30.0;
const LANE: f64 = 9.0;
const TOP: f64 = 14.0;
/// Length of a second in the ladder of pauses, mm.
const SECOND: f64 = 2.0;
/// A bar ends here; its figure says how long the pause was.
const LONGEST_BAR: Ms = Ms(75_000);
const BAR: f64 = 5.0;
const LANES: [&str; 6] = [
    "Compressions",
    "Off, s",
    "Breaths",
    "Device",
    "Shocks",
    "Drugs",
];
const LEGEND: [(&str, &str); 4] = [
    ("#555", "by hand"),
    ("url(#strip-device)", "by device"),
    ("url(#strip-pulse)", "circulation"),
    ("url(#strip-unknown)", "not known"),
];

/// Draws the strip of a record.
///
/// # Errors
/// See [`crate::measures()`].
pub fn strip(opened: &Opened, basis: Basis) -> Result<Strip, Fault> {
    let taken = taken(opened, basis);
    with_run(opened, basis, |run| {
        let drawing = Drawing::new(run);
        Strip {
            svg: drawing.svg(taken),
            text: drawing.text(taken),
        }
    })
}

/// A mark on a lane.
struct Tick {
    at: Ms,
    what: String,
}

struct Drawing<'r> {
    run: &'r Run<'r>,
    from: Ms,
    to: Ms,
    /// Length of a minute, mm.
    minute: f64,
    breaths: Vec<Tick>,
    shocks: Vec<Tick>,
    drugs: Vec<Tick>,
    pauses: Vec<PauseRow>,
}

impl<'r> Drawing<'r> {
    fn new(run: &'r Run<'r>) -> Self {
        let (from, to) = run.ends().unwrap_or_default();
        let short = to.since(from) < Ms(20 * 60_000);
        let mut all = Self {
            run,
            from,
            to,
            minute: if short { 9.0 } else { 3.0 },
            breaths: Vec::new(),
            shocks: Vec::new(),
            drugs: Vec::new(),
            pauses: pauses(run).rows,
        };
        for (at, mark) in run.marks().filter(|(at, _)| run.is_in_window(*at)) {
            match mark {
                Mark::Air(AirMark::Vent { n, .. }) => all.breaths.push(Tick {
                    at,
                    what: n.to_string(),
                }),
                Mark::Check(CheckMark::Shock { timed, .. }) => all.shocks.push(Tick {
                    at,
                    what: if *timed { "shock" } else { "shock, untimed" }.to_owned(),
                }),
                Mark::Care(CareMark::Drug {
                    drug, prior: false, ..
                }) => {
                    let p = run.protocol(run.header.patient_class);
                    let name = p.map_or_else(|| drug.clone(), |p| p.drug_name(drug));
                    all.drugs.push(Tick { at, what: name });
                }
                Mark::Air(_)
                | Mark::Check(_)
                | Mark::Care(_)
                | Mark::Run(_)
                | Mark::Flow(_)
                | Mark::Device(_) => {}
            }
        }
        all
    }

    fn spans(&self) -> impl Iterator<Item = Span> + '_ {
        self.run.spans.iter().filter_map(|span| {
            let (from, to) = (span.from.max(self.from), span.to.min(self.to));
            (from < to).then(|| Span {
                from,
                to,
                ..span.clone()
            })
        })
    }

    fn x(&self, at: Ms) -> f64 {
        LEFT + self.minute * crate::number::number(at.since(self.from)) / 60_000.0
    }

    fn svg(&self, taken: Taken) -> String {
        let lanes_end = TOP + LANE * crate::number::count(LANES.len());
        let ladder = lanes_end + 20.0;
        let rows = crate::number::count(self.pauses.len().max(1));
        let height = ladder + rows * (BAR + 1.0) + 8.0;
        let bar_room = SECOND * crate::number::number(LONGEST_BAR) / 1000.0;
        let width = (self.x(self.to) + 10.0).max(LEFT + bar_room + 50.0);
        let mut out = Svg(String::new());
        out.put(&format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" \
             aria-labelledby=\"strip-title\" width=\"{width:.1}mm\" height=\"{height:.1}mm\" \
             viewBox=\"0 0 {width:.1} {height:.1}\" font-family=\"sans-serif\" font-size=\"3.2\" \
             fill=\"#000\" stroke-width=\"0.2\">"
        ));
        let title = format!(
            "Strip of run {}, {}, by marks, +/- 1 s",
            self.run.header.record_id,
            basis_text(taken)
        );
        out.put(&format!(
            "<title id=\"strip-title\">{}</title>",
            escaped(&title)
        ));
        out.put(PATTERNS);
        out.put("<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>");
        out.text(1.0, 4.5, "start", &title);
        self.axis(&mut out, lanes_end);
        self.states(&mut out);
        self.ticks(&mut out, 2.0, &self.breaths, false);
        self.ticks(&mut out, 4.0, &self.shocks, false);
        self.ticks(&mut out, 5.0, &self.drugs, true);
        for (n, (fill, name)) in (0_u32..).zip(LEGEND) {
            let x = LEFT + 28.0 * f64::from(n);
            out.bar((x, lanes_end + 2.5), (5.0, 3.0), fill);
            out.text(x + 6.5, lanes_end + 5.2, "start", name);
        }
        self.ladder(&mut out, ladder);
        out.put("</svg>");
        out.0
    }

    fn axis(&self, out: &mut Svg, bottom: f64) {
        for (n, name) in (0_u32..).zip(LANES) {
            let y = TOP + LANE * f64::from(n);
            out.text(1.0, y + LANE / 2.0 + 1.0, "start", name);
            out.line((LEFT, y + LANE), (self.x(self.to), y + LANE), "");
        }
        let every: u32 = if self.minute > 5.0 { 1 } else { 5 };
        let mut minute: u32 = 0;
        loop {
            let at = self.from.plus(Ms::secs(minute.saturating_mul(60)));
            if at > self.to {
                break;
            }
            let x = self.x(at);
            out.line((x, TOP), (x, bottom), " stroke-dasharray=\"0.4 1.2\"");
            out.text(x, TOP - 2.0, "middle", &minute.to_string());
            minute = minute.saturating_add(every);
        }
        out.text(LEFT - 4.0, TOP - 2.0, "end", "min");
    }

    /// The compression lane, below it each gap's seconds, and the device's lane.
    fn states(&self, out: &mut Svg) {
        // Gaps close together have their figures on two levels.
        let mut low = false;
        for span in self.spans() {
            let (x, y) = (self.x(span.from), TOP + 1.5);
            let wide = self.x(span.to) - x;
            let fill = match span.doing {
                Doing::Compressing(By::Manual) => "#555",
                Doing::Compressing(By::Mechanical) => "url(#strip-device)",
                Doing::Circulation => "url(#strip-pulse)",
                Doing::Unknown | Doing::Ended => "url(#strip-unknown)",
                Doing::HandsOff => {
                    let level = if low { 7.8 } else { 4.0 };
                    low = !low;
                    let s = whole(span.len()).to_string();
                    out.text(x + wide / 2.0, TOP + LANE + level, "middle", &s);
                    continue;
                }
            };
            out.bar((x, y), (wide, LANE - 3.0), fill);
            if span.doing == Doing::Compressing(By::Mechanical) {
                out.bar((x, y + 3.0 * LANE), (wide, LANE - 3.0), fill);
            }
        }
    }

    fn ticks(&self, out: &mut Svg, lane: f64, ticks: &[Tick], named: bool) {
        let y = TOP + LANE * lane;
        for tick in ticks {
            let x = self.x(tick.at);
            out.put(&format!("<g><title>{}</title>", escaped(&told(tick))));
            out.put(&format!(
                "<path d=\"M{x:.2} {:.2}l-1.2 {:.2}h2.4z\" stroke=\"#000\"/>",
                y + 1.0,
                LANE - 5.0
            ));
            if named {
                let first: String = tick.what.chars().take(3).collect();
                out.text(x, y + LANE - 0.8, "middle", &first);
            }
            out.put("</g>");
        }
    }

    fn ladder(&self, out: &mut Svg, top: f64) {
        out.text(1.0, top - 5.0, "start", "Pauses, s");
        let bottom = top + crate::number::count(self.pauses.len()) * (BAR + 1.0);
        for s in [5.0, 10.0] {
            let x = LEFT + s * SECOND;
            out.line((x, top - 1.5), (x, bottom), "");
            out.text(x, top - 2.5, "middle", &format!("{s:.0}"));
        }
        for (n, row) in (0_u32..).zip(&self.pauses) {
            let y = top + f64::from(n) * (BAR + 1.0);
            let shown = row.ms.min(LONGEST_BAR);
            let wide = SECOND * crate::number::number(shown) / 1000.0;
            out.text(
                1.0,
                y + BAR - 1.2,
                "start",
                &clock(row.from_ms.since(self.from)),
            );
            out.bar((LEFT, y), (wide, BAR), "url(#strip-pause)");
            let text = format!("{} {}", whole(row.ms), reason(row.reason));
            out.text(LEFT + wide + 1.5, y + BAR - 1.2, "start", &text);
        }
        if self.pauses.is_empty() {
            out.text(LEFT, top + BAR - 1.2, "start", "none");
        }
    }

    fn text(&self, taken: Taken) -> String {
        let mut out = format!(
            "Strip of run {}, {}, by marks, +/- 1 s. Minutes and seconds from the beginning of the \
             window.\n",
            self.run.header.record_id,
            basis_text(taken)
        );
        let mut lines: Vec<(Ms, String)> = Vec::new();
        for span in self.spans() {
            let s = whole(span.len());
            lines.push((
                span.from,
                match span.doing {
                    Doing::Compressing(By::Manual) => format!("compressions by hand, {s} s"),
                    Doing::Compressing(By::Mechanical) => {
                        format!("compressions by device, {s} s")
                    }
                    Doing::HandsOff if span.reasons.is_empty() => format!("hands off, {s} s"),
                    Doing::HandsOff => format!("hands off, {s} s, {}", reason(span.reason())),
                    Doing::Circulation => format!("circulation, {s} s"),
                    Doing::Unknown | Doing::Ended => format!("not known, {s} s"),
                },
            ));
        }
        let of = |ticks: &[Tick], before: &str| {
            let named = ticks.iter();
            named
                .map(|tick| (tick.at, format!("{before}{}", tick.what)))
                .collect::<Vec<_>>()
        };
        lines.extend(of(&self.breaths, "breaths given: "));
        lines.extend(of(&self.shocks, ""));
        lines.extend(of(&self.drugs, "dose: "));
        lines.sort_by_key(|(at, _)| *at);
        for (at, line) in lines {
            let _never = writeln!(out, "{} {line}", clock(at.since(self.from)));
        }
        for row in &self.pauses {
            let bound = if row.ms > Ms(10_000) {
                "above 10 s"
            } else if row.ms > Ms(5_000) {
                "above 5 s"
            } else {
                "5 s or less"
            };
            let _never = writeln!(
                out,
                "pause at {}: {} s, {bound}, {}, ended by {}",
                clock(row.from_ms.since(self.from)),
                whole(row.ms),
                reason(row.reason),
                word(row.ended_by)
            );
        }
        out
    }
}

fn told(tick: &Tick) -> String {
    format!("{} {}", clock(tick.at), tick.what)
}

/// Text for between tags and in attributes.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

struct Svg(String);

impl Svg {
    fn put(&mut self, text: &str) {
        self.0.push_str(text);
        self.0.push('\n');
    }

    fn text(&mut self, x: f64, y: f64, anchor: &str, text: &str) {
        self.put(&format!(
            "<text x=\"{x:.2}\" y=\"{y:.2}\" text-anchor=\"{anchor}\" \
             stroke=\"#fff\" stroke-width=\"0.6\" paint-order=\"stroke\">{}</text>",
            escaped(text)
        ));
    }

    fn line(&mut self, (x1, y1): (f64, f64), (x2, y2): (f64, f64), more: &str) {
        self.put(&format!(
            "<path d=\"M{x1:.2} {y1:.2}L{x2:.2} {y2:.2}\" stroke=\"#000\"{more}/>"
        ));
    }

    fn bar(&mut self, (x, y): (f64, f64), (wide, high): (f64, f64), fill: &str) {
        self.put(&format!(
            "<rect x=\"{x:.2}\" y=\"{y:.2}\" width=\"{wide:.2}\" height=\"{high:.2}\" \
             fill=\"{fill}\" stroke=\"#000\"/>"
        ));
    }
}

const PATTERNS: &str = "<defs>\
<pattern id=\"strip-device\" width=\"1.6\" height=\"1.6\" patternUnits=\"userSpaceOnUse\">\
<rect width=\"1.6\" height=\"1.6\" fill=\"#fff\"/><path d=\"M0 1.6L1.6 0\" stroke=\"#000\" stroke-width=\"0.5\"/>\
</pattern>\
<pattern id=\"strip-pulse\" width=\"2\" height=\"2\" patternUnits=\"userSpaceOnUse\">\
<rect width=\"2\" height=\"2\" fill=\"#fff\"/><circle cx=\"1\" cy=\"1\" r=\"0.35\"/>\
</pattern>\
<pattern id=\"strip-unknown\" width=\"2\" height=\"2\" patternUnits=\"userSpaceOnUse\">\
<rect width=\"2\" height=\"2\" fill=\"#fff\"/><path d=\"M0 0L2 2M0 2L2 0\" stroke=\"#000\" stroke-width=\"0.2\"/>\
</pattern>\
<pattern id=\"strip-pause\" width=\"1\" height=\"1\" patternUnits=\"userSpaceOnUse\">\
<rect width=\"1\" height=\"1\" fill=\"#fff\"/><path d=\"M0.5 0V1\" stroke=\"#000\" stroke-width=\"0.3\"/>\
</pattern>\
</defs>";
