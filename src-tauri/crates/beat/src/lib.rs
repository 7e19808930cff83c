//! The one home of beat and breath times.
//!
//! A [`Score`] says what sounds (pattern, rate, level); a [`Placed`] score says from when, on the
//! run clock. The rules ask it in milliseconds, the audio thread in frames, the screen gets a list:
//! all of them from the same integers, counted from the anchor, never from a rounded period.
//!
//! Called on the audio thread: no allocation, no clock, no dependency.
#![no_std]
#![forbid(unsafe_code)]

mod place;
mod score;
#[cfg(test)]
mod tests;

pub use place::{Kind, Placed, Sound};
pub use score::{Pattern, Rate, RateError, Score};
