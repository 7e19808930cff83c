//! A live run without a window, for the proof by kills: the real conductor, clock, store and writer,
//! a speaker that sounds nothing, and a crew that never rests.
//!
//! `headless FOLDER` prints a line for each mark that is shown as kept, and one at each start:
//! `begun` or `resumed RUN_MS MONO_MS`, then `kept SEQ`.

#[path = "../tests/house/parts.rs"]
#[expect(clippy::unwrap_used, reason = "a fault of its own ends it")]
mod parts;

use std::{io::Write as _, path::Path, time::Duration};

use conduct::{Ask, clock::uptime_ms, fakes::FakeSpeaker};
use cycle::{Act, LastAct, Ms, StateWord};
use parts::{now, parts};

const ACTS: [Act; 6] = [
    Act::HandsOff,
    Act::HandsOn,
    Act::AirwayIn,
    Act::AirwayLost,
    Act::Flag,
    Act::Rotate,
];

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args_os().nth(1).ok_or("headless FOLDER")?;
    let (mut parts, from_conductor) = parts(Path::new(&folder), FakeSpeaker::new());
    parts.seal_after = Ms(conduct::SEAL_AFTER_MS);
    let handle = conduct::start(parts)?;
    let first = from_conductor.recv()?;
    let mut out = std::io::stdout().lock();
    if first.view.state == StateWord::Before {
        handle.ask(Ask::Press {
            act: Act::StartByHand,
            touch: now(),
        });
        writeln!(out, "begun")?;
    } else {
        let word = first.view.state.word();
        let since = first.view.state_since;
        writeln!(
            out,
            "resumed {} {} {word} {since}",
            first.now.0,
            uptime_ms()
        )?;
    }
    out.flush()?;
    let mut kept = first.kept_through;
    let mut n = 0usize;
    loop {
        // Two hundred taps a second at most: a crew in a hurry, not a flood.
        // Shown at once when it is kept: the proof counts on what was shown, nothing else.
        let until = uptime_ms().saturating_add(5);
        while let Some(left) = until.checked_sub(uptime_ms()).filter(|ms| *ms > 0) {
            let Ok(shown) = from_conductor.recv_timeout(Duration::from_millis(left)) else {
                break;
            };
            if let (
                Some(LastAct {
                    seq, taken: true, ..
                }),
                Some(through),
            ) = (shown.last_act, shown.kept_through)
                && through >= seq
                && kept < Some(seq)
            {
                kept = Some(seq);
                writeln!(out, "kept {} {} {}", seq.0, shown.now.0, uptime_ms())?;
                out.flush()?;
            }
        }
        let act = ACTS.get(n.checked_rem(ACTS.len()).unwrap_or(0)).copied();
        if let Some(act) = act {
            handle.ask(Ask::Press { act, touch: now() });
        }
        n = n.saturating_add(1);
    }
}
