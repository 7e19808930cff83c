//! The files of the editor: read whole, written whole.

use std::{
    fmt, fs,
    io::{self, Write as _},
    path::{Path, PathBuf},
};

use cycle::{EditFault, Protocol};

/// Why the editor did not do what was asked.
#[derive(Debug)]
pub enum DraftError {
    /// A file cannot be read or written.
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        error: io::Error,
    },
    /// The change cannot be made in this file.
    Edit(EditFault),
    /// There is no draft.
    None,
    /// There is no such protocol to copy.
    Unknown {
        /// The id that was asked for.
        id: String,
    },
    /// The minute cannot be rehearsed.
    Minute(String),
    /// Why, in the words of the screen.
    Refused(String),
}

impl fmt::Display for DraftError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File { path, error } => write!(f, "{}: {error}", path.display()),
            Self::Edit(fault) => fault.fmt(f),
            Self::None => f.write_str("draft: none, allowed: after a file was copied"),
            Self::Unknown { id } => write!(
                f,
                "id {id}: unknown, allowed: that of an example or of a sound file of the folder"
            ),
            Self::Minute(why) => write!(f, "minute: {why}"),
            Self::Refused(why) => f.write_str(why),
        }
    }
}

impl std::error::Error for DraftError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::File { error, .. } => Some(error),
            Self::Edit(fault) => Some(fault),
            Self::None | Self::Unknown { .. } | Self::Minute(_) | Self::Refused(_) => None,
        }
    }
}

impl From<EditFault> for DraftError {
    fn from(fault: EditFault) -> Self {
        Self::Edit(fault)
    }
}

/// A file of the service's.
pub(crate) struct OwnFile {
    pub(crate) path: PathBuf,
    pub(crate) text: String,
}

fn failed(path: &Path) -> impl FnOnce(io::Error) -> DraftError + use<> {
    let path = path.to_owned();
    |error| DraftError::File { path, error }
}

/// A file's text; `None`: there is no such file.
pub(crate) fn read(path: &Path) -> Result<Option<String>, DraftError> {
    match fs::read_to_string(path) {
        Ok(text) => Ok(Some(text)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(failed(path)(error)),
    }
}

/// Puts a whole file in the place of what was there, or leaves that as it is.
pub(crate) fn write(path: &Path, text: &str) -> Result<(), DraftError> {
    let beside = path.with_extension("toml.new");
    let put = || -> io::Result<()> {
        let mut file = fs::File::create(&beside)?;
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
        fs::rename(&beside, path)
    };
    if let Some(folder) = path.parent() {
        make_folder(folder)?;
    }
    put().map_err(failed(path))
}

pub(crate) fn make_folder(folder: &Path) -> Result<(), DraftError> {
    fs::create_dir_all(folder).map_err(failed(folder))
}

/// Leaves a copy of a file beside it.
pub(crate) fn set_aside(path: &Path) -> Result<(), DraftError> {
    let aside = path.with_extension("toml.before");
    fs::copy(path, &aside).map(drop).map_err(failed(&aside))
}

/// The service's file with this id.
pub(crate) fn own(folder: &Path, id: &str) -> Result<OwnFile, DraftError> {
    let mut paths: Vec<PathBuf> = fs::read_dir(folder)
        .map_err(failed(folder))?
        .filter_map(Result::ok)
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "toml"))
        .collect();
    // The first of two is the one that is known by the id.
    paths.sort_unstable();
    for path in paths {
        let Ok(text) = fs::read_to_string(&path) else {
            continue;
        };
        if Protocol::parse(text.as_bytes()).is_ok_and(|p| p.id == id) {
            return Ok(OwnFile { path, text });
        }
    }
    Err(DraftError::Unknown { id: id.to_owned() })
}

/// A file's name for an id: what every system takes.
pub(crate) fn name_of(id: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_');
    let mut name: String = id.chars().map(|c| if plain(c) { c } else { '-' }).collect();
    if name.is_empty() {
        name.push_str("protocol");
    }
    name + ".toml"
}
