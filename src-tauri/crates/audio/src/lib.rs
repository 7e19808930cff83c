//! Sound out: clips, the device's stream, its supervisor, and a WAV file in their place.
#![forbid(unsafe_code)]

mod bank;
mod device;
mod embedded;
mod leaving;
mod link;
mod live;
mod order;
mod pack;
mod player;
#[cfg(target_os = "linux")]
mod server;
mod supervisor;
mod trial;
mod wav;

pub use bank::{Bank, BankError};
pub use device::DeviceError;
pub use pack::{ClipFault, Pack, VoiceCheck, VoiceFault, Wrong, check_built_in, check_voices};
pub use player::{Health, Player};
pub use supervisor::SoundState;
pub use wav::{Sounded, SoundedAs, WavError, WavOutlet, outline, samples};
