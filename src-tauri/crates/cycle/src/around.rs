//! What happens to the phone and bears on what the crew hears: told by its system, never asked of the crew.

use alloc::vec::Vec;

use serde::{Deserialize, Serialize};

use crate::{Banner, mark::closed};

/// Below this the beat is lost in a vehicle. Source: the project's own choice, to be tried on real phones: a
/// phone's volume steps are some 2 to 3 dB, so that half is 15 dB and more below full.
const FAINT_PCT: u8 = 50;

closed! {
    /// Where the sound goes.
    Route { #[doc = "The phone's own loudspeaker."] Speaker = "speaker", #[doc = "The earpiece."] Earpiece = "earpiece", #[doc = "A headset or speaker on a wire."] Wired = "wired", #[doc = "A wireless headset or speaker."] Wireless = "wireless", #[doc = "Something else."] Other = "other" }
}

/// One change around the phone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "what", rename_all = "snake_case")]
pub enum Around {
    /// A call is spoken, or over.
    Call {
        /// It is.
        on: bool,
    },
    /// Another app took the sound, or gave it back.
    Taken {
        /// Another one has it.
        on: bool,
    },
    /// Where the sound goes.
    Route {
        /// There.
        to: Route,
    },
    /// How loud the phone is set.
    Volume {
        /// Per cent of its loudest.
        pct: u8,
    },
    /// A switch or a mode of the phone silences our sound.
    Silent {
        /// It does.
        on: bool,
    },
    /// The phone saves power: it may slow the app down.
    Saving {
        /// It does.
        on: bool,
    },
    /// The system lets the app go on while it is not in front.
    Held {
        /// It does.
        on: bool,
    },
    /// The screen is lit.
    Lit {
        /// It is.
        on: bool,
    },
    /// The phone is locked.
    Locked {
        /// It is.
        on: bool,
    },
    /// The app is in front.
    Front {
        /// It is.
        on: bool,
    },
    /// The process that draws the screen is there.
    Page {
        /// It is.
        on: bool,
    },
}

impl Around {
    /// The app is in front again, or its page is there again: the phone takes wishes that it could not take before.
    #[must_use]
    pub const fn brings_back(self) -> bool {
        matches!(self, Self::Front { on: true } | Self::Page { on: true })
    }
}

/// How things stand around the phone. What was not told is as on a phone in good order.
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a fact of its own, told by its own call of the phone's system"
)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Surroundings {
    /// A call is spoken.
    pub call: bool,
    /// Another app has the sound.
    pub taken: bool,
    /// Where the sound goes.
    pub route: Route,
    /// How loud the phone is set, per cent.
    pub volume_pct: u8,
    /// Silenced by a switch or a mode.
    pub silent: bool,
    /// The phone saves power.
    pub saving: bool,
    /// The app may go on while it is not in front.
    pub held: bool,
    /// The screen is lit.
    pub lit: bool,
    /// The phone is locked.
    pub locked: bool,
    /// The app is in front.
    pub front: bool,
    /// The screen's process is there.
    pub page: bool,
}

impl Default for Surroundings {
    fn default() -> Self {
        Self {
            call: false,
            taken: false,
            route: Route::Speaker,
            volume_pct: 100,
            silent: false,
            saving: false,
            held: true,
            lit: true,
            locked: false,
            front: true,
            page: true,
        }
    }
}

impl Surroundings {
    /// Takes a change. A volume over 100 is 100.
    pub fn apply(&mut self, change: Around) {
        match change {
            Around::Call { on } => self.call = on,
            Around::Taken { on } => self.taken = on,
            Around::Route { to } => self.route = to,
            Around::Volume { pct } => self.volume_pct = pct.min(100),
            Around::Silent { on } => self.silent = on,
            Around::Saving { on } => self.saving = on,
            Around::Held { on } => self.held = on,
            Around::Lit { on } => self.lit = on,
            Around::Locked { on } => self.locked = on,
            Around::Front { on } => self.front = on,
            Around::Page { on } => self.page = on,
        }
    }

    /// Whether a change says something new.
    #[must_use]
    pub fn is_new(&self, change: Around) -> bool {
        let mut after = *self;
        after.apply(change);
        after != *self
    }

    /// What differs from a phone in good order: what a run that begins is to be told.
    pub fn told(&self) -> impl Iterator<Item = Around> + use<> {
        let mut good = Self::default();
        [
            Around::Call { on: self.call },
            Around::Taken { on: self.taken },
            Around::Route { to: self.route },
            Around::Volume {
                pct: self.volume_pct,
            },
            Around::Silent { on: self.silent },
            Around::Saving { on: self.saving },
            Around::Held { on: self.held },
            Around::Lit { on: self.lit },
            Around::Locked { on: self.locked },
            Around::Front { on: self.front },
            Around::Page { on: self.page },
        ]
        .into_iter()
        .filter(move |change| {
            let is_new = good.is_new(*change);
            good.apply(*change);
            is_new
        })
    }

    /// Nothing of ours can be heard, whatever we play.
    #[must_use]
    pub const fn is_muted(&self) -> bool {
        self.silent || self.volume_pct == 0
    }

    /// Something is heard, but less than a vehicle wants.
    #[must_use]
    pub const fn is_faint(&self) -> bool {
        !self.is_muted() && self.volume_pct < FAINT_PCT
    }

    /// The crew hears what is played through the phone's own loudspeaker. Behind another app the system may silence
    /// without a word what it does not let go on.
    #[must_use]
    pub fn is_heard(&self) -> bool {
        let is_free = !self.call && !self.taken && !self.is_muted();
        is_free && self.route == Route::Speaker && (self.held || self.front)
    }

    /// What the screen says of it. A run without sound on purpose is not heard anyway.
    #[must_use]
    pub fn banners(&self, is_quiet: bool) -> Vec<Banner> {
        let route = match self.route {
            Route::Speaker => None,
            Route::Wireless => Some(Banner::RouteWireless),
            Route::Wired => Some(Banner::RouteWired),
            Route::Earpiece | Route::Other => Some(Banner::RouteOther),
        };
        let is_so = [
            (!is_quiet && self.call, Banner::Call),
            (!is_quiet && self.is_muted(), Banner::Muted),
            // A call takes the sound as well; it says more.
            (!is_quiet && self.taken && !self.call, Banner::Taken),
            (!is_quiet && self.is_faint(), Banner::Faint),
            (!self.held, Banner::NotHeld),
            (self.saving, Banner::Saving),
        ];
        let mut banners: Vec<Banner> = is_so
            .into_iter()
            .filter_map(|(is, banner)| is.then_some(banner))
            .collect();
        banners.extend(route.filter(|_| !is_quiet));
        banners
    }
}
