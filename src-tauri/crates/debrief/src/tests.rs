//! The measures against what was worked out by hand, and against what was published.

mod make;
mod worked;
