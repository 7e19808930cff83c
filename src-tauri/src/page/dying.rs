//! A page's process that died: the conductor is told, and the page loaded again, at once or after a while.

use std::{
    collections::VecDeque,
    sync::{Mutex, PoisonError, mpsc},
    thread,
    time::Duration,
};

use conduct::{Ask, PhoneNews, clock::uptime_ms};
use cycle::Around;
use tauri::{AppHandle, Manager};

use crate::lifecycle::House;

/// Deaths so long ago count no more, ms. This and the two below as in the Kotlin of crate `phone`, which does the same
/// for Android. Source: the project's own choice.
const WINDOW_MS: u64 = 60_000;
/// Each further death puts the next page off by so much, ms.
const STEP_MS: u64 = 500;
/// It is never given up: without a page there is no way to mark anything.
const MOST_MS: u64 = 5000;

/// When the page's process died.
#[derive(Debug, Default)]
pub(crate) struct Deaths(Mutex<VecDeque<u64>>);

impl Deaths {
    /// It died now; so long it is waited with the next one, ms.
    fn wait_ms(&self, now_ms: u64) -> u64 {
        let mut deaths = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        deaths.push_back(now_ms);
        deaths.retain(|at| now_ms.saturating_sub(*at) <= WINDOW_MS);
        let before = u64::try_from(deaths.len().saturating_sub(1)).unwrap_or(MOST_MS);
        STEP_MS.saturating_mul(before).min(MOST_MS)
    }
}

/// The page's process is gone: the conductor is told, and the page loaded again, the first time by `at_once`. That it
/// is there again the page says itself.
pub(crate) fn lost(app: &AppHandle, deaths: &Deaths, at_once: impl FnOnce()) {
    if let Some(house) = app.try_state::<House>() {
        let page = Around::Page { on: false };
        house.ask(Ask::Phone(PhoneNews::Around(page)));
    }
    let wait = deaths.wait_ms(uptime_ms());
    if wait == 0 || !later(app, Duration::from_millis(wait)) {
        at_once();
    }
}

/// Loads every page again after a while; whether that could be arranged.
fn later(app: &AppHandle, wait: Duration) -> bool {
    let app = app.clone();
    let reload = move || {
        // Nobody calls: it waits as long as it was told to.
        let (_kept, calls) = mpsc::channel::<()>();
        calls.recv_timeout(wait).unwrap_or_default();
        for page in app.webview_windows().into_values() {
            // A page that cannot be loaded is not there; the sound says that the run goes on.
            page.reload().unwrap_or_default();
        }
    };
    let thread = thread::Builder::new().name("page".to_owned()).spawn(reload);
    thread.is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_that_died_once_is_loaded_at_once_and_the_next_ones_later_and_later() {
        let deaths = Deaths::default();
        let waits: Vec<u64> = (0..14).map(|n| deaths.wait_ms(1000 + n)).collect();
        assert_eq!(waits[..3], [0, 500, 1000]);
        assert_eq!(waits[10..], [5000; 4]);
        assert_eq!(
            deaths.wait_ms(3_600_000),
            0,
            "an hour later it is the first"
        );
    }

    /// The machine that plays has better things to do than to start a page without end.
    #[test]
    fn a_page_that_dies_as_it_is_loaded_is_loaded_some_times_a_minute() {
        let deaths = Deaths::default();
        let mut now = 0;
        let mut loaded = 0;
        while now < 600_000 {
            // It lives for a tenth of a second.
            now += deaths.wait_ms(now) + 100;
            loaded += 1;
        }
        assert!((80..=200).contains(&loaded), "{loaded} in ten minutes");
    }
}
