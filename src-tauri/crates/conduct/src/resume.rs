//! What is needed to go on with a run that was killed.

use std::fmt;

use cycle::{
    ClipLengths, Entry, Ms, Prompt, Protocol, ProtocolFault, Seq, Setup, mark::PatientClass,
};
use record::{Base, Chain, Damage, Header, Opened, Stamp, Tail};

/// An unfinished run, ready to be replayed and gone on with.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Line 0.
    pub header: Header,
    /// The protocol's text.
    pub protocol: String,
    /// The texts of the protocols for the other classes.
    pub others: Vec<String>,
    /// Lengths of the clips that the run was decided with.
    pub clips: ClipLengths,
    /// Whose numbers.
    pub class: PatientClass,
    /// The log.
    pub entries: Vec<Entry>,
    /// Where the chain goes on.
    pub chain: Chain,
    /// What goes into the file before the next line: a line feed where the last line lacks it.
    pub opening: &'static [u8],
    /// Which process start this is.
    pub proc: u32,
    /// The last readable line: what comes after it is not known.
    pub gap_from_seq: Seq,
    /// Its run time.
    pub gap_from: Ms,
    /// Bytes after it that cannot be read.
    pub bad_bytes: u64,
    /// Whether the monotonic clock still compares.
    pub same_boot: bool,
    /// The run clock of the last line's boot.
    pub base: Base,
    /// The last line's stamp.
    pub last: Stamp,
    /// What is wrong with the file, torn lines included.
    pub damage: Vec<Damage>,
}

impl Plan {
    /// What the run was decided with.
    ///
    /// # Errors
    /// The faults of the first protocol text that this version cannot read.
    pub fn setup(&self) -> Result<Setup, Vec<ProtocolFault>> {
        let read = |text: &String| Protocol::parse(text.as_bytes());
        Ok(Setup {
            protocol: read(&self.protocol)?,
            clips: self.clips.clone(),
            class: self.class,
            others: self.others.iter().map(read).collect::<Result<_, _>>()?,
        })
    }
}

/// Why a run cannot be gone on with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ResumeError {
    /// It is sealed: it is over.
    Sealed,
    /// Its protocol line is missing or damaged.
    NoProtocol,
    /// Its voice pack lacks a prompt of this version.
    Clip(Prompt),
}

impl fmt::Display for ResumeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Sealed => f.write_str("the run is sealed: begin a new one"),
            Self::NoProtocol => f.write_str(
                "the run's protocol line is missing or damaged: begin a new run; the record stays \
                 as it is",
            ),
            Self::Clip(prompt) => write!(
                f,
                "the run's voice pack has no length for {}: begin a new run; the record stays as \
                 it is",
                prompt.word()
            ),
        }
    }
}

impl std::error::Error for ResumeError {}

/// Looks at an unfinished record. `boot` is the present boot's id.
///
/// # Errors
/// See [`ResumeError`].
pub fn plan(opened: Opened, boot: &str) -> Result<Plan, ResumeError> {
    if !opened.seals.is_empty() {
        return Err(ResumeError::Sealed);
    }
    let protocol = opened.protocol.ok_or(ResumeError::NoProtocol)?;
    Ok(Plan {
        clips: protocol.pack.clips().map_err(ResumeError::Clip)?,
        protocol: protocol.toml,
        others: protocol.others,
        class: opened.header.patient_class,
        header: opened.header,
        entries: opened.entries,
        opening: match opened.tail {
            Tail::Clean => b"",
            Tail::NoLineFeed | Tail::Torn(_) => b"\n",
        },
        proc: opened.last.proc.saturating_add(1),
        gap_from_seq: Seq(opened.chain.next().0.saturating_sub(1)),
        gap_from: opened.last_run,
        bad_bytes: opened.bad_bytes,
        same_boot: opened.last.boot == boot,
        chain: opened.chain,
        base: opened.base,
        last: opened.last,
        damage: opened.damage,
    })
}

#[cfg(test)]
pub(crate) mod tests;
