//! The table of a protocol against the file itself, read line by line here.

use alloc::{
    string::{String, ToString},
    vec::Vec,
};

use crate::protocol::Protocol;

fn parsed(id: &str) -> Protocol {
    let text = Protocol::example(id).unwrap();
    Protocol::parse(text.as_bytes()).unwrap()
}

#[test]
fn every_number_of_every_example_has_a_range_and_a_source() {
    for (id, _) in Protocol::EXAMPLES {
        let rows = parsed(id).rows();
        assert!(rows.len() > 30, "{id}: {} rows", rows.len());
        for row in rows {
            let is_head = matches!(row.field.as_str(), "format" | "version");
            if row.value.parse::<i64>().is_ok() && !is_head {
                assert!(!row.allowed.is_empty(), "{id}: {} has no range", row.field);
                let source = row.source.unwrap_or_default();
                assert!(!source.is_empty(), "{id}: {} has no source", row.field);
            }
        }
    }
}

#[test]
fn a_row_says_what_the_file_says() {
    let rows = parsed("example-adult").rows();
    let row = |field: &str| rows.iter().find(|r| r.field == field).unwrap();
    // Source: the file example-adult.toml, [power.swap_window_s].
    let window = row("power.swap_window_s");
    assert_eq!(window.value, "60");
    assert_eq!(window.allowed, "a whole number 15 to 180 s, here [15, 180]");
    assert_eq!(
        window.source.as_deref(),
        Some("common practice, no source: enter your own device's figure")
    );
    // A row of a table shares the table's source.
    let most = row("drug.adrenaline.max_s");
    assert_eq!(most.value, "300");
    assert!(
        most.source
            .as_deref()
            .unwrap()
            .starts_with("1 mg every 3-5 min")
    );
}

#[test]
fn no_value_of_the_file_is_left_out() {
    // The file's own headings, as text: [group.key] with a value or lines.
    let text = Protocol::example("example-adult").unwrap();
    let headed: Vec<String> = text
        .lines()
        .filter(|line| line.starts_with('[') && !line.starts_with("[["))
        .map(|line| line.trim_matches(['[', ']']).to_string())
        .filter(|name| !name.starts_with("overlay.") && !name.contains(".value"))
        .collect();
    assert!(headed.len() > 30);
    let rows = parsed("example-adult").rows();
    for name in headed {
        assert!(
            rows.iter()
                .any(|r| r.field == name || r.field.starts_with(&[&name, "."].concat())),
            "{name}"
        );
    }
}
