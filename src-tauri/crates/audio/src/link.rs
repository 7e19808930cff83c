//! The two rings of the open stream, and what a new stream must be told to go on in its place.

use std::collections::VecDeque;

use beat::{Kind, Placed};
use conduct::{Levels, Order};
use cycle::{Cue, CueId, Ms, SoundNews, Start};
use render::{Report, What};
use rtrb::{Consumer, Producer};

use crate::live::Told;

mod trial;

/// A cue that nothing could sound is told as left out after this.
const LATE: Ms = Ms(80);
/// A cue that is to sound at once and that an open stream has not begun after this is left out too: an answer so late
/// answers nothing. A stream that plays begins it within two blocks; one that was just opened may sit out seconds.
/// Source: the project's own choice.
const NO_ANSWER: Ms = Ms(300);

#[derive(Debug, Default)]
pub(crate) struct Link {
    told: Option<Producer<Told>>,
    reports: Option<Consumer<Report>>,
    hz: u32,
    zero_ns: i64,
    score: Option<(Ms, Placed)>,
    levels: Option<(Ms, Levels)>,
    /// The noise of a drill is on.
    noise: bool,
    /// Cues that have not begun.
    cues: Vec<(Ms, Cue)>,
    /// Those that the open stream has begun, each with the frame at which it is over, as long as it may sound.
    begun: Vec<(CueId, u64)>,
    /// The latest run time that was told.
    now: Ms,
    /// The ring was full: everything is to be told again.
    is_behind: bool,
    news: VecDeque<SoundNews>,
    beats: u64,
    trial: trial::Trial,
}

impl Link {
    /// News that nobody has asked for is kept up to this number.
    const MOST_NEWS: usize = 1000;

    /// The rings of a new stream of `hz` frames a second.
    pub(crate) fn connect(&mut self, told: Producer<Told>, reports: Consumer<Report>, hz: u32) {
        self.drain();
        self.told = Some(told);
        self.reports = Some(reports);
        self.hz = hz;
        self.tell_all();
    }

    /// The stream is gone; so many of its frames were heard.
    pub(crate) fn disconnect(&mut self, heard: u64) {
        self.drain();
        self.told = None;
        self.reports = None;
        let begun = std::mem::take(&mut self.begun).into_iter();
        let cut = begun.filter(|(_, end)| *end > heard);
        self.news.extend(cut.map(|(id, _)| SoundNews::Cut { id }));
        self.break_trial();
    }

    pub(crate) fn set_zero(&mut self, zero_ns: i64) {
        self.zero_ns = zero_ns;
        self.score = None;
        // Times of another run say nothing about this one.
        self.tell(Told::Order(Ms::ZERO, Order::Rest));
        self.tell(Told::Zero(zero_ns));
    }

    pub(crate) fn set_offset(&mut self, offset_ns: i64) {
        self.tell(Told::Offset(offset_ns));
    }

    pub(crate) fn order(&mut self, now: Ms, order: Order) {
        self.now = now;
        match order {
            Order::Score(placed) => self.score = Some((now, placed)),
            Order::Levels(levels) => self.levels = Some((now, levels)),
            Order::Rest => self.score = None,
            Order::Noise(is_on) => self.noise = is_on,
            Order::Play(cue) => self.cues.push((now, cue)),
            Order::Revoke(id) => {
                self.cues.retain(|(_, cue)| cue.id != id);
                self.begun.retain(|(begun, _)| *begun != id);
                self.trial.revoke(id);
            }
        }
        if self.is_behind {
            self.tell_all();
        } else {
            self.tell(Told::Order(now, order));
        }
    }

    /// What came back, and which cues nothing will sound any more.
    pub(crate) fn news(&mut self, now: Ms) -> Option<SoundNews> {
        self.now = now;
        self.drain();
        if self.is_behind {
            self.tell_all();
        }
        let is_open = self.told.is_some();
        let is_past = |(asked, cue): &(Ms, Cue)| match cue.start {
            Start::Now => !is_open || now > asked.plus(NO_ANSWER),
            // The open stream sees to these itself.
            Start::At(at) => !is_open && now > at.plus(LATE),
        };
        let past: Vec<CueId> = self
            .cues
            .iter()
            .filter(|c| is_past(c))
            .map(|(_, cue)| cue.id)
            .collect();
        for id in past {
            self.tell(Told::Order(now, Order::Revoke(id)));
            // A ring that took no more would still sound it.
            if self.is_behind {
                break;
            }
            self.cues.retain(|(_, cue)| cue.id != id);
            self.news.push_back(SoundNews::Late { id });
        }
        self.news.pop_front()
    }

    /// Beats since the last question.
    pub(crate) fn take_beats(&mut self) -> u64 {
        self.drain();
        std::mem::take(&mut self.beats)
    }

    /// When the next cue is due to begin.
    pub(crate) fn next_cue(&self) -> Option<Ms> {
        let at = |(now, cue): &(Ms, Cue)| match cue.start {
            Start::Now => *now,
            Start::At(at) => at,
        };
        self.cues.iter().map(at).min()
    }

    fn tell(&mut self, told: Told) {
        if let Some(ring) = &mut self.told {
            self.is_behind |= ring.push(told).is_err();
        }
    }

    /// Brings a new stream, or one that was not listening, to where the run is.
    fn tell_all(&mut self) {
        self.is_behind = false;
        self.tell(Told::Zero(self.zero_ns));
        if let Some((now, levels)) = self.levels {
            self.tell(Told::Order(now, Order::Levels(levels)));
        }
        match self.score {
            Some((now, placed)) => self.tell(Told::Order(now, Order::Score(placed))),
            None => self.tell(Told::Order(Ms::ZERO, Order::Rest)),
        }
        self.tell(Told::Order(Ms::ZERO, Order::Noise(self.noise)));
        if let Some(id) = self.trial.unwanted() {
            self.tell(Told::Order(Ms::ZERO, Order::Revoke(id)));
        }
        for (now, cue) in self.cues.clone() {
            // Not twice, should the ring still hold the first one.
            self.tell(Told::Order(now, Order::Revoke(cue.id)));
            self.tell(Told::Order(now, Order::Play(cue)));
        }
    }

    fn drain(&mut self) {
        while let Some(Ok(report)) = self.reports.as_mut().map(Consumer::pop) {
            self.take(report);
        }
        while self.news.len() > Self::MOST_NEWS {
            self.news.pop_front();
        }
    }

    fn take(&mut self, report: Report) {
        let (id, news) = match report {
            Report::Begun {
                what: What::Score(kind),
                ..
            } => {
                self.beats = self.beats.saturating_add(u64::from(kind != Kind::Breath));
                return;
            }
            Report::LeftOut(_) => return,
            Report::Begun {
                what: What::Cue(id),
                frame,
                tick,
                frames,
            } => {
                let id = CueId(id);
                self.begun.retain(|(_, end)| *end > frame);
                if self.cues.iter().any(|(_, cue)| cue.id == id) {
                    let end = frame.saturating_add(u64::from(frames));
                    self.begun.push((id, end));
                }
                let at = match tick {
                    // No answer can be timed by it: as if it had been left out.
                    None if self.trial.is(id) => {
                        self.news.push_back(SoundNews::Late { id });
                        return;
                    }
                    // A moment becomes a tick rounded down: rounded up it is that moment again.
                    Some(tick) if self.hz > 0 => {
                        Ms(tick.saturating_mul(1000).div_ceil(u64::from(self.hz)))
                    }
                    // Without a timeline only what is to sound at once has begun, and since it was asked for
                    // whoever looks for it has come every few hundredths of a second.
                    Some(_) | None => self.now,
                };
                (id, SoundNews::Started { id, at })
            }
            Report::Late(id) => (CueId(id), SoundNews::Late { id: CueId(id) }),
            Report::Cut(id) => {
                let id = CueId(id);
                self.begun.retain(|(begun, _)| *begun != id);
                // By an order, or since another voice took its place: of a run that is no news.
                if self.trial.is(id) {
                    self.news.push_back(SoundNews::Cut { id });
                }
                return;
            }
        };
        self.cues.retain(|(_, cue)| cue.id != id);
        self.news.push_back(news);
    }
}

#[cfg(test)]
mod tests;
