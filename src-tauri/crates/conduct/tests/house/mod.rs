//! The conductor as the app starts it: its own thread, the real clock, store and writer; only the speaker is a fake.

pub(crate) mod folder;
pub(crate) mod parts;

use std::{sync::mpsc::Receiver, time::Duration};

use conduct::{Ask, Handle, Parts, Shown, StartError, clock::uptime_ms};
use cycle::Act;

use parts::now;

/// A conductor that runs, and what it shows.
pub(crate) struct House {
    pub(crate) handle: Handle,
    pub(crate) shown: Receiver<Shown>,
}

impl House {
    pub(crate) fn start((parts, shown): (Parts, Receiver<Shown>)) -> Result<Self, StartError> {
        let handle = conduct::start(parts)?;
        Ok(Self { handle, shown })
    }

    pub(crate) fn press(&self, act: Act) {
        self.handle.ask(Ask::Press { act, touch: now() });
    }

    /// The first screen for which `is` holds; waits a minute in all, for a busy machine. A run that goes on shows
    /// something every few seconds: the end is the clock's, not the last screen's.
    pub(crate) fn until(&self, what: &str, is: impl Fn(&Shown) -> bool) -> Shown {
        let end = uptime_ms().saturating_add(60_000);
        let mut last = None;
        loop {
            let left = Duration::from_millis(end.saturating_sub(uptime_ms()));
            let shown = self.shown.recv_timeout(left);
            let shown = shown.unwrap_or_else(|e| panic!("never shown: {what}; {e}; last {last:?}"));
            if is(&shown) {
                return shown;
            }
            last = Some(shown);
        }
    }
}
