//! The question card for a state: what is asked, what answers it, and what comes next.

use alloc::{vec, vec::Vec};

use crate::{
    Ms,
    acts::Act,
    book::Book,
    mark::{AirwayDevice, BreathMode, By, Reason},
    protocol::Protocol,
    rules::check,
    state::{Device, Line, State},
    story::Story,
    view::{Banner, Card, Figure, Next, NextWord, Said, StateWord, View},
};

/// A prompt's words stay on the screen this long.
const SAID: Ms = Ms(6000);

pub(crate) fn view(p: &Protocol, s: &State, book: &Book, story: &Story, now: Ms) -> View {
    let near = check::current(p, s, now).filter(|r| now.plus(check::NEAR) >= r.due);
    let card = card(p, s, now, near.is_some());
    let asked_since = if card == Card::Cup {
        s.cup.map(|c| c.due)
    } else {
        near.filter(|_| card == Card::CheckDue).map(|r| r.due)
    };
    View {
        card,
        state: state_word(s.line),
        state_since: s.since,
        reason: match s.line {
            Line::HandsOff(reason) => Some(reason),
            Line::Before | Line::Compressing(_) | Line::Pulse | Line::Unknown | Line::Ended => None,
        },
        figure: figure(s, card, near.map(|r| r.due)),
        next: next(p, s, now, card),
        urgent: asked_since.is_some_and(|since| now >= since.plus(check::URGENT)),
        main: main_acts(s, card),
        side: side_acts(s, card),
        sheet: sheet(s),
        undo: s.is_live() && !story.last_act().is_empty(),
        banners: banners(s, book),
        said: book
            .said
            .filter(|(_, at)| *at <= now.plus(Ms(85)) && now.since(*at) < SAID && s.is_live())
            .map(|(prompt, at)| Said { prompt, at }),
        shocks: s.shocks,
        beat_off: s.beat_off,
        outcome: s.outcome,
    }
}

fn card(p: &Protocol, s: &State, now: Ms, check_near: bool) -> Card {
    match s.line {
        Line::Before => Card::Before,
        Line::Ended => Card::Ended,
        Line::Pulse => Card::Pulse,
        Line::Unknown => Card::Unknown,
        Line::HandsOff(reason) => match reason {
            Reason::Power => {
                let late = s
                    .pack_out
                    .is_none_or(|out| out.over || now.since(out.since) > p.swap_window);
                if late { Card::PowerLate } else { Card::Power }
            }
            Reason::DeviceFault => Card::Stopped,
            Reason::DeviceFit => Card::FitPause,
            Reason::DeviceAdjust => Card::Reseating,
            Reason::RhythmCheck
            | Reason::PulseCheck
            | Reason::Shock
            | Reason::Ventilation
            | Reason::Airway
            | Reason::Access
            | Reason::Ultrasound
            | Reason::Procedure
            | Reason::DeviceOff
            | Reason::Move
            | Reason::Rotate
            | Reason::Rosc
            | Reason::StopCare
            | Reason::Unknown => {
                if s.checking {
                    Card::Check
                } else {
                    Card::HandsOff
                }
            }
        },
        Line::Compressing(_) if s.moving.is_some() => Card::Moving,
        Line::Compressing(By::Mechanical) if s.cup.is_some() => Card::Cup,
        Line::Compressing(_) if check_near => Card::CheckDue,
        Line::Compressing(By::Mechanical) => match s.mode {
            BreathMode::Continuous => Card::DeviceContinuous,
            BreathMode::Ratio | BreathMode::None => Card::DeviceRatio,
        },
        Line::Compressing(By::Manual) if s.device == Device::Beside => Card::Fitting,
        Line::Compressing(By::Manual) => match s.mode {
            BreathMode::Ratio => Card::HandRatio,
            BreathMode::Continuous | BreathMode::None => Card::HandContinuous,
        },
    }
}

const fn state_word(line: Line) -> StateWord {
    match line {
        Line::Before => StateWord::Before,
        Line::Compressing(By::Manual) => StateWord::ByHand,
        Line::Compressing(By::Mechanical) => StateWord::ByDevice,
        Line::HandsOff(_) => StateWord::HandsOff,
        Line::Pulse => StateWord::Pulse,
        Line::Unknown => StateWord::Unknown,
        Line::Ended => StateWord::Ended,
    }
}

fn figure(s: &State, card: Card, check_due: Option<Ms>) -> Figure {
    match card {
        Card::Before => Figure::None,
        Card::CheckDue => check_due.map_or(Figure::None, |until| Figure::Down { until }),
        Card::HandRatio => Figure::Count,
        Card::Fitting if s.mode == BreathMode::Ratio => Figure::Count,
        Card::HandContinuous
        | Card::Fitting
        | Card::DeviceRatio
        | Card::DeviceContinuous
        | Card::HandsOff
        | Card::Check
        | Card::FitPause
        | Card::Reseating
        | Card::Power
        | Card::PowerLate
        | Card::Stopped
        | Card::Pulse
        | Card::Unknown
        | Card::Ended => Figure::Up { since: s.since },
        Card::Moving => Figure::Up {
            since: s.moving.unwrap_or(s.since),
        },
        Card::Cup => Figure::Up {
            since: s.cup.map_or(s.since, |c| c.due),
        },
    }
}

fn next(p: &Protocol, s: &State, now: Ms, card: Card) -> Option<Next> {
    if let (Card::Power, Some(out)) = (card, s.pack_out) {
        return Some(Next {
            word: NextWord::Window,
            at: out.since.plus(p.swap_window),
        });
    }
    let round = check::current(p, s, now)?;
    let word = if now >= round.due {
        NextWord::CheckOver
    } else {
        NextWord::Check
    };
    Some(Next {
        word,
        at: round.due,
    })
}

fn main_acts(s: &State, card: Card) -> Vec<Act> {
    let by_device = s.line == Line::Compressing(By::Mechanical);
    match card {
        Card::Before => vec![Act::StartByHand],
        Card::HandRatio | Card::HandContinuous => vec![Act::HandsOff],
        Card::Fitting => vec![Act::HandsOffFit],
        Card::DeviceRatio | Card::DeviceContinuous => vec![Act::Paused, Act::Stopped],
        Card::CheckDue if by_device => vec![Act::PausedCheck],
        Card::CheckDue => vec![Act::HandsOffCheck],
        Card::HandsOff | Card::FitPause | Card::Reseating => {
            vec![Act::HandsOn, Act::DeviceRunning]
        }
        Card::Check if s.by == By::Mechanical => vec![Act::ShockedDevice, Act::NoShockDevice],
        Card::Check => vec![Act::ShockedHand, Act::NoShockHand],
        Card::Moving => vec![Act::SetDown],
        Card::Cup => vec![Act::CupGood, Act::Reseat],
        Card::PowerLate if s.pack_out.is_some_and(|out| out.over) => {
            vec![Act::DeviceRunning, Act::HandsOn]
        }
        Card::Power | Card::PowerLate => vec![Act::Swapped, Act::HandsOn],
        Card::Stopped => vec![Act::HandsOn],
        Card::Pulse => vec![Act::ArrestAgainHand, Act::ArrestAgainDevice],
        Card::Unknown => vec![Act::AsBefore],
        Card::Ended => vec![],
    }
}

fn side_acts(s: &State, card: Card) -> Vec<Act> {
    // Lost is said of what can be out or leak: a device below the glottis' entrance or in it.
    let has_airway = s.airway.is_some_and(|a| {
        matches!(
            a,
            AirwayDevice::Sga | AirwayDevice::Ett | AirwayDevice::Cric
        )
    });
    let airway = if has_airway {
        Act::AirwayLost
    } else {
        Act::AirwayIn
    };
    match card {
        Card::Fitting => vec![airway, Act::NotNow],
        Card::DeviceRatio | Card::DeviceContinuous => vec![airway, Act::Moving],
        Card::CheckDue if s.line == Line::Compressing(By::Mechanical) => {
            vec![Act::Stopped, Act::Moving]
        }
        Card::HandRatio | Card::HandContinuous | Card::CheckDue => vec![airway, Act::FitDevice],
        Card::HandsOff => vec![Act::WhyCheck, Act::WhyAirway],
        Card::Check => vec![Act::ShockNow, Act::PulseBack],
        Card::Moving => vec![Act::Paused, Act::Stopped],
        Card::Cup => vec![Act::Moving, Act::Stopped],
        Card::Unknown => vec![Act::HandsOn, Act::DeviceRunning],
        Card::Stopped => vec![Act::DeviceRunning],
        Card::Before
        | Card::FitPause
        | Card::Reseating
        | Card::Power
        | Card::PowerLate
        | Card::Pulse
        | Card::Ended => vec![],
    }
}

fn sheet(s: &State) -> Vec<Act> {
    if !s.is_live() {
        return vec![];
    }
    let mut acts = vec![Act::PadsOn, Act::Rotate, Act::Flag];
    if s.device == Device::On && s.pack_out.is_none() {
        acts.push(Act::PowerSwap);
        if s.line == Line::Compressing(By::Mechanical) {
            acts.push(Act::Reseat);
        }
    }
    acts.push(if s.voice_off {
        Act::VoiceOn
    } else {
        Act::VoiceOff
    });
    acts.push(if s.beat_off {
        Act::BeatOn
    } else {
        Act::BeatOff
    });
    acts
}

fn banners(s: &State, book: &Book) -> Vec<Banner> {
    let mut banners = Vec::new();
    if book.sound_lost {
        banners.push(Banner::NoSound);
    }
    if s.is_live() && s.voice_off {
        banners.push(Banner::VoiceOff);
    }
    if s.is_live() && s.beat_off {
        banners.push(Banner::BeatOff);
    }
    banners
}
