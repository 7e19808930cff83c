//! A minute of an invented crew with the draft's numbers: rehearsed as any rehearsal is, then cut out.

use std::{io::Cursor, sync::Arc};

use audio::{Pack, WavOutlet};
use chart::{OUTLINE_MS, Palette};
use conduct::{Heads, Recording};
use cycle::{Act, Ms, Protocol, Run, Setup};
use record::{
    Digest, RunKind,
    script::{Act as Done, Script, Step},
};
use words::{DraftMinute, Situation, Words};

use crate::{DraftError, Sketch, picture};

/// How long it is.
const MINUTE: Ms = Ms(60_000);
const FRAMES_A_MS: u64 = 48;
/// The crew acts so long after the start.
const ACTS_AT: Ms = Ms(20_000);
/// First breaths are given after so long.
const BREATHS_GIVEN: Ms = Ms(8000);
/// A minute with an act begins so long before it.
const BEFORE: Ms = Ms(10_000);
/// A check's minute begins so long before it falls due: with its heads-up.
const BEFORE_CHECK: Ms = Ms(35_000);
/// Nobody's record: it is thrown away.
const RECORD_ID: &str = "00000000-0000-4000-8000-000000000000";
const FONT: &str = "Carry Sans";

/// A minute that was rehearsed.
#[derive(Clone, Debug, PartialEq)]
pub struct Minute {
    /// As it is drawn.
    pub shown: DraftMinute,
    /// As it is heard.
    pub sound: Recording,
}

/// The minutes that there can be with a protocol: a newborn's run has no check and its own breaths, and a
/// device that is not allowed does not stop.
pub(crate) fn possible(protocol: &Protocol) -> Vec<Situation> {
    let is_so = |situation: &Situation| match situation {
        Situation::First => true,
        Situation::Check | Situation::Off | Situation::Airway => protocol.has_cycle(),
        Situation::Stopped => protocol.has_cycle() && protocol.device.allowed,
    };
    Situation::ALL.into_iter().filter(is_so).collect()
}

/// What the crew does, and where the minute begins.
fn crew(situation: Situation, setup: &Setup) -> (Vec<Step>, Ms) {
    let idle = Run::new(setup.clone()).view(Ms::ZERO);
    // The key that stands first on the start card.
    let by_hand = idle.main.first().copied().unwrap_or(Act::StartByHand);
    let from = ACTS_AT.minus(BEFORE);
    let (start, acts, from) = match situation {
        Situation::First => (by_hand, Vec::new(), Ms::ZERO),
        Situation::Check => {
            let due = setup.protocol.check_every;
            let acts = vec![
                (due.plus(Ms(2000)), Act::HandsOffCheck),
                (due.plus(Ms(9000)), Act::NoShockHand),
            ];
            (by_hand, acts, due.minus(BEFORE_CHECK))
        }
        Situation::Off => (by_hand, vec![(ACTS_AT, Act::HandsOff)], from),
        Situation::Airway => (by_hand, vec![(ACTS_AT, Act::AirwayIn)], from),
        Situation::Stopped => {
            let back = ACTS_AT.plus(Ms(8000));
            let acts = vec![(ACTS_AT, Act::Stopped), (back, Act::HandsOn)];
            (Act::DeviceAlreadyOn, acts, from)
        }
    };
    let step = |at: Ms, act: Done| Step {
        at,
        age: Ms::ZERO,
        act,
    };
    // Where a service starts with breaths, hands are on once they are given.
    let breaths = (start == Act::StartWithBreaths && setup.protocol.has_cycle())
        .then_some((BREATHS_GIVEN, Act::HandsOn));
    let mut steps: Vec<Step> = start
        .way()
        .map(|way| step(Ms::ZERO, Done::Start(way)))
        .into_iter()
        .collect();
    for (at, act) in [(Ms::ZERO, start)].into_iter().chain(breaths).chain(acts) {
        steps.extend(
            act.marks()
                .into_iter()
                .map(|mark| step(at, Done::Mark(mark))),
        );
    }
    (steps, from)
}

pub(crate) fn minute(
    protocol: Protocol,
    situation: Situation,
    (words, pack): (&Words, &Pack),
    palette: &Palette,
) -> Result<Minute, DraftError> {
    let told = |e: &dyn std::fmt::Display| DraftError::Minute(e.to_string());
    let setup = Setup {
        class: protocol.class,
        others: Vec::new(),
        clips: pack.lengths().clone(),
        protocol,
    };
    let (steps, from) = crew(situation, &setup);
    let to = from.plus(MINUTE);
    let script = Script {
        name: words.situation(situation),
        protocol: None,
        class: setup.class,
        lang: pack.id().to_owned(),
        seed: 0,
        steps,
        end: Some(to),
    };
    let heads = Heads {
        kind: RunKind::Rehearsal,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        pack_id: pack.id().to_owned(),
        pack_sha256: pack
            .hash()
            .parse()
            .unwrap_or_else(|_| Digest::of(pack.hash().as_bytes())),
        lang: words.lang().to_owned(),
        tz: "UTC".to_owned(),
        record_id: RECORD_ID.to_owned(),
        scenario: None,
        unit_code: None,
    };
    let mut wav = Cursor::new(Vec::new());
    let mut outlet = WavOutlet::new(&mut wav, pack).map_err(|e| told(&e))?;
    let rehearsed = conduct::rehearse(&script, setup, &heads, &mut outlet).map_err(|e| told(&e))?;
    let sounds = outlet.finish(rehearsed.end).map_err(|e| told(&e))?;
    let samples = audio::samples(wav.get_ref()).map_err(|e| told(&e))?;
    let every = usize::try_from(OUTLINE_MS.saturating_mul(FRAMES_A_MS)).unwrap_or(1);
    let outline: Vec<(i16, i16)> = samples.chunks(every.max(1)).map(ends).collect();
    let sketch = Sketch {
        name: &script.name,
        rehearsed: &rehearsed,
        sounds: &sounds,
        outline: &outline,
        span: (from, to),
    };
    let scene = picture(&sketch, words).map_err(|e| told(&e))?;
    let place = |at: Ms| usize::try_from(at.0.saturating_mul(FRAMES_A_MS)).unwrap_or(usize::MAX);
    let end = place(to).min(samples.len());
    let cut = samples.get(place(from).min(end)..end).unwrap_or_default();
    Ok(Minute {
        shown: DraftMinute {
            svg: scene.svg(palette, FONT, "mm"),
            told: scene.told,
            length_ms: MINUTE.0,
        },
        sound: Recording {
            samples: Arc::from(cut),
            hz: WavOutlet::<Cursor<Vec<u8>>>::HZ,
        },
    })
}

/// The lowest and the highest of some samples.
fn ends(samples: &[i16]) -> (i16, i16) {
    let low = samples.iter().min().copied().unwrap_or(0);
    let high = samples.iter().max().copied().unwrap_or(0);
    (low, high)
}
