//! What was set on this phone: a small file beside the runs.

use std::{
    fmt, fs,
    io::{self, Write},
    path::{Path, PathBuf},
};

use cycle::Levels;
use serde::{Deserialize, Serialize};

/// The colours of the screen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Theme {
    /// Light on dark.
    #[default]
    Day,
    /// Dark on light, for sun.
    Glare,
    /// Dimmed.
    Night,
}

impl Theme {
    /// Its word in the file.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Day => "day",
            Self::Glare => "glare",
            Self::Night => "night",
        }
    }

    /// The theme of a word.
    pub fn of(word: &str) -> Option<Self> {
        [Self::Day, Self::Glare, Self::Night]
            .into_iter()
            .find(|theme| theme.word() == word)
    }
}

/// What can be set. What a file leaves out is as at first.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// The colours.
    pub theme: Theme,
    /// The id of the protocol in force; empty: the first example.
    pub protocol: String,
    /// The language of screen and voice; empty: the system's.
    pub lang: String,
    /// The page for new users was put away.
    pub first_seen: bool,
    /// How loud beats, breath tones and voice are.
    pub levels: Levels,
    /// How many days the service keeps a run; none unless the service sets it.
    pub retain_days: Option<u32>,
}

/// Settings that cannot be read or kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SettingsError {
    /// The file.
    pub path: PathBuf,
    /// What is wrong.
    pub what: String,
}

impl fmt::Display for SettingsError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}: {}; settings are as at first until it can be read and written",
            self.path.display(),
            self.what
        )
    }
}

impl std::error::Error for SettingsError {}

impl Settings {
    /// Reads a file; one that is not there is as at first.
    ///
    /// # Errors
    /// The file cannot be read, or holds no settings.
    pub fn load(path: &Path) -> Result<Self, SettingsError> {
        let failed = |what: String| SettingsError {
            path: path.to_owned(),
            what,
        };
        match fs::read_to_string(path) {
            Ok(text) => {
                // A list would pass for settings too: its first item for the first of them.
                let fields: serde_json::Map<String, serde_json::Value> =
                    serde_json::from_str(&text).map_err(|e| failed(e.to_string()))?;
                let settings: Self =
                    serde_json::from_value(fields.into()).map_err(|e| failed(e.to_string()))?;
                if settings.levels.is_allowed() {
                    Ok(settings)
                } else {
                    let most = Levels::LOWEST_DB;
                    let found = settings.levels;
                    Err(failed(format!("{found:?}, allowed: 0 to {most} dB each")))
                }
            }
            Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(Self::default()),
            Err(e) => Err(failed(e.to_string())),
        }
    }

    /// Writes a file whole or not at all.
    ///
    /// # Errors
    /// The system's.
    pub fn save(&self, path: &Path) -> Result<(), SettingsError> {
        let failed = |e: io::Error| SettingsError {
            path: path.to_owned(),
            what: e.to_string(),
        };
        let text = serde_json::to_string_pretty(self).map_err(|e| failed(e.into()))?;
        let beside = path.with_extension("new");
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(failed)?;
        }
        let mut options = crate::private::options();
        let file = options.write(true).create(true).truncate(true);
        let mut file = file.open(&beside).map_err(failed)?;
        file.write_all(text.as_bytes()).map_err(failed)?;
        file.sync_all().map_err(failed)?;
        fs::rename(&beside, path).map_err(failed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::tests::Folder;

    #[test]
    fn what_is_saved_is_loaded() {
        let folder = Folder::new();
        let path = folder.0.join("a/settings.json");
        assert_eq!(Settings::load(&path), Ok(Settings::default()));
        let set = Settings {
            theme: Theme::Glare,
            protocol: "example-adult-b".to_owned(),
            lang: "es-419".to_owned(),
            first_seen: true,
            retain_days: Some(90),
            levels: Levels {
                beat_db: 3,
                breath_db: 6,
                voice_db: 0,
            },
        };
        set.save(&path).unwrap();
        assert_eq!(Settings::load(&path), Ok(set));
    }

    #[test]
    fn a_damaged_file_is_named_and_one_with_gaps_is_filled() {
        let folder = Folder::new();
        let path = folder.0.join("settings.json");
        let low = "{\"levels\": {\"beat_db\": 25, \"breath_db\": 0, \"voice_db\": 0}}";
        for text in [
            low,
            "",
            "{",
            "[]",
            "{\"theme\": \"red\"}",
            "{\"first_seen\": 1}",
        ] {
            fs::write(&path, text).unwrap();
            let error = Settings::load(&path).unwrap_err();
            assert_eq!(error.path, path, "{text}: {error}");
        }
        fs::write(&path, "{\"theme\": \"night\"}").unwrap();
        let night = Settings {
            theme: Theme::Night,
            ..Settings::default()
        };
        assert_eq!(Settings::load(&path), Ok(night));
    }

    #[test]
    fn every_theme_is_found_by_its_word() {
        for theme in [Theme::Day, Theme::Glare, Theme::Night] {
            assert_eq!(Theme::of(theme.word()), Some(theme));
            let json = serde_json::to_string(&theme).unwrap();
            assert_eq!(json, format!("\"{}\"", theme.word()));
        }
        assert_eq!(Theme::of("red"), None);
    }
}
