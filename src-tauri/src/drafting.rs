//! What the page may ask of the protocol editor. None of it on the window's own thread: it reads and writes files.
#![expect(
    clippy::needless_pass_by_value,
    reason = "a command is handed its arguments by value"
)]

use std::sync::{Arc, Mutex, PoisonError};

use ::drafting::{DraftError, Drafting};
use audio::Pack;
use chart::Palette;
use conduct::{Ask, Recording};
use tauri::State;
use words::{Draft, DraftChange, DraftMinute, Situation, Words};

use crate::{
    error::{Code, CommandError},
    lifecycle::{House, refuse},
};

type Answer<T> = Result<T, CommandError>;

/// What the editor is made of.
pub(crate) struct Table<'a> {
    pub(crate) words: Arc<Words>,
    pub(crate) drafting: &'a Drafting,
    pub(crate) pack: Pack,
    pub(crate) theme: after::Theme,
}

impl Table<'_> {
    const fn palette(&self) -> &'static Palette {
        match self.theme {
            after::Theme::Day => &chart::DAY_DARK,
            after::Theme::Glare => &chart::GLARE,
            after::Theme::Night => &chart::NIGHT,
        }
    }
}

/// The minute that was drawn last.
#[derive(Default)]
pub(crate) struct Drawn(Mutex<Option<Recording>>);

fn told(error: DraftError) -> CommandError {
    refuse(Code::Protocol, "", &error)
}

/// What can be copied, and the draft if there is one.
///
/// # Errors
/// A run goes on, or the draft cannot be read.
#[tauri::command(async)]
pub(crate) fn draft_page(house: State<'_, House>) -> Answer<Draft> {
    let table = house.drafting()?;
    table.drafting.page(&table.words).map_err(told)
}

/// Copies a file to be changed.
///
/// # Errors
/// A run goes on, or there is no such file.
#[tauri::command(async)]
pub(crate) fn draft_open(house: State<'_, House>, id: String) -> Answer<Draft> {
    let table = house.drafting()?;
    table.drafting.open(&table.words, &id).map_err(told)
}

/// Changes the draft.
///
/// # Errors
/// A run goes on, or the change cannot be made or kept.
#[tauri::command(async)]
pub(crate) fn draft_change(house: State<'_, House>, asked: DraftChange) -> Answer<Draft> {
    let table = house.drafting()?;
    table.drafting.change(&table.words, &asked).map_err(told)
}

/// Saves the draft; says where.
///
/// # Errors
/// A run goes on, or why it is not saved there.
#[tauri::command(async)]
pub(crate) fn draft_save(house: State<'_, House>, place: String) -> Answer<String> {
    let table = house.drafting()?;
    table.drafting.save(&table.words, &place).map_err(told)
}

/// Rehearses a minute with the draft's numbers and draws it.
///
/// # Errors
/// A run goes on, or why there is no such minute.
#[tauri::command(async)]
pub(crate) fn draft_minute(
    house: State<'_, House>,
    drawn: State<'_, Drawn>,
    situation: Situation,
) -> Answer<DraftMinute> {
    let table = house.drafting()?;
    let palette = table.palette();
    let minute = table
        .drafting
        .minute(&table.words, situation, &table.pack, palette)
        .map_err(told)?;
    *drawn.0.lock().unwrap_or_else(PoisonError::into_inner) = Some(minute.sound);
    Ok(minute.shown)
}

/// Lets the minute that was drawn last be heard, or silences it.
///
/// # Errors
/// A run goes on.
#[tauri::command]
pub(crate) fn draft_play(house: State<'_, House>, drawn: State<'_, Drawn>, on: bool) -> Answer<()> {
    house.drafting()?;
    let sound = drawn
        .0
        .lock()
        .unwrap_or_else(PoisonError::into_inner)
        .clone();
    house.ask(Ask::Recording(sound.filter(|_| on)));
    Ok(())
}
