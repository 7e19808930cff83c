//! What the phone says, and what it is wished to do.

use cycle::{Act, Input, Ms, fact::Way};

use super::Conductor;
use crate::{
    PhoneNews,
    phone::watch::{Felt, Held},
    settings::Feel,
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
            PhoneNews::Light { lux } => self.watch.light(lux),
            PhoneNews::Begin { ago_ms } => self.begin_unseen(ago_ms, at_ms),
            PhoneNews::Devices => self.parts.speaker.rerouted(),
            // Taken only once something is made of it; nobody asks the phone for it yet.
            PhoneNews::Motion(_) => {}
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

    /// Start by Hand without the page: over the lock, or before there is one. In a run it is nothing new.
    fn begin_unseen(&mut self, ago_ms: u32, at_ms: u64) {
        let is_live = self.live.as_ref().is_some_and(|live| live.stage.is_live());
        // A key that is held to hear the ready check or the listening test louder begins no run.
        if is_live || self.test.is_some() || self.listening.is_some() {
            return;
        }
        self.put_away();
        let down = Ms(at_ms.saturating_sub(u64::from(ago_ms)));
        self.start(Act::StartByHand, Way::Hand, (down, Ms(at_ms)));
    }

    /// What is wished of the phone now.
    pub(super) fn tend(&mut self) {
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

#[cfg(test)]
mod tests;
