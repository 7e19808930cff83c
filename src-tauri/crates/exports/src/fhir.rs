//! A run as an HL7 FHIR R4 bundle: what was marked, without a patient, by open code systems.

use cycle::fact::Source;
use debrief::{Basis, Fault, Taken};
use record::{Opened, RunKind, Wall};
use serde_json::{Value, json};
use words::Words;

use crate::{codes::ProcedureCodes, facts::Facts, fhir_parts, groups};

/// What has to stand beside a bundle: the notices of the code systems in it.
pub const FHIR_NOTICE: &str = "\
This material contains content from LOINC (http://loinc.org). LOINC is copyright (c) 1995-2026, Regenstrief
Institute, Inc. and the Logical Observation Identifiers Names and Codes (LOINC) Committee and is available at
no cost under the license at http://loinc.org/license.

Units are codes of UCUM (https://ucum.org), copyright Regenstrief Institute, Inc. and the UCUM Organization.

Drug codes are RxNorm concepts, from the U.S. National Library of Medicine, which does not endorse this file.

Codes of procedures, if there are any, were brought by the service that made this file, under its own licence.
";

/// A new bundle under way.
pub(crate) struct Bundle<'a> {
    pub(crate) facts: &'a Facts<'a>,
    pub(crate) words: &'a Words,
    pub(crate) own: &'a ProcedureCodes,
    /// Reference to the run.
    pub(crate) encounter: String,
    /// Reference to the app.
    pub(crate) device: String,
    ids: &'a mut dyn FnMut() -> String,
    entries: Vec<Value>,
}

impl Bundle<'_> {
    /// Adds a resource under a new address.
    pub(crate) fn add(&mut self, resource: &Value) {
        let url = format!("urn:uuid:{}", (self.ids)());
        self.put(&url, resource);
    }

    fn put(&mut self, url: &str, resource: &Value) {
        self.entries
            .push(json!({"fullUrl": url, "resource": resource}));
    }
}

/// The bundle. `ids` gives a new random UUID each time; `exported` is the time of the export.
///
/// # Errors
/// Where the state line cannot be folded, since not even a built-in protocol can be read.
pub fn fhir(
    opened: &Opened,
    basis: Basis,
    words: &Words,
    own: &ProcedureCodes,
    (exported, ids): (Wall, &mut dyn FnMut() -> String),
) -> Result<Value, Fault> {
    let facts = Facts::new(opened, basis)?;
    let rows = groups::all(&facts);
    let encounter = format!("urn:uuid:{}", ids());
    let device = format!("urn:uuid:{}", ids());
    let mut bundle = Bundle {
        facts: &facts,
        words,
        own,
        encounter: encounter.clone(),
        device: device.clone(),
        ids,
        entries: Vec::new(),
    };
    bundle.put(&encounter, &run(&facts));
    bundle.put(&device, &app(opened));
    fhir_parts::procedures(&mut bundle, &rows);
    fhir_parts::medications(&mut bundle, &rows);
    fhir_parts::observations(&mut bundle, &rows);
    let origin = provenance(&bundle, exported);
    bundle.add(&origin);
    let mut whole = json!({
        "resourceType": "Bundle",
        "type": "collection",
        "timestamp": exported.to_string(),
        "entry": bundle.entries,
    });
    if opened.header.kind != RunKind::Run
        && let Some(fields) = whole.as_object_mut()
    {
        let test = json!({
            "system": "http://terminology.hl7.org/CodeSystem/v3-ActReason",
            "code": "HTEST",
        });
        fields.insert("meta".to_owned(), json!({"security": [test]}));
    }
    Ok(whole)
}

fn run(facts: &Facts<'_>) -> Value {
    let ended = crate::arrest::end(facts);
    let last = facts.stretches.last().map(|s| s.to_ms);
    let over = ended.map(|(m, _, _)| m.at);
    let mut period = json!({});
    if let Some(fields) = period.as_object_mut() {
        if let Some(wall) = facts.wall(cycle::Ms::ZERO) {
            fields.insert("start".to_owned(), json!(wall.to_string()));
        }
        if let Some(wall) = over.or(last).and_then(|at| facts.wall(at)) {
            fields.insert("end".to_owned(), json!(wall.to_string()));
        }
    }
    json!({
        "resourceType": "Encounter",
        "status": if over.is_some() { "finished" } else { "unknown" },
        "class": {
            "system": "http://terminology.hl7.org/CodeSystem/v3-ActCode",
            "code": "FLD",
            "display": "field",
        },
        "period": period,
    })
}

fn app(opened: &Opened) -> Value {
    json!({
        "resourceType": "Device",
        "deviceName": [{"name": opened.header.app.name, "type": "user-friendly-name"}],
        "version": [{"value": opened.header.app.version}],
    })
}

fn provenance(bundle: &Bundle<'_>, exported: Wall) -> Value {
    let opened = bundle.facts.opened;
    let (basis, role) = match bundle.facts.measures.basis {
        Taken::Recorded => ("as recorded".to_owned(), "source"),
        Taken::Amended {
            revision,
            unsealed: 0,
        } => (format!("as amended, revision {revision}"), "revision"),
        Taken::Amended { revision, unsealed } => (
            format!("as amended, revision {revision} and {unsealed} unsealed amendments"),
            "revision",
        ),
    };
    // Without an amendment the record is the source itself.
    let amended = opened
        .entries
        .iter()
        .any(|e| matches!(e.fact, cycle::Fact::Amend(_)));
    let role = if amended { role } else { "source" };
    let targets = bundle
        .entries
        .iter()
        .filter_map(|entry| entry.get("fullUrl"));
    let by_voice = bundle.facts.marks.iter().any(|m| m.src == Source::Voice);
    json!({
        "resourceType": "Provenance",
        "target": targets.map(|url| json!({"reference": url})).collect::<Vec<_>>(),
        "recorded": exported.to_string(),
        "activity": {
            "text": if by_voice { format!("{basis}; with marks by voice") } else { basis },
        },
        "agent": [{"who": {"reference": bundle.device}}],
        "entity": [{
            "role": role,
            "what": {
                "identifier": {
                    "system": "urn:ietf:rfc:3986",
                    "value": format!("urn:uuid:{}", opened.header.record_id),
                },
                "display": format!("record, fingerprint {}", record::fingerprint(opened)),
            },
        }],
    })
}
