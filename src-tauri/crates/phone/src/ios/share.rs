//! Files handed to another app by the system's own sheet.

use std::path::PathBuf;

use super::{native, screen, watch::on_main};

/// Opens the sheet over whatever is shown, with the files that are still there; without any it opens none.
pub(super) fn share(mut files: Vec<PathBuf>) {
    on_main(move |main| {
        files.retain(|file| file.exists());
        if files.is_empty() {
            return;
        }
        let shown = screen::scene(main).and_then(|scene| screen::controller(&scene));
        let (Some(shown), Some(sheet)) = (shown, native::share_sheet(&files, main)) else {
            return;
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
