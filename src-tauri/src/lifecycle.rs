use std::{error::Error, io::Write};

use audio::{Pack, Player};
use conduct::{Ask, Handle, Heads, Parts, StartError};
use cycle::{Protocol, Setup};
use record::{Digest, RunKind};
use tauri::{App, AppHandle, Manager, WebviewWindowBuilder, ipc::Channel};
use words::{Fixed, Labels, Screen, Words};

use crate::{
    board::Board,
    error::{Code, CommandError},
};

/// What the commands work on: a started app, or the reason why it did not start.
pub(crate) struct House(Result<Open, CommandError>);

struct Open {
    board: Board,
    labels: Labels,
    handle: Handle,
}

impl House {
    /// Joins a page to the board.
    pub(crate) fn subscribe(&self, page: Channel<Screen>) -> Result<Labels, CommandError> {
        let open = self.0.as_ref().map_err(Clone::clone)?;
        open.board.subscribe(page);
        Ok(open.labels.clone())
    }

    /// Passes a request on. An app that did not start has nobody to ask.
    pub(crate) fn ask(&self, ask: Ask) {
        if let Ok(open) = &self.0 {
            open.handle.ask(ask);
        }
    }
}

/// Starts the conductor, then opens the window, which shows why if that did not work.
pub(crate) fn set_up(app: &mut App) -> Result<(), Box<dyn Error>> {
    let opened = open(app);
    if let Err(error) = &opened {
        complain(error);
    }
    app.manage(House(opened));
    let window = app
        .config()
        .app
        .windows
        .first()
        .ok_or("tauri.conf.json names no window")?
        .clone();
    WebviewWindowBuilder::from_config(app.handle(), &window)?.build()?;
    Ok(())
}

/// The process ends: everything that was marked goes to the disk first.
pub(crate) fn close(app: &AppHandle) {
    if let Some(house) = app.try_state::<House>()
        && let Ok(open) = &house.0
    {
        open.handle.close();
    }
}

/// Says on the terminal, if there is one, why the app does not start.
pub(crate) fn complain(error: &dyn Error) {
    // Nobody may be reading: then the window alone says it.
    drop(writeln!(std::io::stderr(), "carrybeat: {error}"));
}

/// The built-in protocol, which says itself that it is an example.
const PROTOCOL: &str = "example-adult";
/// The language of screen and voice.
const LANG: &str = "en-US";

fn open(app: &App) -> Result<Open, CommandError> {
    let words = Words::load(LANG).map_err(|error| refuse(Code::Start, "", &error))?;
    let folder = app
        .path()
        .app_data_dir()
        .map_err(|error| refuse(Code::Folder, words.fixed(Fixed::ErrorFolder), &error))?
        .join("runs");
    let pack = Pack::built_in();
    let setup = setup(&pack).map_err(|what| CommandError {
        code: Code::Protocol,
        message: format!("{}: {what}", words.fixed(Fixed::ErrorProtocol)),
    })?;
    let place = folder.display().to_string();
    let board = Board::default();
    let labels = words.labels(&setup.protocol.name);
    let (locked, remedy, unable) = (
        words.fixed(Fixed::ErrorLocked).to_owned(),
        words.fixed(Fixed::ErrorLockedRemedy).to_owned(),
        words.fixed(Fixed::ErrorStart).to_owned(),
    );
    let mut player =
        Player::open(pack.clone()).map_err(|error| refuse(Code::Start, &unable, &error))?;
    player.set_zero(conduct::HOUSE_ZERO_MS);
    let parts = Parts {
        folder,
        speaker: Box::new(player),
        heads: heads(&pack),
        faults: pack.faults().iter().map(ToString::to_string).collect(),
        setup,
        show: {
            let board = board.clone();
            Box::new(move |shown| board.show(&words, &shown))
        },
    };
    let handle = conduct::start(parts).map_err(|error| match error {
        StartError::Lock(_) => CommandError {
            code: Code::Locked,
            message: format!("{locked}. {remedy} ({place})"),
        },
        StartError::Thread(_) => refuse(Code::Start, &unable, &error),
    })?;
    Ok(Open {
        board,
        labels,
        handle,
    })
}

/// The numbers in force and the lengths of the clips.
fn setup(pack: &Pack) -> Result<Setup, String> {
    let text = Protocol::example(PROTOCOL).ok_or_else(|| format!("no built-in {PROTOCOL}"))?;
    let told = |faults: Vec<cycle::ProtocolFault>| {
        let faults: Vec<String> = faults.iter().map(ToString::to_string).collect();
        format!("{PROTOCOL}: {}", faults.join("; "))
    };
    let protocol = Protocol::parse(text.as_bytes()).map_err(told)?;
    Ok(Setup {
        class: protocol.class,
        clips: pack.lengths().clone(),
        others: protocol.examples_beside().map_err(told)?,
        protocol,
    })
}

/// What each record's header says of app and pack.
fn heads(pack: &Pack) -> Heads {
    Heads {
        kind: RunKind::Run,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        pack_id: LANG.to_owned(),
        pack_sha256: pack
            .hash()
            .parse()
            .unwrap_or_else(|_| Digest::of(pack.hash().as_bytes())),
        lang: LANG.to_owned(),
        tz: conduct::clock::time_zone(),
        record_id: String::new(),
    }
}

fn refuse(code: Code, place: &str, error: &dyn Error) -> CommandError {
    let message = if place.is_empty() {
        error.to_string()
    } else {
        format!("{place}: {error}")
    };
    CommandError { code, message }
}
