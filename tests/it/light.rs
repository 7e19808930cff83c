//! The beat light of the real window against captured sound: both on the boot clock, the light as the X server
//! holds it. What is measured is `tests/py/judge_light.py`; nothing of the app's is in it.

use std::time::Duration;

use crate::{
    figures::{append, figures_of, full},
    rig::{Capture, Crew, Helper, Rig, SoundServer, Told, python, root, say},
};

/// Where the light is on the screen, whole pixels.
const PLACE: &str = r"
const light = document.querySelector('.light.shown');
if (light === null) return null;
const { x, y, width, height } = light.getBoundingClientRect();
return [window.screenX + x, window.screenY + y, width, height].map(Math.round);
";

/// The sound's clock is told apart from the system's over some seconds, and the page's by its quickest message.
const SETTLE: Duration = Duration::from_secs(8);

/// Another program may take the machine for the while that is looked at; a light that is late by itself is so
/// each time.
const TRIES: usize = 3;

#[test]
#[ignore = "wants an idle machine: here the page is drawn by the processor"]
fn the_light_comes_with_the_beat() -> Told<()> {
    let seconds = if full() { 60 } else { 15 };
    let mut last = Err("not tried".to_owned());
    for _ in 0..TRIES {
        last = together(seconds);
        let (Ok(said) | Err(said)) = &last;
        say(said.trim());
        // What a try that did not pass has shown is kept as well.
        if full()
            && let Ok(figures) = figures_of(said)
        {
            append("beat light against captured sound", &figures, 1)?;
        }
        if last.is_ok() {
            break;
        }
    }
    last.map(drop)
}

/// Watches light and sound for so long; what the judge says of them.
fn together(seconds: u32) -> Told<String> {
    let rig = Rig::new("light")?;
    let _sound = SoundServer::start(&rig)?;
    let capture = Capture::start(&rig, "light.wav")?;
    let mut crew = Crew::open(&rig)?;
    std::thread::sleep(Duration::from_secs(3));
    crew.press("Start by Hand")?;
    std::thread::sleep(SETTLE);
    let place = crew.script(PLACE)?;
    let place: Vec<String> = place
        .as_array()
        .ok_or("no beat light on the page")?
        .iter()
        .map(ToString::to_string)
        .collect();
    let frames = rig.file("frames");
    let program = std::env::var_os("CARRYBEAT_PYTHON").unwrap_or_else(|| "python3".into());
    let mut command = rig.command(std::path::Path::new(&program));
    command
        .arg(root().join("tests/py/watch_light.py"))
        .args(&place)
        .arg(seconds.to_string())
        .arg(&frames);
    let mut watch = Helper::start("watch_light", command, &rig.out())?;
    let limit = std::time::Instant::now() + Duration::from_secs(u64::from(seconds) + 20);
    while watch.runs() && std::time::Instant::now() < limit {
        std::thread::sleep(Duration::from_millis(100));
    }
    let errors = std::fs::read_to_string(watch.errors()).unwrap_or_default();
    drop(watch);
    crew.close()?;
    let wav = capture.finish()?;
    if !frames.is_file() {
        return Err(format!("no frames were read: {errors}"));
    }
    python("judge_light.py", &[wav.as_os_str(), frames.as_os_str()])
}
