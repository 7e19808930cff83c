//! Everything since the last hand-in as one file for the desk, and the desk's side of it.
//!
//! The file is one line of JSON, the manifest, and then the records, byte for byte, one after the other. A
//! run counts as handed in once the file has been written, synced and read again; a run that a review has
//! changed since then is another one.

use std::{
    collections::BTreeSet,
    fmt, fs,
    io::{self, BufRead as _, Read as _, Write},
    path::{Path, PathBuf},
};

use record::{Digest, Wall};
use serde::{Deserialize, Serialize};

use crate::{
    FileStore, Passed, Store, StoreError, Unread,
    keeping::{Steps, last_line},
    private::{add_lines, lines, make_folder, options, sync_folder},
};

const SCHEMA: &str = "handin/1.1.0";
const HANDED_IN: &str = "handed-in.jsonl";
/// The manifest's line at most: fifty thousand runs.
const MANIFEST_MAX: usize = 16 * 1024 * 1024;

/// A hand-in's first line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    /// `handin/1.1.0`; one of 1.0.0 has neither `before` nor `unread`.
    pub schema: String,
    /// When it was made, by the phone's clock.
    pub made: Wall,
    /// SHA-256 of the first line of the hand-in that this folder made before: none may be missing between them.
    /// `None`: there was none, or it was one of 1.0.0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub before: Option<Digest>,
    /// Runs of the folder that could not be read.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub unread: Vec<String>,
    /// The records, in the order in which they follow.
    pub records: Vec<Piece>,
}

/// One record of a hand-in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Piece {
    /// The record's id.
    pub record_id: String,
    /// Its bytes.
    pub bytes: u64,
    /// SHA-256 of all of them.
    pub sha256: Digest,
    /// Of its last line.
    pub fingerprint: Digest,
}

impl Piece {
    /// Whether these bytes are the record.
    ///
    /// # Errors
    /// What was found and what is allowed.
    pub fn is(&self, bytes: &[u8]) -> Result<(), String> {
        let found = Digest::of(bytes);
        if found != self.sha256 {
            return Err(format!("SHA-256 = {found}, allowed: {}", self.sha256));
        }
        let found = last_line(bytes);
        if found != self.fingerprint {
            return Err(format!(
                "fingerprint = {found}, allowed: {}",
                self.fingerprint
            ));
        }
        Ok(())
    }
}

/// A hand-in's first line, read without the records.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Head {
    /// What it says.
    pub manifest: Manifest,
    /// SHA-256 of the line: the next hand-in of the same folder names it.
    pub line: Digest,
    /// Where the first record begins.
    pub from: u64,
}

/// A line of the list of what was handed in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Handed {
    fingerprint: String,
    /// SHA-256 of the first line of the hand-in that it went with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    hand_in: Option<Digest>,
}

/// Why a hand-in is not made or not taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HandInError {
    /// The disk.
    Store(StoreError),
    /// Nothing has come since the last one.
    Nothing,
    /// Nothing has come since the last one but files that cannot be read.
    Unread(Vec<Unread>),
    /// It is no hand-in, or not whole.
    File {
        /// Where.
        path: PathBuf,
        /// Which part of it.
        place: String,
        /// What is wrong.
        what: String,
    },
    /// The folder holds another record of the same id.
    Other {
        /// Where.
        path: PathBuf,
    },
}

impl fmt::Display for HandInError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Store(e) => e.fmt(f),
            Self::Nothing => f.write_str("no run since the last hand-in: nothing to hand in"),
            Self::Unread(files) => {
                f.write_str(
                    "no run since the last hand-in: nothing to hand in; what cannot be read stays as it is",
                )?;
                files.iter().try_for_each(|file| write!(f, "; {file}"))
            }
            Self::File { path, place, what } => write!(
                f,
                "{}: {place}: {what}: hand it in again; nothing was unpacked",
                path.display()
            ),
            Self::Other { path } => write!(
                f,
                "{} holds another record of that id, or a later state of it: unpack into another \
                 folder; nothing was unpacked",
                path.display()
            ),
        }
    }
}

impl std::error::Error for HandInError {}

impl From<StoreError> for HandInError {
    fn from(e: StoreError) -> Self {
        Self::Store(e)
    }
}

/// What waits for the next hand-in.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Waiting {
    /// The runs since the last one, the latest first, without the one that goes on.
    pub runs: Vec<String>,
    /// Files that the disk does not give, or that hold no record: they stay where they are, and no other run waits
    /// for them.
    pub unread: Vec<Unread>,
}

/// What waits for the next hand-in.
///
/// # Errors
/// See [`StoreError`].
pub fn waiting(folder: &Path, live: Option<&str>) -> Result<Waiting, StoreError> {
    let mut out = Waiting::default();
    out.unread = gather(folder, live, |piece, _| out.runs.push(piece.record_id))?;
    Ok(out)
}

/// Whether a run has not been handed in as it is now.
///
/// # Errors
/// See [`StoreError`].
pub fn is_waiting(folder: &Path, record_id: &str) -> Result<bool, StoreError> {
    let bytes = FileStore::at(folder).read(record_id)?;
    Ok(!handed(folder)?.contains(&last_line(&bytes).to_string()))
}

/// The fingerprints of what a folder of runs has handed in.
///
/// # Errors
/// See [`StoreError`].
pub fn handed(folder: &Path) -> Result<BTreeSet<String>, StoreError> {
    let lines: Vec<Handed> = lines(&folder.join(HANDED_IN))?;
    Ok(lines.into_iter().map(|line| line.fingerprint).collect())
}

/// The hand-in that a folder made last.
fn before(folder: &Path) -> Result<Option<Digest>, StoreError> {
    let lines: Vec<Handed> = lines(&folder.join(HANDED_IN))?;
    Ok(lines.last().and_then(|line| line.hand_in))
}

/// Looks at what was not handed in yet, a run at a time; gives what cannot be read, and why.
fn gather(
    folder: &Path,
    live: Option<&str>,
    mut found: impl FnMut(Piece, Vec<u8>),
) -> Result<Vec<Unread>, StoreError> {
    let store = FileStore::at(folder);
    let handed = handed(folder)?;
    let mut unread = Vec::new();
    for record_id in store.list()? {
        if live == Some(record_id.as_str()) {
            continue;
        }
        let read = store.read(&record_id).map_err(Passed::Store);
        // A damaged record goes as it is, as long as it is one: what holds no run counts as none.
        let read = read.and_then(|bytes| {
            let opened = record::open(&bytes).map_err(Passed::Record)?;
            Ok((record::fingerprint(&opened), bytes))
        });
        let (fingerprint, bytes) = match read {
            Ok(read) => read,
            Err(why) => {
                unread.push(Unread { record_id, why });
                continue;
            }
        };
        if handed.contains(&fingerprint.to_string()) {
            continue;
        }
        let piece = Piece {
            record_id,
            bytes: u64::try_from(bytes.len()).unwrap_or(u64::MAX),
            sha256: Digest::of(&bytes),
            fingerprint,
        };
        found(piece, bytes);
    }
    Ok(unread)
}

/// Writes everything since the last hand-in to a new file, and then marks it as handed in.
///
/// # Errors
/// See [`HandInError`]; nothing is marked then, and the next hand-in holds it again. A run that cannot be
/// read is left out and is in [`Waiting::unread`].
pub fn hand_in(
    folder: &Path,
    out: &Path,
    live: Option<&str>,
    now: Wall,
) -> Result<Manifest, HandInError> {
    hand_in_by_steps(folder, out, live, now, &mut |_| Ok(()))
}

fn hand_in_by_steps(
    folder: &Path,
    out: &Path,
    live: Option<&str>,
    now: Wall,
    step: Steps<'_>,
) -> Result<Manifest, HandInError> {
    let failed = |e: io::Error| StoreError::from_io(out, &e);
    if out.exists() {
        let path = out.to_owned();
        return Err(StoreError::Exists { path }.into());
    }
    let mut found: Vec<(Piece, Vec<u8>)> = Vec::new();
    let unread = gather(folder, live, |piece, bytes| found.push((piece, bytes)))?;
    if found.is_empty() {
        return Err(if unread.is_empty() {
            HandInError::Nothing
        } else {
            HandInError::Unread(unread)
        });
    }
    let manifest = Manifest {
        schema: SCHEMA.to_owned(),
        made: now,
        before: before(folder)?,
        unread: unread.into_iter().map(|file| file.record_id).collect(),
        records: found.iter().map(|(piece, _)| piece.clone()).collect(),
    };
    let mut name = out.as_os_str().to_owned();
    name.push(".part");
    let part = PathBuf::from(name);
    let head = serde_json::to_string(&manifest).map_err(|e| failed(e.into()))?;
    step("write the file").map_err(failed)?;
    let mut file = options()
        .write(true)
        .create(true)
        .truncate(true)
        .open(&part)
        .map_err(failed)?;
    file.write_all(head.as_bytes()).map_err(failed)?;
    file.write_all(b"\n").map_err(failed)?;
    for (_, bytes) in &found {
        step("write a record").map_err(failed)?;
        file.write_all(bytes).map_err(failed)?;
    }
    step("sync the file").map_err(failed)?;
    file.sync_all().map_err(failed)?;
    drop(file);
    step("read it again").map_err(failed)?;
    read(&part)?;
    step("name the file").map_err(failed)?;
    fs::rename(&part, out).map_err(failed)?;
    sync_folder(out.parent().unwrap_or_else(|| Path::new("")))?;
    let mut marks = String::new();
    for piece in &manifest.records {
        let fingerprint = piece.fingerprint.to_string();
        let hand_in = Some(Digest::of(head.as_bytes()));
        let mark = Handed {
            fingerprint,
            hand_in,
        };
        let mark = serde_json::to_string(&mark).map_err(|e| failed(e.into()))?;
        marks.push_str(&mark);
        marks.push('\n');
    }
    step("mark it").map_err(failed)?;
    add_lines(&folder.join(HANDED_IN), &marks)?;
    Ok(manifest)
}

/// What begins a hand-in, so that it can be told from other files.
pub const BEGINS: &[u8] = br#"{"schema":"handin/"#;

fn wrong(path: &Path, place: &str, what: String) -> HandInError {
    HandInError::File {
        path: path.to_owned(),
        place: place.to_owned(),
        what,
    }
}

/// Reads a hand-in's first line.
fn head_of(path: &Path, line: &[u8]) -> Result<Head, HandInError> {
    let wrong = |what: String| wrong(path, "manifest", what);
    let manifest: Manifest = serde_json::from_slice(line).map_err(|e| wrong(e.to_string()))?;
    if !manifest.schema.starts_with("handin/1.") {
        let what = format!("schema = {:?}, allowed: handin/1.x", manifest.schema);
        return Err(wrong(what));
    }
    let from = u64::try_from(line.len()).unwrap_or(u64::MAX);
    Ok(Head {
        manifest,
        line: Digest::of(line),
        from: from.saturating_add(1),
    })
}

/// Reads what a hand-in says it holds, and none of its records.
///
/// # Errors
/// See [`HandInError`].
pub fn head(path: &Path) -> Result<Head, HandInError> {
    let failed = |e: io::Error| HandInError::Store(StoreError::from_io(path, &e));
    let most = u64::try_from(MANIFEST_MAX).unwrap_or(u64::MAX);
    let mut file = io::BufReader::new(fs::File::open(path).map_err(failed)?).take(most);
    let mut line = Vec::new();
    file.read_until(b'\n', &mut line).map_err(failed)?;
    if line.pop() != Some(b'\n') {
        return Err(wrong(path, "manifest", "no line of JSON".to_owned()));
    }
    head_of(path, &line)
}

/// Reads a hand-in: the manifest, and each record's bytes, every one compared with what the manifest says.
///
/// # Errors
/// See [`HandInError`].
pub fn read(path: &Path) -> Result<(Manifest, Vec<Vec<u8>>), HandInError> {
    let bytes = fs::read(path).map_err(|e| StoreError::from_io(path, &e))?;
    let wrong = |place: &str, what: String| wrong(path, place, what);
    let first = bytes.iter().take(MANIFEST_MAX).position(|b| *b == b'\n');
    let (head, mut rest) = first
        .and_then(|end| bytes.split_at_checked(end))
        .ok_or_else(|| wrong("manifest", "no line of JSON".to_owned()))?;
    rest = rest.get(1..).unwrap_or_default();
    let manifest = head_of(path, head)?.manifest;
    let mut records = Vec::new();
    let mut seen = BTreeSet::new();
    for piece in &manifest.records {
        let place = format!("record {}", piece.record_id);
        FileStore::at(Path::new("")).path(&piece.record_id)?;
        if !seen.insert(piece.record_id.as_str()) {
            return Err(wrong(&place, "it is there twice".to_owned()));
        }
        let cut = usize::try_from(piece.bytes)
            .ok()
            .and_then(|len| rest.split_at_checked(len));
        let Some((record, after)) = cut else {
            let what = format!("{} bytes of it, allowed: {}", rest.len(), piece.bytes);
            return Err(wrong(&place, what));
        };
        piece.is(record).map_err(|what| wrong(&place, what))?;
        records.push(record.to_vec());
        rest = after;
    }
    if !rest.is_empty() {
        let what = format!("{} bytes after the last record, allowed: none", rest.len());
        return Err(wrong("end", what));
    }
    Ok((manifest, records))
}

/// What an unpacking came to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Unpacked {
    /// Records that are new in the folder.
    pub new: usize,
    /// Records that have got a review's lines.
    pub grown: usize,
    /// Records that were there already.
    pub same: usize,
}

/// Puts the records of a hand-in into a folder, which is made if it is not there. A record that is there and
/// has got lines since is completed; nothing else is overwritten.
///
/// # Errors
/// See [`HandInError`]. What the hand-in or the folder holds is looked at before anything is written.
pub fn unpack(file: &Path, folder: &Path) -> Result<Unpacked, HandInError> {
    let (manifest, records) = read(file)?;
    if !folder.exists() {
        make_folder(folder).map_err(|e| StoreError::from_io(folder, &e))?;
    }
    let store = FileStore::at(folder);
    let mut out = Unpacked::default();
    let mut todo = Vec::new();
    for (piece, bytes) in manifest.records.iter().zip(&records) {
        let path = store.path(&piece.record_id)?;
        let count = match store.read(&piece.record_id) {
            Err(StoreError::Missing { .. }) => &mut out.new,
            Err(e) => return Err(e.into()),
            Ok(there) if there == *bytes => {
                out.same = out.same.saturating_add(1);
                continue;
            }
            Ok(there) if bytes.starts_with(&there) => &mut out.grown,
            Ok(_) => return Err(HandInError::Other { path }),
        };
        *count = count.saturating_add(1);
        todo.push((path, bytes));
    }
    for (path, bytes) in todo {
        let failed = |e: io::Error| StoreError::from_io(&path, &e);
        let part = path.with_extension("part");
        let mut file = options()
            .write(true)
            .create(true)
            .truncate(true)
            .open(&part)
            .map_err(failed)?;
        file.write_all(bytes).map_err(failed)?;
        file.sync_all().map_err(failed)?;
        fs::rename(&part, &path).map_err(failed)?;
    }
    sync_folder(folder)?;
    Ok(out)
}

#[cfg(test)]
mod tests;
