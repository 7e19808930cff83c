//! `carrybeat rehearse`: a script to a WAV file, a record and a list of every sound.

use std::{
    collections::BTreeMap,
    fs,
    io::{self, BufWriter},
    path::{Path, PathBuf},
};

use audio::{Pack, Sounded, SoundedAs, WavOutlet};
use conduct::{Heads, Rehearsed};
use cycle::{CueSound, Prompt, Protocol, Setup};
use record::{Digest, RunKind, script::Script};
use serde::Serialize;

use crate::heard;

/// Where a rehearsal goes.
pub(crate) struct Outputs {
    pub(crate) wav: PathBuf,
    pub(crate) record: PathBuf,
    pub(crate) cues: PathBuf,
    pub(crate) picture: Option<PathBuf>,
}

/// Of rehearsals; the same for all, so that two of one script are the same to the byte.
pub(crate) const RECORD_ID: &str = "00000000-0000-4000-8000-000000000000";
const HZ: f64 = 48_000.0;

/// Rehearses the script. Nothing is left behind where it fails.
pub(crate) fn run(script: &Path, outputs: &Outputs) -> Result<String, Vec<String>> {
    no_run_is_lost(&outputs.record)?;
    let bytes = read(script, "a script, such as tests/scripts/five-minutes.json")?;
    let parsed = Script::parse(&bytes).map_err(|e| vec![format!("{}: {e}", script.display())])?;
    let voices: Vec<&str> = Pack::voices().collect();
    if !voices.contains(&parsed.lang.as_str()) {
        return Err(vec![format!("lang {:?}, allowed: {voices:?}", parsed.lang)]);
    }
    let pack = Pack::speaking(&parsed.lang);
    let faults: Vec<String> = pack.faults().iter().map(ToString::to_string).collect();
    if !faults.is_empty() {
        return Err(faults);
    }
    let protocol = protocol(script, &parsed)?;
    if protocol.class != parsed.class {
        return Err(vec![format!(
            "class {:?}, allowed with protocol {}: {:?}",
            parsed.class.word(),
            protocol.id,
            protocol.class.word()
        )]);
    }
    let others = protocol
        .examples_beside()
        .map_err(|faults| told(&protocol.id, &faults))?;
    let setup = Setup {
        protocol,
        clips: pack.lengths().clone(),
        class: parsed.class,
        others,
    };
    let part = outputs.wav.with_extension("part");
    let made =
        play(&parsed, setup, &pack, (&outputs.wav, &part)).and_then(|(rehearsed, sounds)| {
            let picture = match &outputs.picture {
                Some(to) => Some((to, heard::picture(&parsed, &rehearsed, &sounds, &part)?)),
                None => None,
            };
            let said = write(outputs, &part, &rehearsed, &sounds)?;
            match picture {
                Some((to, svg)) => keep(to, svg.as_bytes()).map(|()| said),
                None => Ok(said),
            }
        });
    if made.is_err() {
        // What is left of the unfinished file is of no use to anybody; the fault is told above.
        drop(fs::remove_file(&part));
    }
    made
}

/// A rehearsal takes the place of an earlier one, never of a run.
pub(crate) fn no_run_is_lost(record: &Path) -> Result<(), Vec<String>> {
    let Ok(kept) = fs::read(record) else {
        // There is none, or it cannot be read, and then it cannot be written either.
        return Ok(());
    };
    let header = kept.split(|byte| *byte == b'\n').next().unwrap_or_default();
    if kept.is_empty() || String::from_utf8_lossy(header).contains(RECORD_ID) {
        return Ok(());
    }
    Err(vec![format!(
        "--record {}: this file is no rehearsal's record and would be lost; allowed: a name that is not taken",
        record.display()
    )])
}

fn play(
    script: &Script,
    setup: Setup,
    pack: &Pack,
    (wav, part): (&Path, &Path),
) -> Result<(Rehearsed, Vec<Sounded>), Vec<String>> {
    // What was asked for is named, not the file that it is until it is whole.
    let at = |e: &dyn std::fmt::Display| vec![format!("{}: {e}", wav.display())];
    let file = fs::File::create(part).map_err(|e| unwritten(wav, &e))?;
    let mut outlet = WavOutlet::new(BufWriter::new(file), pack).map_err(|e| at(&e))?;
    let heads = Heads {
        kind: RunKind::Rehearsal,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        pack_id: script.lang.clone(),
        pack_sha256: pack.hash().parse().unwrap_or_else(|_| Digest::of(b"")),
        lang: script.lang.clone(),
        tz: "UTC".to_owned(),
        record_id: RECORD_ID.to_owned(),
        scenario: None,
        unit_code: None,
    };
    let rehearsed = conduct::rehearse(script, setup, &heads, &mut outlet)
        .map_err(|e| vec![format!("{}: {e}", script.name)])?;
    let sounds = outlet.finish(rehearsed.end).map_err(|e| at(&e))?;
    Ok((rehearsed, sounds))
}

fn write(
    outputs: &Outputs,
    part: &Path,
    rehearsed: &Rehearsed,
    sounds: &[Sounded],
) -> Result<String, Vec<String>> {
    let list: Vec<CueOut> = sounds.iter().map(CueOut::of).collect();
    let json = serde_json::to_vec_pretty(&list).map_err(|e| vec![e.to_string()])?;
    keep(&outputs.record, &rehearsed.record)?;
    keep(&outputs.cues, &json)?;
    fs::rename(part, &outputs.wav).map_err(|e| unwritten(&outputs.wav, &e))?;
    let mut count: BTreeMap<&str, usize> = BTreeMap::new();
    for cue in &list {
        let n = count.entry(cue.kind).or_default();
        *n = n.saturating_add(1);
    }
    let counted: Vec<String> = count
        .iter()
        .map(|(kind, n)| format!("{n} {kind}"))
        .collect();
    Ok(format!(
        "rehearsed {}: {}",
        rehearsed.end,
        counted.join(", ")
    ))
}

/// The protocol of a script: a built-in one by its name, else a file beside the script.
fn protocol(script: &Path, parsed: &Script) -> Result<Protocol, Vec<String>> {
    let of_class = format!("example-{}", parsed.class.word());
    let name = parsed.protocol.as_deref().unwrap_or(&of_class);
    if let Some(text) = Protocol::example(name) {
        return Protocol::parse(text.as_bytes()).map_err(|faults| told(name, &faults));
    }
    let path = script.parent().unwrap_or_else(|| Path::new("")).join(name);
    let known: Vec<&str> = Protocol::EXAMPLES.iter().map(|(id, _)| *id).collect();
    let what = format!("a file beside the script, or one of {}", known.join(", "));
    let bytes = read(&path, &what)?;
    Protocol::parse(&bytes).map_err(|faults| told(&path.display().to_string(), &faults))
}

fn told(place: &str, faults: &[cycle::ProtocolFault]) -> Vec<String> {
    faults.iter().map(|f| format!("{place}: {f}")).collect()
}

pub(crate) fn keep(path: &Path, bytes: &[u8]) -> Result<(), Vec<String>> {
    fs::write(path, bytes).map_err(|e| unwritten(path, &e))
}

fn unwritten(path: &Path, e: &io::Error) -> Vec<String> {
    let help = if e.kind() == io::ErrorKind::NotFound {
        "a file in a folder that is there: make the folder first"
    } else {
        "a file in a folder with room that this user may write to"
    };
    vec![format!("{}: {e}; allowed: {help}", path.display())]
}

pub(crate) fn read(path: &Path, what: &str) -> Result<Vec<u8>, Vec<String>> {
    fs::read(path).map_err(|e| vec![format!("{}: {e}; allowed: {what}", path.display())])
}

/// One sound of the list.
#[derive(Serialize)]
struct CueOut {
    at_s: f64,
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<&'static str>,
    at_frame: u64,
    len_s: f64,
}

impl CueOut {
    fn of(sound: &Sounded) -> Self {
        let (kind, id) = match sound.what {
            SoundedAs::Score(kind) => (score_kind(kind), None),
            SoundedAs::Cue(_, CueSound::Tone(tone)) => (tone.word(), None),
            SoundedAs::Cue(_, CueSound::Voice(prompt)) => ("voice", Some(Prompt::word(prompt))),
        };
        Self {
            at_s: seconds(sound.at_frame),
            kind,
            id,
            at_frame: sound.at_frame,
            len_s: f64::from(sound.frames) / HZ,
        }
    }
}

fn score_kind(kind: beat::Kind) -> &'static str {
    match kind {
        beat::Kind::BeatFirst => "beat_first",
        beat::Kind::Beat => "beat",
        beat::Kind::BeatLast => "beat_last",
        beat::Kind::Breath => "breath",
    }
}

/// Exact for a run of years: 48,000 * 3600 * 24 * 365 lies far below 2 to the 53rd.
#[expect(
    clippy::as_conversions,
    clippy::cast_precision_loss,
    reason = "see above"
)]
fn seconds(frame: u64) -> f64 {
    frame as f64 / HZ
}
