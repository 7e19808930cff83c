//! What is drawn can be read: well-formed, nothing over anything else, each state by more than its colour.
#![expect(
    clippy::arithmetic_side_effects,
    reason = "small numbers of the tests; an overflow fails the test"
)]

use cycle::{
    Ms,
    mark::{By, CupAct, GivenBy, Reason},
};
use debrief::{
    CheckResult, CheckRow, Course, CupCheck, EndedBy, Happening, PauseRow, PowerSwap, ShockRow,
    State, Stretch, Taken, Window,
};
use proptest::prelude::*;
use words::Words;

mod heard;

use crate::{
    Area, BarFrame, GLARE, NIGHT, Order, PRINT, Palette, Role, Scene, Shape, StripFrame, bars,
    bars_told, lanes::Glyph, strip, strip_told,
};

fn words() -> Words {
    Words::load("en-US").unwrap()
}

/// A course from stretches of seconds, with a shock and a dose where they are asked for.
fn course(parts: &[(u64, State, Option<Reason>)], shocks: &[u64], doses: &[u64]) -> Course {
    let mut at = 7_000;
    let mut stretches = Vec::new();
    for (s, state, reason) in parts {
        let to = at + s * 1000;
        stretches.push(Stretch {
            from: Ms(at),
            to: Ms(to),
            state: *state,
            reason: *reason,
        });
        at = to;
    }
    let pauses = stretches.windows(2).filter_map(|pair| {
        let [before, off] = pair else { return None };
        let follows = matches!(before.state, State::Compressing(_));
        (follows && off.state == State::HandsOff).then(|| PauseRow {
            from_ms: off.from,
            to_ms: off.to,
            ms: off.len(),
            reason: off.reason.unwrap_or(Reason::Unknown),
            reasons: off.reason.into_iter().collect(),
            ended_by: EndedBy::Compressions,
        })
    });
    Course {
        basis: Taken::Amended {
            revision: 1,
            unsealed: 0,
        },
        window: Some(Window {
            from_ms: Ms(7_000),
            to_ms: Ms(at),
        }),
        pauses: pauses.collect(),
        checks: vec![
            CheckRow {
                at: Ms(9_000),
                result: CheckResult::NotMarked,
                rhythm: None,
                pause: None,
                went_on: false,
            },
            CheckRow {
                at: Ms(30_000),
                result: CheckResult::NoShock,
                rhythm: None,
                pause: None,
                went_on: false,
            },
        ],
        shocks: shocks
            .iter()
            .map(|s| ShockRow {
                at_ms: Ms(s * 1000),
                by: GivenBy::Us,
                timed: s % 2 == 0,
                pre_ms: None,
                post_ms: None,
                peri_ms: None,
                pause_ms: None,
                through_shock: false,
                stacked: false,
                no_resume: false,
                pause_not_marked: false,
            })
            .collect(),
        happenings: doses
            .iter()
            .map(|s| {
                (
                    Ms(s * 1000),
                    Happening::Dose("Epinephrine <1 & 2>".to_owned()),
                )
            })
            .chain([
                (Ms(20_000), Happening::AirwayIn),
                (Ms(40_000), Happening::AirwayLost),
                (Ms(50_000), Happening::Breaths(2)),
            ])
            .collect(),
        cup: [Some(CupAct::Good), Some(CupAct::Reseat), None]
            .into_iter()
            .map(|answer| CupCheck {
                asked_ms: Ms(60_000),
                answered_ms: None,
                ms: None,
                answer,
            })
            .collect(),
        power: vec![PowerSwap {
            from_ms: Ms(62_000),
            swapped_ms: Some(Ms(90_000)),
            ms: Some(Ms(28_000)),
            inside_window: None,
            hands_off_ms: None,
        }],
        drug_names: Vec::new(),
        stretches,
    }
}

const HAND: State = State::Compressing(By::Manual);
const DEVICE: State = State::Compressing(By::Mechanical);
const STATES: [State; 5] = [
    HAND,
    DEVICE,
    State::HandsOff,
    State::Circulation,
    State::Unknown,
];

fn some() -> Course {
    course(
        &[
            (115, HAND, None),
            (11, State::HandsOff, Some(Reason::RhythmCheck)),
            (60, HAND, None),
            (4, State::HandsOff, None),
            (300, DEVICE, None),
            (90, State::HandsOff, Some(Reason::DeviceFault)),
            (20, State::Unknown, None),
            (200, State::Circulation, None),
        ],
        &[124, 201],
        &[150, 155, 400],
    )
}

/// Every text inside the picture, and none over another.
fn can_be_read(scene: &Scene) -> Result<(), String> {
    let all = scene.text_areas();
    for (n, (area, text)) in all.iter().enumerate() {
        let inside = area.x >= -0.01
            && area.y >= -0.01
            && area.x + area.w <= scene.width + 0.01
            && area.y + area.h <= scene.height + 0.01;
        if !inside {
            return Err(format!(
                "{text:?} at {area:?} leaves {} by {}",
                scene.width, scene.height
            ));
        }
        if let Some((other, over)) = all.iter().skip(n + 1).find(|(o, _)| o.overlaps(area)) {
            return Err(format!("{text:?} {area:?} lies over {over:?} {other:?}"));
        }
    }
    Ok(())
}

fn frames() -> Vec<StripFrame> {
    let frame = |span, width, text| StripFrame {
        span,
        width,
        minute: None,
        text,
    };
    vec![
        frame(None, 190.0, 3.2),
        frame(None, 390.0, 22.0),
        frame(Some((Ms(60_000), Ms(90_000))), 390.0, 22.0),
        frame(Some((Ms(0), Ms(1))), 390.0, 22.0),
        frame(Some((Ms(100_000), Ms(400_000))), 800.0, 16.0),
    ]
}

fn ladders() -> [BarFrame; 2] {
    let frame = |width, text, order| BarFrame {
        order,
        part: (0, 100),
        width,
        text,
    };
    [
        frame(190.0, 3.2, Order::Time),
        frame(390.0, 22.0, Order::Longest),
    ]
}

fn is_well_formed(svg: &str, scene: &Scene) {
    let read = roxmltree::Document::parse(svg).unwrap();
    let root = read.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    let of = |name: &str| {
        let mut children = root.children();
        let found = children.find(|node| node.has_tag_name(("http://www.w3.org/2000/svg", name)));
        found.and_then(|node| node.text()).unwrap().to_owned()
    };
    assert_eq!(of("title"), scene.title);
    assert_eq!(of("desc"), scene.told);
    let texts: Vec<&str> = read
        .descendants()
        .filter(|node| node.tag_name().name() == "text")
        .filter_map(|node| node.text())
        .collect();
    let drawn: Vec<&str> = scene.text_areas().iter().map(|(_, text)| *text).collect();
    assert_eq!(texts, drawn);
    // Several stand on one page: no id may meet another.
    assert!(
        read.descendants()
            .all(|node| node.attribute("id").is_none())
    );
    assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
}

#[test]
fn a_chart_is_well_formed_and_the_same_each_time() {
    let (course, words) = (some(), words());
    for frame in frames() {
        let scene = strip(&course, &words, &frame);
        can_be_read(&scene).unwrap();
        for palette in [PRINT, GLARE, NIGHT, crate::DAY_DARK] {
            let svg = scene.svg(&palette, "A \"Font\" & more", "px");
            is_well_formed(&svg, &scene);
            let again = strip(&course, &words, &frame);
            assert_eq!(svg, again.svg(&palette, "A \"Font\" & more", "px"));
        }
    }
    for frame in ladders() {
        let scene = bars(&course, &words, &frame);
        can_be_read(&scene).unwrap();
        is_well_formed(&scene.svg(&PRINT, "sans-serif", "mm"), &scene);
    }
}

#[test]
fn without_a_window_a_chart_says_so() {
    let words = words();
    let mut empty = course(&[], &[], &[]);
    empty.window = None;
    let scene = strip(&empty, &words, &StripFrame::paper(&empty, &words));
    can_be_read(&scene).unwrap();
    assert!(scene.text_areas()[0].1.starts_with("Neither arrest"));
    let scene = bars(&empty, &words, &ladders()[0]);
    assert_eq!(scene.text_areas()[0].1, "No pauses were marked.");
}

/// A drawing without its colours.
fn colourless(draw: impl Fn(&mut Scene)) -> Vec<String> {
    let mut scene = Scene::new(100.0, 10.0);
    draw(&mut scene);
    let shapes = scene.shapes.iter().map(|shape| match shape {
        Shape::Bar { area, fill, .. } => format!("bar {area:?} {fill:?}"),
        Shape::Figure { points, role } => {
            let filled = role.is_some_and(|role| role != Role::Ground);
            format!("figure {points:?} {filled}")
        }
        Shape::Line { from, to, .. } => format!("line {from:?} {to:?}"),
        Shape::Text { text, .. } => format!("text {text}"),
    });
    shapes.collect()
}

fn all_differ(drawn: &[Vec<String>]) {
    for (n, one) in drawn.iter().enumerate() {
        assert!(!one.is_empty());
        for other in drawn.iter().skip(n + 1) {
            assert_ne!(one, other);
        }
    }
}

#[test]
fn without_colour_each_state_and_each_event_still_differs() {
    let area = Area {
        x: 0.0,
        y: 0.0,
        w: 50.0,
        h: 20.0,
    };
    let states = STATES.map(|state| colourless(|scene| crate::lanes::state(scene, state, area)));
    all_differ(&states);
    let glyphs = [
        Glyph::Check(true),
        Glyph::Check(false),
        Glyph::Shock(true),
        Glyph::Shock(false),
        Glyph::Dose,
        Glyph::Airway(true),
        Glyph::Airway(false),
        Glyph::Breaths,
        Glyph::Cup(Some(CupAct::Good)),
        Glyph::Cup(Some(CupAct::Reseat)),
        Glyph::Cup(None),
    ];
    all_differ(&glyphs.map(|glyph| colourless(|scene| glyph.draw(scene, (10.0, 10.0)))));
}

/// Contrast of two colours, WCAG 2.2 "contrast ratio".
fn contrast(one: crate::Rgb, other: crate::Rgb) -> f64 {
    let light = |rgb: crate::Rgb| {
        let [r, g, b] = rgb.map(|c| {
            let c = f64::from(c) / 255.0;
            if c <= 0.040_45 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        });
        0.2126 * r + 0.7152 * g + 0.0722 * b
    };
    let (a, b) = (light(one), light(other));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn words_and_patterns_stand_out_in_every_theme() {
    for palette in [PRINT, GLARE, NIGHT, crate::DAY_DARK] {
        let Palette { ground, text, .. } = palette;
        // WCAG 2.2, 1.4.3: 4.5 for text; 1.4.11: 3 for what is not text.
        assert!(contrast(ground, text) >= 4.5);
        assert!(contrast(ground, palette.line) >= 3.0);
        for role in [Role::Ground, Role::Flow, Role::Still, Role::Kit, Role::Dose] {
            assert!(
                contrast(palette.of(role), palette.over(role)) >= 3.0,
                "{role:?}"
            );
        }
    }
}

#[test]
fn a_part_has_the_scale_and_the_lanes_of_the_whole() {
    let (course, words) = (some(), words());
    let frame = StripFrame {
        span: Some((Ms(7_000), Ms(67_000))),
        width: 190.0,
        minute: Some(9.0),
        text: 3.2,
    };
    let scene = strip(&course, &words, &frame);
    let long = |scene: &Scene| {
        let bars = scene.shapes.iter().filter_map(|shape| match shape {
            Shape::Bar { area, role, .. } => (*role == Role::Flow).then_some(area.w),
            Shape::Figure { .. } | Shape::Line { .. } | Shape::Text { .. } => None,
        });
        bars.fold(0.0_f64, f64::max)
    };
    assert!((long(&scene) - 9.0).abs() < 1e-9, "{}", long(&scene));
    assert_eq!(
        scene.title,
        "Strip of the run, 0:00 to 1:00, as amended, revision 1"
    );
    let whole = strip(&course, &words, &frames()[0]);
    for lane in ["Chest", "Off, s", "Device", "Cup"] {
        for scene in [&scene, &whole] {
            assert!(
                scene.text_areas().iter().any(|(_, text)| *text == lane),
                "{lane}"
            );
        }
    }
}

#[test]
fn the_longest_pause_comes_first_where_it_is_asked_for_and_its_reason_stands_beside_it() {
    let (course, words) = (some(), words());
    let texts = |frame: &BarFrame| -> Vec<String> {
        let scene = bars(&course, &words, frame);
        let all = scene.text_areas().into_iter();
        all.map(|(_, text)| text.to_owned()).collect()
    };
    let [time, longest] = ladders();
    assert_eq!(
        texts(&longest)[2..],
        [
            "8:10",
            "90 s, device stopped",
            "1:55",
            "11 s, check",
            "3:06",
            "4 s, \u{2013} no reason marked",
        ]
    );
    assert_eq!(texts(&time)[2], "1:55");
}

#[test]
fn what_is_drawn_is_told_too() {
    let (course, words) = (some(), words());
    let told = strip_told(&course, &words);
    assert_eq!(
        told.sentence,
        "Compressing 7:55, off the chest 1:45, circulation 3:20, not known 0:20. \
         Pauses: 3, longest 90 s, above 10 s: 2."
    );
    // Eight stretches, two checks, two shocks, three doses, three of the airway, a swap, three cup checks.
    assert_eq!(told.rows.len(), 22);
    assert!(told.rows.iter().all(|row| row.len() == told.columns.len()));
    for row in [
        ["1:55", "off the chest, check", "11 s"],
        ["1:57", "shock", ""],
        ["0:02", "check not marked", ""],
        ["0:23", "check", ""],
        ["3:14", "shock, moment not marked", ""],
        ["8:10", "off the chest, device stopped", "90 s"],
    ] {
        assert!(
            told.rows.iter().any(|found| *found == row),
            "{row:?}: {:?}",
            told.rows
        );
    }
    let told = bars_told(&course, &words);
    assert_eq!(told.rows[0], ["1:55", "11 s", "check", "compressions"]);
    assert_eq!(told.rows.len(), 3);
}

#[test]
fn a_character_that_the_font_lacks_is_replaced() {
    let face = crate::face(crate::Weight::SemiBold);
    assert_eq!(
        face.shown("\u{e9}\u{142}\u{4e2d}\t\u{7}"),
        "\u{e9}\u{142}? ?"
    );
    assert!(face.width("mm", 10.0) > 2.0 * face.width("i", 10.0));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]
    #[test]
    fn no_text_lies_over_another_whatever_the_run(
        parts in prop::collection::vec((1_u64..120, 0_usize..5, 0_usize..18), 1..60),
        marks in prop::collection::vec(0_u64..4000, 0..40),
    ) {
        let parts: Vec<(u64, State, Option<Reason>)> = parts
            .into_iter()
            .map(|(s, state, reason)| (s, STATES[state], Reason::ALL.get(reason).copied()))
            .collect();
        let (course, words) = (course(&parts, &marks, &marks), words());
        for frame in frames() {
            can_be_read(&strip(&course, &words, &frame)).map_err(TestCaseError::fail)?;
        }
        for frame in ladders() {
            can_be_read(&bars(&course, &words, &frame)).map_err(TestCaseError::fail)?;
        }
    }
}
