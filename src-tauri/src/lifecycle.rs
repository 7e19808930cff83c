use std::{error::Error, io::Write, path::Path, sync::Arc};

use ::listening::Sheet;
use audio::{Pack, Player};
use conduct::{Ask, Handle, Heads, Own, Parts, PhoneNews, StartError, settings::Settings};
use cycle::{Around, ClipLengths, Ms, Protocol, Setup};
use record::{Digest, RunKind};
use tauri::{App, AppHandle, Manager, RunEvent, ipc::Channel};
use words::{Fixed, Labels, News, Paper, PaperWord, REFERENCE, SettingWord};

use after::After;

use crate::{
    afterwards::Desk,
    board::Board,
    drafting::{Drawn, Table},
    error::{Code, CommandError},
    papers::{Drawer, Now, own_folder, voices_folder},
    tongues::Tongues,
    window,
};

/// What the commands work on: a started app, or the reason why it did not start.
pub(crate) struct House(Result<Open, CommandError>);

struct Open {
    board: Board,
    drawer: Drawer,
    handle: Handle,
    after: After,
}

impl Open {
    /// The phone lies on a stretcher among strangers: while it is locked, what is kept stays out of sight.
    fn out_of_sight(&self) -> CommandError {
        let words = self.drawer.words();
        CommandError {
            code: Code::PhoneLocked,
            message: words.fixed(Fixed::ErrorPhoneLocked).to_owned(),
        }
    }
}

impl House {
    /// Joins a page to the board.
    pub(crate) fn subscribe(
        &self,
        page: Channel<News>,
        system: &str,
    ) -> Result<Labels, CommandError> {
        let open = self.0.as_ref().map_err(Clone::clone)?;
        // A run keeps the language that it began with.
        if !open.board.has_run()
            && let Some(ask) = open.drawer.follow_system(system)
        {
            open.handle.ask(ask);
        }
        open.board.subscribe(page);
        let there = Around::Page { on: true };
        open.handle.ask(Ask::Phone(PhoneNews::Around(there)));
        Ok(open.drawer.labels())
    }

    /// A page before or after a run.
    pub(crate) fn paper(&self, page: PaperWord) -> Result<Paper, CommandError> {
        let open = self.0.as_ref().map_err(Clone::clone)?;
        if page == PaperWord::Past && open.board.is_locked() {
            return Err(open.out_of_sight());
        }
        open.drawer
            .paper(page, open.board.class(), open.board.silent())
    }

    /// Sets something, and keeps it.
    pub(crate) fn choose(&self, what: SettingWord, value: &str) -> Result<Labels, CommandError> {
        let open = self.0.as_ref().map_err(Clone::clone)?;
        if what == SettingWord::Lang && open.board.has_run() {
            return Err(open.drawer.not_in_a_run());
        }
        open.drawer
            .choose(what, value, |ask| open.handle.ask(ask))?;
        Ok(open.drawer.labels())
    }

    /// What the screens after a run are made of.
    pub(crate) fn desk(&self) -> Result<Desk<'_>, CommandError> {
        let open = self.0.as_ref().map_err(Clone::clone)?;
        if open.board.is_locked() {
            return Err(open.out_of_sight());
        }
        Ok(Desk {
            words: open.drawer.words(),
            after: &open.after,
            theme: open.board.theme(),
            live: open.board.record(),
        })
    }

    /// The codes of unit and crew, for drills.
    ///
    /// # Errors
    /// Why the app could not start.
    pub(crate) fn codes(&self) -> Result<(String, String), CommandError> {
        let open = self.0.as_ref().map_err(Clone::clone)?;
        Ok(open.drawer.codes())
    }

    /// Keeps the codes of unit and crew.
    ///
    /// # Errors
    /// A code is none, or cannot be kept.
    pub(crate) fn set_codes(&self, unit: &str, crew: &str) -> Result<(), CommandError> {
        let open = self.0.as_ref().map_err(Clone::clone)?;
        open.drawer.set_codes(unit, crew)
    }

    /// When a new device came, ms from 1970, for drills.
    ///
    /// # Errors
    /// Why the app could not start.
    pub(crate) fn device(&self) -> Result<Option<i64>, CommandError> {
        let open = self.0.as_ref().map_err(Clone::clone)?;
        Ok(open.drawer.device())
    }

    /// Keeps when a new device came; `None` takes it back.
    ///
    /// # Errors
    /// It cannot be kept.
    pub(crate) fn set_device(&self, since: Option<i64>) -> Result<(), CommandError> {
        let open = self.0.as_ref().map_err(Clone::clone)?;
        open.drawer.set_device(since)
    }

    /// Whether a listening test may begin.
    ///
    /// # Errors
    /// A run goes on, or clips of the voice are faulty: another sound would stand for them.
    pub(crate) fn may_listen(&self) -> Result<(), CommandError> {
        let open = self.0.as_ref().map_err(Clone::clone)?;
        if open.board.has_run() {
            return Err(open.drawer.not_in_a_run());
        }
        open.drawer.whole_voice()
    }

    /// What the protocol editor is made of: on a desk, between runs.
    ///
    /// # Errors
    /// This is a phone, or a run goes on.
    pub(crate) fn drafting(&self) -> Result<Table<'_>, CommandError> {
        let open = self.0.as_ref().map_err(Clone::clone)?;
        if cfg!(mobile) || open.board.has_run() {
            return Err(open.drawer.not_in_a_run());
        }
        Ok(Table {
            words: open.drawer.words(),
            drafting: open.drawer.drafting(),
            pack: open.drawer.pack(),
            theme: open.drawer.theme(),
        })
    }

    /// The sheet of the listening test that is over.
    ///
    /// # Errors
    /// None is.
    pub(crate) fn sheet(&self) -> Result<Sheet, CommandError> {
        let open = self.0.as_ref().map_err(Clone::clone)?;
        let none = || CommandError {
            code: Code::Setting,
            message: open.drawer.words().listening_labels().none_done,
        };
        open.board.sheet().ok_or_else(none)
    }

    /// What was written is handed to whom the crew chooses, where the system has a way; says where it is.
    pub(crate) fn handed_over(&self, written: after::Written) -> String {
        self.ask(Ask::Share(written.files));
        written.said
    }

    /// Whether a run goes on.
    fn is_live(&self) -> bool {
        let open = self.0.as_ref();
        open.is_ok_and(|open| open.board.is_live())
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
    app.manage(Drawn::default());
    window::open(app.handle())
}

/// What the system says of the app.
pub(crate) fn happened(app: &AppHandle, event: &RunEvent) {
    if let RunEvent::Exit = event {
        close(app);
    }
    if let RunEvent::ExitRequested { code, api, .. } = event {
        let house = app.try_state::<House>();
        let is_live = house.is_some_and(|house| house.is_live());
        if window::outlived(cfg!(mobile), is_live, *code) {
            api.prevent_exit();
        }
    }
    // A shortcut of the system's own: its address is the one way in without a touch of ours.
    #[cfg(target_os = "ios")]
    if let RunEvent::Opened { urls } = event
        && let Some(begin) = urls.iter().find_map(|url| phone::begin_of(url.as_str()))
        && let Some(house) = app.try_state::<House>()
    {
        house.ask(Ask::Phone(begin));
    }
}

/// The process ends: everything that was marked goes to the disk first.
fn close(app: &AppHandle) {
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

fn open(app: &App) -> Result<Open, CommandError> {
    let tongues = Tongues::load().map_err(|error| refuse(Code::Start, "", &error))?;
    let tongues = Arc::new(tongues);
    let words = tongues.of(REFERENCE);
    let folder = app
        .path()
        .app_data_dir()
        .map_err(|error| refuse(Code::Folder, words.fixed(Fixed::ErrorFolder), &error))?
        .join("runs");
    let mut other_faults = Vec::new();
    let set_at = folder.with_file_name("settings.json");
    let settings = Settings::load(&set_at).unwrap_or_else(|error| {
        other_faults.push(error.to_string());
        *error.rest
    });
    // What was not chosen follows the phone, once the page says what that speaks.
    let tags = [&settings.lang, &settings.followed];
    let lang = tags.into_iter().find(|tag| !tag.is_empty());
    let lang = lang.map_or(REFERENCE, String::as_str);
    // What is wrong until another language or voice is chosen.
    let mut told = Vec::new();
    let words = tongues.find(lang).unwrap_or_else(|error| {
        told.push(words.language_gone(&error.to_string()));
        words
    });
    let lang = words.lang();
    let voices = voices_folder(&folder);
    let (pack, not_own) = Pack::with_own(&voices, lang);
    let remarks: Vec<String> = not_own.iter().map(ToString::to_string).collect();
    told.extend(remarks.iter().cloned());
    let faults: Vec<String> = pack.faults().iter().map(ToString::to_string).collect();
    let own = Own::read(&own_folder(&folder));
    other_faults.extend(own.faults.iter().map(ToString::to_string));
    let chosen = &settings.protocol;
    let gone = (!is_known(&own, chosen)).then(|| chosen.clone());
    let setup = setup(&own, chosen, pack.lengths()).map_err(|what| CommandError {
        code: Code::Protocol,
        message: format!("{}: {what}", words.fixed(Fixed::ErrorProtocol)),
    })?;
    let place = folder.display().to_string();
    let kept_at = folder.clone();
    let board = Board::default();
    let settings_levels = settings.levels;
    let (theme, feel) = (settings.theme, settings.feel);
    let now = Now {
        settings,
        setup: setup.clone(),
        lang,
        pack: pack.clone(),
        remarks,
    };
    let drawer = Drawer::new(Arc::clone(&tongues), (folder.clone(), set_at), now);
    let (locked, remedy, unable) = (
        words.fixed(Fixed::ErrorLocked).to_owned(),
        words.fixed(Fixed::ErrorLockedRemedy).to_owned(),
        words.fixed(Fixed::ErrorStart).to_owned(),
    );
    // Before the stream is opened: on iOS the system must know by then what our sound is.
    let phone = phone::open(
        app.handle(),
        notices(&tongues),
        not_shared(&tongues, &board),
    );
    let mut player =
        Player::open(pack.clone()).map_err(|error| refuse(Code::Start, &unable, &error))?;
    player.set_zero(conduct::HOUSE_ZERO_MS);
    player.set_own(voices);
    let after = After::at(&folder);
    let parts = Parts {
        folder,
        speaker: Box::new(player),
        phone,
        heads: heads(&pack, lang),
        faults,
        remarks: told,
        other_faults,
        setup,
        levels: settings_levels,
        seal_after: Ms(conduct::SEAL_AFTER_MS),
        show: {
            let board = board.clone();
            Box::new(move |shown| {
                let (words, spoken) = (tongues.of(&shown.lang), tongues.of(&shown.voice));
                board.show((&words, &spoken), &shown, gone.as_deref());
            })
        },
    };
    let handle = conduct::start(parts).map_err(|error| match error {
        StartError::Lock(_) => CommandError {
            code: Code::Locked,
            message: format!("{locked}. {remedy} ({place})"),
        },
        StartError::Thread(_) => refuse(Code::Start, &unable, &error),
    })?;
    handle.ask(Ask::Theme(theme));
    handle.ask(Ask::Feel(feel));
    keep_out_of_backups(&handle, &kept_at);
    listen(app, &handle, board.clone());
    Ok(Open {
        board,
        drawer,
        handle,
        after,
    })
}

/// Whether there is such a protocol. Empty: none was chosen yet, and the first example is in force.
fn is_known(own: &Own, chosen: &str) -> bool {
    chosen.is_empty()
        || own.protocols.iter().any(|p| p.id == chosen)
        || Protocol::example(chosen).is_some()
}

/// The folder must be there by now. Nobody reads a phone's terminal: what is wrong stands on the first screen.
fn keep_out_of_backups(handle: &Handle, folder: &Path) {
    if let Err(error) = phone::keep_out_of_backups(folder) {
        complain(&error);
        handle.ask(Ask::Wrong(error.to_string()));
    }
}

/// The conductor hears what the phone says. Without it the run goes on, and the screen says that nothing holds it.
fn listen(app: &App, handle: &Handle, board: Board) {
    let here = app.handle().clone();
    let gone = PhoneNews::Around(Around::Page { on: false });
    let heard = handle.clone();
    let tell = Box::new(move |news| {
        if news == PhoneNews::Bare {
            window::mend(&here);
        }
        if news == gone {
            board.leave();
        }
        heard.ask(Ask::Phone(news));
    });
    if let Err(error) = phone::listen(app.handle(), tell) {
        complain(&error);
        handle.ask(Ask::PhoneSilent(error.to_string()));
    }
}

/// Why files were not handed over is said on the page, in its language.
fn not_shared(tongues: &Arc<Tongues>, board: &Board) -> phone::NotShared {
    let (tongues, board) = (Arc::clone(tongues), board.clone());
    Box::new(move |why| board.refuse(&tongues.of(&board.lang()), why))
}

/// What the phone's system shows of a run, in the language of the screen.
fn notices(tongues: &Arc<Tongues>) -> phone::Notices {
    let tongues = Arc::clone(tongues);
    Box::new(move |lang| {
        let words = tongues.of(lang);
        let word = |word| words.fixed(word).to_owned();
        phone::Notice {
            channel: word(Fixed::NoticeChannel),
            title: word(Fixed::NoticeTitle),
            text: word(Fixed::NoticeText),
        }
    })
}

/// The numbers in force and the lengths of the clips; a protocol that is gone gives way to the first example.
fn setup(own: &Own, id: &str, clips: &ClipLengths) -> Result<Setup, String> {
    if let Some(setup) = own.setup(id, clips.clone()) {
        return Ok(setup);
    }
    let known = Protocol::example(id).map_or(PROTOCOL, |_| id);
    conduct::of_example(known, clips.clone())
        .ok_or_else(|| format!("no built-in {known}"))?
        .map_err(|faults| {
            let faults: Vec<String> = faults.iter().map(ToString::to_string).collect();
            format!("{known}: {}", faults.join("; "))
        })
}

/// What each record's header says of app and pack.
fn heads(pack: &Pack, lang: &str) -> Heads {
    Heads {
        kind: RunKind::Run,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        pack_id: pack.id().to_owned(),
        pack_sha256: digest(pack),
        lang: lang.to_owned(),
        tz: conduct::clock::time_zone(),
        record_id: String::new(),
        scenario: None,
        unit_code: None,
    }
}

/// What names tones and voices together.
pub(crate) fn digest(pack: &Pack) -> Digest {
    let hash = pack.hash();
    hash.parse().unwrap_or_else(|_| Digest::of(hash.as_bytes()))
}

pub(crate) fn refuse(code: Code, place: &str, error: &dyn Error) -> CommandError {
    let message = if place.is_empty() {
        error.to_string()
    } else {
        format!("{place}: {error}")
    };
    CommandError { code, message }
}
