//! One tone at an even beat, as other players are usually used for it.
//!
//! `peers PLAYER SECONDS PER_MINUTE TONE.wav`, PLAYER one of `rodio-loop` (the tone and its silence as one
//! looped buffer), `rodio-loop-short` (the same with the app's own two periods of 1,024 frames, by which it could answer a
//! touch as soon), `rodio-timer`, `kira-clock` (its own clock's ticks), `kira-timer`, `sleep` (a thread that
//! sleeps for one beat and plays). A timer is a thread that sleeps until the beat is due.

use std::{
    error::Error,
    num::NonZero,
    thread,
    time::{Duration, Instant},
};

use kira::{
    AudioManager, AudioManagerSettings, DefaultBackend, Frame,
    clock::ClockSpeed,
    sound::static_sound::{StaticSoundData, StaticSoundSettings},
};
use rodio::{Source as _, buffer::SamplesBuffer};

type Told<T> = Result<T, Box<dyn Error>>;

const USAGE: &str = "peers rodio-loop|rodio-loop-short|rodio-timer|kira-clock|kira-timer|sleep SECONDS PER_MINUTE TONE.wav";

struct Job {
    beat: Duration,
    per_minute: u32,
    end: Instant,
    tone: String,
}

fn main() -> Told<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [player, seconds, per_minute, tone] = args.as_slice() else {
        return Err(USAGE.into());
    };
    let per_minute: u32 = per_minute.parse()?;
    let job = Job {
        beat: Duration::from_mins(1) / per_minute,
        per_minute,
        end: Instant::now() + Duration::from_secs(seconds.parse()?),
        tone: tone.clone(),
    };
    match player.as_str() {
        "rodio-loop" => rodio_loop(&job, None),
        "rodio-loop-short" => rodio_loop(&job, Some(1024)),
        "rodio-timer" => rodio_timer(&job),
        "sleep" => sleep(&job),
        "kira-clock" => kira_clock(&job),
        "kira-timer" => kira_timer(&job),
        other => Err(format!("{other}: {USAGE}").into()),
    }
}

impl Job {
    /// Calls back when each beat is due, by a thread that sleeps until then.
    fn when_due(&self, mut play: impl FnMut() -> Told<()>) -> Told<()> {
        let begun = Instant::now();
        let mut n: u32 = 0;
        while Instant::now() < self.end {
            let due = begun + Duration::from_mins(1) * n / self.per_minute;
            thread::sleep(due.saturating_duration_since(Instant::now()));
            play()?;
            n = n.saturating_add(1);
        }
        Ok(())
    }

    fn wait(&self) {
        thread::sleep(self.end.saturating_duration_since(Instant::now()));
    }
}

/// The tone's samples, and their rate.
fn samples(path: &str) -> Told<(Vec<f32>, NonZero<u32>)> {
    let mut file = hound::WavReader::open(path)?;
    let rate = NonZero::new(file.spec().sample_rate).ok_or("a rate of 0")?;
    let all: Result<Vec<i16>, _> = file.samples().collect();
    Ok((
        all?.into_iter().map(|s| f32::from(s) / 32_768.0).collect(),
        rate,
    ))
}

/// The same as kira takes it.
fn static_sound(path: &str) -> Told<StaticSoundData> {
    let (samples, rate) = samples(path)?;
    Ok(StaticSoundData {
        sample_rate: rate.get(),
        frames: samples.into_iter().map(Frame::from_mono).collect(),
        settings: StaticSoundSettings::default(),
        slice: None,
    })
}

const MONO: NonZero<u16> = NonZero::<u16>::MIN;

fn rodio_loop(job: &Job, period: Option<u32>) -> Told<()> {
    let device = match period {
        None => rodio::DeviceSinkBuilder::open_default_sink()?,
        Some(frames) => rodio::DeviceSinkBuilder::from_default_device()?
            .with_buffer_size(rodio::cpal::BufferSize::Fixed(frames))
            .open_stream()?,
    };
    let (mut beat, rate) = samples(&job.tone)?;
    // The nearest whole number of samples: within 10 ppm of the beat.
    let whole = (f64::from(rate.get()) * job.beat.as_secs_f64()).round();
    beat.resize(format!("{whole}").parse()?, 0.0);
    device
        .mixer()
        .add(SamplesBuffer::new(MONO, rate, beat).repeat_infinite());
    job.wait();
    Ok(())
}

fn rodio_timer(job: &Job) -> Told<()> {
    let device = rodio::DeviceSinkBuilder::open_default_sink()?;
    let (beat, rate) = samples(&job.tone)?;
    job.when_due(|| {
        device
            .mixer()
            .add(SamplesBuffer::new(MONO, rate, beat.clone()));
        Ok(())
    })
}

fn sleep(job: &Job) -> Told<()> {
    let device = rodio::DeviceSinkBuilder::open_default_sink()?;
    let (beat, rate) = samples(&job.tone)?;
    while Instant::now() < job.end {
        device
            .mixer()
            .add(SamplesBuffer::new(MONO, rate, beat.clone()));
        thread::sleep(job.beat);
    }
    Ok(())
}

fn kira_clock(job: &Job) -> Told<()> {
    let mut manager = AudioManager::<DefaultBackend>::new(AudioManagerSettings::default())?;
    let tone = static_sound(&job.tone)?;
    let mut clock = manager.add_clock(ClockSpeed::TicksPerMinute(f64::from(job.per_minute)))?;
    clock.start();
    let mut next = clock.time() + 2;
    while Instant::now() < job.end {
        // A few beats ahead, as a game would give them.
        while next.ticks < clock.time().ticks.saturating_add(4) {
            manager.play(tone.clone().start_time(next))?;
            next = next + 1;
        }
        thread::sleep(Duration::from_millis(100));
    }
    Ok(())
}

fn kira_timer(job: &Job) -> Told<()> {
    let mut manager = AudioManager::<DefaultBackend>::new(AudioManagerSettings::default())?;
    let tone = static_sound(&job.tone)?;
    job.when_due(|| {
        manager.play(tone.clone())?;
        Ok(())
    })
}
