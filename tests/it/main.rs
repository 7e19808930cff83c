//! Whole-app checks.

mod walls;
