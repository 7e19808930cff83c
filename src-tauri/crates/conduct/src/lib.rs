//! The one owner of a run: conductor, run clock, store.

mod ask;
pub mod clock;
#[cfg(feature = "fakes")]
pub mod fakes;
mod lock;
pub mod resume;
mod speaker;
pub mod store;
mod writer;

pub use ask::{Ask, Pulse, Shown, Touch};
pub use clock::{Clock, RunClock};
pub use lock::{LockError, RunLock};
pub use speaker::{Levels, Order, Speaker};
pub use store::{FileStore, Sink, Store, StoreError};
pub use writer::{Durability, Receipt, Writer};
