//! What mixing one block costs here and with two general-purpose libraries: `mixers [BLOCKS]`.
//!
//! The same clips at the same moments: a ratio score at 110 a minute and a voice every two seconds, as
//! `callback` has them. Blocks of 256 frames to two channels, each mixer's turn after the other's in one run, so that
//! whatever else the machine does falls on all three alike. Ours finds the moments itself, steps beats back
//! under a voice and limits the true peak; the others are handed each clip in the block in which it begins,
//! outside of what is timed, and mix it as it is. So theirs is the bare sum.

use std::{hint::black_box, num::NonZero, sync::Arc, time::Duration, time::Instant};

use audio::{Bank, Pack};
use beat::{Pattern, Placed, Rate, Score};
use bench::{Failure, Spread, quartiles};
use cycle::{Prompt, Tone};
use kira::{
    AudioManager, AudioManagerSettings, Frame, StartTime,
    backend::mock::{MockBackend, MockBackendSettings},
    sound::static_sound::{StaticSoundData, StaticSoundSettings},
};
use render::{Bus, ClipId, Clips, Message, Mixer, Play, Report, Sink, Timeline, What};
use rodio::{Source, buffer::SamplesBuffer};

const HZ: u32 = 48_000;
const FRAMES: usize = 256;
/// Blocks before the first one that counts.
const WARM: usize = 2000;
/// A voice each so many blocks: two seconds.
const VOICE_EACH: usize = 375;

/// Which clip begins on which frame.
#[derive(Default)]
struct Began(Vec<(u64, ClipId)>);

struct Seen<'a>(&'a mut Began, &'a [ClipId]);

impl Sink for Seen<'_> {
    fn report(&mut self, report: Report) {
        if let Report::Begun { what, frame, .. } = report {
            let clip = match what {
                What::Score(kind) => ClipId::of(kind),
                What::Cue(id) => {
                    let nth = usize::try_from(id).unwrap_or(0) % self.1.len();
                    self.1[nth]
                }
            };
            self.0.0.push((frame, clip));
        }
    }
}

fn main() -> Result<(), Failure> {
    let blocks = std::env::args()
        .nth(1)
        .map_or(Ok(100_000), |n| n.parse::<usize>())?;
    let pack = Pack::built_in();
    let bank = Bank::new(&pack, HZ)?;
    let voices = Prompt::ALL
        .iter()
        .enumerate()
        .map(|(nth, _)| u8::try_from(Tone::ALL.len() + nth))
        .map(|place| place.map(|place| ClipId(ClipId::CUES + place)))
        .collect::<Result<Vec<ClipId>, _>>()?;
    let mut ours = Mixer::new(HZ, Some(Timeline::IDENTITY));
    let mut began = Began::default();
    let placed = Placed {
        score: Score {
            rate: Rate::new(110)?,
            pattern: Pattern::Ratio {
                beats: 30,
                window_ms: 4000,
                breaths: 2,
            },
            quiet_ddb: 0,
        },
        anchor_ms: 0,
        lead: 0,
        from_ms: 0,
        breath_from_ms: 0,
    };
    ours.take(
        Message::Score { placed, given: 0 },
        &mut Seen(&mut began, &voices),
    );
    let rate = NonZero::new(HZ).ok_or("rate")?;
    let one = NonZero::new(1).ok_or("channels")?;
    let (theirs, mut summed) = rodio::mixer::mixer(one, rate);
    // Without any source it ends.
    theirs.add(rodio::source::Zero::new(one, rate));
    let mut manager = AudioManager::<MockBackend>::new(AudioManagerSettings {
        backend_settings: MockBackendSettings { sample_rate: HZ },
        internal_buffer_size: FRAMES,
        ..AudioManagerSettings::default()
    })
    .map_err(|()| "no manager")?;
    let clips: Vec<(SamplesBuffer, StaticSoundData)> = (0..=u8::MAX)
        .map(|id| made(bank.samples(ClipId(id)), (one, rate)))
        .collect();

    let mut times = [const { Vec::new() }; 3];
    let (mut mono, mut out) = ([0.0_f32; FRAMES], [0.0_f32; FRAMES * 2]);
    let mut loudest = [0.0_f32; 2];
    for n in 0..WARM + blocks {
        if n % VOICE_EACH == 0 {
            let id = u32::try_from(n / VOICE_EACH)?;
            let play = Play {
                id,
                clip: voices[usize::try_from(id)? % voices.len()],
                bus: Bus::Voice,
                start: None,
            };
            ours.take(Message::Play(play), &mut Seen(&mut began, &voices));
        }
        let first = ours.frame();
        began.0.clear();
        let begun = Instant::now();
        ours.render(&bank, &mut mono, &mut Seen(&mut began, &voices));
        two(&mono, &mut out);
        let took_ours = begun.elapsed();
        black_box(&out);
        loudest[0] = mono.iter().fold(loudest[0], |m, s| m.max(s.abs()));

        for (frame, clip) in &began.0 {
            let (samples, frames) = &clips[usize::from(clip.0)];
            let after = Duration::from_secs_f64((frame - first) as f64 / f64::from(HZ));
            theirs.add(samples.clone().delay(after));
            manager.play(frames.start_time(StartTime::Delayed(after)))?;
        }
        let begun = Instant::now();
        for sample in &mut mono {
            *sample = summed.next().unwrap_or(0.0);
        }
        two(&mono, &mut out);
        let took_rodio = begun.elapsed();
        black_box(&out);
        loudest[1] = mono.iter().fold(loudest[1], |m, s| m.max(s.abs()));

        let begun = Instant::now();
        manager.backend_mut().on_start_processing();
        manager.backend_mut().process();
        let took_kira = begun.elapsed();
        if n >= WARM {
            for (times, took) in times.iter_mut().zip([took_ours, took_rodio, took_kira]) {
                times.push(took.as_secs_f64() * 1e9);
            }
        }
    }
    if loudest.iter().any(|l| *l < 0.5) {
        return Err(format!("too quiet to be the same mix: {loudest:?}").into());
    }
    let names = [
        "ours, with score, duck and true-peak limiter",
        "rodio 0.23, bare sum",
        "kira 0.12, bare sum",
    ];
    for (name, times) in names.into_iter().zip(times) {
        let what = format!("mixing 256 frames, beats and a voice, {name}, wall time");
        quartiles(&what, "ns", &Spread::of(times));
    }
    Ok(())
}

/// A clip as the two libraries want it.
fn made(
    samples: &[i16],
    (channels, rate): (NonZero<u16>, NonZero<u32>),
) -> (SamplesBuffer, StaticSoundData) {
    let samples: Vec<f32> = samples.iter().map(|s| f32::from(*s) / 32_768.0).collect();
    let frames: Arc<[Frame]> = samples.iter().map(|s| Frame::from_mono(*s)).collect();
    let sound = StaticSoundData {
        sample_rate: HZ,
        frames,
        settings: StaticSoundSettings::default(),
        slice: None,
    };
    (SamplesBuffer::new(channels, rate, samples), sound)
}

fn two(mono: &[f32], out: &mut [f32]) {
    for (frame, sample) in out.chunks_mut(2).zip(mono) {
        frame.fill(*sample);
    }
}
