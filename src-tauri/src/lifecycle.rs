use std::{error::Error, io::Write};

use conduct::Ask;
use tauri::{App, Manager, WebviewWindowBuilder, ipc::Channel};
use words::{Labels, Screen, Words};

use crate::{
    board::Board,
    error::{Code, CommandError},
};

/// What the commands work on: a started app, or the reason why it did not start.
pub(crate) struct House(Result<Open, CommandError>);

struct Open {
    board: Board,
    labels: Labels,
    ask: Box<dyn Fn(Ask) + Send + Sync>,
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
            (open.ask)(ask);
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

/// Says on the terminal, if there is one, why the app does not start.
pub(crate) fn complain(error: &dyn Error) {
    // Nobody may be reading: then the window alone says it.
    drop(writeln!(std::io::stderr(), "carrybeat: {error}"));
}

fn open(_app: &App) -> Result<Open, CommandError> {
    let words = Words::load("en-US").map_err(|error| CommandError {
        code: Code::Start,
        message: error.to_string(),
    })?;
    let board = Board::default();
    board.show(&words, &before());
    Ok(Open {
        labels: words.labels("Example, adult"),
        board,
        ask: Box::new(|_| {}),
    })
}

fn before() -> conduct::Shown {
    use cycle::{Act, Card, Figure, Ms, StateWord, View};
    conduct::Shown {
        view: View {
            card: Card::Before,
            state: StateWord::Before,
            state_since: Ms::ZERO,
            reason: None,
            figure: Figure::None,
            next: None,
            urgent: false,
            main: vec![Act::StartByHand],
            side: vec![],
            sheet: vec![],
            undo: false,
            banners: vec![],
            said: None,
            shocks: 0,
            beat_off: false,
            outcome: None,
        },
        banners: vec![],
        now: Ms::ZERO,
        last_mark: None,
        kept_through: None,
        waiting_ms: 0,
        pulses: vec![],
        faults: vec![],
    }
}
