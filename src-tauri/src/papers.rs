//! The pages before and after a run: what `conduct` finds, handed to `words`.

use std::{
    path::PathBuf,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use conduct::{
    Clock, FileStore, RunClock, Store, past, ready,
    settings::{Settings, Theme},
};
use cycle::{Ms, Protocol, Setup, mark::PatientClass};
use record::Digest;
use words::{Fixed, Found, Labels, Paper, PaperWord, PastRun, SettingWord, Told, Words};

use crate::{
    error::{Code, CommandError},
    lifecycle::refuse,
};

/// So many runs are listed.
const MOST_RUNS: usize = 50;

/// What the pages are made of.
pub(crate) struct Drawer {
    words: Arc<Words>,
    runs: PathBuf,
    set_at: PathBuf,
    pack: Vec<String>,
    now: Mutex<Now>,
}

struct Now {
    settings: Settings,
    setup: Setup,
}

impl Drawer {
    pub(crate) fn new(
        words: Arc<Words>,
        (runs, set_at): (PathBuf, PathBuf),
        pack: Vec<String>,
        (settings, setup): (Settings, Setup),
    ) -> Self {
        Self {
            words,
            runs,
            set_at,
            pack,
            now: Mutex::new(Now { settings, setup }),
        }
    }

    fn now(&self) -> MutexGuard<'_, Now> {
        self.now.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub(crate) fn labels(&self) -> Labels {
        let now = self.now();
        let settings = &now.settings;
        self.words.labels(
            &now.setup.protocol.name,
            settings.theme.word(),
            !settings.first_seen,
        )
    }

    /// The setup with this class in force.
    pub(crate) fn turn(&self, class: PatientClass) -> Setup {
        let mut now = self.now();
        now.setup = conduct::of_class(now.setup.clone(), class);
        now.setup.clone()
    }

    /// Sets something and keeps it; gives the setup if that is another one now.
    pub(crate) fn choose(
        &self,
        what: SettingWord,
        value: &str,
    ) -> Result<Option<Setup>, CommandError> {
        let not_allowed = || CommandError {
            code: Code::Setting,
            message: format!("{}: {value:?}", self.words.fixed(Fixed::ErrorSetting)),
        };
        let mut now = self.now();
        let mut turned = None;
        match what {
            SettingWord::Theme => {
                now.settings.theme = Theme::of(value).ok_or_else(not_allowed)?;
            }
            SettingWord::First => now.settings.first_seen = true,
            SettingWord::Protocol => {
                let setup = conduct::of_example(value, now.setup.clips.clone())
                    .and_then(Result::ok)
                    .ok_or_else(not_allowed)?;
                value.clone_into(&mut now.settings.protocol);
                now.setup = setup.clone();
                turned = Some(setup);
            }
        }
        now.settings
            .save(&self.set_at)
            .map_err(|e| refuse(Code::Setting, self.words.fixed(Fixed::ErrorSetting), &e))?;
        Ok(turned)
    }

    pub(crate) fn paper(&self, page: PaperWord, id: &str) -> Result<Paper, CommandError> {
        let words = &self.words;
        let unable = |e: &dyn std::error::Error| {
            refuse(Code::Folder, self.words.fixed(Fixed::ErrorFolder), e)
        };
        let store = FileStore::at(&self.runs);
        Ok(match page {
            PaperWord::First => words.first(),
            PaperWord::About => words.about(env!("CARGO_PKG_VERSION")),
            PaperWord::Protocol => {
                let protocol = self.now().setup.protocol.clone();
                words.protocol(&protocol, &hash(&protocol), &protocol.rows())
            }
            PaperWord::Past => {
                let runs = past::runs(&store, MOST_RUNS).map_err(|e| unable(&e))?;
                words.past(&runs.iter().map(past_run).collect::<Vec<_>>())
            }
            PaperWord::Debrief => {
                let id = if id.is_empty() {
                    latest(&store)
                } else {
                    id.to_owned()
                };
                let told = past::told(&store, &id).map_err(|e| unable(&e))?;
                let pauses = told
                    .pauses
                    .iter()
                    .map(|p| (p.from, p.to.since(p.from), p.reason));
                words.debrief(
                    &past_run(&told.past),
                    &Told {
                        pauses: pauses.collect(),
                        marks: told.marks,
                        drugs: told.drugs,
                    },
                )
            }
            PaperWord::Ready => {
                let protocol = self.now().setup.protocol.clone();
                let wall = RunClock::begin(Ms::ZERO).stamp(Ms::ZERO, 0).wall;
                let runs = past::runs(&store, MOST_RUNS).unwrap_or_default();
                let found = Found {
                    kept: ready::kept_within(&self.runs).map_err(|e| e.to_string()),
                    free_mb: ready::free_mb(&self.runs),
                    pack: self.pack.clone(),
                    hash: hash(&protocol),
                    drill_days: past::days_since_drill(&runs, wall),
                };
                words.ready(&protocol, &found)
            }
            PaperWord::Settings => {
                let now = self.now();
                let examples = Protocol::EXAMPLES.iter().filter_map(|(id, text)| {
                    let name = Protocol::parse(text.as_bytes()).ok()?.name;
                    Some(((*id).to_owned(), name))
                });
                let theme = now.settings.theme.word();
                words.settings(theme, &now.setup.protocol.id, &examples.collect::<Vec<_>>())
            }
        })
    }
}

/// The run last written to.
fn latest(store: &FileStore) -> String {
    let ids = store.list().unwrap_or_default();
    ids.into_iter().next().unwrap_or_default()
}

fn past_run(past: &past::Past) -> PastRun {
    PastRun {
        id: past.record_id.clone(),
        when: conduct::clock::shown(past.began),
        length: past.length,
        outcome: past.outcome,
        is_sound: past.is_sound,
    }
}

fn hash(protocol: &Protocol) -> String {
    Digest::of(protocol.text.as_bytes()).to_string()
}
