//! Rehearsals held against sounds that were worked out in another language from script and protocol.

use std::{
    fs,
    path::{Path, PathBuf},
};

use serde_json::{Value, json};

use crate::{
    figures::full,
    rig::{Told, built, patient, python, root, say},
};

/// A script's rehearsal, and what its protocol says of it.
#[derive(Clone, Copy)]
pub(crate) struct Rehearsed<'a> {
    script: &'a Path,
    folder: &'a Path,
}

impl<'a> Rehearsed<'a> {
    /// Rehearses; WAV, record, and cue list lie in the folder then.
    pub(crate) fn new(script: &'a Path, folder: &'a Path) -> Told<Self> {
        let this = Self { script, folder };
        let output = patient(built("carrybeat")?)
            .arg("rehearse")
            .arg(script)
            .args(["--wav".as_ref(), this.file("out.wav").as_os_str()])
            .args(["--record".as_ref(), this.record().as_os_str()])
            .args(["--cues".as_ref(), this.cues().as_os_str()])
            .output()
            .map_err(|e| format!("carrybeat rehearse: {e}"))?;
        if !output.status.success() {
            return Err(String::from_utf8_lossy(&output.stderr).into_owned());
        }
        Ok(this)
    }

    fn file(self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    pub(crate) fn record(self) -> PathBuf {
        self.file("out.rec.jsonl")
    }

    pub(crate) fn cues(self) -> PathBuf {
        self.file("out.cues.json")
    }

    /// Compares the cue list, and the WAV where it is to be listened to, with the calculation.
    pub(crate) fn compare(self, listen: bool) -> Told<String> {
        let protocol = root().join("src-tauri/crates/cycle/protocols/example-adult.toml");
        let manifest = root().join("sounds/en-US/manifest.json");
        let expected = python(
            "expected.py",
            &[
                self.script.as_os_str(),
                "--protocol".as_ref(),
                protocol.as_os_str(),
                "--manifest".as_ref(),
                manifest.as_os_str(),
            ],
        )?;
        let list = self.file("expected.json");
        fs::write(&list, expected).map_err(|e| e.to_string())?;
        let wav = self.file("out.wav");
        let wav = if listen {
            wav.as_os_str()
        } else {
            "none".as_ref()
        };
        python(
            "compare_rehearsal.py",
            &[wav, self.cues().as_os_str(), list.as_os_str()],
        )
    }
}

fn compare(name: &str, script: &Value, listen: bool) -> Told<()> {
    let folder = std::env::temp_dir().join(format!("carrybeat-{name}-{}", std::process::id()));
    fs::create_dir_all(&folder).map_err(|e| e.to_string())?;
    let path = folder.join("script.json");
    fs::write(&path, script.to_string()).map_err(|e| e.to_string())?;
    let figures = Rehearsed::new(&path, &folder)?.compare(listen)?;
    say(&format!("{name}: {}", figures.trim()));
    fs::remove_dir_all(&folder).map_err(|e| e.to_string())
}

fn five_minutes() -> Told<Value> {
    let path = root().join("tests/scripts/five-minutes.json");
    let text = fs::read_to_string(&path).map_err(|e| format!("{}: {e}", path.display()))?;
    serde_json::from_str(&text).map_err(|e| e.to_string())
}

/// The rule: a run that nobody tends goes on. Only Start is tapped, then nobody for twelve minutes. Listening takes
/// as long as the case; the quick form hears the five minutes alone, here with voice off and in the stage
/// `rehearsal` with it on.
#[test]
fn an_untended_run_goes_on() -> Told<()> {
    compare(
        "untended",
        &json!({"name": "untended", "protocol": "example-adult", "end_s": 720, "marks": [
            {"at_s": 0, "ev": "arrest", "d": {"basis": "recognised"}},
            {"at_s": 0, "ev": "compr_start", "d": {"by": "manual"}, "age_ms": 0},
        ]}),
        full(),
    )
}

#[test]
fn the_five_minute_case_is_exact_with_voice_off() -> Told<()> {
    let mut script = five_minutes()?;
    let marks = script["marks"]
        .as_array_mut()
        .ok_or("a script without marks")?;
    marks.insert(
        2,
        json!({"at_s": 0, "ev": "sound", "d": {"what": "voice_off"}}),
    );
    compare("voice-off", &script, true)
}
