//! What was set on this phone: a small file beside the runs.

use std::{
    fmt, fs,
    io::{self, Write},
    path::{Path, PathBuf},
};

use cycle::{Colours, Levels};
use serde::{Deserialize, Serialize};

/// The colours of the screen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Theme {
    /// As the light around the phone asks for, where it tells of one; else light on dark.
    #[default]
    Auto,
    /// Light on dark.
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
            Self::Auto => "auto",
            Self::Day => "day",
            Self::Glare => "glare",
            Self::Night => "night",
        }
    }

    /// The theme of a word.
    pub fn of(word: &str) -> Option<Self> {
        [Self::Auto, Self::Day, Self::Glare, Self::Night]
            .into_iter()
            .find(|theme| theme.word() == word)
    }

    /// The colours that were chosen; `None` leaves them to the light.
    pub(crate) const fn chosen(self) -> Option<Colours> {
        match self {
            Self::Auto => None,
            Self::Day => Some(Colours::Day),
            Self::Glare => Some(Colours::Glare),
            Self::Night => Some(Colours::Night),
        }
    }

    /// How bright the screen is in a run while it shows `colours`, per cent; `None` leaves it to the phone. Source:
    /// common practice, no source; sun wants all there is, and at night the eyes of those who drive and lift are to
    /// stay adapted. Dimmed is only what somebody chose: a sensor that is covered must not take the screen away.
    pub(crate) const fn brightness(self, colours: Colours) -> Option<u8> {
        match (self, colours) {
            (_, Colours::Glare) => Some(100),
            (Self::Night, Colours::Night) => Some(12),
            (_, Colours::Day | Colours::Night) => None,
        }
    }
}

/// When the beat is felt as well.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Feel {
    /// Where it may not be heard: lost, in a call, muted, in a headset.
    #[default]
    Unheard,
    /// In every run with sound.
    Always,
}

impl Feel {
    /// Its word in the file.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Unheard => "unheard",
            Self::Always => "always",
        }
    }

    /// What a word stands for.
    pub fn of(word: &str) -> Option<Self> {
        [Self::Unheard, Self::Always]
            .into_iter()
            .find(|feel| feel.word() == word)
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
    /// The system's language as it was followed last: after a kill in a run the app speaks it before a page
    /// has told it.
    pub followed: String,
    /// The page for new users was put away.
    pub first_seen: bool,
    /// How loud beats, breath tones and voice are.
    pub levels: Levels,
    /// When the beat is felt as well.
    pub feel: Feel,
    /// How many days the service keeps a run; none unless the service sets it.
    pub retain_days: Option<u32>,
    /// The unit's or vehicle's own opaque code, for drills; empty: none.
    pub unit_code: String,
    /// The crew's own opaque code, for drills; empty: none. Never a name.
    pub crew_code: String,
    /// When a new device came, ms from 1970 by this phone's clock: the drills about it are due anew. None was noted.
    pub device_since: Option<i64>,
}

/// A code is no place for a name: capital letters A-Z and figures, eight at most. Empty is none.
pub fn is_opaque(code: &str) -> bool {
    let is_good = |b: u8| b.is_ascii_uppercase() || b.is_ascii_digit();
    code.len() <= 8 && code.bytes().all(is_good)
}

/// Settings that cannot be read or kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SettingsError {
    /// The file.
    pub path: PathBuf,
    /// What is wrong.
    pub what: String,
    /// What could be read; the rest is as at first.
    pub rest: Box<Settings>,
}

impl fmt::Display for SettingsError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}: {}; what is not read of it is as at first until it is set again",
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
            rest: Box::default(),
        };
        match fs::read_to_string(path) {
            Ok(text) => {
                // A list would pass for settings too: its first item for the first of them.
                let mut fields: serde_json::Map<String, serde_json::Value> =
                    serde_json::from_str(&text).map_err(|e| failed(e.to_string()))?;
                let levels = fields
                    .remove("levels")
                    .unwrap_or_else(|| serde_json::json!({}));
                let mut settings: Self =
                    serde_json::from_value(fields.into()).map_err(|e| failed(e.to_string()))?;
                match levels_of(&levels, &mut settings.levels) {
                    Ok(()) => Ok(settings),
                    // A wrong level is no reason to lose the service's protocol.
                    Err(what) => Err(SettingsError {
                        rest: Box::new(settings),
                        ..failed(what)
                    }),
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
            rest: Box::default(),
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

/// The levels of a file: each that is there and in range; what a later version has beside them is left.
fn levels_of(found: &serde_json::Value, levels: &mut Levels) -> Result<(), String> {
    let wrong = |place: &str, value: &serde_json::Value| {
        let most = Levels::LOWEST_DB;
        format!("levels{place} = {value}, allowed: 0 to {most} dB each")
    };
    let fields = found.as_object().ok_or_else(|| wrong("", found))?;
    let mut faults = Vec::new();
    for (name, level) in [
        ("beat_db", &mut levels.beat_db),
        ("breath_db", &mut levels.breath_db),
        ("voice_db", &mut levels.voice_db),
    ] {
        let Some(value) = fields.get(name) else {
            continue;
        };
        let db = value.as_u64().and_then(|db| u8::try_from(db).ok());
        match db.filter(|db| *db <= Levels::LOWEST_DB) {
            Some(db) => *level = db,
            None => faults.push(wrong(&format!(".{name}"), value)),
        }
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(faults.join("; "))
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
            followed: "es-ES".to_owned(),
            first_seen: true,
            feel: Feel::Always,
            retain_days: Some(90),
            unit_code: "M12".to_owned(),
            crew_code: "B".to_owned(),
            device_since: Some(1_767_225_600_000),
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
    fn a_wrong_level_costs_nothing_else() {
        let folder = Folder::new();
        let path = folder.0.join("settings.json");
        let kept = "\"protocol\": \"ours\", \"lang\": \"es-419\"";
        let text = format!("{{{kept}, \"levels\": {{\"beat_db\": 25, \"voice_db\": 6}}}}");
        fs::write(&path, text).unwrap();
        let error = Settings::load(&path).unwrap_err();
        assert!(error.what.contains("levels.beat_db = 25"), "{error}");
        assert_eq!(
            (error.rest.protocol.as_str(), error.rest.lang.as_str()),
            ("ours", "es-419")
        );
        assert_eq!(
            (error.rest.levels.beat_db, error.rest.levels.voice_db),
            (0, 6)
        );
        // One level alone, and one that a later version has.
        let text = format!("{{{kept}, \"levels\": {{\"breath_db\": 3, \"tone_db\": 9}}}}");
        fs::write(&path, text).unwrap();
        assert_eq!(Settings::load(&path).unwrap().levels.breath_db, 3);
    }

    #[test]
    fn a_code_is_short_and_no_name() {
        for good in ["", "B", "M12", "ABCD1234"] {
            assert!(is_opaque(good), "{good:?}");
        }
        for wrong in ["b", "ABCD12345", "A B", "José", "A-1", " "] {
            assert!(!is_opaque(wrong), "{wrong:?}");
        }
    }

    #[test]
    fn every_theme_is_found_by_its_word() {
        for theme in [Theme::Auto, Theme::Day, Theme::Glare, Theme::Night] {
            assert_eq!(Theme::of(theme.word()), Some(theme));
            let json = serde_json::to_string(&theme).unwrap();
            assert_eq!(json, format!("\"{}\"", theme.word()));
        }
        assert_eq!(Theme::of("red"), None);
    }
}
