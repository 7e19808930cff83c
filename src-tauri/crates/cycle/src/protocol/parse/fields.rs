//! Every field of a protocol with its range and unit, group by group.

use alloc::{
    string::{String, ToString},
    vec::Vec,
};

use beat::Rate;
use toml::de::DeValue;

use super::{
    drugs, overlays,
    sheet::Sheet,
    values::{none_or, whole},
};
use crate::{
    Ms,
    mark::{AirwayDevice, BreathMode, PatientClass, Ratio},
    prompts::Prompt,
    protocol::{
        Budgets, CheckForm, DeviceRule, FitWindows, LedBeat, NewbornRule, Protocol,
        rule::{Rule, Whole},
    },
};

/// How many first breaths there may be.
pub(super) const BREATHS: [u8; 3] = [0, 2, 5];
/// Heads-ups before a check that there are words for.
const HEADS_UP: [u8; 2] = [15, 30];
const NUMBERS: [u8; 8] = [5, 10, 15, 20, 30, 40, 50, 60];
const SPOKEN_RATE: Whole = whole(100, 120, "per minute");
/// Compressions and breaths together: 90 and 30.
const NEWBORN_RATE: Whole = whole(120, 120, "per minute");

const NOT_NEWBORN: &str = "nothing of this in a file with class = \"newborn\"";
const NO_DEVICE: &str = "only device.allowed where that is false";

/// Reads all groups, so that every fault is found. Where one was, the values are no protocol.
pub(super) fn read(s: &mut Sheet<'_>) -> Option<Protocol> {
    let mut p = before_reading(s.text(), Rate::new(110).ok()?);
    head(s, &mut p);
    beats(s, &mut p);
    for device in AirwayDevice::ALL {
        let mode = s.word(("airway", device.word()), BreathMode::ALL, BreathMode::word);
        p.airway_modes.extend(mode.map(|mode| (*device, mode)));
    }
    if p.class == PatientClass::Newborn {
        newborn(s, &mut p);
    } else {
        check(s, &mut p);
        device(s, &mut p);
        power(s, &mut p);
        s.set_idle(
            "newborn",
            "nothing of this but in a file with class = \"newborn\"",
        );
    }
    hands_off(s, &mut p);
    shock(s, &mut p);
    put(&mut p.drugs, drugs::drugs(s));
    put(&mut p.other_drugs, s.parts(("drugs", "other")));
    let known = |(key, _): &(String, String)| p.drugs.iter().any(|drug| drug.key == *key);
    if p.other_drugs.iter().any(known) {
        s.wrong_cell(("drugs", "other"), "drugs that have no table of their own");
    }
    put(&mut p.withhold_awake, s.yes(("drugs", "withhold_awake")));
    put(&mut p.overlays, overlays::read(s));
    put(&mut p.minutes, drugs::minutes(s));
    circulation(s, &mut p);
    lists(s, &mut p);
    Some(p)
}

fn put<T>(slot: &mut T, value: Option<T>) {
    if let Some(value) = value {
        *slot = value;
    }
}

fn head(s: &mut Sheet<'_>, p: &mut Protocol) {
    let place = s.top("format");
    let one = |v: &DeValue<'_>| v.as_integer().filter(|n| n.as_str() == "1").map(|_| ());
    let _one: Option<()> = s.read(&place, &Rule::Only("1, the only format known"), one);
    for (key, slot) in [
        ("id", &mut p.id),
        ("version", &mut p.version),
        ("name", &mut p.name),
    ] {
        let place = s.top(key);
        put(slot, s.text_at(&place));
    }
    let place = s.top("class");
    // Without a class the other faults are told as for an adult.
    put(
        &mut p.class,
        s.word_at(&place, PatientClass::ALL, PatientClass::word),
    );
}

fn beats(s: &mut Sheet<'_>, p: &mut Protocol) {
    let is_newborn = p.class == PatientClass::Newborn;
    let rule = if is_newborn {
        NEWBORN_RATE
    } else {
        SPOKEN_RATE
    };
    let rate = s.number(("beat", "rate_per_min"), rule);
    put(&mut p.rate, rate.and_then(|n| Rate::new(n).ok()));
    let ratios: &[Ratio] = if is_newborn {
        &[Ratio::ThreeOne]
    } else {
        &[Ratio::ThirtyTwo, Ratio::FifteenTwo]
    };
    put(
        &mut p.ratio,
        s.word(("breaths", "ratio"), ratios, Ratio::word),
    );
    put(
        &mut p.ratio_alone,
        s.word(("breaths", "ratio_alone"), ratios, Ratio::word),
    );
    let masks: &[BreathMode] = &[BreathMode::Ratio, BreathMode::Continuous];
    put(
        &mut p.mask_mode,
        s.word(("breaths", "mask"), masks, BreathMode::word),
    );
    if is_newborn {
        s.set_idle("start", NOT_NEWBORN);
        return;
    }
    put(
        &mut p.window,
        s.seconds(("breaths", "window_s"), whole(3, 10, "s")),
    );
    // An adult's interval is none of a child's.
    let every = match p.class {
        PatientClass::Adult => whole(5, 10, "s"),
        PatientClass::Child => whole(2, 6, "s"),
        PatientClass::Infant | PatientClass::Newborn => whole(2, 4, "s"),
    };
    put(
        &mut p.breath_every,
        s.seconds(("breaths", "every_s"), every),
    );
    put(
        &mut p.first_breaths,
        s.one_of(("start", "first_breaths"), &BREATHS),
    );
    let wait = s.seconds(("start", "first_breaths_wait_s"), whole(5, 30, "s"));
    put(&mut p.first_breaths_wait, wait);
}

fn newborn(s: &mut Sheet<'_>, p: &mut Protocol) {
    let first = s.seconds(("newborn", "breaths_first_s"), whole(15, 60, "s"));
    let every = s
        .number(("newborn", "breath_every_ms"), whole(1000, 2000, "ms"))
        .map(Ms);
    let recheck = s.seconds(("newborn", "recheck_s"), whole(30, 60, "s"));
    if let (Some(breaths_first), Some(breath_every), Some(recheck)) = (first, every, recheck) {
        p.newborn = Some(NewbornRule {
            breaths_first,
            breath_every,
            recheck,
        });
        (p.breath_every, p.first_breaths_wait) = (breath_every, breaths_first);
    }
    // A breath takes the place of one beat: the rate gives its window.
    let beat = 60_000_u64.checked_div(u64::from(p.rate.per_minute()));
    p.window = Ms(beat.unwrap_or(0));
    let place = s.cell("device", "allowed", "value", false).place;
    let no = |v: &DeValue<'_>| v.as_bool().filter(|yes| !yes);
    put(
        &mut p.device.allowed,
        s.read(&place, &Rule::Only("false for a newborn"), no),
    );
    s.set_idle("device", NO_DEVICE);
    for group in ["check", "cup", "power"] {
        s.set_idle(group, NOT_NEWBORN);
    }
}

fn check(s: &mut Sheet<'_>, p: &mut Protocol) {
    let at = |key| ("check", key);
    put(
        &mut p.check_every,
        s.seconds(at("every_s"), whole(60, 180, "s")),
    );
    let heads_up = s.one_of(at("heads_up_s"), &HEADS_UP);
    put(
        &mut p.check_heads_up,
        heads_up.map(|seconds| Ms::secs(seconds.into())),
    );
    let charge = s.seconds(at("charge_before_s"), none_or(10, 20, "s"));
    p.check_charge = charge.filter(|ms| *ms > Ms::ZERO);
    if p.check_charge
        .is_some_and(|charge| charge >= p.check_heads_up)
    {
        s.wrong_cell(at("charge_before_s"), "less than check.heads_up_s");
    }
    put(
        &mut p.check_count_from,
        s.number(at("count_from_s"), whole(3, 5, "s")),
    );
    put(
        &mut p.check_overdue,
        s.seconds(at("overdue_s"), whole(15, 60, "s")),
    );
    if p.check_heads_up.plus(p.check_overdue) >= p.check_every {
        let allowed = "less than check.every_s, together with check.overdue_s";
        s.wrong_cell(at("heads_up_s"), allowed);
    }
    put(
        &mut p.check_form,
        s.word(at("form"), CheckForm::ALL, CheckForm::word),
    );
    put(&mut p.check_through_device, s.yes(at("through_device")));
    put(&mut p.rotate_with_check, s.yes(at("rotate")));
    let apart = s.seconds(at("rotate_apart_s"), none_or(60, 180, "s"));
    p.rotate_apart = apart.filter(|ms| *ms > Ms::ZERO);
    if p.rotate_apart.is_some() && p.rotate_with_check {
        s.wrong_cell(at("rotate_apart_s"), "0 where check.rotate is true");
    }
    put(
        &mut p.led_beat,
        s.word(at("led_beat"), LedBeat::ALL, LedBeat::word),
    );
}

fn hands_off(s: &mut Sheet<'_>, p: &mut Protocol) {
    put(
        &mut p.off_numbers,
        s.rising(("hands_off", "numbers_s"), &NUMBERS),
    );
    let still = s.seconds(("hands_off", "still_every_s"), whole(10, 60, "s"));
    put(&mut p.still_off_every, still);
    let pause = whole(3, 30, "s");
    let task = whole(5, 60, "s");
    let b = &mut p.budgets;
    put(&mut b.any, s.seconds(("hands_off", "budget_s"), pause));
    put(
        &mut b.shock,
        s.seconds(("hands_off", "budget_shock_s"), pause),
    );
    put(&mut b.airway, s.seconds(("procedure", "airway_s"), task));
    put(&mut b.access, s.seconds(("procedure", "access_s"), task));
    put(
        &mut b.ultrasound,
        s.seconds(("procedure", "ultrasound_s"), task),
    );
}

fn shock(s: &mut Sheet<'_>, p: &mut Protocol) {
    put(
        &mut p.shock_silence,
        s.seconds(("shock", "silence_s"), whole(30, 120, "s")),
    );
    put(
        &mut p.stack_most,
        s.number(("shock", "stack_most"), whole(1, 3, "shocks")),
    );
    let after = s.number(("shock", "refractory_after"), whole(2, 6, "shocks"));
    put(&mut p.refractory_after, after);
    put(&mut p.refractory_list, s.lines(("shock", "refractory")));
}

fn device(s: &mut Sheet<'_>, p: &mut Protocol) {
    let at = |key| ("device", key);
    let d = &mut p.device;
    let allowed = s.yes(at("allowed"));
    put(&mut d.allowed, allowed);
    if allowed == Some(false) {
        s.set_idle("device", NO_DEVICE);
        return;
    }
    put(
        &mut d.windows,
        s.word(at("windows"), FitWindows::ALL, FitWindows::word),
    );
    put(
        &mut d.after_cycles,
        s.number(at("after_cycles"), whole(0, 5, "cycles")),
    );
    put(&mut d.parts, s.parts(at("parts")));
    for (key, slot) in [
        ("reasons", &mut d.reasons),
        ("not_for", &mut d.not_for),
        ("roles", &mut d.roles),
        ("landmarks", &mut d.landmarks),
        ("before_move", &mut d.before_move),
    ] {
        put(slot, s.lines(at(key)));
    }
}

/// Asked for without a device too: a crew may find one running.
fn power(s: &mut Sheet<'_>, p: &mut Protocol) {
    put(
        &mut p.cup_repeat,
        s.seconds(("cup", "repeat_s"), whole(15, 60, "s")),
    );
    put(
        &mut p.swap_window,
        s.seconds(("power", "swap_window_s"), whole(15, 180, "s")),
    );
    put(
        &mut p.by_hand_offer,
        s.seconds(("power", "by_hand_offer_s"), whole(5, 30, "s")),
    );
    let full: Option<u32> = s.number(("power", "full_pack_min"), none_or(15, 180, "min"));
    let full = full.filter(|n| *n > 0);
    p.full_pack = full.map(|n| Ms::secs(n.saturating_mul(60)));
}

fn circulation(s: &mut Sheet<'_>, p: &mut Protocol) {
    put(&mut p.rosc_list, s.lines(("rosc", "list")));
    put(
        &mut p.rosc_recheck,
        s.seconds(("rosc", "recheck_s"), whole(60, 600, "s")),
    );
    put(&mut p.rosc_breaths, s.yes(("rosc", "breath_tone")));
    let still: Option<u32> = s.number(("run", "still_running_min"), whole(10, 60, "min"));
    put(
        &mut p.still_running,
        still.map(|n| Ms::secs(n.saturating_mul(60))),
    );
}

fn lists(s: &mut Sheet<'_>, p: &mut Protocol) {
    let silent: Vec<_> = Prompt::ALL
        .iter()
        .copied()
        .filter(|p| !p.is_spoken())
        .collect();
    let spoken = s.words_of(("voice", "also_spoken"), &silent, Prompt::word);
    put(&mut p.also_spoken, spoken);
    put(&mut p.kit_list, s.lines(("lists", "kit")));
    put(&mut p.ready_list, s.lines(("lists", "make_ready")));
    put(&mut p.dose_table, s.lines(("doses", "table")));
}

/// What stands where a newborn's file says nothing, because nothing of a newborn's run asks for it.
/// The numbers are those of the adult example. All else is read.
fn before_reading(text: &str, rate: Rate) -> Protocol {
    Protocol {
        text: text.to_string(),
        id: String::new(),
        version: String::new(),
        name: String::new(),
        class: PatientClass::Adult,
        rate,
        first_breaths: 0,
        first_breaths_wait: Ms::ZERO,
        ratio: Ratio::ThirtyTwo,
        ratio_alone: Ratio::ThirtyTwo,
        window: Ms::ZERO,
        breath_every: Ms::ZERO,
        mask_mode: BreathMode::Ratio,
        airway_modes: Vec::new(),
        check_every: Ms::secs(120),
        check_heads_up: Ms::secs(30),
        check_charge: None,
        check_count_from: 5,
        check_overdue: Ms::secs(30),
        check_form: CheckForm::Short,
        check_through_device: false,
        rotate_with_check: false,
        rotate_apart: None,
        led_beat: LedBeat::On,
        off_numbers: Vec::new(),
        budgets: Budgets {
            any: Ms::ZERO,
            shock: Ms::ZERO,
            airway: Ms::ZERO,
            access: Ms::ZERO,
            ultrasound: Ms::ZERO,
        },
        still_off_every: Ms::ZERO,
        shock_silence: Ms::ZERO,
        stack_most: 1,
        refractory_after: 0,
        refractory_list: Vec::new(),
        device: DeviceRule {
            allowed: false,
            windows: FitWindows::Two,
            after_cycles: 0,
            reasons: Vec::new(),
            not_for: Vec::new(),
            roles: Vec::new(),
            parts: Vec::new(),
            landmarks: Vec::new(),
            before_move: Vec::new(),
        },
        cup_repeat: Ms::secs(30),
        swap_window: Ms::secs(60),
        by_hand_offer: Ms::secs(10),
        full_pack: None,
        drugs: Vec::new(),
        other_drugs: Vec::new(),
        withhold_awake: false,
        overlays: Vec::new(),
        minutes: Vec::new(),
        rosc_list: Vec::new(),
        rosc_recheck: Ms::ZERO,
        rosc_breaths: false,
        still_running: Ms::ZERO,
        also_spoken: Vec::new(),
        kit_list: Vec::new(),
        ready_list: Vec::new(),
        dose_table: Vec::new(),
        newborn: None,
    }
}
