//! The rules of a run: facts in, facts and sounds out. No clock, no file, no sound device.
// The derive of the page's types needs the standard library.
#![cfg_attr(not(feature = "ts"), no_std)]
#![forbid(unsafe_code)]

extern crate alloc;

mod accept;
mod acts;
pub mod amendments;
mod around;
mod book;
mod entered;
pub mod fact;
pub mod hand_over;
mod input;
mod levels;
mod look;
pub mod mark;
mod placing;
mod plan;
mod prompts;
mod protocol;
mod rules;
mod run;
mod show;
mod state;
mod story;
#[cfg(test)]
mod tests;
mod time;
mod trace;
mod view;
mod wants;

pub use accept::Refusal;
pub use acts::Act;
pub use around::{Around, Route, Surroundings};
pub use book::LastAct;
pub use entered::{Before, Choice, Entered, EnteredFault, Entries, Reading};
pub use fact::{CueId, CueSound, Entry, Fact, Seq};
pub use input::{Cue, Input, Output, Setup, SoundNews, Start};
pub use levels::Levels;
pub use look::{Colours, Look};
pub use mark::Mark;
pub use prompts::{Class, ClipLengths, Prompt, Tone};
pub use protocol::{
    Budgets, CheckForm, DeviceRule, Difference, DrugDue, DrugRule, EditFault, FirstDose,
    FitWindows, Form, FormField, LedBeat, MinuteRule, NewbornRule, Overlay, OverlayRule, Protocol,
    ProtocolFault, ProtocolRow, Rule, Slot, Whole, Zero,
};
pub use run::{ReplayError, Run};
pub use state::{Line, Pause};
pub use time::Ms;
pub use trace::{RatioCycle, Step, trace};
pub use view::{
    Ask, Banner, Card, DrugLine, DrugWord, Figure, FitStep, LastMark, List, ListWord, Next,
    NextWord, Said, StateWord, View,
};
