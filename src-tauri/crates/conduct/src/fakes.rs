//! Fakes of clock, phone, store and speaker, for tests.

mod clock;
mod phone;
mod power;
mod speaker;
mod store;

pub use clock::FakeClock;
pub use phone::FakePhone;
pub use power::{Lie, PowerDisk};
pub use speaker::FakeSpeaker;
pub use store::{Fault, MemoryStore};
