//! Files of their own for each test; the cases are invented.

#[path = "../../conduct/tests/house/folder.rs"]
mod folder;

use std::{fs, path::PathBuf};

use chart::DAY_DARK;
use words::{DraftInput, DraftOpen};

use super::*;

struct Folder(folder::Folder);

impl Folder {
    fn new() -> Self {
        Self(folder::Folder::new())
    }

    fn settings(&self) -> PathBuf {
        self.0.path().join("settings.json")
    }

    fn own(&self) -> PathBuf {
        self.0.path().join("protocols")
    }

    fn drafting(&self) -> Drafting {
        Drafting::at(&self.settings(), &self.own())
    }

    fn kept(&self) -> String {
        fs::read_to_string(self.0.path().join("protocol-draft.toml")).unwrap()
    }
}

fn words() -> Words {
    Words::load("en-US").unwrap()
}

fn write(field: &str, typed: &str) -> DraftChange {
    DraftChange::Write {
        field: field.to_owned(),
        slot: DraftSlot::Value,
        typed: typed.to_owned(),
    }
}

fn value(open: &DraftOpen, name: &str) -> String {
    let mut fields = open.groups.iter().flat_map(|group| &group.fields);
    fields
        .find(|field| field.field == name)
        .unwrap()
        .value
        .clone()
}

#[test]
fn a_copy_is_changed_and_the_example_stays() {
    let (folder, words) = (Folder::new(), words());
    let drafting = folder.drafting();
    let page = drafting.page(&words).unwrap();
    assert!(page.open.is_none());
    let examples: Vec<_> = page.sources.iter().filter(|s| s.is_example).collect();
    assert_eq!(examples.len(), Protocol::EXAMPLES.len());
    assert!(
        drafting.change(&words, &write("id", "x")).is_err(),
        "no draft yet"
    );
    let open = drafting
        .open(&words, "example-child")
        .unwrap()
        .open
        .unwrap();
    assert_eq!(value(&open, "id"), "copy-of-example-child");
    assert!(
        open.is_sound && open.title.starts_with("Draft: Example, child"),
        "{}",
        open.title
    );
    let changed = drafting
        .change(&words, &write("breaths.window_s", "7"))
        .unwrap();
    assert_eq!(value(&changed.open.unwrap(), "breaths.window_s"), "7");
    assert!(Protocol::parse(Protocol::example("example-child").unwrap().as_bytes()).is_ok());
    // Everything else of the file is as it was, to the byte.
    let like = Protocol::example("example-child").unwrap();
    let differ = like
        .lines()
        .zip(folder.kept().lines())
        .filter(|(a, b)| a != b)
        .count();
    assert_eq!(differ, 3, "id, name, and the window");
}

#[test]
fn a_draft_outlives_the_process_and_each_change_can_be_taken_back() {
    let (folder, words) = (Folder::new(), words());
    let drafting = folder.drafting();
    drafting.open(&words, "example-adult").unwrap();
    let first = folder.kept();
    for rate in ["111", "112"] {
        drafting
            .change(&words, &write("beat.rate_per_min", rate))
            .unwrap();
    }
    let later = folder.drafting().page(&words).unwrap().open.unwrap();
    assert_eq!(value(&later, "beat.rate_per_min"), "112");
    let back = drafting
        .change(&words, &DraftChange::TakeBack {})
        .unwrap()
        .open
        .unwrap();
    assert_eq!(
        (
            value(&back, "beat.rate_per_min").as_str(),
            back.can_take_back
        ),
        ("111", true)
    );
    let back = drafting
        .change(&words, &DraftChange::TakeBack {})
        .unwrap()
        .open
        .unwrap();
    assert!(!back.can_take_back);
    assert_eq!(folder.kept(), first);
    // Another copy puts the draft aside.
    drafting
        .change(&words, &write("beat.rate_per_min", "119"))
        .unwrap();
    drafting.open(&words, "example-infant").unwrap();
    let aside = fs::read_to_string(folder.0.path().join("protocol-draft.before.toml")).unwrap();
    assert!(aside.contains("value = 119"));
}

#[test]
fn what_cannot_be_kept_is_not_changed() {
    let (folder, words) = (Folder::new(), words());
    let drafting = folder.drafting();
    drafting.open(&words, "example-adult").unwrap();
    // A folder where the new file would be written.
    fs::create_dir(folder.0.path().join("protocol-draft.toml.new")).unwrap();
    let refused = drafting.change(&words, &write("id", "ours")).unwrap_err();
    assert!(refused.to_string().contains("protocol-draft"), "{refused}");
    let open = drafting.page(&words).unwrap().open.unwrap();
    assert_eq!(value(&open, "id"), "copy-of-example-adult");
    let unknown = drafting.open(&words, "nobody's").unwrap_err();
    assert!(unknown.to_string().contains("protocols") || unknown.to_string().contains("nobody's"));
}

#[test]
fn a_draft_is_saved_where_the_service_says_and_over_nothing_else() {
    let (folder, words) = (Folder::new(), words());
    let drafting = folder.drafting();
    drafting.open(&words, "example-adult").unwrap();
    let refused = |place: &str| {
        let refused = drafting.save(&words, place).unwrap_err();
        assert!(matches!(refused, DraftError::Refused(_)), "{refused}");
        refused.to_string()
    };
    let ours = folder.own().join("ours.toml");
    let place = ours.display().to_string();
    for wrong in [
        "",
        "ours.toml",
        "/",
        &folder.own().join("ours").display().to_string(),
    ] {
        assert!(refused(wrong).contains(".toml"), "{wrong}");
    }
    let nowhere = folder.0.path().join("none/ours.toml").display().to_string();
    assert!(refused(&nowhere).contains("no such folder"));
    // An example's id is an example's.
    drafting
        .change(&words, &write("id", "example-adult"))
        .unwrap();
    assert!(refused(&place).contains("example-adult"));
    drafting
        .change(&words, &write("beat.rate_per_min", "170"))
        .unwrap();
    assert!(refused(&place).contains("faults"));
    drafting
        .change(&words, &write("beat.rate_per_min", "105"))
        .unwrap();
    drafting.change(&words, &write("id", "our-adult")).unwrap();
    assert!(!ours.exists());
    let said = drafting.save(&words, &place).unwrap();
    assert!(said.contains(&place), "{said}");
    let own = Own::read(&folder.own());
    assert!(own.faults.is_empty() && own.protocols[0].rate.per_minute() == 105);
    // Over its own file again, which is left beside it; over no other.
    drafting
        .change(&words, &write("beat.rate_per_min", "106"))
        .unwrap();
    drafting.save(&words, &place).unwrap();
    assert!(fs::read_to_string(&ours).unwrap().contains("value = 106"));
    let before = fs::read_to_string(folder.own().join("ours.toml.before")).unwrap();
    assert!(before.contains("value = 105"));
    let other = folder.own().join("other.toml");
    fs::write(&other, "theirs").unwrap();
    assert!(refused(&other.display().to_string()).contains("already"));
    assert_eq!(fs::read_to_string(&other).unwrap(), "theirs");
}

#[test]
fn a_file_of_the_service_s_is_changed_in_its_own_place() {
    let (folder, words) = (Folder::new(), words());
    fs::create_dir(folder.own()).unwrap();
    let text = Protocol::example("example-adult").unwrap();
    let ours = folder.own().join("a-name.toml");
    let commented = text.replace("example-adult", "our-adult") + "\n# a word of the service's\n";
    fs::write(&ours, &commented).unwrap();
    let drafting = folder.drafting();
    let page = drafting.page(&words).unwrap();
    assert!(
        page.sources
            .iter()
            .any(|s| s.id == "our-adult" && !s.is_example)
    );
    let open = drafting.open(&words, "our-adult").unwrap().open.unwrap();
    assert_eq!(open.place, ours.display().to_string());
    drafting
        .change(&words, &write("check.every_s", "150"))
        .unwrap();
    drafting.save(&words, &open.place).unwrap();
    let saved = fs::read_to_string(&ours).unwrap();
    assert!(saved.ends_with("# a word of the service's\n"));
    assert_eq!(
        saved.len(),
        commented.len(),
        "one number of three digits for another"
    );
}

/// The rule: thirty clicks, then four seconds with two tones, at their start and their half.
/// At 110 a minute the first beats of the cycles lie at 0, 20.364 and 40.727 s, the windows at 16.364,
/// 36.727 and 57.091 s; at 100 at 0, 22 and 44 s, the windows at 18 and 40 s. Counted by hand.
#[test]
fn the_minute_is_one_of_the_draft_s_own_numbers() {
    let (folder, words) = (Folder::new(), words());
    let drafting = folder.drafting();
    let pack = Pack::built_in();
    drafting.open(&words, "example-adult").unwrap();
    let told = |told: &str| {
        let minute = drafting
            .minute(&words, Situation::First, &pack, &DAY_DARK)
            .unwrap();
        assert_eq!(minute.sound.samples.len(), 60 * 48_000);
        assert!(
            minute.sound.samples.iter().any(|s| s.unsigned_abs() > 3000),
            "it is heard"
        );
        assert!(minute.shown.svg.starts_with("<svg"));
        assert!(minute.shown.told.starts_with(told), "{}", minute.shown.told);
    };
    told("Beats: 90, breath tones: 6, breath windows: 3.");
    drafting
        .change(&words, &write("beat.rate_per_min", "100"))
        .unwrap();
    told("Beats: 87, breath tones: 4, breath windows: 2.");
    drafting
        .change(&words, &write("beat.rate_per_min", "fast"))
        .unwrap();
    let refused = drafting
        .minute(&words, Situation::First, &pack, &DAY_DARK)
        .unwrap_err();
    assert!(matches!(refused, DraftError::Refused(_)), "{refused}");
}

#[test]
fn every_minute_that_is_offered_can_be_had_with_every_example() {
    let (folder, words) = (Folder::new(), words());
    let drafting = folder.drafting();
    let pack = Pack::built_in();
    let mut all = Vec::new();
    for (id, _) in Protocol::EXAMPLES {
        let open = drafting.open(&words, id).unwrap().open.unwrap();
        assert!(!open.situations.is_empty(), "{id}");
        for one in open.situations {
            let minute = drafting.minute(&words, one.situation, &pack, &DAY_DARK);
            let minute = minute.unwrap_or_else(|e| panic!("{id}, {}: {e}", one.label));
            assert!(
                minute.sound.samples.iter().any(|s| s.unsigned_abs() > 3000),
                "{id}, {}",
                one.label
            );
            all.push((*id, one.situation, minute.shown.told));
        }
    }
    assert_eq!(all.len(), 5 + 5 + 4 + 4 + 1);
    let told = |id: &str, situation| {
        let found = all.iter().find(|(i, s, _)| (*i, *s) == (id, situation));
        found.unwrap().2.as_str()
    };
    // Source: the table of prompts: the heads-up, the count and the check; the numbers off the chest.
    let check = told("example-adult", Situation::Check);
    for heard in [
        "1:30 Rhythm check in thirty.",
        "1:55 Five.",
        "2:00 Time for rhythm check.",
    ] {
        assert!(check.contains(heard), "{heard}: {check}");
    }
    let off = told("example-adult", Situation::Off);
    assert!(
        off.contains("0:30") && off.contains("Off: ten seconds."),
        "{off}"
    );
    assert!(told("example-adult", Situation::Stopped).contains("Device stopped."));
}

/// What the page's own checks are shown; the build compares it with the committed file.
#[test]
fn screens_are_written() {
    let (folder, words) = (Folder::new(), words());
    // Of an invented machine, so that the file is the same wherever it is written.
    let own = PathBuf::from("/home/crew/protocols");
    let drafting = Drafting::at(&folder.settings(), &own);
    let line = |name: &str, value: Result<String, serde_json::Error>| {
        format!("\"{name}\": {}", value.unwrap())
    };
    let none = drafting.page(&words).unwrap();
    let open = drafting.open(&words, "example-adult").unwrap();
    let is_choice = |input: &DraftInput| matches!(input, DraftInput::Choice { .. });
    let fields = open
        .open
        .as_ref()
        .unwrap()
        .groups
        .iter()
        .flat_map(|g| &g.fields);
    assert!(fields.filter(|f| is_choice(&f.input)).count() > 10);
    let pack = Pack::built_in();
    let minute = drafting
        .minute(&words, Situation::First, &pack, &DAY_DARK)
        .unwrap();
    drafting
        .change(&words, &write("beat.rate_per_min", "170"))
        .unwrap();
    let stray = DraftChange::TakeOut {
        field: "cup.repeat_s".to_owned(),
    };
    let faulty = drafting.change(&words, &stray).unwrap();
    let lines = [
        line("draft_page", serde_json::to_string(&none)),
        line("draft_open", serde_json::to_string(&open)),
        line("draft_change", serde_json::to_string(&faulty)),
        line("draft_minute", serde_json::to_string(&minute.shown)),
    ];
    let text = format!("{{\n{}\n}}\n", lines.join(",\n"));
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../tests/ui/draft.json");
    fs::write(path, text).unwrap();
}
