//! iOS, in Rust through bindings made from Apple's headers: no line of Swift.
//!
//! Wishes are carried out on queues of the system's: what touches the screen or the motor on the main one, what
//! waits for the sound server on one of its own. A wish therefore never waits. `docs/phones-ios.md` says what iOS
//! does not let an app do, and what nobody has yet seen on a phone.

mod feel;
mod motion;
#[expect(
    unsafe_code,
    reason = "Apple's frameworks are called here and nowhere else, each call with its reason"
)]
mod native;
mod screen;
mod share;
mod sound;
mod watch;

pub(crate) use native::keep_out_of_backups;

use conduct::{Phone, Wish};
use tauri::{
    AppHandle, Runtime,
    plugin::{Builder, TauriPlugin},
};

use crate::{ListenError, NotShared, Notices, Tell};

pub(crate) fn init<R: Runtime>() -> TauriPlugin<R> {
    Builder::new("phone").build()
}

/// What our sound is to the system is said at once: whoever opens a stream after this call has it played with the ring
/// switch off. The sound is asked for then and is ours a moment later.
/// iOS shows no notice for a run, so that none is asked for.
pub(crate) fn open<R: Runtime>(
    _app: &AppHandle<R>,
    _notices: Notices,
    not_shared: NotShared,
) -> Box<dyn Phone> {
    sound::prepare();
    share::say_by(not_shared);
    Box::new(Ios)
}

pub(crate) fn listen<R: Runtime>(_app: &AppHandle<R>, tell: Tell) -> Result<(), ListenError> {
    watch::begin(tell).map_err(|what| ListenError { what })
}

/// The phone.
#[derive(Clone, Copy, Debug)]
struct Ios;

impl Phone for Ios {
    fn wish(&mut self, wish: Wish) {
        match wish {
            // The volume is the crew's alone on iOS: it is told as it is.
            Wish::Hold { .. } => sound::hold(true),
            Wish::LetGo => {
                feel::feel(Vec::new());
                sound::hold(false);
            }
            Wish::Screen(on) => screen::hold(on),
            Wish::Feel(pulses) => feel::feel(pulses),
            Wish::Brightness(pct) => screen::brightness(pct),
            Wish::Motion(on) => motion::tell(on),
            Wish::Share(files) => share::share(files),
        }
    }
}
