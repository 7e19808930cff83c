//! From a mark to what follows from it: `kept FOLDER`, a folder on the disk to be measured.
//!
//! The app's own conductor, clock, store and writer in FOLDER; 500 marks 200 ms apart. Measured from
//! the call with the mark: its order at the speaker, the first view with it, the first view
//! that shows it as kept. After it, for comparison, 500 bare appends with a sync in the same folder.

use std::{
    fs::OpenOptions,
    io::Write,
    path::{Path, PathBuf},
    sync::mpsc::{self, Sender},
    thread,
    time::{Duration, Instant},
};

use bench::{Failure, Spread, heads, setup, tails};
use conduct::{Ask, Order, Parts, Shown, Speaker, Touch, clock::uptime_ms};
use cycle::{Act, CueSound, Ms, Seq, SoundNews, Tone};

const MARKS: usize = 500;
const APART: Duration = Duration::from_millis(200);
const ACTS: [Act; 6] = [
    Act::HandsOff,
    Act::HandsOn,
    Act::AirwayIn,
    Act::AirwayLost,
    Act::Flag,
    Act::Rotate,
];

fn main() -> Result<(), Failure> {
    let folder = std::env::args_os().nth(1).map(PathBuf::from);
    let folder = folder.ok_or("kept FOLDER")?;
    let (orders, ordered) = mpsc::channel();
    let (views, viewed) = mpsc::channel();
    let handle = conduct::start(Parts {
        folder: folder.clone(),
        speaker: Box::new(Stamped(orders)),
        setup: setup()?,
        heads: heads(),
        faults: Vec::new(),
        remarks: Vec::new(),
        other_faults: Vec::new(),
        levels: cycle::Levels::default(),
        phone: Box::new(conduct::NoPhone),
        seal_after: Ms(conduct::SEAL_AFTER_MS),
        show: Box::new(move |shown| drop(views.send(View::of(&shown)))),
    })?;
    let press = |act| {
        let now = uptime_ms();
        let touch = Touch {
            down_ms: now,
            taken_ms: now,
            sent_ms: now,
        };
        let at = Instant::now();
        handle.ask(Ask::Press { act, touch });
        at
    };
    press(Act::StartByHand);
    // The file is made and its folder synced: that is the start's own time, not a mark's.
    thread::sleep(Duration::from_secs(2));
    ordered.try_iter().for_each(drop);
    let before: Vec<View> = viewed.try_iter().collect();
    let last = before.last().and_then(|v| v.mark);
    if last.is_none() || last > before.last().and_then(|v| v.kept) {
        return Err("the start is not kept after two seconds".into());
    }
    let mut asked = Vec::new();
    for n in 0..MARKS {
        asked.push(press(ACTS[n % ACTS.len()]));
        thread::sleep(APART);
    }
    thread::sleep(Duration::from_secs(2));
    let orders: Vec<Instant> = ordered.try_iter().collect();
    let views: Vec<View> = viewed.try_iter().collect();
    drop(handle);
    if orders.len() != MARKS {
        return Err(format!("{} orders of {MARKS} marks", orders.len()).into());
    }
    let mut marks: Vec<Seq> = views.iter().filter_map(|v| v.mark).collect();
    marks.dedup();
    if marks.first() == last.as_ref() {
        marks.remove(0);
    }
    if marks.len() != MARKS {
        // Two marks in one view could not be told apart.
        return Err(format!("{} marks were shown of {MARKS}", marks.len()).into());
    }
    let (mut order, mut shown, mut kept) = (Vec::new(), Vec::new(), Vec::new());
    for ((asked, ordered), seq) in asked.iter().zip(&orders).zip(&marks) {
        let first = |found: &dyn Fn(&&View) -> bool| {
            let view = views.iter().find(found).map(|v| v.at);
            view.map(|at| us(at.duration_since(*asked)) / 1000.0)
        };
        order.push(us(ordered.duration_since(*asked)));
        shown.extend(first(&|v| v.mark >= Some(*seq)));
        kept.extend(first(&|v| v.kept >= Some(*seq)));
    }
    if kept.len() != MARKS {
        return Err(format!("{} marks were kept of {MARKS}", kept.len()).into());
    }
    tails("mark to its order at the speaker", "us", &Spread::of(order));
    tails("mark to the first view with it", "ms", &Spread::of(shown));
    tails(
        "mark to the first view that shows it as kept",
        "ms",
        &Spread::of(kept),
    );
    let bare = Spread::of(bare(&folder)?);
    tails(
        "bare append of 320 bytes with a data sync, for comparison",
        "ms",
        &bare,
    );
    Ok(())
}

fn bare(folder: &Path) -> Result<Vec<f64>, Failure> {
    let path = folder.join("bare-append");
    let mut file = OpenOptions::new().create(true).append(true).open(&path)?;
    file.sync_all()?;
    let mut found = Vec::new();
    for _ in 0..MARKS {
        let begun = Instant::now();
        file.write_all(&[b'x'; 320])?;
        file.sync_data()?;
        found.push(us(begun.elapsed()) / 1000.0);
        thread::sleep(APART.saturating_sub(begun.elapsed()));
    }
    std::fs::remove_file(&path)?;
    Ok(found)
}

fn us(span: Duration) -> f64 {
    span.as_secs_f64() * 1e6
}

/// What matters of a view, and when it came.
struct View {
    at: Instant,
    mark: Option<Seq>,
    kept: Option<Seq>,
}

impl View {
    fn of(shown: &Shown) -> Self {
        Self {
            at: Instant::now(),
            mark: shown.last_act.map(|act| act.seq),
            kept: shown.kept_through,
        }
    }
}

/// Sounds nothing; tells when the receipt tone of a mark was ordered.
#[derive(Debug)]
struct Stamped(Sender<Instant>);

impl Speaker for Stamped {
    fn order(&mut self, _now: Ms, order: Order) {
        if let Order::Play(cue) = order
            && cue.sound == CueSound::Tone(Tone::Receipt)
        {
            // Nobody listens any more at the end.
            self.0.send(Instant::now()).unwrap_or_default();
        }
    }

    fn news(&mut self, _now: Ms) -> Option<SoundNews> {
        None
    }

    fn next_wakeup(&self) -> Option<Ms> {
        None
    }
}
