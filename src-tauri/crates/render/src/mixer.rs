use beat::{Kind, Placed, Sound};

use crate::{
    Bus, ClipId, Clips, Gains, Message, Play, Report, Sink, Timeline, What,
    gain::{Duck, factor},
    limiter::Limiter,
    noise::Noise,
    voice::Voice,
    walk::{Begun, Walk},
};

/// Sounds at once: at 300 beats a minute and with clips under a second no more than a dozen.
const VOICES: usize = 24;
/// Cues that wait for their moment.
const WAITING: usize = 16;
/// Frames mixed in one go.
const CHUNK: usize = 64;
/// A sound of the score that would come later than this is left out, ms.
const SCORE_LATE_MS: u32 = 20;
/// As much at the beginning of a stream, ms: the first beat that is heard again tells the crew where the grid lies, and
/// one that is left out is not missed there.
const FIRST_LATE_MS: u32 = 3;
/// A cue that would come later than this is dropped, ms.
const CUE_LATE_MS: u32 = 80;
/// A cue that is taken back dies away in this time, ms.
const FADE_MS: u32 = 10;
/// What must stop at once dies away in this time, ms: short enough not to be heard as a sound of its own,
/// long enough not to be a click.
const BREAK_MS: u32 = 2;

/// Turns scores and cues into samples. Called on the audio thread.
///
/// Frames are counted from 0 at the first rendered block. The output lies [`Mixer::DELAY`] frames
/// behind the count: the sound that [`Report::Begun`] puts on frame `f` is at place
/// `f + DELAY` of all the samples rendered, exactly.
#[derive(Clone, Debug)]
pub struct Mixer {
    hz: u32,
    frame: u64,
    timeline: Option<Timeline>,
    /// The first tick of which a sound of the score may be.
    since: u64,
    score: Option<Walk>,
    /// What the score before still has to sound.
    tail: Option<Walk>,
    quiet_ddb: u16,
    begun: Begun,
    gains: Gains,
    is_held: bool,
    waiting: [Option<Play>; WAITING],
    voices: [Option<Voice>; VOICES],
    /// What the output would have leapt by as a sound gave way; dies away.
    rest: f32,
    dying: f32,
    duck: Duck,
    noise: Noise,
    limiter: Limiter,
}

impl Mixer {
    /// Frames by which the output lies behind the count of frames.
    pub const DELAY: usize = Limiter::DELAY;

    /// A mixer for `hz` samples a second. Without a timeline no score sounds and no cue that has a
    /// moment; what is to sound at once does.
    pub fn new(hz: u32, timeline: Option<Timeline>) -> Self {
        Self {
            hz,
            frame: 0,
            timeline,
            since: 0,
            score: None,
            tail: None,
            quiet_ddb: 0,
            begun: Begun::default(),
            gains: Gains::default(),
            is_held: false,
            waiting: [None; WAITING],
            voices: [None; VOICES],
            rest: 0.0,
            dying: dying(hz),
            duck: Duck::new(hz),
            noise: Noise::new(hz),
            limiter: Limiter::new(hz),
        }
    }

    /// The frame that the next block begins with.
    pub fn frame(&self) -> u64 {
        self.frame
    }

    /// The line from run time to frames in use.
    pub fn timeline(&self) -> Option<Timeline> {
        self.timeline
    }

    /// Takes a message; it holds from the next block on.
    pub fn take(&mut self, message: Message, sink: &mut impl Sink) {
        match message {
            Message::Score { placed, given } => self.set_score(placed, given),
            Message::Play(play) => self.wait(play, sink),
            Message::Revoke(id) => self.revoke(id, sink),
            Message::Levels(gains) => self.gains = gains,
            Message::Timeline(timeline) => self.set_timeline(timeline),
            Message::Rest => {
                self.score = None;
                self.tail = None;
                self.begun = Begun::default();
            }
            Message::Noise(is_on) => self.noise.set(is_on),
        }
    }

    /// Ends what is sounding of the score. After a loss the rest of a click would be heard as a click of
    /// its own, at a wrong time.
    pub fn break_off(&mut self) {
        let span = span(self.hz, BREAK_MS);
        for voice in self.voices.iter_mut().flatten() {
            if voice.bus == Bus::Score {
                voice.fade(span);
            }
        }
    }

    /// While it is held, sounds of the score are left out: their time is not known.
    pub fn hold(&mut self, is_held: bool) {
        self.is_held = is_held;
    }

    /// Fills `out` with the next samples, mono, -1 to 1.
    pub fn render(&mut self, clips: &impl Clips, out: &mut [f32], sink: &mut impl Sink) {
        let mut rest = out;
        while !rest.is_empty() {
            self.begin_due(clips, sink);
            let frames = self.frames_to_next(clips, rest.len().min(CHUNK));
            let Some((chunk, after)) = rest.split_at_mut_checked(frames) else {
                return;
            };
            self.mix(clips, chunk);
            rest = after;
        }
    }

    fn set_timeline(&mut self, timeline: Timeline) {
        let before = self.timeline.map_or(0, |t| t.tick(self.frame));
        let now = timeline.tick(self.frame);
        if self.timeline.is_none() {
            self.since = now.saturating_sub(frames(self.hz, FIRST_LATE_MS));
        }
        self.timeline = Some(timeline);
        // Far back is another run or a clock that was set right: what has begun says nothing any
        // more, and what was passed over lies ahead again.
        if before > now.saturating_add(u64::from(self.hz)) {
            self.begun = Begun::default();
            self.since = 0;
            let oldest = now.saturating_sub(frames(self.hz, SCORE_LATE_MS));
            for walk in [&mut self.score, &mut self.tail].into_iter().flatten() {
                walk.begin_at(oldest, self.hz);
            }
        }
    }

    fn set_score(&mut self, placed: Placed, given: u64) {
        // The score that sounds now goes on up to the moment of the decision; one that has not
        // begun yet does not come between.
        let mut tail = self.tail.filter(|t| t.next().is_some()).or(self.score);
        if let Some(tail) = &mut tail {
            tail.end_at(given);
        }
        self.tail = tail;
        self.score = Some(Walk::new(placed, self.hz));
        self.quiet_ddb = placed.score.quiet_ddb;
    }

    fn wait(&mut self, play: Play, sink: &mut impl Sink) {
        match self.waiting.iter_mut().find(|w| w.is_none()) {
            Some(place) => *place = Some(play),
            None => sink.report(Report::Late(play.id)),
        }
    }

    fn revoke(&mut self, id: u32, sink: &mut impl Sink) {
        for place in &mut self.waiting {
            if place.is_some_and(|w| w.id == id) {
                *place = None;
            }
        }
        self.fade(|v| v.id == Some(id), sink);
    }

    fn fade(&mut self, which: impl Fn(&Voice) -> bool, sink: &mut impl Sink) {
        let span = span(self.hz, FADE_MS);
        for voice in self.voices.iter_mut().flatten() {
            if which(voice)
                && voice.fade(span)
                && let Some(id) = voice.id
            {
                sink.report(Report::Cut(id));
            }
        }
    }

    /// Begins whatever falls on this frame, or fell on an earlier one and is not too late.
    fn begin_due(&mut self, clips: &impl Clips, sink: &mut impl Sink) {
        self.begin_cues(clips, sink);
        let Some(timeline) = self.timeline else {
            return;
        };
        let now = timeline.tick(self.frame);
        let oldest = now.saturating_sub(frames(self.hz, SCORE_LATE_MS));
        let frame = self.frame;
        let due = |s: &Sound| timeline.frame(s.at) <= frame;
        while let Some(sound) = self.tail.and_then(|w| w.next()).filter(due) {
            if let Some(walk) = &mut self.tail {
                walk.pass(sound, oldest, self.hz);
            }
            self.sound(clips, sound, oldest, now, sink);
        }
        while let Some(sound) = self.score.and_then(|w| w.next()).filter(due) {
            if let Some(walk) = &mut self.score {
                walk.pass(sound, oldest, self.hz);
            }
            self.sound(clips, sound, oldest, now, sink);
        }
    }

    fn sound(
        &mut self,
        clips: &impl Clips,
        sound: Sound,
        oldest: u64,
        now: u64,
        sink: &mut impl Sink,
    ) {
        if self.begun.has(sound) {
            return;
        }
        if sound.at < oldest.max(self.since) || self.is_held {
            sink.report(Report::LeftOut(sound.kind));
            return;
        }
        self.begun.note(sound);
        let ddb = match sound.kind {
            Kind::BeatFirst | Kind::Beat | Kind::BeatLast => {
                self.gains.beat_ddb.saturating_add(self.quiet_ddb)
            }
            Kind::Breath => self.gains.breath_ddb,
        };
        // A beat that is off keeps its place and is no sound: nothing of it is reported.
        let factor = factor(ddb);
        if factor <= 0.0 {
            return;
        }
        let clip = ClipId::of(sound.kind);
        let voice = Voice::new(None, Bus::Score, clip, factor);
        self.begin(clips, voice, What::Score(sound.kind), Some(now), sink);
    }

    fn begin_cues(&mut self, clips: &impl Clips, sink: &mut impl Sink) {
        for n in 0..WAITING {
            let Some(play) = self.waiting.get(n).copied().flatten() else {
                continue;
            };
            let now = self.timeline.map(|t| t.tick(self.frame));
            let late = match (play.start, self.timeline) {
                (None, _) => 0,
                (Some(start), Some(t)) if t.frame(start) <= self.frame => {
                    t.tick(self.frame).saturating_sub(start)
                }
                (Some(_), _) => continue,
            };
            if let Some(place) = self.waiting.get_mut(n) {
                *place = None;
            }
            if late > frames(self.hz, CUE_LATE_MS) {
                sink.report(Report::Late(play.id));
                continue;
            }
            if play.bus == Bus::Voice {
                self.fade(|v| v.bus == Bus::Voice, sink);
            }
            let gain = factor(self.gains.cue_ddb);
            let voice = Voice::new(Some(play.id), play.bus, play.clip, gain);
            self.begin(clips, voice, What::Cue(play.id), now, sink);
        }
    }

    fn begin(
        &mut self,
        clips: &impl Clips,
        voice: Voice,
        what: What,
        tick: Option<u64>,
        sink: &mut impl Sink,
    ) {
        sink.report(Report::Begun {
            what,
            frame: self.frame,
            tick,
            frames: u32::try_from(voice.left(clips)).unwrap_or(u32::MAX),
        });
        let free = self.voices.iter().position(Option::is_none);
        // With no place free the one that has sounded longest gives way.
        let place = free.or_else(|| {
            let ages = self.voices.iter().enumerate();
            ages.max_by_key(|(_, v)| v.map_or(0, |v| v.age()))
                .map(|(n, _)| n)
        });
        if let Some(place) = place.and_then(|n| self.voices.get_mut(n)) {
            if let Some(id) = place.and_then(|v| v.id) {
                sink.report(Report::Cut(id));
            }
            self.rest += place.map_or(0.0, |v| v.last());
            *place = Some(voice);
        }
    }

    /// Frames that can be mixed before a sound begins or a voice ends; 1 to `most`.
    fn frames_to_next(&self, clips: &impl Clips, most: usize) -> usize {
        let mut frames = most;
        for voice in self.voices.iter().flatten() {
            frames = frames.min(voice.left(clips));
        }
        if let Some(timeline) = self.timeline {
            let sounds = [self.score, self.tail].into_iter().flatten();
            let scores = sounds.filter_map(|w| w.next()).map(|s| s.at);
            let cues = self.waiting.iter().flatten().filter_map(|w| w.start);
            for tick in scores.chain(cues) {
                let ahead = timeline.frame(tick).saturating_sub(self.frame);
                frames = frames.min(usize::try_from(ahead).unwrap_or(usize::MAX));
            }
        }
        frames.max(1)
    }

    fn mix(&mut self, clips: &impl Clips, out: &mut [f32]) {
        let is_spoken = self
            .voices
            .iter()
            .flatten()
            .any(|v| v.bus == Bus::Voice && v.left(clips) > 0);
        let mut duck = [1.0; CHUNK];
        if let Some(duck) = duck.get_mut(..out.len()) {
            self.duck.fill(is_spoken, duck);
        }
        out.fill(0.0);
        for place in &mut self.voices {
            if let Some(voice) = place {
                voice.add(clips, out, &duck);
                if voice.left(clips) == 0 {
                    *place = None;
                }
            }
        }
        self.noise.add(clips, out, factor(self.gains.beat_ddb));
        for sample in out.iter_mut() {
            if self.rest.abs() > NOTHING {
                self.rest *= self.dying;
                *sample += self.rest;
            } else {
                self.rest = 0.0;
            }
            *sample = self.limiter.step(*sample);
        }
        let frames = u64::try_from(out.len()).unwrap_or(0);
        self.frame = self.frame.saturating_add(frames);
    }
}

/// Below this nothing is heard of 24 bits.
const NOTHING: f32 = 1e-7;

/// The factor by which a rest falls each frame, so that after [`BREAK_MS`] a seventh is left.
fn dying(hz: u32) -> f32 {
    let span = f32::from(span(hz, BREAK_MS));
    (span - 1.0).max(0.0) / (span + 1.0)
}

fn span(hz: u32, ms: u32) -> u16 {
    u16::try_from(frames(hz, ms)).unwrap_or(u16::MAX)
}

/// Frames, or ticks, of `ms`.
fn frames(hz: u32, ms: u32) -> u64 {
    u64::from(hz)
        .saturating_mul(u64::from(ms))
        .checked_div(1000)
        .unwrap_or(0)
}

#[cfg(test)]
mod tests;
