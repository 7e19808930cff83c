//! What the raw values of iOS mean. No call of the system is made here, so that it is tested on any machine.

use conduct::Motion;
use cycle::Route;

/// How the screen stands, as `UIInterfaceOrientation` numbers it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub(crate) enum Upright {
    /// The phone's top is up.
    Top = 1,
    /// The phone's bottom is up.
    Bottom = 2,
    /// The phone's left edge is up: the screen is drawn for one who sees its lower end to the right.
    Left = 3,
    /// The phone's right edge is up.
    Right = 4,
}

impl Upright {
    /// From the system's number.
    pub(crate) const fn of(raw: isize) -> Option<Self> {
        match raw {
            1 => Some(Self::Top),
            2 => Some(Self::Bottom),
            3 => Some(Self::Left),
            4 => Some(Self::Right),
            _ => None,
        }
    }

    /// The bit that allows it, in the system's masks.
    pub(crate) const fn mask(self) -> usize {
        match self {
            Self::Top => 1 << 1,
            Self::Bottom => 1 << 2,
            Self::Left => 1 << 3,
            Self::Right => 1 << 4,
        }
    }
}

/// What an interruption of the sound is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Interruption {
    /// Another one has the sound from now on.
    Began,
    /// It began while the app was held still and is over: there is no second word.
    Missed,
    /// It is over, and the system says so of its own accord.
    Ended,
}

impl Interruption {
    /// From the notification's type (1 began, 0 ended) and reason (1: the app had been suspended).
    pub(crate) const fn of(kind: Option<usize>, reason: Option<usize>) -> Option<Self> {
        match (kind, reason) {
            (Some(1), Some(1)) => Some(Self::Missed),
            (Some(1), _) => Some(Self::Began),
            (Some(0), _) => Some(Self::Ended),
            _ => None,
        }
    }
}

/// Where the sound goes, of all that it goes to: what the crew may not hear leads. `None` goes nowhere.
pub(crate) fn route(outputs: &[Route]) -> Option<Route> {
    outputs
        .iter()
        .copied()
        .find(|route| *route != Route::Speaker)
        .or_else(|| outputs.first().copied())
}

/// A share of one in per cent; the system says less than nothing for what it does not know.
pub(crate) fn pct(share: f32) -> Option<u8> {
    if !(0.0..=1.0).contains(&share) {
        return None;
    }
    u8::try_from(whole(f64::from(share) * 100.0)).ok()
}

/// A share of one from per cent.
pub(crate) fn share(pct: u8) -> f64 {
    f64::from(pct.min(100)) / 100.0
}

/// Whether a battery is charged, by its state: 0 unknown, 1 unplugged, 2 charging, 3 full.
pub(crate) const fn is_charging(state: isize) -> bool {
    matches!(state, 2 | 3)
}

/// Milliseconds from one reading of the system's clock to another, seconds; not less than none.
pub(crate) fn ms_between(from: f64, to: f64) -> u32 {
    u32::try_from(whole((to - from) * 1000.0)).unwrap_or(0)
}

/// Standard gravity in mm/s². Source: its definition, 9.80665 m/s².
const GRAVITY: f64 = 9806.65;

/// A reading of the accelerometer in gravities. The system says where things fall to, we say what is pushed
/// against: a phone that lies on its back reads -1 on its third axis and is told as +1.
pub(crate) fn motion(x: f64, y: f64, z: f64, ago_ms: u32) -> Motion {
    Motion {
        ago_ms,
        x: whole(-x * GRAVITY),
        y: whole(-y * GRAVITY),
        z: whole(-z * GRAVITY),
    }
}

/// The nearest whole number; what is none is 0.
#[expect(
    clippy::as_conversions,
    clippy::cast_possible_truncation,
    reason = "the one way from a float; it is rounded, ends at the type's ends, and no number is 0"
)]
fn whole(value: f64) -> i32 {
    value.round() as i32
}

#[cfg(test)]
mod tests;
