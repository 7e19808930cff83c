//! The first two lines of a record: what the run is, and everything a replay needs.

use cycle::{DrugDue, Ms, Protocol, Setup, mark::BreathMode};
use record::{
    Answer, App, BreathSetting, Chain, ClockState, Digest, EncodeError, Header, Pack, Platform,
    ProtocolId, ProtocolLine, RunKind, Schema, Settings, Stamp, Window,
};

/// What the header says besides the setup.
#[derive(Clone, Debug)]
pub struct Heads {
    /// Run, drill, rehearsal or test.
    pub kind: RunKind,
    /// The app's version.
    pub version: String,
    /// The voice pack's id.
    pub pack_id: String,
    /// SHA-256 of its manifest.
    pub pack_sha256: Digest,
    /// The language.
    pub lang: String,
    /// The time zone's name.
    pub tz: String,
    /// The record's id; a rehearsal gives its own so that it can be done again to the byte.
    pub record_id: String,
    /// The scenario, in a drill.
    pub scenario: Option<record::Scenario>,
    /// The crew's or unit's own opaque code.
    pub unit_code: Option<String>,
}

/// The first two lines of a run that begins whatever they come to.
#[derive(Debug)]
pub(crate) struct OpenedAtLeast {
    /// The chain after them, and their bytes; `None` where nothing can be kept.
    pub(crate) lines: Option<(Chain, Vec<u8>)>,
    /// What could not be had.
    pub(crate) faults: Vec<EncodeError>,
}

impl Heads {
    /// The opening lines; where the protocols of all classes do not fit, those of the run's own class.
    /// A run of one class on record is worth more than one of all classes that is not. The setup
    /// loses what the record does not hold, so that the run can be told again.
    pub(crate) fn open_at_least(&self, setup: &mut Setup, stamp: &Stamp) -> OpenedAtLeast {
        let mut faults = Vec::new();
        loop {
            match self.open(setup, stamp) {
                Ok(lines) => {
                    let lines = Some(lines);
                    return OpenedAtLeast { lines, faults };
                }
                Err(error) => faults.push(error),
            }
            if setup.others.is_empty() {
                let lines = None;
                return OpenedAtLeast { lines, faults };
            }
            setup.others.clear();
        }
    }

    /// Header and protocol line of a run, as the chain's first two lines.
    ///
    /// # Errors
    /// Where the protocols are too long for a line.
    pub fn open(&self, setup: &Setup, stamp: &Stamp) -> Result<(Chain, Vec<u8>), EncodeError> {
        let (header, protocol) = self.lines(setup);
        let mut chain = Chain::new();
        let mut bytes = record::encode_header(&mut chain, stamp, &header)?;
        bytes.extend(record::encode_protocol(&mut chain, stamp, &protocol)?);
        Ok((chain, bytes))
    }

    /// Header and protocol line of a run.
    pub fn lines(&self, setup: &Setup) -> (Header, ProtocolLine) {
        let p = &setup.protocol;
        let line = ProtocolLine {
            toml: p.text.clone(),
            others: setup.others.iter().map(|p| p.text.clone()).collect(),
            pack: Pack {
                id: self.pack_id.clone(),
                sha256: self.pack_sha256,
                clip_ms: cycle::Prompt::ALL
                    .iter()
                    .map(|p| (p.word().to_owned(), setup.clips.ms(*p)))
                    .collect(),
            },
        };
        let header = Header {
            schema: Schema::CURRENT,
            record_id: self.record_id.clone(),
            kind: self.kind,
            app: App {
                name: "carrybeat".to_owned(),
                version: self.version.clone(),
                build: if cfg!(debug_assertions) {
                    "debug"
                } else {
                    "release"
                }
                .to_owned(),
            },
            platform: Platform {
                os: std::env::consts::OS.to_owned(),
                os_version: String::new(),
                model_class: std::env::consts::ARCH.to_owned(),
            },
            tz: self.tz.clone(),
            clock: ClockState {
                auto_time: Answer::Unknown,
                last_sync_s: None,
            },
            metrics: "metrics/1.0.0".to_owned(),
            protocol: ProtocolId {
                id: p.id.clone(),
                version: p.version.clone(),
                sha256: line.sha256(),
            },
            settings: Settings {
                rate_per_min: p.rate.per_minute(),
                breath_mode: breaths(p),
                cycle_s: secs(p.check_every),
                pause_min_ms: 1000,
                drug_windows: windows(p),
            },
            unit_code: self.unit_code.clone(),
            crew_size: 0,
            patient_class: setup.class,
            ems_witnessed: Answer::Unknown,
            scenario: self.scenario.clone(),
            lang: self.lang.clone(),
        };
        (header, line)
    }
}

/// Breaths as a run begins: through a mask.
fn breaths(p: &Protocol) -> BreathSetting {
    let in_mode = |mode| p.mask_mode == mode;
    BreathSetting {
        mode: p.mask_mode,
        ratio: in_mode(BreathMode::Ratio).then_some(p.ratio),
        every_ms: in_mode(BreathMode::Continuous)
            .then(|| u32::try_from(p.breath_every.0).unwrap_or(u32::MAX)),
        via: None,
    }
}

/// Drugs that fall due by time.
fn windows(p: &Protocol) -> Vec<Window> {
    let windows = p.drugs.iter().filter_map(|drug| match &drug.due {
        DrugDue::Interval { min, max, .. } => Some(Window {
            name: drug.key.clone(),
            min_s: secs(*min),
            max_s: secs(*max),
        }),
        DrugDue::Shocks(_) => None,
    });
    windows.collect()
}

/// Whole seconds, downwards.
fn secs(ms: Ms) -> u32 {
    u32::try_from(ms.0.checked_div(1000).unwrap_or(0)).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests;
