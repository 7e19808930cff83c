//! Every fault of a voice pack at once, for whoever puts recordings of their own into one.
//!
//! `load` lets nothing keep the app from starting; this is what is stricter, before a pack is used.

use std::{collections::BTreeSet, fmt, path::Path};

use cycle::{Class, Prompt};
use serde::Deserialize;

use super::{Clip, LARGEST_MANIFEST, Manifest, Pack, Place, Wrong, read_clip};

/// One fault of a voice pack.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VoiceFault {
    /// The file or the prompt.
    pub place: String,
    /// What was found and what is allowed.
    pub wrong: String,
    /// What to do about it.
    pub remedy: &'static str,
}

impl fmt::Display for VoiceFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}; {}", self.place, self.wrong, self.remedy)
    }
}

/// What a pack says of itself, and everything that is wrong with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VoiceCheck {
    /// The language that the manifest names; empty without one.
    pub pack: String,
    /// Each prompt's id and its text, as listed.
    pub texts: Vec<(String, String)>,
    /// Clips that could be read.
    pub clips: usize,
    /// In the order of the prompts.
    pub faults: Vec<VoiceFault>,
}

/// The manifest's lines that the app itself does without. Every one may be missing here, so that one
/// fault does not hide the others.
#[derive(Deserialize)]
struct Told {
    #[serde(default)]
    pack: String,
    #[serde(default)]
    format: u32,
    #[serde(default)]
    licence: String,
    #[serde(default)]
    clips: Vec<ToldClip>,
}

#[derive(Deserialize)]
struct ToldClip {
    id: String,
    #[serde(default)]
    text: String,
    #[serde(default)]
    ms: Option<u32>,
}

/// `format` of the manifests that this reads.
const FORMAT: u32 = 1;
/// Fewer samples a second lose /s/ and /f/, by which numbers are told apart. Own choice.
const LEAST_HZ: u32 = 16_000;
/// Words a minute, median of the pack. ICAO Doc 9432 asks for at most 100; own choice of the range.
const WORDS_A_MINUTE: (u64, u64) = (95, 120);
/// The largest sample, full scale 32768: -1 dB and -9 dB. The first leaves room for peaks between samples;
/// the second keeps a voice over the beat. Own choice.
const PEAK: (u16, u16) = (11_600, 29_204);
/// Silence before the words in ms: what comes later is late. Own choice.
const MOST_LEAD_MS: u32 = 60;

/// So many faults of a service's own recordings are told at the start. Source: common practice, no source.
const MOST_TOLD: usize = 3;

/// How long the prompt's clip may be in ms. Own choice; what is urgent is short.
const fn longest_ms(prompt: Prompt) -> u32 {
    match (prompt, prompt.class()) {
        (Prompt::ChkCd5 | Prompt::ChkCd4 | Prompt::ChkCd3 | Prompt::ChkCd2 | Prompt::ChkCd1, _) => {
            899
        }
        (_, Class::A | Class::B) => 2800,
        (_, Class::C) => 3600,
        (_, Class::D) => 3000,
    }
}

/// Checks the pack in a folder, or without one the first that the program brings along.
pub fn check_voices(folder: Option<&Path>) -> VoiceCheck {
    let first = || Place::of_voice(Pack::voice_of(""));
    check_place(&folder.map_or_else(first, Place::Folder))
}

/// Checks the pack of a language that the program brings along; see [`Pack::voice_of`].
pub fn check_built_in(lang: &str) -> VoiceCheck {
    check_place(&Place::of_voice(Pack::voice_of(lang)))
}

fn check_place(place: &Place<'_>) -> VoiceCheck {
    let listed = place.name("manifest.json");
    let bytes = place
        .read("manifest.json", LARGEST_MANIFEST)
        .map_err(|e| e.to_string());
    let manifest = bytes
        .as_ref()
        .map_err(Clone::clone)
        .and_then(|b| serde_json::from_slice::<Manifest>(b).map_err(|e| e.to_string()));
    let mut check = VoiceCheck {
        pack: String::new(),
        texts: Vec::new(),
        clips: 0,
        faults: Vec::new(),
    };
    let told = manifest
        .as_ref()
        .map_err(Clone::clone)
        .and(bytes)
        .and_then(|b| serde_json::from_slice::<Told>(&b).map_err(|e| e.to_string()));
    let told = match told {
        Ok(told) => told,
        Err(what) => {
            let wrong = format!("cannot be used: {what}");
            check.add(listed, wrong, "write it as sounds/README.md has it");
            return check;
        }
    };
    check.of_manifest(&listed, &told);
    let mut rates = Vec::new();
    for prompt in Prompt::ALL {
        let id = prompt.word();
        match read_clip(place, id, &manifest) {
            Ok(clip) => {
                check.clips = check.clips.saturating_add(1);
                let entry = told.clips.iter().find(|c| c.id == id);
                check.of_clip(*prompt, &clip, entry);
                let words = entry.map_or(0, |e| e.text.split_whitespace().count());
                rates.push(a_minute(words, clip.ms()));
            }
            Err((file, wrong)) => {
                let place = format!("{id} ({})", place.name(&file));
                let (wrong, remedy) = said(&wrong);
                check.add(place, wrong, remedy);
            }
        }
    }
    rates.sort_unstable();
    let (low, high) = WORDS_A_MINUTE;
    if let Some(median) = rates.get(rates.len() / 2)
        && !(low..=high).contains(median)
    {
        let wrong = format!("{median} words a minute in the median, allowed {low} to {high}");
        check.add(listed, wrong, "speak slower or quicker, or cut the silence");
    }
    check.pack = told.pack;
    check.texts = told.clips.into_iter().map(|c| (c.id, c.text)).collect();
    check
}

impl Pack {
    /// The built-in tones with a service's own recordings of a language: of the folder `voices/LANG`, or of the
    /// language whose voice would stand in, if one is there and has no fault at all. Else the built-in voice speaks, whole, see [`Pack::voice_of`]: half
    /// of each would be two voices in one run.
    pub fn with_own(voices: &Path, lang: &str) -> (Self, Vec<VoiceFault>) {
        let Some(spoken) = Self::own_of(voices, lang) else {
            return (Self::speaking(lang), Vec::new());
        };
        let folder = voices.join(spoken);
        let check = check_voices(Some(&folder));
        let mut faults = check.faults;
        if faults.is_empty() && check.pack != spoken {
            faults.push(VoiceFault {
                place: folder.join("manifest.json").display().to_string(),
                wrong: format!(
                    "pack {:?}, allowed {spoken}, as the folder is named",
                    check.pack
                ),
                remedy: "name folder and pack after the language that is spoken",
            });
        }
        if faults.is_empty() {
            let own = Self::load(spoken, &Place::TONES, &Place::Folder(&folder));
            return (own, faults);
        }
        let more = faults.len().saturating_sub(MOST_TOLD);
        faults.truncate(MOST_TOLD);
        let place = folder.display().to_string();
        faults.push(VoiceFault {
            wrong: match more {
                0 => "the built-in voice speaks".to_owned(),
                more => format!("{more} more faults, the built-in voice speaks"),
            },
            remedy: "carrybeat voices check names every fault",
            place,
        });
        (Self::speaking(lang), faults)
    }

    /// The voice that a language would be spoken with: a service's own where there is a folder of it.
    pub fn voice_with_own(voices: &Path, lang: &str) -> String {
        let own = Self::own_of(voices, lang);
        own.unwrap_or_else(|| Self::voice_of(lang)).to_owned()
    }

    /// The language of a service's folder that would speak.
    fn own_of<'a>(voices: &Path, lang: &'a str) -> Option<&'a str> {
        let tags = [lang, Self::voice_of(lang)];
        tags.into_iter().find(|tag| voices.join(tag).is_dir())
    }
}

impl VoiceCheck {
    fn add(&mut self, place: String, wrong: String, remedy: &'static str) {
        self.faults.push(VoiceFault {
            place,
            wrong,
            remedy,
        });
    }

    fn of_manifest(&mut self, listed: &str, told: &Told) {
        let mut add = |wrong: String, remedy| self.add(listed.to_owned(), wrong, remedy);
        if told.format != FORMAT {
            let wrong = format!("format {}, allowed {FORMAT}", told.format);
            add(wrong, "write the manifest as sounds/README.md has it");
        }
        if told.pack.is_empty() {
            let remedy = "name the language that is spoken, such as es-419, as pack";
            add("no pack, one is needed".to_owned(), remedy);
        }
        if told.licence.is_empty() {
            let wrong = "no licence, one is needed".to_owned();
            add(
                wrong,
                "write whose recordings these are and who may use them",
            );
        }
        let mut seen = BTreeSet::new();
        for clip in &told.clips {
            if Prompt::ALL.iter().all(|p| p.word() != clip.id) {
                let wrong = format!("clip {}, allowed are the app's prompts", clip.id);
                add(wrong, "take the clip out or correct its id");
            }
            if !seen.insert(clip.id.as_str()) {
                let wrong = format!("clip {} is listed twice, allowed once", clip.id);
                add(wrong, "take one of the two out");
            }
        }
    }

    fn of_clip(&mut self, prompt: Prompt, clip: &Clip, entry: Option<&ToldClip>) {
        let id = prompt.word();
        let mut add = |wrong, remedy| self.add(id.to_owned(), wrong, remedy);
        let (ms, most) = (clip.ms(), longest_ms(prompt));
        if ms > most {
            let wrong = format!("{ms} ms long, allowed at most {most}");
            add(wrong, "cut the silence or speak it shorter");
        }
        if clip.hz < LEAST_HZ {
            let wrong = format!("{} Hz, allowed at least {LEAST_HZ}", clip.hz);
            add(wrong, "record at 24000 Hz or more");
        }
        let peak = clip.samples.iter().map(|s| s.unsigned_abs()).max();
        let (peak, (low, high)) = (peak.unwrap_or(0), PEAK);
        if !(low..=high).contains(&peak) {
            let wrong = format!("largest sample {peak}, allowed {low} to {high} of 32768");
            add(wrong, "turn the recording up or down");
        }
        let lead = lead_ms(clip, peak);
        if lead > MOST_LEAD_MS {
            let wrong = format!("{lead} ms of silence before the words, allowed {MOST_LEAD_MS}");
            add(wrong, "cut it");
        }
        let Some(entry) = entry else { return };
        if entry.text.trim().is_empty() {
            let wrong = "no text in the manifest, one is needed".to_owned();
            add(wrong, "write the words that are spoken");
        }
        if let Some(told) = entry.ms
            && told != ms
        {
            let wrong = format!("{ms} ms long, the manifest says {told}");
            add(wrong, "write the length of this file");
        }
    }
}

/// Words a minute, whole.
fn a_minute(words: usize, ms: u32) -> u64 {
    let words = u64::try_from(words).unwrap_or(u64::MAX);
    words
        .saturating_mul(60_000)
        .checked_div(u64::from(ms))
        .unwrap_or(0)
}

/// Until a sample is within 35 dB of the largest (1 of 56).
fn lead_ms(clip: &Clip, peak: u16) -> u32 {
    let loud = u32::from(peak).div_ceil(56);
    let first = clip
        .samples
        .iter()
        .position(|s| u32::from(s.unsigned_abs()) >= loud);
    let first = u64::try_from(first.unwrap_or(0)).unwrap_or(u64::MAX);
    let ms = first
        .saturating_mul(1000)
        .checked_div(u64::from(clip.hz))
        .unwrap_or(0);
    u32::try_from(ms).unwrap_or(u32::MAX)
}

/// A clip's fault and what whoever makes the pack does about it.
fn said(wrong: &Wrong) -> (String, &'static str) {
    let remedy = match wrong {
        Wrong::Manifest(_) => "write it as sounds/README.md has it",
        Wrong::NotListed => "list the clip: every prompt needs one",
        Wrong::Name => "put the file beside the manifest and write its name alone",
        Wrong::Read(_) => "put the file there",
        Wrong::Large { .. } => "write a smaller one: a clip is a sentence",
        Wrong::Hash { .. } => "write the SHA-256 of this file, or put the right file there",
        Wrong::NotWav(_) => "write the file anew as WAV",
        Wrong::Format { .. } => "write it with one channel of 16-bit integers",
        Wrong::Length { .. } => "record it anew",
    };
    (wrong.to_string(), remedy)
}

#[cfg(test)]
mod tests;
