//! What the page may ask. Each command passes on and returns; none waits.
#![expect(
    clippy::needless_pass_by_value,
    reason = "a command is handed its arguments by value"
)]

use conduct::{Ask, Touch};
use cycle::Act;
use tauri::{State, ipc::Channel};
use words::{Labels, Screen};

use crate::{error::CommandError, lifecycle::House};

/// Once per boot of the page: the current screen at once, then each change.
///
/// # Errors
/// Why the app could not start.
#[tauri::command]
pub(crate) fn subscribe(
    house: State<'_, House>,
    channel: Channel<Screen>,
) -> Result<Labels, CommandError> {
    house.subscribe(channel)
}

#[tauri::command]
pub(crate) fn press(house: State<'_, House>, act: Act, down: u64, taken: u64, sent: u64) {
    house.ask(Ask::Press {
        act,
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
pub(crate) fn end_held(house: State<'_, House>) {
    house.ask(Ask::EndHeld);
}

#[tauri::command]
pub(crate) fn touches_ignored(house: State<'_, House>, n: u32, why: String) {
    house.ask(Ask::TouchesIgnored { n, why });
}

#[tauri::command]
pub(crate) fn page_clock(house: State<'_, House>, sent: u64) {
    house.ask(Ask::PageClock { sent_ms: sent });
}

#[tauri::command]
pub(crate) fn put_away(house: State<'_, House>) {
    house.ask(Ask::PutAway);
}

const fn touch(down_ms: u64, taken_ms: u64, sent_ms: u64) -> Touch {
    Touch {
        down_ms,
        taken_ms,
        sent_ms,
    }
}
