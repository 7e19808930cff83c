//! A case played in the real window, its sound captured and judged by other code.
//!
//! What was played is kept in a folder and judged from there, so that it can be judged again.

use std::{
    collections::BTreeSet,
    fs,
    path::{Path, PathBuf},
    time::{Duration, Instant},
};

use serde_json::{Value, json};

use crate::{
    figures::{figures_of, note},
    rig::{Capture, Crew, Rig, SoundServer, Told, python, say, wait_for},
    untended::Rehearsed,
};

/// The End key's hold, with room.
const HOLD_END: Duration = Duration::from_millis(1_700);
/// How far a mark's time in the record may lie from the page's own event.
const TAP_WITHIN_MS: f64 = 60.0;
/// The picture of the hand-over card, where a case opens it.
pub(crate) const CARD: &str = "hand-over.png";
/// Between the touches before Start.
const BEFORE_START: Duration = Duration::from_secs(1);

#[test]
#[ignore = "five minutes of real time; the cut of three minutes goes through the same rooms"]
fn five_minutes_in_the_window() -> Told<()> {
    let case = "five-minutes";
    let folder = fresh(case)?;
    play(case, &folder)?;
    let (said, taps) = judge(case, &folder)?;
    note(case, &said.to_string(), taps)?;
    fs::remove_dir_all(&folder).map_err(|e| e.to_string())
}

/// An empty folder for what a case leaves, for this run alone.
pub(crate) fn fresh(case: &str) -> Told<PathBuf> {
    let folder =
        std::env::temp_dir().join(format!("carrybeat-played-{case}-{}", std::process::id()));
    empty(&folder)?;
    Ok(folder)
}

/// Makes a folder, and makes it empty.
pub(crate) fn empty(folder: &Path) -> Told<()> {
    if folder.exists() {
        fs::remove_dir_all(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    }
    fs::create_dir_all(folder).map_err(|e| format!("{}: {e}", folder.display()))
}

/// Whether a case was played to its end into this folder.
pub(crate) fn is_played(folder: &Path) -> bool {
    folder.join("touches.json").is_file()
}

/// Plays a case in the window: every touch is a pointer action on a key that is visible, enabled and under
/// nothing. Leaves the capture, the record and, last of all, the touches.
pub(crate) fn play(case: &str, folder: &Path) -> Told<()> {
    let mut rig = Rig::new(case)?;
    // A new phone: the case begins with the page for new users.
    fs::remove_file(rig.settings()).map_err(|e| e.to_string())?;
    let _sound = SoundServer::start(&rig)?;
    let capture = Capture::start(&rig, "case.wav")?;
    let mut crew = Crew::open(&rig)?;
    // The stream and the page settle before the first touch.
    std::thread::sleep(Duration::from_secs(6));
    let plan = python("judge_case.py", &["plan".as_ref(), case.as_ref()])?;
    let plan: Vec<Value> = serde_json::from_str(&plan).map_err(|e| e.to_string())?;
    let mut began = None;
    let mut makes = Vec::new();
    for step in &plan {
        let name = step["name"].as_str().ok_or("a step without a name")?;
        let at = step["at_s"].as_f64().ok_or("a step without a time")?;
        wait_until(began, at);
        if let Some(sought) = step["unless"].as_str()
            && crew.can_press(sought)?
        {
            continue;
        }
        if name == "Hold to End" {
            crew.hold(name, HOLD_END)?;
        } else {
            crew.press(name)?;
        }
        if name == "Hand Over" {
            std::thread::sleep(Duration::from_secs(1));
            let file = folder.join(CARD);
            fs::write(&file, crew.picture()?).map_err(|e| format!("{}: {e}", file.display()))?;
        }
        makes.push(step["makes"].clone());
        if began.is_none() && at >= 0.0 {
            began = Some(Instant::now());
        }
    }
    std::thread::sleep(Duration::from_secs(2));
    let wav = capture.finish()?;
    rig.wait();
    // A minute after the end, for until then it could be taken back.
    wait_for("the seal", Duration::from_secs(75), || {
        let record = rig.records()?.pop().ok_or("no record")?;
        let text = fs::read_to_string(&record).map_err(|e| e.to_string())?;
        Ok(text.contains(r#""ev":"seal""#).then_some(()))
    })?;
    let touches = crew.touches()?;
    let taps = crew.taps();
    crew.close()?;
    say(&format!("{case}: {taps} taps"));
    assert_eq!(touches.len(), taps, "the page saw {touches:?}");

    let record = rig.records()?.pop().ok_or("no record")?;
    let copy = |from: &Path, to: &str| {
        fs::copy(from, folder.join(to))
            .map(drop)
            .map_err(|e| format!("{}: {e}", from.display()))
    };
    copy(&wav, "case.wav")?;
    copy(&rig.file("case.wav.clock"), "case.wav.clock")?;
    copy(&record, "case.rec.jsonl")?;
    let told: Vec<Value> = touches
        .iter()
        .zip(makes)
        .map(|(t, makes)| json!({"name": t.name, "down": t.down, "up": t.up, "makes": makes}))
        .collect();
    fs::write(folder.join("touches.json"), Value::from(told).to_string()).map_err(|e| e.to_string())
}

/// Until so many seconds after Start; before it, a moment.
fn wait_until(began: Option<Instant>, at_s: f64) {
    let left = match began {
        Some(began) => Duration::from_secs_f64(at_s.max(0.0)).saturating_sub(began.elapsed()),
        None => BEFORE_START,
    };
    std::thread::sleep(left);
}

/// Judges what a case left: its sound against the list, its record's moments against the touches and its marks
/// against the list, its record against the rehearsal of its own marks. Gives the figures and the taps.
pub(crate) fn judge(case: &str, folder: &Path) -> Told<(Value, usize)> {
    let (wav, record, file) = (
        folder.join("case.wav"),
        folder.join("case.rec.jsonl"),
        folder.join("touches.json"),
    );
    let touches: Vec<Value> =
        serde_json::from_str(&fs::read_to_string(&file).map_err(|e| e.to_string())?)
            .map_err(|e| e.to_string())?;
    only_taps_made_marks(
        &fs::read_to_string(&record).map_err(|e| e.to_string())?,
        &touches
            .iter()
            .filter(|t| t["makes"] != "nothing")
            .map(taken)
            .collect::<Told<Vec<f64>>>()?,
    )?;
    // All is judged before anything fails: one run should tell everything.
    let word = |word: &'static str| -> &std::ffi::OsStr { word.as_ref() };
    let heard = python(
        "judge_case.py",
        &[
            word("judge"),
            case.as_ref(),
            wav.as_os_str(),
            file.as_os_str(),
        ],
    );
    let marks = python(
        "judge_case.py",
        &[word("marks"), case.as_ref(), record.as_os_str()],
    );
    let again = rehearse_the_record(folder, &record);
    for told in [&heard, &marks, &again] {
        match told {
            Ok(text) | Err(text) => say(text.trim()),
        }
    }
    let (mut figures, same) = (figures_of(&heard?)?, figures_of(&again?)?);
    marks?;
    figures["record"] = same;
    Ok((figures, touches.len()))
}

/// When a press was taken: finger up, or 800 ms of a held one.
fn taken(touch: &Value) -> Told<f64> {
    let at = |word: &str| {
        touch[word]
            .as_f64()
            .ok_or_else(|| format!("{touch}: no {word}"))
    };
    Ok(at("up")?.min(at("down")? + 800.0))
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

/// The live record told as a script and rehearsed: the two records, and the cue list, are the same.
fn rehearse_the_record(folder: &Path, record: &Path) -> Told<String> {
    let text = python("judge_case.py", &["script".as_ref(), record.as_os_str()])?;
    let script = folder.join("script.json");
    fs::write(&script, text).map_err(|e| e.to_string())?;
    let again = Rehearsed::new(&script, folder)?;
    // The WAV is listened to elsewhere.
    let exact = again.compare(false)?;
    let cues = python(
        "compare_cues_record.py",
        &[again.cues().as_os_str(), record.as_os_str()],
    )?;
    let same = python(
        "compare_records.py",
        &[record.as_os_str(), again.record().as_os_str()],
    )?;
    Ok(format!("{exact}{cues}{same}"))
}
