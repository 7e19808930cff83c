//! The process that draws the page may die; the run does not notice. It is told, and the page is drawn anew.

use conduct::{Ask, PhoneNews};
use cycle::Around;
use tauri::{AppHandle, Manager, WebviewWindow};

use crate::lifecycle::House;

/// Tells the conductor that the page is there, or gone.
pub(crate) fn tell(app: &AppHandle, is_there: bool) {
    if let Some(house) = app.try_state::<House>() {
        let page = Around::Page { on: is_there };
        house.ask(Ask::Phone(PhoneNews::Around(page)));
    }
}

/// Where the system says so by the window. iOS has it from the builder, Android from its own client.
///
/// # Errors
/// The window is gone.
#[cfg(target_os = "linux")]
pub(crate) fn watch(window: &WebviewWindow) -> tauri::Result<()> {
    use webkit2gtk::WebViewExt;

    let app = window.app_handle().clone();
    window.with_webview(move |webview| {
        webview
            .inner()
            .connect_web_process_terminated(move |view, _why| {
                tell(&app, false);
                view.reload();
            });
    })
}

#[cfg(not(target_os = "linux"))]
#[expect(
    clippy::unnecessary_wraps,
    reason = "the same call as where a window says it"
)]
pub(crate) fn watch(_window: &WebviewWindow) -> tauri::Result<()> {
    Ok(())
}
