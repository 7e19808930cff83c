//! The listening test between runs: its sounds, its answers, and that a run goes first.

use ::listening::{Facts, Progress, Test};
use cycle::{CueId, SoundNews};

use super::Conductor;
use crate::{
    ListeningAsk, Order, Recording,
    clock::{uptime_ms, wall_now},
    house::house_now,
};

/// The names of its sounds count down from here: below those of the ready check, above those of any run.
const FIRST: u32 = u32::MAX - 2;
/// So many names are used before the first comes again.
const NAMES: u32 = 1000;
/// Digits that name a sheet: two in a million are the same only by 2^-28.
const DIGITS: usize = 12;

impl Conductor {
    /// Does what the page asks; in a run nothing.
    pub(super) fn test_asked(&mut self, ask: ListeningAsk, at_ms: u64) {
        if self.live.is_some() {
            return;
        }
        match ask {
            ListeningAsk::Begin { level, listener } => {
                self.stop_test();
                let id = uuid::Uuid::new_v4();
                let facts = self.facts(&id);
                // The low half of such an id is drawn as a whole, but for two bits at its top.
                let seed = u32::try_from(id.as_u128() & u128::from(u32::MAX)).unwrap_or(0);
                let clips = self.next.clips.clone();
                self.test = Some(Test::new(facts, level, listener, seed, clips));
            }
            ListeningAsk::Play => self.play_next(),
            ListeningAsk::Answer { n, answer, touch } => {
                let down = self.page.date(touch, at_ms).down;
                if let Some(test) = &mut self.test {
                    test.answer(n, answer, house_now(down.0));
                }
            }
            ListeningAsk::Stop => self.stop_test(),
        }
    }

    fn facts(&self, id: &uuid::Uuid) -> Facts {
        let heads = &self.parts.heads;
        let short = |text: &str, digits: usize| text.chars().take(digits).collect();
        Facts {
            sheet: short(&id.simple().to_string(), DIGITS),
            version: heads.version.clone(),
            pack: heads.pack_id.clone(),
            pack_sha256: heads.pack_sha256.to_string(),
            date: short(&wall_now().to_string(), "2026-01-01".len()),
            device: format!("{} {}", std::env::consts::OS, std::env::consts::ARCH),
        }
    }

    /// The next prompt sounds as loud as the voice is set, through all that a prompt of a run goes through.
    fn play_next(&mut self) {
        self.hush();
        let now = house_now(uptime_ms());
        let id = CueId(FIRST.saturating_sub(self.trials.checked_rem(NAMES).unwrap_or(0)));
        let Some(test) = &mut self.test else { return };
        let levels = self.parts.levels;
        let Some(stimulus) = test.play(id, now, levels.voice_db) else {
            return;
        };
        self.trials = self.trials.wrapping_add(1);
        if self.sound_lost {
            test.lost();
            return;
        }
        self.trial_told = Some(id);
        let speaker = &mut self.parts.speaker;
        speaker.order(now, Order::Levels(levels.into()));
        speaker.trial(now, id, stimulus);
    }

    /// A recording sounds where a sound of the test would, and goes as that does when a run begins.
    pub(super) fn play(&mut self, recording: Option<Recording>) {
        if self.live.is_some() {
            return;
        }
        self.hush();
        self.break_test();
        let Some(recording) = recording else { return };
        let now = house_now(uptime_ms());
        let id = CueId(FIRST.saturating_sub(self.trials.checked_rem(NAMES).unwrap_or(0)));
        self.trials = self.trials.wrapping_add(1);
        self.trial_told = Some(id);
        let speaker = &mut self.parts.speaker;
        speaker.order(now, Order::Levels(self.parts.levels.into()));
        speaker.recording(now, id, recording);
    }

    /// What became of its sounds.
    pub(super) fn test_hears(&mut self, news: SoundNews) {
        let Some(test) = &mut self.test else { return };
        match news {
            // The stream that began it is the one that is open: one that went would have broken it off.
            SoundNews::Started { id, at } => test.begun(id, at, self.parts.speaker.output()),
            SoundNews::Late { id } | SoundNews::Cut { id } => test.broken(id),
            SoundNews::Lost => test.lost(),
            SoundNews::Back | SoundNews::Count { .. } => {}
        }
    }

    /// A run, or another sound, goes first: a test that is not done is over. A sheet that is done stays.
    pub(super) fn break_test(&mut self) {
        self.test.take_if(|test| !test.is_done());
        self.silence();
    }

    /// What the speaker was told last may come late, long after the test gave it up: it must not come into a run.
    fn stop_test(&mut self) {
        self.test = None;
        self.silence();
    }

    fn silence(&mut self) {
        if let Some(id) = self.trial_told.take() {
            let now = house_now(uptime_ms());
            self.parts.speaker.order(now, Order::Revoke(id));
        }
    }

    /// What is shown of it: in a run nothing.
    pub(super) fn test_progress(&self) -> Option<Progress> {
        let test = self.test.as_ref().filter(|_| self.live.is_none())?;
        Some(test.progress())
    }
}
