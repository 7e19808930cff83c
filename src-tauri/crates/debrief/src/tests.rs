//! The measures against what was worked out by hand, and against what was published.
#![expect(
    clippy::arithmetic_side_effects,
    reason = "small numbers of the tests; an overflow fails the test"
)]

mod any;
mod exports;
mod make;
mod published;
mod worked;
