//! Whole-app checks.
#![expect(
    clippy::disallowed_methods,
    reason = "these checks wait on the real world: processes, a sound server, a window"
)]
#![expect(
    clippy::arithmetic_side_effects,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::expect_used,
    reason = "a check that fails panics, and that is what it is for"
)]

mod asleep;
mod capture;
mod draft;
mod drills;
mod fault;
mod figures;
mod five_minutes;
mod kill;
mod latency;
mod light;
mod lost;
mod pictures;
mod presses;
mod reference;
mod rig;
mod strays;
mod untended;
mod walls;
mod window;
