//! The rules of a run: facts in, facts and sounds out. No clock, no file, no sound device.
#![no_std]
#![forbid(unsafe_code)]

extern crate alloc;

mod acts;
pub mod fact;
mod input;
pub mod mark;
mod prompts;
mod protocol;
mod time;
mod view;

pub use acts::Act;
pub use fact::{CueId, CueSound, Entry, Fact, Seq};
pub use input::{Cue, Input, Output, Setup, SoundNews, Start};
pub use mark::Mark;
pub use prompts::{Class, ClipLengths, Prompt, Tone};
pub use protocol::Protocol;
pub use time::Ms;
pub use view::{Banner, Card, Figure, Next, NextWord, Said, StateWord, View};
