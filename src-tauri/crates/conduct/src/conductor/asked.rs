//! What the page asks, done.

use beat::{Pattern, Placed, Score};
use cycle::{
    Act, Around, Cue, CueId, CueSound, Entered, Input, Levels, Ms, Prompt, Setup, Start, Tone,
    mark::PatientClass,
};
use tokio::sync::mpsc;

use super::{Conductor, Live};
use crate::{
    Ask, Order, PhoneNews, Touch, Voice, Wish, clock::uptime_ms, house::house_now, of_class,
};

/// The ready check lets so many beats be heard, then two breath tones in so long a window, then a tone and a
/// sentence over beats that step back under it.
const BEATS: u16 = 6;
const WINDOW_MS: u32 = 3000;
/// The first beat is so far ahead.
const BEFORE: Ms = Ms(100);
/// The tone comes so long after the beats have begun again.
const THEN_TONE: Ms = Ms(500);
/// The beats go on so long after the sentence: they come forward again.
const THEN_BEATS: Ms = Ms(900);
/// No run counts its cues so far.
const LISTEN: [CueId; 2] = [CueId(u32::MAX), CueId(u32::MAX - 1)];
/// The sentence comes so long after the tone.
const THEN_VOICE: Ms = Ms(900);

impl Conductor {
    pub(super) fn asked(&mut self, at_ms: u64, ask: Ask) {
        self.page.awake(at_ms);
        match ask {
            Ask::Press { act, touch } => self.press(act, touch, at_ms),
            Ask::Enter { entered, touch } => self.enter(&entered, touch, at_ms),
            Ask::Phone(news) => self.phone_says(news, at_ms),
            Ask::PhoneSilent(why) => {
                self.showing.lasting(why);
                let held = Around::Held { on: false };
                self.phone_says(PhoneNews::Around(held), at_ms);
            }
            Ask::Wrong(what) => self.showing.lasting(what),
            Ask::Share(files) => self.parts.phone.wish(Wish::Share(files)),
            Ask::Feel(feel) => self.feel = feel,
            Ask::Theme(theme) => self.theme = theme,
            Ask::Cover(on) => self.cover(on, at_ms),
            Ask::Undo { touch } => self.change(touch, at_ms, Input::Undo),
            Ask::SetRight { state, back, touch } => {
                self.change(touch, at_ms, Input::SetRight { state, back });
            }
            Ask::Remove { seq, touch } => self.change(touch, at_ms, Input::Remove(seq)),
            Ask::Earlier { seq, by, touch } => {
                self.change(touch, at_ms, Input::Earlier { target: seq, by });
            }
            Ask::EndHeld => self.step(Ms(at_ms), |_| vec![Input::EndHeld]),
            Ask::TouchesIgnored { n, why } => {
                self.step(Ms(at_ms), |_| {
                    vec![Input::Touches {
                        n,
                        why: why.clone(),
                    }]
                });
            }
            Ask::PageClock { sent_ms } => self.page.heard(sent_ms, at_ms),
            Ask::PutAway => self.put_away(),
            Ask::Setup(setup) => self.set_up(*setup),
            Ask::Voice(voice) => self.speak(*voice),
            Ask::Class(class) => self.choose_class(class),
            Ask::Levels(levels) => self.set_levels(levels),
            Ask::Listen => self.listen(),
            Ask::Listening(ask) => self.test_asked(ask, at_ms),
            Ask::Drill(ask) => self.drill_asked(ask, at_ms),
            Ask::Recording(recording) => self.play(recording),
        }
    }

    /// A change of what was marked, at the moment at which its touch was taken.
    fn change(&mut self, touch: Touch, at_ms: u64, input: Input) {
        let dated = self.page.date(touch, at_ms);
        self.step(dated.taken, |_| vec![input]);
    }

    /// Closes a run that is over; the start card takes its place.
    pub(super) fn put_away(&mut self) {
        if let Some(mut live) = self.live.take_if(|l| l.stage.is_over()) {
            live.stage.seal(live.last);
            self.part_with(live);
        }
    }

    /// Nothing more comes of a run; the start card takes its place.
    pub(super) fn part_with(&mut self, live: Live) {
        // Its writer is waited for elsewhere. Without a thread it is waited for here.
        drop(self.apart("record-close", move || drop(live)));
        // What is read of a drill that was to go on comes too late.
        (_, self.reread) = mpsc::unbounded_channel();
        // The next patient is another one: the class that was chosen was this one's.
        self.next = self.parts.setup.clone();
        self.showing.put_away(&self.next);
        self.watch.forget_light();
        if let Some(voice) = self.voice.take() {
            self.speak(voice);
        }
    }

    fn press(&mut self, act: Act, touch: Touch, at_ms: u64) {
        let dated = self.page.date(touch, at_ms);
        // A drill that is being looked at stands in no patient's way.
        if act.way().is_some() {
            self.leave_stopped();
        }
        if self.live.is_none() {
            match act.way() {
                Some(way) => self.start(act, way, (dated.down, dated.taken)),
                None => self.showing.choose(act.marks()),
            }
            return;
        }
        self.step(dated.taken, |live| live.marks(dated.down, act.marks()));
        // Nothing of the run before stands between a new patient and the start.
        if act == Act::NewPatient {
            self.put_away();
        }
    }

    fn enter(&mut self, entered: &Entered, touch: Touch, at_ms: u64) {
        let dated = self.page.date(touch, at_ms);
        self.step(dated.taken, |live| {
            match live.stage.run().entered(entered) {
                Ok(mark) => live.marks(dated.down, vec![mark]),
                Err(fault) => vec![Input::Refused {
                    kind: entered.kind(),
                    why: fault.to_string(),
                }],
            }
        });
    }

    /// Other numbers for the next run. A run keeps those that it began with.
    fn set_up(&mut self, setup: Setup) {
        self.parts.setup = setup;
        self.next = self.parts.setup.clone();
        if self.live.is_none() {
            self.showing.turn(&self.next);
        }
    }

    /// Another language for the next run. The class that was chosen for it stays chosen.
    fn speak(&mut self, voice: Voice) {
        if self.live.is_some() {
            self.voice = Some(voice);
            return;
        }
        let class = self.next.class;
        let chosen_by_hand = class != self.parts.setup.class;
        self.parts.speaker.speak(&voice.lang);
        self.showing.speak(&voice);
        self.parts.heads.lang = voice.lang;
        self.parts.heads.pack_id = voice.pack_id;
        self.parts.heads.pack_sha256 = voice.pack_sha256;
        self.set_up(voice.setup);
        if chosen_by_hand {
            self.choose_class(class);
        }
    }

    /// Another class for the next run. In a run the class is a mark of its own.
    fn choose_class(&mut self, class: PatientClass) {
        if self.live.is_none() {
            self.next = of_class(self.parts.setup.clone(), class);
            self.showing.turn(&self.next);
        }
    }

    /// Other levels from the next run on; in a run they are a mark of its own.
    fn set_levels(&mut self, levels: Levels) {
        self.parts.levels = levels.within();
        // What is being tried is heard at the new levels.
        if self.listening.is_some() {
            let now = house_now(uptime_ms());
            let order = Order::Levels(self.parts.levels.into());
            self.parts.speaker.order(now, order);
        }
    }

    /// What is still to be heard of the ready check is not heard in a run.
    pub(super) fn hush(&mut self) {
        let now = house_now(uptime_ms());
        for id in LISTEN {
            self.parts.speaker.order(now, Order::Revoke(id));
        }
        if self.listening.take().is_some() {
            self.parts.speaker.order(now, Order::Rest);
        }
    }

    /// Beats, two breath tones, a tone and a sentence, as loud as in a run. Not in a run: there every sound
    /// means something.
    fn listen(&mut self) {
        if self.live.is_some() {
            return;
        }
        self.hush();
        self.break_test();
        let now = house_now(uptime_ms());
        let p = &self.next.protocol;
        let begin = now.plus(BEFORE);
        let score = Placed {
            score: Score {
                rate: p.rate,
                pattern: Pattern::Ratio {
                    beats: BEATS,
                    window_ms: WINDOW_MS,
                    breaths: 2,
                },
                quiet_ddb: 0,
            },
            anchor_ms: begin.0,
            lead: 0,
            from_ms: begin.0,
            breath_from_ms: begin.0,
        };
        // The first beat after the window.
        let beats_again = Ms(score.beat(u64::from(BEATS), 1000));
        let tone_at = beats_again.plus(THEN_TONE);
        let voice_at = tone_at.plus(THEN_VOICE);
        let prompt = Prompt::ChkNow;
        let len_ms = self.next.clips.ms(prompt);
        let levels = self.parts.levels.into();
        let speaker = &mut self.parts.speaker;
        speaker.order(now, Order::Levels(levels));
        speaker.order(now, Order::Score(score));
        let [tone, voice] = LISTEN;
        let tones = CueSound::Tone(Tone::Attention);
        for (id, sound, at, len_ms) in [
            (tone, tones, tone_at, 0),
            (voice, CueSound::Voice(prompt), voice_at, len_ms),
        ] {
            let cue = Cue {
                id,
                sound,
                start: Start::At(at),
                len_ms,
            };
            speaker.order(now, Order::Play(cue));
        }
        self.listening = Some(voice_at.plus(Ms(u64::from(len_ms))).plus(THEN_BEATS));
    }
}
