//! The screen: kept on, held as it stands, as bright as wished.

use std::cell::RefCell;

use objc2::{MainThreadMarker, available, rc::Retained};
use objc2_ui_kit::{UIApplication, UIViewController, UIWindowScene};

use super::{native, watch::on_main};
use crate::reading::{Upright, share};

/// Every way that the phone itself allows: what held it lets go.
const ALL: usize =
    Upright::Top.mask() | Upright::Bottom.mask() | Upright::Left.mask() | Upright::Right.mask();

thread_local! {
    /// How bright the screen was before we were asked, a share of one; on the main thread.
    static BEFORE: RefCell<Option<f64>> = const { RefCell::new(None) };
}

/// A run is on the screen, or none is any more: the screen stays on and stands as it stands, or both are the phone's again.
pub(super) fn hold(on: bool) {
    on_main(move |main| {
        UIApplication::sharedApplication(main).setIdleTimerDisabled(on);
        let Some(scene) = scene(main) else { return };
        let mask = if on { stands(&scene).mask() } else { ALL };
        allow(&scene, mask);
    });
}

/// As bright as wished, or as it was.
pub(super) fn brightness(wished: Option<u8>) {
    on_main(move |main| {
        let Some(screen) = scene(main).map(|scene| scene.screen()) else {
            return;
        };
        BEFORE.with_borrow_mut(|before| {
            let now = match wished {
                Some(pct) => {
                    before.get_or_insert_with(|| screen.brightness());
                    Some(share(pct))
                }
                None => before.take(),
            };
            if let Some(now) = now {
                screen.setBrightness(now);
            }
        });
    });
}

/// The app's one window on the phone's own screen.
pub(super) fn scene(main: MainThreadMarker) -> Option<Retained<UIWindowScene>> {
    let scenes = UIApplication::sharedApplication(main).connectedScenes();
    scenes
        .iter()
        .find_map(|scene| scene.downcast::<UIWindowScene>().ok())
}

/// What fills it.
pub(super) fn controller(scene: &UIWindowScene) -> Option<Retained<UIViewController>> {
    let windows = scene.windows();
    windows
        .iter()
        .find_map(|window| window.rootViewController())
}

#[expect(deprecated, reason = "what takes its place is not there before iOS 16")]
fn stands(scene: &UIWindowScene) -> Upright {
    Upright::of(scene.interfaceOrientation().0).unwrap_or(Upright::Top)
}

/// Before iOS 16 the system takes a narrower choice when the phone is next moved.
fn allow(scene: &UIWindowScene, mask: usize) {
    let Some(controller) = controller(scene) else {
        return;
    };
    if native::allow_orientations(&controller, mask) && available!(ios = 16.0) {
        controller.setNeedsUpdateOfSupportedInterfaceOrientations();
    }
}
