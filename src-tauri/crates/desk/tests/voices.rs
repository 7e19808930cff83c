//! `carrybeat voices check` as it is used: a good folder is named, a bad one with every fault.
#![expect(
    clippy::unwrap_used,
    reason = "a test that meets an error fails, as it should"
)]

use std::{
    fs,
    path::{Path, PathBuf},
    process::{Command, Output},
};

fn check(folder: Option<&Path>) -> (bool, String) {
    let Output {
        status,
        stdout,
        stderr,
    } = Command::new(env!("CARGO_BIN_EXE_carrybeat"))
        .args(["voices", "check"])
        .args(folder)
        .output()
        .unwrap();
    let said = [stdout, stderr].concat();
    (status.success(), String::from_utf8(said).unwrap())
}

fn committed() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../sounds/en-US")
}

#[test]
fn the_built_in_pack_and_the_same_in_a_folder_have_no_fault() {
    for folder in [None, Some(committed().as_path())] {
        let (good, said) = check(folder);
        let all = ["en-US", "en-GB", "es-419", "es-ES"];
        let packs = if folder.is_none() {
            &all[..]
        } else {
            &all[..1]
        };
        let told = said.lines().filter(|line| line.contains(" clips of "));
        assert_eq!(told.count(), packs.len(), "{said}");
        for lang in packs {
            let line = format!("46 clips of {lang}, no fault");
            assert!(good && said.contains(&line), "{said}");
        }
    }
}

#[test]
fn a_folder_is_told_every_fault_with_the_screen_s_words_beside_its_own() {
    let folder = std::env::temp_dir().join(format!("carrybeat-voices-{}", std::process::id()));
    fs::create_dir_all(&folder).unwrap();
    for entry in fs::read_dir(committed()).unwrap() {
        let entry = entry.unwrap();
        fs::copy(entry.path(), folder.join(entry.file_name())).unwrap();
    }
    fs::remove_file(folder.join("undo.wav")).unwrap();
    let manifest = folder.join("manifest.json");
    let text = fs::read_to_string(&manifest).unwrap();
    fs::write(
        &manifest,
        text.replace("\"Time for rhythm check.\"", "\"Check it.\""),
    )
    .unwrap();
    let (good, said) = check(Some(&folder));
    fs::remove_dir_all(&folder).unwrap();
    assert!(!good, "{said}");
    let wanted = [
        "undo (",
        "cannot be read",
        "put the file there",
        "chk_now: text \"Check it.\", the screen shows \"Time for rhythm check.\"",
    ];
    for part in wanted {
        assert!(said.contains(part), "{part} in {said}");
    }
    assert_eq!(said.lines().count(), 2, "{said}");
}

#[test]
fn a_folder_that_is_not_there_and_a_language_without_a_screen_are_refused() {
    let (good, said) = check(Some(Path::new("/no/such/folder")));
    assert!(
        !good && said.contains("manifest.json: cannot be used"),
        "{said}"
    );
    let folder = std::env::temp_dir().join(format!("carrybeat-tongue-{}", std::process::id()));
    fs::create_dir_all(&folder).unwrap();
    fs::write(
        folder.join("manifest.json"),
        r#"{"pack": "xx", "clips": []}"#,
    )
    .unwrap();
    let (good, said) = check(Some(&folder));
    fs::remove_dir_all(&folder).unwrap();
    assert!(
        !good && said.contains("pack \"xx\", allowed: en-US"),
        "{said}"
    );
}
