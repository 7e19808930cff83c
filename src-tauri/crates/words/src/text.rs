use std::{collections::BTreeMap, fmt};

use cycle::Ms;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue, concurrent::FluentBundle};
use fluent_syntax::ast::Entry;
use unic_langid::LanguageIdentifier;

use crate::{keys, keys::Fixed, sheet::VALUES};

mod files {
    include!(concat!(env!("OUT_DIR"), "/files.rs"));
}

use files::FILES;

/// The language that all others are copied from, and that stands in for one that cannot be had.
pub const REFERENCE: &str = "en-US";

/// The message file of a language; `None`: there is none.
pub fn source(lang: &str) -> Option<&'static str> {
    let found = FILES.iter().find(|(tag, _)| *tag == lang);
    found.map(|(_, source)| *source)
}

/// The message file that all others are copied from.
pub(crate) fn reference() -> &'static str {
    source(REFERENCE).unwrap_or_default()
}

/// The sentences of one language.
pub struct Words {
    lang: &'static str,
    plain: BTreeMap<String, String>,
    bundle: FluentBundle<FluentResource>,
}

impl Words {
    /// The languages that can be loaded.
    pub fn languages() -> impl Iterator<Item = &'static str> {
        FILES.iter().map(|(lang, _)| *lang)
    }

    /// The language's name in itself, for the key that chooses it; its tag where the file has none.
    pub fn own_name(lang: &str) -> &str {
        let named = source(lang).and_then(|source| {
            let key = Fixed::LanguageName.key();
            let mut lines = source.lines().filter_map(|line| line.strip_prefix(key));
            lines.find_map(|rest| rest.trim_start().strip_prefix('='))
        });
        named.map_or(lang, str::trim)
    }

    /// The language among ours that a system's tag asks for: itself, else its kin, else the reference.
    pub fn nearest(system: &str) -> &'static str {
        let ours = |tag: &str| Self::languages().find(|known| known.eq_ignore_ascii_case(tag));
        let tag = system.split(['.', '@']).next().unwrap_or_default();
        let tag = tag.replace('_', "-");
        let mut parts = tag.split('-');
        let language = parts.next().unwrap_or_default().to_lowercase();
        // A script may stand between language and region.
        let region = parts.find(|part| part.len() == 2).map(str::to_uppercase);
        let kin = match (language.as_str(), region.as_deref()) {
            ("es", Some("ES" | "EA" | "IC")) => ours("es-ES"),
            ("es", _) => ours("es-419"),
            // As in CLDR 44: the parents of the locales of English, territories of the US aside.
            ("en", None | Some("US" | "CA" | "PH" | "PR" | "GU" | "VI" | "AS" | "MP" | "UM")) => {
                None
            }
            ("en", Some(_)) => ours("en-GB"),
            _ => Self::languages().find(|known| known.split('-').next() == Some(&language)),
        };
        ours(&tag).or(kin).unwrap_or(REFERENCE)
    }

    /// Loads a language by its tag.
    ///
    /// # Errors
    /// [`WordsError`]: the tag is not known, or the file is damaged, has a gap or a stray message.
    pub fn load(lang: &str) -> Result<Self, WordsError> {
        let (tag, source) = FILES
            .iter()
            .find(|(known, _)| *known == lang)
            .ok_or_else(|| WordsError::Unknown {
                asked: lang.to_owned(),
                known: Self::languages().collect::<Vec<_>>().join(", "),
            })?;
        Self::read(tag, source)
    }

    /// Reads a message file and holds it against the list of keys.
    pub(crate) fn read(lang: &'static str, source: &str) -> Result<Self, WordsError> {
        let damaged = |detail: String| WordsError::Damaged { lang, detail };
        let resource = FluentResource::try_new(source.to_owned())
            .map_err(|(_, errors)| damaged(format!("{errors:?}")))?;
        let tag: LanguageIdentifier = lang
            .parse()
            .map_err(|error| damaged(format!("language tag: {error}")))?;
        let wanted = keys::all();
        let found: Vec<String> = resource
            .entries()
            .filter_map(|entry| match entry {
                Entry::Message(message) => Some(message.id.name.to_owned()),
                Entry::Term(term) => Some(format!("-{}", term.id.name)),
                Entry::Comment(_)
                | Entry::GroupComment(_)
                | Entry::ResourceComment(_)
                | Entry::Junk { .. } => None,
            })
            .collect();
        if let Some(key) = wanted.iter().find(|key| !found.contains(key)) {
            return Err(WordsError::Gap {
                lang,
                key: key.clone(),
            });
        }
        if let Some(key) = found.iter().find(|key| !wanted.contains(key)) {
            return Err(WordsError::Stray {
                lang,
                key: key.clone(),
            });
        }
        let mut bundle = FluentBundle::new_concurrent(vec![tag]);
        bundle.set_use_isolating(false);
        bundle
            .add_resource(resource)
            .map_err(|errors| damaged(format!("{errors:?}")))?;
        let mut words = Self {
            lang,
            plain: BTreeMap::new(),
            bundle,
        };
        for key in wanted {
            let text = words.formatted(&key, &probe());
            if text.is_empty() {
                return Err(WordsError::Gap { lang, key });
            }
            words.plain.insert(key, text);
        }
        Ok(words)
    }

    /// The tag of the loaded language.
    pub fn lang(&self) -> &'static str {
        self.lang
    }

    /// A message that takes no value.
    pub fn fixed(&self, fixed: Fixed) -> &str {
        self.plain(fixed.key())
    }

    /// The number of shocks, in words.
    pub fn shocks(&self, n: u16) -> String {
        let mut args = FluentArgs::new();
        args.set("n", FluentValue::from(n));
        self.formatted(Fixed::Shocks.key(), &args)
    }

    /// That the protocol that was chosen cannot be had.
    pub fn own_gone(&self, id: &str) -> String {
        self.named(Fixed::OwnGone.key(), id)
    }

    /// What a prompt says, on the screen and spoken.
    pub fn prompt(&self, prompt: cycle::Prompt) -> String {
        self.word("prompt", prompt.word())
    }

    /// The protocol's name, with the word that it is an example if it is one.
    pub fn protocol_name(&self, name: &str, is_example: bool) -> String {
        if !is_example {
            return self.named(Fixed::StartOwn.key(), name);
        }
        let mut args = FluentArgs::new();
        args.set("name", FluentValue::from(name));
        self.formatted(Fixed::StartExample.key(), &args)
    }

    /// What is said of a finished run's record.
    pub fn record_kept(&self, is_kept: bool) -> String {
        let said = if is_kept {
            Fixed::EndedKept
        } else {
            Fixed::EndedNotKept
        };
        self.fixed(said).to_owned()
    }

    /// A message with a whole number in it.
    pub(crate) fn numbered(&self, fixed: Fixed, n: u64) -> String {
        let mut args = FluentArgs::new();
        args.set("n", FluentValue::from(n));
        self.formatted(fixed.key(), &args)
    }

    /// A message with a name, or a figure that is written already, in it.
    pub(crate) fn named(&self, key: &str, name: &str) -> String {
        let mut args = FluentArgs::new();
        args.set("name", FluentValue::from(name));
        self.formatted(key, &args)
    }

    /// A length of time in seconds and tenths.
    pub(crate) fn seconds(&self, length: Ms) -> String {
        let tenths = length.0 / 100;
        let number = format!("{}.{}", tenths / 10, tenths % 10);
        self.named(Fixed::Seconds.key(), &self.decimal(&number))
    }

    /// A number with the language's own decimal mark in place of the point.
    pub fn decimal(&self, number: &str) -> String {
        number.replace('.', self.fixed(Fixed::Decimal))
    }

    /// A fault that the program names: its detail is in English, so that those who mend it can look it up.
    pub fn fault(&self, detail: &str) -> String {
        self.named(Fixed::Fault.key(), detail)
    }

    /// That a voice speaks another language than the screen shows.
    pub fn other_voice(&self, voice: &str) -> String {
        self.named(Fixed::OtherVoice.key(), Self::own_name(voice))
    }

    /// Why a language could not be had, where the reference stands in for it.
    pub fn language_gone(&self, why: &str) -> String {
        self.named(Fixed::LanguageGone.key(), why)
    }

    /// The message of a closed list's word.
    pub(crate) fn word(&self, list: &str, word: &str) -> String {
        self.plain(&format!("{list}-{word}")).to_owned()
    }

    /// A message by its key, for tests.
    #[cfg(test)]
    pub(crate) fn text(&self, key: &str) -> &str {
        self.plain(key)
    }

    pub(crate) fn plain(&self, key: &str) -> &str {
        // Every key was found when the file was read.
        self.plain.get(key).map_or("", String::as_str)
    }

    pub(crate) fn formatted(&self, key: &str, args: &FluentArgs<'_>) -> String {
        let Some(pattern) = self
            .bundle
            .get_message(key)
            .and_then(|message| message.value())
        else {
            return String::new();
        };
        let mut errors = Vec::new();
        let text = self.bundle.format_pattern(pattern, Some(args), &mut errors);
        if errors.is_empty() {
            text.into_owned()
        } else {
            String::new()
        }
    }
}

impl fmt::Debug for Words {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Words")
            .field("lang", &self.lang)
            .finish_non_exhaustive()
    }
}

/// A value for each name that a message may take, to try a file out.
fn probe() -> FluentArgs<'static> {
    let mut args = FluentArgs::new();
    args.set("n", FluentValue::from(2));
    args.set("name", FluentValue::from("name"));
    for name in VALUES {
        args.set(name, FluentValue::from(name));
    }
    args
}

/// Why a language cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WordsError {
    /// There is no file for the tag.
    Unknown {
        /// The tag that was asked for.
        asked: String,
        /// The tags that there are.
        known: String,
    },
    /// The file cannot be read as messages.
    Damaged {
        /// The language.
        lang: &'static str,
        /// What the reader said.
        detail: String,
    },
    /// A message is missing, or cannot be formed from the values that it is given.
    Gap {
        /// The language.
        lang: &'static str,
        /// The message.
        key: String,
    },
    /// A message that nothing shows.
    Stray {
        /// The language.
        lang: &'static str,
        /// The message.
        key: String,
    },
}

impl fmt::Display for WordsError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unknown { asked, known } => {
                write!(f, "language {asked}, allowed: {known}")
            }
            Self::Damaged { lang, detail } => write!(f, "messages of {lang}: {detail}"),
            Self::Gap { lang, key } => {
                write!(
                    f,
                    "messages of {lang}: {key} has no text, add one to its file"
                )
            }
            Self::Stray { lang, key } => {
                write!(
                    f,
                    "messages of {lang}: {key} is shown nowhere, take it out of its file"
                )
            }
        }
    }
}

impl std::error::Error for WordsError {}

#[cfg(test)]
mod tests;
