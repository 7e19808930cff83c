//! The process that draws the page may die; the run does not notice. It is told, and the page is drawn anew: at once,
//! and a page that dies again and again later each time, so that it does not take the machine from the sound.

#[cfg(target_os = "linux")]
use tauri::Manager;
use tauri::WebviewWindow;

#[cfg(any(target_os = "linux", target_os = "ios"))]
pub(crate) use dying::{Deaths, lost};

#[cfg(any(target_os = "linux", target_os = "ios"))]
mod dying;

/// Where the system says so by the window. iOS has it from the builder, Android from its own client.
///
/// # Errors
/// The window is gone.
#[cfg(target_os = "linux")]
pub(crate) fn watch(window: &WebviewWindow) -> tauri::Result<()> {
    use webkit2gtk::WebViewExt;

    let app = window.app_handle().clone();
    window.with_webview(move |webview| {
        let deaths = Deaths::default();
        webview
            .inner()
            .connect_web_process_terminated(move |view, _why| {
                lost(&app, &deaths, || view.reload());
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
