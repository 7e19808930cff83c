//! Lists the message files: a language is a file in `text/`, and nothing else.

use std::{env, error::Error, fmt::Write as _, fs, path::Path};

/// The one that all others are copied from; it comes first.
const REFERENCE: &str = "en-US";

fn main() -> Result<(), Box<dyn Error>> {
    let folder = Path::new(&env::var("CARGO_MANIFEST_DIR")?).join("text");
    println!("cargo::rerun-if-changed={}", folder.display());
    let mut tags = Vec::new();
    for entry in fs::read_dir(&folder)? {
        let path = entry?.path();
        let stem = path.file_stem().and_then(|stem| stem.to_str());
        if let Some(tag) = stem.filter(|_| path.extension().is_some_and(|e| e == "ftl")) {
            tags.push((tag != REFERENCE, tag.to_owned()));
        }
    }
    tags.sort();
    let mut list = String::from("pub(crate) const FILES: &[(&str, &str)] = &[\n");
    for (_, tag) in &tags {
        let file = folder.join(format!("{tag}.ftl"));
        let file = file.to_str().ok_or("a folder whose name is not UTF-8")?;
        writeln!(list, "    ({tag:?}, include_str!({file:?})),")?;
    }
    list.push_str("];\n");
    fs::write(Path::new(&env::var("OUT_DIR")?).join("files.rs"), list)?;
    Ok(())
}
