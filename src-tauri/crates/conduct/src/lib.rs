//! The one owner of a run: conductor, run clock, store.

mod ask;
pub mod clock;
mod conductor;
mod drill;
#[cfg(feature = "fakes")]
pub mod fakes;
pub mod hand_in;
mod heads;
mod house;
pub mod keeping;
mod lock;
mod own;
mod page_clock;
pub mod past;
pub mod phone;
mod private;
pub mod ready;
mod rehearse;
pub mod resume;
pub mod review;
pub mod settings;
mod setup;
mod showing;
mod speaker;
mod stage;
pub mod store;
mod writer;

pub use ask::{
    Ask, DrillAsk, DrillLive, DrillSaid, DrillShown, ListeningAsk, Pulse, RunRecord, Shown, Touch,
    Voice,
};
pub use clock::{Clock, RunClock};
pub use conductor::{Handle, Parts, SEAL_AFTER_MS, StartError, start};
pub use drill::Beside;
pub use heads::Heads;
pub use house::{HOUSE_ZERO_MS, House};
pub use lock::{LockError, RunLock};
pub use own::{Own, OwnFault};
pub use phone::{FeltPulse, Motion, NoPhone, Phone, PhoneNews, Wish};
pub use rehearse::{RehearseError, Rehearsed, rehearse, rehearse_drill};
pub use setup::{of_class, of_example};
pub use speaker::{Levels, Order, Recording, Speaker, Wake};
pub use stage::{Keeper, Stage};
pub use store::{FileStore, Passed, Sink, Store, StoreError, Unread};
pub use writer::{Durability, Receipt, Writer};
