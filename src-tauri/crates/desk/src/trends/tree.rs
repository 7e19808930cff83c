//! What lies in a folder: records and hand-ins by their first line, and what is known to be missing.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    io::{self, BufRead as _, Read as _},
    path::{Path, PathBuf},
    sync::Arc,
};

use conduct::{
    FileStore, Store as _,
    hand_in::{self, HandInError, Head, Piece},
};
use record::{LINE_MAX, OpenError};
use trends::{Gone, LeftOut, Missing, Why};

use super::house::{House, is_house};
use crate::measures::Faults;

/// Where a record's bytes are.
#[derive(Clone, Debug)]
pub(crate) enum Where {
    /// They are the file.
    File,
    /// The file and the rest of it that a failed disk did not take.
    Joined(String),
    /// They are a part of a hand-in.
    Piece(u64, Piece),
}

/// A copy of a record.
#[derive(Clone, Debug)]
pub(crate) struct Source {
    /// The file; of one with a rest its folder.
    pub(crate) path: Arc<Path>,
    /// What is said of where it is.
    shown: Arc<str>,
    /// Where in it.
    pub(crate) part: Where,
}

impl Source {
    /// Where it is, as it is said.
    pub(crate) fn place(&self) -> String {
        match &self.part {
            Where::File => self.shown.to_string(),
            Where::Joined(id) => format!("{}/{id}", self.shown),
            Where::Piece(_, piece) => format!("{}: record {}", self.shown, piece.record_id),
        }
    }
}

/// What was found.
#[derive(Debug, Default)]
pub(crate) struct Found {
    /// Files that were looked at.
    pub(crate) files: usize,
    /// The copies of each record, in the order of its id.
    pub(crate) records: Vec<Vec<Source>>,
    pub(crate) left_out: Vec<LeftOut>,
    pub(crate) missing: Vec<Missing>,
}

/// Lists of a folder of runs, and its marks: no records.
const LISTS: [&str; 3] = ["handed-in.jsonl", "tombstones.jsonl", "lock"];
const MARKS: [&str; 3] = [".hold", ".delete", ".copies.jsonl"];
const RECORD: &str = ".rec.jsonl";
const REST: &str = ".rest.jsonl";

struct Walk<'a> {
    root: &'a Path,
    found: Found,
    by_id: BTreeMap<String, Vec<Source>>,
    heads: Vec<(Arc<str>, Head)>,
    /// Folders of runs.
    houses: Vec<PathBuf>,
}

/// Looks at every file of a folder and of those in it. Links to folders are not followed.
pub(crate) fn walk(folder: &Path) -> Result<Found, Faults> {
    if !folder.is_dir() {
        return Err(vec![format!(
            "{}: no folder, allowed: a folder with records (ID.rec.jsonl) and hand-ins",
            folder.display()
        )]);
    }
    let mut walk = Walk {
        root: folder,
        found: Found::default(),
        by_id: BTreeMap::new(),
        heads: Vec::new(),
        houses: Vec::new(),
    };
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        let mut inside = walk.folder(&next);
        inside.reverse();
        folders.extend(inside);
    }
    walk.missing();
    walk.found.records = walk.by_id.into_values().collect();
    Ok(walk.found)
}

impl Walk<'_> {
    fn shown(&self, path: &Path) -> String {
        let below = path.strip_prefix(self.root).unwrap_or(path);
        let parts = below.iter().map(|part| part.to_string_lossy());
        parts.collect::<Vec<_>>().join("/")
    }

    fn left(&mut self, place: String, why: Why, detail: String) {
        self.found.left_out.push(LeftOut { place, why, detail });
    }

    /// Looks at the files of a folder, and gives the folders in it.
    fn folder(&mut self, folder: &Path) -> Vec<PathBuf> {
        let entries = fs::read_dir(folder).and_then(Iterator::collect::<Result<Vec<_>, _>>);
        let entries = match entries {
            Ok(entries) => entries,
            Err(e) => {
                self.left(self.shown(folder), Why::Unreadable, disk(&e));
                return Vec::new();
            }
        };
        let mut paths: Vec<PathBuf> = entries.into_iter().map(|entry| entry.path()).collect();
        paths.sort();
        let name = |path: &Path| {
            path.file_name()
                .unwrap_or_default()
                .to_string_lossy()
                .into_owned()
        };
        let names: BTreeSet<String> = paths.iter().map(|path| name(path)).collect();
        if is_house(&names) {
            self.houses.push(folder.to_owned());
        }
        let mut inside = Vec::new();
        for path in &paths {
            let name = name(path);
            if LISTS.contains(&name.as_str()) || MARKS.iter().any(|end| name.ends_with(end)) {
                continue;
            }
            let is_link = fs::symlink_metadata(path).is_ok_and(|m| m.is_symlink());
            match fs::metadata(path) {
                Err(e) => self.left(self.shown(path), Why::Unreadable, disk(&e)),
                Ok(about) if about.is_dir() && is_link => {
                    let what = "a link to a folder, allowed: files and folders; look at that folder by itself";
                    self.left(self.shown(path), Why::Foreign, what.to_owned());
                }
                Ok(about) if about.is_dir() => inside.push(path.clone()),
                Ok(about) if !about.is_file() => {
                    let what = "no file, allowed: records and hand-ins; move it elsewhere";
                    self.left(self.shown(path), Why::Foreign, what.to_owned());
                }
                Ok(about) => {
                    self.found.files = self.found.files.saturating_add(1);
                    let stem = name.strip_suffix(RECORD);
                    let stem = stem.or_else(|| name.strip_suffix(REST));
                    match stem {
                        Some(id) if names.contains(&format!("{id}{REST}")) => {
                            // Both files are one record.
                            if name.ends_with(REST) {
                                self.joined(folder, id);
                            }
                        }
                        _ => self.file(path, about.len()),
                    }
                }
            }
        }
        inside
    }

    fn add(&mut self, id: &str, source: Source) {
        self.by_id.entry(id.to_owned()).or_default().push(source);
    }

    /// A record with the rest that a failed disk did not take.
    fn joined(&mut self, folder: &Path, id: &str) {
        let place = self.shown(&folder.join(id));
        let bytes = match FileStore::at(folder).read(id) {
            Ok(bytes) => bytes,
            Err(e) => return self.left(place, Why::Unreadable, e.to_string()),
        };
        match record::open(&bytes) {
            Ok(opened) => {
                let source = Source {
                    path: folder.into(),
                    shown: self.shown(folder).into(),
                    part: Where::Joined(id.to_owned()),
                };
                self.add(&opened.header.record_id, source);
            }
            Err(e) => self.refused(place, &e, false),
        }
    }

    /// A file, known by its first line.
    fn file(&mut self, path: &Path, len: u64) {
        let place = self.shown(path);
        let line = match first_line(path) {
            Ok(line) => line,
            Err(e) => return self.left(place, Why::Unreadable, disk(&e)),
        };
        let shown: Arc<str> = place.as_str().into();
        let source = |part: Where| Source {
            path: path.into(),
            shown: Arc::clone(&shown),
            part,
        };
        if line.starts_with(hand_in::BEGINS) {
            return self.hand_in(path, &shown, len);
        }
        match record::open(&line) {
            Ok(opened) => self.add(&opened.header.record_id, source(Where::File)),
            Err(e) => self.refused(place, &e, u64::try_from(line.len()) == Ok(len)),
        }
    }

    /// A first line that is no record's; `is_all`: the file has nothing more.
    fn refused(&mut self, place: String, e: &OpenError, is_all: bool) {
        let (why, help) = match e {
            OpenError::Empty => (Why::Half, "hand it in again"),
            OpenError::Header(_) if is_all => (Why::Half, "hand it in again"),
            OpenError::Header(_) => (Why::Damaged, "hand it in again"),
            OpenError::Version { found, known } if found.major > known.major => {
                (Why::Newer, "or leave it out")
            }
            OpenError::Foreign { .. } | OpenError::Version { .. } => (
                Why::Foreign,
                "allowed: a record or a hand-in; move it elsewhere",
            ),
        };
        self.left(place, why, format!("{e}; {help}"));
    }

    fn hand_in(&mut self, path: &Path, shown: &Arc<str>, len: u64) {
        let head = match hand_in::head(path) {
            Ok(head) => head,
            Err(HandInError::File { place, what, .. }) => {
                let (why, help) = if what.starts_with("schema") {
                    (Why::Newer, "use the newer app")
                } else {
                    (Why::Half, "hand it in again")
                };
                return self.left(shown.to_string(), why, format!("{place}: {what}; {help}"));
            }
            Err(e) => return self.left(shown.to_string(), Why::Unreadable, e.to_string()),
        };
        let mut from = head.from;
        let path: Arc<Path> = path.into();
        for piece in &head.manifest.records {
            let source = Source {
                path: Arc::clone(&path),
                shown: Arc::clone(shown),
                part: Where::Piece(from, piece.clone()),
            };
            from = from.saturating_add(piece.bytes);
            self.add(&piece.record_id, source);
        }
        if from < len {
            let what = format!(
                "{} bytes after the last record, allowed: none; hand it in again",
                len.saturating_sub(from)
            );
            self.left(shown.to_string(), Why::Damaged, what);
        }
        self.heads.push((Arc::clone(shown), head));
    }

    /// What did not come in.
    fn missing(&mut self) {
        let lines: BTreeSet<String> = self.heads.iter().map(|(_, h)| h.line.to_string()).collect();
        let mut all = Vec::new();
        for (shown, head) in &self.heads {
            let before = head.manifest.before.map(|d| d.to_string());
            let before = before.filter(|line| !lines.contains(line));
            let unread = head.manifest.unread.iter();
            let unread = unread.filter(|id| !self.by_id.contains_key(*id)).cloned();
            let of = |gone: Gone| move |name: String| (gone, name);
            let named = before.map(of(Gone::HandIn)).into_iter();
            for (gone, name) in named.chain(unread.map(of(Gone::Unread))) {
                let told_by = shown.to_string();
                all.push(Missing {
                    gone,
                    name,
                    told_by,
                });
            }
        }
        let pieces = self
            .heads
            .iter()
            .flat_map(|(_, head)| &head.manifest.records);
        let pieces: BTreeSet<String> = pieces.map(|p| p.fingerprint.to_string()).collect();
        for folder in &self.houses {
            let shown = self.shown(folder);
            let house = House {
                folder,
                shown: &shown,
                came_in: &pieces,
                left_out: &mut self.found.left_out,
                missing: &mut all,
            };
            house.look();
        }
        self.found.missing = all;
    }
}

fn disk(e: &io::Error) -> String {
    format!("{e}; allowed: a file that can be read")
}

/// The first line with its line feed, or as much of it as a record's may have.
fn first_line(path: &Path) -> io::Result<Vec<u8>> {
    let most = u64::try_from(LINE_MAX.saturating_add(1)).unwrap_or(u64::MAX);
    let mut file = io::BufReader::with_capacity(8192, fs::File::open(path)?).take(most);
    let mut line = Vec::new();
    file.read_until(b'\n', &mut line)?;
    Ok(line)
}
