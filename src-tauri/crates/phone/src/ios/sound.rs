//! The sound session: asked for to begin with, and taken back whenever another one has had it.

use std::{
    sync::{
        OnceLock,
        atomic::{AtomicBool, Ordering},
    },
    time::Duration,
};

use conduct::PhoneNews;
use cycle::Around;
use dispatch2::{DispatchQueue, DispatchRetained, DispatchTime};

use super::{native, watch::say};
use crate::reading::{self, Interruption};

/// Between two tries to take the sound back. No source: it is to come back by itself, and the system is asked no
/// oftener than one can hear.
const RETRY: Duration = Duration::from_secs(2);

/// A run goes on.
static HELD: AtomicBool = AtomicBool::new(false);
/// Another one has the sound.
static TAKEN: AtomicBool = AtomicBool::new(false);
/// What our sound is to the system was refused.
static REFUSED: AtomicBool = AtomicBool::new(false);
/// A try to take it back is under way or due.
static TRYING: AtomicBool = AtomicBool::new(false);

/// Taking the sound waits for the sound server: in a line of its own, one after the other.
fn line() -> &'static DispatchQueue {
    static LINE: OnceLock<DispatchRetained<DispatchQueue>> = OnceLock::new();
    LINE.get_or_init(|| DispatchQueue::new("org.carrybeat.sound", None))
}

/// Sets what our sound is to the system. Nothing of it changes later: a change of the category in the middle has
/// the open stream invalidated, and the beat would stop at Start.
///
/// Taking the sound waits for the system and is left to the line, so a stream may be opened before it is ours. A refusal
/// is let pass: a run takes the sound itself ([`hold`]), says so if it cannot, and goes on trying.
pub(super) fn prepare() {
    set();
    line().exec_async(|| drop(native::take_sound()));
}

/// What was refused is tried again whenever the sound is asked for; until then ring switch and lock silence us while
/// the stream goes on, which nobody else would notice.
fn set() {
    let is_refused = native::play_over_others().is_err();
    if REFUSED.swap(is_refused, Ordering::Relaxed) != is_refused {
        say_whether_silenced();
        if !is_refused {
            // The category is another one now: an open stream does not live through that.
            say(PhoneNews::Devices);
        }
    }
}

/// Said as a phone that silences all sound: that is what it comes to.
fn say_whether_silenced() {
    let on = REFUSED.load(Ordering::Relaxed);
    say(PhoneNews::Around(Around::Silent { on }));
}

/// A run begins, or is over.
pub(super) fn hold(on: bool) {
    HELD.store(on, Ordering::Relaxed);
    line().exec_async(move || {
        // Without it a call that only rings may silence us; the run goes on all the same.
        drop(native::keep_through_alerts(on));
        if on && !take() {
            // A call, most likely: it has no word of its own for one that was there before us.
            interrupted(Interruption::Began);
            take_back();
        }
    });
    say_how_it_stands();
}

/// Volume and route as they are now; that we may be silenced, if so.
pub(super) fn say_how_it_stands() {
    if REFUSED.load(Ordering::Relaxed) {
        say_whether_silenced();
    }
    if let Some(pct) = reading::pct(native::volume()) {
        say(PhoneNews::Around(Around::Volume { pct }));
    }
    if let Some(to) = reading::route(&native::outputs()) {
        say(PhoneNews::Around(Around::Route { to }));
    }
}

/// The system interrupted the sound, or gives it back.
pub(super) fn interrupted(what: Interruption) {
    match what {
        Interruption::Began => {
            TAKEN.store(true, Ordering::Relaxed);
            say(PhoneNews::Around(Around::Taken { on: true }));
        }
        // Whether the system thinks that we should go on or not: a run does.
        Interruption::Missed | Interruption::Ended => take_back(),
    }
}

/// Where the sound may have been taken and the end not told: at the end of a call, back in front.
pub(super) fn take_back_if_taken() {
    if TAKEN.load(Ordering::Relaxed) {
        take_back();
    }
}

/// The sound server was started anew: it knows nothing of us.
pub(super) fn server_restarted() {
    line().exec_async(|| {
        set();
        take();
        say_how_it_stands();
        say(PhoneNews::Devices);
    });
}

/// What plays changed.
pub(super) fn rerouted() {
    say_how_it_stands();
    say(PhoneNews::Devices);
}

fn take_back() {
    if !TRYING.swap(true, Ordering::Relaxed) {
        line().exec_async(retry);
    }
}

/// Tries until it is ours or no run wants it. A stopped stream is not started by this: `Devices` has it opened anew.
fn retry() {
    if take() {
        TRYING.store(false, Ordering::Relaxed);
        say(PhoneNews::Devices);
        return;
    }
    let is_wanted = HELD.load(Ordering::Relaxed);
    let later = DispatchTime::try_from(RETRY);
    let goes_on = is_wanted && later.is_ok_and(|later| line().after(later, retry).is_ok());
    if !goes_on {
        TRYING.store(false, Ordering::Relaxed);
    }
}

/// Whether the sound is ours now.
fn take() -> bool {
    if REFUSED.load(Ordering::Relaxed) {
        set();
    }
    let is_ours = native::take_sound().is_ok();
    if is_ours && TAKEN.swap(false, Ordering::Relaxed) {
        say(PhoneNews::Around(Around::Taken { on: false }));
    }
    is_ours
}
