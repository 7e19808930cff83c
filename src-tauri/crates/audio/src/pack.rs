use std::{
    borrow::Cow,
    collections::BTreeMap,
    fmt, fs,
    io::{self, Read as _},
    path::Path,
};

use cycle::{ClipLengths, CueSound, Prompt, Tone};
use render::ClipId;
use serde::Deserialize;
use sha2::{Digest, Sha256};

use crate::embedded::{self, Folder};

mod check;
pub use check::{VoiceCheck, VoiceFault, check_built_in, check_voices};

/// All clips of a tone set and a voice pack, as they stand in the files.
///
/// Nothing that is wrong with a clip keeps the app from starting: the fault is told, and another
/// sound stands for the clip, so that its moment is never silent.
#[derive(Clone, Debug)]
pub struct Pack {
    id: String,
    clips: Vec<Clip>,
    faults: Vec<ClipFault>,
    lengths: ClipLengths,
    hash: String,
}

/// One clip at the rate of its file.
#[derive(Clone, Debug)]
pub(crate) struct Clip {
    pub(crate) samples: Vec<i16>,
    pub(crate) hz: u32,
}

/// What is wrong with a clip.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClipFault {
    /// The clip's id.
    pub id: &'static str,
    /// The file it should come from.
    pub file: String,
    /// What was found.
    pub wrong: Wrong,
}

/// The ways in which a clip can be wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wrong {
    /// The manifest itself cannot be used.
    Manifest(String),
    /// The manifest does not list the clip.
    NotListed,
    /// The manifest names something that is not a plain file name in its own folder.
    Name,
    /// The file cannot be read.
    Read(String),
    /// The file is larger than any clip or manifest.
    Large {
        /// The largest that is read, bytes.
        most: u64,
    },
    /// The file's SHA-256 is not the listed one.
    Hash {
        /// What the file has.
        found: String,
        /// What the manifest says.
        listed: String,
    },
    /// The file is not a WAV file that can be read to its end.
    NotWav(String),
    /// Not one channel of 16-bit integers at 8,000 to 192,000 samples a second.
    Format {
        /// Channels found.
        channels: u16,
        /// Bits found.
        bits: u16,
        /// Samples a second found.
        hz: u32,
    },
    /// Shorter than one sample or longer than a minute.
    Length {
        /// Samples found.
        samples: usize,
    },
}

impl fmt::Display for Wrong {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Manifest(what) => write!(f, "the manifest cannot be used: {what}"),
            Self::NotListed => write!(f, "not listed in the manifest"),
            Self::Name => write!(f, "not a plain file name in the manifest's own folder"),
            Self::Read(what) => write!(f, "cannot be read: {what}"),
            Self::Large { most } => write!(f, "larger than allowed: {most} bytes"),
            Self::Hash { found, listed } => {
                write!(f, "SHA-256 is {found}, the manifest lists {listed}")
            }
            Self::NotWav(what) => write!(f, "not a whole WAV file: {what}"),
            Self::Format { channels, bits, hz } => write!(
                f,
                "{channels} channels, {bits} bits, {hz} Hz; allowed: 1 channel, 16 bits, \
                 8000 to 192000 Hz"
            ),
            Self::Length { samples } => {
                write!(f, "{samples} samples; allowed: 1 sample to 60 s")
            }
        }
    }
}

impl fmt::Display for ClipFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "clip {} ({}): {}; another tone stands for it: install the sounds again or choose another pack",
            self.id, self.file, self.wrong
        )
    }
}

impl std::error::Error for ClipFault {}

#[derive(Debug, Deserialize)]
struct Manifest {
    clips: Vec<Listed>,
}

/// A minute at the highest rate, and its header.
const LARGEST_CLIP: u64 = 192_000 * 60 * 2 + 4096;
/// Ten times what fifty clips need.
const LARGEST_MANIFEST: u64 = 1 << 20;

#[derive(Clone, Debug, Deserialize)]
struct Listed {
    id: String,
    file: String,
    sha256: String,
}

/// Ids of a score's sounds, in the order of [`ClipId::of`].
const SCORE: [&str; 4] = ["beat_first", "beat", "beat_last", "breath"];

/// The clip of a cue's sound.
pub(crate) fn clip_of(sound: CueSound) -> ClipId {
    let place = match sound {
        CueSound::Tone(tone) => Tone::ALL.iter().position(|t| *t == tone),
        CueSound::Voice(prompt) => Prompt::ALL
            .iter()
            .position(|p| *p == prompt)
            .map(|n| n.saturating_add(Tone::ALL.len())),
    };
    let place = place.and_then(|n| u8::try_from(n).ok()).unwrap_or(0);
    ClipId(place.saturating_add(ClipId::CUES))
}

impl Pack {
    /// The languages of the voices that the program brings along.
    pub fn voices() -> impl Iterator<Item = &'static str> {
        embedded::VOICES.iter().map(|(lang, _, _)| *lang)
    }

    /// The voice that a language is spoken with: its own, else one of its kin (of Spain for Latin America), else
    /// the first. Where that is not the language asked for, the screen says so.
    pub fn voice_of(lang: &str) -> &'static str {
        let kin = |tag: &str| tag.split('-').next().map(str::to_owned);
        Self::voices()
            .find(|voice| *voice == lang)
            .or_else(|| Self::voices().find(|voice| kin(voice) == kin(lang)))
            .or_else(|| Self::voices().next())
            .unwrap_or_default()
    }

    /// What the program brings along, with its first voice.
    pub fn built_in() -> Self {
        Self::speaking("")
    }

    /// What the program brings along, with the voice of a language; see [`Pack::voice_of`]. [`Pack::id`] says
    /// whose it is.
    pub fn speaking(lang: &str) -> Self {
        let id = Self::voice_of(lang);
        Self::load(id, &Place::TONES, &Place::of_voice(id))
    }

    /// Tones and voices from two folders, each with its `manifest.json`. The pack's id is the name of the
    /// voice's folder.
    pub fn from_folders(tones: &Path, voice: &Path) -> Self {
        let id = voice.file_name().unwrap_or_default().to_string_lossy();
        Self::load(&id, &Place::Folder(tones), &Place::Folder(voice))
    }

    fn load(id: &str, tones: &Place<'_>, voice: &Place<'_>) -> Self {
        let mut faults = Vec::new();
        let tone_ids = SCORE.into_iter().chain(Tone::ALL.iter().map(|t| t.word()));
        let (mut clips, tone_hash) = read_all(tones, tone_ids, &mut faults);
        let voice_ids = Prompt::ALL.iter().map(|p| p.word());
        let (voices, voice_hash) = read_all(voice, voice_ids, &mut faults);
        clips.extend(voices);
        let attention = usize::from(clip_of(CueSound::Tone(Tone::Attention)).0);
        let stand_in = clips
            .get(attention)
            .cloned()
            .flatten()
            .unwrap_or_else(|| made_tone(300));
        let clips: Vec<Clip> = clips
            .into_iter()
            .enumerate()
            .map(|(n, clip)| match clip {
                Some(clip) => clip,
                None if n < SCORE.len() => made_tone(30),
                None => stand_in.clone(),
            })
            .collect();
        let by_prompt: BTreeMap<Prompt, u32> = Prompt::ALL
            .iter()
            .map(|p| {
                let clip = clips.get(usize::from(clip_of(CueSound::Voice(*p)).0));
                (*p, clip.map_or(0, Clip::ms))
            })
            .collect();
        let lengths = ClipLengths::new(by_prompt);
        #[expect(
            clippy::expect_used,
            reason = "the map was made from Prompt::ALL just above"
        )]
        let lengths = lengths.expect("every prompt has a length");
        Self {
            id: id.to_owned(),
            clips,
            faults,
            lengths,
            hash: hex(&Sha256::digest(format!("{tone_hash}{voice_hash}"))),
        }
    }

    /// The voice's language, as the record names the pack.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// What is wrong, for the start screen; empty if nothing is.
    pub fn faults(&self) -> &[ClipFault] {
        &self.faults
    }

    /// How long each prompt's clip is, whole milliseconds, rounded up.
    pub fn lengths(&self) -> &ClipLengths {
        &self.lengths
    }

    /// Names tones and voices together: SHA-256 over the hashes of the two manifests.
    pub fn hash(&self) -> &str {
        &self.hash
    }

    pub(crate) fn clips(&self) -> &[Clip] {
        &self.clips
    }
}

impl Clip {
    fn ms(&self) -> u32 {
        let samples = u64::try_from(self.samples.len()).unwrap_or(u64::MAX);
        let ms = samples
            .saturating_mul(1000)
            .div_ceil(u64::from(self.hz.max(1)));
        u32::try_from(ms).unwrap_or(u32::MAX)
    }
}

/// Where a folder of clips is.
enum Place<'a> {
    Inside(&'static str, Folder),
    Folder(&'a Path),
}

impl Place<'_> {
    const TONES: Self = Self::Inside("sounds/tones", embedded::TONES);

    /// The files of a voice inside the program; none where there is no such voice.
    fn of_voice(id: &str) -> Self {
        let found = embedded::VOICES.iter().find(|(lang, _, _)| *lang == id);
        let (name, files) = found.map_or(("sounds", &[][..]), |(_, name, files)| (*name, *files));
        Self::Inside(name, files)
    }

    fn name(&self, file: &str) -> String {
        match self {
            Self::Inside(folder, _) => format!("{folder}/{file}"),
            Self::Folder(path) => path.join(file).display().to_string(),
        }
    }

    /// A file whole. Of one that is larger than `most` bytes no more than that is read.
    fn read(&self, file: &str, most: u64) -> Result<Cow<'static, [u8]>, Wrong> {
        let cannot = |e: io::Error| Wrong::Read(e.to_string());
        match self {
            Self::Inside(_, files) => files
                .iter()
                .find(|(name, _)| *name == file)
                .map(|(_, bytes)| Cow::Borrowed(*bytes))
                .ok_or_else(|| cannot(io::ErrorKind::NotFound.into())),
            Self::Folder(path) => {
                let path = path.join(file);
                // Opening what is no file may wait for ever.
                if !fs::metadata(&path).map_err(cannot)?.is_file() {
                    return Err(Wrong::Read("not a file".to_owned()));
                }
                let mut bytes = Vec::new();
                let file = fs::File::open(&path).map_err(cannot)?;
                file.take(most.saturating_add(1))
                    .read_to_end(&mut bytes)
                    .map_err(cannot)?;
                if u64::try_from(bytes.len()).is_ok_and(|n| n > most) {
                    return Err(Wrong::Large { most });
                }
                Ok(Cow::Owned(bytes))
            }
        }
    }
}

/// The clips with these ids, `None` for a faulty one, and the manifest's hash.
fn read_all(
    place: &Place<'_>,
    ids: impl Iterator<Item = &'static str>,
    faults: &mut Vec<ClipFault>,
) -> (Vec<Option<Clip>>, String) {
    let bytes = place.read("manifest.json", LARGEST_MANIFEST);
    let clips = listed(place, bytes.as_deref().map_err(Clone::clone), ids, faults);
    let hash = bytes.map_or_else(|_| String::new(), |b| hex(&Sha256::digest(&b)));
    (clips, hash)
}

/// The clips that a manifest lists under these ids.
fn listed(
    place: &Place<'_>,
    manifest: Result<&[u8], Wrong>,
    ids: impl Iterator<Item = &'static str>,
    faults: &mut Vec<ClipFault>,
) -> Vec<Option<Clip>> {
    let manifest = manifest
        .map_err(|wrong| wrong.to_string())
        .and_then(|b| serde_json::from_slice::<Manifest>(b).map_err(|e| e.to_string()));
    ids.map(|id| {
        let read = read_clip(place, id, &manifest);
        read.map_err(|(file, wrong)| {
            let file = place.name(&file);
            faults.push(ClipFault { id, file, wrong });
        })
        .ok()
    })
    .collect()
}

fn read_clip(
    place: &Place<'_>,
    id: &str,
    manifest: &Result<Manifest, String>,
) -> Result<Clip, (String, Wrong)> {
    let manifest = manifest
        .as_ref()
        .map_err(|what| ("manifest.json".to_owned(), Wrong::Manifest(what.clone())))?;
    let Some(listed) = manifest.clips.iter().find(|c| c.id == id) else {
        return Err(("manifest.json".to_owned(), Wrong::NotListed));
    };
    let wrong = |wrong| (listed.file.clone(), wrong);
    if Path::new(&listed.file).file_name() != Some(listed.file.as_ref()) {
        return Err(wrong(Wrong::Name));
    }
    let bytes = place.read(&listed.file, LARGEST_CLIP).map_err(wrong)?;
    let found = hex(&Sha256::digest(&bytes));
    if !found.eq_ignore_ascii_case(&listed.sha256) {
        let listed = listed.sha256.clone();
        return Err(wrong(Wrong::Hash { found, listed }));
    }
    decode(&bytes).map_err(wrong)
}

fn decode(bytes: &[u8]) -> Result<Clip, Wrong> {
    let not_wav = |e: hound::Error| Wrong::NotWav(e.to_string());
    let reader = hound::WavReader::new(bytes).map_err(not_wav)?;
    let spec = reader.spec();
    let is_int = spec.sample_format == hound::SampleFormat::Int;
    if spec.channels != 1
        || spec.bits_per_sample != 16
        || !is_int
        || !(8000..=192_000).contains(&spec.sample_rate)
    {
        return Err(Wrong::Format {
            channels: spec.channels,
            bits: spec.bits_per_sample,
            hz: spec.sample_rate,
        });
    }
    // What the header says decides before anything is read; no more room is taken than samples come.
    let most = u64::from(spec.sample_rate).saturating_mul(60);
    let told = reader.len();
    if told == 0 || u64::from(told) > most {
        let samples = usize::try_from(told).unwrap_or(usize::MAX);
        return Err(Wrong::Length { samples });
    }
    let samples: Vec<i16> = reader
        .into_samples::<i16>()
        .collect::<Result<_, _>>()
        .map_err(not_wav)?;
    Ok(Clip {
        samples,
        hz: spec.sample_rate,
    })
}

/// A plain tone of 1 kHz that falls off evenly: stands where even the tone's file is missing.
fn made_tone(ms: u32) -> Clip {
    let hz = 48_000_u32;
    let length = hz.saturating_mul(ms).checked_div(1000).unwrap_or(0);
    let samples = (0..length)
        .map(|n| {
            let left = length.saturating_sub(n).saturating_mul(16_000);
            let size = left.checked_div(length).unwrap_or(0);
            let size = i16::try_from(size).unwrap_or(0);
            if n % 48 < 24 {
                size
            } else {
                size.saturating_neg()
            }
        })
        .collect();
    Clip { samples, hz }
}

fn hex(bytes: &[u8]) -> String {
    use fmt::Write as _;
    bytes.iter().fold(String::new(), |mut text, byte| {
        // Writing to a String cannot fail.
        write!(text, "{byte:02x}").unwrap_or_default();
        text
    })
}

#[cfg(test)]
mod tests;
