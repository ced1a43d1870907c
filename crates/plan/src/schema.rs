//! The JSON Schema of the plan file.

/// The schema of [`Plan`](crate::Plan) as pretty JSON with a final newline.
#[must_use]
pub fn schema_json() -> String {
    let schema = schemars::schema_for!(crate::Plan);
    let mut text = serde_json::to_string_pretty(&schema).unwrap_or_default();
    text.push('\n');
    text
}
