//! A live run without a window, for the proof by kills: the real conductor, clock, store and writer,
//! a speaker that sounds nothing, and a crew that never rests.
//!
//! `headless FOLDER` prints a line for each mark that is shown as kept, and one at each start:
//! `begun` or `resumed RUN_MS MONO_MS`, then `kept SEQ`.

use std::{io::Write as _, path::PathBuf, sync::mpsc, time::Duration};

use conduct::{Ask, Heads, Parts, Touch, clock::uptime_ms, fakes::FakeSpeaker};
use cycle::{
    Act, ClipLengths, LastAct, Ms, Prompt, Protocol, Setup, StateWord, mark::PatientClass,
};
use record::{Digest, RunKind};

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
    let text = Protocol::example("example-adult").ok_or("no example protocol")?;
    let protocol = Protocol::parse(text.as_bytes()).map_err(|_| "the example is damaged")?;
    let clips = ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 1000)).collect())
        .map_err(|_| "a prompt has no length")?;
    let (shown, from_conductor) = mpsc::channel();
    let handle = conduct::start(Parts {
        folder: PathBuf::from(folder),
        speaker: Box::new(FakeSpeaker::new()),
        phone: Box::new(conduct::NoPhone),
        setup: Setup {
            protocol,
            clips,
            class: PatientClass::Adult,
            others: Vec::new(),
        },
        heads: Heads {
            kind: RunKind::Test,
            version: "0".to_owned(),
            pack_id: "none".to_owned(),
            pack_sha256: Digest::of(b""),
            lang: "en-US".to_owned(),
            tz: "UTC".to_owned(),
            record_id: String::new(),
            scenario: None,
            unit_code: None,
        },
        faults: Vec::new(),
        remarks: Vec::new(),
        other_faults: Vec::new(),
        levels: cycle::Levels::default(),
        seal_after: Ms(conduct::SEAL_AFTER_MS),
        show: Box::new(move |s| drop(shown.send(s))),
    })?;
    let first = from_conductor.recv()?;
    let mut out = std::io::stdout().lock();
    if first.view.state == StateWord::Before {
        handle.ask(Ask::Press {
            act: Act::StartByHand,
            touch: touch(),
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
            handle.ask(Ask::Press {
                act,
                touch: touch(),
            });
        }
        n = n.saturating_add(1);
    }
}

fn touch() -> Touch {
    let now = uptime_ms();
    Touch {
        down_ms: now,
        taken_ms: now,
        sent_ms: now,
    }
}
