//! What holds of the format. Expected values come from outside: test vectors of FIPS 180-4, and a
//! record written by `golden/make.py`, which shares no code with this crate.

#![expect(
    clippy::arithmetic_side_effects,
    clippy::as_conversions,
    reason = "small numbers of these tests"
)]

mod amendments;
mod change;
mod every_kind;
mod files;
mod fold;
mod golden;
pub(crate) mod make;
mod page;
mod tear;
mod trip;
