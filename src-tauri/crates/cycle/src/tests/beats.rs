//! Beat and breaths.

use super::*;

#[test]
fn thirty_beats_then_a_window_with_two_breath_tones() {
    let mut w = started();
    w.until(45_000);
    let first = w.beats_between(0, 16_388);
    assert_eq!(first.len(), 30);
    assert_eq!((first[0], first[1]), (25, 570));
    // 30 periods of 60/110 s are 16.3636 s; the window is 4 s.
    assert!(w.beats_between(16_388, 20_388).is_empty());
    assert_eq!(w.breaths()[..2], [16_388, 18_388]);
    assert_eq!(w.beats_between(20_388, 21_000)[0], 20_388);
}

#[test]
fn the_untended_run_goes_on() {
    let mut w = started();
    w.until(720_000);
    let mut expected = Vec::new();
    for k in 1..=5u64 {
        let due = k * 120_000;
        expected.push((due - 30_000, "chk_30"));
        for (s, word) in [
            (5, "chk_cd5"),
            (4, "chk_cd4"),
            (3, "chk_cd3"),
            (2, "chk_cd2"),
            (1, "chk_cd1"),
        ] {
            expected.push((due - s * 1000, word));
        }
        expected.push((due, "chk_now"));
        expected.push((due + 30_000, "chk_over"));
    }
    expected.push((690_000, "chk_30"));
    for (s, word) in [
        (5, "chk_cd5"),
        (4, "chk_cd4"),
        (3, "chk_cd3"),
        (2, "chk_cd2"),
        (1, "chk_cd1"),
    ] {
        expected.push((720_000 - s * 1000, word));
    }
    assert_eq!(w.voices(), expected);
    // 12 minutes hold 35 whole cycles of 20.3636 s and 13 beats more in what is left.
    let cycles = 720_000 * 110 / (30 * 60_000 + 4000 * 110);
    assert_eq!(cycles, 35);
    assert!(w.beats_between(0, 720_000).len() > 35 * 30);
    let unmarked = w
        .log
        .iter()
        .filter(|e| matches!(e.fact, Fact::Deed(Deed::CheckUnmarked { .. })))
        .count();
    assert_eq!(unmarked, 5);
}

#[test]
fn airway_in_within_a_phase_keeps_every_beat_and_starts_the_six_seconds() {
    let mut w = started();
    w.tap(30_100, Act::AirwayIn).until(60_000);
    // The second cycle begins at 25 + 20,363.6; its grid goes on through what were windows.
    let grid: Vec<u64> = (0..60u64)
        .map(|i| (20_388_636 + i * 60_000_000 / 110) / 1000)
        .collect();
    let beats = w.beats_between(20_388, 50_000);
    assert!(
        beats
            .iter()
            .all(|b| grid.iter().any(|g| g.abs_diff(*b) <= 1)),
        "{beats:?}"
    );
    assert_eq!(beats.len(), grid.iter().filter(|g| **g < 50_000).count());
    assert_eq!(w.breaths()[2..5], [36_000, 42_000, 48_000]);
}

#[test]
fn airway_in_within_a_window_starts_the_beat_anew() {
    let mut w = started();
    w.tap(17_000, Act::AirwayIn).until(30_000);
    assert_eq!(w.beats_between(16_388, 18_000)[..2], [17_025, 17_570]);
    assert_eq!(w.breaths(), [16_388, 22_900, 28_900]);
}

#[test]
fn airway_lost_makes_the_next_beat_the_first_of_thirty() {
    let mut w = started();
    w.tap(5000, Act::AirwayIn)
        .tap(10_000, Act::AirwayLost)
        .until(30_000);
    // Beats at 25 + n * 545.45: the first at or after 10,025 is n = 19, 10,388.
    let first = w
        .beats
        .iter()
        .find(|(t, k)| *t > 10_000 && *k == beat::Kind::BeatFirst);
    assert_eq!(first.map(|(t, _)| *t), Some(10_388));
    assert_eq!(w.breaths().last(), Some(&28_752));
}

#[test]
fn a_leaking_airway_named_otherwise_takes_the_protocol_s_mode() {
    let mut w = started();
    w.until(5000);
    let mark = Mark::Air(AirMark::Airway {
        act: AirwayAct::In,
        device: Some(AirwayDevice::Opa),
        attempt: None,
        success: None,
        technique: None,
    });
    w.input(
        Ms(5000),
        Input::Mark {
            at: Ms(5000),
            mark,
            src: Source::Button,
        },
    );
    w.until(20_000);
    assert!(w.beats_between(16_388, 20_000).is_empty());
}

#[test]
fn nothing_sounds_after_the_end() {
    let mut w = started();
    w.tap(100_000, Act::EndHandedOver).until(300_000);
    assert!(w.beats_between(100_000, 300_000).is_empty());
    assert!(w.heard.iter().all(|(t, _)| *t <= 100_000));
    assert!(w.run.is_over());
}
