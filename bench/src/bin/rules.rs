//! What the rules cost: `rules untended`, `rules busy`, `rules refold`.
//!
//! `untended` and `busy` play 24 hours of run time through the stage that the app and the rehearsal
//! stand on, with a speaker that sounds nothing and a keeper that keeps nothing. `refold` replays
//! a log of 6,000 marks and takes one back.

use std::{
    collections::VecDeque,
    sync::{
        Arc,
        atomic::{AtomicU64, Ordering::Relaxed},
    },
};

use bench::{Failure, Spread, heads, quartiles, resident_kb, setup, single};
use conduct::{Clock, Durability, House, Keeper, Order, Speaker, Stage};
use cycle::{
    Act, CueId, Entry, Fact, Input, Ms, Output, Run, Seq, SoundNews, Start,
    fact::{Amend, AmendOp, AmendReason, Source, Way},
};
use nix::time::ClockId;
use record::Wall;

const HOUR: u64 = 3_600_000;
const HOURS: u64 = 24;
/// Marks of the log that is folded again.
const MARKS: usize = 6000;

fn main() -> Result<(), Failure> {
    let mode = std::env::args().nth(1).unwrap_or_default();
    match mode.as_str() {
        "untended" => soak("untended", &[]),
        "busy" => soak("busy", BUSY),
        "refold" => refold(),
        _ => Err("rules untended | busy | refold".into()),
    }
}

/// Ten minutes of a busy crew, seconds and acts; over and over.
const BUSY: &[(u64, Did)] = &[
    (20, Did::Press(Act::PadsOn)),
    (24, Did::Press(Act::HandsOffCheck)),
    (31, Did::Press(Act::ShockedHand)),
    (50, Did::Press(Act::AirwayIn)),
    (60, Did::Press(Act::Rotate)),
    (75, Did::Press(Act::AirwayLost)),
    (90, Did::Press(Act::AirwayIn)),
    (100, Did::Press(Act::Flag)),
    (104, Did::Undo),
    (120, Did::Press(Act::FitDevice)),
    (130, Did::Press(Act::HandsOffFit)),
    (142, Did::Press(Act::DeviceRunning)),
    (147, Did::Press(Act::CupGood)),
    (152, Did::Press(Act::PausedCheck)),
    (158, Did::Press(Act::NoShockDevice)),
    (180, Did::Press(Act::Moving)),
    (200, Did::Press(Act::SetDown)),
    (206, Did::Press(Act::Reseat)),
    (214, Did::Press(Act::DeviceRunning)),
    (219, Did::Press(Act::CupGood)),
    (240, Did::Press(Act::Flag)),
    (279, Did::Press(Act::PausedCheck)),
    (285, Did::Press(Act::ShockNow)),
    (287, Did::Press(Act::DeviceRunning)),
    (320, Did::Press(Act::PowerSwap)),
    (350, Did::Press(Act::Swapped)),
    (356, Did::Press(Act::CupGood)),
    (400, Did::Press(Act::Paused)),
    (403, Did::Press(Act::WhyAirway)),
    (415, Did::Press(Act::DeviceRunning)),
    (418, Did::Undo),
    (421, Did::Press(Act::DeviceRunning)),
    (450, Did::Press(Act::Stopped)),
    (458, Did::Press(Act::HandsOn)),
    (480, Did::Press(Act::HandsOff)),
    (488, Did::Press(Act::HandsOn)),
    (500, Did::Press(Act::Rotate)),
    (520, Did::Press(Act::HandsOff)),
    (530, Did::Press(Act::PulseBack)),
    (570, Did::Press(Act::ArrestAgainHand)),
    (590, Did::Press(Act::AirwayLost)),
];

#[derive(Clone, Copy, Debug)]
enum Did {
    Press(Act),
    Undo,
}

fn soak(name: &str, acts: &[(u64, Did)]) -> Result<(), Failure> {
    let clock = Arc::new(Virtual::default());
    let setup = setup()?;
    let (chain, _) = heads().open(&setup, &clock.stamp(Ms::ZERO, 0))?;
    let kept = Arc::new(Kept::default());
    let run_clock: Arc<dyn Clock> = Arc::<Virtual>::clone(&clock);
    let keeper = Box::new(Nowhere(Arc::clone(&kept)));
    let mut play = Play {
        stage: Stage::begin(setup, chain, run_clock, House::same(), keeper),
        clock,
        speaker: Quiet::default(),
        steps: 0,
    };
    play.step(Ms::ZERO, Input::Start(Way::Hand));
    play.press(Ms::ZERO, Act::StartByHand)?;
    let mut hours = Vec::new();
    let mut cpu = cpu_ms()?;
    let (mut lines, mut marks) = (0, 0_usize);
    // What reading and sorting out the figures needs is there before the first one counts.
    resident_kb()?;
    for hour in 0..HOURS {
        let zero = hour * HOUR;
        for lap in 0..6 {
            for (at, did) in acts {
                let at = Ms(zero + (lap * 600 + at) * 1000);
                play.until(at);
                match did {
                    Did::Press(act) => {
                        play.press(at, *act)?;
                        marks += act.marks().len();
                    }
                    Did::Undo => play.step(at, Input::Undo),
                }
            }
        }
        play.until(Ms(zero + HOUR));
        let (now, total) = (cpu_ms()?, kept.lines.load(Relaxed));
        hours.push(Hour {
            cpu_ms: now - cpu,
            lines: float(total - lines),
            kb: resident_kb()?,
        });
        (cpu, lines) = (now, total);
    }
    let (Some(first), Some(last)) = (hours.first(), hours.last()) else {
        return Err("no hour was played".into());
    };
    let n = hours.len();
    let what = |of: &str| format!("24 h, {name} run ({marks} marks): {of}");
    single(&what("memory after the first hour"), "kB", 1, first.kb);
    if let Some(third) = hours.get(2) {
        single(&what("memory after three hours"), "kB", 1, third.kb);
    }
    single(&what("memory after the last hour"), "kB", 1, last.kb);
    let growth = (last.kb - first.kb) * 100.0 / first.kb;
    single(
        &what("growth from the first hour to the last"),
        "%",
        1,
        growth,
    );
    if marks > 0 {
        let later = u32::try_from(marks)? / 24 * 23;
        let bytes = (last.kb - first.kb) * 1024.0 / f64::from(later);
        let of = "memory a mark, from the first hour to the last";
        single(&what(of), "B", usize::try_from(later)?, bytes);
    }
    let lines = hours.iter().map(|h| h.lines).collect();
    quartiles(&what("record lines an hour"), "lines", &Spread::of(lines));
    let bytes = float(kept.bytes.load(Relaxed)) / float(HOURS);
    single(&what("record bytes an hour"), "B", n, bytes);
    let steps = float(play.steps) / float(HOURS);
    single(&what("steps of the rules an hour"), "steps", n, steps);
    single(&what("CPU time of the first hour"), "ms", 1, first.cpu_ms);
    single(&what("CPU time of the last hour"), "ms", 1, last.cpu_ms);
    Ok(())
}

/// One hour of run time.
struct Hour {
    cpu_ms: f64,
    lines: f64,
    kb: f64,
}

#[expect(clippy::cast_precision_loss, reason = "counts far below 2 to the 53rd")]
fn float(n: u64) -> f64 {
    n as f64
}

struct Play {
    stage: Stage,
    clock: Arc<Virtual>,
    speaker: Quiet,
    steps: u64,
}

impl Play {
    fn until(&mut self, at: Ms) {
        loop {
            let due = [self.stage.next_wakeup(), self.speaker.next_wakeup()];
            let Some(now) = due.into_iter().flatten().min().filter(|due| *due < at) else {
                break;
            };
            self.moment(now);
        }
        self.moment(at);
    }

    fn moment(&mut self, now: Ms) {
        self.clock.0.store(now.0, Relaxed);
        self.stage.hear(&mut self.speaker, now);
        self.step(now, Input::Wake);
    }

    fn press(&mut self, at: Ms, act: Act) -> Result<(), Failure> {
        for mark in act.marks() {
            let run = self.stage.run();
            if let Err(refusal) = run.check(&mark) {
                return Err(format!("{act:?} at {at}: {refusal}").into());
            }
            let src = Source::Button;
            self.step(at, Input::Mark { at, mark, src });
        }
        Ok(())
    }

    fn step(&mut self, now: Ms, input: Input) {
        self.stage.step(&mut self.speaker, now, input);
        std::hint::black_box(self.stage.view(now));
        self.steps += 1;
    }
}

/// Sounds nothing, and tells each cue as begun at its moment, as a device would.
#[derive(Debug, Default)]
struct Quiet {
    waiting: VecDeque<(Ms, CueId)>,
    counted: Ms,
}

impl Speaker for Quiet {
    fn order(&mut self, now: Ms, order: Order) {
        match order {
            Order::Play(cue) => {
                let at = match cue.start {
                    Start::Now => now,
                    Start::At(at) => at,
                };
                self.waiting.push_back((at, cue.id));
            }
            Order::Revoke(id) => self.waiting.retain(|(_, waiting)| *waiting != id),
            Order::Score(_) | Order::Levels(_) | Order::Rest | Order::Noise(_) => {}
        }
    }

    fn news(&mut self, now: Ms) -> Option<SoundNews> {
        if let Some(n) = self.waiting.iter().position(|(at, _)| *at <= now) {
            let (at, id) = self.waiting.remove(n)?;
            return Some(SoundNews::Started { id, at });
        }
        (now.since(self.counted) >= Ms(60_000)).then(|| {
            self.counted = now;
            SoundNews::Count {
                beats: 110,
                frames: 2_880_000,
                underruns: 0,
            }
        })
    }

    fn next_wakeup(&self) -> Option<Ms> {
        self.waiting.iter().map(|(at, _)| at.plus(Ms(1))).min()
    }
}

#[derive(Debug, Default)]
struct Kept {
    lines: AtomicU64,
    bytes: AtomicU64,
}

#[derive(Debug)]
struct Nowhere(Arc<Kept>);

impl Keeper for Nowhere {
    fn keep(&mut self, line: Vec<u8>, _through: Seq, _durability: Durability) {
        self.0.lines.fetch_add(1, Relaxed);
        let bytes = u64::try_from(line.len()).unwrap_or(0);
        self.0.bytes.fetch_add(bytes, Relaxed);
    }
}

/// A clock that is a number.
#[derive(Debug, Default)]
struct Virtual(AtomicU64);

impl Clock for Virtual {
    fn mono_ns(&self) -> u64 {
        self.0.load(Relaxed) * 1_000_000
    }

    fn wall(&self) -> Wall {
        Wall::UNKNOWN
    }

    fn boot(&self) -> &'static str {
        "bench"
    }

    fn zero_ms(&self) -> i64 {
        0
    }
}

fn refold() -> Result<(), Failure> {
    let acts = [
        Act::HandsOff,
        Act::HandsOn,
        Act::AirwayIn,
        Act::AirwayLost,
        Act::Flag,
        Act::Rotate,
    ];
    let mut run = Run::new(setup()?);
    let mut log: Vec<Entry> = Vec::new();
    let mut made = Vec::new();
    let mut drain = |run: &mut Run, made: &mut Vec<Seq>| {
        while let Some(output) = run.poll() {
            if let Output::Write(entry) = output {
                if matches!(entry.fact, Fact::Mark(_)) {
                    made.push(entry.seq);
                }
                log.push(entry);
            }
        }
    };
    let mut marks: VecDeque<_> = Act::StartByHand.marks().into();
    for mark in acts.iter().cycle().flat_map(|act| act.marks()) {
        if marks.len() == MARKS {
            break;
        }
        marks.push_back(mark);
    }
    let mut now = Ms::ZERO;
    for mark in marks {
        let (at, src) = (now, Source::Button);
        run.handle(now, Input::Mark { at, mark, src });
        drain(&mut run, &mut made);
        now = now.plus(Ms(1000));
    }
    if made.len() != MARKS {
        return Err(format!("{} marks stand, expected {MARKS}", made.len()).into());
    }
    // The third mark: all others are folded again behind it.
    let target = made.get(2).copied().ok_or("no third mark")?;
    let (op, reason) = (AmendOp::Retract, AmendReason::MisTap);
    let amend = Amend::of(target, op, reason);
    let mut alone = Vec::new();
    for _ in 0..101 {
        let mut run = run.clone();
        let begun = cpu_ms()?;
        run.handle(now, Input::Amend(amend.clone()));
        alone.push((cpu_ms()? - begun) * 1000.0);
    }
    let what = format!("rules, a mark taken back among {MARKS}, CPU time");
    quartiles(&what, "us", &Spread::of(alone));
    log.push(Entry {
        seq: run.next_seq(),
        at: now,
        taken: now,
        src: Source::Button,
        fact: Fact::Amend(amend),
    });
    let mut replays = Vec::new();
    for _ in 0..21 {
        let setup = setup()?;
        let begun = cpu_ms()?;
        std::hint::black_box(Run::replay(setup, &log)?);
        replays.push(cpu_ms()? - begun);
    }
    let lines = log.len();
    let what =
        format!("rules, replay of {lines} lines with {MARKS} marks and one taken back, CPU time");
    quartiles(&what, "ms", &Spread::of(replays));
    Ok(())
}

/// CPU time of this process, ms.
fn cpu_ms() -> Result<f64, Failure> {
    let now = ClockId::CLOCK_PROCESS_CPUTIME_ID.now()?;
    Ok(std::time::Duration::from(now).as_secs_f64() * 1000.0)
}
