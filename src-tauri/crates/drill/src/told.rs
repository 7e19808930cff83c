//! What a record says of its drill.

use std::collections::BTreeSet;

use cycle::{
    Fact, Ms,
    fact::{Deed, DrillLine, DrillWord},
};
use record::Opened;

use crate::{scenario::CueKind, walk::Heard};

/// What a record says of its drill besides the marks.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Told {
    /// What its scenario varied by; `None`: the record holds no drill.
    pub seed: Option<u32>,
    /// The crew's own opaque code, empty where it gave none; `None`: the record is older than that field.
    pub crew: Option<String>,
    /// Its cues, and when each was told.
    pub heard: Heard,
    /// What the instructor ticked.
    pub ticked: BTreeSet<String>,
    /// The earlier try that it goes on from, and up to when it is the same.
    pub again: Option<(String, Ms)>,
    /// Events that the instructor injected, by kind: the scenario does not plan them, and no mark is expected for them.
    pub injected: Vec<(CueKind, Ms)>,
    /// The phone makes noise since then.
    pub noise: Option<Ms>,
}

impl Told {
    /// The crew's code; in records that have no field of its own it stands in the header's `unit_code`.
    pub fn crew_of(&self, unit_code: Option<&str>) -> Option<String> {
        let code = self.crew.as_deref().or(unit_code);
        code.filter(|code| !code.is_empty()).map(str::to_owned)
    }
}

/// What a record says of its drill.
pub fn told(opened: &Opened) -> Told {
    told_until(opened, Ms(u64::MAX))
}

/// What it says up to a moment of the run, that moment included: a try that goes on from there has nothing else.
pub fn told_until(opened: &Opened, until: Ms) -> Told {
    let mut told = Told::default();
    for entry in opened.entries.iter().filter(|entry| entry.taken <= until) {
        if let Fact::Deed(Deed::Drill(line)) = &entry.fact {
            told.take(line, entry.at);
        }
    }
    told
}

impl Told {
    fn take(&mut self, line: &DrillLine, at: Ms) {
        match (line.what, &line.id) {
            (DrillWord::Begun, _) => {
                self.seed = self.seed.or(line.seed).or(Some(0));
                self.crew = self.crew.take().or_else(|| line.crew.clone());
            }
            (DrillWord::Cue, Some(id)) => {
                // Told again, it is the first time that counts.
                self.heard.0.entry(id.clone()).or_insert(at);
            }
            (DrillWord::Ticked, Some(id)) => {
                self.ticked.insert(id.clone());
            }
            (DrillWord::Unticked, Some(id)) => {
                self.ticked.remove(id);
            }
            (DrillWord::Again, _) => {
                self.again = line.of.clone().zip(line.from_ms);
            }
            (DrillWord::Injected, Some(id)) => {
                let mut kinds = CueKind::ALL.iter().copied();
                let kind = kinds.find(|kind| kind.word() == id);
                self.injected.extend(kind.map(|kind| (kind, at)));
            }
            (DrillWord::NoiseOn, _) => self.noise = Some(at),
            (DrillWord::NoiseOff | DrillWord::Stopped, _) => self.noise = None,
            (
                DrillWord::Cue | DrillWord::Ticked | DrillWord::Unticked | DrillWord::Injected,
                None,
            ) => {}
        }
    }
}
