//! The pages before and after a run: what `conduct` finds, handed to `words`.

use std::{
    path::{Path, PathBuf},
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use conduct::{
    FileStore, Own, past, ready,
    settings::{Settings, Theme},
};
use cycle::{Levels, Protocol, Setup, mark::PatientClass};
use record::Digest;
use words::{Fixed, Found, Labels, Paper, PaperWord, PastRun, SettingWord, Words};

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
    /// The folder of the service's own protocol files.
    own_at: PathBuf,
    pack: Vec<String>,
    now: Mutex<Now>,
    /// Held while a setting is kept: one after the other.
    keeping: Mutex<()>,
}

#[derive(Clone)]
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
            own_at: own_folder(&runs),
            runs,
            set_at,
            pack,
            now: Mutex::new(Now { settings, setup }),
            keeping: Mutex::new(()),
        }
    }

    fn now(&self) -> MutexGuard<'_, Now> {
        self.now.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub(crate) fn labels(&self) -> Labels {
        let now = self.now();
        let settings = &now.settings;
        self.words
            .labels(settings.theme.word(), !settings.first_seen)
    }

    /// The colours of the screen.
    pub(crate) fn theme(&self) -> after::Theme {
        match self.now().settings.theme {
            Theme::Day => after::Theme::Day,
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

    /// Keeps a setting, then puts it in place; what cannot be kept is not in force. `turn` is given what the
    /// conductor must know of it.
    pub(crate) fn choose(
        &self,
        what: SettingWord,
        value: &str,
        turn: impl FnOnce(Turned),
    ) -> Result<(), CommandError> {
        let not_allowed = || CommandError {
            code: Code::Setting,
            message: format!("{}: {value:?}", self.words.fixed(Fixed::ErrorSetting)),
        };
        let keeping = self.keeping.lock().unwrap_or_else(PoisonError::into_inner);
        // A copy: nothing waits for the disk to know what is in force.
        let mut next = self.now().clone();
        let mut turned = None;
        match what {
            SettingWord::Theme => {
                next.settings.theme = Theme::of(value).ok_or_else(not_allowed)?;
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
                turned = Some(Turned::Setup(Box::new(setup)));
            }
            SettingWord::Levels => {
                let levels = words::levels_of(value).ok_or_else(not_allowed)?;
                next.settings.levels = levels;
                turned = Some(Turned::Levels(levels));
            }
        }
        next.settings
            .save(&self.set_at)
            .map_err(|e| refuse(Code::Setting, self.words.fixed(Fixed::ErrorSetting), &e))?;
        *self.now() = next;
        if let Some(turned) = turned {
            turn(turned);
        }
        drop(keeping);
        Ok(())
    }

    /// A page; the numbers are those of `class`, if one was chosen for the next patient.
    pub(crate) fn paper(
        &self,
        page: PaperWord,
        class: Option<PatientClass>,
    ) -> Result<Paper, CommandError> {
        let words = &self.words;
        let unable = |e: &dyn std::error::Error| {
            refuse(Code::Folder, self.words.fixed(Fixed::ErrorFolder), e)
        };
        let store = FileStore::at(&self.runs);
        Ok(match page {
            PaperWord::First => words.first(),
            PaperWord::About => words.about(env!("CARGO_PKG_VERSION")),
            PaperWord::Protocol => {
                let protocol = self.protocol(class);
                words.protocol(&protocol, &hash(&protocol), &protocol.rows())
            }
            PaperWord::Past => {
                let runs = past::runs(&store, MOST_RUNS).map_err(|e| unable(&e))?;
                words.past(&runs.iter().map(past_run).collect::<Vec<_>>())
            }
            PaperWord::Ready => {
                let protocol = self.protocol(class);
                let found = Found {
                    kept: ready::kept_within(&self.runs).map_err(|e| e.to_string()),
                    free_mb: ready::free_mb(&self.runs),
                    pack: self.pack.clone(),
                    levels: self.now().settings.levels,
                    hash: hash(&protocol),
                };
                words.ready(&protocol, &found)
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
                words.settings(
                    now.settings.theme.word(),
                    &now.setup.protocol.id,
                    &ours.chain(examples).collect::<Vec<_>>(),
                    (&self.own_at.display().to_string(), &faults),
                    now.settings.levels,
                )
            }
        })
    }
}

/// A setting that the conductor goes by.
pub(crate) enum Turned {
    /// The numbers of the next run.
    Setup(Box<Setup>),
    /// How loud the next run is.
    Levels(Levels),
}

/// Beside the folder of the runs.
pub(crate) fn own_folder(runs: &Path) -> PathBuf {
    runs.with_file_name("protocols")
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

#[cfg(test)]
mod tests {
    use std::{
        cell::RefCell,
        fs,
        path::Path,
        sync::atomic::{AtomicU32, Ordering},
    };

    use cycle::{ClipLengths, Prompt};

    use super::*;

    struct Folder(PathBuf);

    impl Folder {
        fn new() -> Self {
            static NEXT: AtomicU32 = AtomicU32::new(0);
            let n = NEXT.fetch_add(1, Ordering::Relaxed);
            let name = format!("carrybeat-papers-{}-{n}", std::process::id());
            let path = std::env::temp_dir().join(name);
            fs::create_dir_all(&path).unwrap();
            Self(path)
        }
    }

    impl Drop for Folder {
        fn drop(&mut self) {
            drop(fs::remove_dir_all(&self.0));
        }
    }

    fn drawer(runs: &Path, set_at: PathBuf) -> Drawer {
        let words = Arc::new(Words::load("en-US").unwrap());
        let clips = ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 1000)).collect()).unwrap();
        let setup = conduct::of_example("example-adult", clips)
            .unwrap()
            .unwrap();
        Drawer::new(
            words,
            (runs.to_owned(), set_at),
            Vec::new(),
            (Settings::default(), setup),
        )
    }

    fn told(turned: &Turned) -> String {
        match turned {
            Turned::Setup(setup) => setup.protocol.id.clone(),
            Turned::Levels(set) => {
                format!("{} {} {}", set.beat_db, set.breath_db, set.voice_db)
            }
        }
    }

    fn texts(paper: &Paper) -> Vec<String> {
        let lines = paper.parts.iter().flat_map(|part| &part.lines);
        lines.map(|line| line.text.clone()).collect()
    }

    fn protocol(drawer: &Drawer, class: Option<PatientClass>) -> Vec<String> {
        texts(&drawer.paper(PaperWord::Protocol, class).unwrap())
    }

    #[test]
    fn what_cannot_be_kept_is_not_in_force() {
        let folder = Folder::new();
        // A file where a folder should be: nothing beside it can be written.
        let file = folder.0.join("file");
        fs::write(&file, "").unwrap();
        let drawer = drawer(&folder.0, file.join("settings.json"));
        let (before, labels) = (protocol(&drawer, None), drawer.labels());
        let set_up = RefCell::new(Vec::new());
        for (what, value) in [
            (SettingWord::Theme, "night"),
            (SettingWord::First, ""),
            (SettingWord::Protocol, "example-adult-b"),
            (SettingWord::Levels, "3 6 0"),
        ] {
            let refused = drawer.choose(what, value, |turned| {
                set_up.borrow_mut().push(told(&turned));
            });
            let message = refused.unwrap_err().message;
            assert!(message.contains("settings.json"), "{message}");
        }
        assert!(set_up.borrow().is_empty());
        assert_eq!(drawer.labels(), labels);
        assert_eq!(protocol(&drawer, None), before);
    }

    #[test]
    fn what_is_kept_is_in_force_and_a_wrong_value_is_not() {
        let folder = Folder::new();
        let set_at = folder.0.join("settings.json");
        let drawer = drawer(&folder.0, set_at.clone());
        let set_up = RefCell::new(Vec::new());
        let choose = |what, value| {
            drawer.choose(what, value, |turned| {
                set_up.borrow_mut().push(told(&turned));
            })
        };
        choose(SettingWord::Theme, "night").unwrap();
        choose(SettingWord::First, "").unwrap();
        choose(SettingWord::Protocol, "example-adult-b").unwrap();
        assert!(choose(SettingWord::Theme, "red").is_err());
        assert!(choose(SettingWord::Protocol, "another").is_err());
        choose(SettingWord::Levels, "3 6 0").unwrap();
        for wrong in ["", "3 6", "3 6 0 0", "3 6 25", "-3 6 0", "a b c"] {
            assert!(choose(SettingWord::Levels, wrong).is_err(), "{wrong:?}");
        }
        assert_eq!(*set_up.borrow(), ["example-adult-b", "3 6 0"]);
        let labels = drawer.labels();
        assert_eq!((labels.theme.as_str(), labels.first), ("night", false));
        let kept = Settings::load(&set_at).unwrap();
        assert_eq!(kept.protocol, "example-adult-b");
        assert_eq!((kept.theme, kept.first_seen), (Theme::Night, true));
        let levels = Levels {
            beat_db: 3,
            breath_db: 6,
            voice_db: 0,
        };
        assert_eq!(kept.levels, levels);
    }

    #[test]
    fn a_services_own_file_can_be_put_in_force_and_a_faulty_one_is_told() {
        let folder = Folder::new();
        let runs = folder.0.join("runs");
        let own = own_folder(&runs);
        fs::create_dir_all(&own).unwrap();
        let text = Protocol::example("example-adult").unwrap();
        let ours = text.replace("example-adult", "our-adult");
        fs::write(own.join("ours.toml"), ours).unwrap();
        fs::write(own.join("bad.toml"), "id = 1").unwrap();
        let set_at = folder.0.join("settings.json");
        let drawer = drawer(&runs, set_at.clone());
        let page = texts(&drawer.paper(PaperWord::Settings, None).unwrap());
        let place = own.display().to_string();
        assert!(page.iter().any(|line| line.contains(&place)), "{page:?}");
        assert!(
            page.iter().any(|line| line.starts_with("bad.toml: ")),
            "{page:?}"
        );
        let set_up = RefCell::new(Vec::new());
        drawer
            .choose(SettingWord::Protocol, "our-adult", |turned| {
                set_up.borrow_mut().push(told(&turned));
            })
            .unwrap();
        assert_eq!(*set_up.borrow(), ["our-adult"]);
        assert_eq!(Settings::load(&set_at).unwrap().protocol, "our-adult");
    }

    #[test]
    fn a_class_chosen_for_one_patient_is_shown_and_not_kept() {
        let folder = Folder::new();
        let drawer = drawer(&folder.0, folder.0.join("settings.json"));
        let adult = protocol(&drawer, None);
        assert_ne!(protocol(&drawer, Some(PatientClass::Infant)), adult);
        assert_eq!(protocol(&drawer, None), adult);
    }
}
