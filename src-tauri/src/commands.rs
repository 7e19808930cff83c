//! What the page may ask. Each command passes on and returns; those that read or write a file say so.
#![expect(
    clippy::needless_pass_by_value,
    reason = "a command is handed its arguments by value"
)]

use conduct::{Ask, Touch};
use cycle::{
    Act, Entered, Ms, Seq,
    mark::{PatientClass, SetState},
};
use tauri::{State, ipc::Channel};
use words::{Labels, News, Paper, PaperWord, SettingWord};

use crate::{error::CommandError, lifecycle::House};

/// Once per boot of the page: the current screen at once, then each change. `system` is the phone's language.
/// Not on the window's own thread: another voice may have to be read.
///
/// # Errors
/// Why the app could not start.
#[tauri::command(async)]
pub(crate) fn subscribe(
    house: State<'_, House>,
    channel: Channel<News>,
    system: String,
) -> Result<Labels, CommandError> {
    house.subscribe(channel, &system)
}

#[tauri::command]
pub(crate) fn press(house: State<'_, House>, act: Act, down: u64, taken: u64, sent: u64) {
    house.ask(Ask::Press {
        act,
        touch: touch(down, taken, sent),
    });
}

/// A mark that carries a value; the rules look at it and say so if it cannot stand.
#[tauri::command]
pub(crate) fn enter(house: State<'_, House>, entered: Entered, down: u64, taken: u64, sent: u64) {
    house.ask(Ask::Enter {
        entered,
        touch: touch(down, taken, sent),
    });
}

#[tauri::command]
pub(crate) fn undo(house: State<'_, House>, down: u64, taken: u64, sent: u64) {
    house.ask(Ask::Undo {
        touch: touch(down, taken, sent),
    });
}

#[tauri::command]
pub(crate) fn set_right(
    house: State<'_, House>,
    state: SetState,
    back: u64,
    down: u64,
    taken: u64,
    sent: u64,
) {
    house.ask(Ask::SetRight {
        state,
        back: Ms(back),
        touch: touch(down, taken, sent),
    });
}

#[tauri::command]
pub(crate) fn earlier(
    house: State<'_, House>,
    seq: u64,
    by: u64,
    down: u64,
    taken: u64,
    sent: u64,
) {
    house.ask(Ask::Earlier {
        seq: Seq(seq),
        by: Ms(by),
        touch: touch(down, taken, sent),
    });
}

#[tauri::command]
pub(crate) fn remove(house: State<'_, House>, seq: u64, down: u64, taken: u64, sent: u64) {
    house.ask(Ask::Remove {
        seq: Seq(seq),
        touch: touch(down, taken, sent),
    });
}

#[tauri::command]
pub(crate) fn end_held(house: State<'_, House>) {
    house.ask(Ask::EndHeld);
}

#[tauri::command]
pub(crate) fn touches_ignored(house: State<'_, House>, n: u32, why: String) {
    house.ask(Ask::TouchesIgnored { n, why });
}

/// Covers the screen of a run, or wakes it.
#[tauri::command]
pub(crate) fn cover(house: State<'_, House>, on: bool) {
    house.ask(Ask::Cover(on));
}

#[tauri::command]
pub(crate) fn page_clock(house: State<'_, House>, sent: u64) {
    house.ask(Ask::PageClock { sent_ms: sent });
}

#[tauri::command]
pub(crate) fn put_away(house: State<'_, House>) {
    house.ask(Ask::PutAway);
}

#[tauri::command]
pub(crate) fn listen(house: State<'_, House>) {
    house.ask(Ask::Listen);
}

/// Whose numbers the next run begins with.
#[tauri::command]
pub(crate) fn choose_class(house: State<'_, House>, class: PatientClass) {
    house.ask(Ask::Class(class));
}

/// Sets something, and keeps it. Not on the window's own thread: it waits for the disk.
///
/// # Errors
/// The value is not allowed, or the file cannot be written.
#[tauri::command(async)]
pub(crate) fn choose(
    house: State<'_, House>,
    setting: SettingWord,
    value: String,
) -> Result<Labels, CommandError> {
    house.choose(setting, &value)
}

/// A page before or after a run. Not on the window's own thread: it reads files.
///
/// # Errors
/// Why it cannot be had.
#[tauri::command(async)]
pub(crate) fn paper(house: State<'_, House>, page: PaperWord) -> Result<Paper, CommandError> {
    house.paper(page)
}

pub(crate) const fn touch(down_ms: u64, taken_ms: u64, sent_ms: u64) -> Touch {
    Touch {
        down_ms,
        taken_ms,
        sent_ms,
    }
}
