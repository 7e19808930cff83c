//! The one owner of a run: conductor, run clock, store.

mod ask;
mod speaker;

pub use ask::{Ask, Pulse, Shown, Touch};
pub use speaker::{Levels, Order, Speaker};
