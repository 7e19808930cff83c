//! Crews as they are. Every prompt and every line of the record is written down by hand first, from
//! `docs/timing.md` and the protocol; clips are a second long, the count half a second.

use super::*;
use crate::{
    Banner, Card,
    mark::{CheckMark, GivenBy, PriorCare, PriorDose, RunMark, SetState, kind_of},
};

/// The record's lines that are no cue, no score, no heartbeat: time, kind.
fn lines(w: &Walk) -> Vec<(u64, String)> {
    w.log
        .iter()
        .filter_map(|e| {
            let kind = match &e.fact {
                Fact::Mark(mark) => kind_of(mark).to_string(),
                Fact::Amend(amend) => amend.op.word().to_string(),
                Fact::Deed(Deed::Ignored { kind, .. }) => std::format!("ignored {kind}"),
                Fact::Deed(Deed::CheckUnmarked { due_ms }) => {
                    std::format!("check_unmarked {}", due_ms.0)
                }
                Fact::Deed(Deed::Recovered { .. }) => "recovered".to_string(),
                Fact::Deed(Deed::Start { way }) => std::format!("start {}", way.word()),
                Fact::Deed(_) => return None,
            };
            Some((e.at.0, kind))
        })
        .collect()
}

fn at(list: &[(u64, &str)]) -> Vec<(u64, String)> {
    list.iter().map(|(t, k)| (*t, (*k).to_string())).collect()
}

const COUNT: [(u64, &str); 6] = [
    (115_000, "chk_cd5"),
    (116_000, "chk_cd4"),
    (117_000, "chk_cd3"),
    (118_000, "chk_cd2"),
    (119_000, "chk_cd1"),
    (120_000, "chk_now"),
];

#[test]
fn every_tap_a_minute_late() {
    let mut w = started();
    w.key(186_000, Act::HandsOffCheck)
        .key(194_000, Act::NoShockHand);
    w.key(260_000, Act::DrugByClock).until(300_000);
    let mut expected = std::vec![(90_000, "chk_30")];
    expected.extend(COUNT);
    expected.extend([
        // Nobody marked it within 30 s.
        (150_000, "chk_over"),
        // Not shocked: the first dose at once, and again while no dose is marked.
        (194_000, "drug_due"),
        (224_000, "drug_due"),
        // The cycle counts from the resume as it was marked: due at 314 s.
        (284_000, "chk_30"),
    ]);
    assert_eq!(w.voices(), expected);
    assert_eq!(
        lines(&w),
        at(&[
            (0, "start hand"),
            (0, "arrest"),
            (0, "compr_start"),
            (186_000, "compr_stop"),
            (194_000, "no_shock"),
            (194_000, "compr_start"),
            (260_000, "drug"),
        ])
    );
}

#[test]
fn taps_in_the_wrong_order() {
    let mut w = started();
    // Set down before it was lifted, swapped before the pack was out, a pulse without a pause, lost
    // without a pulse, hands on while they are on.
    w.key(20_000, Act::SetDown)
        .key(21_000, Act::Swapped)
        .key(22_000, Act::PulseBack)
        .key(23_000, Act::ArrestAgainHand)
        .key(24_000, Act::HandsOn)
        // The result before the pause that it belongs to.
        .key(126_000, Act::NoShockThrough)
        .key(127_000, Act::HandsOff)
        .key(133_000, Act::HandsOn)
        .until(240_000);
    let mut expected = std::vec![(90_000, "chk_30")];
    expected.extend(COUNT);
    expected.extend([
        (126_000, "drug_due"),
        (156_000, "drug_due"),
        // 126 s, the result, is what the next check counts from: due at 246 s.
        (216_000, "chk_30"),
    ]);
    assert_eq!(w.voices(), expected);
    assert_eq!(
        lines(&w),
        at(&[
            (0, "start hand"),
            (0, "arrest"),
            (0, "compr_start"),
            (20_000, "ignored move"),
            (21_000, "ignored power"),
            (22_000, "ignored rosc"),
            (23_000, "ignored rearrest"),
            (24_000, "ignored compr_start"),
            (126_000, "no_shock"),
            (127_000, "compr_stop"),
            (133_000, "compr_start"),
        ])
    );
}

#[test]
fn a_wrong_state_set_right_after_two_minutes() {
    let mut w = started();
    w.key(100_000, Act::DeviceRunning).until(220_000);
    assert!(w.beats_between(100_000, 220_000).is_empty());
    let (state, back) = (SetState::Manual, Ms(120_000));
    w.input(Ms(220_000), Input::SetRight { state, back });
    w.until(245_000);
    let mut expected = std::vec![(90_000, "chk_30"), (100_000, "cup_now")];
    expected.extend(COUNT);
    expected.extend([
        (130_000, "cup_now"),
        (150_000, "chk_over"),
        (210_000, "chk_30"),
        (235_000, "chk_cd5"),
        (236_000, "chk_cd4"),
        (237_000, "chk_cd3"),
        (238_000, "chk_cd2"),
        (239_000, "chk_cd1"),
        (240_000, "chk_now"),
    ]);
    assert_eq!(w.voices(), expected);
    // Never before the mark that it sets right: a millisecond after it.
    let view = w.run.view(w.now);
    assert_eq!(
        (view.state, view.state_since),
        (StateWord::ByHand, Ms(100_001))
    );
    assert_eq!(w.beats_between(100_000, 221_000)[0], 220_025);
    assert_eq!(
        lines(&w),
        at(&[
            (0, "start hand"),
            (0, "arrest"),
            (0, "compr_start"),
            (100_000, "compr_start"),
            (210_000, "check_unmarked 120000"),
            (100_001, "state_set"),
        ])
    );
}

#[test]
fn a_forgotten_end_and_then_another_patient() {
    let mut w = started();
    w.key(130_000, Act::HandsOffCheck)
        .key(136_000, Act::NoShockHand);
    w.key(150_000, Act::DrugByClock).until(1_950_000);
    // Thirty minutes without a mark.
    w.until(1_952_000);
    assert!(w.heard.contains(&(1_950_000, "attention".to_string())));
    assert_eq!(w.said("still"), [1_950_500]);
    assert!(w.run.view(w.now).asks.contains(&crate::Ask::StillRunning));
    // The phone went flat; three hours later it is switched on for the next call.
    let mut w = started();
    w.key(130_000, Act::HandsOffCheck).until(142_000);
    w.back(10_800_000, Seq(40), Ms(142_000));
    let spoken = w.voices().len();
    w.until(10_830_000);
    assert_eq!(w.voices().len(), spoken, "nobody knows whose run it is");
    assert!(w.beats_between(10_800_000, 10_830_000).is_empty());
    let view = w.run.view(w.now);
    assert_eq!((view.card, view.state), (Card::Unknown, StateWord::Unknown));
    assert_eq!(view.main, [Act::SamePatient, Act::NewPatient]);
    assert!(view.banners.contains(&Banner::Resumed));
    w.key(10_831_000, Act::AsBefore);
    assert_eq!(
        w.ignored(),
        ["the gap makes two halves: same_patient or new_patient"]
    );
    w.key(10_832_000, Act::NewPatient);
    assert!(w.run.is_over());
}

#[test]
fn a_pulse_by_mistake() {
    let mut w = by_device();
    w.key(30_000, Act::CupGood).key(120_000, Act::PausedCheck);
    w.key(126_000, Act::PulseBack).undo(128_000);
    w.key(132_000, Act::NoShockDevice).until(140_000);
    let after: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(t, _)| *t > 120_000)
        .collect();
    // The pause has gone on all along; the drug is asked for when compressions run again, 1.5 s after
    // the number's end.
    assert_eq!(after, [(130_000, "off10"), (132_500, "drug_due")]);
    let tones: Vec<u64> = w
        .heard
        .iter()
        .filter(|(_, n)| n == "attention")
        .map(|(t, _)| *t)
        .collect();
    assert_eq!(tones, [126_000], "a pulse is a tone, not a word");
    let view = w.run.view(w.now);
    assert_eq!(
        (view.state, view.state_since),
        (StateWord::ByDevice, Ms(132_000))
    );
    assert!(view.hand_over.unwrap().pulses.is_empty());
    let kinds: Vec<(u64, String)> = lines(&w)
        .into_iter()
        .filter(|(t, _)| *t >= 120_000)
        .collect();
    assert_eq!(
        kinds,
        at(&[
            (120_000, "compr_stop"),
            (126_000, "rosc"),
            (128_000, "retract"),
            (132_000, "no_shock"),
            (132_000, "compr_start"),
        ])
    );
}

#[test]
fn an_airway_by_mistake() {
    let mut tended = started();
    tended.key(10_000, Act::AirwayIn).undo(20_000).until(60_000);
    let mut never = started();
    never.until(60_000);
    // Back on the old grid, its windows among it: the first one is at 16.4 s, the second at 36.7 s.
    assert_eq!(
        tended.beats_between(20_000, 60_000),
        never.beats_between(20_000, 60_000)
    );
    let after = |w: &Walk| {
        w.breaths()
            .into_iter()
            .filter(|t| *t > 20_400)
            .collect::<Vec<_>>()
    };
    assert_eq!(after(&tended), after(&never));
    assert_eq!(tended.voices(), [(20_000, "undo")]);
    assert_eq!(
        lines(&tended),
        at(&[
            (0, "start hand"),
            (0, "arrest"),
            (0, "compr_start"),
            (10_000, "airway"),
            (20_000, "retract"),
        ])
    );
}

#[test]
fn a_take_over_with_two_shocks_and_a_dose() {
    let mut w = Walk::with(setup_of("example-adult-b", &[]));
    w.input(Ms::ZERO, Input::Start(Way::Earlier));
    w.key(0, Act::BeganEarlier);
    let prior = PriorCare {
        began_min: Some(6),
        shocks: Some(2),
        doses: std::vec![PriorDose {
            drug: "adrenaline".into(),
            n: 1,
            last_min: Some(2),
        }],
        ..PriorCare::default()
    };
    w.mark(5000, Mark::Run(RunMark::PriorCare(prior)));
    w.key(12_000, Act::PadsOn).key(14_000, Act::HandsOffCheck);
    let shock = Mark::Check(CheckMark::Shock {
        timed: false,
        by: GivenBy::Us,
        through: false,
        stacked: false,
        mode: None,
        energy_j: None,
    });
    w.mark(18_000, shock).key(18_000, Act::HandsOn);
    w.key(75_000, Act::DrugByClock).until(130_000);
    assert_eq!(
        w.voices(),
        [
            // With the pads, without heads-up and count.
            (12_000, "chk_now"),
            // The dose before us was given 2 min before 5 s: due at 65 s.
            (65_000, "drug_due"),
            // 18 s, the shock and the resume, + 120 - 30.
            (108_000, "chk_30"),
            // This protocol charges before the check and has it said.
            (123_000, "charge"),
        ]
    );
    // The third shock of all; the checkpoint at 10 min of the arrest lies at 5 - 360 + 600 s.
    assert_eq!(w.shown("drug_next"), [18_000]);
    let card = w.run.view(w.now).hand_over.unwrap();
    assert_eq!((card.shocks, card.arrest), (3, Some(-355_000)));
    assert_eq!((card.doses[0].n, card.doses[0].last), (2, Some(75_000)));
    let next: Vec<u64> = card.next.iter().map(|due| due.at.0).collect();
    // The drug by shocks since 18 s, the check at 138 s, causes at 245 s, the dose at 255 s.
    assert_eq!(next, [18_000, 138_000, 245_000, 255_000]);
    w.until(250_000);
    assert_eq!(w.shown("causes"), [245_000]);
    assert_eq!(
        lines(&w),
        at(&[
            (0, "start earlier"),
            (0, "arrest"),
            (0, "compr_start"),
            (5000, "prior_care"),
            (12_000, "pads"),
            (14_000, "compr_stop"),
            (18_000, "shock"),
            (18_000, "compr_start"),
            (75_000, "drug"),
            (228_000, "check_unmarked 138000"),
        ])
    );
}
