//! The app's one window: opened at the start, and anew where a phone took it away in a run.

use std::error::Error;

use tauri::{AppHandle, Manager, WebviewWindowBuilder};

use crate::{lifecycle::complain, page};

/// Opens the window that `tauri.conf.json` describes. Called on the thread of the windows.
///
/// # Errors
/// None is described, or the system gives none.
pub(crate) fn open(app: &AppHandle) -> Result<(), Box<dyn Error>> {
    let windows = &app.config().app.windows;
    let described = windows.first().ok_or("tauri.conf.json names no window")?;
    let window = WebviewWindowBuilder::from_config(app, described)?.build()?;
    page::watch(&window)?;
    Ok(())
}

/// The app is in front and shows nothing: opens the window if it is gone. Does not wait for it; where it cannot be
/// opened the phone tells again.
pub(crate) fn mend(app: &AppHandle) {
    let here = app.clone();
    let asked = app.run_on_main_thread(move || {
        if here.webview_windows().is_empty()
            && let Err(error) = open(&here)
        {
            complain(error.as_ref());
        }
    });
    if let Err(error) = asked {
        complain(&error);
    }
}

/// Whether the process goes on although its last window is gone; `code`: somebody asked for its end.
///
/// On a phone a window goes by a swipe, by the key that goes back, or because the system wants its memory; in a run
/// the sound must not go with it. On a desktop it was closed by hand: the run is resumed at the next start.
pub(crate) const fn outlived(is_phone: bool, is_live: bool, code: Option<i32>) -> bool {
    is_phone && is_live && code.is_none()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_run_on_a_phone_outlives_its_window() {
        for (is_phone, is_live, code, stays) in [
            (true, true, None, true),
            (true, false, None, false),
            (false, true, None, false),
            (false, false, None, false),
            (true, true, Some(0), false),
        ] {
            let told = (is_phone, is_live, code);
            assert_eq!(outlived(is_phone, is_live, code), stays, "{told:?}");
        }
    }
}
