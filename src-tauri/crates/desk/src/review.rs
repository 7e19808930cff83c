//! `carrybeat review`: a run's marks as recorded and as amended, and amendments from a file.

use std::path::{Path, PathBuf};

use conduct::{
    FileStore, RunLock,
    review::{self, Session},
};
use cycle::{Mark, fact::AmendOp};
use record::{
    review::{Amending, Gap, Marked, View},
    script::amendments,
};

type Faults = Vec<String>;

/// The folder and the id of a record's file.
fn place(path: &str) -> Result<(PathBuf, String), Faults> {
    let path = Path::new(path);
    let id = path
        .file_name()
        .and_then(|name| name.to_str())
        .and_then(|name| name.strip_suffix(".rec.jsonl"));
    let Some(id) = id else {
        return Err(vec![format!(
            "{}: allowed: a record, such as RUN.rec.jsonl",
            path.display()
        )]);
    };
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty());
    Ok((folder.unwrap_or(Path::new(".")).to_owned(), id.to_owned()))
}

/// All marks, amendments and gaps of a record. The file stays as it is.
pub(crate) fn list(path: &str) -> Result<String, Faults> {
    let (folder, id) = place(path)?;
    let view = review::look(&FileStore::at(&folder), &id);
    view.map(|view| told(&view))
        .map_err(|e| vec![format!("{path}: {e}")])
}

/// Takes the amendments of a file, all or none, and seals them.
pub(crate) fn amend(path: &str, file: &str) -> Result<String, Faults> {
    let (folder, id) = place(path)?;
    let text = std::fs::read(file).map_err(|e| vec![format!("{file}: {e}")])?;
    let wanted = amendments(&text).map_err(|e| vec![format!("{file}: {e}")])?;
    let lock = RunLock::take(&folder).map_err(|e| vec![e.to_string()])?;
    let at = |e: &dyn std::fmt::Display| vec![format!("{path}: {e}")];
    let store = Box::new(FileStore::at(&folder));
    let mut session = Session::open(store, &id, review::system).map_err(|e| at(&e))?;
    let made = session
        .amend_all(&wanted)
        .map_err(|(n, e)| vec![format!("{file}: amendment {n}: {e}")])?;
    let fingerprint = session.close().map_err(|e| at(&e))?;
    drop(lock);
    let view = review::look(&FileStore::at(&folder), &id).map_err(|e| at(&e))?;
    let lines: Vec<String> = made.iter().map(|seq| seq.0.to_string()).collect();
    Ok(format!(
        "lines {}; as amended, revision {}\nfingerprint: {fingerprint}",
        lines.join(", "),
        view.revision.rev
    ))
}

fn told(view: &View) -> String {
    let mut out = vec![format!(
        "as amended, revision {}, {} unsealed{}",
        view.revision.rev,
        view.revision.unsealed,
        if view.is_sound {
            ""
        } else {
            "; the file was changed or damaged"
        }
    )];
    out.extend(view.marks.iter().map(mark));
    out.extend(view.amendments.iter().map(amending));
    out.extend(view.gaps.iter().map(gap));
    out.join("\n")
}

fn json(mark: &Mark) -> String {
    let fields = serde_json::to_value(mark).unwrap_or_default();
    let d = fields.get("d").cloned().unwrap_or_default();
    format!("{} {d}", cycle::mark::kind_of(mark))
}

fn mark(m: &Marked) -> String {
    let mut out = vec![format!(
        "line {}: {} ms: {}",
        m.seq.0,
        m.at.0,
        json(&m.mark)
    )];
    let mut add = |text: String| out.push(text);
    match &m.recorded {
        None => add("added".to_owned()),
        Some((at, mark)) if *at != m.at || *mark != m.mark => {
            add(format!("as recorded {} ms: {}", at.0, json(mark)));
        }
        Some(_) => {}
    }
    if !m.stands {
        add("retracted".to_owned());
    }
    if m.is_unconfirmed {
        add(format!(
            "unconfirmed, confidence {}",
            m.conf.as_deref().unwrap_or("not known")
        ));
    }
    if m.is_nameless {
        add("no name yet".to_owned());
    }
    out.join("; ")
}

fn amending(a: &Amending) -> String {
    let target = match a.amend.op {
        AmendOp::Add { .. } => String::new(),
        AmendOp::Retract | AmendOp::Retime { .. } | AmendOp::Replace { .. } | AmendOp::Confirm => {
            format!(" {}", a.amend.target.0)
        }
    };
    let sealed = a
        .rev
        .map_or_else(|| "unsealed".to_owned(), |rev| format!("revision {rev}"));
    format!(
        "amendment {}: {}{target}, {}, {}, {sealed}{}",
        a.seq.0,
        a.amend.op.word(),
        a.amend.reason.word(),
        a.wall,
        if a.in_force { "" } else { "; taken back" }
    )
}

fn gap(gap: &Gap) -> String {
    format!("not known: {} to {} ms", gap.from.0, gap.to.0)
}
