//! The phone under the app: a Tauri plugin that holds a run on Android and iOS and tells what happens around it.
//!
//! The page never speaks to it. The conductor wishes ([`conduct::Wish`]), the phone tells ([`conduct::PhoneNews`]);
//! both sides are plain data, so that a fake can take the phone's place. A desktop has nothing to hold.

use conduct::{Phone, PhoneNews};
use tauri::{AppHandle, Runtime, plugin::TauriPlugin};

mod backups;
mod begin;
#[cfg(any(test, target_os = "android", target_os = "ios"))]
mod late;
#[cfg(any(test, target_os = "ios"))]
mod reading;

pub use backups::{BackupError, keep_out_of_backups};
pub use begin::begin_of;

#[cfg(target_os = "android")]
mod android;
#[cfg(target_os = "ios")]
mod ios;

#[cfg(any(test, target_os = "android"))]
mod answered;
#[cfg(any(test, target_os = "android"))]
mod owed;
#[cfg(any(test, target_os = "android"))]
mod wire;

#[cfg(target_os = "android")]
use android as system;
#[cfg(not(any(target_os = "android", target_os = "ios")))]
mod desktop;
#[cfg(not(any(target_os = "android", target_os = "ios")))]
use desktop as system;
#[cfg(target_os = "ios")]
use ios as system;

/// The notice that the system shows while a run goes on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    /// The name of such notices in the system's settings.
    pub channel: String,
    /// Its first line.
    pub title: String,
    /// Its second line.
    pub text: String,
}

/// Gives the notice in a language.
pub type Notices = Box<dyn Fn(&str) -> Notice + Send>;

/// Takes what the phone says, on any thread. Must not block.
pub type Tell = Box<dyn Fn(PhoneNews) + Send + Sync>;

/// Takes why files were not handed over, in words with their remedy, on any thread. Must not block.
pub type NotShared = Box<dyn Fn(&str) + Send + Sync>;

/// The plugin; registered before the app is set up.
pub fn init<R: Runtime>() -> TauriPlugin<R> {
    system::init()
}

/// The phone that the conductor wishes of. Called before any stream is opened: on iOS it says what our sound is to the
/// system. The sound itself is asked for then and is ours a moment later, maybe after a stream was opened.
pub fn open<R: Runtime>(
    app: &AppHandle<R>,
    notices: Notices,
    not_shared: NotShared,
) -> Box<dyn Phone> {
    system::open(app, notices, not_shared)
}

/// From now on the phone tells, first how things stand. Once a process, after [`open`].
///
/// # Errors
/// The system does not answer; the run goes on, not held and without knowing what happens around it.
pub fn listen<R: Runtime>(app: &AppHandle<R>, tell: Tell) -> Result<(), ListenError> {
    system::listen(app, tell)
}

/// The phone's system does not answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ListenError {
    /// What it said.
    pub what: String,
}

impl std::fmt::Display for ListenError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "the phone does not say what happens around it: {}; keep the app in front, watch the screen for calls and \
             other sound, and start the app again",
            self.what
        )
    }
}

impl std::error::Error for ListenError {}
