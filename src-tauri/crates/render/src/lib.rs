//! Mixer and timeline, called on the audio thread: a score and cues in, blocks of samples out.
//!
//! No allocation, no lock, no clock, no system call. Nothing here can panic: a panic inside an
//! audio callback crosses a foreign frame and ends the process whatever the profile says.
#![cfg_attr(not(test), no_std)]
#![forbid(unsafe_code)]
#![cfg_attr(
    not(test),
    deny(
        clippy::panic,
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::indexing_slicing,
        clippy::arithmetic_side_effects
    )
)]

mod follow;
mod gain;
mod limiter;
mod message;
mod mixer;
mod noise;
#[cfg(test)]
mod tests;
mod timeline;
mod true_peak;
mod voice;
mod walk;

pub use follow::{Follow, Moved, Stamp};
pub use message::{Bus, ClipId, Clips, Gains, Message, Play, Report, Sink, What};
pub use mixer::Mixer;
pub use timeline::Timeline;
