//! The languages of screen and voice: which there are, and their words once they are asked for.

use std::{
    collections::BTreeMap,
    path::Path,
    sync::{Arc, Mutex, PoisonError},
};

use audio::Pack;
use words::{REFERENCE, Tongue, Words, WordsError};

/// The words of every language that was shown so far.
pub(crate) struct Tongues {
    reference: Arc<Words>,
    others: Mutex<BTreeMap<String, Arc<Words>>>,
}

impl Tongues {
    /// With the language that stands in for any that cannot be had.
    pub(crate) fn load() -> Result<Self, WordsError> {
        Ok(Self {
            reference: Arc::new(Words::load(REFERENCE)?),
            others: Mutex::default(),
        })
    }

    /// The words of a language.
    ///
    /// # Errors
    /// There are none, or they are damaged.
    pub(crate) fn find(&self, lang: &str) -> Result<Arc<Words>, WordsError> {
        if lang == REFERENCE {
            return Ok(Arc::clone(&self.reference));
        }
        let mut others = self.others.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(words) = others.get(lang) {
            return Ok(Arc::clone(words));
        }
        let words = Arc::new(Words::load(lang)?);
        others.insert(lang.to_owned(), Arc::clone(&words));
        Ok(words)
    }

    /// The words of a language, or of the one that stands in for it.
    pub(crate) fn of(&self, lang: &str) -> Arc<Words> {
        self.find(lang)
            .unwrap_or_else(|_| Arc::clone(&self.reference))
    }

    /// What can be chosen, each with the voice that it comes with; `own` is the folder of the service's own.
    pub(crate) fn choices(own: &Path) -> Vec<Tongue> {
        let tongue = |lang| Tongue {
            lang,
            voice: Pack::voice_with_own(own, lang),
        };
        Words::languages().map(tongue).collect()
    }
}
