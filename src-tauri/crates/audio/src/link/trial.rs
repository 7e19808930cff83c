//! The sounds of the listening test on the control side.

use std::sync::Arc;

use cycle::{CueId, SoundNews};

use super::Link;
use crate::{live::Told, trial::Sound};

#[derive(Debug, Default)]
pub(super) struct Trial {
    /// The sound that is wanted or was begun.
    now: Option<CueId>,
    /// The last one that the audio thread was told of.
    told: Option<CueId>,
    /// What the audio thread may still hold.
    held: Vec<Sound>,
}

impl Trial {
    pub(super) fn revoke(&mut self, id: CueId) {
        self.now.take_if(|wanted| *wanted == id);
    }

    /// One that the audio thread was told of and that is not wanted: its revocation may not have got through.
    pub(super) fn unwanted(&self) -> Option<CueId> {
        self.told.filter(|told| self.now != Some(*told))
    }

    /// Whether this is the sound that is wanted or was begun.
    pub(super) fn is(&self, id: CueId) -> bool {
        self.now == Some(id)
    }
}

impl Link {
    /// A sound is being made. It is played unless it is revoked meanwhile.
    pub(crate) fn want_trial(&mut self, id: CueId) {
        self.trial.now = Some(id);
    }

    /// Frames a second of the stream that there is or was; 0 where there was none.
    pub(crate) fn hz(&self) -> u32 {
        self.hz
    }

    /// Plays the sound of that name, which was made for `hz`. What cannot be played is told as left out.
    pub(crate) fn play_trial(&mut self, id: CueId, sound: Option<Sound>, hz: u32) {
        if !self.trial.is(id) {
            return;
        }
        // The last hold frees the samples, and the audio thread must free nothing: it lets go before we do.
        self.trial.held.retain(|sound| Arc::strong_count(sound) > 1);
        let is_open = self.told.is_some() && self.hz == hz && !self.is_behind;
        if let Some(sound) = sound.filter(|_| is_open) {
            self.trial.held.push(Arc::clone(&sound));
            self.trial.told = Some(id);
            self.tell(Told::Trial(id, sound));
            // A full ring is told again without it.
            if !self.is_behind {
                return;
            }
        }
        self.news.push_back(SoundNews::Late { id });
    }

    /// The stream is gone, and with it what it was sounding.
    pub(super) fn break_trial(&mut self) {
        if let Some(id) = self.trial.now.take() {
            self.news.push_back(SoundNews::Cut { id });
        }
    }
}

#[cfg(test)]
mod tests {
    use conduct::Order;
    use cycle::Ms;
    use render::{Report, What};
    use rtrb::{Consumer, Producer, RingBuffer};

    use super::*;

    const ID: CueId = CueId(70);
    const HZ: u32 = 48_000;

    fn open() -> (Link, Consumer<Told>, Producer<Report>) {
        let mut link = Link::default();
        let (told, audio) = RingBuffer::new(64);
        let (reports, taken) = RingBuffer::new(64);
        link.connect(told, taken, HZ);
        (link, audio, reports)
    }

    fn sound() -> Sound {
        vec![5_i16; 10].into()
    }

    fn trials(audio: &mut Consumer<Told>) -> Vec<CueId> {
        let mut all = Vec::new();
        while let Ok(told) = audio.pop() {
            if let Told::Trial(id, _) = told {
                all.push(id);
            }
        }
        all
    }

    #[test]
    fn a_sound_that_is_wanted_is_played_once_made_and_told_as_begun() {
        let (mut link, mut audio, mut reports) = open();
        link.want_trial(ID);
        link.play_trial(ID, Some(sound()), HZ);
        assert_eq!(trials(&mut audio), [ID]);
        let begun = |tick| Report::Begun {
            what: What::Cue(ID.0),
            frame: 1,
            tick,
            frames: 10,
        };
        reports.push(begun(Some(48_000))).unwrap();
        reports.push(begun(None)).unwrap();
        let started = |at| Some(SoundNews::Started { id: ID, at });
        assert_eq!(link.news(Ms(1100)), started(Ms(1000)));
        let late = Some(SoundNews::Late { id: ID });
        assert_eq!(link.news(Ms(1100)), late, "nothing says when it began");
    }

    #[test]
    fn a_sound_that_was_revoked_while_it_was_made_is_never_played() {
        let (mut link, mut audio, _reports) = open();
        link.want_trial(ID);
        link.order(Ms(600), Order::Revoke(ID));
        link.play_trial(ID, Some(sound()), HZ);
        assert_eq!((trials(&mut audio), link.news(Ms(700))), (vec![], None));
    }

    #[test]
    fn a_sound_without_a_stream_or_of_another_rate_is_told_as_left_out() {
        let (mut link, mut audio, _reports) = open();
        let late = Some(SoundNews::Late { id: ID });
        for (made, hz) in [(None, HZ), (Some(sound()), 44_100)] {
            link.want_trial(ID);
            link.play_trial(ID, made, hz);
            assert_eq!((trials(&mut audio), link.news(Ms(1))), (vec![], late));
        }
        let mut link = Link::default();
        link.want_trial(ID);
        link.play_trial(ID, Some(sound()), 0);
        assert_eq!(link.news(Ms(1)), late);
    }

    /// A ring that was full when the sound was taken back: what is told again says so.
    #[test]
    fn a_revocation_that_did_not_get_through_is_told_again() {
        let mut link = Link::default();
        let (told, mut audio) = RingBuffer::new(8);
        let (_reports, taken) = RingBuffer::new(8);
        link.connect(told, taken, HZ);
        while audio.pop().is_ok() {}
        link.want_trial(ID);
        link.play_trial(ID, Some(sound()), HZ);
        for n in 0..8 {
            link.set_offset(n);
        }
        link.order(Ms(1), Order::Revoke(ID));
        let mut revoked = |link: &mut Link| {
            let mut found = false;
            while let Ok(told) = audio.pop() {
                found |= matches!(told, Told::Order(_, Order::Revoke(id)) if id == ID);
            }
            assert_eq!(link.news(Ms(2)), None);
            found
        };
        assert!(!revoked(&mut link), "the ring was full");
        assert!(revoked(&mut link));
    }

    #[test]
    fn a_stream_that_goes_takes_its_sound_with_it() {
        let (mut link, _audio, _reports) = open();
        link.want_trial(ID);
        link.play_trial(ID, Some(sound()), HZ);
        link.disconnect(0);
        assert_eq!(link.news(Ms(1)), Some(SoundNews::Cut { id: ID }));
        link.disconnect(0);
        assert_eq!(link.news(Ms(1)), None);
    }

    #[test]
    fn what_the_audio_thread_holds_is_held_here_too_and_let_go_after_it() {
        let (mut link, mut audio, _reports) = open();
        let mut last = None;
        for n in 0..4 {
            let id = CueId(n);
            link.want_trial(id);
            link.play_trial(id, Some(sound()), HZ);
            while let Ok(told) = audio.pop() {
                if let Told::Trial(_, sound) = told {
                    last = Some(sound);
                }
            }
            assert!(
                last.as_ref()
                    .is_some_and(|sound| Arc::strong_count(sound) == 2)
            );
            assert!(link.trial.held.len() <= 2);
        }
    }
}
