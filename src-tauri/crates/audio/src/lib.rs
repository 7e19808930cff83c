//! audio.
