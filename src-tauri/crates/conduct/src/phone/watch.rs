//! What the conductor knows of the phone, and what it wishes of it at a moment.

use beat::Placed;
use cycle::{Around, Colours, Ms, Surroundings};

use super::{
    Phone, Wish,
    feel::{self, EVERY_MS},
    light::Eye,
};

/// The phone as it was told last, and what was wished of it last.
#[derive(Debug, Default)]
pub(crate) struct Watch {
    around: Surroundings,
    /// Per cent, and whether it is being charged.
    battery: Option<(u8, bool)>,
    eye: Eye,
    /// Held, and for a run without sound or with it.
    held: Option<bool>,
    /// The screen is a run's.
    screen: bool,
    /// How bright the screen is to be in a run, per cent.
    bright: Option<u8>,
    /// What the vibrator was told last, and when, run time.
    told: Option<(Felt, Ms)>,
    /// It may not have come through.
    is_unsure: bool,
}

impl Watch {
    /// Takes a change around the phone; whether it is one.
    pub(crate) fn around(&mut self, change: Around) -> bool {
        let is_new = self.around.is_new(change);
        self.around.apply(change);
        // A phone whose window was gone took no wish, and some feel nothing behind other apps.
        self.is_unsure |= change.brings_back();
        is_new
    }

    /// How things stand around the phone.
    pub(crate) fn surroundings(&self) -> Surroundings {
        self.around
    }

    pub(crate) fn battery(&mut self, pct: u8, charging: bool) {
        self.battery = Some((pct, charging));
    }

    /// The battery as it was told last.
    pub(crate) fn known_battery(&self) -> Option<(u8, bool)> {
        self.battery
    }

    pub(crate) fn light(&mut self, lux: u32, at_ms: u64) {
        self.eye = self.eye.seeing(lux, at_ms);
    }

    /// The colours that the light asks for; without a reading they are those of the day.
    pub(crate) fn colours(&mut self, at_ms: u64) -> Colours {
        self.eye = self.eye.at(at_ms);
        self.eye.colours()
    }

    /// The run was put away: the phone tells no more of the light, and it may be another one by the next run.
    pub(crate) fn forget_light(&mut self) {
        self.eye = Eye::default();
    }

    /// A run goes on, or none does.
    pub(crate) fn hold(&mut self, phone: &mut dyn Phone, run: Option<Held<'_>>) {
        let wanted = run.map(|run| run.is_quiet);
        if self.held == wanted {
            return;
        }
        self.held = wanted;
        let Some(Held { lang, is_quiet }) = run else {
            self.feel(phone, None, Ms::ZERO);
            phone.wish(Wish::LetGo);
            return;
        };
        phone.wish(Wish::Hold {
            lang: lang.to_owned(),
            volume_pct: (!is_quiet).then_some(LOUDEST),
        });
    }

    /// A run is on the screen, or none is any more.
    pub(crate) fn screen(&mut self, phone: &mut dyn Phone, on: bool) {
        if self.screen == on {
            return;
        }
        self.screen = on;
        phone.wish(Wish::Screen(on));
        if self.bright.is_some() {
            // What was dimmed for a run is not left dim.
            phone.wish(Wish::Brightness(self.bright.filter(|_| on)));
        }
    }

    /// How bright the screen is to be: at once if a run is on it, else once one is.
    pub(crate) fn brightness(&mut self, phone: &mut dyn Phone, pct: Option<u8>) {
        let is_new = self.bright != pct;
        self.bright = pct;
        if is_new && self.screen {
            phone.wish(Wish::Brightness(pct));
        }
    }

    /// What is to be felt from now on; nothing, where all of it is heard.
    pub(crate) fn feel(&mut self, phone: &mut dyn Phone, wanted: Option<Felt>, now: Ms) {
        let Some(felt) = wanted else {
            self.is_unsure = false;
            if self.told.take().is_some() {
                phone.wish(Wish::Feel(Vec::new()));
            }
            return;
        };
        let is_told = self
            .told
            .is_some_and(|(before, at)| before == felt && now.since(at).0 < EVERY_MS);
        if !is_told || self.is_unsure {
            self.is_unsure = false;
            let mut pulses = feel::pulses(felt.placed, now, felt.long);
            // Silence by design and sound lost must not feel alike.
            if pulses.is_empty() && felt.is_unheard {
                pulses = feel::pulses(None, now, Some(now));
            }
            phone.wish(Wish::Feel(pulses));
            self.told = Some((felt, now));
        }
    }

    /// When the vibrator has to be told on.
    pub(crate) fn next_wakeup(&self) -> Option<Ms> {
        let (felt, at) = self.told?;
        (felt.placed.is_some() || felt.is_unheard).then(|| at.plus(Ms(EVERY_MS)))
    }
}

/// What is to be felt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Felt {
    /// The score that sounds.
    pub(crate) placed: Option<Placed>,
    /// When a prompt of a pressing class begins, or began.
    pub(crate) long: Option<Ms>,
    /// What sounds is not heard: the crew is to feel that too.
    pub(crate) is_unheard: bool,
}

/// Whose run the phone is held for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Held<'a> {
    pub(crate) lang: &'a str,
    /// A run without sound leaves the volume as it is.
    pub(crate) is_quiet: bool,
}

/// A vehicle wants all that a phone has.
const LOUDEST: u8 = 100;
