//! Files handed to another app by the system's own sheet.

use std::{path::PathBuf, sync::OnceLock};

use super::{native, screen, watch::on_main};
use crate::NotShared;

static NOT_SHARED: OnceLock<NotShared> = OnceLock::new();

/// Why nothing was handed over is said by this, from now on.
pub(super) fn say_by(not_shared: NotShared) {
    // Once a process; a second one would say the same.
    drop(NOT_SHARED.set(not_shared));
}

fn refuse(why: &str) {
    if let Some(say) = NOT_SHARED.get() {
        say(&format!("nothing was handed over: {why}"));
    }
}

/// Opens the sheet over whatever is shown, with the files that are still there; without any it opens none.
pub(super) fn share(mut files: Vec<PathBuf>) {
    on_main(move |main| {
        files.retain(|file| file.exists());
        if files.is_empty() {
            return refuse("the files are not there; write them again and try once more");
        }
        let shown = screen::scene(main).and_then(|scene| screen::controller(&scene));
        let Some(shown) = shown else {
            return refuse(
                "no screen of the app is there to share from; open the app and try again",
            );
        };
        let Some(sheet) = native::share_sheet(&files, main) else {
            return refuse(
                "the system has no sheet for these files; write them again and try once more",
            );
        };
        // On a tablet the sheet points at something, or the system ends the app: at the whole screen.
        if let Some(popover) = sheet.popoverPresentationController()
            && let Some(view) = shown.view()
        {
            popover.setSourceView(Some(&view));
            popover.setSourceRect(view.bounds());
        }
        let mut over = shown;
        while let Some(next) = over.presentedViewController() {
            over = next;
        }
        over.presentViewController_animated_completion(&sheet, true, None);
    });
}
