//! The times to carry over as a table: CSV (RFC 4180) with its description (CSV on the Web).

use serde_json::json;

use crate::{CarryOver, clocks};

/// Name and meaning of each column; all but the group are text, for no cell is to be reckoned with.
const COLUMNS: [(&str, &str, &str); 11] = [
    ("element", "string", "the standard's id of the element"),
    ("name", "string", "the standard's name of it"),
    (
        "group",
        "integer",
        "which dose, procedure, reading or confirmation, from 1",
    ),
    (
        "code",
        "string",
        "code of the standard's list or of the code system that it names",
    ),
    ("value", "string", "in plain words, or the number or time"),
    ("date", "date", "by this device's clock"),
    (
        "time",
        "time",
        "by this device's clock, cut to whole seconds",
    ),
    ("utc_offset", "string", "of that date and time"),
    (
        "other_clocks",
        "string",
        "what other clocks showed less what this device showed; no time is shifted by it",
    ),
    (
        "source",
        "string",
        "button, voice, sensor, import or review",
    ),
    (
        "to_confirm",
        "string",
        "why the crew still has to confirm it",
    ),
];

fn quoted(cell: &str) -> String {
    if cell.contains(['"', ',', '\r', '\n']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}

/// File name and text: the table and what describes it.
pub fn carry_files(carried: &CarryOver, fingerprint: &str) -> Vec<(String, String)> {
    let clocks = clocks::cell(&carried.clocks);
    let head: Vec<&str> = COLUMNS.iter().map(|(name, _, _)| *name).collect();
    let mut csv = format!("{}\r\n", head.join(","));
    for row in &carried.rows {
        let time = row.time.as_ref();
        let cells = [
            row.element.as_str(),
            &row.name,
            &row.group.map_or_else(String::new, |n| n.to_string()),
            row.code.as_deref().unwrap_or_default(),
            row.value.as_deref().unwrap_or_default(),
            time.map_or("", |t| &t.date),
            time.map_or("", |t| &t.time),
            time.map_or("", |t| &t.offset),
            if time.is_some() { &clocks } else { "" },
            row.source.map_or("", cycle::fact::Source::word),
            row.confirm.as_deref().unwrap_or_default(),
        ];
        let line: Vec<String> = cells.iter().map(|cell| quoted(cell)).collect();
        csv.push_str(&line.join(","));
        csv.push_str("\r\n");
    }
    let columns = COLUMNS.iter().map(|(name, datatype, what)| {
        json!({
            "name": name,
            "titles": name,
            "datatype": datatype,
            "null": "",
            "dc:description": what,
        })
    });
    let about = json!({
        "@context": "http://www.w3.org/ns/csvw",
        "url": "carry-over.csv",
        "dc:title": "Times to carry over",
        "dc:description": "By the crew's marks and this device's clock. A cell without a value was \
            not said: the crew says. Nothing here is copied into a care record by itself.",
        "dc:conformsTo": carried.standard,
        "carrybeat:kind": carried.kind,
        "carrybeat:basis": carried.basis,
        "carrybeat:fingerprint": fingerprint,
        "tableSchema": {"columns": columns.collect::<Vec<_>>()},
    });
    vec![
        ("carry-over.csv".to_owned(), csv),
        ("metadata.json".to_owned(), format!("{about:#}\n")),
    ]
}
