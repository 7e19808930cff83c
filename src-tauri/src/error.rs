use std::fmt;

use serde::Serialize;

/// What a command refuses with: a word for the page, a sentence for the crew.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct CommandError {
    /// Why, from a closed list.
    pub(crate) code: Code,
    /// Where, what was found and what helps.
    pub(crate) message: String,
}

/// Why the app could not start or a request could not be met.
#[derive(Clone, Copy, Debug, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Code {
    /// Another process holds the run folder.
    Locked,
    /// The run folder cannot be used.
    Folder,
    /// The protocol cannot be used.
    Protocol,
    /// A setting cannot be as asked for, or cannot be kept.
    Setting,
    /// The phone is locked: what is kept is out of sight.
    PhoneLocked,
    /// Anything else.
    Start,
}

impl fmt::Display for CommandError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for CommandError {}
