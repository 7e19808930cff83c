//! A service's own protocol as it is written on a desk: a copy of another file, changed field by field, kept at
//! every step, saved where the service says, and a minute of it heard and drawn.
//!
//! The draft lies in a file beside the settings, so that a kill loses nothing of it.
#![forbid(unsafe_code)]

mod file;
mod minute;
mod picture;
#[cfg(test)]
mod tests;

pub use file::DraftError;
pub use minute::Minute;
pub use picture::{Sketch, picture};

use std::{
    path::{Path, PathBuf},
    sync::{Mutex, MutexGuard, PoisonError},
};

use audio::Pack;
use chart::Palette;
use conduct::Own;
use cycle::{EditFault, Protocol, Slot};
use words::{
    Draft, DraftChange, DraftFacts, DraftSlot, DraftSource, DraftWord as W, Situation, Words,
};

/// So many changes can be taken back. Source: common practice, no source.
const MOST_BACK: usize = 200;

/// The editor.
#[derive(Debug)]
pub struct Drafting {
    /// Where the draft is kept.
    kept_at: PathBuf,
    /// The folder of the service's own files.
    own_at: PathBuf,
    held: Mutex<Held>,
}

#[derive(Debug, Default)]
struct Held {
    /// The file has been looked for.
    is_read: bool,
    text: Option<String>,
    /// What it was before each change, the latest last.
    before: Vec<String>,
    /// Its own file, which a save may write over.
    own: Option<PathBuf>,
}

impl Drafting {
    /// The editor of this folder of settings and this folder of the service's files. Nothing is read yet.
    pub fn at(settings: &Path, own: &Path) -> Self {
        Self {
            kept_at: settings.with_file_name("protocol-draft.toml"),
            own_at: own.to_owned(),
            held: Mutex::default(),
        }
    }

    fn held(&self) -> Result<MutexGuard<'_, Held>, DraftError> {
        let mut held = self.held.lock().unwrap_or_else(PoisonError::into_inner);
        if !held.is_read {
            held.text = file::read(&self.kept_at)?;
            held.is_read = true;
        }
        Ok(held)
    }

    /// What can be copied, and the draft if there is one.
    ///
    /// # Errors
    /// The draft's file cannot be read.
    pub fn page(&self, words: &Words) -> Result<Draft, DraftError> {
        let held = self.held()?;
        Ok(self.shown(words, &held))
    }

    fn shown(&self, words: &Words, held: &Held) -> Draft {
        let own = Own::read(&self.own_at);
        let source = |id: &str, label: &str, is_example| DraftSource {
            id: id.to_owned(),
            label: label.to_owned(),
            is_example,
        };
        let examples = Protocol::EXAMPLES.iter().filter_map(|(id, text)| {
            let name = Protocol::parse(text.as_bytes()).ok()?.name;
            Some(source(id, &name, true))
        });
        let ours = own.protocols.iter().map(|p| source(&p.id, &p.name, false));
        let sources = examples.chain(ours).collect();
        let Some(text) = &held.text else {
            return words.draft(sources, None);
        };
        let form = Protocol::form(text);
        let value = |name: &str| {
            let found = form.fields.iter().find(|field| field.field == name);
            found.and_then(|field| field.value.clone())
        };
        let id = value("id").unwrap_or_default();
        let facts = DraftFacts {
            of: value("name").unwrap_or_default(),
            place: held.own.as_deref().map_or_else(
                || self.own_at.join(file::name_of(&id)).display().to_string(),
                |own| own.display().to_string(),
            ),
            can_take_back: !held.before.is_empty(),
            situations: Protocol::parse(text.as_bytes())
                .map(|protocol| minute::possible(&protocol))
                .unwrap_or_default(),
        };
        words.draft(sources, Some((&form, &facts)))
    }

    /// Copies a built-in example or a file of the service's. A draft that is there is put aside in a file
    /// beside it.
    ///
    /// # Errors
    /// There is no such file, or the draft cannot be kept.
    pub fn open(&self, words: &Words, id: &str) -> Result<Draft, DraftError> {
        let (text, own) = if let Some(text) = Protocol::example(id) {
            (copied(text, id)?, None)
        } else {
            let found = file::own(&self.own_at, id)?;
            (found.text, Some(found.path))
        };
        let mut held = self.held()?;
        if let Some(there) = &held.text {
            file::write(&self.kept_at.with_extension("before.toml"), there)?;
        }
        file::write(&self.kept_at, &text)?;
        *held = Held {
            is_read: true,
            text: Some(text),
            before: Vec::new(),
            own,
        };
        Ok(self.shown(words, &held))
    }

    /// Changes the draft, and keeps it. What cannot be kept is not changed.
    ///
    /// # Errors
    /// There is no draft, the change cannot be made in this file, or it cannot be kept.
    pub fn change(&self, words: &Words, asked: &DraftChange) -> Result<Draft, DraftError> {
        let mut held = self.held()?;
        let text = held.text.clone().ok_or(DraftError::None)?;
        let changed = match asked {
            DraftChange::Write { field, slot, typed } => {
                let slot = match slot {
                    DraftSlot::Value => Slot::Value,
                    DraftSlot::Source => Slot::Source,
                    DraftSlot::Range => Slot::Range,
                };
                Protocol::with(&text, field, slot, typed)?
            }
            DraftChange::TakeOut { field } => Protocol::without(&text, field)?,
            DraftChange::Add { row } => Protocol::with_row(&text, row)?,
            DraftChange::TakeBack {} => held.before.last().cloned().unwrap_or_else(|| text.clone()),
        };
        if changed != text {
            file::write(&self.kept_at, &changed)?;
            if matches!(asked, DraftChange::TakeBack {}) {
                held.before.pop();
            } else {
                held.before.push(text);
                let over = held.before.len().saturating_sub(MOST_BACK);
                held.before.drain(..over);
            }
            held.text = Some(changed);
        }
        Ok(self.shown(words, &held))
    }

    /// Writes the draft to a file of the service's; says where.
    ///
    /// # Errors
    /// The draft has a fault, its id is a built-in one's, or the place is none that may be written.
    pub fn save(&self, words: &Words, place: &str) -> Result<String, DraftError> {
        let mut held = self.held()?;
        let text = held.text.clone().ok_or(DraftError::None)?;
        let refused = |word, values: &[&str]| DraftError::Refused(words.draft_said(word, values));
        let protocol = Protocol::parse(text.as_bytes()).map_err(|_faults| refused(W::Mend, &[]))?;
        if Protocol::example(&protocol.id).is_some() {
            return Err(refused(W::BuiltIn, &[&protocol.id]));
        }
        let path = PathBuf::from(place.trim());
        let shown = path.display().to_string();
        let is_file = path.extension().is_some_and(|ext| ext == "toml");
        let Some(folder) = path.parent().filter(|_| path.is_absolute() && is_file) else {
            return Err(refused(W::NoPlace, &[&shown]));
        };
        let unable = |e: &DraftError| refused(W::NotSaved, &[&shown, &e.to_string()]);
        if folder == self.own_at {
            file::make_folder(folder).map_err(|e| unable(&e))?;
        }
        if !folder.is_dir() {
            return Err(refused(W::NoFolder, &[&folder.display().to_string()]));
        }
        let is_own = held.own.as_ref() == Some(&path);
        if path.exists() {
            if !is_own {
                return Err(refused(W::Taken, &[&shown]));
            }
            // What the service had before is left beside it, under a name that is read as no protocol.
            file::set_aside(&path).map_err(|e| unable(&e))?;
        }
        file::write(&path, &text).map_err(|e| unable(&e))?;
        held.own = Some(path);
        Ok(words.draft_said(W::Saved, &[&shown]))
    }

    /// A minute of a run with the draft's numbers.
    ///
    /// # Errors
    /// There is no draft, it has a fault, or the minute cannot be rehearsed with it.
    pub fn minute(
        &self,
        words: &Words,
        situation: Situation,
        pack: &Pack,
        palette: &Palette,
    ) -> Result<Minute, DraftError> {
        let text = self.held()?.text.clone().ok_or(DraftError::None)?;
        let protocol = Protocol::parse(text.as_bytes())
            .map_err(|_faults| DraftError::Refused(words.draft_said(W::Mend, &[])))?;
        minute::minute(protocol, situation, (words, pack), palette)
    }
}

/// An example under a name of its own: its id stays the example's.
fn copied(text: &str, id: &str) -> Result<String, EditFault> {
    let text = Protocol::with(text, "id", Slot::Value, &format!("copy-of-{id}"))?;
    let name = Protocol::parse(text.as_bytes()).map(|p| p.name);
    let name = name.unwrap_or_default();
    Protocol::with(&text, "name", Slot::Value, &format!("{name} (2)"))
}
