//! Whole-app checks.
