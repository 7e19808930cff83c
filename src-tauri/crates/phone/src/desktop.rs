//! A desktop: nothing to hold, and nothing happens around it that its sound does not say itself.

use conduct::{NoPhone, Phone};
use tauri::{
    AppHandle, Runtime,
    plugin::{Builder, TauriPlugin},
};

use crate::{ListenError, NotShared, Notices, Tell};

pub(crate) fn init<R: Runtime>() -> TauriPlugin<R> {
    Builder::new("phone").build()
}

pub(crate) fn open<R: Runtime>(
    _app: &AppHandle<R>,
    _notices: Notices,
    _not_shared: NotShared,
) -> Box<dyn Phone> {
    Box::new(NoPhone)
}

#[expect(
    clippy::unnecessary_wraps,
    reason = "the same call as on a phone, whose system may not answer"
)]
pub(crate) fn listen<R: Runtime>(_app: &AppHandle<R>, _tell: Tell) -> Result<(), ListenError> {
    Ok(())
}
