//! Every value of the file lands in its own place of the protocol, in whole milliseconds.

use alloc::{string::String, vec::Vec};

use super::sheet::{ADULT, NEWBORN, change, with_value};
use crate::{
    Ms,
    mark::{AirwayDevice, BreathMode, PatientClass, Ratio},
    prompts::Prompt,
    protocol::{CheckForm, FitWindows, LedBeat, Overlay, Protocol},
};

type Holds = fn(&Protocol) -> bool;

fn lines(list: &[String]) -> bool {
    list == ["one", "two"]
}

const TWO: &str = "[\"one\", \"two\"]";

/// A field, another value than the example's, and where it must be found.
const ADULTS: &[(&str, &str, Holds)] = &[
    ("beat.rate_per_min", "104", |p| p.rate.per_minute() == 104),
    ("start.first_breaths", "5", |p| p.first_breaths == 5),
    ("start.first_breaths_wait_s", "11", |p| {
        p.first_breaths_wait == Ms(11_000)
    }),
    ("breaths.ratio", "\"15:2\"", |p| {
        p.ratio == Ratio::FifteenTwo
    }),
    ("breaths.ratio_alone", "\"15:2\"", |p| {
        p.ratio_alone == Ratio::FifteenTwo
    }),
    ("breaths.window_s", "7", |p| p.window == Ms(7000)),
    ("breaths.every_s", "9", |p| p.breath_every == Ms(9000)),
    ("breaths.mask", "\"continuous\"", |p| {
        p.mask_mode == BreathMode::Continuous
    }),
    ("airway.opa", "\"none\"", |p| {
        p.mode_for(AirwayDevice::Opa) == BreathMode::None
    }),
    ("airway.npa", "\"none\"", |p| {
        p.mode_for(AirwayDevice::Npa) == BreathMode::None
    }),
    ("airway.sga", "\"ratio\"", |p| {
        p.mode_for(AirwayDevice::Sga) == BreathMode::Ratio
    }),
    ("airway.ett", "\"none\"", |p| {
        p.mode_for(AirwayDevice::Ett) == BreathMode::None
    }),
    ("airway.cric", "\"none\"", |p| {
        p.mode_for(AirwayDevice::Cric) == BreathMode::None
    }),
    ("check.every_s", "150", |p| p.check_every == Ms(150_000)),
    ("check.heads_up_s", "15", |p| p.check_heads_up == Ms(15_000)),
    ("check.charge_before_s", "12", |p| {
        p.check_charge == Some(Ms(12_000))
    }),
    ("check.count_from_s", "4", |p| p.check_count_from == 4),
    ("check.overdue_s", "35", |p| p.check_overdue == Ms(35_000)),
    ("check.form", "\"full\"", |p| {
        p.check_form == CheckForm::Full
    }),
    ("check.through_device", "false", |p| !p.check_through_device),
    ("check.rotate", "false", |p| !p.rotate_with_check),
    ("check.led_beat", "\"quiet\"", |p| {
        p.led_beat == LedBeat::Quiet
    }),
    ("hands_off.numbers_s", "[5, 40]", |p| {
        p.off_numbers == [5, 40]
    }),
    ("hands_off.budget_s", "21", |p| p.budgets.any == Ms(21_000)),
    ("hands_off.budget_shock_s", "22", |p| {
        p.budgets.shock == Ms(22_000)
    }),
    ("hands_off.still_every_s", "45", |p| {
        p.still_off_every == Ms(45_000)
    }),
    ("procedure.airway_s", "23", |p| {
        p.budgets.airway == Ms(23_000)
    }),
    ("procedure.access_s", "24", |p| {
        p.budgets.access == Ms(24_000)
    }),
    ("procedure.ultrasound_s", "25", |p| {
        p.budgets.ultrasound == Ms(25_000)
    }),
    ("shock.silence_s", "61", |p| p.shock_silence == Ms(61_000)),
    ("shock.stack_most", "2", |p| p.stack_most == 2),
    ("shock.refractory_after", "4", |p| p.refractory_after == 4),
    ("shock.refractory", TWO, |p| lines(&p.refractory_list)),
    ("device.windows", "\"in_check\"", |p| {
        p.device.windows == FitWindows::InCheck
    }),
    ("device.after_cycles", "3", |p| p.device.after_cycles == 3),
    ("device.reasons", TWO, |p| lines(&p.device.reasons)),
    ("device.not_for", TWO, |p| lines(&p.device.not_for)),
    ("device.roles", TWO, |p| lines(&p.device.roles)),
    ("device.landmarks", TWO, |p| lines(&p.device.landmarks)),
    ("device.before_move", TWO, |p| lines(&p.device.before_move)),
    ("cup.repeat_s", "31", |p| p.cup_repeat == Ms(31_000)),
    ("power.swap_window_s", "62", |p| p.swap_window == Ms(62_000)),
    ("power.by_hand_offer_s", "13", |p| {
        p.by_hand_offer == Ms(13_000)
    }),
    ("power.full_pack_min", "40", |p| {
        p.full_pack == Some(Ms(2_400_000))
    }),
    ("drugs.withhold_awake", "false", |p| !p.withhold_awake),
    ("rosc.list", TWO, |p| lines(&p.rosc_list)),
    ("rosc.recheck_s", "140", |p| p.rosc_recheck == Ms(140_000)),
    ("rosc.breath_tone", "true", |p| p.rosc_breaths),
    ("run.still_running_min", "20", |p| {
        p.still_running == Ms(1_200_000)
    }),
    ("voice.also_spoken", "[\"causes\"]", |p| {
        p.also_spoken == [Prompt::Causes]
    }),
    ("lists.kit", TWO, |p| lines(&p.kit_list)),
    ("lists.make_ready", TWO, |p| lines(&p.ready_list)),
    ("doses.table", TWO, |p| lines(&p.dose_table)),
];

const NEWBORNS: &[(&str, &str, Holds)] = &[
    ("newborn.breaths_first_s", "40", |p| {
        p.newborn.is_some_and(|n| n.breaths_first == Ms(40_000))
            && p.first_breaths_wait == Ms(40_000)
    }),
    ("newborn.breath_every_ms", "1700", |p| {
        p.newborn.is_some_and(|n| n.breath_every == Ms(1700)) && p.breath_every == Ms(1700)
    }),
    ("newborn.recheck_s", "45", |p| {
        p.newborn.is_some_and(|n| n.recheck == Ms(45_000))
    }),
];

fn read(text: &str) -> Protocol {
    Protocol::parse(text.as_bytes()).unwrap()
}

#[test]
fn each_field_lands_in_its_own_place() {
    for (example, fields) in [(ADULT, ADULTS), (NEWBORN, NEWBORNS)] {
        let unchanged = read(example);
        for (field, value, holds) in fields {
            assert!(
                !holds(&unchanged),
                "{field} is {value} in the example already"
            );
            let (text, _) = with_value(example, field, value);
            assert!(holds(&read(&text)), "{field} = {value}");
        }
    }
}

#[test]
fn each_field_of_a_special_situation_or_a_checkpoint_lands_in_its_own_place() {
    let p = read(&change(ADULT, "delivery_by_min = 5", "delivery_by_min = 7"));
    let kind = |kind| p.overlay(kind).unwrap();
    assert_eq!(kind(Overlay::Pregnancy).delivery_by, Some(Ms(420_000)));
    assert_eq!(kind(Overlay::Drowning).first_breaths, Some(2));
    let cold = kind(Overlay::Cold);
    assert_eq!((cold.cold_shocks, cold.cold_factor), (Some(3), Some(2)));
    let doses = (cold.cold_doses_by_time, cold.cold_doses_by_shocks);
    assert_eq!(doses, (Some(0), Some(1)));
    assert_eq!((cold.delivery_by, cold.first_breaths), (None, None));
    let others: Vec<_> = p.other_drugs.iter().map(|(key, _)| key.as_str()).collect();
    let keys = ["bicarbonate", "calcium", "glucose", "magnesium", "naloxone"];
    assert_eq!(others, keys);
    assert_eq!(p.overlays.len(), Overlay::ALL.len());
    assert_eq!(p.minutes[0].lines.len(), 8);
    let (first, words) = &p.device.parts[0];
    assert_eq!(
        (first.as_str(), words.as_str()),
        ("open_on", "Device open and on")
    );
}

#[test]
fn who_the_protocol_is_for_stands_at_the_top() {
    let p = read(&change(ADULT, "version = \"1\"", "version = \"7b\""));
    assert_eq!((p.id.as_str(), p.version.as_str()), ("example-adult", "7b"));
    assert_eq!(
        (p.name.as_str(), p.class),
        ("Example, adult", PatientClass::Adult)
    );
    assert_eq!(p.text.matches("version = \"7b\"").count(), 1);
    let heads = [
        "format = 1\n",
        "id = \"example-adult\"\n",
        "version = \"1\"\n",
        "name = \"Example, adult\"\n",
        "class = \"adult\"\n",
    ];
    for head in heads {
        let text = ADULT.replacen(head, "", 1);
        let found = Protocol::parse(text.as_bytes()).unwrap_err();
        let said: Vec<_> = found
            .iter()
            .map(|f| (f.field.as_str(), f.found.as_str()))
            .collect();
        assert_eq!(said, [(head.split(' ').next().unwrap(), "missing")]);
    }
}
