//! Published figures, each with its source. Times and counts are worked out by hand.

use super::*;
use crate::{
    Ask,
    mark::{CareMark, CheckMark, GivenBy, HeartRate, PriorCare, PriorDose, RunMark, TempBand},
    protocol::Overlay,
};

const RATE: &str = "value = 110";
const WINDOW: &str = "[breaths.window_s]\nvalue = 4";

fn shock(timed: bool) -> Mark {
    Mark::Check(CheckMark::Shock {
        timed,
        by: GivenBy::Us,
        through: false,
        stacked: false,
        mode: None,
        energy_j: None,
    })
}

fn no_shock() -> Mark {
    Mark::Check(CheckMark::NoShock {})
}

fn drug(key: &str) -> Mark {
    Mark::Care(CareMark::Drug {
        drug: key.into(),
        dose: None,
        unit: None,
        route: None,
        prior: false,
        by_other_unit: false,
    })
}

/// A check by hand at `t`: hands off, the result 6 s later with the resume.
fn check(w: &mut Walk, t: u64, result: Mark) {
    w.key(t, Act::HandsOffCheck);
    w.mark(t + 6000, result).key(t + 6000, Act::HandsOn);
}

/// 1, 2: periods of 600, 545.4545 and 500 ms; 30 compressions in 18.000, 16.364 and 15.000 s.
/// Source: 100-120 a minute, adult basic life support 2020; arithmetic.
#[test]
fn beats_and_the_phase_of_thirty() {
    for (rate, tenth, phase) in [
        (100, 5400, 18_000),
        (110, 4909, 16_364),
        (120, 4500, 15_000),
    ] {
        let value = std::format!("value = {rate}");
        let mut w = started_with(setup_of("example-adult", &[(RATE, &value)]));
        w.until(19_000);
        let beats = w.beats_between(0, 19_000);
        assert_eq!(
            beats[9],
            25 + tenth,
            "{rate}: beat 10 from the anchor at 25 ms"
        );
        assert_eq!(
            beats.iter().filter(|t| **t < 25 + phase).count(),
            30,
            "{rate}"
        );
        // The window begins after 30 whole periods; rounded down, a period may end a ms early.
        assert!(
            w.breaths()[0].abs_diff(25 + phase) <= 1,
            "{rate}: {:?}",
            w.breaths()
        );
    }
}

/// 7: five cycles take 105.0 s at (100, 3 s) and at (120, 6 s), 120.0 s at (100, 6 s); the check comes
/// at 120 s all the same. Source: Nolan 2006 (five cycles: median 105 s, 92-112).
#[test]
fn the_check_comes_by_the_clock_and_not_after_five_cycles() {
    for (rate, window, five) in [(100, 3, 105_000), (120, 6, 105_000), (100, 6, 120_000)] {
        let changes = [
            (RATE, std::format!("value = {rate}")),
            (WINDOW, std::format!("[breaths.window_s]\nvalue = {window}")),
        ];
        let changes: Vec<(&str, &str)> = changes.iter().map(|(a, b)| (*a, b.as_str())).collect();
        let mut w = started_with(setup_of("example-adult", &changes));
        w.until(125_000);
        let firsts = w
            .beats
            .iter()
            .filter(|(_, k)| *k == ::beat::Kind::BeatFirst);
        let firsts: Vec<u64> = firsts.map(|(t, _)| *t).collect();
        assert_eq!(firsts[5], 25 + five, "{rate}, {window} s");
        assert_eq!(w.said("chk_now"), [120_000], "{rate}, {window} s");
    }
}

/// 15: the first breath 6.000 s after the switch, then every 6.000 s: 20 in two minutes, by the clock and
/// not by counting beats. Source: adult algorithm 2020.
#[test]
fn breaths_with_an_airway_come_by_the_clock() {
    for rate in [100, 110, 120] {
        let value = std::format!("value = {rate}");
        let mut w = started_with(setup_of("example-adult", &[(RATE, &value)]));
        // In the first phase of compressions, so that no tone of a window is among them.
        w.key(10_000, Act::AirwayIn).until(130_001);
        let expected: Vec<u64> = (1..=20).map(|n| 10_000 + n * 6000).collect();
        assert_eq!(w.breaths(), expected, "{rate}");
    }
}

/// 16: 15 compressions in 9.00, 8.18 and 7.50 s; a child's tube breaths every 2-3 s; a newborn's events
/// every 0.500 s, 90 and 30 a minute. Source: professional manual's CPR table; child 2020 update;
/// newborn: an EMS protocol.
#[test]
fn a_child_and_a_newborn_have_their_own_numbers() {
    for (rate, phase) in [(100, 9000), (110, 8182), (120, 7500)] {
        let value = std::format!("value = {rate}");
        let mut w = Walk::with(setup_of("example-child", &[(RATE, &value)]));
        w.input(Ms::ZERO, Input::Start(Way::Hand));
        w.key(0, Act::StartByHand).until(12_000);
        let first = w.beats_between(0, 12_000)[0];
        let fifteen = w.beats.iter().filter(|(t, _)| *t < first + phase);
        assert_eq!(
            fifteen.filter(|(_, k)| *k != ::beat::Kind::Breath).count(),
            15
        );
        assert!(
            w.breaths()[0].abs_diff(first + phase) <= 1,
            "{:?}",
            w.breaths()
        );
    }
    let mut w = Walk::with(setup_of("example-child", &[]));
    w.input(Ms::ZERO, Input::Start(Way::Hand));
    w.key(0, Act::StartByHand)
        .key(2000, Act::AirwayIn)
        .until(62_000);
    let every: Vec<u64> = w.breaths().windows(2).map(|p| p[1] - p[0]).collect();
    assert!(
        every.iter().all(|ms| (2000..=3000).contains(ms)),
        "{every:?}"
    );

    let mut w = Walk::with(setup_of("example-newborn", &[]));
    w.input(Ms::ZERO, Input::Start(Way::Hand));
    w.key(0, Act::StartByHand).until(60_025);
    let beats = w.beats_between(25, 60_025);
    let breaths = w
        .breaths()
        .iter()
        .filter(|t| (25..60_025).contains(*t))
        .count();
    assert_eq!((beats.len(), breaths), (90, 30));
    assert_eq!(beats[..4], [25, 525, 1025, 2025]);
}

/// 17: not due before 180 s, due to 300 s, late after, from the last dose. Source: every 3-5 min, adult
/// algorithm 2020.
#[test]
fn adrenaline_is_not_due_then_due_then_late() {
    let mut w = started();
    check(&mut w, 20_000, no_shock());
    assert_eq!(
        w.drug("adrenaline"),
        DrugWord::Due,
        "not shockable: at once"
    );
    w.mark(30_000, drug("adrenaline"));
    for (after, stands) in [
        (179_000, DrugWord::NotDue),
        (180_000, DrugWord::Due),
        (299_000, DrugWord::Due),
        (300_000, DrugWord::Late),
    ] {
        w.until(30_000 + after);
        assert_eq!(w.drug("adrenaline"), stands, "{after} ms after the dose");
    }
    w.mark(340_000, drug("adrenaline")).until(350_000);
    assert_eq!(w.drug("adrenaline"), DrugWord::NotDue);
    w.mark(400_000, drug("adrenaline")).until(401_000);
    assert_eq!(
        w.drug("adrenaline"),
        DrugWord::Doubled,
        "60 s after the last"
    );
}

/// 17: the first dose: after shock 3 where the protocol says three, after shock 2 where it says two.
/// Source: advanced life support 2021 (three); the other from memory.
#[test]
fn the_first_dose_waits_for_the_protocol_s_shock() {
    for (id, number) in [("example-adult", 2), ("example-adult-b", 3)] {
        let mut w = started_with(setup_of(id, &[]));
        for n in 1..=3 {
            check(&mut w, n * 126_000, shock(false));
            let stands = if n < number {
                DrugWord::NotAsked
            } else {
                DrugWord::Due
            };
            assert_eq!(w.drug("adrenaline"), stands, "{id}, shock {n}");
        }
        w.until(500_000);
        let due = number * 126_000 + 6000;
        let spoken = w.said("drug_due");
        assert!(
            spoken[0] >= due && spoken[0] < due + 5000,
            "{id}: {spoken:?}"
        );
    }
}

/// 17: signs of life hold the drug back until the next check. Source: UK advanced life support
/// questions, as quoted.
#[test]
fn signs_of_life_hold_the_drug_back_until_the_next_check() {
    let mut w = started();
    check(&mut w, 20_000, no_shock());
    w.mark(30_000, drug("adrenaline"));
    w.key(200_000, Act::SignsOfLife).until(215_000);
    assert_eq!(w.drug("adrenaline"), DrugWord::Withheld);
    assert_eq!(
        w.said("drug_due").len(),
        1,
        "the first dose alone: {:?}",
        w.said("drug_due")
    );
    check(&mut w, 220_000, no_shock());
    w.until(230_000);
    assert_eq!(w.drug("adrenaline"), DrugWord::Due);
}

/// 18, N1: VF, VF, PEA, VF, VF, PEA, VF: after total shock 3 and total shock 5, and never again.
/// Source: UK advanced life support 2025, as quoted.
#[test]
fn the_drug_by_shocks_comes_after_the_third_and_the_fifth() {
    let mut w = started_with(setup_of("example-adult-b", &[]));
    let rhythms = [true, true, false, true, true, false, true];
    for (n, is_vf) in (1..).zip(rhythms) {
        let result = if is_vf { shock(false) } else { no_shock() };
        check(&mut w, n * 126_000, result);
        if w.drug("antiarrhythmic") == DrugWord::Due {
            w.mark(n * 126_000 + 20_000, drug("antiarrhythmic"));
        }
    }
    w.until(8 * 126_000);
    // Total shock 3 is the fourth check, total shock 5 the seventh.
    assert_eq!(
        w.shown("drug_next"),
        [4 * 126_000 + 6000, 7 * 126_000 + 6000]
    );
    assert_eq!(
        w.drug("antiarrhythmic"),
        DrugWord::Withheld,
        "never a third"
    );
}

/// 19: numbers at 5 (if set), 10, 15, 20, then every 10 s; a pause of 7 s hears no "ten", one of 9.9 s
/// neither, one of 10.1 s does. Source: Levy 2015 (7 v 21 s); no interruption above 10 s, 2020.
#[test]
fn pauses_hear_their_numbers_and_short_ones_none() {
    let pause = |length: u64| {
        let mut w = started_with(setup_of("example-adult-b", &[]));
        w.key(20_000, Act::HandsOff)
            .key(20_000 + length, Act::HandsOn)
            .until(100_000);
        let off = w.heard.iter().filter(|(_, n)| n.starts_with("off"));
        off.map(|(t, n)| (*t - 20_000, n.clone()))
            .collect::<Vec<_>>()
    };
    let words = |length| {
        pause(length)
            .into_iter()
            .map(|(_, n)| n)
            .collect::<Vec<_>>()
    };
    assert_eq!(words(7000), ["off05"]);
    assert_eq!(words(9900), ["off05"]);
    assert_eq!(words(10_100), ["off05", "off10"]);
    assert_eq!(words(15_000), ["off05", "off10"]);
    assert_eq!(words(21_000), ["off05", "off10", "off15", "off20"]);
    let long = pause(61_500);
    assert_eq!(
        long.iter().map(|(t, _)| *t).collect::<Vec<_>>(),
        [5000, 10_000, 15_000, 20_000, 30_000, 40_000, 50_000, 60_000]
    );
}

/// N2: three stacked shocks in a monitored arrest count as one: adrenaline after the stack and two
/// more. Source: UK advanced life support 2025, as quoted.
#[test]
fn a_stack_counts_as_one_shock() {
    let mut w = started_with(setup_of("example-adult-b", &[]));
    w.key(5000, Act::HandsOffCheck);
    w.mark(8000, shock(true))
        .mark(14_000, shock(true))
        .mark(20_000, shock(true));
    w.key(21_000, Act::HandsOn).until(60_000);
    assert_eq!(w.drug("adrenaline"), DrugWord::NotAsked);
    assert_eq!(
        w.run.view(w.now).shocks,
        3,
        "all of them are counted as shocks"
    );
    check(&mut w, 140_000, shock(false));
    assert_eq!(w.drug("adrenaline"), DrugWord::NotAsked);
    check(&mut w, 266_000, shock(false));
    assert_eq!(
        w.drug("adrenaline"),
        DrugWord::Due,
        "the stack and two more"
    );
}

/// N3: two shocks before arrival and one by us: trigger 3 fires on ours; a dose two minutes before
/// arrival is not due for 60 s more. Source: totals rule, UK 2025 as quoted; 3-5 min, 2020.
#[test]
fn what_was_given_before_us_counts() {
    let prior = |shocks, doses| {
        Mark::Run(RunMark::PriorCare(PriorCare {
            shocks: Some(shocks),
            doses,
            began_min: Some(6),
            ..PriorCare::default()
        }))
    };
    let mut w = started_with(setup_of("example-adult-b", &[]));
    w.mark(3000, prior(2, Vec::new()));
    assert_eq!(w.drug("adrenaline"), DrugWord::NotAsked);
    check(&mut w, 20_000, shock(false));
    assert_eq!(w.drug("adrenaline"), DrugWord::Due);
    assert_eq!(w.run.view(w.now).shocks, 3);

    let mut w = started_with(setup_of("example-adult-b", &[]));
    let dose = PriorDose {
        drug: "adrenaline".into(),
        n: 1,
        last_min: Some(2),
    };
    w.mark(0, prior(2, std::vec![dose]));
    for (t, stands) in [(59_000, DrugWord::NotDue), (60_000, DrugWord::Due)] {
        w.until(t);
        assert_eq!(w.drug("adrenaline"), stands, "at {t}");
    }
    let card = w.run.view(w.now).hand_over.unwrap();
    assert_eq!(card.arrest, Some(-360_000));
    assert_eq!(card.doses[0].last, Some(-120_000));
}

/// N4: below 30 degrees no due prompt, shocks flagged at 3, the other drug once; 30-35: 360-600 s;
/// above 35: 180-300 s. Source: UK special circumstances 2025, as quoted.
#[test]
fn the_cold_withholds_or_stretches() {
    let cold = |band| {
        Mark::Run(RunMark::Overlay {
            kind: Overlay::Cold,
            on: true,
            temp_band: Some(band),
        })
    };
    let mut w = started_with(setup_of("example-adult-b", &[]));
    w.mark(1000, cold(TempBand::Below30));
    for n in 1..=5 {
        check(&mut w, n * 126_000, shock(false));
        let flagged = w.run.view(w.now).asks.contains(&Ask::ColdShocks);
        assert_eq!(flagged, n >= 3, "after shock {n}");
        if w.drug("antiarrhythmic") == DrugWord::Due {
            w.mark(n * 126_000 + 20_000, drug("antiarrhythmic"));
        }
    }
    w.until(6 * 126_000);
    assert!(w.said("drug_due").is_empty());
    assert_eq!(w.drug("adrenaline"), DrugWord::Withheld);
    assert_eq!(w.shown("drug_next").len(), 1, "once");

    for (band, due, late) in [
        (TempBand::From30To35, 360_000, 600_000),
        (TempBand::Above35, 180_000, 300_000),
    ] {
        let mut w = started_with(setup_of("example-adult-b", &[]));
        w.mark(1000, cold(band)).mark(20_000, drug("adrenaline"));
        for (after, stands) in [
            (due - 1, DrugWord::NotDue),
            (due, DrugWord::Due),
            (late - 1, DrugWord::Due),
            (late, DrugWord::Late),
        ] {
            w.until(20_000 + after);
            assert_eq!(w.drug("adrenaline"), stands, "{band:?}, {after} ms");
        }
    }
}

/// N5: nothing asks for a check in the 120 s after a shock; CO2 from 18 to 45 raises nothing.
/// Source: ILCOR BLS 345; European guidelines 2025, as quoted.
#[test]
fn nothing_asks_for_a_check_after_a_shock_nor_because_of_co2() {
    let mut w = started();
    check(&mut w, 126_000, shock(false));
    let co2 = |value: &str| {
        Mark::Air(AirMark::Etco2 {
            value: value.into(),
            unit: "mmHg".into(),
        })
    };
    w.mark(150_000, co2("18")).mark(170_000, co2("45"));
    // 132 s is the shock; the heads-up of the next check comes 90 s later.
    w.until(132_000 + 89_000);
    let after: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(t, _)| *t > 132_000)
        .collect();
    assert_eq!(after, []);
    let card = w.run.view(w.now).hand_over.unwrap().co2.unwrap();
    assert_eq!((&*card.first, &*card.low, &*card.now), ("18", "18", "45"));
    w.until(253_000);
    assert_eq!(w.said("chk_now"), [120_000, 252_000]);
}

/// N9: 30 s of breaths, then 3:1; the heart rate every 60 or 30 s; no two-minute cue and no adult timer.
/// Source: newborn course of 2025, as quoted; newborn life support questions.
#[test]
fn a_newborn_has_breaths_first_and_its_own_looks() {
    for (recheck, looks) in [
        (60, std::vec![30_000, 90_000, 150_000]),
        (30, std::vec![30_000, 60_000]),
    ] {
        let value = std::format!("[newborn.recheck_s]\nvalue = {recheck}");
        let change = [("[newborn.recheck_s]\nvalue = 60", value.as_str())];
        let mut w = Walk::with(setup_of("example-newborn", &change));
        w.input(Ms::ZERO, Input::Start(Way::Hand));
        w.key(0, Act::StartWithBreaths).until(200_000);
        assert!(w.beats_between(0, 30_025).is_empty(), "breaths alone");
        let breaths: Vec<u64> = w.breaths().into_iter().filter(|t| *t < 30_000).collect();
        assert_eq!(breaths[..3], [1500, 3000, 4500]);
        assert_eq!(w.beats_between(0, 31_600), [30_025, 30_525, 31_025]);
        let said = w.said("hr_now");
        assert_eq!(said[..looks.len()], looks[..], "{recheck} s");
        let adult = w.voices().into_iter().filter(|(_, n)| *n != "hr_now");
        assert_eq!(adult.collect::<Vec<_>>(), [], "{recheck} s");
    }
    let mut w = Walk::with(setup_of("example-newborn", &[]));
    w.input(Ms::ZERO, Input::Start(Way::Hand));
    w.key(0, Act::StartWithBreaths).key(31_000, Act::HandsOn);
    w.mark(
        40_000,
        Mark::Check(CheckMark::HeartRate {
            band: HeartRate::Below60,
        }),
    );
    w.until(101_000);
    assert_eq!(
        w.said("hr_now"),
        [30_000, 100_000],
        "60 s after it was counted"
    );
}

/// N10: six stages, six cup checks; a swap of 25 s is one pause with its numbers and no other voice.
/// Source: Joergens 2021 (six stages); no interruption above 10 s, 2020.
#[test]
fn each_stage_asks_for_the_cup_and_a_swap_is_one_pause() {
    let mut w = by_device();
    w.key(30_000, Act::CupGood);
    for n in 0..6 {
        let t = 40_000 + n * 10_000;
        w.key(t, Act::Moving)
            .key(t + 5000, Act::SetDown)
            .key(t + 8000, Act::CupGood);
    }
    assert_eq!(w.said("cup_down").len(), 6);
    assert_eq!(
        w.run.view(w.now).hand_over.unwrap().state,
        StateWord::ByDevice
    );

    let mut w = by_device();
    w.key(25_000, Act::CupGood)
        .key(30_000, Act::PowerSwap)
        .key(55_000, Act::Swapped);
    w.until(60_000);
    let inside: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(t, _)| (30_000..55_000).contains(t))
        .collect();
    assert_eq!(
        inside,
        [(40_000, "off10"), (45_000, "off15"), (50_000, "off20")]
    );
    let longest = w.run.view(w.now).hand_over.unwrap().longest.unwrap();
    assert_eq!((longest.ms, longest.at), (Ms(25_000), Ms(30_000)));
}
