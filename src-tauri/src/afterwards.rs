//! What the page may ask once a run is over. None of it on the window's own thread: it reads and writes
//! files.
#![expect(
    clippy::needless_pass_by_value,
    reason = "a command is handed its arguments by value"
)]

use std::{path::PathBuf, sync::Arc};

use after::{After, AfterError, Frame, KeepError, What};
use cycle::Ms;
use tauri::{AppHandle, Manager, State};
use words::{CarryPage, Change, Debrief, Fixed, Keep, Review, Strip, Words};

use crate::{
    error::{Code, CommandError},
    lifecycle::{House, refuse},
};

type Answer<T> = Result<T, CommandError>;

/// What the screens after a run are made of.
pub(crate) struct Desk<'a> {
    pub(crate) words: Arc<Words>,
    pub(crate) after: &'a After,
    pub(crate) theme: after::Theme,
    /// The run that is not put away.
    pub(crate) live: Option<String>,
}

impl Desk<'_> {
    pub(crate) const fn frame(&self, recorded: bool, width: u32) -> Frame {
        Frame {
            recorded,
            width,
            theme: self.theme,
        }
    }

    /// A run that could not be begun on the disk has no id.
    fn unable(&self, id: &str, e: &AfterError) -> CommandError {
        let missing =
            id.is_empty() || matches!(e, AfterError::Store(conduct::StoreError::Missing { .. }));
        let place = if missing {
            Fixed::ErrorNotKept
        } else {
            Fixed::ErrorFolder
        };
        refuse(Code::Folder, self.words.fixed(place), e)
    }

    fn not_kept(e: &KeepError) -> CommandError {
        refuse(Code::Folder, "", e)
    }
}

/// A run's debrief, drawn `width` px wide.
///
/// # Errors
/// Why the run tells nothing.
#[tauri::command(async)]
pub(crate) fn debrief(
    house: State<'_, House>,
    id: String,
    recorded: bool,
    width: u32,
) -> Answer<Debrief> {
    let desk = house.desk()?;
    let found = desk
        .after
        .debrief(&desk.words, &id, desk.frame(recorded, width));
    found.map_err(|e| desk.unable(&id, &e))
}

/// A part of a run's strip, run milliseconds.
///
/// # Errors
/// Why the run tells nothing.
#[tauri::command(async)]
pub(crate) fn strip(
    house: State<'_, House>,
    id: String,
    recorded: bool,
    from: u64,
    to: u64,
    width: u32,
) -> Answer<Strip> {
    let desk = house.desk()?;
    let (frame, span) = (desk.frame(recorded, width), (Ms(from), Ms(to)));
    let found = desk.after.strip(&desk.words, &id, frame, span);
    found.map_err(|e| desk.unable(&id, &e))
}

/// What is carried over into the care record.
///
/// # Errors
/// Why the run tells nothing.
#[tauri::command(async)]
pub(crate) fn carry_over(house: State<'_, House>, id: String) -> Answer<CarryPage> {
    let desk = house.desk()?;
    let found = desk.after.carry_page(&desk.words, &id);
    found.map_err(|e| desk.unable(&id, &e))
}

/// A run's marks and what can be changed.
///
/// # Errors
/// Why the run tells nothing.
#[tauri::command(async)]
pub(crate) fn review(house: State<'_, House>, id: String) -> Answer<Review> {
    let desk = house.desk()?;
    let found = desk.after.review(&desk.words, &id);
    found.map_err(|e| desk.unable(&id, &e))
}

/// Changes a run that is over, and keeps it.
///
/// # Errors
/// Why it was not changed.
#[tauri::command(async)]
pub(crate) fn change(house: State<'_, House>, id: String, asked: Change) -> Answer<Review> {
    let desk = house.desk()?;
    let found = desk.after.change(&desk.words, &id, &asked);
    found.map_err(|e| CommandError {
        code: Code::Folder,
        message: e.said(&desk.words),
    })
}

/// What is kept of a run, or of all where there is no id.
///
/// # Errors
/// Why the folder of the runs tells nothing.
#[tauri::command(async)]
pub(crate) fn keep(house: State<'_, House>, id: String) -> Answer<Keep> {
    let desk = house.desk()?;
    let found = desk.after.keep(&desk.words, &id, desk.live.as_deref());
    found.map_err(|e| Desk::not_kept(&e))
}

/// Keeps a run from being deleted, or lets it go.
///
/// # Errors
/// Why the run is not held or let go.
#[tauri::command(async)]
pub(crate) fn hold(house: State<'_, House>, id: String, held: bool) -> Answer<Keep> {
    let desk = house.desk()?;
    let done = desk.after.hold(&id, held);
    let found = done.and_then(|()| desk.after.keep(&desk.words, &id, desk.live.as_deref()));
    found.map_err(|e| Desk::not_kept(&e))
}

/// Deletes a run, or all where there is no id; says what was done.
///
/// # Errors
/// Why nothing, or not all, was deleted.
#[tauri::command(async)]
pub(crate) fn delete_runs(house: State<'_, House>, id: String) -> Answer<String> {
    let desk = house.desk()?;
    let live = || house.desk().ok().and_then(|desk| desk.live);
    let done = desk.after.delete(&desk.words, &id, &live);
    done.map_err(|e| Desk::not_kept(&e))
}

/// Writes a copy of a run where a person can reach it; says where.
///
/// # Errors
/// Why no copy was written.
#[tauri::command(async)]
pub(crate) fn export_run(
    app: AppHandle,
    house: State<'_, House>,
    id: String,
    what: String,
) -> Answer<String> {
    let desk = house.desk()?;
    let what = match what.as_str() {
        "pdf" => What::Pdf,
        "csv" => What::Csv,
        "carry_over" => What::CarryOver,
        "drill" => What::Drill,
        other => {
            let message = format!("export {other:?}, allowed: pdf, csv, carry_over, drill");
            let code = Code::Folder;
            return Err(CommandError { code, message });
        }
    };
    let done = desk
        .after
        .export(&desk.words, &id, what, &reachable(&app, &desk.words)?);
    done.map(|written| house.handed_over(written))
        .map_err(|e| Desk::not_kept(&e))
}

/// Writes everything since the last hand-in; says where.
///
/// # Errors
/// Why nothing was handed in.
#[tauri::command(async)]
pub(crate) fn hand_in(app: AppHandle, house: State<'_, House>) -> Answer<String> {
    let desk = house.desk()?;
    let folder = reachable(&app, &desk.words)?;
    let done = desk
        .after
        .hand_in(&desk.words, desk.live.as_deref(), &folder);
    done.map(|written| house.handed_over(written))
        .map_err(|e| Desk::not_kept(&e))
}

/// The folder of all exports. On a desktop a person opens it; on a phone other apps may not look into it, so that what
/// is written is handed over as well.
pub(crate) fn reachable(app: &AppHandle, words: &Words) -> Answer<PathBuf> {
    let place = app.path();
    let folder = place
        .document_dir()
        .or_else(|_| place.download_dir())
        // A desktop without such folders has a home.
        .or_else(|_| place.home_dir())
        .map_err(|e| refuse(Code::Folder, words.fixed(Fixed::ErrorFolder), &e))?;
    Ok(folder.join("Carrybeat"))
}
