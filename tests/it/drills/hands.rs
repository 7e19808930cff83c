//! The hands of a drill's crew: what it touches, by its script, and how it comes to a key.

use std::time::{Duration, Instant};

use serde_json::Value;

use crate::rig::{Crew, Told, wait_for};

/// A key that lies behind Mark is looked for so long before its time.
pub(super) const LOOK: Duration = Duration::from_millis(2_600);
/// What a touch has changed is on the screen after this: two glances would take longer.
const SETTLE: Duration = Duration::from_millis(250);
/// A sheet of keys, or a card, is there within this.
const SHOWN: Duration = Duration::from_secs(3);
/// The End key's hold, with room.
const HOLD_END: Duration = Duration::from_millis(1_700);
/// So many pages of a sheet are looked through.
const PAGES: usize = 6;
/// Hands that are back on so soon after a result without a moment of its own are marked by the result's key.
const TOGETHER_S: f64 = 2.0;

/// Touches that a script has at a limit, or up to a second from one: drill, crew, when, and so much sooner the hand comes.
/// A script is at its time exactly, a touch a little after it.
const SOONER: &[(&str, &str, f64, f64)] = &[
    // Hands on for 0.7667 of the minute, 0.76 wanted: the pause may be 0.4 s longer.
    ("device_on", "forgetful", 81.0, 0.7),
    // Hands back 10 s after the stop, 10 s allowed; the pause is a measure with the same limit.
    ("device_on", "wrong_order", 76.0, 0.7),
    // The device runs 9 s after the stop, 10 s allowed.
    ("device_on", "wrong_order", 99.0, 0.7),
    // Pauses of 9 s, 10 s allowed.
    ("check_and_shock", "good", 129.0, 0.7),
    ("check_and_shock", "forgetful", 129.0, 0.7),
    ("check_and_shock", "wrong_order", 124.0, 0.7),
    // The rhythm called 5 s after the cue, 5 s allowed.
    ("check_and_shock", "wrong_order", 242.0, 0.7),
    // A pause of 10 s, 10 s allowed.
    ("check_and_shock", "wrong_order", 245.0, 0.7),
    // A pause of 10 s, 10 s allowed.
    ("first_minutes", "good", 85.0, 0.7),
    // The rhythm called 5 s after the cue, 5 s allowed.
    ("first_minutes", "wrong_order", 57.0, 0.7),
    // Set down 4 s after the cue, 5 s allowed.
    ("out_to_vehicle", "forgetful", 94.0, 0.7),
    // Hands on 10 s after the cue, 10 s allowed.
    ("slip_and_off", "forgetful", 160.0, 0.7),
    // Hands come off again before the stop is marked, for which a touch more is needed.
    ("slip_and_off", "wrong_order", 153.0, 0.7),
    // The stop marked 5 s after the cue, 5 s allowed.
    ("slip_and_off", "wrong_order", 155.0, 0.7),
];

/// A touch of the crew: the key, when, and for a stop why.
#[derive(Debug, PartialEq)]
pub(super) struct Step {
    pub(super) key: &'static str,
    pub(super) reason: Option<String>,
    pub(super) at_s: f64,
    pub(super) aim_s: f64,
}

/// The key that makes a mark, by what the mark is.
fn key_of(ev: &str, d: &Value) -> Told<&'static str> {
    let word = |field: &str| d[field].as_str().unwrap_or_default();
    Ok(match (ev, word("act"), word("reason"), word("by")) {
        ("fit", ..) => "Fit Device",
        ("fit_refused", _, "other", _) => "Not Now",
        ("compr_stop", _, "device_reseat", _) => "Re-seat",
        ("compr_stop", _, "device_fault", _) => "Device Stopped",
        ("compr_stop", ..) => "Hands Off",
        ("compr_start", _, _, "manual") => "Hands On",
        ("compr_start", ..) => "Device Running",
        ("cup", "good", ..) => "Cup Good",
        ("charge", "begun", ..) => "Charge",
        ("charge", "dumped", ..) => "Charge Dumped",
        ("shock", ..) if d["timed"] == true => "Shock Given",
        ("no_shock", ..) => "No Shock",
        ("pads", ..) => "Pads On",
        ("airway", "in", ..) => "Airway In",
        ("drug", ..) if word("drug") == "adrenaline" => "Epi In",
        ("move", "begin", ..) => "Moving",
        ("move", "set_down", ..) => "Set Down",
        ("move", "loaded", ..) => "Loaded",
        ("power", "swap_begin", ..) => "Power Swap",
        ("power", "swap_end", ..) => "Swapped",
        ("rhythm", ..) if word("rhythm") == "shockable" => "Shockable",
        ("rhythm", ..) if word("rhythm") == "not_shockable" => "Not Shockable",
        other => return Err(format!("no key for {other:?}")),
    })
}

/// The page behind Mark on which a key lies where it is not on the first one.
fn way_to(key: &str) -> &'static str {
    match key {
        "Epi In" | "Airway In" => "Drugs, Airway",
        "Moving" | "Set Down" | "Loaded" => "Moves, Tasks",
        "Hands Off" | "Hands On" | "Device Running" | "Device Stopped" | "Fit Device"
        | "Not Now" | "Cup Good" | "Re-seat" | "Power Swap" | "Swapped" => "On Chest",
        _ => "Rhythm, Pulse",
    }
}

/// What the crew touches after its start, from its script.
pub(super) fn steps_of(drill: &str, crew: &str, script: &Value) -> Told<Vec<Step>> {
    let marks = script["marks"].as_array().ok_or("no marks")?;
    let at = |mark: &Value| mark["at_s"].as_f64().ok_or("a mark without its time");
    let mut steps: Vec<Step> = Vec::new();
    let mut marks = marks.iter().peekable();
    while let Some(mark) = marks.next() {
        let (at_s, ev) = (at(mark)?, mark["ev"].as_str().unwrap_or_default());
        if at_s <= 0.0 || ev == "end" {
            continue;
        }
        let mut key = key_of(ev, &mark["d"])?;
        if ev == "no_shock"
            && let Some(next) = marks.peek()
            && next["ev"] == "compr_start"
            && at(next)? - at_s <= TOGETHER_S
        {
            key = "No Shock, Back On";
            marks.next();
        }
        let reason = mark["d"]["reason"].as_str();
        let sooner = SOONER
            .iter()
            .find(|(of, by, when, _)| (*of, *by) == (drill, crew) && (when - at_s).abs() < 0.01);
        steps.push(Step {
            key,
            reason: reason.filter(|_| key == "Hands Off").map(str::to_owned),
            at_s,
            aim_s: at_s - sooner.map_or(0.0, |(.., by)| *by),
        });
    }
    Ok(steps)
}

/// Turns the pages of a sheet until a key of this name, or one that begins so, can be pressed; gives its name.
pub(super) fn turn_to(crew: &mut Crew, words: &str) -> Told<String> {
    for _ in 0..PAGES {
        let end = Instant::now() + Duration::from_millis(400);
        while Instant::now() < end {
            let open = crew.open_keys()?;
            let whole = open.iter().find(|name| *name == words);
            if let Some(name) = whole.or_else(|| open.iter().find(|name| name.starts_with(words))) {
                return Ok(name.clone());
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        if !crew.can_press("More")? {
            break;
        }
        crew.press("More")?;
    }
    Err(format!("no key {words:?}; {}", shown(crew)?))
}

fn shown(crew: &Crew) -> Told<String> {
    let words = crew.words()?.replace('\n', " | ");
    Ok(format!(
        "the page shows: {words}; its keys: {:?}",
        crew.open_keys()?
    ))
}

/// Brings a key into reach: it is on the card, or lies behind Mark, on its first page or on the page of its kind.
fn reach(crew: &mut Crew, key: &str) -> Told<()> {
    if crew.can_press(key)? {
        return Ok(());
    }
    crew.press("Mark")?;
    let way = way_to(key);
    let found = wait_for(&format!("{key:?} or {way:?}"), SHOWN, || {
        let open = crew.open_keys()?;
        let has = |name: &str| open.iter().any(|other| other == name);
        Ok(if has(key) {
            Some(true)
        } else {
            has(way).then_some(false)
        })
    })
    .map_err(|e| format!("{e}; {}", shown(crew).unwrap_or_default()))?;
    if !found {
        crew.press(way)?;
        let name = turn_to(crew, key)?;
        if name != key {
            return Err(format!("{name:?} is not {key:?}; {}", shown(crew)?));
        }
    }
    Ok(())
}

/// Does a step at its time: the key is looked for before. Gives how much later the finger came down, by the page's clock.
pub(super) fn touch(crew: &mut Crew, step: &Step, zero: Instant) -> Told<Duration> {
    let at = zero + Duration::from_secs_f64(step.aim_s);
    std::thread::sleep(at.saturating_duration_since(Instant::now() + LOOK));
    // By hand no device can stop: hands come off first, and the pause is told as the device's.
    if step.key == "Device Stopped" && crew.words()?.contains("By Hand") {
        crew.press("Hands Off")?;
        std::thread::sleep(SETTLE);
    }
    reach(crew, step.key)?;
    crew.press_at(step.key, at)?;
    let late = crew.touched()?.saturating_duration_since(at);
    std::thread::sleep(SETTLE);
    if let Some(reason) = &step.reason {
        tell(crew, reason)?;
    }
    Ok(late)
}

/// Why hands are off, by the keys of the card: each reason that a script has leads to a card of its own.
fn told(crew: &Crew) -> Told<&'static str> {
    wait_for("the card of the pause", SHOWN, || {
        let open = crew.open_keys()?;
        let has = |name: &str| open.iter().any(|other| other == name);
        Ok(if has("Shock Given") {
            Some("rhythm_check")
        } else if has("Check") {
            Some("unknown")
        } else {
            (has("Hands On") && has("Device Running")).then_some("device_fit")
        })
    })
    .map_err(|e| format!("{e}; {}", shown(crew).unwrap_or_default()))
}

/// Says why hands are off, where the key that took them off has not said so.
fn tell(crew: &mut Crew, reason: &str) -> Told<()> {
    if told(crew)? == reason {
        return Ok(());
    }
    let key = match reason {
        "rhythm_check" => "Check",
        "device_fit" => "Fitting",
        other => return Err(format!("no key for the reason {other}")),
    };
    if !crew.can_press(key)? {
        crew.press("Set Right")?;
        crew.press("Why Off")?;
        turn_to(crew, key)?;
    }
    crew.press(key)?;
    wait_for(&format!("a pause for {reason}"), SHOWN, || {
        Ok((told(crew)? == reason).then_some(()))
    })
}

/// Ends the drill.
pub(super) fn end(crew: &mut Crew) -> Told<()> {
    if !crew.can_press("Hold to End")? {
        crew.press("Mark")?;
        turn_to(crew, "Hold to End")?;
    }
    crew.hold("Hold to End", HOLD_END)?;
    // A hand that the machine has shaken off holds once more.
    let ends = |crew: &Crew| {
        wait_for("the ways to end", SHOWN, || {
            Ok(crew.can_press("Handed Over")?.then_some(()))
        })
    };
    if ends(crew).is_err() {
        crew.hold("Hold to End", HOLD_END)?;
    }
    crew.press("Handed Over")
}
