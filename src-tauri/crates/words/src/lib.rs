//! words.
