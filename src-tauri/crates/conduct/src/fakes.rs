//! Fakes of clock, store and speaker, for tests.

mod clock;
mod power;
mod speaker;
mod store;

pub use clock::FakeClock;
pub use power::{Lie, PowerDisk};
pub use speaker::FakeSpeaker;
pub use store::{Fault, MemoryStore};
