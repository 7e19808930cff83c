//! What a conductor is started with where only the run counts: the adult's example, clips of one length, a speaker
//! that sounds nothing.

use std::{path::Path, sync::mpsc::Receiver};

use conduct::{NoPhone, Parts, Shown, Touch, clock::uptime_ms, fakes::FakeSpeaker};
use cycle::{ClipLengths, Levels, Ms, Prompt, Protocol, Setup, mark::PatientClass};

/// Clips that last so long each.
pub(crate) fn clips(ms: u32) -> ClipLengths {
    ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, ms)).collect()).unwrap()
}

/// The parts, and what will be shown.
pub(crate) fn parts(folder: &Path, speaker: FakeSpeaker) -> (Parts, Receiver<Shown>) {
    let (show, shown) = std::sync::mpsc::channel();
    let text = Protocol::example("example-adult").unwrap();
    let parts = Parts {
        folder: folder.to_owned(),
        speaker: Box::new(speaker),
        phone: Box::new(NoPhone),
        setup: Setup {
            protocol: Protocol::parse(text.as_bytes()).unwrap(),
            clips: clips(1000),
            class: PatientClass::Adult,
            others: Vec::new(),
        },
        heads: conduct::fakes::heads(""),
        faults: Vec::new(),
        remarks: Vec::new(),
        other_faults: Vec::new(),
        levels: Levels::default(),
        seal_after: Ms(1000),
        show: Box::new(move |s| drop(show.send(s))),
    };
    (parts, shown)
}

/// A touch of this moment.
pub(crate) fn now() -> Touch {
    let now = uptime_ms();
    Touch {
        down_ms: now,
        taken_ms: now,
        sent_ms: now,
    }
}
