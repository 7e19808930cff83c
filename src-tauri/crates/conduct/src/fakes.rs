//! Fakes of clock, store and speaker, for tests.

mod clock;
mod speaker;
mod store;

pub use clock::FakeClock;
pub use speaker::FakeSpeaker;
pub use store::{Fault, MemoryStore};
