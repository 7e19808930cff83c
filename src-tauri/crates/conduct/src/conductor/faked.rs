//! What a conductor is made of in its own tests: a fake speaker and a fake phone, the built-in example.

use std::path::Path;

use cycle::{ClipLengths, Ms, Prompt};

use super::Parts;
use crate::{
    Heads, Shown,
    fakes::{FakePhone, FakeSpeaker},
    of_example,
};

pub(super) fn faked(
    folder: &Path,
    (speaker, phone): (&FakeSpeaker, &FakePhone),
    show: Box<dyn FnMut(Shown) + Send>,
) -> Parts {
    let clips = Prompt::ALL.iter().map(|p| (*p, 1000)).collect();
    let setup = of_example("example-adult", ClipLengths::new(clips).unwrap());
    Parts {
        folder: folder.to_owned(),
        speaker: Box::new(speaker.clone()),
        phone: Box::new(phone.clone()),
        setup: setup.unwrap().unwrap(),
        heads: Heads {
            lang: "en-GB".to_owned(),
            ..crate::fakes::heads("")
        },
        faults: Vec::new(),
        remarks: Vec::new(),
        other_faults: Vec::new(),
        levels: cycle::Levels::default(),
        seal_after: Ms(1000),
        show,
    }
}
