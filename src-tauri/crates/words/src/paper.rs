//! The pages before and after a run, as finished lines: a title, parts, and lines that lead on.

use cycle::{
    Act, Banner, Levels, Mark, Ms, Protocol, ProtocolRow,
    mark::{
        AirMark, AirwayAct, By, CareMark, CheckMark, FlowMark, Outcome, Preset, RunMark, kind_of,
    },
};
use serde::{Deserialize, Serialize};

use crate::{Fixed, SaidWord, Words, card::readout};

mod found;
mod levels;

pub use found::Found;
pub use levels::levels_of;
use levels::{each, with, written};

/// Which page.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum PaperWord {
    /// What a new user is told once.
    First,
    /// What it is, and its cautions.
    About,
    /// Every value of the protocol in force.
    Protocol,
    /// The runs that are kept.
    Past,
    /// What is looked at before a shift.
    Ready,
    /// What can be set.
    Settings,
}

/// A page.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Paper {
    /// Which.
    pub page: PaperWord,
    /// Its title.
    pub title: String,
    /// Its parts.
    pub parts: Vec<Part>,
}

/// Lines that belong together.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Part {
    /// Over them.
    pub heading: Option<String>,
    /// The lines.
    pub lines: Vec<PaperLine>,
}

/// A line, and where it leads.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct PaperLine {
    /// Its words.
    pub text: String,
    /// What stands beside them.
    pub value: Option<String>,
    /// What stands under them, small.
    pub note: Option<String>,
    /// Where it leads; it is a key then.
    pub go: Option<Go>,
    /// The language of its words, where that is not the page's.
    pub lang: Option<String>,
}

/// What a line's key does.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum Go {
    /// Opens another page.
    Open {
        /// Which.
        page: PaperWord,
    },
    /// Opens the debrief of a run.
    Run {
        /// The record's id.
        id: String,
    },
    /// Chooses a setting.
    Choose {
        /// Which.
        setting: SettingWord,
        /// What is chosen.
        value: String,
        /// It is what is chosen now.
        on: bool,
    },
    /// Sets something one step on.
    Step {
        /// Which.
        setting: SettingWord,
        /// What it is set to.
        value: String,
    },
    /// Lets the sounds be heard.
    Listen {},
    /// Opens the listening test.
    Listening {},
    /// Opens the protocol editor.
    Draft {},
    /// Opens what is kept of all runs, and what leaves the phone.
    Keep {},
}

/// What can be set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum SettingWord {
    /// The colours of the screen.
    Theme,
    /// The protocol in force.
    Protocol,
    /// How loud beats, breath tones and voice are: three numbers of dB below full.
    Levels,
    /// The first page was seen.
    First,
    /// The language of screen and voice.
    Lang,
    /// When the beat is felt as well.
    Feel,
}

/// A language that can be chosen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tongue {
    /// Its tag.
    pub lang: &'static str,
    /// The language that its voice speaks: another one where it has none of its own.
    pub voice: String,
}

/// A kept run, as its file tells.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PastRun {
    /// The record's id.
    pub id: String,
    /// The wall clock as it began, as the device showed it.
    pub when: String,
    /// How long it lasted.
    pub length: Ms,
    /// How it ended; `None`: it was left unfinished.
    pub outcome: Option<Outcome>,
    /// Nothing in its file was changed.
    pub is_sound: bool,
    /// It is protected from deletion.
    pub is_held: bool,
    /// There was no patient.
    pub is_drill: bool,
}

/// The lines of the page that is shown once.
const FIRST: [&str; 9] = [
    "start", "tap", "answer", "check", "fit", "move", "undo", "right", "colours",
];
/// The lines of the page about the program.
const ABOUT: [&str; 6] = ["what", "marks", "data", "example", "keys", "filter"];
/// What a device that tells nothing of itself is to be looked at for.
const LOOK: [&str; 3] = ["silent", "power", "mount"];

pub(crate) const LISTS: [(&str, &[&str]); 3] =
    [("first", &FIRST), ("about", &ABOUT), ("look", &LOOK)];

/// The colours of the screen.
pub const THEMES: [&str; 4] = ["auto", "day", "glare", "night"];

/// When the beat is felt: the words of what can be set.
pub const FEELS: [&str; 2] = ["unheard", "always"];

impl Words {
    /// What a new user is told once.
    pub fn first(&self) -> Paper {
        let lines = FIRST.map(|line| plain(self.word("first", line))).to_vec();
        self.paper(PaperWord::First, vec![part(None, lines), self.cautions()])
    }

    /// What the program is.
    pub fn about(&self, version: &str) -> Paper {
        let lines = ABOUT.map(|line| plain(self.word("about", line))).to_vec();
        let last = vec![
            beside(self.fixed(Fixed::Version), version.to_owned()),
            PaperLine {
                go: Some(Go::Open {
                    page: PaperWord::First,
                }),
                ..plain(self.fixed(Fixed::TitleFirst).to_owned())
            },
        ];
        self.paper(
            PaperWord::About,
            vec![self.cautions(), part(None, lines), part(None, last)],
        )
    }

    /// Every value of a protocol with what is allowed and its source.
    pub fn protocol(&self, protocol: &Protocol, hash: &str, rows: &[ProtocolRow]) -> Paper {
        let head = vec![
            plain(self.protocol_name(&protocol.name, protocol.is_example())),
            beside(self.fixed(Fixed::FileId), protocol.id.clone()),
            beside(self.fixed(Fixed::FileVersion), protocol.version.clone()),
            PaperLine {
                note: Some(hash.to_owned()),
                ..plain(self.fixed(Fixed::FileHash).to_owned())
            },
        ];
        let mut parts = vec![part(None, head)];
        for row in rows {
            // What is of the file itself stands with its name.
            let group = row.field.split_once('.').map(|(group, _)| group);
            let line = PaperLine {
                text: row.field.clone(),
                value: Some(row.value.clone()),
                note: Some(self.row_note(row)),
                ..PaperLine::default()
            };
            match parts.last_mut() {
                Some(last) if last.heading.as_deref() == group => last.lines.push(line),
                Some(_) | None => parts.push(part(group.map(str::to_owned), vec![line])),
            }
        }
        self.paper(PaperWord::Protocol, parts)
    }

    fn row_note(&self, row: &ProtocolRow) -> String {
        let allowed = (!row.allowed.is_empty()).then(|| self.named("fixed-allowed", &row.allowed));
        let source = row
            .source
            .as_ref()
            .map(|source| self.named("fixed-source", source));
        let both = [allowed, source];
        both.into_iter().flatten().collect::<Vec<_>>().join(" ")
    }

    /// The runs that are kept, the latest first; beside them lie so many files that cannot be read.
    pub fn past(&self, runs: &[PastRun], unread: usize) -> Paper {
        let lines: Vec<PaperLine> = runs
            .iter()
            .map(|run| PaperLine {
                text: run.when.clone(),
                value: Some(readout(run.length)),
                note: Some(self.past_note(run)),
                go: Some(Go::Run { id: run.id.clone() }),
                lang: None,
            })
            .collect();
        let mut parts = vec![self.or_none(None, lines)];
        if !runs.is_empty() || unread > 0 {
            let count = unread.to_string();
            // Their names stand behind the key below.
            let not_read = (unread > 0).then(|| plain(self.said(SaidWord::NotRead, &[&count])));
            let all = PaperLine {
                go: Some(Go::Keep {}),
                ..plain(self.word("after", "of_all"))
            };
            parts.push(part(None, not_read.into_iter().chain([all]).collect()));
        }
        self.paper(PaperWord::Past, parts)
    }

    fn past_note(&self, run: &PastRun) -> String {
        let outcome = run.outcome.map_or_else(
            || self.fixed(Fixed::Unfinished).to_owned(),
            |outcome| self.word("outcome", outcome.word()),
        );
        let damaged = (!run.is_sound).then(|| self.fixed(Fixed::Damaged).to_owned());
        let held = run.is_held.then(|| self.said(SaidWord::Held, &[]));
        let drill = run.is_drill.then(|| {
            let said = self.said(SaidWord::Drill, &[]);
            said.trim_end_matches('.').to_owned()
        });
        let all = [drill, Some(outcome), held, damaged];
        all.into_iter().flatten().collect::<Vec<_>>().join(". ")
    }

    /// What is looked at before a shift. `tongues` are asked for where no language was chosen.
    pub fn ready(&self, protocol: &Protocol, found: &Found, tongues: Option<&[Tongue]>) -> Paper {
        let kept = match &found.kept {
            Ok(ms) => beside(
                self.fixed(Fixed::ReadyKept),
                self.named("fixed-ms", &ms.to_string()),
            ),
            Err(why) => PaperLine {
                note: Some(why.clone()),
                ..plain(self.fixed(Fixed::ReadyNotKept).to_owned())
            },
        };
        let unknown = || self.fixed(Fixed::NotTold).to_owned();
        let free = found
            .free_mb
            .map_or_else(unknown, |mb| self.named("fixed-mb", &mb.to_string()));
        let pack = if found.pack.is_empty() {
            vec![plain(self.fixed(Fixed::ReadyPack).to_owned())]
        } else {
            let faults = found.pack.iter();
            faults.map(|fault| plain(self.fault(fault))).collect()
        };
        // First: without it nothing of a run is heard.
        let silent = found.silent.as_ref().map(|why| PaperLine {
            note: (!why.is_empty()).then(|| self.fault(why)),
            ..plain(self.word("banner", Banner::NoSound.word()))
        });
        let mut own: Vec<PaperLine> = silent.into_iter().collect();
        own.extend([kept, beside(self.fixed(Fixed::ReadyFree), free)]);
        own.extend(pack);
        own.push(PaperLine {
            note: Some(found.hash.clone()),
            ..beside(self.fixed(Fixed::ReadyProtocol), protocol.name.clone())
        });
        let test = PaperLine {
            note: Some(self.word("listening", "note")),
            go: Some(Go::Listening {}),
            ..plain(self.word("listening", "title"))
        };
        let mut heard = vec![self.listen(), test];
        for (word, db) in each(found.levels) {
            heard.push(beside(&self.word("entry", word), self.level(db)));
        }
        let look = LOOK.map(|line| plain(self.word("look", line))).to_vec();
        let kit = protocol.kit_list.iter().cloned().map(plain).collect();
        let asked = tongues.map(|tongues| {
            let heading = self.fixed(Fixed::LanguageAsk).to_owned();
            part(Some(heading), self.tongues(tongues))
        });
        let mut parts: Vec<Part> = asked.into_iter().collect();
        parts.extend([
            part(Some(self.fixed(Fixed::ReadyOwn).to_owned()), own),
            part(Some(self.fixed(Fixed::Levels).to_owned()), heard),
            part(Some(self.fixed(Fixed::ReadyLook).to_owned()), look),
            self.or_none(Some(self.fixed(Fixed::ReadyKit).to_owned()), kit),
        ]);
        self.paper(PaperWord::Ready, parts)
    }

    fn listen(&self) -> PaperLine {
        PaperLine {
            note: Some(self.fixed(Fixed::ListenNote).to_owned()),
            go: Some(Go::Listen {}),
            ..plain(self.fixed(Fixed::Listen).to_owned())
        }
    }

    pub(crate) fn level(&self, db: u8) -> String {
        if db == 0 {
            self.fixed(Fixed::AtFull).to_owned()
        } else {
            self.named(Fixed::BelowFull.key(), &db.to_string())
        }
    }

    /// How loud each is, a step up and down where there is one, all together, and the kinds of place.
    fn levels(&self, now: Levels) -> Part {
        let mut lines: Vec<PaperLine> = Preset::ALL
            .iter()
            .map(|preset| PaperLine {
                go: Some(Go::Choose {
                    setting: SettingWord::Levels,
                    value: written(preset.levels()),
                    on: preset.levels() == now,
                }),
                ..plain(self.word("preset", preset.word()))
            })
            .collect();
        let step = |fixed: Fixed, word: &str, db: Option<u8>, set: Levels| {
            let name = self.word("entry", word);
            let go = Go::Step {
                setting: SettingWord::Levels,
                value: written(set),
            };
            (set != now).then(|| PaperLine {
                value: db.map(|db| self.level(db)),
                go: Some(go),
                ..plain(self.named(fixed.key(), &name))
            })
        };
        for (nth, (word, db)) in each(now).into_iter().enumerate() {
            let set = |to: u8| with(now, |n, other| if n == nth { to } else { other });
            let up = set(db.saturating_sub(Levels::STEP_DB));
            let down = set(db.saturating_add(Levels::STEP_DB));
            lines.extend(step(Fixed::Louder, word, Some(db), up));
            lines.extend(step(Fixed::Softer, word, Some(db), down));
        }
        let by = i16::from(Levels::STEP_DB);
        let (up, down) = (now.together(by), now.together(by.saturating_neg()));
        lines.extend(step(Fixed::Louder, "all", None, up));
        lines.extend(step(Fixed::Softer, "all", None, down));
        lines.push(self.listen());
        part(Some(self.fixed(Fixed::Levels).to_owned()), lines)
    }

    /// A key for each language, named in itself; the one in force is on.
    fn tongues(&self, tongues: &[Tongue]) -> Vec<PaperLine> {
        let key = |tongue: &Tongue| PaperLine {
            note: (tongue.voice != tongue.lang).then(|| self.other_voice(&tongue.voice)),
            go: Some(Go::Choose {
                setting: SettingWord::Lang,
                value: tongue.lang.to_owned(),
                on: tongue.lang == self.lang(),
            }),
            lang: Some(tongue.lang.to_owned()),
            ..plain(Self::own_name(tongue.lang).to_owned())
        };
        tongues.iter().map(key).collect()
    }

    /// What can be set: the language, the colours, and which of `protocols` (id and name) is in force. `own`
    /// is the folder of the service's own files and what is wrong with files in it.
    pub fn settings(
        &self,
        tongues: &[Tongue],
        (theme, feel): (&str, &str),
        (protocol, protocols): (&str, &[(String, String)]),
        own: (&str, &[String]),
        levels: Levels,
    ) -> Paper {
        let choice = |text: String, setting, value: &str, now: &str| PaperLine {
            go: Some(Go::Choose {
                setting,
                value: value.to_owned(),
                on: value == now,
            }),
            ..plain(text)
        };
        let themes = THEMES
            .map(|one| choice(self.word("theme", one), SettingWord::Theme, one, theme))
            .to_vec();
        let felt = FEELS
            .map(|one| choice(self.word("feel", one), SettingWord::Feel, one, feel))
            .to_vec();
        let files = protocols
            .iter()
            .map(|(id, name)| choice(name.clone(), SettingWord::Protocol, id, protocol))
            .collect();
        let (folder, faults) = own;
        let mut lines = vec![plain(self.named(Fixed::OwnFolder.key(), folder))];
        lines.extend(faults.iter().map(|fault| plain(self.fault(fault))));
        self.paper(
            PaperWord::Settings,
            vec![
                part(
                    Some(self.fixed(Fixed::Language).to_owned()),
                    self.tongues(tongues),
                ),
                part(Some(self.fixed(Fixed::Theme).to_owned()), themes),
                self.levels(levels),
                part(Some(self.fixed(Fixed::Feel).to_owned()), felt),
                part(Some(self.fixed(Fixed::InForce).to_owned()), files),
                part(Some(self.fixed(Fixed::OwnFiles).to_owned()), lines),
            ],
        )
    }

    /// A mark in words: what it says beside its name, or the words of the key that makes it. `drugs` are the
    /// service's names by key.
    pub fn mark_text(&self, mark: &Mark, drugs: &[(String, String)]) -> String {
        let kind = self.word("mark", kind_of(mark));
        let said = match mark {
            Mark::Flow(FlowMark::ComprStart {
                by: By::Mechanical, ..
            }) => return self.word("act", Act::DeviceRunning.word()),
            Mark::Flow(FlowMark::Rearrest { by }) => Some(self.word("by", by.word())),
            Mark::Flow(FlowMark::ComprStop { reason } | FlowMark::Why { reason }) => {
                Some(self.word("reason", reason.word()))
            }
            Mark::Flow(FlowMark::StateSet { state }) => Some(self.word("set", state.word())),
            // The key that makes it names no device.
            Mark::Air(AirMark::Airway {
                act: AirwayAct::In,
                device: Some(device),
                ..
            }) => Some(self.word("airway", device.word())),
            Mark::Run(RunMark::End { outcome, .. }) => Some(self.word("outcome", outcome.word())),
            Mark::Run(RunMark::Patient { class, .. }) => Some(self.word("class", class.word())),
            Mark::Care(CareMark::Drug { drug, .. }) => {
                match drugs.iter().find(|(key, _)| key == drug) {
                    Some((_, name)) => return name.clone(),
                    None => Some(drug.clone()),
                }
            }
            Mark::Flow(FlowMark::ComprStart { .. })
            | Mark::Check(CheckMark::Shock { .. } | CheckMark::NoShock {})
            | Mark::Run(RunMark::Ack { .. }) => None,
            Mark::Flow(_)
            | Mark::Run(_)
            | Mark::Care(_)
            | Mark::Air(_)
            | Mark::Check(_)
            | Mark::Device(_) => {
                let key = Act::ALL
                    .iter()
                    .find(|act| act.way().is_none() && act.marks().first() == Some(mark));
                return key.map_or(kind, |act| self.word("act", act.word()));
            }
        };
        said.map_or_else(|| kind.clone(), |said| format!("{kind}: {said}"))
    }

    fn cautions(&self) -> Part {
        part(
            None,
            CAUTIONS
                .map(|caution| plain(self.fixed(caution).to_owned()))
                .to_vec(),
        )
    }

    fn or_none(&self, heading: Option<String>, mut lines: Vec<PaperLine>) -> Part {
        if lines.is_empty() {
            lines.push(plain(self.fixed(Fixed::NoneKept).to_owned()));
        }
        part(heading, lines)
    }

    fn paper(&self, page: PaperWord, parts: Vec<Part>) -> Paper {
        Paper {
            page,
            title: self.fixed(title(page)).to_owned(),
            parts,
        }
    }
}

/// A page's title.
pub(crate) const fn title(page: PaperWord) -> Fixed {
    match page {
        PaperWord::First => Fixed::TitleFirst,
        PaperWord::About => Fixed::TitleAbout,
        PaperWord::Protocol => Fixed::TitleProtocol,
        PaperWord::Past => Fixed::TitlePast,
        PaperWord::Ready => Fixed::TitleReady,
        PaperWord::Settings => Fixed::TitleSettings,
    }
}

/// What every user is told.
pub(crate) const CAUTIONS: [Fixed; 4] = [
    Fixed::CautionTrained,
    Fixed::CautionProtocol,
    Fixed::CautionDevice,
    Fixed::CautionSenses,
];

fn part(heading: Option<String>, lines: Vec<PaperLine>) -> Part {
    Part { heading, lines }
}

fn plain(text: String) -> PaperLine {
    PaperLine {
        text,
        ..PaperLine::default()
    }
}

fn beside(text: &str, value: String) -> PaperLine {
    PaperLine {
        value: Some(value),
        ..plain(text.to_owned())
    }
}
