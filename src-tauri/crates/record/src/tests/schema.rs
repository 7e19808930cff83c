//! docs/record.schema.json is what the types say.

/// The page of it, beside the format's own.
const PAGE: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../../../docs/record.schema.json"
);

#[test]
fn the_committed_schema_is_that_of_the_types() {
    let mut text = serde_json::to_string_pretty(&crate::schema::of_a_line().unwrap()).unwrap();
    text.push('\n');
    if std::env::var_os("CARRYBEAT_WRITE").is_some() {
        std::fs::write(PAGE, &text).unwrap();
    }
    let committed = std::fs::read_to_string(PAGE).unwrap_or_default();
    assert!(
        committed == text,
        "docs/record.schema.json is stale: write it anew with\n    \
         CARRYBEAT_WRITE=1 cargo test -p record --features schema the_committed_schema"
    );
}
