//! What one block of the audio callback costs: `callback [--blocks N] [--plain] [--crowded SECONDS]`.
//!
//! Half of the blocks (400,000) are timed by the clock on the wall, half by the thread's CPU clock.
//! The same steps as the app's callback: look at the device's stamp, mix 256 frames, copy the sample
//! to two channels. A ratio score sounds, a voice begins every two seconds. `--plain` takes no
//! times and prints nothing, for counting instructions. `--crowded` gives the blocks out at the pace of a
//! device instead, at ordinary priority, while a program that never rests runs on each core: both clocks
//! for each block, and how late it was begun.

use std::{
    hint::black_box,
    process::{Child, Command},
    thread,
    time::{Duration, Instant},
};

use audio::{Bank, Pack};
use beat::{Pattern, Placed, Rate, Score};
use bench::{Failure, Spread, tails};
use cycle::{Prompt, Tone};
use nix::time::ClockId;
use render::{Bus, ClipId, Clips, Follow, Message, Mixer, Play, Report, Sink, Stamp};

const HZ: u32 = 48_000;
const FRAMES: usize = 256;
/// How long a block sounds.
const PERIOD_NS: f64 = 256.0 * 1e9 / 48_000.0;
/// Blocks before the first one that counts: the stamps of a stream's beginning, cold caches.
const WARM: u64 = 2000;

/// Counts what began, so that a silent measurement is noticed.
#[derive(Default)]
struct Count {
    scores: u64,
    cues: u64,
}

impl Sink for Count {
    fn report(&mut self, report: Report) {
        if let Report::Begun { what, .. } = report {
            match what {
                render::What::Score(_) => self.scores += 1,
                render::What::Cue(_) => self.cues += 1,
            }
        }
    }
}

struct Callback {
    mixer: Mixer,
    follow: Follow,
    bank: Bank,
    count: Count,
    mono: [f32; FRAMES],
    out: [f32; FRAMES * 2],
    cue: u32,
}

impl Callback {
    fn new(bank: Bank) -> Result<Self, Failure> {
        let mut mixer = Mixer::new(HZ, None);
        let mut follow = Follow::new(HZ);
        follow.set_offset(0);
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
        let mut count = Count::default();
        mixer.take(Message::Score { placed, given: 0 }, &mut count);
        Ok(Self {
            mixer,
            follow,
            bank,
            count,
            mono: [0.0; FRAMES],
            out: [0.0; FRAMES * 2],
            cue: 0,
        })
    }

    /// Orders arrive between blocks: every two seconds the next voice.
    fn order(&mut self, block: u64) {
        if block.is_multiple_of(375) {
            let voices = Prompt::ALL.len().max(1);
            let nth = usize::try_from(self.cue).unwrap_or(0) % voices;
            self.cue += 1;
            let play = Play {
                id: self.cue,
                clip: voice(nth),
                bus: Bus::Voice,
                start: None,
            };
            self.mixer.take(Message::Play(play), &mut self.count);
        }
    }

    fn block(&mut self, block: u64) {
        let heard_ns = block * 256 * 1_000_000 / 48;
        let stamp = Stamp {
            frame: self.mixer.frame(),
            frames: 256,
            now_ns: heard_ns.saturating_sub(10_000_000),
            heard_ns,
            is_underrun: false,
        };
        if let Some((timeline, _)) = self.follow.look(stamp) {
            self.mixer
                .take(Message::Timeline(timeline), &mut self.count);
        }
        self.mixer
            .render(&self.bank, &mut self.mono, &mut self.count);
        for (frame, sample) in self.out.chunks_mut(2).zip(&self.mono) {
            frame.fill(*sample);
        }
        black_box(&self.out);
    }
}

/// The clip of the nth prompt: behind the sounds of a score and the tones.
fn voice(nth: usize) -> ClipId {
    let place = u8::try_from(Tone::ALL.len() + nth).unwrap_or(u8::MAX);
    ClipId(ClipId::CUES.saturating_add(place))
}

/// Whether the clips are those that the pack says: by their lengths.
fn check(pack: &Pack, bank: &Bank) -> Result<(), Failure> {
    for (nth, prompt) in Prompt::ALL.iter().enumerate() {
        let found = bank.samples(voice(nth)).len().div_ceil(48);
        let listed = usize::try_from(pack.lengths().ms(*prompt))?;
        if found.abs_diff(listed) > 1 {
            return Err(format!("{}: {found} ms, listed {listed}", prompt.word()).into());
        }
    }
    Ok(())
}

fn main() -> Result<(), Failure> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let plain = words.iter().any(|w| w == "--plain");
    let blocks = match words.iter().position(|w| w == "--blocks") {
        Some(at) => words.get(at + 1).ok_or("--blocks N")?.parse()?,
        None => 400_000_u64,
    };
    let pack = Pack::built_in();
    if let Some(fault) = pack.faults().first() {
        return Err(fault.clone().into());
    }
    let bank = Bank::new(&pack, HZ)?;
    check(&pack, &bank)?;
    let mut callback = Callback::new(bank)?;
    if let Some(at) = words.iter().position(|w| w == "--crowded") {
        let seconds = words.get(at + 1).ok_or("--crowded SECONDS")?.parse()?;
        return crowded(&mut callback, seconds);
    }
    let (mut wall, mut cpu) = (Vec::new(), Vec::new());
    for n in 0..WARM + blocks {
        callback.order(n);
        if plain || n < WARM {
            callback.block(n);
        } else if n.is_multiple_of(2) {
            let begun = Instant::now();
            callback.block(n);
            wall.push(begun.elapsed().as_secs_f64() * 1e9);
        } else {
            let begun = thread_ns()?;
            callback.block(n);
            cpu.push(thread_ns()? - begun);
        }
    }
    let count = &callback.count;
    if count.cues < (WARM + blocks) / 375 || count.scores < blocks / 375 {
        return Err(format!("only {} sounds, {} voices", count.scores, count.cues).into());
    }
    if !plain {
        report("wall time", wall);
        report("CPU time of the thread", cpu);
        let mut empty = Vec::new();
        for _ in 0..10_000 {
            let begun = thread_ns()?;
            empty.push(thread_ns()? - begun);
        }
        let what = "reading the CPU clock twice, contained in the CPU times of a block";
        tails(what, "ns", &Spread::of(empty));
    }
    Ok(())
}

/// Programs that never rest, until this is dropped.
struct Crowd(Vec<Child>);

impl Crowd {
    fn new() -> Result<Self, Failure> {
        let mut crowd = Self(Vec::new());
        for _ in 0..thread::available_parallelism()?.get() {
            let mut busy = Command::new("sh");
            busy.args(["-c", "while :; do :; done"]);
            crowd.0.push(busy.spawn()?);
        }
        Ok(crowd)
    }
}

impl Drop for Crowd {
    fn drop(&mut self) {
        for child in &mut self.0 {
            drop(child.kill());
            drop(child.wait());
        }
    }
}

/// Blocks at a device's pace on cores that others have too.
fn crowded(callback: &mut Callback, seconds: u64) -> Result<(), Failure> {
    let blocks = seconds * u64::from(HZ) / 256;
    let (mut wall, mut cpu, mut late) = (Vec::new(), Vec::new(), Vec::new());
    let _crowd = Crowd::new()?;
    let begun = Instant::now();
    for n in 0..WARM + blocks {
        callback.order(n);
        let due = begun + Duration::from_nanos(n * 256 * 1_000_000 / 48);
        thread::sleep(due.saturating_duration_since(Instant::now()));
        let (cpu_before, before) = (thread_ns()?, Instant::now());
        callback.block(n);
        let (after, cpu_after) = (Instant::now(), thread_ns()?);
        if n >= WARM {
            wall.push((after - before).as_secs_f64() * 1e9);
            cpu.push(cpu_after - cpu_before);
            late.push(before.saturating_duration_since(due).as_secs_f64() * 1e9);
        }
    }
    let count = &callback.count;
    if count.cues < blocks / 375 {
        return Err(format!("only {} voices", count.cues).into());
    }
    report("crowded, wall time", wall);
    report("crowded, CPU time of the thread", cpu);
    report("crowded, begun after it was due", late);
    Ok(())
}

fn report(clock: &str, ns: Vec<f64>) {
    let share = ns.iter().map(|v| v * 100.0 / PERIOD_NS).collect();
    let what = format!("callback, 256 frames, beats and a voice, {clock}");
    tails(&what, "ns", &Spread::of(ns));
    tails(&what, "% of the block's 5.33 ms", &Spread::of(share));
}

/// CPU time of this thread, ns.
fn thread_ns() -> Result<f64, Failure> {
    let now = ClockId::CLOCK_THREAD_CPUTIME_ID.now()?;
    Ok(std::time::Duration::from(now).as_secs_f64() * 1e9)
}
