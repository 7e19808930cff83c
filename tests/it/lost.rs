//! Sound taken away in every way that a sound server knows, in one run of the real window.

use std::{
    path::Path,
    process::{Command, Output},
    time::{Duration, Instant},
};

use serde_json::{Value, json};

use crate::{
    figures::{full, note},
    rig::{
        Capture, Crew, Rig, SINK, SoundServer, Told, boot_ms, python, say, send, tool, wait_for,
    },
};

const NO_SOUND: &str = "No sound";
/// After sound has come back so much of it is recorded. The judge wants a beat or two.
const HEARD: Duration = Duration::from_millis(1600);

/// A key that is pressed again within 600 ms is a finger that slipped.
const BETWEEN: Duration = Duration::from_millis(650);
/// The mark while sound is away comes once that is told, and so long before its end at the latest.
const BEFORE_END: Duration = Duration::from_millis(300);

/// How sound is taken away.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Fault {
    /// The server is killed, and another started.
    ServerKilled,
    /// The only output goes away, and another comes.
    SinkGone,
    /// Another output becomes the default, and the old one goes.
    DefaultChanged,
    /// Another output becomes the default, and the old one stays.
    DefaultMoved,
    /// The output takes nothing: it is there and busy.
    Busy,
    /// The output goes away and comes back at another rate.
    RateChanged,
    /// The server stands still: nobody asks for the next block.
    Stalled,
}

const FAULTS: [Fault; 7] = [
    Fault::ServerKilled,
    Fault::SinkGone,
    Fault::DefaultChanged,
    Fault::DefaultMoved,
    Fault::Busy,
    Fault::RateChanged,
    Fault::Stalled,
];

impl Fault {
    /// Whether there is a default output all the while, but another one.
    fn is_other_default(self) -> bool {
        matches!(self, Self::DefaultChanged | Self::DefaultMoved)
    }
}

/// A sound server whose outputs come and go.
struct World<'a> {
    rig: &'a Rig,
    server: Option<SoundServer>,
    sink: String,
    made: usize,
}

impl<'a> World<'a> {
    fn new(rig: &'a Rig) -> Told<Self> {
        Ok(Self {
            rig,
            server: Some(SoundServer::start(rig)?),
            sink: SINK.to_owned(),
            made: 0,
        })
    }

    fn ask(&self, args: &[&str]) -> Told<String> {
        let mut command: Command = self.rig.command(&tool("pactl", "pulseaudio-utils")?);
        let Output {
            status,
            stdout,
            stderr,
        } = command
            .args(args)
            .output()
            .map_err(|e| format!("pactl: {e}"))?;
        if status.success() {
            Ok(String::from_utf8_lossy(&stdout).trim().to_owned())
        } else {
            Err(format!(
                "pactl {args:?}: {}",
                String::from_utf8_lossy(&stderr)
            ))
        }
    }

    /// A new output.
    fn make(&mut self, rate: u32) -> Told<()> {
        self.made += 1;
        self.sink = format!("out{}", self.made);
        let (name, rate) = (format!("sink_name={}", self.sink), format!("rate={rate}"));
        self.ask(&[
            "load-module",
            "module-null-sink",
            &name,
            &rate,
            "channels=2",
        ])
        .map(drop)
    }

    /// The newest output is the default from now on.
    fn set_default(&self) -> Told<()> {
        self.ask(&["set-default-sink", &self.sink]).map(drop)
    }

    /// A new output, the default from now on.
    fn add(&mut self, rate: u32) -> Told<()> {
        self.make(rate)?;
        self.set_default()
    }

    /// Takes an output away.
    fn remove(&self, sink: &str) -> Told<()> {
        let modules = self.ask(&["list", "short", "modules"])?;
        let wanted = format!("sink_name={sink} ");
        let line = modules
            .lines()
            .find(|line| format!("{line} ").contains(&wanted));
        let index = line.and_then(|line| line.split('\t').next());
        let index = index.ok_or_else(|| format!("no module of {sink}: {modules}"))?;
        self.ask(&["unload-module", index]).map(drop)
    }

    fn pid(&self) -> Told<u32> {
        self.server
            .as_ref()
            .map(SoundServer::pid)
            .ok_or_else(|| "no server".to_owned())
    }

    /// Takes sound away from the output `old`.
    fn take(&mut self, fault: Fault, old: &str) -> Told<()> {
        match fault {
            Fault::ServerKilled => self.server.take().map_or(Ok(()), SoundServer::kill),
            Fault::SinkGone | Fault::RateChanged => self.remove(old),
            Fault::DefaultChanged => {
                self.set_default()?;
                self.remove(old)
            }
            Fault::DefaultMoved => self.set_default(),
            Fault::Busy => self.ask(&["suspend-sink", old, "1"]).map(drop),
            Fault::Stalled => send(self.pid()?, "STOP"),
        }
    }

    /// Gives it back.
    fn give(&mut self, fault: Fault) -> Told<()> {
        match fault {
            Fault::ServerKilled => {
                self.server = Some(SoundServer::start(self.rig)?);
                SINK.clone_into(&mut self.sink);
                Ok(())
            }
            Fault::SinkGone => self.add(48_000),
            Fault::RateChanged => self.add(44_100),
            Fault::DefaultChanged | Fault::DefaultMoved => Ok(()),
            Fault::Busy => self.ask(&["suspend-sink", &self.sink, "0"]).map(drop),
            Fault::Stalled => send(self.pid()?, "CONT"),
        }
    }

    /// Records the newest output.
    fn capture(&self, name: &str) -> Told<Capture> {
        Capture::of(self.rig, &format!("{}.monitor", self.sink), name)
    }

    /// When a stream that does nothing else could be opened and played, ms of the boot clock.
    fn opens(&self) -> Told<i64> {
        let pacat = tool("pacat", "pulseaudio-utils")?;
        wait_for("a bare stream", Duration::from_secs(10), || {
            let mut command = self.rig.command(Path::new("timeout"));
            let done = command
                .arg("1")
                .arg(&pacat)
                .args(["--playback", "--raw", "--latency-msec=20", "/dev/null"])
                .status()
                .map_err(|e| format!("pacat: {e}"))?;
            done.success().then(boot_ms).transpose()
        })
    }
}

/// How long sound is away the n-th time in one way. Some are long enough to be told for certain, and some so long that
/// the attempts to get it back have become seldom, if they do; others may pass by.
fn away_ms(n: usize, seed: &mut u64) -> u64 {
    match n % 10 {
        0 => 4000,
        1 => 10_000,
        2 => 1500,
        _ => 300 + u64::try_from(dice(seed, 1400)).unwrap_or(0),
    }
}

/// Faults in an order that a seed gives, each so often.
fn order(each: usize, mut seed: u64) -> Vec<Fault> {
    let mut faults: Vec<Fault> = FAULTS
        .iter()
        .flat_map(|f| std::iter::repeat_n(*f, each))
        .collect();
    for n in (1..faults.len()).rev() {
        faults.swap(n, dice(&mut seed, n + 1));
    }
    faults
}

/// 0 to below `most`; Knuth's linear congruential generator, of which the upper bits are taken.
fn dice(seed: &mut u64, most: usize) -> usize {
    *seed = seed
        .wrapping_mul(6_364_136_223_846_793_005)
        .wrapping_add(1_442_695_040_888_963_407);
    usize::try_from(*seed >> 33).unwrap_or(0) % most
}

/// Marks a bare time; when the key was pressed, ms of the boot clock, at the earliest and at the latest.
fn mark(crew: &Crew) -> Told<[i64; 2]> {
    let from = boot_ms()?;
    crew.mark_time()?;
    Ok([from, boot_ms()?])
}

/// Takes sound away once and gives it back, with a mark while it is away and one right after; what there is to judge.
fn once(
    world: &mut World<'_>,
    crew: &Crew,
    fault: Fault,
    (n, silent_ms): (usize, u64),
) -> Told<Value> {
    let name = format!("lost-{n}.wav");
    let old = world.sink.clone();
    // What another output is given is heard from before it becomes the default.
    let ready = if fault.is_other_default() {
        world.make(48_000)?;
        Some(world.capture(&name)?)
    } else {
        None
    };
    // A busy machine can lose it by itself, as while the output is made: that is not what is tried here.
    wait_for("sound to be taken away", Duration::from_secs(10), || {
        Ok((!crew.words()?.contains(NO_SOUND)).then_some(()))
    })?;
    let taken = boot_ms()?;
    let began = Instant::now();
    world.take(fault, &old)?;
    let until = Duration::from_millis(silent_ms);
    let (mut told, mut away) = (None, None);
    while began.elapsed() < until {
        if told.is_none() && crew.words()?.contains(NO_SOUND) {
            told = Some(boot_ms()? - taken);
        }
        let is_time = told.is_some() || began.elapsed() + BEFORE_END >= until;
        if away.is_none() && is_time {
            away = Some(mark(crew)?);
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    let away = away.map_or_else(|| mark(crew), Ok)?;
    let pressed = Instant::now();
    world.give(fault)?;
    let (capture, opened, heard_from) = match ready {
        // A stream could be opened all the while.
        Some(capture) => (capture, taken, taken),
        None => std::thread::scope(|side| {
            // The capture takes its time to begin, and that is not the app's.
            let opened = side.spawn(|| world.opens());
            let capture = world.capture(&name)?;
            let heard_from = boot_ms()?;
            let opened = opened.join().map_err(|_| "the bare stream's thread")??;
            Ok::<_, String>((capture, opened, heard_from))
        })?,
    };
    wait_for("sound said to be back", Duration::from_secs(10), || {
        Ok((!crew.words()?.contains(NO_SOUND)).then_some(()))
    })?;
    let back = boot_ms()?;
    std::thread::sleep(BETWEEN.saturating_sub(pressed.elapsed()));
    let after = mark(crew)?;
    std::thread::sleep(HEARD);
    let wav = capture.finish()?;
    if fault == Fault::DefaultMoved {
        world.remove(&old)?;
    }
    Ok(json!({
        "fault": format!("{fault:?}"), "wav": wav, "taken_ms": taken, "told_ms": told,
        "silent_ms": silent_ms, "opened_ms": opened, "heard_from_ms": heard_from,
        "said_back_ms": back,
        "marked_ms": [away, after],
    }))
}

#[test]
fn sound_taken_away_in_every_way_is_told_and_comes_back_on_the_grid() -> Told<()> {
    let each = if full() { 20 } else { 1 };
    let set = std::env::var("CARRYBEAT_SEED").ok();
    let mut seed = match set.as_deref().map(str::parse) {
        Some(Ok(seed)) => seed,
        Some(Err(e)) => {
            return Err(format!(
                "CARRYBEAT_SEED = {set:?}: {e}; a whole number is wanted"
            ));
        }
        None => u64::try_from(boot_ms()?).unwrap_or(1),
    };
    say(&format!("seed {seed}"));
    let mut rig = Rig::new("lost")?;
    let mut world = World::new(&rig)?;
    let mut crew = Crew::open(&rig)?;
    crew.press("Start by Hand")?;
    // Without breath windows a beat is never far.
    crew.press("Airway In")?;
    std::thread::sleep(Duration::from_secs(4));
    if crew.words()?.contains(NO_SOUND) {
        return Err("no sound before anything happened".to_owned());
    }
    let before = world.capture("before.wav")?;
    std::thread::sleep(Duration::from_secs(3));
    let before = before.finish()?;
    let mut rows = Vec::new();
    let mut met: Vec<Fault> = Vec::new();
    for (n, fault) in order(each, seed).into_iter().enumerate() {
        let times = met.iter().filter(|one| **one == fault).count();
        let silent_ms = away_ms(times, &mut seed);
        met.push(fault);
        rows.push(once(&mut world, &crew, fault, (n, silent_ms))?);
    }
    crew.close()?;
    let records = rig.records()?;
    let [record] = records.as_slice() else {
        return Err(format!("one record was to be kept: {records:?}"));
    };
    let list = rig.file("lost.json");
    let told = json!({"record": record, "before": before, "rows": rows});
    std::fs::write(&list, told.to_string()).map_err(|e| format!("{}: {e}", list.display()))?;
    drop(world);
    rig.rest();
    let judged = python("judge_lost.py", &[list.as_os_str()]);
    match &judged {
        Ok(text) | Err(text) => say(text.trim()),
    }
    note("sound taken away", &judged?, 0)
}
