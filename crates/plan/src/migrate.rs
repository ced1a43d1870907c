//! Older plan versions, one step at a time.

use crate::Plan;

/// The plan in this build's form. `version` was read from the head and is at most this build's.
///
/// Version 1 is the first, so there is nothing to change yet. A later version turns the text into a
/// `serde_json::Value` here, mends it step by step (`1 → 2`, `2 → 3`, …) and reads the result; the plain path stays
/// the straight one, since it keeps line and column for the message.
pub fn migrate(json: &str, version: u64) -> Result<Plan, serde_json::Error> {
    debug_assert!((1..=u64::from(crate::VERSION)).contains(&version));
    serde_json::from_str(json)
}
