//! Every word of the screen: message files in, finished sentences out.
//!
//! A language is one file in `text/`. Loading it fails on a missing or a stray message, so a screen
//! never shows a key or half a sentence.
#![forbid(unsafe_code)]

mod face;
mod keys;
mod text;
mod wire;

pub use keys::Fixed;
pub use text::{Words, WordsError};
pub use wire::{
    BannerLine, Face, Key, Labels, NextLine, Pulse, PulseKind, Receipt, SaidLine, Screen,
};
