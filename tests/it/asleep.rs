//! The screen is off and nothing is to be heard: sound and clock are alive all the same.

use std::{fs, time::Duration};

use serde_json::Value;

use crate::{
    figures::{full, note},
    rig::{Capture, Crew, Rig, SoundServer, Told, boot_ms, pages_of, python, say, send, wait_for},
};

/// Half an hour, or three life tones of it.
fn span() -> Duration {
    if full() {
        Duration::from_mins(30)
    } else {
        Duration::from_secs(36)
    }
}

/// The rule: silence that is meant keeps stream and clock alive. A phone with its screen off pauses the page;
/// here the processes that draw it stand still.
#[test]
fn silence_by_design_with_the_screen_off_keeps_stream_and_clock_alive() -> Told<()> {
    let rig = Rig::new("asleep")?;
    let _sound = SoundServer::start(&rig)?;
    let mut crew = Crew::open(&rig)?;
    let capture = Capture::start(&rig, "asleep.wav")?;
    crew.press("Device On")?;
    std::thread::sleep(Duration::from_secs(2));
    let pages = pages_of(crew.pid())?;
    if pages.is_empty() {
        return Err("no process draws the page".to_owned());
    }
    for page in &pages {
        send(*page, "STOP")?;
    }
    let began = boot_ms()?;
    std::thread::sleep(span());
    let slept = boot_ms()? - began;
    for page in &pages {
        send(*page, "CONT")?;
    }
    crew.press("Paused")?;
    let pressed = boot_ms()?;
    std::thread::sleep(Duration::from_secs(1));
    crew.close()?;
    let wav = capture.finish()?;
    let lines = lines_of(&rig)?;
    let of = |ev: &str| lines.iter().filter(|line| line["ev"] == ev).count();
    let beats = of("heartbeat");
    let wanted = usize::try_from(slept / 10_000).unwrap_or(0);
    assert!(
        beats >= wanted && of("gap") == 0 && of("sound") == 0,
        "{beats} heartbeats of {wanted}, {} gaps, {} losses of sound",
        of("gap"),
        of("sound"),
    );
    let stop = lines.iter().find(|line| line["ev"] == "compr_stop");
    let at = stop.and_then(|line| line["mono_ms"].as_i64());
    let off = at.map(|at| pressed - at);
    assert!(
        off.is_some_and(|off| (0..2000).contains(&off)),
        "the mark after the sleep stands {off:?} ms from its press"
    );
    let records = rig.records()?;
    let record = records.first().ok_or("no record was kept")?;
    let judged = python("judge_life.py", &[wav.as_os_str(), record.as_os_str()]);
    match &judged {
        Ok(text) | Err(text) => say(text.trim()),
    }
    note("silent by design, screen off", &judged?, 0)
}

/// The rules: the run goes on without anybody looking, and the page comes back by itself.
#[test]
fn the_page_s_process_killed_leaves_the_beat_alone_and_is_drawn_anew() -> Told<()> {
    let mut rig = Rig::new("page-gone")?;
    let sound = SoundServer::start(&rig)?;
    let mut crew = Crew::open(&rig)?;
    let capture = Capture::start(&rig, "page.wav")?;
    crew.press("Start by Hand")?;
    crew.press("Airway In")?;
    std::thread::sleep(Duration::from_secs(4));
    for page in pages_of(crew.pid())? {
        send(page, "KILL")?;
    }
    let gone = boot_ms()?;
    // What the page says once it is there again stands in the record.
    let page = |on: bool| -> Told<Option<i64>> {
        let lines = lines_of(&rig)?;
        let of = |line: &&Value| {
            line["ev"] == "around" && line["d"]["what"] == "page" && line["d"]["on"] == on
        };
        Ok(lines
            .iter()
            .find(of)
            .and_then(|line| line["mono_ms"].as_i64()))
    };
    let told = wait_for(
        "the page's end in the record",
        Duration::from_secs(5),
        || page(false),
    )?;
    let back = wait_for(
        "the page in the record again",
        Duration::from_secs(15),
        || page(true),
    )?;
    std::thread::sleep(Duration::from_secs(3));
    crew.signal("TERM")?;
    let wav = capture.finish()?;
    // The driver's page is gone with the process.
    drop(crew);
    say(&format!(
        "page killed: told after {} ms, drawn anew after {} ms",
        told - gone,
        back - gone
    ));
    drop(sound);
    rig.rest();
    let judged = python("judge_even.py", &[wav.as_os_str()]);
    match &judged {
        Ok(text) | Err(text) => say(text.trim()),
    }
    judged?;
    assert!(
        told - gone <= 1000,
        "told after {} ms, allowed 1 s",
        told - gone
    );
    Ok(())
}

/// The lines of the rig's one record so far; a line that is being written is left out.
fn lines_of(rig: &Rig) -> Told<Vec<Value>> {
    let records = rig.records()?;
    let [record] = records.as_slice() else {
        return Err(format!("one record was to be kept: {records:?}"));
    };
    let text = fs::read_to_string(record).map_err(|e| format!("{}: {e}", record.display()))?;
    Ok(text
        .lines()
        .filter_map(|line| serde_json::from_str(line).ok())
        .collect())
}
