//! Presses in the real window: each is marked once, and what is kept says the moment of its own pointer event.

use std::{fs, time::Duration};

use serde_json::{Value, json};

use crate::{
    figures::{append, full},
    rig::{Crew, Rig, SoundServer, Told, boot_ms, say},
};

/// A mark may be dated so far from its event, ms: both are told in whole milliseconds, and the page's clock is
/// related to the system's by the quickest of its messages.
const WITHIN_MS: f64 = 20.0;
/// Marks of one press stand at one moment; those of another are further away.
const ONE_PRESS_MS: f64 = 250.0;
/// A second press in one place within 600 ms is a finger that slipped.
const BETWEEN: Duration = Duration::from_millis(650);
/// The acts of a crew that goes on, in the order in which they are looked for.
const KEYS: [&str; 3] = ["Hands Off", "Hands On", "No Shock, Back On"];

/// The page's clock at one moment.
const NOW: &str = "return performance.timeOrigin + performance.now();";

/// The page's clock less the boot clock, ms, and how far that may be wrong: of some questions the one that was
/// answered soonest.
fn page_less_boot(crew: &Crew) -> Told<(f64, f64)> {
    let mut best: Option<(f64, f64)> = None;
    for _ in 0..40 {
        let before = boot_ms()?;
        let page = crew.script(NOW)?.as_f64().ok_or("the page has no clock")?;
        let after = boot_ms()?;
        // Milliseconds since boot are far below 2 to the 53rd.
        let (before, after) = (ms(before)?, ms(after)?);
        let error = (after - before) / 2.0 + 1.0;
        if best.is_none_or(|(_, least)| error < least) {
            best = Some((page - f64::midpoint(before, after), error));
        }
    }
    best.ok_or_else(|| "the page's clock was not asked".to_owned())
}

fn ms(whole: i64) -> Told<f64> {
    whole
        .to_string()
        .parse()
        .map_err(|e| format!("{whole}: {e}"))
}

/// The moments of the crew's marks in a record, ms since boot.
fn marks(record: &str) -> Told<Vec<(String, f64)>> {
    let mut found = Vec::new();
    for line in record.lines() {
        let line: Value = serde_json::from_str(line).map_err(|e| format!("{line}: {e}"))?;
        if line["src"] != "button" {
            continue;
        }
        let mono = line["mono_ms"].as_f64().ok_or("a line without its time")?;
        let back = line["at"]["back_ms"].as_f64().unwrap_or(0.0);
        let kind = line["ev"].as_str().unwrap_or_default().to_owned();
        found.push((kind, mono - back));
    }
    Ok(found)
}

#[test]
fn each_press_is_kept_once_at_the_moment_of_its_own_event() -> Told<()> {
    let presses = if full() { 200 } else { 20 };
    let rig = Rig::new("presses")?;
    let _sound = SoundServer::start(&rig)?;
    let mut crew = Crew::open(&rig)?;
    std::thread::sleep(Duration::from_secs(5));
    let (first, first_error) = page_less_boot(&crew)?;
    crew.press("Start by Hand")?;
    for _ in 1..presses {
        std::thread::sleep(BETWEEN);
        let mut open = None;
        for key in KEYS {
            if crew.can_press(key)? {
                open = Some(key);
                break;
            }
        }
        crew.press(open.unwrap_or("Hands Off"))?;
    }
    std::thread::sleep(Duration::from_secs(1));
    let (last, last_error) = page_less_boot(&crew)?;
    let touches = crew.touches()?;
    assert_eq!(touches.len(), presses, "presses that the page saw");
    crew.close()?;
    let record = rig.records()?.pop().ok_or("no record")?;
    let text = fs::read_to_string(&record).map_err(|e| format!("{}: {e}", record.display()))?;
    let marks = marks(&text)?;

    let (begin, end) = (touches[0].down, touches[presses - 1].down);
    let mut apart = Vec::new();
    let mut faults = Vec::new();
    let mut taken = 0;
    for touch in &touches {
        // The two clocks may part by some parts in a million.
        let part = (touch.down - begin) / (end - begin).max(1.0);
        let event = touch.down - (first + (last - first) * part);
        let own: Vec<_> = marks
            .iter()
            .filter(|(_, at)| (at - event).abs() < ONE_PRESS_MS)
            .collect();
        taken += own.len();
        let Some((_, at)) = own.first() else {
            faults.push(format!("{} at {event:.0}: no mark", touch.name));
            continue;
        };
        if own.iter().any(|(_, other)| (other - at).abs() > 0.5) {
            faults.push(format!("{} at {event:.0}: marks at {own:?}", touch.name));
        }
        apart.push(at - event);
        if (at - event).abs() > WITHIN_MS {
            faults.push(format!(
                "{} at {event:.0}: marked {:.1} ms from it",
                touch.name,
                at - event
            ));
        }
    }
    if taken != marks.len() {
        faults.push(format!(
            "{} marks, {taken} of them are of a press",
            marks.len()
        ));
    }
    apart.sort_by(f64::total_cmp);
    let at =
        |share: usize| apart.get((apart.len() * share / 100).min(apart.len().saturating_sub(1)));
    let figures = json!({
        "n": apart.len(), "marks": marks.len(),
        "mark_less_event_ms": {"min": apart.first(), "p50": at(50), "p95": at(95), "max": apart.last()},
        "clocks_error_ms": first_error.max(last_error), "faults": faults.len(),
    });
    say(&format!("presses: {figures}"));
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    if full() {
        append(
            "presses in the window, kept time less event time",
            &figures,
            presses,
        )?;
    }
    Ok(())
}
