//! Marks that carry a value: a number, or a line of the service's own list. The view says what can be
//! entered and from where it starts; the page hands the value back, and it is looked at here.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};
use core::fmt;

use serde::{Deserialize, Serialize};

use crate::{
    Levels,
    mark::{
        AirMark, AirwayDevice, By, CareMark, DeviceMark, Mark, Preset, PriorCare, PriorDose,
        RunMark, SoundAct,
    },
    protocol::Protocol,
    state::{Device, State},
};

/// What a crew entered.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum Entered {
    /// Carbon dioxide at the end of a breath.
    Co2 {
        /// As it was set, with one place after the point at most.
        value: String,
        /// mmHg or kPa.
        unit: String,
    },
    /// Another drug of the service's list was given.
    Drug {
        /// Its key.
        key: String,
    },
    /// A part of the device is in its place.
    Part {
        /// Its key.
        key: String,
    },
    /// Why a device: a line of the service's list.
    Reason {
        /// Its number, from 0.
        n: u8,
    },
    /// How loud beats, breath tones and voice are to be.
    Levels(Levels),
    /// The same for a kind of place.
    Preset {
        /// Which.
        preset: Preset,
    },
    /// What was done before this crew, all of it: it takes the place of what was said before.
    Before(Before),
}

/// The steppers of what was done before this crew. A step that was passed over is absent.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Before {
    /// The arrest began so many minutes ago.
    pub minutes: Option<u16>,
    /// Shocks so far.
    pub shocks: Option<u8>,
    /// Doses of the drug by time so far.
    pub doses: Option<u8>,
    /// The last of them so many minutes ago.
    pub last_dose: Option<u16>,
    /// The device compresses, or hands do.
    pub device: Option<bool>,
    /// An airway device in place.
    pub airway: Option<AirwayDevice>,
}

/// What can be entered now.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Entries {
    /// Where the entry of carbon dioxide starts: the last reading, if there is one.
    pub co2: Option<Reading>,
    /// The service's other drugs.
    pub drugs: Vec<Choice>,
    /// The device's parts, while it is here.
    pub parts: Vec<Choice>,
    /// The reasons for a device, while it is here; their numbers count from 0.
    pub reasons: Vec<String>,
    /// Where the steppers start: what has been said so far.
    pub before: Option<Before>,
    /// How loud it is now.
    pub levels: Levels,
    /// The steppers are to be shown without being opened: the run began earlier and nothing has been
    /// said yet.
    pub ask_before: bool,
}

/// A reading of carbon dioxide.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Reading {
    /// The number.
    pub value: String,
    /// mmHg or kPa.
    pub unit: String,
}

/// A line of a list of the service.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Choice {
    /// Its key in the record.
    pub key: String,
    /// Its words.
    pub words: String,
}

/// A value that cannot be entered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EnteredFault {
    /// The field.
    pub field: &'static str,
    /// What was entered.
    pub found: String,
    /// What may be.
    pub allowed: String,
}

impl fmt::Display for EnteredFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            field,
            found,
            allowed,
        } = self;
        write!(f, "{field} = {found}, allowed: {allowed}")
    }
}

impl core::error::Error for EnteredFault {}

/// The highest reading, tenths: 760 mmHg is an atmosphere. Source: NEMSIS 3.5.1, eVitals.16.
const CO2_MOST: u32 = 7600;
/// Where the first entry starts. Source: common practice, no source.
const CO2_START: (&str, &str) = ("20", "mmHg");
/// The record's ranges of what was done before, docs/record.md.
const MOST_MINUTES: u16 = 600;
const MOST_TIMES: u8 = 30;

impl Entered {
    /// The record's name of the mark.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Co2 { .. } => "etco2",
            Self::Drug { .. } => "drug",
            Self::Part { .. } | Self::Reason { .. } => "fit",
            Self::Before(_) => "prior_care",
            Self::Levels(_) | Self::Preset { .. } => "sound",
        }
    }

    /// The mark it makes.
    ///
    /// # Errors
    /// [`EnteredFault`] with field, value and what is allowed.
    pub(crate) fn mark(&self, p: &Protocol, s: &State) -> Result<Mark, EnteredFault> {
        match self {
            Self::Co2 { value, unit } => co2(value, unit),
            Self::Drug { key } => known("drug", key, &p.other_drugs).map(|drug| {
                Mark::Care(CareMark::Drug {
                    drug,
                    dose: None,
                    unit: None,
                    route: None,
                    prior: false,
                    by_other_unit: false,
                })
            }),
            Self::Part { key } => known("part", key, &p.device.parts).map(|step| fit(step, None)),
            Self::Reason { n } => {
                let lines = p.device.reasons.len();
                if usize::from(*n) < lines {
                    Ok(fit("open_on".to_string(), Some(reason_code(*n))))
                } else {
                    Err(fault("reason", n, &format!("a number below {lines}")))
                }
            }
            Self::Before(before) => before.mark(p, s.prior.as_ref()),
            Self::Levels(levels) => levels_mark(*levels),
            Self::Preset { preset } => Ok(Mark::Run(RunMark::Sound {
                what: SoundAct::Preset,
                levels: Some(preset.levels()),
                preset: Some(*preset),
            })),
        }
    }
}

fn levels_mark(levels: Levels) -> Result<Mark, EnteredFault> {
    for (field, db) in [
        ("beat_db", levels.beat_db),
        ("breath_db", levels.breath_db),
        ("voice_db", levels.voice_db),
    ] {
        if db > Levels::LOWEST_DB {
            return Err(fault(field, db, "0 to 24 dB below full"));
        }
    }
    Ok(Mark::Run(RunMark::Sound {
        what: SoundAct::Level,
        levels: Some(levels),
        preset: None,
    }))
}

fn fit(step: String, reason: Option<String>) -> Mark {
    Mark::Device(DeviceMark::Fit {
        step,
        mode: None,
        reason,
    })
}

/// The record's code of a line of the service's reasons.
fn reason_code(n: u8) -> String {
    format!("reason_{}", u16::from(n).saturating_add(1))
}

/// A reason in the service's words; as it was written where it is no line of the list.
pub(crate) fn reason_words(p: &Protocol, code: &str) -> String {
    (0_u8..)
        .zip(&p.device.reasons)
        .find(|(n, _)| reason_code(*n) == code)
        .map_or(code, |(_, words)| words)
        .to_string()
}

fn fault(field: &'static str, found: impl fmt::Display, allowed: &str) -> EnteredFault {
    EnteredFault {
        field,
        found: found.to_string(),
        allowed: allowed.to_string(),
    }
}

fn known(
    field: &'static str,
    key: &str,
    list: &[(String, String)],
) -> Result<String, EnteredFault> {
    let keys: Vec<&str> = list.iter().map(|(key, _)| key.as_str()).collect();
    if keys.contains(&key) {
        Ok(key.to_string())
    } else {
        Err(fault(field, key, &keys.join(", ")))
    }
}

fn co2(value: &str, unit: &str) -> Result<Mark, EnteredFault> {
    let (whole, tenth) = value.split_once('.').unwrap_or((value, "0"));
    let digits = |text: &str, most: usize| {
        (1..=most).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit())
    };
    let tenths = (digits(whole, 3) && digits(tenth, 1))
        .then(|| format!("{whole}{tenth}").parse::<u32>().ok())
        .flatten();
    if tenths.is_none_or(|tenths| tenths > CO2_MOST) {
        let allowed = "a number 0 to 760 with one place after the point at most";
        return Err(fault("co2", value, allowed));
    }
    if !["mmHg", "kPa"].contains(&unit) {
        return Err(fault("unit", unit, "mmHg, kPa"));
    }
    Ok(Mark::Air(AirMark::Etco2 {
        value: value.to_string(),
        unit: unit.to_string(),
    }))
}

impl Before {
    /// What the steppers do not ask for stays as it was said.
    fn mark(&self, p: &Protocol, prior: Option<&PriorCare>) -> Result<Mark, EnteredFault> {
        let before = prior.cloned().unwrap_or_default();
        let minutes = |field, value: Option<u16>| match value {
            Some(n) if n > MOST_MINUTES => Err(fault(field, n, "0 to 600 min")),
            other => Ok(other),
        };
        let times = |field, value: Option<u8>| match value {
            Some(n) if n > MOST_TIMES => Err(fault(field, n, "0 to 30")),
            other => Ok(other),
        };
        let n = times("doses", self.doses)?;
        let last_min = minutes("last_dose", self.last_dose)?;
        let drug = p.drug_by_time().filter(|_| n.is_some());
        let dose = n.zip(drug).map(|(n, drug)| PriorDose {
            drug: drug.key.clone(),
            n,
            last_min: last_min.filter(|_| n > 0),
        });
        let others = before
            .doses
            .into_iter()
            .filter(|d| p.drug_by_time().is_none_or(|drug| drug.key != d.drug));
        Ok(Mark::Run(RunMark::PriorCare(PriorCare {
            cpr: before.cpr,
            began_min: minutes("minutes", self.minutes)?,
            aed: before.aed,
            shocks: times("shocks", self.shocks)?,
            doses: dose.into_iter().chain(others).collect(),
            airway: self.airway,
            by: self
                .device
                .map(|device| if device { By::Mechanical } else { By::Manual }),
        })))
    }

    /// What has been said so far.
    fn said(p: &Protocol, prior: &PriorCare) -> Self {
        let drug = p.drug_by_time().map(|drug| drug.key.as_str());
        let dose = prior.doses.iter().find(|d| Some(d.drug.as_str()) == drug);
        Self {
            minutes: prior.began_min,
            shocks: prior.shocks,
            doses: dose.map(|d| d.n),
            last_dose: dose.and_then(|d| d.last_min),
            device: prior.by.map(|by| by == By::Mechanical),
            airway: prior.airway,
        }
    }
}

/// What can be entered in this state.
pub(crate) fn entries(p: &Protocol, s: &State, levels: Levels) -> Entries {
    if !s.is_live() {
        return Entries::default();
    }
    let choices = |list: &[(String, String)]| {
        let choice = |(key, words): &(String, String)| Choice {
            key: key.clone(),
            words: words.clone(),
        };
        list.iter().map(choice).collect::<Vec<_>>()
    };
    let fitting = matches!(s.device, Device::Beside | Device::On);
    let co2 = s.etco2.as_ref();
    let (value, unit) = co2.map_or(CO2_START, |known| (known.now.as_str(), known.unit.as_str()));
    Entries {
        co2: Some(Reading {
            value: value.to_string(),
            unit: unit.to_string(),
        }),
        drugs: choices(&p.other_drugs),
        parts: if fitting {
            choices(&p.device.parts)
        } else {
            Vec::new()
        },
        reasons: if fitting {
            p.device.reasons.clone()
        } else {
            Vec::new()
        },
        before: Some(
            s.prior
                .as_ref()
                .map_or_else(Before::default, |prior| Before::said(p, prior)),
        ),
        levels,
        ask_before: s.way == Some(crate::fact::Way::Earlier) && s.prior.is_none(),
    }
}
