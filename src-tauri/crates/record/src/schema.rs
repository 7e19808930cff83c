//! The format of a line as a JSON Schema, made from the types that write and read it.
//!
//! It describes what this version writes. A reader takes more: a field that may be left out may also be
//! null, and a newer version may have fields, words and kinds that are not here.

use std::borrow::Cow;

use cycle::{
    fact::{Amend, DEED_KINDS, Deed},
    mark::{AirMark, CareMark, CheckMark, DeviceMark, FlowMark, RunMark, kinds},
};
use schemars::{
    JsonSchema, Schema as Json, SchemaGenerator, generate::SchemaSettings, json_schema,
};
use serde_json::{Map, Value, json};

use crate::{Digest, Header, ProtocolLine, Schema, Seal, Wall, line::Envelope};

/// A UUID of version 4 in lower case (RFC 9562, section 5.4).
pub(crate) const UUID_V4: &str =
    "^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$";

impl JsonSchema for Digest {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "Digest".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Json {
        json_schema!({ "type": "string", "pattern": "^[0-9a-f]{64}$" })
    }
}

impl JsonSchema for Wall {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "Wall".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Json {
        // RFC 3339, section 5.6, with exactly three digits of a second and never `Z`.
        json_schema!({
            "type": "string",
            "pattern": "^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])T([01][0-9]|2[0-3])(:[0-5][0-9]){2}\
                        [.][0-9]{3}[+-]([01][0-9]|2[0-3]):[0-5][0-9]$",
        })
    }
}

impl JsonSchema for Schema {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "Schema".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Json {
        let major = Self::CURRENT.major;
        json_schema!({
            "type": "string",
            "pattern": format!("^record/{major}[.](0|[1-9][0-9]{{0,8}})[.](0|[1-9][0-9]{{0,8}})$"),
        })
    }
}

/// Who writes a kind: the source that its line must have.
enum By {
    App,
    Crew,
}

impl By {
    /// A condition on `src`.
    fn condition(&self) -> Value {
        match self {
            Self::App => json!({ "const": "auto" }),
            Self::Crew => json!({ "not": { "const": "auto" } }),
        }
    }
}

/// A kind of line and the name of what describes its `d`.
struct Kind {
    ev: String,
    by: By,
    fields: String,
}

/// The schema of one line.
///
/// # Errors
/// A kind that a table names and no type has, or the other way round.
pub fn of_a_line() -> Result<Value, String> {
    let mut from = SchemaSettings::draft2020_12()
        .for_serialize()
        .into_generator();
    let envelope = Envelope::<String, Map<String, Value>>::json_schema(&mut from);
    let groups = [
        (name::<RunMark>(&mut from), kinds::RUN, By::Crew),
        (name::<FlowMark>(&mut from), kinds::FLOW, By::Crew),
        (name::<AirMark>(&mut from), kinds::AIR, By::Crew),
        (name::<CheckMark>(&mut from), kinds::CHECK, By::Crew),
        (name::<DeviceMark>(&mut from), kinds::DEVICE, By::Crew),
        (name::<CareMark>(&mut from), kinds::CARE, By::Crew),
        (name::<Deed>(&mut from), DEED_KINDS, By::App),
    ];
    let alone = |ev: &str, by, fields| Kind {
        ev: ev.to_owned(),
        by,
        fields,
    };
    let mut known = vec![
        alone("header", By::App, name::<Header>(&mut from)),
        alone("protocol", By::App, name::<ProtocolLine>(&mut from)),
        alone("amend", By::Crew, name::<Amend>(&mut from)),
        alone("seal", By::App, name::<Seal>(&mut from)),
    ];
    let mut defs = from.take_definitions(true);
    for (group, table, by) in groups {
        known.extend(taken_apart(&mut defs, &group, table, &by)?);
    }
    let mut line = envelope.to_value();
    let rules = known.iter().map(|kind| rule(kind, &known)).collect();
    let Some(parts) = line.as_object_mut() else {
        return Err("the envelope's schema is no object".to_owned());
    };
    parts.remove("description");
    parts.insert("allOf".to_owned(), Value::Array(rules));
    parts.insert("$defs".to_owned(), Value::Object(defs));
    let mut whole = Map::new();
    whole.insert(
        "$schema".to_owned(),
        json!("https://json-schema.org/draft/2020-12/schema"),
    );
    whole.insert(
        "title".to_owned(),
        json!(format!(
            "A line of a record, as {} writes it",
            Schema::CURRENT
        )),
    );
    whole.insert(
        "description".to_owned(),
        json!(
            "One line of <record_id>.rec.jsonl; docs/record.md says what it means. Kinds that are not here \
             may be of a newer version: they are kept and counted."
        ),
    );
    whole.append(parts);
    Ok(bounded(Value::Object(whole)))
}

/// Has the type described, and gives the name under which it is.
fn name<T: JsonSchema>(from: &mut SchemaGenerator) -> String {
    let _: Json = from.subschema_for::<T>();
    T::schema_name().into_owned()
}

/// Gives each variant's `d` a name of its own, for a line of that kind and for a mark in an amendment alike.
fn taken_apart(
    defs: &mut Map<String, Value>,
    group: &str,
    table: &[&str],
    by: &By,
) -> Result<Vec<Kind>, String> {
    let mut found = Vec::new();
    let mut apart = Vec::new();
    let variants = defs
        .get_mut(group)
        .and_then(|group| group.get_mut("oneOf"))
        .and_then(Value::as_array_mut)
        .ok_or_else(|| format!("{group} is not one of its kinds"))?;
    for variant in variants {
        let says = variant.get("description").cloned();
        let ev = variant
            .pointer("/properties/ev/const")
            .and_then(Value::as_str);
        let ev = ev
            .ok_or_else(|| format!("{group}: a kind without a name"))?
            .to_owned();
        let d = variant
            .pointer_mut("/properties/d")
            .ok_or_else(|| format!("{group}: {ev} has no d"))?;
        let fields = match by {
            By::App => format!("deed.{ev}"),
            By::Crew => format!("mark.{ev}"),
        };
        let mut own = std::mem::replace(d, reference(&fields));
        if let (Some(own), Some(says)) = (own.as_object_mut(), says) {
            own.entry("description").or_insert(says);
        }
        apart.push((fields.clone(), own));
        let by = match by {
            By::App => By::App,
            By::Crew => By::Crew,
        };
        found.push(Kind { ev, by, fields });
    }
    let names: Vec<&str> = found.iter().map(|kind| kind.ev.as_str()).collect();
    let strays = names.iter().filter(|ev| !table.contains(ev));
    let missing = table.iter().filter(|ev| !names.contains(ev));
    if let Some(ev) = strays.chain(missing).next() {
        return Err(format!(
            "{group}: {ev} is in the table or in the type, not in both"
        ));
    }
    if matches!(by, By::App) {
        // No line but a deed's own holds a deed.
        defs.remove(group);
    }
    defs.extend(apart);
    Ok(found)
}

fn reference(name: &str) -> Value {
    json!({ "$ref": format!("#/$defs/{name}") })
}

/// What holds of a line of this kind. A word that crew and app may both say is told apart by `src`.
fn rule(kind: &Kind, known: &[Kind]) -> Value {
    let is_shared = known.iter().filter(|other| other.ev == kind.ev).count() > 1;
    let mut when = json!({ "ev": { "const": kind.ev } });
    let mut then = json!({ "d": reference(&kind.fields) });
    let place = if is_shared { &mut when } else { &mut then };
    if let Some(place) = place.as_object_mut() {
        place.insert("src".to_owned(), kind.by.condition());
    }
    json!({ "if": { "properties": when }, "then": { "properties": then } })
}

/// Whole numbers with the bounds of their Rust types: a format alone binds no reader.
fn bounded(value: Value) -> Value {
    match value {
        Value::Object(parts) => {
            let mut parts: Map<String, Value> = parts
                .into_iter()
                .map(|(name, part)| (name, bounded(part)))
                .collect();
            let most = match parts.get("format").and_then(Value::as_str) {
                Some("uint64") => Some((json!(0), json!(u64::MAX))),
                Some("uint32") => Some((json!(0), json!(u32::MAX))),
                Some("uint16") => Some((json!(0), json!(u16::MAX))),
                Some("uint8") => Some((json!(0), json!(u8::MAX))),
                Some("int64") => Some((json!(i64::MIN), json!(i64::MAX))),
                Some(_) | None => None,
            };
            if let Some((least, most)) = most {
                parts.remove("format");
                parts.insert("minimum".to_owned(), least);
                parts.insert("maximum".to_owned(), most);
            }
            Value::Object(parts)
        }
        Value::Array(parts) => Value::Array(parts.into_iter().map(bounded).collect()),
        other @ (Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_)) => other,
    }
}
