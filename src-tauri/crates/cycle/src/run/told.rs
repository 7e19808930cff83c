//! What sound and phone tell of themselves, as lines of the log.

use super::Run;
use crate::{
    CueId, Ms,
    fact::{CueLine, CueOutcome, Deed, HeldWhy, SoundChange},
    input::SoundNews,
    plan,
    prompts::Tone,
    rules,
};

/// At or below this a battery is low. Source: common practice, no source; an hour or more of a run is
/// left on most phones.
const BATTERY_LOW_PCT: u8 = 15;

impl Run {
    pub(super) fn sound(&mut self, now: Ms, news: SoundNews) {
        match news {
            SoundNews::Started { id, at } => self.outcome(now, id, at, (CueOutcome::Spoken, None)),
            SoundNews::Late { id } => self.outcome(now, id, now, (CueOutcome::Late, None)),
            // What the rules broke off themselves is no flight any more.
            SoundNews::Cut { id } => {
                let cut = (CueOutcome::Cut, Some(HeldWhy::NoSound));
                if let Some(f) = self.book.flight(id) {
                    self.outcome(now, id, f.start, cut);
                }
            }
            SoundNews::Lost if !self.book.sound_lost => {
                self.deed(
                    now,
                    Deed::Sound {
                        what: SoundChange::Lost,
                    },
                );
            }
            SoundNews::Back if self.book.sound_lost => {
                self.deed(
                    now,
                    Deed::Sound {
                        what: SoundChange::Back,
                    },
                );
                let state = self.story.state();
                let p = self.setup.protocol_of(state.class);
                // There the screen says it alone.
                let withheld = state.is_quiet() || rules::hands_off::only_the_number(p, state, now);
                if self.is_live() && !withheld {
                    let step = plan::tone_now(&self.book, now, Tone::SoundBack);
                    self.step(now, step);
                }
            }
            // No change.
            SoundNews::Lost | SoundNews::Back => {}
            SoundNews::Count {
                beats,
                frames,
                underruns,
            } => {
                if self.is_live() {
                    self.deed(
                        now,
                        Deed::Count {
                            beats,
                            frames,
                            underruns,
                        },
                    );
                }
            }
        }
    }

    /// Only what changes something is kept: whether the battery is low.
    pub(super) fn phone(&mut self, now: Ms, battery_pct: u8, charging: bool) {
        let low = battery_pct <= BATTERY_LOW_PCT && !charging;
        if self.is_live() && low != self.book.phone_low.is_some() {
            self.deed(now, Deed::Phone { battery_pct, low });
        }
    }

    fn outcome(
        &mut self,
        now: Ms,
        id: CueId,
        at: Ms,
        (outcome, why): (CueOutcome, Option<HeldWhy>),
    ) {
        if let Some(f) = self.book.flight(id) {
            let len = f.end.since(f.start).0;
            let line = CueLine {
                cue: id,
                kind: plan::kind(f.sound),
                id: f.prompt,
                due_ms: f.due,
                start_ms: at,
                len_ms: u32::try_from(len).unwrap_or(u32::MAX),
                outcome,
                why,
            };
            self.deed(now, Deed::Cue(line));
        }
    }
}
