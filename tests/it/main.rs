//! Whole-app checks.
#![allow(
    clippy::disallowed_methods,
    reason = "these checks wait on the real world: processes, a sound server, a window"
)]
#![allow(
    clippy::arithmetic_side_effects,
    clippy::indexing_slicing,
    clippy::as_conversions,
    clippy::panic,
    clippy::expect_used,
    clippy::unwrap_used,
    reason = "a check that fails panics, and that is what it is for"
)]

mod capture;
mod fault;
mod figures;
mod five_minutes;
mod kill;
mod rig;
mod untended;
mod walls;
mod window;
