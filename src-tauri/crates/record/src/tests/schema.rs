//! docs/record.schema.json is what the types say.

/// The page of it, beside the format's own.
const PAGE: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../../../docs/record.schema.json"
);

#[test]
fn the_committed_schema_is_that_of_the_types() {
    let made = crate::schema::of_a_line().unwrap();
    if std::env::var_os("CARRYBEAT_WRITE").is_some() {
        let text = serde_json::to_string_pretty(&made).unwrap();
        std::fs::write(PAGE, text + "\n").unwrap();
    }
    let committed = std::fs::read(PAGE).unwrap_or_default();
    let committed: serde_json::Value = serde_json::from_slice(&committed).unwrap_or_default();
    assert!(
        committed == made,
        "docs/record.schema.json is stale: write it anew with\n    \
         CARRYBEAT_WRITE=1 cargo test -p record --features schema the_committed_schema"
    );
}
