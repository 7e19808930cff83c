//! The question card for a state: what is asked, what answers it, and what comes next.

use alloc::{vec, vec::Vec};

use crate::{
    Ms,
    acts::Act,
    book::Book,
    entered, hand_over,
    mark::{AirwayDevice, BreathMode, By, Reason},
    protocol::{FitWindows, Protocol},
    rules::{check, drugs},
    state::{CheckPause, Device, Line, State},
    story::Story,
    view::{Banner, Card, Figure, FitStep, Next, NextWord, Said, StateWord, View},
    wants,
};

mod sheet;
mod shown;

/// A prompt's words stay on the screen this long.
const SAID: Ms = Ms(6000);

pub(crate) fn view(p: &Protocol, s: &State, book: &Book, story: &Story, now: Ms) -> View {
    // Long overdue the plain card is back: a stop is then more likely something else.
    let near = check::current(p, s, now)
        .filter(|r| now.plus(check::NEAR) >= r.due && now <= check::asked_until(p, s, r.due));
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
        fit: fit_step(p, s),
        rotate: card == Card::CheckDue
            && s.line == Line::Compressing(By::Manual)
            && p.rotate_with_check,
        urgent: asked_since.is_some_and(|since| now >= since.plus(check::URGENT)),
        main: allowed(p, s, main_acts(p, s, card)),
        side: allowed(p, s, side_acts(p, s, card, near.is_some(), now)),
        sheet: allowed(p, s, sheet::acts(p, s, card, now)),
        entries: entered::entries(p, s, s.levels.unwrap_or(book.levels)),
        undo: (s.is_live() || s.outcome.is_some()) && !story.last_act().is_empty(),
        banners: banners(s, book, now),
        said: book
            .said
            .filter(|(prompt, at, due)| {
                let is_new = *at <= now.plus(Ms(85)) && now.since(*at) < SAID;
                let may = s.is_live() && wants::gate(p, s, now, *prompt).is_none();
                is_new && may && wants::holds(p, s, book, story.undone(), now, (*prompt, *at, *due))
            })
            .map(|(prompt, at, _)| Said { prompt, at }),
        shocks: s.shocks,
        beat_off: s.beat_off,
        covered: s.is_live() && book.look.covered,
        outcome: s.outcome,
        class: s.class,
        device_mode: (s.known_line() == Line::Compressing(By::Mechanical)).then_some(s.mode),
        asks: shown::asks(p, s, story, near.is_some(), now),
        in_a_row: s.in_a_row,
        drugs: shown::drugs(p, s, now),
        lists: shown::lists(p, s, now),
        last: shown::last(story),
        hand_over: hand_over::hand_over(p, s, now),
    }
}

fn card(p: &Protocol, s: &State, now: Ms, check_near: bool) -> Card {
    match s.line {
        Line::Before => Card::Before,
        Line::Ended => Card::Ended,
        Line::Pulse => Card::Pulse,
        Line::Unknown => Card::Unknown,
        Line::HandsOff(_) if s.first_breaths.is_some() => Card::FirstBreaths,
        Line::HandsOff(reason) => match reason {
            Reason::Power => {
                let late = s
                    .pack_out
                    .is_none_or(|out| out.over || now.since(out.since) > p.swap_window);
                if late { Card::PowerLate } else { Card::Power }
            }
            Reason::DeviceFault => Card::Stopped,
            Reason::DeviceFit => Card::FitPause,
            Reason::DeviceReseat => Card::Reseating,
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
                if s.check == CheckPause::None {
                    Card::HandsOff
                } else {
                    Card::Check
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

pub(crate) const fn state_word(line: Line) -> StateWord {
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
        Card::FirstBreaths => s
            .first_breaths
            .map_or(Figure::None, |first| Figure::Down { until: first.until }),
        Card::CheckDue => check_due.map_or(Figure::None, |until| Figure::Down { until }),
        // Where nothing sounds nothing can be counted: the time stands in its place.
        Card::HandRatio | Card::Fitting if s.mode == BreathMode::Ratio && !s.is_without_score() => {
            Figure::Count
        }
        Card::HandRatio
        | Card::HandContinuous
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
    if matches!(s.line, Line::HandsOff(_)) {
        return None;
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

fn main_acts(p: &Protocol, s: &State, card: Card) -> Vec<Act> {
    let by_device = s.line == Line::Compressing(By::Mechanical);
    match card {
        Card::Before if s.first_breaths_wanted(p) > 0 || p.newborn.is_some() => {
            vec![Act::StartWithBreaths]
        }
        Card::Before => vec![Act::StartByHand],
        Card::FirstBreaths => match s.first_breaths.map_or(0, |first| first.n) {
            2 => vec![Act::BreathsGiven2],
            5 => vec![Act::BreathsGiven5],
            _ => vec![Act::HandsOn],
        },
        Card::HandRatio | Card::HandContinuous => vec![Act::HandsOff],
        // Inside the check's pause: until then nobody stops for it.
        Card::Fitting if p.device.windows == FitWindows::InCheck => vec![Act::HandsOff],
        Card::Fitting => vec![Act::HandsOffFit],
        Card::DeviceRatio | Card::DeviceContinuous => vec![Act::Paused, Act::Stopped],
        Card::CheckDue if by_device && p.check_through_device => {
            vec![Act::ShockThrough, Act::NoShockThrough]
        }
        Card::CheckDue if by_device => vec![Act::PausedCheck],
        Card::CheckDue => vec![Act::HandsOffCheck],
        // Hands on one side, the device on the other, whichever is likelier: a thumb that has learnt where a
        // key is does not look again.
        Card::HandsOff | Card::FitPause | Card::Reseating => {
            vec![Act::HandsOn, Act::DeviceRunning]
        }
        // The result is in: what is left is to go on.
        Card::Check if s.check == CheckPause::Answered => vec![Act::HandsOn, Act::DeviceRunning],
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
        Card::Unknown if s.is_between_halves() => {
            vec![Act::SamePatient, Act::NewPatient]
        }
        Card::Unknown if s.gap.is_none() => vec![Act::HandsOff],
        Card::Unknown => vec![Act::AsBefore],
        Card::Ended => vec![],
    }
}

fn side_acts(p: &Protocol, s: &State, card: Card, check_near: bool, now: Ms) -> Vec<Act> {
    let mut acts = usual_side_acts(p, s, card, check_near);
    let away = displaced(p, s, card, now);
    if let Some(place) = acts.iter_mut().find(|act| Some(**act) == away) {
        *place = Act::DrugByClock;
    }
    acts
}

/// While the drug by the clock is due its key is the answer: this act leaves it its place. The airway's only once an
/// airway is in. The first dose can be due while it goes in, and a hand that has learnt its key would mark a dose.
fn displaced(p: &Protocol, s: &State, card: Card, now: Ms) -> Option<Act> {
    let usual = usual_side_acts(p, s, card, false);
    let first = usual.first().filter(|first| **first == airway(s))?;
    if !drugs::is_called_by_clock(p, s, now) {
        return None;
    }
    if *first == Act::AirwayLost {
        return Some(*first);
    }
    // By device the other one is a move: it holds the voices, and keeps its place as well.
    let least = usual.get(1)?;
    matches!(least, Act::FitDevice | Act::LineIn | Act::NotNow).then_some(*least)
}

fn usual_side_acts(p: &Protocol, s: &State, card: Card, check_near: bool) -> Vec<Act> {
    let by_device = s.line == Line::Compressing(By::Mechanical);
    let paused = if check_near {
        Act::PausedCheck
    } else {
        Act::Paused
    };
    match card {
        Card::Fitting => vec![airway(s), Act::NotNow],
        Card::DeviceRatio | Card::DeviceContinuous => vec![airway(s), Act::Moving],
        Card::CheckDue if by_device && p.check_through_device => {
            vec![Act::PausedCheck, Act::Stopped]
        }
        Card::CheckDue if by_device => vec![Act::Stopped, Act::Moving],
        Card::HandRatio | Card::HandContinuous | Card::CheckDue => {
            if p.device.allowed {
                vec![airway(s), Act::FitDevice]
            } else {
                vec![airway(s), Act::LineIn]
            }
        }
        Card::FirstBreaths if s.first_breaths.is_some_and(|first| first.n > 0) => {
            vec![Act::HandsOn]
        }
        // What is felt for is the answer; Pulse stands where it does at a rhythm check.
        Card::HandsOff if s.line == Line::HandsOff(Reason::PulseCheck) => {
            vec![Act::PulseNone, Act::PulseBack]
        }
        Card::HandsOff => vec![Act::WhyCheck, Act::WhyAirway],
        Card::Check if s.check == CheckPause::Answered && may_stack(p, s) => {
            vec![Act::ShockAgain, Act::PulseBack]
        }
        Card::Check if s.check == CheckPause::Answered => vec![Act::PulseBack],
        Card::Check => vec![Act::ShockNow, Act::PulseBack],
        Card::Moving if by_device => vec![paused, Act::Stopped],
        Card::Moving => vec![Act::HandsOff],
        Card::Cup => vec![paused, Act::Stopped],
        Card::Unknown => vec![Act::HandsOn, Act::DeviceRunning],
        Card::Stopped => vec![Act::DeviceRunning],
        Card::Before if p.has_cycle() => vec![Act::BeganEarlier, Act::DeviceAlreadyOn],
        Card::Before
        | Card::FirstBreaths
        | Card::FitPause
        | Card::Reseating
        | Card::Power
        | Card::PowerLate
        | Card::Pulse
        | Card::Ended => vec![],
    }
}

/// Where the service gives several shocks in one pause, the last result was one, and there may be more.
fn may_stack(p: &Protocol, s: &State) -> bool {
    s.in_pause > 0 && s.in_pause < u16::from(p.stack_most) && s.in_a_row > 0
}

/// Where the fitting stands, by the windows of the service.
fn fit_step(p: &Protocol, s: &State) -> Option<FitStep> {
    if s.device != Device::Beside || !s.is_live() {
        return None;
    }
    // In a pause it is counted already.
    let pauses = s
        .fit_pauses
        .saturating_sub(u8::from(s.line == Line::HandsOff(Reason::DeviceFit)));
    Some(match p.device.windows {
        FitWindows::InCheck => FitStep::InCheck,
        FitWindows::Two if pauses == 0 => FitStep::First,
        FitWindows::One | FitWindows::Two => FitStep::Last,
    })
}

/// Where the service has no device for this class and none is here, no key speaks of one.
fn allowed(p: &Protocol, s: &State, mut acts: Vec<Act>) -> Vec<Act> {
    if !p.device.allowed && s.device == Device::Away {
        acts.retain(|act| {
            !matches!(
                act,
                Act::DeviceRunning
                    | Act::DeviceAlreadyOn
                    | Act::FitDevice
                    | Act::ArrestAgainDevice
                    | Act::Stopped
                    | Act::TooSmall
                    | Act::TooLarge
            )
        });
    }
    acts
}

/// Lost is said of what can be out or leak.
pub(super) fn airway(s: &State) -> Act {
    let placed = |a| {
        matches!(
            a,
            AirwayDevice::Sga | AirwayDevice::Ett | AirwayDevice::Cric
        )
    };
    if s.airway.is_some_and(placed) {
        Act::AirwayLost
    } else {
        Act::AirwayIn
    }
}

fn banners(s: &State, book: &Book, now: Ms) -> Vec<Banner> {
    let mut banners = Vec::new();
    if book.drill.is_some() {
        banners.push(Banner::Drill);
    }
    if book.sound_lost {
        banners.push(Banner::NoSound);
    }
    if s.is_live() {
        banners.extend(book.around.banners(s.is_quiet()));
    }
    if s.is_live() && book.phone_low.is_some() {
        banners.push(Banner::PhoneLow);
    }
    if s.gap.is_some() {
        banners.push(Banner::Resumed);
    }
    if s.is_live() && s.is_quiet() {
        banners.push(Banner::Quiet);
    }
    if s.is_live() && s.leads {
        banners.push(Banner::Led);
    }
    // Quiet says both.
    let switched = s.is_live() && !s.is_quiet();
    if switched && !s.has_voice(now) {
        banners.push(Banner::VoiceOff);
    }
    if switched && s.beat_off {
        banners.push(Banner::BeatOff);
    }
    banners
}
