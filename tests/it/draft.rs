//! The protocol editor of the real window: from the settings to a minute that is heard, and no run begins by it.

use std::time::Duration;

use serde_json::json;

use crate::rig::{Capture, Crew, Rig, SoundServer, Told, python, wait_for};

/// Touches the key that begins with these words, wherever it lies on a long page.
fn go(crew: &mut Crew, words: &str) -> Told<()> {
    let find = format!(
        "const named = (e) => e.innerText.replace(/\\s+/g, ' ').trim();
            const key = [...document.querySelectorAll('button')].find((e) => named(e).startsWith({}));
            key?.scrollIntoView({{ block: 'center' }});
            return key === undefined ? null : named(key);",
        json!(words)
    );
    let name = wait_for(&format!("a key {words:?}"), Duration::from_secs(8), || {
        Ok(crew.script(&find)?.as_str().map(str::to_owned))
    })?;
    crew.press(&name)
}

#[test]
fn a_minute_of_a_copy_is_heard_and_silenced() -> Told<()> {
    let rig = Rig::among("draft")?;
    let _sound = SoundServer::start(&rig)?;
    let mut crew = Crew::open(&rig)?;
    std::thread::sleep(Duration::from_secs(3));
    crew.press("Menu")?;
    crew.press("Settings")?;
    go(&mut crew, "Edit a Protocol")?;
    go(&mut crew, "Example, adult example-adult")?;
    crew.see("No faults.", Duration::from_secs(5))?;
    let kept = rig.settings().with_file_name("protocol-draft.toml");
    let text = std::fs::read_to_string(&kept).map_err(|e| format!("{}: {e}", kept.display()))?;
    assert!(text.contains("id = \"copy-of-example-adult\""), "{text}");
    go(&mut crew, "Draw")?;
    crew.see("Beats: 90", Duration::from_secs(20))?;
    let capture = Capture::start(&rig, "draft.wav")?;
    go(&mut crew, "Play")?;
    std::thread::sleep(Duration::from_secs(8));
    go(&mut crew, "Stop")?;
    std::thread::sleep(Duration::from_secs(1));
    let heard = capture.finish()?;
    // Eight seconds at 110 a minute hold fourteen beats; the first comes once the sound is there.
    python("beats_heard.py", &[heard.as_os_str(), "10".as_ref()])?;
    let capture = Capture::start(&rig, "after.wav")?;
    std::thread::sleep(Duration::from_secs(3));
    let silent = capture.finish()?;
    let none = python("beats_heard.py", &[silent.as_os_str(), "1".as_ref()]);
    assert!(none.is_err(), "it goes on after Stop: {none:?}");
    assert_eq!(rig.records()?.len(), 0, "no run was begun");
    crew.close()
}
