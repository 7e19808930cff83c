//! Whatever stands in a record, measuring it comes to an end, and no time is below nought.

use super::make::{CaseLine, protocol, record};
use crate::{Basis, course, measures, text};

fn long_record() -> Vec<u8> {
    #[derive(serde::Deserialize)]
    struct Case {
        lines: Vec<CaseLine>,
    }
    let cases: Vec<Case> = serde_json::from_str(include_str!("../../worked/cases.json")).unwrap();
    record(&cases.last().unwrap().lines, &protocol(None))
}

fn measured(bytes: &[u8]) -> Option<crate::Measures> {
    let opened = record::open(bytes).ok()?;
    for basis in [Basis::Recorded, Basis::Amended] {
        let found = measures(&opened, basis).unwrap();
        assert!(!text(&found).is_empty());
        let drawn = course(&opened, basis).unwrap();
        let whole = drawn.stretches.iter().map(|s| s.len().0).sum::<u64>();
        assert_eq!(whole, drawn.window.map_or(0, |w| w.len().0));
        let trust = found.trust.map(|t| t.of);
        let marked = |row: &&crate::CheckRow| row.result != crate::CheckResult::NotMarked;
        assert_eq!(
            drawn.checks.len(),
            trust.as_ref().map_or(0, |t| t.checks_due)
        );
        assert_eq!(
            drawn.checks.iter().filter(marked).count(),
            trust.map_or(0, |t| t.checks_marked)
        );
    }
    measures(&opened, Basis::Amended).ok()
}

#[test]
fn a_record_cut_at_any_line_is_measured_and_its_four_states_fill_the_window() {
    let bytes = long_record();
    let ends: Vec<usize> = (0..bytes.len()).filter(|n| bytes[*n] == b'\n').collect();
    assert!(ends.len() > 20);
    for end in ends {
        let found = measured(&bytes[..=end]).unwrap();
        let (Some(time), Some(window)) = (found.time, found.windows.recognition) else {
            continue;
        };
        let t = time.of;
        let all = [
            t.compressing_ms,
            t.hands_off_ms,
            t.circulation_ms,
            t.unknown_ms,
        ];
        assert_eq!(all.iter().map(|ms| ms.0).sum::<u64>(), window.len().0);
    }
}

#[test]
fn a_record_without_an_end_is_measured_to_its_last_line() {
    let bytes = long_record();
    let text = String::from_utf8(bytes).unwrap();
    let lines: Vec<&str> = text.lines().take(10).collect();
    let found = measured((lines.join("\n") + "\n").as_bytes()).unwrap();
    assert_eq!(found.windows.ends_by, crate::EndsBy::LastLine);
    assert_eq!(found.windows.recognition.unwrap().to_ms.0, 76_000);
}

#[test]
fn without_its_protocol_a_record_keeps_its_times_and_loses_its_windows() {
    let bytes = long_record();
    let text = String::from_utf8(bytes).unwrap();
    let second = text.lines().nth(1).unwrap();
    let broken = text.replacen(second, "{}", 1);
    let opened = record::open(broken.as_bytes()).unwrap();
    assert!(opened.protocol.is_none());
    let found = measures(&opened, Basis::Amended).unwrap();
    assert!(!found.is_sound);
    assert_eq!(found.protocol, None);
    assert_eq!(found.time.unwrap().of.compressing_ms.0, 695_000);
    let drug = &found.drugs.of.rows[0];
    assert_eq!(drug.window_min_ms, None);
    assert_eq!(drug.intervals[0].place, None);
    assert_eq!(drug.intervals[0].ms, 265_000);
}

#[test]
fn a_changed_byte_stops_nothing() {
    let bytes = long_record();
    // Past the header, where every byte may be anything.
    let from = bytes.iter().position(|b| *b == b'\n').unwrap() + 1;
    let step = (bytes.len() - from) / 31;
    for n in 0..31 {
        for with in [b'9', b'"', 0xff] {
            let mut spoilt = bytes.clone();
            spoilt[from + n * step] = with;
            assert!(measured(&spoilt).is_some());
        }
    }
}
