//! What the phone says, and what it is wished to do.

use ::listening::Test;
use cycle::{Act, Colours, Input, Look, Ms, fact::Way};

use super::{Conductor, Live};
use crate::{
    PhoneNews,
    clock::uptime_ms,
    phone::watch::{Felt, Held},
    settings::{Feel, Theme},
};

impl Conductor {
    pub(super) fn phone_says(&mut self, news: PhoneNews, at_ms: u64) {
        match news {
            PhoneNews::Around(change) => {
                if self.watch.around(change) {
                    self.step(Ms(at_ms), |_| vec![Input::Around(change)]);
                }
            }
            PhoneNews::Battery { pct, charging } => {
                self.watch.battery(pct, charging);
                self.tell_battery(Ms(at_ms));
            }
            PhoneNews::Light { lux } => self.watch.light(lux, at_ms),
            PhoneNews::Begin { ago_ms, by_key } => self.begin_unseen(ago_ms, by_key, at_ms),
            PhoneNews::Devices => self.parts.speaker.rerouted(),
            // The one is mended by the shell; the other is taken only once something is made of it, and nobody asks
            // the phone for it yet.
            PhoneNews::Bare | PhoneNews::Motion(_) => {}
        }
    }

    /// What the phone said before this run, or this process, began.
    pub(super) fn tell_known(&mut self, taken: Ms) {
        let known = self.watch.surroundings().told();
        self.step(taken, |_| known.map(Input::Around).collect());
        self.tell_battery(taken);
    }

    fn tell_battery(&mut self, taken: Ms) {
        if let Some((battery_pct, charging)) = self.watch.known_battery() {
            let input = Input::Phone {
                battery_pct,
                charging,
            };
            self.step(taken, |_| vec![input]);
        }
    }

    /// Start by Hand without the page: over the lock, or before there is one. In a run for this patient it is nothing
    /// new; what is for no patient, or may have been for another one, stands in no patient's way.
    fn begin_unseen(&mut self, ago_ms: u32, by_key: bool, at_ms: u64) {
        // What is held to hear better what sounds begins nothing.
        if by_key && self.may_be_held_to_hear() {
            return;
        }
        let taken = Ms(at_ms);
        self.no_drill();
        self.leave_drill();
        self.leave_half(taken);
        self.put_away();
        if self.live.is_none() {
            let down = Ms(at_ms.saturating_sub(u64::from(ago_ms)));
            self.start(Act::StartByHand, Way::Hand, (down, taken));
        }
    }

    /// Whether something sounds that somebody may want louder.
    fn may_be_held_to_hear(&self) -> bool {
        let in_run = self.live.as_ref().is_some_and(Live::may_sound);
        in_run || self.listening.is_some() || self.test.as_ref().is_some_and(Test::is_sounding)
    }

    /// Who starts does not go on with a run that nobody knows whose it is: it was another patient's.
    fn leave_half(&mut self, taken: Ms) {
        let live = self.live.as_ref().filter(|live| live.stage.is_live());
        if live.is_some_and(|live| live.stage.run().is_between_halves()) {
            self.step(taken, |live| live.marks(taken, Act::NewPatient.marks()));
        }
    }

    /// The colours in force: those that were chosen, else those that the light asks for.
    pub(super) fn colours(&mut self, at_ms: u64) -> Colours {
        // Asked in any case: a light that lasted while others were chosen has lasted.
        let by_light = self.watch.colours(at_ms);
        self.theme.chosen().unwrap_or(by_light)
    }

    /// Covers the screen or wakes it; the run's own rules say whether there is one to cover.
    pub(super) fn cover(&mut self, on: bool, at_ms: u64) {
        self.step(Ms(at_ms), |live| {
            let covered = Look {
                covered: on,
                ..live.stage.run().look()
            };
            vec![Input::Look(covered)]
        });
    }

    /// How the screen looks goes into the record of a run.
    fn tell_look(&mut self, colours: Colours, at_ms: u64) {
        let by_light = self.theme == Theme::Auto;
        self.step(Ms(at_ms), |live| {
            let known = live.stage.run().look();
            let look = Look {
                colours,
                by_light,
                ..known
            };
            let is_told = look == known || !live.stage.is_live() || live.stage.is_bare();
            if is_told {
                Vec::new()
            } else {
                vec![Input::Look(look)]
            }
        });
    }

    /// What is wished of the phone now.
    pub(super) fn tend(&mut self) {
        let at_ms = uptime_ms();
        let colours = self.colours(at_ms);
        let bright = self.theme.brightness(colours);
        self.watch.brightness(self.parts.phone.as_mut(), bright);
        self.tell_look(colours, at_ms);
        self.tend_sound();
        let is_shown = self.live.as_ref().is_some_and(Live::is_open);
        self.watch.screen(self.parts.phone.as_mut(), is_shown);
    }

    /// What is wished for the sake of what the crew hears.
    fn tend_sound(&mut self) {
        let phone = self.parts.phone.as_mut();
        let run = self.live.as_mut().filter(|live| live.stage.is_live());
        let Some(live) = run else {
            self.watch.hold(phone, None);
            return;
        };
        let is_quiet = live.stage.run().is_quiet();
        let lang = &self.parts.heads.lang;
        self.watch.hold(phone, Some(Held { lang, is_quiet }));
        let is_heard = !live.stage.is_sound_lost() && self.watch.surroundings().is_heard();
        let is_felt = !is_quiet && (!is_heard || self.feel == Feel::Always);
        let wanted = is_felt.then(|| Felt {
            placed: live.stage.run().sounding(),
            long: live.stage.pressing(),
            is_unheard: !is_heard,
        });
        let now = live.clock.now().max(live.last);
        self.watch.feel(phone, wanted, now);
    }

    /// When the vibrator is to be told on, as milliseconds from now.
    pub(super) fn tend_in_ms(&self) -> u64 {
        let at = self.watch.next_wakeup();
        let run = self.live.as_ref().zip(at);
        run.map_or(u64::MAX, |(live, at)| at.since(live.clock.now()).0)
    }

    /// The start card's keys, and whoever stands for them.
    pub(super) fn start(&mut self, act: Act, way: Way, (down, taken): (Ms, Ms)) {
        // What was chosen on the start card decides how the run begins: it comes first.
        let mut marks = self.showing.take_chosen();
        marks.extend(act.marks());
        self.begin(down, way);
        self.step(taken, |live| live.marks(down, marks));
        self.tell_known(taken);
    }
}

impl Live {
    /// It goes on, or its end can still be taken back.
    fn is_open(&self) -> bool {
        self.stage.is_live() || (self.stage.is_over() && !self.stage.is_sealed())
    }
}

#[cfg(test)]
mod tests;
