//! How the phone is moved, only when it is wished.

use std::cell::RefCell;

use conduct::PhoneNews;

use super::{
    feel::clock_s,
    native::{Accelerometer, Reading},
    watch::{on_main, say},
};
use crate::reading::{motion, ms_between};

/// Source: compressions come at 2 a second and their edges within tens of milliseconds; fifty a second are well
/// over what their course needs.
const EVERY_S: f64 = 0.02;

thread_local! {
    /// On the main thread; there while it is wished.
    static READER: RefCell<Option<Accelerometer>> = const { RefCell::new(None) };
}

/// Tells of movement from now on, or no more.
pub(super) fn tell(on: bool) {
    on_main(move |_| {
        READER.with_borrow_mut(|reader| {
            if !on {
                if let Some(reader) = reader.take() {
                    reader.end();
                }
            } else if reader.is_none() {
                *reader = Accelerometer::start(EVERY_S, say_reading);
            }
        });
    });
}

fn say_reading(reading: Reading) {
    let ago_ms = ms_between(reading.at_s, clock_s());
    say(PhoneNews::Motion(motion(
        reading.x, reading.y, reading.z, ago_ms,
    )));
}
