#[path = "../../crates/conduct/tests/house/folder.rs"]
mod folder;

use std::{cell::RefCell, fs, path::Path};

use words::{Go, PaperLine};

use super::*;
use folder::Folder;

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

/// What the conductor is told: the id of the protocol, how loud, in which colours, when the beat is felt.
fn told(ask: Ask) -> String {
    if let Ask::Setup(setup) = ask {
        return setup.protocol.id;
    }
    if let Ask::Theme(theme) = ask {
        return theme.word().to_owned();
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
    texts(&drawer.paper(PaperWord::Protocol, class, None).unwrap())
}

#[test]
fn what_cannot_be_kept_is_not_in_force() {
    let folder = Folder::new();
    // A file where a folder should be: nothing beside it can be written.
    let file = folder.path().join("file");
    fs::write(&file, "").unwrap();
    let drawer = drawer(folder.path(), file.join("settings.json"));
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
    let set_at = folder.path().join("settings.json");
    let drawer = drawer(folder.path(), set_at.clone());
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
    let all = ["night", "example-adult-b", "always", "3 6 0"];
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
    let runs = folder.path().join("runs");
    let own = own_folder(&runs);
    fs::create_dir_all(&own).unwrap();
    let text = Protocol::example("example-adult").unwrap();
    let ours = text.replace("example-adult", "our-adult");
    fs::write(own.join("ours.toml"), ours).unwrap();
    fs::write(own.join("bad.toml"), "id = 1").unwrap();
    let set_at = folder.path().join("settings.json");
    let drawer = drawer(&runs, set_at.clone());
    let page = texts(&drawer.paper(PaperWord::Settings, None, None).unwrap());
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
fn codes_of_unit_and_crew_and_a_new_device_are_kept_where_settings_are_and_a_name_is_none() {
    let folder = Folder::new();
    let set_at = folder.path().join("settings.json");
    let of = drawer(folder.path(), set_at.clone());
    assert_eq!(of.codes(), (String::new(), String::new()));
    of.set_codes("M12", "B").unwrap();
    for (unit, crew, place) in [
        ("m12", "C", "Unit code “m12”"),
        ("M13", "Anna", "Crew code “Anna”"),
    ] {
        let told = of.set_codes(unit, crew).unwrap_err().message;
        assert!(told.starts_with(place), "{told}");
    }
    assert_eq!(of.codes(), ("M12".to_owned(), "B".to_owned()));
    let kept = Settings::load(&set_at).unwrap();
    assert_eq!(
        (kept.unit_code.as_str(), kept.crew_code.as_str()),
        ("M12", "B")
    );
    assert_eq!(of.device(), None);
    of.set_device(Some(7)).unwrap();
    let kept = Settings::load(&set_at).unwrap();
    assert_eq!((of.device(), kept.device_since), (Some(7), Some(7)));
    assert_eq!(kept.unit_code, "M12", "the codes stay");
    of.set_device(None).unwrap();
    assert_eq!(Settings::load(&set_at).unwrap().device_since, None);
    // What cannot be kept is not in force.
    let file = folder.path().join("file");
    fs::write(&file, "").unwrap();
    let nowhere = drawer(folder.path(), file.join("settings.json"));
    assert!(
        nowhere
            .set_codes("M12", "B")
            .unwrap_err()
            .message
            .contains("settings.json")
    );
    assert_eq!(nowhere.codes(), (String::new(), String::new()));
}

#[test]
fn a_class_chosen_for_one_patient_is_shown_and_not_kept() {
    let folder = Folder::new();
    let drawer = drawer(folder.path(), folder.path().join("settings.json"));
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
    let set_at = folder.path().join("settings.json");
    let drawer = drawer(folder.path(), set_at.clone());
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
        drawer.paper(PaperWord::About, None, None).unwrap().title,
        "Acerca de"
    );
    assert_eq!(Settings::load(&set_at).unwrap().lang, "es-419");
    assert!(drawer.choose(SettingWord::Lang, "xx", |_| ()).is_err());
    assert_eq!(drawer.labels().lang, "es-419");
}

#[test]
fn the_ready_check_has_what_the_start_card_has_of_a_lost_sound() {
    let folder = Folder::new();
    let drawer = drawer(folder.path(), folder.path().join("settings.json"));
    let why = "no output device was found; connect one";
    let ready = |silent: Option<&str>| {
        let silent = silent.map(str::to_owned);
        let paper = drawer.paper(PaperWord::Ready, None, silent).unwrap();
        let lines = paper.parts.into_iter().flat_map(|part| part.lines);
        let notes = lines.filter_map(|line| Some((line.text, line.note?)));
        notes.collect::<Vec<_>>()
    };
    let said = ("No sound".to_owned(), drawer.words().fault(why));
    assert!(ready(Some(why)).contains(&said), "{:?}", ready(Some(why)));
    assert!(!ready(None).contains(&said));
}

#[test]
fn a_voice_with_faulty_clips_is_not_tested() {
    let folder = Folder::new();
    let drawer = drawer(folder.path(), folder.path().join("settings.json"));
    assert!(drawer.whole_voice().is_ok());
    drawer.now().pack = Pack::from_folders(folder.path(), folder.path());
    let refused = drawer.whole_voice().unwrap_err();
    assert_eq!(refused.message, drawer.words().listening_labels().faulty);
}

#[test]
fn the_systems_language_is_followed_and_asked_about_until_one_is_chosen() {
    let folder = Folder::new();
    let drawer = drawer(folder.path(), folder.path().join("settings.json"));
    let keys = |page| {
        let paper = drawer.paper(page, None, None).unwrap();
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
    let kept = Settings::load(&folder.path().join("settings.json")).unwrap();
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
