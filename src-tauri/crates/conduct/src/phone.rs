//! What the conductor asks of the phone that it runs on, and what that phone says.
//!
//! `docs/phone.md` has every event with its source and our answer; its table is written from the one beside this
//! file, and the fake phone is driven from that.

use std::{fmt, path::PathBuf};

use cycle::Around;
use serde::{Deserialize, Serialize};

pub(crate) mod feel;
pub(crate) mod light;
pub(crate) mod watch;

pub use feel::FeltPulse;

/// The phone: a real one, none (a desktop), or a fake.
pub trait Phone: fmt::Debug + Send {
    /// Takes a wish. Must not block; what the phone cannot do it leaves undone, and says so where the crew must
    /// know, see [`PhoneNews`].
    fn wish(&mut self, wish: Wish);
}

/// A wish to the phone. Each is in force until another of its kind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wish {
    /// A run goes on: do not sleep, do not stop us, take the sound for us, turn the volume up to so much.
    Hold {
        /// The language of the notice that the system shows.
        lang: String,
        /// Per cent of the loudest; `None` leaves the volume as it is.
        volume_pct: Option<u8>,
    },
    /// No run goes on any more: take all of it back, and vibrate no more.
    LetGo,
    /// A run is on the screen, or none is any more: keep it on, show it over the lock, hold the present orientation.
    /// Longer than the rest: who ended a run by mistake, on a locked phone, is to find the key that takes it back. The
    /// page turns itself by its own key.
    Screen(bool),
    /// Vibrate so from now on, in place of what was asked before; nothing ends it.
    Feel(Vec<FeltPulse>),
    /// How bright the screen is, per cent; `None` leaves it to the phone.
    Brightness(Option<u8>),
    /// Tell of the phone's movement, or no more. Off at first.
    Motion(bool),
    /// Let the crew hand files to another app, all of them at once.
    Share(Vec<PathBuf>),
}

/// What the phone says.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PhoneNews {
    /// What bears on what the crew hears; it goes into the record.
    Around(Around),
    /// Its battery.
    Battery {
        /// Per cent that is left.
        pct: u8,
        /// It is being charged.
        charging: bool,
    },
    /// How bright it is around the phone.
    Light {
        /// Lux.
        lux: u32,
    },
    /// Start was asked for outside the app: by a tile, a shortcut, a held key.
    Begin {
        /// So long before this was said the finger went down, ms.
        ago_ms: u32,
        /// By the louder key, held: it may be held to hear better what sounds, so that it asks for less than the others.
        by_key: bool,
    },
    /// An output device came, went or changed: what plays may be the wrong one.
    Devices,
    /// The app is in front and shows nothing: its window went with the one before. For the shell to mend; the run
    /// goes on either way.
    Bare,
    /// How the phone is moved.
    Motion(Motion),
}

/// One reading of the accelerometer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Motion {
    /// So long before this was said it was read, ms.
    pub ago_ms: u32,
    /// Across the screen, to the right, mm/s².
    pub x: i32,
    /// Along the screen, to its top.
    pub y: i32,
    /// Out of the screen. At rest, screen up, about 9807.
    pub z: i32,
}

/// A machine that is no phone: nothing to hold, nothing to feel.
#[derive(Clone, Copy, Debug, Default)]
pub struct NoPhone;

impl Phone for NoPhone {
    fn wish(&mut self, _wish: Wish) {}
}
