//! The beat: counted out by the test's own arithmetic, and changed only by what is to change it.

use super::super::*;
use super::phone::{Cause, Phone};
use super::told::{Line, Told};
use crate::mark::{BreathMode, By, CheckMark, DeviceMark, FlowMark, PowerAct, RunMark, SoundAct};
use beat::{Kind, Pattern, Placed};

/// Moment of a grid: whole milliseconds and whole periods after the anchor, rounded down once.
fn moment(p: &Placed, ms: u64, periods: u64) -> u64 {
    let rate = u64::from(p.score.rate.per_minute());
    ((p.anchor_ms + ms) * rate + (u64::from(p.lead) + periods) * 60_000) / rate
}

/// Every sound of a score from `from` to `to`, in time.
fn counted(p: &Placed, from: u64, to: u64) -> Vec<(u64, bool)> {
    let from = from.max(p.from_ms);
    let mut sounds = Vec::new();
    let mut add = |at: u64, breath: bool| {
        if (from..to).contains(&at) {
            sounds.push((at, breath));
        }
        at < to
    };
    match p.score.pattern {
        Pattern::Silent { .. } => {}
        Pattern::Continuous { .. } => {
            let mut n = 0;
            while add(moment(p, 0, n), false) {
                n += 1;
            }
        }
        Pattern::Ratio {
            beats,
            window_ms,
            breaths,
        } => {
            let (beats, window) = (u64::from(beats), u64::from(window_ms));
            let mut n = 0;
            while add(moment(p, n / beats * window, n), false) {
                n += 1;
            }
            let mut k = 0;
            while moment(p, k * window, k * beats) < to {
                for j in 0..u64::from(breaths) {
                    let into = k * window + j * window / u64::from(breaths);
                    add(moment(p, into, (k + 1) * beats), true);
                }
                k += 1;
            }
        }
    }
    if let Pattern::Silent { breath_ms } | Pattern::Continuous { breath_ms } = p.score.pattern
        && breath_ms > 0
    {
        let mut n = 1;
        while add(p.breath_from_ms + n * u64::from(breath_ms), true) {
            n += 1;
        }
    }
    sounds.sort_unstable();
    sounds
}

/// What is heard of a score that is not anchor + n periods.
pub(super) fn off_the_grid(placed: Placed, from: u64, to: u64) -> Option<String> {
    let mut heard = Vec::new();
    let mut next = placed.first(from, 1000);
    while let Some(s) = next.filter(|s| s.at < to) {
        heard.push((s.at, s.kind == Kind::Breath));
        next = placed.after(s, 1000);
    }
    let counted = counted(&placed, from, to);
    let wrong = counted.iter().zip(&heard).find(|(a, b)| a != b);
    (counted != heard).then(|| {
        std::format!(
            "{} counted, {} heard, first {wrong:?}: {placed:?}",
            counted.len(),
            heard.len()
        )
    })
}

fn next_beat(p: &Placed, t: u64) -> Option<u64> {
    counted(p, t, t + 20_000)
        .into_iter()
        .find(|(_, breath)| !breath)
        .map(|(at, _)| at)
}

/// In a compression phase: the next beat comes within a period.
fn in_phase(p: &Placed, t: u64) -> bool {
    let period = 60_000 / u64::from(p.score.rate.per_minute());
    let before = counted(p, t.saturating_sub(period), t + 1);
    before.iter().any(|(_, breath)| !breath) && next_beat(p, t).is_some_and(|at| at <= t + period)
}

/// A change of score that nothing is to make, or that moves a beat where none may move.
/// `told` is what had been said before it.
pub(super) fn change(
    old: Option<Placed>,
    new: Placed,
    told: &Told,
    (before, now): (u64, u64),
    cause: &Cause,
) -> Option<String> {
    let level = |p: Placed| Placed {
        from_ms: 0,
        score: beat::Score {
            quiet_ddb: 0,
            ..p.score
        },
        ..p
    };
    let same_grid = old.is_none_or(|old| level(old) == level(new));
    let moved = |what: &str| Some(std::format!("{what}: {old:?} to {new:?}"));
    match cause {
        Cause::Story => None,
        Cause::Time => {
            let begins = told.breaths_until.is_some_and(|t| before <= t && t <= now);
            if begins { None } else { moved("by time alone") }
        }
        Cause::Mark(mark) => match mark {
            Mark::Run(
                RunMark::Sound {
                    what: SoundAct::BeatOff | SoundAct::BeatOn,
                    ..
                }
                | RunMark::Leads { .. },
            ) => {
                // In a run that began quiet the whole score comes and goes with the beat.
                let silence = new.score.pattern == Pattern::Silent { breath_ms: 0 };
                let quiet = told.without_score() || told.quiet_way && silence;
                if same_grid || quiet {
                    None
                } else {
                    moved("a level moved the grid")
                }
            }
            Mark::Flow(
                FlowMark::ComprStart { .. }
                | FlowMark::ComprStop { .. }
                | FlowMark::StateSet { .. }
                | FlowMark::Rosc {}
                | FlowMark::Rearrest { .. },
            )
            | Mark::Run(
                RunMark::Arrest { .. }
                | RunMark::Resume { .. }
                | RunMark::End { .. }
                | RunMark::Patient { .. },
            )
            | Mark::Check(CheckMark::Analysing {})
            | Mark::Device(DeviceMark::Power {
                act: PowerAct::SwapBegin | PowerAct::SwapEnd,
                ..
            }) => None,
            // What a run that began earlier found going on: a beat, or none.
            Mark::Run(RunMark::PriorCare(prior))
                if prior.by == Some(By::Mechanical) && told.line == Line::Hand
                    || prior.by == Some(By::Manual) && told.line == Line::Device =>
            {
                None
            }
            Mark::Run(RunMark::PriorCare(_)) | Mark::Air(_) => {
                let old = old?;
                let stays = told.known() == Line::Hand
                    && in_phase(&old, now)
                    && matches!(new.score.pattern, Pattern::Continuous { .. });
                if stays && next_beat(&old, now) != next_beat(&new, now) {
                    return moved("a beat was displaced");
                }
                let on_grid = told.known() == Line::Hand
                    && matches!(old.score.pattern, Pattern::Continuous { .. })
                    && matches!(new.score.pattern, Pattern::Ratio { .. });
                if on_grid && next_beat(&old, now + 25) != next_beat(&new, now) {
                    return moved("a cycle did not begin on the beat");
                }
                None
            }
            other => moved(crate::mark::kind_of(other)),
        },
    }
}

/// The pattern that a state asks for, whatever came before, and the class's own breaths.
pub(super) fn fits_state(phone: &mut Phone) {
    let Some(placed) = phone.run.sounding() else {
        return;
    };
    let told = phone.is_told().clone();
    let p = phone.setup.protocol_of(told.class).clone();
    let pattern = placed.score.pattern;
    let silent = |breath_ms| Pattern::Silent { breath_ms };
    let every = u32::try_from(p.breath_every.0).unwrap();
    let by_clock = if told.mode == BreathMode::Continuous {
        every
    } else {
        0
    };
    let breaths = match pattern {
        Pattern::Silent { breath_ms } | Pattern::Continuous { breath_ms } => breath_ms,
        Pattern::Ratio { .. } => 0,
    };
    if breaths != 0 && breaths != every {
        phone.fault(
            "7 breaths of the class",
            std::format!("{:?}: {pattern:?}", told.class),
        );
    }
    let ratio = if told.alone { p.ratio_alone } else { p.ratio };
    let (count, tones) = Protocol::cycle_of(ratio);
    if let Pattern::Ratio {
        beats,
        window_ms,
        breaths,
    } = pattern
        && told.line != Line::Unknown
        && (beats, breaths, u64::from(window_ms)) != (count, tones, p.window.0)
    {
        phone.fault(
            "7 cycle of the class",
            std::format!("{:?}: {pattern:?}", told.class),
        );
    }
    let fits = if told.without_score() {
        pattern == silent(0)
    } else if told.breaths_until.is_some() {
        true
    } else {
        match told.line {
            Line::Hand if told.mode == BreathMode::Ratio => {
                matches!(pattern, Pattern::Ratio { .. })
            }
            Line::Hand => {
                pattern
                    == Pattern::Continuous {
                        breath_ms: by_clock,
                    }
            }
            Line::Device => pattern == silent(by_clock),
            Line::Off(_) if told.lead_in => pattern == Pattern::Continuous { breath_ms: 0 },
            Line::Off(_) | Line::Ended => pattern == silent(0),
            Line::Pulse => pattern == silent(if p.rosc_breaths { every } else { 0 }),
            Line::Before | Line::Unknown => true,
        }
    };
    if !fits {
        phone.fault(
            "3 score of the state",
            std::format!("{:?} {:?}: {pattern:?}", told.line, told.mode),
        );
    }
}
