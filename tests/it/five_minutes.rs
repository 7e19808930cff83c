//! The case of the main job in the real window, its sound captured and judged by other code.
//!
//! Two cuts of one runner: two minutes always, five minutes with `CARRYBEAT_FULL` set.

use std::{
    collections::BTreeSet,
    fs,
    time::{Duration, Instant},
};

use serde_json::{Value, json};

use crate::{
    figures::note,
    rig::{Capture, Crew, Rig, SoundServer, Told, python, say},
    untended::rehearse_and_compare,
};

/// The End key's hold, with room.
const HOLD_END: Duration = Duration::from_millis(1_700);
/// Presses that make no mark.
const NO_MARK: [&str; 2] = ["Mark", "Hold to End"];
/// How far a mark's time in the record may lie from the page's own event.
const TAP_WITHIN_MS: f64 = 60.0;

#[test]
fn the_case_in_the_window() -> Told<()> {
    if std::env::var_os("CARRYBEAT_FULL").is_some() {
        play("five-minutes")
    } else {
        play("two-minutes")
    }
}

fn play(case: &str) -> Told<()> {
    let rig = Rig::new(case)?;
    let _sound = SoundServer::start(&rig)?;
    let capture = Capture::start(&rig, "case.wav")?;
    let mut crew = Crew::open(&rig)?;
    // The stream and the page settle before the first touch.
    std::thread::sleep(Duration::from_secs(6));
    let plan = python("judge_case.py", &["plan".as_ref(), case.as_ref()])?;
    let plan: Vec<Value> = serde_json::from_str(&plan).map_err(|e| e.to_string())?;
    let mut began = Instant::now();
    for step in &plan {
        let name = step["name"].as_str().ok_or("a step without a name")?;
        let at = Duration::from_secs_f64(step["at_s"].as_f64().ok_or("a step without a time")?);
        std::thread::sleep(at.saturating_sub(began.elapsed()));
        if name == "Hold to End" {
            crew.hold(name, HOLD_END)?;
        } else {
            crew.press(name)?;
        }
        if crew.taps() == 1 {
            began = Instant::now();
        }
    }
    std::thread::sleep(Duration::from_secs(2));
    let touches = crew.touches()?;
    let taps = crew.taps();
    crew.close()?;
    let wav = capture.finish()?;
    say(&format!("{case}: {taps} taps"));
    assert_eq!(touches.len(), taps, "the page saw {touches:?}");

    let told: Vec<Value> = touches
        .iter()
        .map(|t| json!({"name": t.name, "down": t.down, "up": t.up}))
        .collect();
    let file = rig.file("touches.json");
    fs::write(&file, Value::from(told).to_string()).map_err(|e| e.to_string())?;
    let record = rig.records()?.pop().ok_or("no record")?;
    only_taps_made_marks(
        &fs::read_to_string(&record).map_err(|e| e.to_string())?,
        &touches
            .iter()
            .filter(|t| !NO_MARK.contains(&t.name.as_str()))
            .map(|t| t.up.min(t.down + 800.0))
            .collect::<Vec<f64>>(),
    )?;
    // All is judged before anything fails: one run of five minutes should tell everything.
    let heard = python(
        "judge_case.py",
        &[
            "judge".as_ref(),
            case.as_ref(),
            wav.as_os_str(),
            file.as_os_str(),
        ],
    );
    let again = rehearse_the_record(&rig, &record);
    for told in [&heard, &again] {
        match told {
            Ok(text) | Err(text) => say(text.trim()),
        }
    }
    again?;
    note(case, &heard?, taps)
}

/// Every mark came in by a tap: as many moments of marks in the record as marking taps, each where the
/// page saw one.
fn only_taps_made_marks(record: &str, taken: &[f64]) -> Told<()> {
    let mut moments = BTreeSet::new();
    for line in record.lines() {
        let line: Value = serde_json::from_str(line).map_err(|e| e.to_string())?;
        if line["src"].as_str().is_some_and(|src| src != "auto") {
            assert_eq!(line["src"], "button", "a mark that no tap made: {line}");
            moments.insert(line["mono_ms"].as_u64().ok_or("a line without its time")?);
        }
    }
    assert_eq!(
        moments.len(),
        taken.len(),
        "marks at {moments:?}, taps at {taken:?}"
    );
    let (Some(first), Some(zero)) = (moments.first(), taken.first()) else {
        return Err("no mark at all".to_owned());
    };
    for (moment, tap) in moments.iter().zip(taken) {
        let since = u32::try_from(*moment - *first).map_err(|e| e.to_string())?;
        let off = f64::from(since) - (tap - zero);
        assert!(
            off.abs() <= TAP_WITHIN_MS,
            "the mark at {moment} is {off:.0} ms from its tap"
        );
    }
    Ok(())
}

/// The live record told as a script, rehearsed, and compared in both directions.
fn rehearse_the_record(rig: &Rig, record: &std::path::Path) -> Told<String> {
    let script = rig.file("script.json");
    let text = python("judge_case.py", &["script".as_ref(), record.as_os_str()])?;
    fs::write(&script, text).map_err(|e| e.to_string())?;
    let folder = rig.file("again");
    fs::create_dir_all(&folder).map_err(|e| e.to_string())?;
    let exact = rehearse_and_compare(&script, &folder)?;
    let same = python(
        "compare_cues_record.py",
        &[folder.join("out.json").as_os_str(), record.as_os_str()],
    )?;
    Ok(format!("{exact}{same}"))
}
