//! What happens around the phone, and how things stand to begin with.

use std::sync::OnceLock;

use conduct::PhoneNews;
use cycle::Around;
use dispatch2::DispatchQueue;
use objc2::MainThreadMarker;
use objc2_foundation::{NSArray, NSBundle, NSProcessInfo, NSString, ns_string};
use objc2_ui_kit::{UIApplication, UIApplicationState, UIDevice};

use super::{
    feel,
    native::{self, Details, Event},
    sound,
};
use crate::{
    Tell,
    reading::{self, Interruption},
};

/// The shortcut of `Info.ios.plist` on the home screen.
const START_SHORTCUT: &str = "org.carrybeat.app.start";

static TELL: OnceLock<Tell> = OnceLock::new();

/// Says it, once somebody listens.
pub(super) fn say(news: PhoneNews) {
    if let Some(tell) = TELL.get() {
        tell(news);
    }
}

fn around(change: Around) {
    say(PhoneNews::Around(change));
}

/// A shortcut was chosen; whether it is ours.
pub(super) fn shortcut(kind: &str) -> bool {
    let is_ours = kind == START_SHORTCUT;
    if is_ours {
        // The system does not say when the finger went down.
        say(PhoneNews::Begin {
            ago_ms: 0,
            by_key: false,
        });
    }
    is_ours
}

/// Listens from now on.
pub(super) fn begin(tell: Tell) -> Result<(), String> {
    TELL.set(tell)
        .map_err(|_| "it is listened to already".to_owned())?;
    native::on_each(Event::Interruption, interruption);
    native::on_each(Event::RouteChange, |_| sound::rerouted());
    native::on_each(Event::SoundServerRestarted, |_| sound::server_restarted());
    native::on_each(Event::PowerMode, |_| saving());
    native::on_each(Event::BatteryLevel, |_| on_main(battery));
    native::on_each(Event::BatteryState, |_| on_main(battery));
    native::on_each(Event::Locks, |_| around(Around::Locked { on: true }));
    native::on_each(Event::Unlocked, |_| around(Around::Locked { on: false }));
    native::on_each(Event::Front, |_| front(true));
    native::on_each(Event::Behind, |_| front(false));
    native::on_each_volume(Box::new(sound::say_how_it_stands));
    sound::say_how_it_stands();
    saving();
    around(Around::Held {
        on: is_background_sound_declared(),
    });
    match MainThreadMarker::new() {
        Some(main) => screen_and_battery(main),
        None => on_main(screen_and_battery),
    }
    // Its first answer may take a while.
    on_main(|main| native::on_each_call(main, Box::new(call)));
    Ok(())
}

/// What the main thread alone may ask for.
fn screen_and_battery(main: MainThreadMarker) {
    UIDevice::currentDevice(main).setBatteryMonitoringEnabled(true);
    battery(main);
    let app = UIApplication::sharedApplication(main);
    around(Around::Locked {
        on: !app.isProtectedDataAvailable(),
    });
    around(Around::Front {
        on: app.applicationState() == UIApplicationState::Active,
    });
    native::answer_shortcut(main);
}

/// Calls it on the main thread, later.
pub(super) fn on_main(then: impl FnOnce(MainThreadMarker) + Send + 'static) {
    DispatchQueue::main().exec_async(move || {
        if let Some(main) = MainThreadMarker::new() {
            then(main);
        }
    });
}

fn interruption(details: Details) {
    if let Some(what) = Interruption::of(details.kind, details.reason) {
        sound::interrupted(what);
    }
}

/// A call has the sound while it is spoken; its end is a moment to ask for the sound again.
fn call(on: bool) {
    around(Around::Call { on });
    if !on {
        sound::take_back_if_taken();
    }
}

/// In front again, the system grants what it refused behind: sound and motor.
fn front(on: bool) {
    around(Around::Front { on });
    if on {
        sound::take_back_if_taken();
        feel::again();
    }
}

fn saving() {
    around(Around::Saving {
        on: NSProcessInfo::processInfo().isLowPowerModeEnabled(),
    });
}

fn battery(main: MainThreadMarker) {
    let device = UIDevice::currentDevice(main);
    if let Some(pct) = reading::pct(device.batteryLevel()) {
        say(PhoneNews::Battery {
            pct,
            charging: reading::is_charging(device.batteryState().0),
        });
    }
}

/// Whether the system lets the app sound behind others and over the lock: by the app's own declaration, read as
/// the system reads it.
fn is_background_sound_declared() -> bool {
    let declared =
        NSBundle::mainBundle().objectForInfoDictionaryKey(ns_string!("UIBackgroundModes"));
    let Some(modes) = declared.and_then(|modes| modes.downcast::<NSArray>().ok()) else {
        return false;
    };
    modes.iter().any(|mode| {
        let mode = mode.downcast::<NSString>();
        mode.is_ok_and(|mode| mode.to_string() == "audio")
    })
}
