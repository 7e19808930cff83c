//! Plays a beat through the app's own speaker, for measurements of the sound that is captured.
//!
//! `beat_probe [SECONDS] [RATE] [breaths]`: prints the speaker's health each second, and the run
//! time at which the score was given.
use std::{error::Error, io::Write as _, sync::mpsc, time::Duration};

use audio::{Pack, Player};
use beat::{Pattern, Placed, Rate, Score};
use conduct::{Clock as _, Order, RunClock, Speaker as _};
use cycle::{Ms, SoundNews};

fn main() -> Result<(), Box<dyn Error>> {
    let mut args = std::env::args().skip(1);
    let seconds: u64 = args.next().map_or(Ok(10), |a| a.parse())?;
    let rate: u16 = args.next().map_or(Ok(110), |a| a.parse())?;
    let breath_ms = if args.next().is_some() { 6000 } else { 0 };
    let mut out = std::io::stdout().lock();
    let begun = RunClock::begin(Ms::ZERO);
    let pack = Pack::built_in();
    let clips = begun.now();
    for fault in pack.faults() {
        writeln!(out, "{fault}")?;
    }
    let mut player = Player::open(pack)?;
    let (_keep, wait) = mpsc::channel::<()>();
    // The app opens its device well before a run begins.
    let opening = RunClock::begin(Ms::ZERO);
    while player.health().latency_ns == 0 && opening.now() < Ms(10_000) {
        wait.recv_timeout(Duration::from_millis(5)).ok();
    }
    writeln!(out, "ready after {} (clips {clips})", opening.now())?;
    let clock = RunClock::begin(Ms::ZERO);
    player.set_zero(clock.zero_ms());
    let now = clock.now();
    let anchor_ms = now.plus(Ms(25)).0;
    let placed = Placed {
        score: Score {
            rate: Rate::new(rate)?,
            pattern: Pattern::Continuous { breath_ms },
            quiet_ddb: 0,
        },
        anchor_ms,
        lead: 0,
        from_ms: anchor_ms,
        breath_from_ms: anchor_ms,
    };
    player.order(now, Order::Score(placed));
    writeln!(out, "score at {now}, boot clock {} ms", clock.mono_ms())?;
    let mut shown = Ms::ZERO;
    while clock.now() < Ms(seconds.saturating_mul(1000)) {
        let now = clock.now();
        while let Some(news) = player.news(now) {
            if !matches!(news, SoundNews::Count { .. }) {
                writeln!(out, "{now}: {news:?}")?;
            }
        }
        if now.since(shown) >= Ms(1000) {
            shown = now;
            writeln!(out, "{now}: {:?}", player.health())?;
        }
        wait.recv_timeout(Duration::from_millis(100)).ok();
    }
    Ok(())
}
