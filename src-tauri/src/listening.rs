//! What the page may ask of the listening test.
#![expect(
    clippy::needless_pass_by_value,
    reason = "a command is handed its arguments by value"
)]

use ::listening::Level;
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

/// Writes the sheet of the test that is over where a person can reach it; says where.
///
/// # Errors
/// No test is over, or the sheet cannot be written.
#[tauri::command(async)]
pub(crate) fn listening_export(
    app: AppHandle,
    house: State<'_, House>,
) -> Result<String, CommandError> {
    let words = house.desk()?.words;
    let sheet = house.sheet()?;
    let folder = reachable(&app, &words)?;
    after::keep_sheet(&words, &sheet, &folder).map_err(|e| refuse(Code::Folder, "", &e))
}
