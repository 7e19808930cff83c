//! The fields of a scenario's file, as they stand in it.

use cycle::mark::PatientClass;
use serde::Deserialize;
use serde_json::{Map, Value};

use crate::scenario::{Begin, CueKind, Item, Said, What};

/// Of which points a drill is passed, per cent. Own.
const PASS_PERCENT: u32 = 80;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawScenario {
    pub(super) format: String,
    pub(super) id: String,
    pub(super) version: String,
    pub(super) letter: String,
    pub(super) name: Said,
    pub(super) scene: Said,
    pub(super) protocol: Option<String>,
    #[serde(default = "adult")]
    pub(super) class: PatientClass,
    pub(super) begin: Begin,
    pub(super) end_s: u32,
    #[serde(default = "pass_percent")]
    pub(super) pass_percent: u32,
    pub(super) cues: Vec<RawCue>,
    pub(super) expect: Vec<RawExpected>,
    #[serde(default)]
    pub(super) measures: Vec<RawMeasure>,
    #[serde(default)]
    pub(super) yardsticks: Vec<RawYardstick>,
    #[serde(default)]
    pub(super) checklist: Vec<Item>,
}

const fn adult() -> PatientClass {
    PatientClass::Adult
}

const fn pass_percent() -> u32 {
    PASS_PERCENT
}

fn start() -> String {
    START.to_owned()
}

pub(super) const START: &str = "start";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawCue {
    pub(super) id: String,
    #[serde(default = "say")]
    pub(super) kind: CueKind,
    #[serde(default = "start")]
    pub(super) from: String,
    pub(super) after_s: u32,
    #[serde(default)]
    pub(super) vary_s: u32,
    pub(super) latest_s: Option<u32>,
    #[serde(default)]
    pub(super) say: Said,
    #[serde(default)]
    pub(super) choices: Vec<RawChoice>,
}

const fn say() -> CueKind {
    CueKind::Say
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawChoice {
    pub(super) id: String,
    #[serde(default = "say")]
    pub(super) kind: CueKind,
    pub(super) say: Said,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawExpected {
    pub(super) id: String,
    pub(super) name: Said,
    #[serde(default = "start")]
    pub(super) from: String,
    pub(super) ev: String,
    pub(super) d: Option<Map<String, Value>>,
    #[serde(default)]
    pub(super) earliest_s: u32,
    pub(super) within_s: u32,
    pub(super) until_s: Option<u32>,
    pub(super) weight: u32,
    #[serde(default)]
    pub(super) needs: Vec<String>,
    #[serde(default)]
    pub(super) must: bool,
    pub(super) only: Option<RawOnly>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawOnly {
    pub(super) cue: String,
    pub(super) choice: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawMeasure {
    pub(super) what: What,
    pub(super) least: Option<f64>,
    pub(super) most: Option<f64>,
    pub(super) weight: u32,
    pub(super) only: Option<RawOnly>,
    pub(super) source: Said,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawYardstick {
    pub(super) what: What,
    pub(super) value: f64,
    pub(super) source: Said,
}
