//! The one owner of a run: conductor, run clock, store.

mod speaker;

pub use speaker::{Levels, Order, Speaker};
