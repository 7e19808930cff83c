use super::*;
use crate::{Grid, Heard, HeardCue, OUTLINE_MS, heard};

fn cue(at: u64, len: u64, words: Option<&str>) -> HeardCue {
    HeardCue {
        at: Ms(at),
        len: Ms(len),
        words: words.map(str::to_owned),
    }
}

/// A cycle of three beats with a window, a prompt and a tone; 40 s.
fn drawn(name: &str) -> Scene {
    let mut outline = vec![(0, 0); 800];
    outline[20..24].copy_from_slice(&[(-16_384, 8192); 4]);
    outline[700] = (-100, 100);
    let grid = [
        (Ms(1000), Grid::First),
        (Ms(1500), Grid::Beat),
        (Ms(2000), Grid::Last),
        (Ms(2500), Grid::Breath),
    ];
    let cues = [
        cue(10_000, 300, None),
        cue(29_000, 2000, Some("Rhythm <check> & more.")),
    ];
    let run = Heard {
        name,
        from: Ms::ZERO,
        length: Ms(40_000),
        outline: &outline,
        grid: &grid,
        windows: &[(Ms(2500), Ms(6500))],
        cues: &cues,
    };
    heard(&run, &words())
}

fn bars(scene: &Scene, wanted: Role) -> Vec<Area> {
    let bar = |shape: &Shape| match shape {
        Shape::Bar { area, role, .. } if *role == wanted => Some(*area),
        Shape::Bar { .. } | Shape::Figure { .. } | Shape::Line { .. } | Shape::Text { .. } => None,
    };
    scene.shapes.iter().filter_map(bar).collect()
}

fn waves(scene: &Scene) -> Vec<&Vec<(f64, f64)>> {
    let wave = |shape: &'_ Shape| {
        matches!(
            shape,
            Shape::Figure {
                role: Some(Role::Flow),
                ..
            }
        )
    };
    let all = scene.shapes.iter().filter(|shape| wave(shape));
    all.filter_map(|shape| match shape {
        Shape::Figure { points, .. } => Some(points),
        Shape::Bar { .. } | Shape::Line { .. } | Shape::Text { .. } => None,
    })
    .collect()
}

/// Source: the page of rehearsals: rows of 30 s, 9 mm a second, full 7 mm from the middle.
#[test]
fn each_thing_lies_where_its_time_is() {
    let scene = drawn("t");
    can_be_read(&scene).unwrap();
    // In the first row, which begins at the left end of the outline's own middle line.
    let left = bars(&scene, Role::Still)[0].x - 2.5 * 9.0;
    let window = bars(&scene, Role::Still)[0];
    assert!((window.w - 4.0 * 9.0).abs() < 1e-6, "{window:?}");
    // The prompt goes on in the second row.
    let prompts = bars(&scene, Role::Kit);
    assert!((prompts[0].x - (left + 29.0 * 9.0)).abs() < 1e-6);
    assert!((prompts[0].w - 9.0).abs() < 1e-6 && (prompts[1].w - 9.0).abs() < 1e-6);
    assert!((prompts[1].x - left).abs() < 1e-6 && prompts[1].y > prompts[0].y);
    // Two pieces of sound, and the legend's sample.
    let waves = waves(&scene);
    assert_eq!(waves.len(), 3);
    let (first, step) = (
        waves[0],
        9.0 * f64::from(u32::try_from(OUTLINE_MS).unwrap()) / 1000.0,
    );
    assert!((first[0].0 - (left + 20.0 * step)).abs() < 1e-6);
    let heights = first.iter().map(|(_, y)| *y);
    let (top, low) = heights.fold((f64::MAX, f64::MIN), |(t, l), y| (t.min(y), l.max(y)));
    // A quarter of full above the middle, half of full below.
    assert!((low - top - 0.75 * 7.0).abs() < 1e-3, "{top} {low}");
}

#[test]
fn the_same_is_told_in_words() {
    let scene = drawn("a < b");
    let svg = scene.svg(&PRINT, "sans-serif", "mm");
    let document = roxmltree::Document::parse(&svg).unwrap();
    let text = |name: &str| {
        let node = document.descendants().find(|n| n.has_tag_name(name));
        node.and_then(|n| n.text()).unwrap_or_default().to_owned()
    };
    assert_eq!(text("title"), "Sound of the rehearsal \"a < b\", 0:40");
    assert_eq!(
        text("desc"),
        "Beats: 3, breath tones: 1, breath windows: 1. Prompts: 1, other tones: 1. \
         0:29 Rhythm <check> & more."
    );
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(80) })]
    #[test]
    fn no_text_of_a_picture_lies_over_another(
        cues in prop::collection::vec((0_u64..3000, 0_u64..5000, prop::option::of("[a-z ]{0,60}")), 0..60),
        name in "[a-z ]{0,120}",
        length in 0_u64..130_000,
    ) {
        let mut at = 0;
        let cues: Vec<HeardCue> = cues
            .into_iter()
            .map(|(gap, len, words)| {
                at += gap;
                cue(at, len, words.as_deref())
            })
            .collect();
        let run = Heard {
            name: &name,
            from: Ms::ZERO,
            length: Ms(length),
            outline: &[],
            grid: &[],
            windows: &[],
            cues: &cues,
        };
        can_be_read(&heard(&run, &words())).map_err(TestCaseError::fail)?;
    }
}
