//! The pages before and after a run: what `conduct` finds, handed to `words`.

use std::{
    path::{Path, PathBuf},
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use audio::Pack;
use conduct::{
    Ask, FileStore, Own, Voice,
    keeping::Keeping,
    past, ready,
    settings::{Feel, Settings, Theme},
};
use cycle::{Protocol, Setup, mark::PatientClass};
use record::Digest;
use words::{Fixed, Found, Labels, Paper, PaperWord, PastRun, SettingWord, Words};

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
                told = Some(Ask::Brightness(brightness(next.settings.theme)));
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

    /// A page; the numbers are those of `class`, if one was chosen for the next patient.
    pub(crate) fn paper(
        &self,
        page: PaperWord,
        class: Option<PatientClass>,
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
                let runs = past::runs(&store, MOST_RUNS).map_err(|e| unable(&e))?;
                let keeping = Keeping::at(&self.runs);
                let runs = runs.iter().map(|run| past_run(run, &keeping));
                words.past(&runs.collect::<Vec<_>>())
            }
            PaperWord::Ready => {
                let protocol = self.protocol(class);
                // A copy: the lock is not to be asked for while it is held.
                let now = self.now().clone();
                let found = Found {
                    kept: ready::kept_within(&self.runs).map_err(|e| e.to_string()),
                    free_mb: ready::free_mb(&self.runs),
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
                words.settings(
                    &Tongues::choices(&self.voices_at),
                    (now.settings.theme.word(), now.settings.feel.word()),
                    (&now.setup.protocol.id, &protocols),
                    (&self.own_at.display().to_string(), &faults),
                    now.settings.levels,
                )
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

/// How bright the screen is in a run, per cent. Source: common practice, no source; sun wants all there is, and at
/// night the eyes of those who drive and lift are to stay adapted.
pub(crate) const fn brightness(theme: Theme) -> Option<u8> {
    match theme {
        Theme::Day => None,
        Theme::Glare => Some(100),
        Theme::Night => Some(12),
    }
}

fn past_run(past: &past::Past, keeping: &Keeping) -> PastRun {
    PastRun {
        is_held: keeping.is_held(&past.record_id).unwrap_or(false),
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

    use words::{Go, PaperLine};

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
        let pack = Pack::built_in();
        let clips = pack.lengths().clone();
        let now = Now {
            settings: Settings::default(),
            setup: conduct::of_example("example-adult", clips)
                .unwrap()
                .unwrap(),
            lang: "en-US",
            pack,
            remarks: Vec::new(),
        };
        let tongues = Arc::new(Tongues::load().unwrap());
        Drawer::new(tongues, (runs.to_owned(), set_at), now)
    }

    /// What the conductor is told: the id of the protocol, how loud, how bright, when the beat is felt.
    fn told(ask: Ask) -> String {
        if let Ask::Setup(setup) = ask {
            return setup.protocol.id;
        }
        if let Ask::Brightness(pct) = ask {
            return format!("{pct:?} %");
        }
        if let Ask::Feel(feel) = ask {
            return feel.word().to_owned();
        }
        let Ask::Levels(set) = ask else {
            panic!("{ask:?}")
        };
        format!("{} {} {}", set.beat_db, set.breath_db, set.voice_db)
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
            (SettingWord::Feel, "always"),
            (SettingWord::First, ""),
            (SettingWord::Protocol, "example-adult-b"),
            (SettingWord::Levels, "3 6 0"),
            (SettingWord::Lang, "es-419"),
        ] {
            let refused = drawer.choose(what, value, |ask| set_up.borrow_mut().push(ask));
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
        let choose =
            |what, value| drawer.choose(what, value, |ask| set_up.borrow_mut().push(told(ask)));
        choose(SettingWord::Theme, "night").unwrap();
        choose(SettingWord::First, "").unwrap();
        choose(SettingWord::Protocol, "example-adult-b").unwrap();
        assert!(choose(SettingWord::Theme, "red").is_err());
        choose(SettingWord::Feel, "always").unwrap();
        assert!(choose(SettingWord::Feel, "never").is_err());
        assert!(choose(SettingWord::Protocol, "another").is_err());
        choose(SettingWord::Levels, "3 6 0").unwrap();
        for wrong in ["", "3 6", "3 6 0 0", "3 6 25", "-3 6 0", "a b c"] {
            assert!(choose(SettingWord::Levels, wrong).is_err(), "{wrong:?}");
        }
        let all = ["Some(12) %", "example-adult-b", "always", "3 6 0"];
        assert_eq!(*set_up.borrow(), all);
        let labels = drawer.labels();
        assert_eq!((labels.theme.as_str(), labels.first), ("night", false));
        let kept = Settings::load(&set_at).unwrap();
        assert_eq!(kept.protocol, "example-adult-b");
        assert_eq!((kept.theme, kept.first_seen), (Theme::Night, true));
        let levels = cycle::Levels {
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
            .choose(SettingWord::Protocol, "our-adult", |ask| {
                set_up.borrow_mut().push(told(ask));
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

    fn voice_of(drawer: &Drawer, lang: &str) -> Voice {
        let told = RefCell::new(None);
        drawer
            .choose(SettingWord::Lang, lang, |ask| {
                *told.borrow_mut() = Some(ask);
            })
            .unwrap();
        let Some(Ask::Voice(voice)) = told.into_inner() else {
            panic!("no voice was told")
        };
        *voice
    }

    #[test]
    fn a_language_turns_pages_and_voice_and_is_kept() {
        let folder = Folder::new();
        let set_at = folder.0.join("settings.json");
        let drawer = drawer(&folder.0, set_at.clone());
        assert_eq!(drawer.labels().close, "Close");
        let voice = voice_of(&drawer, "es-419");
        let own = Pack::speaking("es-419");
        assert_eq!(
            (voice.lang.as_str(), voice.pack_id.as_str()),
            ("es-419", own.id())
        );
        assert_eq!(voice.setup.clips, *own.lengths());
        let labels = drawer.labels();
        assert_eq!(
            (labels.lang.as_str(), labels.close.as_str()),
            ("es-419", "Cerrar")
        );
        assert_eq!(
            drawer.paper(PaperWord::About, None).unwrap().title,
            "Acerca de"
        );
        assert_eq!(Settings::load(&set_at).unwrap().lang, "es-419");
        assert!(drawer.choose(SettingWord::Lang, "xx", |_| ()).is_err());
        assert_eq!(drawer.labels().lang, "es-419");
    }

    #[test]
    fn a_voice_with_faulty_clips_is_not_tested() {
        let folder = Folder::new();
        let drawer = drawer(&folder.0, folder.0.join("settings.json"));
        assert!(drawer.whole_voice().is_ok());
        drawer.now().pack = Pack::from_folders(&folder.0, &folder.0);
        let refused = drawer.whole_voice().unwrap_err();
        assert_eq!(refused.message, drawer.words().listening_labels().faulty);
    }

    #[test]
    fn the_systems_language_is_followed_and_asked_about_until_one_is_chosen() {
        let folder = Folder::new();
        let drawer = drawer(&folder.0, folder.0.join("settings.json"));
        let keys = |page| {
            let paper = drawer.paper(page, None).unwrap();
            let lines = paper.parts.into_iter().flat_map(|part| part.lines);
            let tongue = |line: PaperLine| match line.go {
                Some(Go::Choose {
                    setting: SettingWord::Lang,
                    value,
                    on,
                }) => Some((value, line.text, on)),
                _ => None,
            };
            lines.filter_map(tongue).collect::<Vec<_>>()
        };
        assert!(drawer.follow_system("en-US").is_none(), "it is in force");
        let voice = drawer.follow_system("es-MX").unwrap();
        assert!(matches!(voice, Ask::Voice(voice) if voice.lang == "es-419"));
        // It is known at the next start, which may be within a run; nobody has chosen it.
        let kept = Settings::load(&folder.0.join("settings.json")).unwrap();
        assert_eq!((kept.lang.as_str(), kept.followed.as_str()), ("", "es-419"));
        let asked = keys(PaperWord::Ready);
        assert_eq!(asked, keys(PaperWord::Settings));
        assert_eq!(asked.len(), Words::languages().count());
        assert!(
            asked.contains(&("es-ES".to_owned(), "Español (España)".to_owned(), false)),
            "{asked:?}"
        );
        assert!(
            asked.contains(&(
                "es-419".to_owned(),
                "Español (Latinoamérica)".to_owned(),
                true
            )),
            "{asked:?}"
        );
        voice_of(&drawer, "en-GB");
        assert_eq!(keys(PaperWord::Ready), []);
        assert!(
            drawer.follow_system("es-MX").is_none(),
            "another one was chosen"
        );
        assert_eq!(drawer.labels().lang, "en-GB");
    }
}
