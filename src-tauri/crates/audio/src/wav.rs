use std::{
    collections::{BTreeMap, VecDeque},
    fmt,
    fs::File,
    io::{BufWriter, Seek, Write},
    path::Path,
};

use beat::Kind;
use conduct::{Order, Speaker};
use cycle::{Cue, CueId, CueSound, Ms, SoundNews, Start};
use hound::{SampleFormat, WavSpec, WavWriter};
use render::{Message, Mixer, Report, Sink, Timeline, What};

use crate::{
    bank::{Bank, BankError},
    order::message,
    pack::Pack,
};

/// Frames of a block.
const BLOCK: usize = 1024;
/// Frames of a millisecond.
const FRAMES_A_MS: u64 = 48;

/// A speaker that writes what would be heard into a WAV file: 48 kHz, mono, 16 bit.
///
/// Run time is the file's time: millisecond `t` is frame `48 * t`, exactly.
pub struct WavOutlet<W: Write + Seek> {
    mixer: Mixer,
    bank: Bank,
    writer: WavWriter<W>,
    /// Rendered samples that lie before frame 0.
    lead: usize,
    /// Samples in the file.
    written: u64,
    cues: BTreeMap<u32, CueSound>,
    waiting: BTreeMap<u32, Ms>,
    heard: Heard,
    counted: Ms,
    fault: Option<WavError>,
}

/// One sound that began.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sounded {
    /// Which.
    pub what: SoundedAs,
    /// Frame of its first sample.
    pub at_frame: u64,
    /// Length of its clip, frames.
    pub frames: u32,
}

/// What a sound was.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SoundedAs {
    /// A beat or a breath tone.
    Score(Kind),
    /// A voice or a tone.
    Cue(CueId, CueSound),
}

/// Why a WAV file was not written.
#[derive(Debug)]
pub enum WavError {
    /// The clips cannot be made ready.
    Bank(BankError),
    /// The file cannot be written.
    Write(hound::Error),
    /// The file cannot be read again.
    Read(hound::Error),
}

impl fmt::Display for WavError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bank(e) => e.fmt(f),
            Self::Write(e) => write!(f, "the WAV file cannot be written: {e}"),
            Self::Read(e) => write!(f, "the WAV file cannot be read again: {e}"),
        }
    }
}

impl std::error::Error for WavError {}

#[derive(Default)]
struct Heard {
    sounds: Vec<Sounded>,
    began: Vec<(u32, u64, u64, u32)>,
    news: VecDeque<SoundNews>,
    beats: u64,
}

impl Sink for Heard {
    fn report(&mut self, report: Report) {
        match report {
            Report::Begun {
                what: What::Score(kind),
                frame,
                frames,
                ..
            } => {
                self.sounds.push(Sounded {
                    what: SoundedAs::Score(kind),
                    at_frame: frame,
                    frames,
                });
                self.beats = self.beats.saturating_add(u64::from(kind != Kind::Breath));
            }
            Report::Begun {
                what: What::Cue(id),
                frame,
                tick,
                frames,
                // A file's timeline is the identity.
            } => self.began.push((id, frame, tick.unwrap_or(frame), frames)),
            Report::Late(id) => self.news.push_back(SoundNews::Late { id: CueId(id) }),
            // A file does not go away: what is cut is cut by an order.
            Report::Cut(_) | Report::LeftOut(_) => {}
        }
    }
}

impl WavOutlet<BufWriter<File>> {
    /// Writes to a new file at `path`; what was there is lost.
    ///
    /// # Errors
    /// [`WavError`] if the file cannot be made.
    pub fn create(path: &Path, pack: &Pack) -> Result<Self, WavError> {
        let file = File::create(path).map_err(|e| WavError::Write(e.into()))?;
        Self::new(BufWriter::new(file), pack)
    }
}

impl<W: Write + Seek> WavOutlet<W> {
    /// Samples a second.
    pub const HZ: u32 = 48_000;
    /// How often the sounds are counted.
    const COUNT_EVERY: Ms = Ms(60_000);

    /// Writes to `to`.
    ///
    /// # Errors
    /// [`WavError`] if the clips cannot be made ready or the header cannot be written.
    pub fn new(to: W, pack: &Pack) -> Result<Self, WavError> {
        let spec = WavSpec {
            channels: 1,
            sample_rate: Self::HZ,
            bits_per_sample: 16,
            sample_format: SampleFormat::Int,
        };
        Ok(Self {
            mixer: Mixer::new(Self::HZ, Some(Timeline::IDENTITY)),
            bank: Bank::new(pack, Self::HZ).map_err(WavError::Bank)?,
            writer: WavWriter::new(to, spec).map_err(WavError::Write)?,
            lead: Mixer::DELAY,
            written: 0,
            cues: BTreeMap::new(),
            waiting: BTreeMap::new(),
            heard: Heard::default(),
            counted: Ms::ZERO,
            fault: None,
        })
    }

    /// Every sound so far, in time order.
    pub fn sounds(&self) -> &[Sounded] {
        &self.heard.sounds
    }

    /// Writes up to run time `until`, closes the file and gives every sound that began.
    ///
    /// # Errors
    /// The first [`WavError`] that came up since the beginning.
    pub fn finish(mut self, until: Ms) -> Result<Vec<Sounded>, WavError> {
        self.render(until);
        // What the limiter still holds back.
        let mut rest = [0.0; Mixer::DELAY];
        let mut after = Heard::default();
        self.mixer.render(&self.bank, &mut rest, &mut after);
        self.write(&rest);
        match self.fault {
            Some(fault) => Err(fault),
            None => self.writer.finalize().map_err(WavError::Write),
        }?;
        Ok(self.heard.sounds)
    }

    fn render(&mut self, until: Ms) {
        let end = until.0.saturating_mul(FRAMES_A_MS);
        let mut block = [0.0; BLOCK];
        loop {
            let left = end.saturating_sub(self.mixer.frame());
            let frames = usize::try_from(left).unwrap_or(usize::MAX).min(BLOCK);
            let Some(block) = block.get_mut(..frames).filter(|b| !b.is_empty()) else {
                break;
            };
            self.mixer.render(&self.bank, block, &mut self.heard);
            self.write(block);
        }
        for (id, at_frame, tick, frames) in std::mem::take(&mut self.heard.began) {
            self.waiting.remove(&id);
            if let Some(sound) = self.cues.get(&id) {
                let what = SoundedAs::Cue(CueId(id), *sound);
                self.heard.sounds.push(Sounded {
                    what,
                    at_frame,
                    frames,
                });
            }
            self.heard.news.push_back(SoundNews::Started {
                id: CueId(id),
                at: Ms(tick / FRAMES_A_MS),
            });
        }
        self.heard.sounds.sort_by_key(|s| s.at_frame);
    }

    fn write(&mut self, block: &[f32]) {
        let skip = self.lead.min(block.len());
        self.lead = self.lead.saturating_sub(skip);
        let block = block.get(skip..).unwrap_or(&[]);
        if self.fault.is_some() || block.is_empty() {
            return;
        }
        let length = u32::try_from(block.len()).unwrap_or(0);
        let mut writer = self.writer.get_i16_writer(length);
        for sample in block {
            writer.write_sample(pcm(*sample, self.written));
            self.written = self.written.saturating_add(1);
        }
        self.fault = writer.flush().err().map(WavError::Write);
    }

    fn play(&mut self, now: Ms, cue: Cue) {
        self.cues.insert(cue.id.0, cue.sound);
        let at = match cue.start {
            Start::Now => now,
            Start::At(at) => at,
        };
        self.waiting.insert(cue.id.0, at);
    }
}

impl<W: Write + Seek> fmt::Debug for WavOutlet<W> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("WavOutlet")
            .field("frame", &self.mixer.frame())
            .field("sounds", &self.heard.sounds.len())
            .field("fault", &self.fault)
            .finish_non_exhaustive()
    }
}

impl<W: Write + Seek + Send> Speaker for WavOutlet<W> {
    fn order(&mut self, now: Ms, order: Order) {
        self.render(now);
        match order {
            Order::Play(cue) => self.play(now, cue),
            Order::Revoke(id) => {
                self.waiting.remove(&id.0);
            }
            Order::Noise(true) => self.bank.make_noise(),
            Order::Score(_) | Order::Levels(_) | Order::Rest | Order::Noise(false) => {}
        }
        let message: Message = message(now, order, Self::HZ);
        self.mixer.take(message, &mut self.heard);
    }

    fn news(&mut self, now: Ms) -> Option<SoundNews> {
        self.render(now);
        if let Some(news) = self.heard.news.pop_front() {
            if let SoundNews::Late { id } = news {
                self.waiting.remove(&id.0);
            }
            return Some(news);
        }
        let span = now.since(self.counted);
        (span >= Self::COUNT_EVERY).then(|| {
            self.counted = now;
            SoundNews::Count {
                beats: std::mem::take(&mut self.heard.beats),
                frames: span.0.saturating_mul(FRAMES_A_MS),
                underruns: 0,
            }
        })
    }

    fn next_wakeup(&self) -> Option<Ms> {
        // A cue has begun once the frame after its moment is rendered.
        self.waiting.values().min().map(|at| at.plus(Ms(1)))
    }
}

/// The samples of a WAV file of 16 bits.
///
/// # Errors
/// [`WavError::Read`] for bytes that are no such WAV file or end early.
pub fn samples(wav: &[u8]) -> Result<Vec<i16>, WavError> {
    let mut reader = hound::WavReader::new(wav).map_err(WavError::Read)?;
    let all: Result<Vec<i16>, hound::Error> = reader.samples::<i16>().collect();
    all.map_err(WavError::Read)
}

/// The lowest and the highest sample of each `every` samples of a file of 16 bits.
///
/// # Errors
/// [`WavError::Read`] for a file that is no such WAV file or ends early.
pub fn outline(path: &Path, every: usize) -> Result<Vec<(i16, i16)>, WavError> {
    let mut reader = hound::WavReader::open(path).map_err(WavError::Read)?;
    let mut all = Vec::new();
    let mut ends: Option<(i16, i16)> = None;
    let mut left = every.max(1);
    for sample in reader.samples::<i16>() {
        let sample = sample.map_err(WavError::Read)?;
        let (low, high) = ends.unwrap_or((sample, sample));
        ends = Some((low.min(sample), high.max(sample)));
        left = left.saturating_sub(1);
        if left == 0 {
            all.extend(ends.take());
            left = every.max(1);
        }
    }
    all.extend(ends);
    Ok(all)
}

/// A sample in 16 bits. What is a whole step already stays as it is: silence is silent, and a clip at full
/// level comes out as it stands in its file. All else is rounded with [`dither`], so that what is lost is an
/// even noise instead of a rasp that follows the sound.
fn pcm(sample: f32, place: u64) -> i16 {
    let steps = sample * 32_768.0;
    let nearest = steps.round();
    if (steps - nearest).abs() < A_WHOLE_STEP {
        whole(nearest)
    } else {
        whole((steps + dither(place)).round())
    }
}

/// So near is a whole step: sums of gains that are no powers of two miss it by this at most.
const A_WHOLE_STEP: f32 = 1.0 / 1024.0;

/// Noise of triangular distribution, between one step below and one above, that hangs on the sample's place
/// alone: two rehearsals of one script are the same to the byte. Source of the distribution: Lipshitz,
/// Wannamaker and Vanderkooy 1992.
fn dither(place: u64) -> f32 {
    // Any number will do; a fixed one, so that a file can be made again.
    const SEED: u64 = 0x0C0D_ED0D_1DE5_EED5;
    // Splitmix, from memory: each bit of the place changes half of all bits.
    let mut bits = place.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ SEED;
    bits = (bits ^ (bits >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    bits = (bits ^ (bits >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    bits ^= bits >> 31;
    let [a, b, c, d, ..] = bits.to_le_bytes();
    let even = |low, high| f32::from(u16::from_le_bytes([low, high])) / 65_536.0;
    even(a, b) - even(c, d)
}

#[expect(
    clippy::as_conversions,
    clippy::cast_possible_truncation,
    reason = "a whole number; `as` saturates at the ends of i16"
)]
fn whole(number: f32) -> i16 {
    number as i16
}

#[cfg(test)]
mod tests;
