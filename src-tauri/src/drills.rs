//! What the page may ask of drills.
#![expect(
    clippy::needless_pass_by_value,
    reason = "a command is handed its arguments by value"
)]

use conduct::{Ask, DrillAsk};
use cycle::Ms;
use drill::{CueKind, Item, Scenario};
use tauri::State;
use words::{DrillLook, DrillOver, DrillPage, DrillTries, DrillWish};

use crate::{
    commands::touch,
    error::{Code, CommandError},
    lifecycle::{House, refuse},
};

/// The page on which a drill is chosen. Not on the window's own thread: it reads files.
///
/// # Errors
/// Why the folder of the runs tells nothing.
#[tauri::command(async)]
pub(crate) fn drills(house: State<'_, House>) -> Result<DrillPage, CommandError> {
    let desk = house.desk()?;
    let (unit, crew) = house.codes()?;
    let now = conduct::clock::wall_now();
    let device = house.device()?;
    let found = (desk.after).drills(&desk.words, now, (&unit, &crew), device);
    found.map_err(|e| refuse(Code::Folder, "", &e))
}

/// The drill that is due, in one line, for the start card. It reads files.
///
/// # Errors
/// Why the folder of the runs tells nothing.
#[tauri::command(async)]
pub(crate) fn drill_due(house: State<'_, House>) -> Result<Option<String>, CommandError> {
    let desk = house.desk()?;
    let (_, crew) = house.codes()?;
    let now = conduct::clock::wall_now();
    let device = house.device()?;
    let found = desk.after.drill_due(&desk.words, now, &crew, device);
    found.map_err(|e| refuse(Code::Folder, "", &e))
}

/// The drills of the crew whose code is set, over time, drawn `width` px wide. It reads files.
///
/// # Errors
/// Why the folder of the runs tells nothing.
#[tauri::command(async)]
pub(crate) fn drill_over(house: State<'_, House>, width: u32) -> Result<DrillOver, CommandError> {
    let desk = house.desk()?;
    let (_, crew) = house.codes()?;
    let now = conduct::clock::wall_now();
    let found = desk
        .after
        .drills_over(&desk.words, now, &crew, desk.frame(false, width));
    found.map_err(|e| refuse(Code::Folder, "", &e))
}

/// The score sheet of a drill, with its tries side by side. It reads files.
///
/// # Errors
/// It is no drill, or cannot be read.
#[tauri::command(async)]
pub(crate) fn drill_sheet(house: State<'_, House>, id: String) -> Result<DrillTries, CommandError> {
    let desk = house.desk()?;
    let found = desk.after.drill_sheet(&desk.words, &id);
    found.map_err(|e| refuse(Code::Folder, "", &e))
}

/// A drill that was stopped at `at` of its run, to be looked at together. It reads files.
///
/// # Errors
/// It is no drill, or cannot be read.
#[tauri::command(async)]
pub(crate) fn drill_look(
    house: State<'_, House>,
    id: String,
    at: u64,
) -> Result<DrillLook, CommandError> {
    let desk = house.desk()?;
    let found = desk.after.drill_look(&desk.words, &id, Ms(at));
    found.map_err(|e| refuse(Code::Folder, "", &e))
}

/// Chooses a drill, tells a cue, injects an event, ticks what was seen, stops it and goes on. Codes and a new device are
/// written to a file.
///
/// # Errors
/// There is no such drill, event or item, or a code is none.
#[tauri::command(async)]
pub(crate) fn drill(house: State<'_, House>, asked: DrillWish) -> Result<(), CommandError> {
    if let DrillWish::Choose { unit, crew, .. } | DrillWish::Codes { unit, crew } = &asked {
        house.set_codes(unit, crew)?;
    }
    if let DrillWish::NewDevice { on } = asked {
        house.set_device(on.then(|| conduct::clock::wall_now().unix_ms()))?;
    }
    if let Some(ask) = of_wish(asked).map_err(wrong)? {
        house.ask(Ask::Drill(ask));
    }
    Ok(())
}

/// There is a patient: ends the drill where it is, and begins a run by hand.
#[tauri::command]
pub(crate) fn real_patient(house: State<'_, House>, down: u64, taken: u64, sent: u64) {
    let touch = touch(down, taken, sent);
    house.ask(Ask::Drill(DrillAsk::RealPatient(touch)));
}

fn wrong(message: String) -> CommandError {
    CommandError {
        code: Code::Setting,
        message,
    }
}

/// The one of a list that has this word.
fn listed<T: Copy>(
    what: &str,
    all: &[T],
    word: fn(T) -> &'static str,
    found: &str,
) -> Result<T, String> {
    let known = all.iter().copied().find(|one| word(*one) == found);
    known.ok_or_else(|| {
        let known: Vec<&str> = all.iter().map(|one| word(*one)).collect();
        format!("{what} {found:?}, allowed: {}", known.join(", "))
    })
}

/// What the conductor is asked; `None`: it has nothing to do with it.
fn of_wish(asked: DrillWish) -> Result<Option<DrillAsk>, String> {
    Ok(Some(match asked {
        DrillWish::Choose {
            scenario,
            vary,
            unit,
            crew,
        } => {
            let known: Vec<&str> = Scenario::BUILT_IN.iter().map(|(id, _)| *id).collect();
            let found = Scenario::built_in(&scenario)
                .ok_or_else(|| format!("drill {scenario:?}, allowed: {}", known.join(", ")))?;
            DrillAsk::Choose {
                scenario: Box::new(found),
                seed: if vary { some_seed() } else { 0 },
                unit: (!unit.is_empty()).then_some(unit),
                crew: (!crew.is_empty()).then_some(crew),
            }
        }
        DrillWish::Codes { .. } | DrillWish::NewDevice { .. } => return Ok(None),
        DrillWish::Leave {} => DrillAsk::Leave,
        DrillWish::Tell {} => DrillAsk::Tell,
        DrillWish::Inject { id } => DrillAsk::Inject(id),
        DrillWish::Event { what } => {
            DrillAsk::Event(listed("event", &CueKind::EVENTS, CueKind::word, &what)?)
        }
        DrillWish::Quiet {} => DrillAsk::Quiet,
        DrillWish::ByHand { on } => DrillAsk::ByHand(on),
        DrillWish::Tick { item, on } => DrillAsk::Tick {
            item: listed("item", Item::ALL, Item::word, &item)?,
            on,
        },
        DrillWish::Stop {} => DrillAsk::Stop,
        DrillWish::GoOn {} => DrillAsk::GoOn,
        DrillWish::Again {} => DrillAsk::Again,
    }))
}

/// Another one at each choice, never nought: that varies nothing.
fn some_seed() -> u32 {
    let drawn = conduct::clock::uptime_ms()
        .checked_rem(999_983)
        .unwrap_or(0);
    u32::try_from(drawn).unwrap_or(0).saturating_add(1)
}
