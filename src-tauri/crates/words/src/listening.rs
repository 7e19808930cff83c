//! The screens of the listening test. The answers stand in the language of the voice, whatever the screen's.

use ::listening::{
    Confusion, ENOUGH, ENOUGH_TESTS, GATE_PER_CENT, Group, Level, PROMPTS, Progress,
    SURELY_PER_CENT, Share, Sheet, Verdict, Way,
};
use cycle::Prompt;
use serde::Serialize;

use crate::{SaidWord as S, Table, Words};

macro_rules! listening_words {
    ($($(#[$doc:meta])* $field:ident,)*) => {
        /// What stands on the keys of the listening test, and what it says.
        #[derive(Clone, Debug, PartialEq, Eq, Serialize)]
        #[cfg_attr(feature = "ts", derive(ts_rs::TS))]
        pub struct ListeningLabels {
            $($(#[$doc])* pub $field: String,)*
            /// How far the voice may stand over the noise.
            pub levels: Vec<LevelKey>,
        }

        pub(crate) const LISTENING: &[&str] = &[$(stringify!($field),)*];

        impl Words {
            /// The fixed words of the listening test.
            pub fn listening_labels(&self) -> ListeningLabels {
                ListeningLabels {
                    $($field: self.word("listening", stringify!($field)),)*
                    levels: Level::ALL
                        .iter()
                        .map(|level| LevelKey { db: level.db(), label: self.over_noise(*level) })
                        .collect(),
                }
            }
        }
    };
}

listening_words! {
    /// Its title, and the line that opens it.
    title,
    /// Under that line.
    note,
    /// What is done in it.
    what,
    /// Where the phone lies.
    place_it,
    /// Over the levels.
    level,
    /// Over the listener's number.
    listener,
    /// None was given.
    no_number,
    /// What may stand there.
    a_number,
    /// One less.
    less,
    /// One more.
    one_more,
    /// Ten more.
    ten_more,
    /// Begins a test.
    begin,
    /// Before a prompt is heard.
    ready,
    /// Lets it be heard.
    play,
    /// While it is heard.
    sounding,
    /// Asks which it was.
    asking,
    /// Nothing was heard.
    nothing,
    /// Leads from every page straight to the start card; a test that goes on is over.
    home,
    /// A sound was not heard whole.
    failed,
    /// What the figures are worth.
    proof,
    /// Writes the sheet.
    export,
    /// Goes on to another test.
    again,
    /// Why none begins: clips of the pack are wrong.
    faulty,
    /// Why nothing is written: no test is done.
    none_done,
}

/// A level on a key.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct LevelKey {
    /// dB(A) over the noise.
    pub db: u8,
    /// What stands on the key.
    pub label: String,
}

/// Where a test stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum ListeningPhase {
    /// The next prompt waits.
    Ready,
    /// It is heard.
    Sounding,
    /// Which was it?
    Asking,
    /// It is over.
    Done,
    /// It counts for nothing.
    Failed,
}

/// An answer on its key.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct AnswerKey {
    /// The prompt's id.
    pub prompt: Prompt,
    /// What is said, in the voice's language.
    pub label: String,
}

/// A fact of a sheet.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct FactLine {
    /// What it is of.
    pub name: String,
    /// What it is.
    pub value: String,
}

/// What came of a test.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct ListeningResult {
    /// Right of all; right of the urgent ones with what that leaves open; the gate, and how many it takes.
    pub lines: Vec<String>,
    /// What was taken for what.
    pub confusions: Table,
    /// Of which test.
    pub facts: Vec<FactLine>,
}

/// The listening test as it is shown.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Listening {
    /// Where it stands.
    pub phase: ListeningPhase,
    /// Which prompt, from 1; 0 where none is.
    pub n: usize,
    /// Which of how many, in words.
    pub place: String,
    /// The answers.
    pub choices: Vec<AnswerKey>,
    /// The language that they stand in.
    pub lang: String,
    /// What came of it, once it is over.
    pub result: Option<ListeningResult>,
}

impl Words {
    /// A test as it is shown; `spoken` are the words of the voice.
    pub fn listening(&self, progress: &Progress, spoken: &Self) -> Listening {
        let empty = Listening {
            phase: ListeningPhase::Ready,
            n: 0,
            place: String::new(),
            choices: Vec::new(),
            lang: spoken.lang().to_owned(),
            result: None,
        };
        let place = |n: usize| self.said(S::Place, &[&n.to_string(), &PROMPTS.to_string()]);
        match progress {
            Progress::Ready { n } => Listening {
                n: *n,
                place: place(*n),
                ..empty
            },
            Progress::Sounding { n } => Listening {
                phase: ListeningPhase::Sounding,
                n: *n,
                place: place(*n),
                ..empty
            },
            Progress::Asking { n, choices } => Listening {
                phase: ListeningPhase::Asking,
                n: *n,
                place: place(*n),
                choices: choices
                    .iter()
                    .map(|prompt| AnswerKey {
                        prompt: *prompt,
                        label: spoken.prompt(*prompt),
                    })
                    .collect(),
                ..empty
            },
            Progress::Done(sheet) => Listening {
                phase: ListeningPhase::Done,
                result: Some(self.listening_result(sheet, spoken)),
                ..empty
            },
            Progress::Failed => Listening {
                phase: ListeningPhase::Failed,
                ..empty
            },
        }
    }

    fn listening_result(&self, sheet: &Sheet, spoken: &Self) -> ListeningResult {
        let of = |word: S, share: Share| {
            self.said(word, &[&share.right.to_string(), &share.asked.to_string()])
        };
        let pressing = sheet.pressing();
        let (low, high) = pressing.interval();
        let per_cent = |part: f64| self.decimal(&format!("{:.1}", part * 100.0));
        let lines = [
            of(S::ListeningRight, sheet.all()),
            of(S::ListeningPressing, pressing),
            self.said(S::ListeningBetween, &[&per_cent(low), &per_cent(high)]),
            self.said(S::ListeningGate, &[&GATE_PER_CENT.to_string()]),
            self.wanted(S::ListeningEnough),
        ];
        ListeningResult {
            // A figure and its sign never part at the end of a line.
            lines: lines.map(|line| line.replace(" %", "\u{a0}%")).to_vec(),
            confusions: Table {
                title: self.said(S::ListeningConfused, &[]),
                columns: vec![
                    self.said(S::ListeningSaid, &[]),
                    self.said(S::ListeningTaken, &[]),
                ],
                rows: sheet
                    .confusions()
                    .iter()
                    .map(|it| self.confusion(it, spoken))
                    .collect(),
                none: Some(self.said(S::ListeningNoneWrong, &[])),
            },
            facts: self.facts(sheet),
        }
    }

    /// How many answers are wanted, in how many tests, and why.
    fn wanted(&self, word: S) -> String {
        let values = [ENOUGH, ENOUGH_TESTS, GATE_PER_CENT, SURELY_PER_CENT].map(|n| n.to_string());
        let [answers, tests, gate, surely] = &values;
        self.said(word, &[answers, tests, gate, surely])
    }

    /// What the urgent prompts of all sheets of a pack at a level come to.
    pub fn listening_total(&self, group: &Group) -> String {
        let Share { right, asked } = group.pressing;
        let values = [
            self.over_noise(group.level),
            right.to_string(),
            asked.to_string(),
        ];
        let [level, right, asked] = &values;
        let gate = GATE_PER_CENT.to_string();
        let verdict = match group.pressing.verdict() {
            Verdict::TooFew => self.wanted(S::ListeningTooFew),
            Verdict::Reached => self.said(S::ListeningReached, &[&gate]),
            Verdict::NotReached => self.said(S::ListeningNotReached, &[&gate]),
        };
        let total = self.said(S::ListeningTotal, &[level, right, asked]);
        format!("{total} {verdict}")
    }

    fn confusion(&self, it: &Confusion, spoken: &Self) -> Vec<String> {
        let taken = it.taken_for.map(|prompt| spoken.prompt(prompt));
        let nothing = || self.word("listening", "nothing");
        vec![spoken.prompt(it.said), taken.unwrap_or_else(nothing)]
    }

    fn facts(&self, sheet: &Sheet) -> Vec<FactLine> {
        let listener = sheet.listener.map(|n| n.to_string());
        let no_number = || self.word("listening", "no_number");
        let facts = &sheet.facts;
        let hash = facts.pack_sha256.get(..8).unwrap_or(&facts.pack_sha256);
        let each = |of: &dyn Fn(&Way) -> Option<String>| {
            let mut found: Vec<String> = Vec::new();
            for told in sheet.rows.iter().filter_map(|row| of(&row.way)) {
                if !found.contains(&told) {
                    found.push(told);
                }
            }
            found.join(", ")
        };
        let voice = each(&|way| way.voice_db.map(|db| self.level(db)));
        let output = each(&|way| {
            let output = way.output.as_ref();
            output.map(|output| format!("{} Hz", output.hz))
        });
        let mut facts = [
            (
                self.word("listening", "level"),
                self.over_noise(sheet.level),
            ),
            (self.said(S::ListeningVoiceSet, &[]), voice),
            (
                self.said(S::ListeningPack, &[]),
                format!("{} {hash}", facts.pack),
            ),
            (self.said(S::ListeningSeed, &[]), sheet.seed.to_string()),
            (
                self.word("listening", "listener"),
                listener.unwrap_or_else(no_number),
            ),
            (self.said(S::ListeningDevice, &[]), facts.device.clone()),
            (self.said(S::ListeningOutput, &[]), output),
            (self.said(S::ListeningDate, &[]), facts.date.clone()),
        ]
        .map(|(name, value)| FactLine { name, value })
        .to_vec();
        // What is not known has no line.
        facts.retain(|fact| !fact.value.is_empty());
        facts
    }

    fn over_noise(&self, level: Level) -> String {
        let sign = if level.db() == 0 { "" } else { "+" };
        self.said(S::ListeningLevel, &[&format!("{sign}{}", level.db())])
    }
}

#[cfg(test)]
pub(crate) mod tests;
