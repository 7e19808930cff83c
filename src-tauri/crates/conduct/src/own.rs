//! A service's own protocol files: every `.toml` file of one folder, and what is wrong with the others.

use std::{
    collections::BTreeMap,
    error::Error,
    fmt, fs,
    io::{self, Read},
    path::{Path, PathBuf},
};

use cycle::{ClipLengths, Protocol, ProtocolFault, Setup};

/// No more of a file is read than shows that it is too large for a protocol.
const MOST_BYTES: u64 = 64 * 1024;
/// So many files are read at most. Source: common practice, no source; a service has four classes.
const MOST_FILES: usize = 50;

/// What a folder of protocol files holds.
#[derive(Debug, Default)]
pub struct Own {
    /// The files without a fault, by their names.
    pub protocols: Vec<Protocol>,
    /// Those that cannot be used.
    pub faults: Vec<OwnFault>,
}

/// Why a file of the service's cannot be used.
#[derive(Debug)]
pub enum OwnFault {
    /// The folder or the file cannot be read.
    Read {
        /// Which.
        path: PathBuf,
        /// Why.
        error: io::Error,
    },
    /// A value of the file is wrong.
    Value {
        /// The file's name.
        file: String,
        /// Where and what.
        fault: ProtocolFault,
    },
    /// Another file, or a built-in example, has its id.
    Id {
        /// The file's name.
        file: String,
        /// The id.
        id: String,
        /// What has it: a file's name; `None`: a built-in example.
        other: Option<String>,
    },
    /// More files than are read.
    Many {
        /// The folder.
        path: PathBuf,
    },
}

impl fmt::Display for OwnFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Read { path, error } => write!(f, "{}: {error}", path.display()),
            Self::Value { file, fault } => write!(f, "{file}: {fault}"),
            Self::Id { file, id, other } => {
                let other = other.as_deref().unwrap_or("a built-in example");
                write!(f, "{file}: id {id} is that of {other}: give it another")
            }
            Self::Many { path } => write!(
                f,
                "{}: more than {MOST_FILES} files, the others are not read: take some away",
                path.display()
            ),
        }
    }
}

impl Error for OwnFault {
    fn source(&self) -> Option<&(dyn Error + 'static)> {
        match self {
            Self::Read { error, .. } => Some(error),
            Self::Value { fault, .. } => Some(fault),
            Self::Id { .. } | Self::Many { .. } => None,
        }
    }
}

impl Own {
    /// Reads the files of a folder. That there is no folder is no fault.
    #[must_use]
    pub fn read(folder: &Path) -> Self {
        let mut own = Self::default();
        let mut paths = match list(folder) {
            Ok(paths) => paths,
            Err(error) => {
                let path = folder.to_owned();
                own.faults.push(OwnFault::Read { path, error });
                return own;
            }
        };
        if paths.len() > MOST_FILES {
            paths.truncate(MOST_FILES);
            let path = folder.to_owned();
            own.faults.push(OwnFault::Many { path });
        }
        // The file that has an id, by id.
        let mut taken: BTreeMap<String, String> = BTreeMap::new();
        for path in paths {
            let file = path.file_name().unwrap_or_default();
            let file = file.to_string_lossy().into_owned();
            let bytes = match bytes(&path) {
                Ok(bytes) => bytes,
                Err(error) => {
                    own.faults.push(OwnFault::Read { path, error });
                    continue;
                }
            };
            match Protocol::parse(&bytes) {
                Ok(protocol) => {
                    let id = protocol.id.clone();
                    let other = taken.get(&id).cloned();
                    if other.is_some() || Protocol::example(&id).is_some() {
                        own.faults.push(OwnFault::Id { file, id, other });
                    } else {
                        taken.insert(id, file);
                        own.protocols.push(protocol);
                    }
                }
                Err(faults) => own.faults.extend(faults.into_iter().map(|fault| {
                    let file = file.clone();
                    OwnFault::Value { file, fault }
                })),
            }
        }
        own
    }

    /// One of them in force, with the service's files for the other classes beside it, the first of each.
    #[must_use]
    pub fn setup(&self, id: &str, clips: ClipLengths) -> Option<Setup> {
        let protocol = self.protocols.iter().find(|p| p.id == id)?.clone();
        let mut others: Vec<Protocol> = Vec::new();
        for other in &self.protocols {
            if other.class != protocol.class && others.iter().all(|o| o.class != other.class) {
                others.push(other.clone());
            }
        }
        Some(Setup {
            class: protocol.class,
            others,
            clips,
            protocol,
        })
    }
}

/// The folder's protocol files, by name.
fn list(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(error),
    };
    let mut paths = Vec::new();
    for entry in entries {
        let path = entry?.path();
        if path.extension().is_some_and(|ext| ext == "toml") {
            paths.push(path);
        }
    }
    paths.sort_unstable();
    Ok(paths)
}

fn bytes(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    fs::File::open(path)?
        .take(MOST_BYTES)
        .read_to_end(&mut bytes)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use cycle::{Prompt, mark::PatientClass};

    use super::*;

    struct Folder(PathBuf);

    impl Folder {
        fn new(name: &str) -> Self {
            let name = format!("carrybeat-own-{}-{name}", std::process::id());
            let path = std::env::temp_dir().join(name);
            fs::create_dir_all(&path).unwrap();
            Self(path)
        }

        fn put(&self, file: &str, text: &str) {
            fs::write(self.0.join(file), text).unwrap();
        }
    }

    impl Drop for Folder {
        fn drop(&mut self) {
            drop(fs::remove_dir_all(&self.0));
        }
    }

    fn renamed(example: &str, id: &str) -> String {
        let text = Protocol::example(example).unwrap();
        let other = text.replace(example, id);
        assert_ne!(other, text);
        other
    }

    fn said(own: &Own) -> Vec<String> {
        own.faults.iter().map(ToString::to_string).collect()
    }

    #[test]
    fn a_services_files_stand_beside_each_other_by_class() {
        let folder = Folder::new("good");
        folder.put("b.toml", &renamed("example-child", "our-child"));
        folder.put("a.toml", &renamed("example-adult", "our-adult"));
        folder.put("c.toml", &renamed("example-adult-b", "our-adult-two"));
        folder.put("notes.txt", "no protocol");
        let own = Own::read(&folder.0);
        assert_eq!(said(&own), [""; 0]);
        let ids: Vec<&str> = own.protocols.iter().map(|p| p.id.as_str()).collect();
        assert_eq!(ids, ["our-adult", "our-child", "our-adult-two"]);
        let clips = ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 1000)).collect()).unwrap();
        let setup = own.setup("our-adult", clips.clone()).unwrap();
        assert_eq!(setup.protocol.id, "our-adult");
        let others: Vec<&str> = setup.others.iter().map(|p| p.id.as_str()).collect();
        assert_eq!(others, ["our-child"]);
        let child = crate::of_class(setup, PatientClass::Child);
        assert_eq!(child.protocol.id, "our-child");
        assert!(own.setup("example-adult", clips).is_none());
    }

    #[test]
    fn a_folder_that_is_not_there_is_no_fault() {
        let folder = Folder::new("none");
        let own = Own::read(&folder.0.join("protocols"));
        assert!(own.protocols.is_empty());
        assert_eq!(said(&own), [""; 0]);
    }

    #[test]
    fn every_fault_is_told_with_its_file_and_the_good_files_stay() {
        let folder = Folder::new("bad");
        let good = renamed("example-adult", "our-adult");
        folder.put("good.toml", &good);
        folder.put("same.toml", &good);
        folder.put("built.toml", Protocol::example("example-child").unwrap());
        folder.put("empty.toml", "");
        folder.put("huge.toml", &"#".repeat(100_000));
        fs::write(folder.0.join("foreign.toml"), [0xff, 0xfe, 0x00]).unwrap();
        fs::create_dir(folder.0.join("folder.toml")).unwrap();
        let own = Own::read(&folder.0);
        let ids: Vec<&str> = own.protocols.iter().map(|p| p.id.as_str()).collect();
        assert_eq!(ids, ["our-adult"]);
        let said = said(&own);
        for wanted in [
            "built.toml: id example-child is that of a built-in example: give it another",
            "same.toml: id our-adult is that of good.toml: give it another",
        ] {
            assert!(said.iter().any(|s| s == wanted), "{wanted}: {said:?}");
        }
        for file in [
            "empty.toml: ",
            "huge.toml: ",
            "foreign.toml: ",
            "folder.toml: ",
        ] {
            assert!(said.iter().any(|s| s.contains(file)), "{file}: {said:?}");
        }
    }
}
