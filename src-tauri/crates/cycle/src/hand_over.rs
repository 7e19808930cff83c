//! What the next crew has to know, as data: the hand-over card.
//!
//! Every time is on the run clock; what lay before the run is negative. What is not known is absent.

use alloc::{string::String, vec::Vec};

use serde::Serialize;

use crate::{
    Ms,
    entered::reason_words,
    mark::{
        AirwayDevice, ArrestBasis, BreathMode, By, PatientClass, PriorCare, Reason, RhythmSeen,
        TempBand,
    },
    protocol::{Overlay, Protocol},
    rules::{check, delivery, drugs, minutes, newborn, power, rosc},
    state::{Line, State, long},
    view::StateWord,
};

/// A pause and what it was for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct LongestPause {
    /// How long, ms.
    pub ms: Ms,
    /// When it began.
    pub at: Ms,
    /// What for.
    pub reason: Reason,
}

/// Doses of one drug.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DosesGiven {
    /// The protocol's key.
    pub key: String,
    /// The name on the screen; the key where the protocol has none.
    pub name: String,
    /// How many, those before this crew among them.
    pub n: u16,
    /// When the last one was given, ms on the run clock.
    pub last: Option<i64>,
}

/// Carbon dioxide, as it was entered.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Co2 {
    /// mmHg, kPa or pct.
    pub unit: String,
    /// The first reading.
    pub first: String,
    /// The lowest.
    pub low: String,
    /// The latest.
    pub now: String,
    /// When that was.
    pub at: Ms,
}

/// What falls due next.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DueWord {
    /// The rhythm check.
    Check,
    /// A drug.
    Drug,
    /// The device's power.
    Power,
    /// The heart rate.
    HeartRate,
    /// The pulse.
    Pulse,
    /// A checkpoint by the minute.
    Minute,
    /// The birth, where the patient is pregnant.
    Delivery,
}

/// What falls due, and when.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Due {
    /// When, ms on the run clock.
    pub at: Ms,
    /// What.
    pub word: DueWord,
    /// Which drug, by the protocol's name.
    pub drug: Option<String>,
}

/// The card.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct HandOver {
    /// Adult, child, infant or newborn.
    pub class: PatientClass,
    /// When the arrest began, ms on the run clock; negative before the run.
    pub arrest: Option<i64>,
    /// How it was known.
    pub basis: Option<ArrestBasis>,
    /// When this run began.
    pub began: Ms,
    /// What was done before this crew.
    pub before_us: Option<PriorCare>,
    /// The state line and since when.
    pub state: StateWord,
    /// Since when.
    pub state_since: Ms,
    /// The first rhythm.
    pub first_rhythm: Option<RhythmSeen>,
    /// The latest.
    pub rhythm: Option<RhythmSeen>,
    /// Shocks, those before this crew among them.
    pub shocks: u16,
    /// When the last of ours was given.
    pub last_shock: Option<Ms>,
    /// Doses.
    pub doses: Vec<DosesGiven>,
    /// Lines that are in.
    pub lines: u16,
    /// The airway device.
    pub airway: Option<AirwayDevice>,
    /// How breaths are given.
    pub breaths: BreathMode,
    /// Carbon dioxide.
    pub co2: Option<Co2>,
    /// The compression device's first compression.
    pub device_since: Option<Ms>,
    /// It stopped by itself then and is out of use.
    pub device_out: Option<Ms>,
    /// Why a device, of the protocol's list.
    pub device_why: Option<String>,
    /// Why none was used, as recorded: `too_small`, `too_large`, `local_list`, `other`.
    pub device_refused: Option<String>,
    /// What makes the compressions, or made the last ones.
    pub by: By,
    /// When the device's pack is expected to run out.
    pub power_until: Option<Ms>,
    /// The longest pause.
    pub longest: Option<LongestPause>,
    /// When circulation was back, and lost again.
    pub pulses: Vec<(Ms, Option<Ms>)>,
    /// Special situations.
    pub overlays: Vec<(Overlay, Option<TempBand>)>,
    /// What falls due next, the nearest first.
    pub next: Vec<Due>,
}

pub(crate) fn hand_over(p: &Protocol, s: &State, now: Ms) -> Option<HandOver> {
    let began = s.began.filter(|_| s.line != Line::Before)?;
    Some(HandOver {
        class: s.class,
        arrest: s.arrest,
        basis: s.arrest_basis,
        began,
        before_us: s.prior.clone(),
        state: crate::show::state_word(s.line),
        state_since: s.since,
        first_rhythm: s.first_rhythm,
        rhythm: s.rhythm,
        shocks: s.shocks,
        last_shock: s.last_shock,
        doses: s
            .doses
            .iter()
            .filter(|d| d.n > 0)
            .map(|d| DosesGiven {
                key: d.key.clone(),
                name: p.drug_name(&d.key),
                n: d.n,
                last: d.last,
            })
            .collect(),
        lines: s.lines_in,
        airway: s.airway,
        breaths: s.mode,
        co2: s.etco2.as_ref().map(|c| Co2 {
            unit: c.unit.clone(),
            first: c.first.clone(),
            low: c.low.clone(),
            now: c.now.clone(),
            at: c.at,
        }),
        device_since: s.device_since,
        device_out: s.device_out,
        device_why: s.fit_reason.as_deref().map(|code| reason_words(p, code)),
        device_refused: s.refused.clone().filter(|_| s.device_since.is_none()),
        by: s.by,
        power_until: s.power_ends(),
        longest: longest(s, now),
        pulses: s.pulses.clone(),
        overlays: s.overlays.clone(),
        next: next(p, s, now),
    })
}

/// The longest pause, the open one among them.
fn longest(s: &State, now: Ms) -> Option<LongestPause> {
    let closed = s.longest.map(|pause| LongestPause {
        ms: pause.to.since(pause.from),
        at: pause.from,
        reason: pause.reason,
    });
    let open = match s.line {
        Line::HandsOff(reason) if s.first_breaths.is_none() => Some(LongestPause {
            ms: now.since(s.since),
            at: s.since,
            reason,
        }),
        Line::HandsOff(_)
        | Line::Before
        | Line::Compressing(_)
        | Line::Pulse
        | Line::Unknown
        | Line::Ended => None,
    };
    [closed, open]
        .into_iter()
        .flatten()
        .max_by_key(|pause| (pause.ms, core::cmp::Reverse(pause.at)))
}

fn next(p: &Protocol, s: &State, now: Ms) -> Vec<Due> {
    let due = |word| {
        move |at| Due {
            at,
            word,
            drug: None,
        }
    };
    let mut next = Vec::new();
    if !s.is_live() {
        return next;
    }
    next.extend(
        check::current(p, s, now)
            .map(|round| round.due)
            .map(due(DueWord::Check)),
    );
    for drug in &p.drugs {
        let at = match drugs::window(p, s, drug, now) {
            drugs::Window::NotDue { from } => Some(from),
            drugs::Window::Due { since, .. } | drugs::Window::Late { since } => Some(since),
            drugs::Window::NotAsked | drugs::Window::Withheld | drugs::Window::Doubled { .. } => {
                None
            }
        };
        next.extend(at.map(|at| Due {
            at,
            word: DueWord::Drug,
            drug: Some(drug.name.clone()),
        }));
    }
    next.extend(power::next(p, s, now).map(due(DueWord::Power)));
    next.extend(newborn::next(p, s, now).map(due(DueWord::HeartRate)));
    next.extend(rosc::recheck(p, s, now).map(due(DueWord::Pulse)));
    next.extend(
        p.minutes
            .iter()
            .filter_map(|rule| minutes::due(s, rule))
            .filter(|at| long(*at) > long(now))
            .map(due(DueWord::Minute)),
    );
    next.extend(
        delivery::due(p, s)
            .filter(|at| *at > now)
            .map(due(DueWord::Delivery)),
    );
    next.sort_unstable();
    next
}
