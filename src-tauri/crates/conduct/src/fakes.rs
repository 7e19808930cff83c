//! Fakes of clock, phone, store and speaker, for tests.

use record::{Digest, RunKind};

use crate::Heads;

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

/// What the header of a test's record says: a run of kind `Test` without a pack, in US English, whose id is given.
pub fn heads(record_id: &str) -> Heads {
    Heads {
        kind: RunKind::Test,
        version: "0".to_owned(),
        pack_id: "none".to_owned(),
        pack_sha256: Digest::of(b""),
        lang: "en-US".to_owned(),
        tz: "UTC".to_owned(),
        record_id: record_id.to_owned(),
        scenario: None,
        unit_code: None,
    }
}
