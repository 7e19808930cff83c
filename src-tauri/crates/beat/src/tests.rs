#![expect(
    clippy::arithmetic_side_effects,
    reason = "a test that overflows fails, as it should"
)]

extern crate std;

use std::vec::Vec;

use proptest::prelude::*;

use crate::{Kind, Pattern, Placed, Rate, Score, Sound};

fn placed(per_minute: u16, pattern: Pattern) -> Placed {
    let score = Score {
        rate: Rate::new(per_minute).unwrap(),
        pattern,
        quiet_ddb: 0,
    };
    Placed {
        score,
        anchor_ms: 0,
        lead: 0,
        from_ms: 0,
        breath_from_ms: 0,
    }
}

fn sounds(p: &Placed, from: u64, until: u64, hz: u32) -> Vec<Sound> {
    let mut found = Vec::new();
    let mut next = p.first(from, hz);
    while let Some(s) = next.filter(|s| s.at < until) {
        found.push(s);
        next = p.after(s, hz);
    }
    found
}

const ADULT: Pattern = Pattern::Ratio {
    beats: 30,
    window_ms: 4000,
    breaths: 2,
};

#[test]
fn rate_is_refused_outside_what_can_be_counted() {
    assert!(Rate::new(0).is_err());
    assert!(Rate::new(301).is_err());
    assert_eq!(Rate::new(110).unwrap().per_minute(), 110);
}

#[test]
fn score_is_small_enough_for_a_message() {
    assert!(size_of::<Score>() <= 64);
}

/// Source: arithmetic, 60 s / 110 a minute: (30 * 60 / 110 + 4) s * 48,000 = 977,454.5 frames.
#[test]
fn second_cycle_of_thirty_to_two_begins_at_frame_977_454() {
    assert_eq!(placed(110, ADULT).beat(30, 48_000), 977_454);
}

/// Source: arithmetic: 6,600 beats at 110 a minute are one hour.
#[test]
fn an_hour_of_beats_ends_on_the_frame() {
    let p = placed(110, Pattern::Continuous { breath_ms: 6000 });
    assert_eq!(p.beat(6600, 48_000), 172_800_000);
}

/// Source: 30 compressions own 30 whole periods: 18.000, 16.364, 15.000 s at 100, 110, 120.
#[test]
fn thirty_compressions_own_thirty_periods() {
    for (rate, ms) in [(100, 18_000), (110, 16_363), (120, 15_000)] {
        assert_eq!(placed(rate, ADULT).window(0, 1000), Some(ms));
    }
}

/// Source: 2020 adult algorithm of one resuscitation council: 1 breath every 6 s with an advanced
/// airway; by the clock this is 20 in (0, 120] s, 10, 11 or 12 compressions apart.
#[test]
fn breaths_by_the_clock_are_twenty_in_two_minutes_at_every_rate() {
    for rate in [100, 110, 120] {
        let p = placed(rate, Pattern::Continuous { breath_ms: 6000 });
        let breaths: Vec<u64> = sounds(&p, 0, 120_001, 1000)
            .into_iter()
            .filter(|s| s.kind == Kind::Breath)
            .map(|s| s.at)
            .collect();
        let expected: Vec<u64> = (1..=20).map(|n| n * 6000).collect();
        assert_eq!(breaths, expected, "rate {rate}");
    }
}

#[test]
fn breath_tones_stand_at_the_start_and_the_half_of_the_window() {
    let breaths: Vec<u64> = sounds(&placed(120, ADULT), 0, 19_000, 1000)
        .into_iter()
        .filter(|s| s.kind == Kind::Breath)
        .map(|s| s.at)
        .collect();
    assert_eq!(breaths, [15_000, 17_000]);
}

/// Source: newborn 3:1 at 120 events a minute: 90 compressions and 30 breaths, 0.5 s apart.
#[test]
fn newborn_three_to_one_is_an_event_each_half_second() {
    let p = placed(
        120,
        Pattern::Ratio {
            beats: 3,
            window_ms: 500,
            breaths: 1,
        },
    );
    let all = sounds(&p, 0, 60_000, 1000);
    let beats = all.iter().filter(|s| s.kind != Kind::Breath).count();
    assert_eq!((beats, all.len()), (90, 120));
    assert!(all.iter().zip(0..).all(|(s, n)| s.at == n * 500));
}

#[test]
fn a_cycle_is_first_plain_last() {
    let kinds: Vec<Kind> = sounds(&placed(110, ADULT), 0, 16_300, 1000)
        .into_iter()
        .map(|s| s.kind)
        .collect();
    assert_eq!(kinds.len(), 30);
    assert_eq!(kinds[0], Kind::BeatFirst);
    assert_eq!(kinds[29], Kind::BeatLast);
    assert!(kinds[1..29].iter().all(|k| *k == Kind::Beat));
}

#[test]
fn nothing_sounds_before_from() {
    let mut p = placed(110, Pattern::Continuous { breath_ms: 6000 });
    p.from_ms = 10_000;
    assert_eq!(p.first(0, 1000).map(|s| s.at), Some(10_363));
}

#[test]
fn silence_without_breaths_has_no_next() {
    assert_eq!(
        placed(110, Pattern::Silent { breath_ms: 0 }).first(0, 48_000),
        None
    );
}

/// An airway placed within a phase keeps every beat: the continuous grid goes on from the ratio's
/// anchor, moved by the windows that have passed, which are whole milliseconds.
#[test]
fn continuous_goes_on_from_a_ratio_without_moving_a_beat() {
    let ratio = placed(110, ADULT);
    let mut on = placed(110, Pattern::Continuous { breath_ms: 6000 });
    on.anchor_ms = 3 * 4000;
    for i in 0..30 {
        assert_eq!(on.beat(90 + i, 48_000), ratio.beat(90 + i, 48_000));
    }
}

#[test]
fn a_ratio_led_in_by_a_grid_begins_on_one_of_its_beats() {
    let grid = placed(110, Pattern::Continuous { breath_ms: 0 });
    let mut ratio = placed(110, ADULT);
    ratio.lead = 7;
    assert_eq!(ratio.beat(0, 48_000), grid.beat(7, 48_000));
    assert_eq!(
        ratio.first(0, 48_000).map(|s| s.kind),
        Some(Kind::BeatFirst)
    );
}

#[test]
fn the_place_in_a_cycle_is_told_in_phase_and_window() {
    let p = placed(120, ADULT);
    assert_eq!(p.cycle_at(0), Some((0, Some(0))));
    assert_eq!(p.cycle_at(14_999), Some((0, Some(29))));
    assert_eq!(p.cycle_at(15_000), Some((0, None)));
    assert_eq!(p.window_at(18_999), Some(0));
    assert_eq!(p.cycle_at(19_000), Some((1, Some(0))));
}

fn patterns() -> impl Strategy<Value = Pattern> {
    prop_oneof![
        (0u32..12_000).prop_map(|breath_ms| Pattern::Silent { breath_ms }),
        (0u32..12_000).prop_map(|breath_ms| Pattern::Continuous { breath_ms }),
        (1u16..=30, 500u32..10_000, 0u8..=5).prop_map(|(beats, window_ms, breaths)| {
            Pattern::Ratio {
                beats,
                window_ms,
                breaths,
            }
        }),
    ]
}

/// Every sound by its definition, one after the other, in exact fractions: numerators over
/// `rate * 1000` ticks. Knows nothing of searching or of cycles found by division.
fn by_definition(p: &Placed, until: u64, hz: u32) -> Vec<(u64, Kind)> {
    let rate = u128::from(p.score.rate.per_minute());
    let floor = |ms: u128, periods: u128| {
        u64::try_from((ms * rate + periods * 60_000) * u128::from(hz) / (rate * 1000)).unwrap()
    };
    let mut all = Vec::new();
    let (anchor, lead) = (u128::from(p.anchor_ms), u128::from(p.lead));
    match p.score.pattern {
        Pattern::Ratio {
            beats,
            window_ms,
            breaths,
        } => {
            let mut done = 0;
            let mut windows = 0;
            while floor(anchor + windows, lead + done) < until {
                for i in 0..u128::from(beats) {
                    let kind = match i {
                        0 => Kind::BeatFirst,
                        _ if i + 1 == u128::from(beats) => Kind::BeatLast,
                        _ => Kind::Beat,
                    };
                    all.push((floor(anchor + windows, lead + done + i), kind));
                }
                done += u128::from(beats);
                for j in 0..u128::from(breaths) {
                    let into = j * u128::from(window_ms) / u128::from(breaths);
                    all.push((floor(anchor + windows + into, lead + done), Kind::Breath));
                }
                windows += u128::from(window_ms);
            }
        }
        Pattern::Silent { breath_ms } | Pattern::Continuous { breath_ms } => {
            if matches!(p.score.pattern, Pattern::Continuous { .. }) {
                let mut n = 0;
                while floor(anchor, lead + n) < until {
                    all.push((floor(anchor, lead + n), Kind::Beat));
                    n += 1;
                }
            }
            let mut t = u128::from(p.breath_from_ms + u64::from(breath_ms));
            while breath_ms > 0 && floor(t, 0) < until {
                all.push((floor(t, 0), Kind::Breath));
                t += u128::from(breath_ms);
            }
        }
    }
    all.retain(|(at, _)| *at < until && *at >= floor(u128::from(p.from_ms), 0));
    all.sort_unstable();
    all
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn walking_a_score_gives_what_its_definition_gives(
        per_minute in 60u16..=150,
        pattern in patterns(),
        anchor_ms in 0u64..20_000,
        lead in 0u32..40,
        from_ms in 0u64..40_000,
        breath_from_ms in 0u64..20_000,
        hz in prop_oneof![Just(1000u32), Just(44_100), Just(48_000), Just(96_000)],
    ) {
        // Breaths closer than 20 ms are no breaths; the walk assumes distinct ticks of one kind.
        if let Pattern::Silent { breath_ms } | Pattern::Continuous { breath_ms } = pattern {
            prop_assume!(breath_ms == 0 || breath_ms > 20);
        }
        let mut p = placed(per_minute, pattern);
        (p.anchor_ms, p.lead, p.from_ms, p.breath_from_ms) = (anchor_ms, lead, from_ms, breath_from_ms);
        let until = 70 * u64::from(hz);
        let walked: Vec<(u64, Kind)> =
            sounds(&p, 0, until, hz).into_iter().map(|s| (s.at, s.kind)).collect();
        prop_assert_eq!(walked, by_definition(&p, until, hz));
    }

    #[test]
    fn milliseconds_and_frames_agree_within_one(
        per_minute in 60u16..=150,
        pattern in patterns(),
        n in 0u64..10_000,
    ) {
        let p = placed(per_minute, pattern);
        let ms = p.beat(n, 1000);
        let frame_ms = p.beat(n, 48_000) / 48;
        prop_assert!(ms.abs_diff(frame_ms) <= 1);
    }
}
