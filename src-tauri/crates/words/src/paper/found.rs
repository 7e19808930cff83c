//! What the ready check is told.

use cycle::Levels;

/// What was found before a shift. What a device does not tell is `None`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// How long a line took to be kept, ms, or why it cannot be.
    pub kept: Result<u64, String>,
    /// Free space, in whole MB.
    pub free_mb: Option<u64>,
    /// Nothing is heard: why, with what mends it; empty where nothing is known of it.
    pub silent: Option<String>,
    /// Faults of the voice pack.
    pub pack: Vec<String>,
    /// How loud the sounds are set.
    pub levels: Levels,
    /// The file's hash.
    pub hash: String,
}
