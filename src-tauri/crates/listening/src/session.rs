use cycle::{ClipLengths, CueId, Ms, Prompt};

use crate::{LEAD_MS, Row, Sheet, Stimulus, Trial, draw::draw, mix::length_ms, sheet::Level};

/// A sound that was asked for and has not begun by then never will.
const NEVER: Ms = Ms(8000);

/// What stands on every row of the sheet and is known before the test.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Facts {
    /// Names the sheet.
    pub sheet: String,
    /// The app's version.
    pub version: String,
    /// The voice pack.
    pub pack: String,
    /// SHA-256 of its manifests.
    pub pack_sha256: String,
    /// The day, `YYYY-MM-DD`.
    pub date: String,
    /// What the test ran on.
    pub device: String,
}

/// What the sound comes out of, as the system tells.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Output {
    /// What it is and how it is connected; empty where the system does not tell. Never its name, which may be a
    /// person's.
    pub kind: String,
    /// Samples a second.
    pub hz: u32,
}

/// How a prompt was sounded, as far as the app knows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Way {
    /// How far below full the voice was set, dB; `None` on a sheet from before this was kept.
    pub voice_db: Option<u8>,
    /// What it came out of.
    pub output: Option<Output>,
}

/// Where a test stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Progress {
    /// The next prompt waits to be played.
    Ready {
        /// Which, from 1.
        n: usize,
    },
    /// It is to be heard now.
    Sounding {
        /// Which, from 1.
        n: usize,
    },
    /// It was heard: which was it?
    Asking {
        /// Which, from 1.
        n: usize,
        /// The answers.
        choices: Vec<Prompt>,
    },
    /// All were answered.
    Done(Box<Sheet>),
    /// A prompt could not be heard, or not whole: the test says nothing.
    Failed,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    Ready,
    /// Asked for at this moment, under this name.
    Asked(CueId, Ms),
    /// Begun at this moment.
    Begun(CueId, Ms),
    /// The prompt itself was over at this moment.
    Asking(Ms),
    Failed,
}

/// A test under way, or one that is done. Each prompt is heard once.
#[derive(Clone, Debug)]
pub struct Test {
    sheet: Sheet,
    trials: Vec<Trial>,
    clips: ClipLengths,
    phase: Phase,
    /// Of the prompt that was asked for last.
    way: Way,
}

impl Test {
    /// A test that begins. The listener is a number, never a name.
    pub fn new(
        facts: Facts,
        level: Level,
        listener: Option<u16>,
        seed: u32,
        clips: ClipLengths,
    ) -> Self {
        Self {
            trials: draw(seed),
            sheet: Sheet {
                facts,
                level,
                listener,
                seed,
                rows: Vec::new(),
            },
            clips,
            phase: Phase::Ready,
            way: Way::default(),
        }
    }

    fn trial(&self) -> Option<&Trial> {
        self.trials.get(self.sheet.rows.len())
    }

    /// Asks for the next prompt's sound, under this name, the voice so many dB below full. `None`: none waits.
    pub fn play(&mut self, id: CueId, now: Ms, voice_db: u8) -> Option<Stimulus> {
        let trial = self.trial()?;
        if self.phase != Phase::Ready {
            return None;
        }
        let stimulus = Stimulus {
            prompt: trial.prompt,
            level: self.sheet.level,
            seed: trial.seed,
        };
        self.phase = Phase::Asked(id, now);
        self.way = Way {
            voice_db: Some(voice_db),
            output: None,
        };
        Some(stimulus)
    }

    /// Its sound has begun, out of this output if it is known.
    pub fn begun(&mut self, id: CueId, at: Ms, output: Option<Output>) {
        if matches!(self.phase, Phase::Asked(asked, _) if asked == id) {
            self.phase = Phase::Begun(id, at);
            self.way.output = output;
        }
    }

    /// Its sound was left out or broken off.
    pub fn broken(&mut self, id: CueId) {
        if self.sounding() == Some(id) {
            self.phase = Phase::Failed;
        }
    }

    /// No sound is heard any more.
    pub fn lost(&mut self) {
        if self.sounding().is_some() {
            self.phase = Phase::Failed;
        }
    }

    /// The sound that was asked for and is not over.
    fn sounding(&self) -> Option<CueId> {
        match self.phase {
            Phase::Asked(id, _) | Phase::Begun(id, _) => Some(id),
            Phase::Ready | Phase::Asking(_) | Phase::Failed => None,
        }
    }

    /// Whether a sound of it is to be heard, or waits to be.
    pub fn is_sounding(&self) -> bool {
        self.sounding().is_some()
    }

    /// What time alone brings; whether anything changed.
    pub fn tick(&mut self, now: Ms) {
        let is_due = self.next_wakeup().is_some_and(|at| now >= at);
        if !is_due {
            return;
        }
        self.phase = match (self.phase, self.trial()) {
            (Phase::Begun(_, at), Some(trial)) => {
                let clip = Ms(u64::from(self.clips.ms(trial.prompt)));
                Phase::Asking(at.plus(Ms(u64::from(LEAD_MS))).plus(clip))
            }
            _ => Phase::Failed,
        };
    }

    /// When [`Test::tick`] is wanted.
    pub fn next_wakeup(&self) -> Option<Ms> {
        match self.phase {
            Phase::Asked(_, at) => Some(at.plus(NEVER)),
            Phase::Begun(_, at) => {
                let clip = self.trial().map_or(0, |trial| self.clips.ms(trial.prompt));
                Some(at.plus(Ms(u64::from(length_ms(clip)))))
            }
            Phase::Ready | Phase::Asking(_) | Phase::Failed => None,
        }
    }

    /// The answer to prompt `n`, from 1, as the finger came down at `at`: one of its choices, or that nothing was
    /// heard. An answer to another prompt, or one that was not to be had, changes nothing.
    pub fn answer(&mut self, n: usize, answer: Option<Prompt>, at: Ms) {
        let (Phase::Asking(over), Some(trial)) = (self.phase, self.trial()) else {
            return;
        };
        let number = self.sheet.rows.len().saturating_add(1);
        let is_choice = answer.is_none_or(|answer| trial.choices.contains(&answer));
        if n != number || !is_choice {
            return;
        }
        self.sheet.rows.push(Row {
            prompt: trial.prompt,
            choices: trial.choices.clone(),
            answer,
            ms: at.since(over).0,
            way: self.way.clone(),
        });
        self.phase = Phase::Ready;
    }

    /// Where it stands.
    pub fn progress(&self) -> Progress {
        let n = self.sheet.rows.len().saturating_add(1);
        let Some(trial) = self.trial() else {
            return Progress::Done(Box::new(self.sheet.clone()));
        };
        match self.phase {
            Phase::Ready => Progress::Ready { n },
            Phase::Asked(..) | Phase::Begun(..) => Progress::Sounding { n },
            Phase::Asking(_) => Progress::Asking {
                n,
                choices: trial.choices.clone(),
            },
            Phase::Failed => Progress::Failed,
        }
    }

    /// All were answered.
    pub fn is_done(&self) -> bool {
        self.trial().is_none()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::PROMPTS;

    const ID: CueId = CueId(9);

    fn test() -> Test {
        let clips = Prompt::ALL.iter().map(|p| (*p, 1200)).collect();
        let clips = ClipLengths::new(clips).expect("each has a length");
        Test::new(Facts::default(), Level::ALL[1], Some(3), 77, clips)
    }

    /// Plays the next prompt to its end; the moment at which its words were over.
    fn heard(test: &mut Test, now: Ms) -> Ms {
        test.play(ID, now, 6).expect("one waits");
        test.begun(ID, now.plus(Ms(200)), Some(output()));
        test.tick(now.plus(Ms(200 + 1000 + 1200 + 500)));
        now.plus(Ms(200 + 1000 + 1200))
    }

    fn output() -> Output {
        Output {
            kind: "speaker".to_owned(),
            hz: 48_000,
        }
    }

    fn asked(test: &Test) -> (usize, Vec<Prompt>) {
        let Progress::Asking { n, choices } = test.progress() else {
            panic!("{:?}", test.progress());
        };
        (n, choices)
    }

    #[test]
    fn twelve_are_heard_once_each_and_answered() {
        let mut test = test();
        let drawn = draw(77);
        for (place, trial) in drawn.iter().enumerate() {
            assert_eq!(test.progress(), Progress::Ready { n: place + 1 });
            let now = Ms(10_000 * u64::try_from(place).expect("few"));
            let over = heard(&mut test, now);
            let (n, choices) = asked(&test);
            assert_eq!((n, &choices), (place + 1, &trial.choices));
            assert_eq!(test.play(ID, now, 6), None, "heard once");
            let answer = (place > 0).then_some(trial.prompt);
            test.answer(n, answer, over.plus(Ms(900)));
        }
        let Progress::Done(sheet) = test.progress() else {
            panic!("{:?}", test.progress());
        };
        assert!(test.is_done());
        assert_eq!(test.play(ID, Ms(1), 6), None);
        assert_eq!(sheet.rows.len(), PROMPTS);
        assert_eq!((sheet.rows[0].answer, sheet.rows[0].ms), (None, 900));
        assert!(
            sheet.rows[1..]
                .iter()
                .all(|row| row.answer == Some(row.prompt))
        );
        assert_eq!((sheet.seed, sheet.listener), (77, Some(3)));
    }

    /// Another level or another output, between two prompts: each row has its own.
    #[test]
    fn each_row_says_how_loud_the_voice_was_set_and_what_it_came_out_of() {
        let mut test = test();
        let over = heard(&mut test, Ms(0));
        test.answer(1, None, over);
        test.play(ID, Ms(9000), 12).expect("one waits");
        test.begun(ID, Ms(9000), None);
        test.tick(Ms(9000 + 1000 + 1200 + 500));
        test.answer(2, None, Ms(15_000));
        let ways: Vec<_> = test.sheet.rows.iter().map(|row| row.way.clone()).collect();
        let way = |db, output| Way {
            voice_db: Some(db),
            output,
        };
        assert_eq!(ways, [way(6, Some(output())), way(12, None)]);
    }

    #[test]
    fn answers_that_are_not_asked_for_change_nothing() {
        let mut test = test();
        test.answer(1, None, Ms(5));
        assert_eq!(test.progress(), Progress::Ready { n: 1 });
        test.play(ID, Ms(0), 0).expect("one waits");
        test.answer(1, None, Ms(5));
        assert_eq!(test.progress(), Progress::Sounding { n: 1 });
        test.begun(CueId(1), Ms(0), None);
        test.tick(Ms(2900));
        assert_eq!(
            test.progress(),
            Progress::Sounding { n: 1 },
            "another sound's beginning"
        );
        test.begun(ID, Ms(0), None);
        test.tick(Ms(2699));
        assert_eq!(test.progress(), Progress::Sounding { n: 1 });
        test.tick(Ms(2700));
        let (_, choices) = asked(&test);
        let strange = Prompt::ALL.iter().find(|p| !choices.contains(p)).copied();
        test.answer(1, strange, Ms(3000));
        test.answer(2, None, Ms(3000));
        assert_eq!(asked(&test).0, 1);
    }

    #[test]
    fn what_was_not_heard_whole_ends_the_test() {
        let ways: [fn(&mut Test); 3] = [
            |test| test.broken(ID),
            Test::lost,
            |test| test.tick(Ms(8000)),
        ];
        for spoil in ways {
            let mut test = test();
            test.broken(ID);
            test.lost();
            assert_eq!(test.progress(), Progress::Ready { n: 1 }, "nothing sounded");
            test.play(ID, Ms(0), 0).expect("one waits");
            test.broken(CueId(1));
            assert_eq!(test.progress(), Progress::Sounding { n: 1 });
            spoil(&mut test);
            assert_eq!(test.progress(), Progress::Failed);
            assert_eq!(test.play(ID, Ms(0), 0), None);
        }
    }
}
