//! From a touch in the real window to the changed sound, the changed screen and the kept mark. Figures,
//! no limits: other programs may run.

use std::{fs, time::Duration};

use serde_json::json;

use crate::{
    figures::{full, note},
    rig::{Capture, Crew, Rig, SoundServer, Told, boot_ms, python, say},
};

/// The frame after each change of the page, with what the page then says. It changes nothing itself.
const WATCH: &str = r"
if (!window.__shown) {
  window.__shown = [];
  new MutationObserver(() => requestAnimationFrame((t) => {
    const receipt = document.querySelector('.receipt');
    window.__shown.push({ at: performance.timeOrigin + t, text: document.body.innerText,
      kept: receipt !== null && receipt.innerText.includes('Kept') });
  })).observe(document.body, { subtree: true, childList: true, characterData: true });
}
return 0;
";

#[test]
fn a_touch_changes_sound_and_screen() -> Told<()> {
    let mut rig = Rig::new("latency")?;
    let sound = SoundServer::start(&rig)?;
    let capture = Capture::start(&rig, "latency.wav")?;
    let mut crew = Crew::open(&rig)?;
    std::thread::sleep(Duration::from_secs(6));
    crew.script(WATCH)?;
    crew.press("Start by Hand")?;
    std::thread::sleep(Duration::from_secs(2));
    // As many as go before the first check is near: then the answers are others.
    for n in 0..if full() { 96 } else { 20 } {
        crew.press(if n % 2 == 0 { "Hands Off" } else { "Hands On" })?;
        std::thread::sleep(Duration::from_millis(700));
    }
    std::thread::sleep(Duration::from_secs(1));
    let touches: Vec<_> = crew
        .touches()?
        .into_iter()
        .map(|t| json!({"name": t.name, "up": t.up.min(t.down + 800.0)}))
        .collect();
    let shown = crew.script("return window.__shown;")?;
    let taps = crew.taps();
    // The page counts on the wall clock, the capture on the boot clock.
    let wall = std::time::SystemTime::now()
        .duration_since(std::time::UNIX_EPOCH)
        .map_err(|e| e.to_string())?;
    let wall = i64::try_from(wall.as_millis()).map_err(|e| e.to_string())?;
    let events =
        json!({"touches": touches, "shown": shown, "wall_less_boot_ms": wall - boot_ms()?});
    crew.close()?;
    let wav = capture.finish()?;
    let file = rig.file("events.json");
    fs::write(&file, events.to_string()).map_err(|e| e.to_string())?;
    drop(sound);
    rig.rest();
    let judged = python("judge_latency.py", &[wav.as_os_str(), file.as_os_str()]);
    match &judged {
        Ok(text) | Err(text) => say(text.trim()),
    }
    // What is tested lies beside the test.
    let own = std::env::current_exe().map_err(|e| e.to_string())?;
    let is_release = own.components().any(|part| part.as_os_str() == "release");
    let build = if is_release { "release" } else { "dev" };
    note(
        &format!("touch in the window, {build} build"),
        &judged?,
        taps,
    )
}
