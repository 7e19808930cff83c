use beat::{Pattern, Rate, Score};

use super::*;

/// 100 a minute from 1000 on: 600 ms apart, by hand.
fn placed() -> Placed {
    Placed {
        score: Score {
            rate: Rate::new(100).unwrap(),
            pattern: Pattern::Ratio {
                beats: 3,
                window_ms: 2000,
                breaths: 2,
            },
            quiet_ddb: 0,
        },
        anchor_ms: 1000,
        lead: 0,
        from_ms: 1000,
        breath_from_ms: 1000,
    }
}

fn pairs(pulses: &[FeltPulse]) -> Vec<(u32, u32)> {
    pulses.iter().map(|p| (p.in_ms, p.len_ms)).collect()
}

#[test]
fn beats_are_felt_and_breaths_are_not_and_the_first_of_a_cycle_is_longer() {
    let felt = pairs(&pulses(Some(placed()), Ms(0), None));
    // Three beats, then two seconds after the third's period: a cycle is 3 x 600 + 2000.
    let wanted = [
        (1000, 120),
        (1600, 60),
        (2200, 60),
        (4800, 120),
        (5400, 60),
        (6000, 60),
        (8600, 120),
        (9200, 60),
        (9800, 60),
    ];
    assert_eq!(felt, wanted);
}

#[test]
fn times_count_from_now_and_what_is_past_is_not_felt() {
    let felt = pairs(&pulses(Some(placed()), Ms(1601), None));
    assert_eq!(felt.first(), Some(&(599, 60)));
}

#[test]
fn a_long_pulse_takes_the_place_of_the_beats_that_it_covers() {
    let felt = pairs(&pulses(Some(placed()), Ms(0), Some(Ms(1500))));
    assert_eq!(felt[..3], [(1000, 120), (1500, 700), (4800, 120)]);
    // Half of it is over, the rest is felt.
    let felt = pairs(&pulses(Some(placed()), Ms(1850), Some(Ms(1500))));
    assert_eq!(felt[..2], [(0, 350), (2950, 120)]);
    let felt = pairs(&pulses(Some(placed()), Ms(2300), Some(Ms(1500))));
    assert_eq!(felt[0], (2500, 120));
}

#[test]
fn without_a_beat_a_prompt_is_felt_all_the_same() {
    assert_eq!(pairs(&pulses(None, Ms(0), Some(Ms(40)))), [(40, 700)]);
    assert_eq!(pairs(&pulses(None, Ms(0), None)), []);
}
