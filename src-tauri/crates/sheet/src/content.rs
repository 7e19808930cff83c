//! What the debrief says, in order: what it is, how far it can be trusted, the pauses, the strip, the tables.

use chart::{BarFrame, Order, Scene, StripFrame, bars, clock, strip};
use cycle::Ms;
use debrief::{BeginsBy, Course, EndsBy, Fraction, Measures, Of, PauseRow, Taken, Window};
use record::{Answer, Opened, RunKind};
use words::{SheetWord as W, Words};

use crate::{
    Paper,
    flow::{Document, Flow, Grid, MM},
    tables::{Say, all, pauses},
};

/// The size of a chart's text, mm: 9 points.
const CHART_TEXT: f64 = 3.175;
/// Bars on one page, and on all of them.
const BARS_A_PART: usize = 36;
const MOST_BARS: usize = 72;
/// The strip's minute, mm: the wider below this many minutes.
const WIDE: f64 = 9.0;
const NARROW: f64 = 3.0;
const WIDE_BELOW: Ms = Ms(60 * 60_000);

/// The pages.
pub(crate) fn document(
    opened: &Opened,
    m: &Measures,
    course: &Course,
    words: &Words,
    paper: Paper,
) -> Document {
    let say = Say {
        words,
        zero: m.windows.recognition.map_or(Ms::ZERO, |w| w.from_ms),
    };
    let kind = kind(m.kind);
    let basis = basis(m.basis, words);
    let title = words.sheet_with(W::TitleOf, &[&say.word(kind)]);
    let mut flow = Flow::new(paper);
    flow.title(&words.sheet_with(W::Pair, &[&title, &basis]));
    flow.paragraph(&say.word(W::Notice));
    flow.heading(&say.word(W::HeadRun), 60.0);
    flow.table(&head(opened, m, &say));
    flow.paragraph(&say.word(W::Precision));
    trust(&mut flow, m, &say);
    longest(&mut flow, m, &say);
    strips(&mut flow, course, &say);
    ladder(&mut flow, course, &say);
    for listed in all(&say, m, course) {
        flow.heading(&say.word(listed.name), 60.0);
        if listed.grid.rows.is_empty() {
            flow.paragraph(&say.word(listed.empty));
        } else {
            flow.table(&listed.grid);
        }
    }
    let verdict = verdict(opened, words);
    let fingerprint = words.sheet_with(
        W::FingerprintOf,
        &[&record::fingerprint(opened).to_string()],
    );
    let title = words.sheet_with(W::Pair, &[&title, &basis]);
    flow.finish(title, |page, of| {
        let page = words.sheet_with(W::PageOf, &[&page.to_string(), &of.to_string()]);
        [
            fingerprint.clone(),
            words.sheet_with(W::FootLine, &[&verdict, &basis, &page]),
        ]
    })
}

const fn kind(kind: RunKind) -> W {
    match kind {
        RunKind::Run => W::KindRun,
        RunKind::Drill => W::KindDrill,
        RunKind::Rehearsal => W::KindRehearsal,
        RunKind::Test => W::KindTest,
    }
}

pub(crate) fn basis(taken: Taken, words: &Words) -> String {
    match taken {
        Taken::Recorded => words.sheet(W::AsRecorded),
        Taken::Amended {
            revision,
            unsealed: 0,
        } => words.sheet_with(W::AsAmended, &[&revision.to_string()]),
        Taken::Amended { revision, unsealed } => words.sheet_with(
            W::AsAmendedUnsealed,
            &[&revision.to_string(), &unsealed.to_string()],
        ),
    }
}

/// Whether the file is whole, and which seal is its last.
pub(crate) fn verdict(opened: &Opened, words: &Words) -> String {
    if !opened.is_sound() || opened.broken_at.is_some() {
        return words.sheet(W::Broken);
    }
    match opened.seals.last() {
        Some((seal, _)) => {
            let word = if opened.sealed {
                W::Sealed
            } else {
                W::SealedLater
            };
            words.sheet_with(word, &[&seal.rev.to_string()])
        }
        None => words.sheet(W::Unsealed),
    }
}

/// A wall clock's time without its thousandths: `2026-01-01 08:00:00 +00:00`.
fn to_the_second(wall: &str) -> String {
    let (day, time) = wall.split_once('T').unwrap_or((wall, ""));
    let zone = time.find(['+', '-', 'Z']).unwrap_or(time.len());
    let (time, zone) = time.split_at(zone);
    let time = time.split('.').next().unwrap_or_default();
    format!("{day} {time} {zone}")
}

/// The run, without anything of the patient but the class whose numbers were used.
fn head(opened: &Opened, m: &Measures, say: &Say<'_>) -> Grid {
    let words = say.words;
    let header = &opened.header;
    let unknown = || say.word(W::NotKnown);
    let window = m.windows.recognition;
    let mut rows = vec![
        (W::HeadRecord, m.record_id.clone()),
        (W::HeadKind, say.word(kind(m.kind))),
        (
            W::HeadBegan,
            debrief::began(opened).map_or_else(unknown, |wall| to_the_second(&wall.to_string())),
        ),
        (
            W::HeadWindow,
            window.map_or_else(unknown, |w| {
                words.sheet_with(W::FromTo, &[&clock(w.from_ms), &clock(w.to_ms)])
            }),
        ),
        (
            W::HeadBegins,
            m.windows.begins_by.map_or_else(unknown, |by| {
                say.word(match by {
                    BeginsBy::Recognised => W::BeginsRecognised,
                    BeginsBy::Witnessed => W::BeginsWitnessed,
                    BeginsBy::Compression => W::BeginsCompression,
                    BeginsBy::Takeover => W::BeginsTakeover,
                })
            }),
        ),
        (
            W::HeadEnds,
            say.word(match m.windows.ends_by {
                EndsBy::Stopped => W::EndsStopped,
                EndsBy::HandedOver => W::EndsHandedOver,
                EndsBy::Circulation => W::EndsCirculation,
                EndsBy::NoArrest => W::EndsNoArrest,
                EndsBy::Gap => W::EndsGap,
                EndsBy::LastLine => W::EndsLastLine,
            }),
        ),
        (
            W::HeadSaw,
            say.word(match m.windows.ems_witnessed {
                Answer::Yes => W::Yes,
                Answer::No => W::No,
                Answer::Unknown => W::NotKnown,
            }),
        ),
        (W::HeadClass, words.class(header.patient_class)),
        (
            W::HeadCrew,
            if header.crew_size == 0 {
                unknown()
            } else {
                header.crew_size.to_string()
            },
        ),
        (
            W::HeadProtocol,
            m.protocol
                .as_ref()
                .map_or_else(unknown, |p| format!("{} {}", p.id, p.version)),
        ),
        (
            W::HeadRate,
            m.protocol.as_ref().map_or_else(unknown, |p| {
                words.sheet_with(W::RateValue, &[&p.set_rate_per_min.to_string()])
            }),
        ),
        (W::HeadVersion, m.version.to_owned()),
    ];
    if let Some(unit) = &header.unit_code {
        rows.push((W::HeadUnit, unit.clone()));
    }
    Grid {
        columns: vec![say.word(W::What), say.word(W::Value)],
        rows: rows
            .into_iter()
            .map(|(name, value)| vec![say.word(name), value])
            .collect(),
    }
}

/// How far the marks go.
pub(crate) fn trust_line(m: &Measures, say: &Say<'_>) -> Option<String> {
    let trust = m.trust.as_ref()?;
    let checks = say.words.sheet_with(
        W::Measured,
        &[
            &trust.of.checks_marked.to_string(),
            &trust.of.checks_due.to_string(),
        ],
    );
    let unknown = say.span(trust.of.unknown_ms);
    Some(say.words.sheet_with(
        W::TrustLine,
        &[&checks, &unknown, &say.share(trust.of.coverage)],
    ))
}

/// The trust line, then the fractions, each with its window.
fn trust(flow: &mut Flow, m: &Measures, say: &Say<'_>) {
    let Some(line) = trust_line(m, say) else {
        flow.heading(&say.word(W::TrustHead), 20.0);
        flow.paragraph(&say.word(W::NoWindow));
        return;
    };
    flow.heading(&say.word(W::FractionsHead), 80.0);
    flow.paragraph(&line);
    flow.table(&fractions(m, say));
}

fn fraction(rows: &mut Vec<[String; 3]>, of: Option<&Of<Fraction>>, window: W, say: &Say<'_>) {
    let Some(of) = of else { return };
    let value = say.share(of.of.value);
    let value = if of.of.upper_bound {
        say.words.sheet_with(W::AtMost, &[&value])
    } else {
        value
    };
    let value = match of.of.below_floor {
        Some(true) => say.words.sheet_with(W::BelowFloor, &[&value]),
        Some(false) | None => value,
    };
    rows.push([say.word(W::Fraction), value, say.word(window)]);
    if of.of.upper_bound {
        let modelled = say.share(of.of.modelled);
        rows.push([say.word(W::FractionModelled), modelled, say.word(window)]);
    }
}

pub(crate) fn fractions(m: &Measures, say: &Say<'_>) -> Grid {
    let mut rows: Vec<[String; 3]> = Vec::new();
    fraction(&mut rows, m.fraction.as_ref(), W::WindowRecognition, say);
    let from_compression = m.fraction_from_compression.as_ref();
    fraction(&mut rows, from_compression, W::WindowCompression, say);
    let whole = || say.word(W::WindowRecognition);
    if let Some(after) = &m.after_five_minutes {
        rows.push([
            say.word(W::AfterFive),
            say.share(after.of.fraction),
            say.word(W::WindowAfterFive),
        ]);
    }
    if let Some(of) = &m.fraction {
        let value = say.share(of.of.of_whole_window);
        rows.push([say.word(W::OfWhole), value, whole()]);
    }
    if let Some(time) = &m.time {
        for (name, ms) in [
            (W::TimeOn, time.of.compressing_ms),
            (W::TimeOff, time.of.hands_off_ms),
            (W::TimePulse, time.of.circulation_ms),
            (W::TimeUnknown, time.of.unknown_ms),
        ] {
            rows.push([say.word(name), clock(ms), whole()]);
        }
    }
    if let Some(off) = &m.no_flow {
        let span = clock(off.of.without_ventilation_ms);
        rows.push([say.word(W::TimeOffNoBreaths), span, whole()]);
    }
    Grid {
        columns: vec![
            say.word(W::Measure),
            say.word(W::Value),
            say.word(W::Window),
        ],
        rows: rows.into_iter().map(Vec::from).collect(),
    }
}

fn longest(flow: &mut Flow, m: &Measures, say: &Say<'_>) {
    let all = &m.pauses.of;
    flow.heading(&say.word(W::LongestHead), 70.0);
    if all.rows.is_empty() {
        flow.paragraph(&say.word(W::EmptyPauses));
        return;
    }
    flow.paragraph(&say.words.sheet_with(
        W::PausesLine,
        &[
            &all.count.to_string(),
            &chart::seconds(all.min_ms).to_string(),
            &all.over_10_s.to_string(),
        ],
    ));
    let mut rows: Vec<&PauseRow> = all.rows.iter().collect();
    rows.sort_by_key(|row| std::cmp::Reverse(row.ms));
    flow.table(&pauses(say, rows.into_iter().take(3)));
}

/// The strip in parts of one scale, each as long as the page is wide.
fn strips(flow: &mut Flow, course: &Course, say: &Say<'_>) {
    let width = flow.width() / MM;
    let frame = StripFrame {
        span: None,
        width,
        minute: None,
        text: CHART_TEXT,
    };
    let scenes = match course.window {
        Some(window) if !window.is_empty() => parts(course, say, window, frame),
        Some(_) | None => vec![strip(course, say.words, &frame)],
    };
    let first = scenes.first().map_or(0.0, |scene| scene.height * MM);
    flow.heading(&say.word(W::StripHead), first + 8.0);
    for scene in scenes {
        flow.chart(scene, MM);
    }
}

fn parts(course: &Course, say: &Say<'_>, window: Window, frame: StripFrame) -> Vec<Scene> {
    let minute = if window.len() < WIDE_BELOW {
        WIDE
    } else {
        NARROW
    };
    // Whole minutes: each part begins at a figure of the axis.
    let long = whole_minutes(frame.minutes(say.words, minute));
    let mut scenes = Vec::new();
    let mut from = window.from_ms;
    while from < window.to_ms {
        let to = from.plus(long).min(window.to_ms);
        let part = StripFrame {
            span: Some((from, to)),
            minute: Some(minute),
            ..frame
        };
        scenes.push(strip(course, say.words, &part));
        from = to;
    }
    scenes
}

/// So many minutes; at least one.
fn whole_minutes(minutes: f64) -> Ms {
    let mut whole: u32 = 1;
    while f64::from(whole) + 1.0 <= minutes {
        whole = whole.saturating_add(1);
    }
    Ms::secs(whole.saturating_mul(60))
}

/// The pauses as bars: in order of time, or the longest of very many.
fn ladder(flow: &mut Flow, course: &Course, say: &Say<'_>) {
    let all = course.pauses.len();
    if all == 0 {
        return;
    }
    let order = if all > MOST_BARS {
        Order::Longest
    } else {
        Order::Time
    };
    let width = flow.width() / MM;
    let frame = |from: usize| BarFrame {
        order,
        part: (from, BARS_A_PART),
        width,
        text: CHART_TEXT,
    };
    let shown = all.min(MOST_BARS);
    let scenes: Vec<Scene> = (0..shown)
        .step_by(BARS_A_PART)
        .map(|from| bars(course, say.words, &frame(from)))
        .collect();
    let first = scenes.first().map_or(0.0, |scene| scene.height * MM);
    flow.heading(&say.word(W::BarsHead), first + 30.0);
    if all > shown {
        let line = say
            .words
            .sheet_with(W::BarsLongest, &[&shown.to_string(), &all.to_string()]);
        flow.paragraph(&line);
    }
    for scene in scenes {
        flow.chart(scene, MM);
    }
}
