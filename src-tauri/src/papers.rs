//! The pages before and after a run: what `conduct` finds, handed to `words`.

use std::{
    path::{Path, PathBuf},
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use ::drafting::Drafting;
use audio::Pack;
use conduct::{
    Ask, FileStore, Own, Voice,
    keeping::Keeping,
    past, ready,
    settings::{Feel, Settings, Theme, is_opaque},
};
use cycle::{Protocol, Setup, mark::PatientClass};
use record::{Digest, RunKind};
use words::{DrillWord, Fixed, Found, Labels, Paper, PaperWord, PastRun, SettingWord, Words};

use crate::{
    error::{Code, CommandError},
    lifecycle::{digest, refuse},
    tongues::Tongues,
};

/// So many runs are listed.
const MOST_RUNS: usize = 50;

/// What the pages are made of.
pub(crate) struct Drawer {
    tongues: Arc<Tongues>,
    runs: PathBuf,
    set_at: PathBuf,
    /// The folder of the service's own protocol files.
    own_at: PathBuf,
    /// The folder of its own recordings.
    voices_at: PathBuf,
    /// The protocol editor.
    drafting: Drafting,
    now: Mutex<Now>,
    /// Held while a setting is kept: one after the other.
    keeping: Mutex<()>,
}

/// What is in force.
#[derive(Clone)]
pub(crate) struct Now {
    pub(crate) settings: Settings,
    pub(crate) setup: Setup,
    /// The language of the screen: what was chosen, or the system's.
    pub(crate) lang: &'static str,
    pub(crate) pack: Pack,
    /// Why the service's own recordings do not speak.
    pub(crate) remarks: Vec<String>,
}

impl Now {
    /// Turns to another language, and to its voice.
    fn speak(&mut self, lang: &'static str, own: &Path) {
        let (pack, faults) = Pack::with_own(own, lang);
        self.lang = lang;
        self.pack = pack;
        self.remarks = faults.iter().map(ToString::to_string).collect();
        self.setup.clips = self.pack.lengths().clone();
    }

    /// What the conductor is told then.
    fn voice(&self) -> Ask {
        Ask::Voice(Box::new(Voice {
            lang: self.lang.to_owned(),
            pack_id: self.pack.id().to_owned(),
            pack_sha256: digest(&self.pack),
            setup: self.setup.clone(),
            faults: self.faults(),
            remarks: self.remarks.clone(),
        }))
    }

    fn faults(&self) -> Vec<String> {
        let faults = self.pack.faults().iter();
        faults.map(ToString::to_string).collect()
    }
}

impl Drawer {
    pub(crate) fn new(tongues: Arc<Tongues>, (runs, set_at): (PathBuf, PathBuf), now: Now) -> Self {
        Self {
            tongues,
            drafting: Drafting::at(&set_at, &own_folder(&runs)),
            own_at: own_folder(&runs),
            voices_at: voices_folder(&runs),
            runs,
            set_at,
            now: Mutex::new(now),
            keeping: Mutex::new(()),
        }
    }

    fn now(&self) -> MutexGuard<'_, Now> {
        self.now.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The words of the language in force.
    pub(crate) fn words(&self) -> Arc<Words> {
        let lang = self.now().lang;
        self.tongues.of(lang)
    }

    /// Turns to the system's language where none was chosen; what the conductor is to be told then.
    pub(crate) fn follow_system(&self, system: &str) -> Option<Ask> {
        let keeping = self.keeping.lock().unwrap_or_else(PoisonError::into_inner);
        let mut next = self.now().clone();
        let lang = Words::nearest(system);
        if !next.settings.lang.is_empty() || lang == next.lang {
            return None;
        }
        next.speak(lang, &self.voices_at);
        lang.clone_into(&mut next.settings.followed);
        // Kept for a start in a run alone: where it cannot be, the next page tells it again.
        drop(next.settings.save(&self.set_at));
        let ask = next.voice();
        *self.now() = next;
        drop(keeping);
        Some(ask)
    }

    /// Why the language stays as it is.
    pub(crate) fn not_in_a_run(&self) -> CommandError {
        CommandError {
            code: Code::Setting,
            message: self.words().fixed(Fixed::ErrorInRun).to_owned(),
        }
    }

    /// Why no listening test begins: another sound stands for a clip that is faulty.
    pub(crate) fn whole_voice(&self) -> Result<(), CommandError> {
        if self.now().faults().is_empty() {
            return Ok(());
        }
        Err(CommandError {
            code: Code::Setting,
            message: self.words().listening_labels().faulty,
        })
    }

    pub(crate) fn labels(&self) -> Labels {
        let words = self.words();
        let now = self.now();
        let settings = &now.settings;
        words.labels(settings.theme.word(), !settings.first_seen)
    }

    /// The codes of unit and crew, for drills.
    pub(crate) fn codes(&self) -> (String, String) {
        let now = self.now();
        let settings = &now.settings;
        (settings.unit_code.clone(), settings.crew_code.clone())
    }

    /// Keeps them; what cannot be kept is not in force.
    pub(crate) fn set_codes(&self, unit: &str, crew: &str) -> Result<(), CommandError> {
        let words = self.words();
        for (place, code) in [(DrillWord::Unit, unit), (DrillWord::CrewCode, crew)] {
            if !is_opaque(code) {
                let place = words.drill(place, &[]);
                return Err(CommandError {
                    code: Code::Setting,
                    message: words.drill(DrillWord::CodeWrong, &[&place, code]),
                });
            }
        }
        self.set(|settings| {
            unit.clone_into(&mut settings.unit_code);
            crew.clone_into(&mut settings.crew_code);
        })
    }

    /// When a new device came, ms from 1970.
    pub(crate) fn device(&self) -> Option<i64> {
        self.now().settings.device_since
    }

    /// Keeps when a new device came; `None` takes it back.
    pub(crate) fn set_device(&self, since: Option<i64>) -> Result<(), CommandError> {
        self.set(|settings| settings.device_since = since)
    }

    /// Changes settings that nothing but the file and the pages know.
    fn set(&self, change: impl FnOnce(&mut Settings)) -> Result<(), CommandError> {
        let words = self.words();
        let keeping = self.keeping.lock().unwrap_or_else(PoisonError::into_inner);
        let mut next = self.now().clone();
        change(&mut next.settings);
        if next.settings != self.now().settings {
            next.settings
                .save(&self.set_at)
                .map_err(|e| refuse(Code::Setting, words.fixed(Fixed::ErrorSetting), &e))?;
            *self.now() = next;
        }
        drop(keeping);
        Ok(())
    }

    pub(crate) const fn drafting(&self) -> &Drafting {
        &self.drafting
    }

    /// The voice in force.
    pub(crate) fn pack(&self) -> Pack {
        self.now().pack.clone()
    }

    /// The colours of the screen.
    pub(crate) fn theme(&self) -> after::Theme {
        match self.now().settings.theme {
            // In the light of the moment only the live screen is drawn.
            Theme::Day | Theme::Auto => after::Theme::Day,
            Theme::Glare => after::Theme::Glare,
            Theme::Night => after::Theme::Night,
        }
    }

    /// The protocol of a class among those in force.
    fn protocol(&self, class: Option<PatientClass>) -> Protocol {
        let setup = self.now().setup.clone();
        match class {
            Some(class) => conduct::of_class(setup, class).protocol,
            None => setup.protocol,
        }
    }

    /// Keeps a setting, then puts it in place; what cannot be kept is not in force. `tell` is given what the
    /// conductor has to know of it.
    pub(crate) fn choose(
        &self,
        what: SettingWord,
        value: &str,
        tell: impl FnOnce(Ask),
    ) -> Result<(), CommandError> {
        let words = self.words();
        let not_allowed = || CommandError {
            code: Code::Setting,
            message: format!("{}: {value:?}", words.fixed(Fixed::ErrorSetting)),
        };
        let keeping = self.keeping.lock().unwrap_or_else(PoisonError::into_inner);
        // A copy: nothing waits for the disk to know what is in force.
        let mut next = self.now().clone();
        let mut told = None;
        match what {
            SettingWord::Theme => {
                next.settings.theme = Theme::of(value).ok_or_else(not_allowed)?;
                told = Some(Ask::Theme(next.settings.theme));
            }
            SettingWord::Feel => {
                next.settings.feel = Feel::of(value).ok_or_else(not_allowed)?;
                told = Some(Ask::Feel(next.settings.feel));
            }
            SettingWord::First => next.settings.first_seen = true,
            SettingWord::Protocol => {
                let clips = next.setup.clips.clone();
                let setup = Own::read(&self.own_at)
                    .setup(value, clips.clone())
                    .or_else(|| conduct::of_example(value, clips).and_then(Result::ok))
                    .ok_or_else(not_allowed)?;
                value.clone_into(&mut next.settings.protocol);
                next.setup = setup.clone();
                told = Some(Ask::Setup(Box::new(setup)));
            }
            SettingWord::Levels => {
                let levels = words::levels_of(value).ok_or_else(not_allowed)?;
                next.settings.levels = levels;
                told = Some(Ask::Levels(levels));
            }
            SettingWord::Lang => {
                let lang = Words::languages().find(|lang| *lang == value);
                let lang = lang.ok_or_else(not_allowed)?;
                lang.clone_into(&mut next.settings.lang);
                next.speak(lang, &self.voices_at);
                told = Some(next.voice());
            }
        }
        next.settings
            .save(&self.set_at)
            .map_err(|e| refuse(Code::Setting, words.fixed(Fixed::ErrorSetting), &e))?;
        *self.now() = next;
        if let Some(ask) = told {
            tell(ask);
        }
        drop(keeping);
        Ok(())
    }

    /// A page; the numbers are those of `class`, if one was chosen for the next patient. `silent`: why nothing is heard.
    pub(crate) fn paper(
        &self,
        page: PaperWord,
        class: Option<PatientClass>,
        silent: Option<String>,
    ) -> Result<Paper, CommandError> {
        let words = self.words();
        let unable =
            |e: &dyn std::error::Error| refuse(Code::Folder, words.fixed(Fixed::ErrorFolder), e);
        let store = FileStore::at(&self.runs);
        Ok(match page {
            PaperWord::First => words.first(),
            PaperWord::About => words.about(env!("CARGO_PKG_VERSION")),
            PaperWord::Protocol => {
                let protocol = self.protocol(class);
                words.protocol(&protocol, &hash(&protocol), &protocol.rows())
            }
            PaperWord::Past => {
                let kept = past::kept(&store, MOST_RUNS).map_err(|e| unable(&e))?;
                let keeping = Keeping::at(&self.runs);
                let runs = kept.runs.iter().map(|run| past_run(run, &keeping));
                words.past(&runs.collect::<Vec<_>>(), kept.unread.len())
            }
            PaperWord::Ready => {
                let protocol = self.protocol(class);
                // A copy: the lock is not to be asked for while it is held.
                let now = self.now().clone();
                let found = Found {
                    kept: ready::kept_within(&self.runs).map_err(|e| e.to_string()),
                    free_mb: ready::free_mb(&self.runs),
                    silent,
                    pack: now.faults(),
                    levels: now.settings.levels,
                    hash: hash(&protocol),
                };
                let tongues = Tongues::choices(&self.voices_at);
                let is_asked = now.settings.lang.is_empty();
                words.ready(&protocol, &found, is_asked.then_some(&tongues))
            }
            PaperWord::Settings => {
                let examples = Protocol::EXAMPLES.iter().filter_map(|(id, text)| {
                    let name = Protocol::parse(text.as_bytes()).ok()?.name;
                    Some(((*id).to_owned(), name))
                });
                // Read anew: a file may have come since the app began; and before what is in force is held.
                let own = Own::read(&self.own_at);
                let ours = own.protocols.iter().map(|p| (p.id.clone(), p.name.clone()));
                let faults: Vec<String> = own.faults.iter().map(ToString::to_string).collect();
                let now = self.now();
                let protocols: Vec<_> = ours.chain(examples).collect();
                let mut paper = words.settings(
                    &Tongues::choices(&self.voices_at),
                    (now.settings.theme.word(), now.settings.feel.word()),
                    (&now.setup.protocol.id, &protocols),
                    (&self.own_at.display().to_string(), &faults),
                    now.settings.levels,
                );
                // A form of ninety fields is no work for a thumb.
                if cfg!(desktop) {
                    paper.parts.push(words.draft_door());
                }
                paper
            }
        })
    }
}

/// Beside the folder of the runs.
pub(crate) fn voices_folder(runs: &Path) -> PathBuf {
    runs.with_file_name("voices")
}

/// Beside the folder of the runs.
pub(crate) fn own_folder(runs: &Path) -> PathBuf {
    runs.with_file_name("protocols")
}

fn past_run(past: &past::Past, keeping: &Keeping) -> PastRun {
    PastRun {
        is_held: keeping.is_held(&past.record_id).unwrap_or(false),
        id: past.record_id.clone(),
        when: conduct::clock::shown(past.began),
        length: past.length,
        outcome: past.outcome,
        is_sound: past.is_sound,
        is_drill: past.kind == RunKind::Drill,
    }
}

fn hash(protocol: &Protocol) -> String {
    Digest::of(protocol.text.as_bytes()).to_string()
}

#[cfg(test)]
mod tests;
