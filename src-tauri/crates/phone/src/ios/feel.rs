//! The beat as vibration. iOS lets it be felt only while the app is in front.

use std::cell::{OnceCell, RefCell};

use conduct::FeltPulse;
use objc2_foundation::NSProcessInfo;

use super::{
    native::{Motor, Playing},
    watch::on_main,
};
use crate::{late::still_to_feel, reading::ms_between};

thread_local! {
    /// On the main thread.
    static FEELER: RefCell<Feeler> = const { RefCell::new(Feeler::new()) };
}

/// So often a wish is begun anew when the system stops the motor: in a call it may stop it each time.
const TRIES: u8 = 3;

/// The vibrator and what it was asked for last.
#[derive(Debug)]
struct Feeler {
    /// Empty until it is wanted; `None` on a phone without one.
    motor: OnceCell<Option<Motor>>,
    playing: Option<Playing>,
    pulses: Vec<FeltPulse>,
    /// When the wish was taken, on the system's clock.
    taken_s: f64,
    tries: u8,
}

/// The system's clock, seconds; it stands while the phone sleeps, as the motor does.
pub(super) fn clock_s() -> f64 {
    NSProcessInfo::processInfo().systemUptime()
}

/// Pulses from now on, in place of those before.
pub(super) fn feel(pulses: Vec<FeltPulse>) {
    let taken_s = clock_s();
    on_main(move |_| {
        FEELER.with_borrow_mut(|feeler| {
            feeler.pulses = pulses;
            feeler.taken_s = taken_s;
            feeler.tries = 0;
            feeler.start();
        });
    });
}

/// What was asked for, once more: the system had stopped the motor.
pub(super) fn again() {
    on_main(|_| {
        FEELER.with_borrow_mut(|feeler| {
            if feeler.tries < TRIES {
                feeler.tries = feeler.tries.saturating_add(1);
                feeler.start();
            }
        });
    });
}

impl Feeler {
    const fn new() -> Self {
        Self {
            motor: OnceCell::new(),
            playing: None,
            pulses: Vec::new(),
            taken_s: 0.0,
            tries: 0,
        }
    }

    fn left(&self) -> Vec<FeltPulse> {
        still_to_feel(&self.pulses, ms_between(self.taken_s, clock_s()))
    }

    /// Starts the motor if there is something left to feel; it may take a moment.
    fn start(&mut self) {
        if let Some(playing) = self.playing.take() {
            playing.end();
        }
        if self.left().is_empty() {
            return;
        }
        let motor = self.motor.get_or_init(|| Motor::new(again));
        if let Some(motor) = motor {
            motor.start(|runs| {
                if runs {
                    on_main(|_| FEELER.with_borrow_mut(Self::play));
                }
            });
        }
    }

    /// Plays what is left by now. Refused, it is not felt until the next wish, some seconds on.
    fn play(&mut self) {
        if let Some(playing) = self.playing.take() {
            playing.end();
        }
        let left = self.left();
        let seconds = |ms: u32| f64::from(ms) / 1000.0;
        let pulses: Vec<(f64, f64)> = left
            .iter()
            .map(|pulse| (seconds(pulse.in_ms), seconds(pulse.len_ms)))
            .collect();
        if pulses.is_empty() {
            return;
        }
        if let Some(Some(motor)) = self.motor.get() {
            self.playing = motor.play(&pulses).ok();
        }
    }
}
