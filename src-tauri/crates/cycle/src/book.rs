//! What the app has done: prompts by their due time, cues in flight, what sounds. Deeds fold here by
//! line, and are never amended.

use alloc::{
    collections::{BTreeMap, BTreeSet, btree_map::Entry},
    vec::Vec,
};

use beat::Placed;

use crate::{
    Levels, Look, Ms, Surroundings,
    fact::{
        self, CueId, CueLine, CueOutcome, CueSound, Deed, DrillWord, Fact, HeldWhy, Seq,
        SoundChange,
    },
    prompts::{Class, Prompt, Tone},
    rules::check,
};

/// A voice or a tone that was handed to the sound.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Flight {
    pub(crate) id: CueId,
    pub(crate) sound: CueSound,
    /// The prompt it speaks or stands for.
    pub(crate) prompt: Option<Prompt>,
    pub(crate) due: Ms,
    pub(crate) start: Ms,
    pub(crate) end: Ms,
    /// Broken off: over, and only kept for the distance to what is said next.
    pub(crate) cut: bool,
}

/// What became of a prompt that was due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fate {
    /// Handed over, to begin then.
    Asked(Ms),
    /// Held back for the time being; said so once for each reason.
    Held(HeldWhy),
    /// Broken off for the first time, by a more pressing voice or by the end of its stream, or not begun at all: to be
    /// said once more, if that is soon.
    Again {
        /// When what was broken off began, or what could not begin was to.
        began: Ms,
        /// Not before this.
        from: Ms,
    },
    /// Not to be said any more.
    Done,
}

/// What became of the crew's last act.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LastAct {
    /// Its line.
    pub seq: Seq,
    /// When its finger went down.
    pub at: Ms,
    /// Whether the rules took it.
    pub taken: bool,
}

/// No speech for this long between two voices, class A apart.
pub(crate) const SPACING: Ms = Ms(1500);

/// How long a done prompt is remembered: longer than any patience.
const MEMORY: Ms = Ms(1_200_000);

/// A sound begins with a block of the device, so long after it was asked for at most.
const BLOCK: Ms = Ms(100);

/// What is to be said again and could not begin is asked for so long after the last time: a stream that is opened anew
/// is there some tenths of a second later.
const TRY_EVERY: Ms = Ms(300);

#[derive(Clone, Debug, Default)]
pub(crate) struct Book {
    fates: BTreeMap<(Prompt, Ms), Fate>,
    /// Prompts that were broken off once already, or could not begin, and when those began or were to.
    broken: BTreeMap<(Prompt, Ms), Ms>,
    tones: BTreeSet<(Tone, Ms)>,
    flights: Vec<Flight>,
    /// Starts of spoken prompts of class B to D, for the budget.
    spoken: Vec<Ms>,
    pub(crate) sounding: Option<Placed>,
    pub(crate) sound_lost: bool,
    /// As they were set on the phone.
    pub(crate) levels: Levels,
    /// How things stand around the phone.
    pub(crate) around: Surroundings,
    /// How the screen looks.
    pub(crate) look: Look,
    /// The phone's battery has been low since then.
    pub(crate) phone_low: Option<Ms>,
    pub(crate) unmarked: Option<Ms>,
    pub(crate) heartbeat: Ms,
    /// It is a drill, and began then.
    pub(crate) drill: Option<Ms>,
    /// The drill was stopped to be looked at: nothing sounds until it goes on.
    pub(crate) is_stopped: bool,
    /// What stands on the screen of what was said: the prompt, since when, and when it was due.
    pub(crate) said: Option<(Prompt, Ms, Ms)>,
    /// The last line that a crew act made: a mark, an amendment, or one that was not taken.
    last_act: Option<LastAct>,
    next_cue: u32,
}

impl Book {
    pub(crate) fn next_id(&self) -> CueId {
        CueId(self.next_cue)
    }

    pub(crate) fn fate(&self, prompt: Prompt, due: Ms) -> Option<Fate> {
        self.fates.get(&(prompt, due)).copied()
    }

    pub(crate) fn has_tone(&self, tone: Tone, due: Ms) -> bool {
        self.tones.contains(&(tone, due))
    }

    /// Cues not known to be over.
    pub(crate) fn flights(&self) -> &[Flight] {
        &self.flights
    }

    pub(crate) fn flight(&self, id: CueId) -> Option<Flight> {
        let known = self.flights.iter().find(|f| f.id == id && !f.cut);
        known.copied()
    }

    /// Voices among them.
    pub(crate) fn voices(&self) -> impl Iterator<Item = &Flight> {
        self.flights.iter().filter(|f| f.prompt.is_some())
    }

    pub(crate) fn last_act(&self) -> Option<LastAct> {
        self.last_act
    }

    /// Whether the drug by the clock was called for a later moment than this one.
    pub(crate) fn drug_called_after(&self, due: Ms) -> bool {
        self.fates.iter().any(|((prompt, at), fate)| {
            matches!(prompt, Prompt::DrugDue | Prompt::DrugLate)
                && *at > due
                && matches!(fate, Fate::Asked(_))
        })
    }

    /// Whether a word goes on with a count that is being spoken: a count and its "now" are one prompt
    /// for spacing and budget.
    pub(crate) fn joins(&self, prompt: Prompt, due: Ms, start: Ms) -> bool {
        let round = check::round_of(prompt, due);
        let before = |f: &Flight| {
            let other = f.prompt.and_then(|other| check::round_of(other, f.due));
            other == round && f.start < start && start.since(f.end) < SPACING
        };
        round.is_some() && self.voices().any(before)
    }

    /// When the budget of `most` prompts in `span` has a place free again.
    pub(crate) fn free_at(&self, most: usize, span: Ms) -> Ms {
        let mut starts = self.spoken.clone();
        starts.sort_unstable();
        let held = starts.len().checked_sub(most).and_then(|n| starts.get(n));
        held.map_or(Ms::ZERO, |at| at.plus(span).plus(Ms(1)))
    }

    pub(crate) fn apply(&mut self, entry: &fact::Entry) {
        let taken = match &entry.fact {
            Fact::Mark(_) | Fact::Amend(_) => true,
            Fact::Deed(deed) => {
                self.deed(entry, deed);
                if !matches!(deed, Deed::Ignored { .. }) {
                    return;
                }
                false
            }
        };
        self.last_act = Some(LastAct {
            seq: entry.seq,
            at: entry.at,
            taken,
        });
    }

    fn deed(&mut self, entry: &fact::Entry, deed: &Deed) {
        match deed {
            Deed::Score(line) => {
                self.sounding = Placed::try_from(*line).ok();
            }
            Deed::Cue(line) => self.cue(entry.taken, line),
            Deed::Sound { what } => match what {
                SoundChange::Lost => self.sound_lost = true,
                SoundChange::Back => self.sound_lost = false,
                SoundChange::Route => {}
            },
            Deed::Setting { value, .. } => self.levels = value.within(),
            Deed::Around(change) => self.around.apply(*change),
            // A process that was killed in a bag comes back in the bag: nothing takes this back.
            Deed::Screen(look) => self.look = *look,
            Deed::Phone { low, .. } => self.phone_low = low.then_some(entry.taken),
            Deed::CheckUnmarked { due_ms } => self.unmarked = Some(*due_ms),
            Deed::Heartbeat {} | Deed::Start { .. } => self.heartbeat = entry.taken,
            Deed::Drill(line) => match line.what {
                DrillWord::Begun => {
                    self.drill.get_or_insert(entry.taken);
                }
                DrillWord::Stopped => self.is_stopped = true,
                DrillWord::Again => self.is_stopped = false,
                DrillWord::Cue
                | DrillWord::Ticked
                | DrillWord::Unticked
                | DrillWord::Injected
                | DrillWord::NoiseOn
                | DrillWord::NoiseOff => {}
            },
            // A process that was killed took its cues and its score with it.
            Deed::Recovered { gap_from_ms, .. } => {
                for f in core::mem::take(&mut self.flights) {
                    let counted = self.spoken.contains(&f.start);
                    if let Some(prompt) = f.prompt {
                        self.unsaid(prompt, f.due, f.start, *gap_from_ms);
                    }
                    // Whether it had begun is not known where the last line is older: it may have been heard.
                    if f.start < entry.taken {
                        if counted && !self.spoken.contains(&f.start) {
                            self.spoken.push(f.start);
                        }
                        let (end, cut) = (f.end.min(entry.taken), true);
                        self.flights.push(Flight { end, cut, ..f });
                    }
                }
                self.sounding = None;
                self.is_stopped = false;
                self.sound_lost = false;
                // What is around the phone now, the new process is told anew.
                self.around = Surroundings::default();
            }
            Deed::Count { .. }
            | Deed::Ignored { .. }
            | Deed::Gap { .. }
            | Deed::Fault { .. }
            | Deed::TouchIgnored { .. }
            | Deed::WallJump { .. } => {}
        }
    }

    fn cue(&mut self, now: Ms, line: &CueLine) {
        self.next_cue = self.next_cue.max(line.cue.0.saturating_add(1));
        match line.outcome {
            CueOutcome::Asked => self.asked(now, line),
            // A block of the device is nothing to the spacing, and a rehearsal has none; what began
            // much later than asked speaks on for so much longer.
            CueOutcome::Spoken => {
                let flight = self.flights.iter_mut().find(|f| f.id == line.cue);
                if let Some(f) = flight.filter(|f| line.start_ms.since(f.start) > BLOCK) {
                    for at in self.spoken.iter_mut().filter(|at| **at == f.start) {
                        *at = line.start_ms;
                    }
                    f.start = line.start_ms;
                    f.end = line.start_ms.plus(Ms(u64::from(line.len_ms)));
                }
            }
            CueOutcome::Cut | CueOutcome::Late => {
                if line.outcome == CueOutcome::Late {
                    self.unheard(line.cue);
                }
                let heard = |f: &Flight| line.outcome == CueOutcome::Cut && f.start < now;
                self.flights.retain(|f| f.id != line.cue || heard(f));
                for f in self.flights.iter_mut().filter(|f| f.id == line.cue) {
                    (f.end, f.cut) = (f.end.min(now), true);
                }
                if let Some(prompt) = line.id {
                    // Nobody took it back: it stays on the screen.
                    let is_gone = line.why == Some(HeldWhy::NoSound);
                    if !is_gone {
                        self.unsaid(prompt, line.due_ms, line.start_ms, now);
                    }
                    let is_ours = line.why == Some(HeldWhy::Pressed) && line.start_ms <= now;
                    if is_gone && line.start_ms > now {
                        // Nobody heard a word of it: it was no speech.
                        self.spoken.retain(|at| *at != line.start_ms);
                    }
                    if is_gone || is_ours {
                        self.broken_off((prompt, line.due_ms), line.start_ms, now);
                    }
                }
            }
            CueOutcome::Missed => {
                if let Some(prompt) = line.id {
                    self.fates.insert((prompt, line.due_ms), Fate::Done);
                }
            }
            CueOutcome::Held => {
                if let (Some(prompt), Some(why)) = (line.id, line.why) {
                    let fate = match why {
                        HeldWhy::Moving
                        | HeldWhy::HandsOff
                        | HeldWhy::Shock
                        | HeldWhy::Budget
                        | HeldWhy::Led
                        | HeldWhy::Quiet
                        | HeldWhy::Withheld => Fate::Held(why),
                        HeldWhy::VoiceOff
                        | HeldWhy::Pressed
                        | HeldWhy::Answered
                        | HeldWhy::NoSound => Fate::Done,
                        // Not spoken, and on the screen all the same.
                        HeldWhy::Merged | HeldWhy::Screen => {
                            self.said = Some((prompt, line.start_ms, line.due_ms));
                            Fate::Done
                        }
                    };
                    // What cannot be said again at once is not said again.
                    let was = self.fates.insert((prompt, line.due_ms), fate);
                    if matches!(was, Some(Fate::Again { .. })) {
                        self.fates.insert((prompt, line.due_ms), Fate::Done);
                    }
                }
            }
        }
    }

    /// When a prompt that was broken off had begun, or was to begin.
    pub(crate) fn broken_at(&self, prompt: Prompt, due: Ms) -> Option<Ms> {
        self.broken.get(&(prompt, due)).copied()
    }

    /// A voice was broken off. The first time it may be said again.
    fn broken_off(&mut self, key: (Prompt, Ms), began: Ms, now: Ms) {
        if let Entry::Vacant(first) = self.broken.entry(key) {
            first.insert(began);
            self.fates.insert(key, Fate::Again { began, from: now });
        }
    }

    /// What has not begun was no speech, and is still to be said.
    fn unheard(&mut self, cue: CueId) {
        let Some(f) = self.flight(cue) else {
            return;
        };
        self.spoken.retain(|at| *at != f.start);
        if let Some(prompt) = f.prompt {
            let key = (prompt, f.due);
            let began = *self.broken.entry(key).or_insert(f.start);
            let from = f.start.plus(TRY_EVERY);
            self.fates.insert(key, Fate::Again { began, from });
        }
    }

    /// A prompt that was taken back: nothing of it stays on the screen, and what had not begun to
    /// sound is as if it had never been asked for.
    fn unsaid(&mut self, prompt: Prompt, due: Ms, start: Ms, now: Ms) {
        if self
            .said
            .is_some_and(|(said, at, _)| (said, at) == (prompt, start))
        {
            self.said = None;
        }
        if start > now {
            self.fates.remove(&(prompt, due));
            if self.broken.contains_key(&(prompt, due)) {
                self.fates.insert((prompt, due), Fate::Done);
            }
            self.spoken.retain(|at| *at != start);
        }
    }

    fn asked(&mut self, now: Ms, line: &CueLine) {
        self.prune(now);
        let tone = Tone::ALL.iter().copied().find(|t| t.word() == line.kind);
        let sound = match (tone, line.id) {
            (Some(tone), _) => CueSound::Tone(tone),
            (None, Some(prompt)) => CueSound::Voice(prompt),
            (None, None) => return,
        };
        let joins = (line.id).is_some_and(|prompt| self.joins(prompt, line.due_ms, line.start_ms));
        // Voice came back within a count: its tones were no speech, and the word is what is counted.
        if joins && matches!(sound, CueSound::Voice(_)) {
            self.spoken_anew(line);
        }
        self.flights.push(Flight {
            id: line.cue,
            sound,
            prompt: line.id,
            due: line.due_ms,
            start: line.start_ms,
            end: line.start_ms.plus(Ms(u64::from(line.len_ms))),
            cut: false,
        });
        match line.id {
            Some(prompt) => {
                self.fates
                    .insert((prompt, line.due_ms), Fate::Asked(line.start_ms));
                self.said = Some((prompt, line.start_ms, line.due_ms));
                if prompt.class() != Class::A && !joins {
                    self.spoken.push(line.start_ms);
                }
            }
            None => {
                if let Some(tone) = tone {
                    self.tones.insert((tone, line.due_ms));
                }
            }
        }
    }

    /// Where a count was tones alone until this word of it, the budget counts from this word.
    fn spoken_anew(&mut self, line: &CueLine) {
        let round = line
            .id
            .and_then(|prompt| check::round_of(prompt, line.due_ms));
        let of_round = |f: &&Flight| f.prompt.and_then(|p| check::round_of(p, f.due)) == round;
        let count: Vec<Flight> = self.voices().filter(of_round).copied().collect();
        if count.iter().all(|f| matches!(f.sound, CueSound::Tone(_))) {
            let tones = |at: &Ms| count.iter().any(|f| f.start == *at);
            self.spoken.retain(|at| !tones(at));
            self.spoken.push(line.start_ms);
        }
    }

    /// Forgets what no rule can ask about any more, so that a long run does not grow. A drug stays due
    /// until it is given and a cup until it is looked at: their calls, a few for each, are kept.
    fn prune(&mut self, now: Ms) {
        let old = now.minus(MEMORY);
        let stays = |prompt| {
            matches!(
                prompt,
                Prompt::DrugDue
                    | Prompt::DrugLate
                    | Prompt::DrugNext
                    | Prompt::CupDown
                    | Prompt::CupNow
            )
        };
        self.fates
            .retain(|(prompt, due), _| *due >= old || stays(*prompt));
        self.broken.retain(|(_, due), _| *due >= old);
        self.tones.retain(|(_, due)| *due >= old);
        self.spoken.retain(|at| at.plus(Ms(240_000)) >= now);
        self.flights.retain(|f| f.end.plus(Ms(10_000)) >= now);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fact::{Entry, Source};
    use alloc::string::ToString;

    fn line(at: u64, deed: Deed) -> Entry {
        Entry {
            seq: Seq(at),
            at: Ms(at),
            taken: Ms(at),
            src: Source::Auto,
            fact: Fact::Deed(deed),
        }
    }

    /// A prompt of one second, asked for half a second ahead.
    fn asked(book: &mut Book, kind: &str, prompt: Prompt, due: u64, start: u64) {
        let cue = CueLine {
            cue: book.next_id(),
            kind: kind.to_string(),
            id: Some(prompt),
            due_ms: Ms(due),
            start_ms: Ms(start),
            len_ms: 1000,
            outcome: CueOutcome::Asked,
            why: None,
        };
        book.apply(&line(start.saturating_sub(500), Deed::Cue(cue)));
    }

    #[test]
    fn a_count_is_one_prompt_from_its_first_word_that_was_spoken() {
        let count = |kind: &str| {
            let mut book = Book::default();
            asked(&mut book, kind, Prompt::ChkCd2, 118_000, 118_000);
            asked(&mut book, kind, Prompt::ChkCd1, 119_000, 119_000);
            asked(&mut book, "voice", Prompt::ChkNow, 120_000, 120_000);
            book.free_at(1, Ms(20_000))
        };
        assert_eq!(count("voice"), Ms(138_001), "spoken from the two on");
        assert_eq!(count("attention"), Ms(140_001), "tones, and then the now");
    }

    #[test]
    fn what_a_kill_broke_off_may_have_been_heard() {
        let mut book = Book::default();
        asked(&mut book, "voice", Prompt::CupNow, 60_000, 60_000);
        // The last line is the asking itself; the process was back 700 ms into the voice.
        let back = Deed::Recovered {
            gap_from_seq: Seq(59_500),
            gap_from_ms: Ms(59_500),
            bad_bytes: 0,
        };
        book.apply(&line(60_700, back));
        let heard: Vec<_> = book.voices().map(|f| (f.start, f.end, f.cut)).collect();
        assert_eq!(heard, [(Ms(60_000), Ms(60_700), true)]);
        assert_eq!(book.free_at(1, Ms(20_000)), Ms(80_001), "and counts");
        assert_eq!(
            book.fate(Prompt::CupNow, Ms(60_000)),
            None,
            "and is asked again"
        );
    }
}
