//! What the page may ask of the listening test.
#![expect(
    clippy::needless_pass_by_value,
    reason = "a command is handed its arguments by value"
)]

use std::{
    fs, io,
    path::{Path, PathBuf},
};

use ::listening::Level;
use after::Written;
use conduct::{Ask, ListeningAsk};
use cycle::Prompt;
use tauri::{AppHandle, State};

use crate::{
    afterwards::reachable,
    commands::touch,
    error::{Code, CommandError},
    lifecycle::{House, refuse},
};

/// A test begins: over the noise by so many dB(A), for the listener of this number. Not on the window's own thread:
/// the pack may just be being read.
///
/// # Errors
/// The level is none that can be chosen, a run goes on, or the pack has faults.
#[tauri::command(async)]
pub(crate) fn listening_begin(
    house: State<'_, House>,
    level: u8,
    listener: Option<u16>,
) -> Result<(), CommandError> {
    let level = Level::of(level).ok_or_else(|| CommandError {
        code: Code::Setting,
        message: format!("level {level}, allowed: 0, 6, 12"),
    })?;
    house.may_listen()?;
    house.ask(Ask::Listening(ListeningAsk::Begin { level, listener }));
    Ok(())
}

/// The next prompt is to be heard.
#[tauri::command]
pub(crate) fn listening_play(house: State<'_, House>) {
    house.ask(Ask::Listening(ListeningAsk::Play));
}

/// Which prompt `n` was; none: nothing was heard.
#[tauri::command]
pub(crate) fn listening_answer(
    house: State<'_, House>,
    n: usize,
    answer: Option<Prompt>,
    down: u64,
    taken: u64,
    sent: u64,
) {
    house.ask(Ask::Listening(ListeningAsk::Answer {
        n,
        answer,
        touch: touch(down, taken, sent),
    }));
}

/// The test is put away.
#[tauri::command]
pub(crate) fn listening_stop(house: State<'_, House>) {
    house.ask(Ask::Listening(ListeningAsk::Stop));
}

/// Writes the sheet of the test that is over; says where. With `hand` it is handed over, with all before it.
///
/// # Errors
/// No test is over, or the sheet cannot be written.
#[tauri::command(async)]
pub(crate) fn listening_export(
    app: AppHandle,
    house: State<'_, House>,
    hand: bool,
) -> Result<String, CommandError> {
    let words = house.desk()?.words;
    let sheet = house.sheet()?;
    let folder = reachable(&app, &words)?;
    let said = after::keep_sheet(&words, &sheet, &folder);
    let said = said.map_err(|e| refuse(Code::Folder, "", &e))?;
    if !hand {
        return Ok(said);
    }
    let files = tables_in(&folder).map_err(|e| refuse(Code::Folder, "", &e))?;
    Ok(house.handed_over(Written { files, said }))
}

/// How the tables of the test are called: each sheet, and what all add up to.
const TABLES: &str = "carrybeat-listening-";

/// All tables of the test that lie there, in order: one that was written and not handed over would stay on a phone.
fn tables_in(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut tables = Vec::new();
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let path = entry.path();
        let is_ours = entry.file_name().to_string_lossy().starts_with(TABLES);
        if is_ours && path.is_file() && path.extension().is_some_and(|ending| ending == "csv") {
            tables.push(path);
        }
    }
    tables.sort();
    Ok(tables)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_sheets_and_their_sums_are_handed_over_and_nothing_else() {
        let name = format!("carrybeat-tables-{}", std::process::id());
        let folder = std::env::temp_dir().join(name);
        drop(fs::remove_dir_all(&folder));
        fs::create_dir_all(folder.join("carrybeat-listening-folder.csv")).unwrap();
        for name in [
            "carrybeat-listening-totals.csv",
            "carrybeat-listening-bb.csv",
            "carrybeat-listening-aa.csv",
            "carrybeat-listening-cc.new",
            "carrybeat-1234-debrief.pdf",
            "others.csv",
        ] {
            fs::write(folder.join(name), "").unwrap();
        }
        let found = tables_in(&folder).unwrap();
        let names = ["aa", "bb", "totals"];
        let paths = names.map(|name| folder.join(format!("carrybeat-listening-{name}.csv")));
        assert_eq!(found, paths);
        fs::remove_dir_all(&folder).unwrap();
        assert!(tables_in(&folder).is_err(), "a folder that is gone is said");
    }
}
