//! Android: every wish is a command of the Kotlin plugin in `android/`, whose channel tells the news.
//!
//! Commands go through the activity's main thread. While no activity is there, in the moment between two or after
//! the app was swiped away, a command fails; what it was for is owed, and done when the app is in front again.

use std::{
    sync::{
        Arc, OnceLock,
        mpsc::{self, Receiver, Sender},
    },
    thread,
    time::Duration,
};

use conduct::{NoPhone, Phone, PhoneNews, Wish, clock::uptime_ms};
use serde_json::{Value, json};
use tauri::{
    AppHandle, Manager, Runtime, async_runtime,
    ipc::{Channel, InvokeResponseBody},
    plugin::{Builder, PluginHandle, TauriPlugin},
};

use crate::{
    ListenError, NotShared, Notices, Tell, answered,
    owed::{self, Wished},
    wire::{self, Command},
};

/// The main thread that has not answered for so long is stuck, and Android is about to say so to the user.
const ANSWER: Duration = Duration::from_secs(5);
/// Files that were not copied by then will not be. Own: a day's hand-in is some megabytes.
const SHARED: Duration = Duration::from_mins(1);

/// The Kotlin side, or why there is none, and the way to the thread that speaks to it: there once the phone is open.
struct Droid<R: Runtime> {
    kotlin: Result<PluginHandle<R>, String>,
    to: OnceLock<Sender<Asked>>,
}

/// What the thread that speaks to Kotlin is asked.
#[derive(Debug)]
enum Asked {
    Wish(Wished),
    /// The app is in front, or has its window: do what is owed.
    Again,
}

pub(crate) fn init<R: Runtime>() -> TauriPlugin<R> {
    Builder::new("phone")
        .setup(|app, api| {
            // Without it a run goes on, only not held; `listen` says so.
            let kotlin = api
                .register_android_plugin("org.carrybeat.phone", "PhonePlugin")
                .map_err(|error| error.to_string());
            app.manage(Droid {
                kotlin,
                to: OnceLock::new(),
            });
            Ok(())
        })
        .build()
}

pub(crate) fn open<R: Runtime>(
    app: &AppHandle<R>,
    notices: Notices,
    not_shared: NotShared,
) -> Box<dyn Phone> {
    let Some(droid) = app.try_state::<Droid<R>>() else {
        return Box::new(NoPhone);
    };
    let Ok(kotlin) = droid.kotlin.clone() else {
        return Box::new(NoPhone);
    };
    let (to, from) = mpsc::channel();
    let speaker = thread::Builder::new()
        .name("phone".into())
        .spawn(move || speak(&kotlin, &notices, &Arc::new(not_shared), &from));
    if speaker.is_err() || droid.to.set(to.clone()).is_err() {
        return Box::new(NoPhone);
    }
    Box::new(Wisher { to })
}

pub(crate) fn listen<R: Runtime>(app: &AppHandle<R>, tell: Tell) -> Result<(), ListenError> {
    let Some(droid) = app.try_state::<Droid<R>>() else {
        let what = "the plugin was not registered".into();
        return Err(ListenError { what });
    };
    let kotlin = droid
        .kotlin
        .as_ref()
        .map_err(|what| ListenError { what: what.clone() })?;
    if droid.to.get().is_none() {
        let what = "no thread could be had that speaks to it".into();
        return Err(ListenError { what });
    }
    let app = app.clone();
    // Once a process: Tauri keeps every channel for ever.
    let channel = Channel::<Value>::new(move |said| {
        if let Some(news) = read(&said) {
            if let PhoneNews::Around(change) = news
                && change.brings_back()
                && let Some(droid) = app.try_state::<Droid<R>>()
            {
                droid.again();
            }
            tell(news);
        }
        Ok(())
    });
    let command = Command {
        name: "listen",
        args: json!({ "channel": channel }),
    };
    ask(kotlin, command).map_err(|what| ListenError { what })
}

fn read(said: &InvokeResponseBody) -> Option<PhoneNews> {
    match said {
        InvokeResponseBody::Json(json) => wire::news(json),
        InvokeResponseBody::Raw(_) => None,
    }
}

impl<R: Runtime> Droid<R> {
    fn again(&self) {
        if let Some(to) = self.to.get() {
            // A thread that ended is owed nothing.
            drop(to.send(Asked::Again));
        }
    }
}

/// The conductor's end: hands a wish over and goes on.
#[derive(Debug)]
struct Wisher {
    to: Sender<Asked>,
}

impl Phone for Wisher {
    fn wish(&mut self, wish: Wish) {
        // The other end lives as long as the app.
        let at_ms = uptime_ms();
        drop(self.to.send(Asked::Wish(Wished { wish, at_ms })));
    }
}

/// Speaks to Kotlin, one command after the other, until nobody can wish any more.
fn speak<R: Runtime>(
    kotlin: &PluginHandle<R>,
    notices: &Notices,
    not_shared: &Arc<NotShared>,
    from: &Receiver<Asked>,
) {
    let mut owed: Vec<Wished> = Vec::new();
    while let Ok(first) = from.recv() {
        let new = [first].into_iter().chain(from.try_iter());
        let new = new.filter_map(|asked| match asked {
            Asked::Wish(wish) => Some(wish),
            Asked::Again => None,
        });
        owed = owed::done(owed, new, uptime_ms, |wish| {
            do_it(kotlin, notices, not_shared, wish)
        });
    }
}

/// Whether a wish was done.
fn do_it<R: Runtime>(
    kotlin: &PluginHandle<R>,
    notices: &Notices,
    not_shared: &Arc<NotShared>,
    wish: &Wish,
) -> bool {
    let command = wire::command(wish, notices);
    if let Wish::Share(_) = wish {
        // Its answer comes after the files were copied; a beat that is to be felt does not wait for it.
        let answer = send(kotlin, command);
        let say = Arc::clone(not_shared);
        let waiter = thread::Builder::new().name("phone-share".into());
        let waiting = waiter.spawn(move || answered::say_if_refused(&answer, SHARED, say.as_ref()));
        if let Err(error) = waiting {
            not_shared(&format!(
                "whether files were handed over is not known: {error}; close other apps and try again"
            ));
        }
        return true;
    }
    ask(kotlin, command).is_ok()
}

/// Asks one command and waits for its answer.
fn ask<R: Runtime>(kotlin: &PluginHandle<R>, command: Command) -> Result<(), String> {
    send(kotlin, command)
        .recv_timeout(ANSWER)
        .unwrap_or_else(|_| Err("no answer".into()))
}

/// Asks one command. A task of its own, because Tauri panics where no activity is there: that ends the task, and here
/// it is one more command that failed.
fn send<R: Runtime>(kotlin: &PluginHandle<R>, command: Command) -> Receiver<Result<(), String>> {
    let (to, answer) = mpsc::channel();
    let kotlin = kotlin.clone();
    async_runtime::spawn(async move {
        let said = kotlin
            .run_mobile_plugin_async::<Value>(command.name, command.args)
            .await;
        // Nobody waits for an answer that comes too late.
        drop(to.send(said.map(drop).map_err(|error| error.to_string())));
    });
    answer
}
