//! Older plan versions, one step at a time.

use crate::Plan;
use crate::notation::{Misread, read};

/// The plan in this build's form. `version` was read from the head and is at most this build's.
///
/// Version 1 is the first, so there is nothing to change yet. A later version reads the older form into types of its own
/// here and mends it step by step (`1 → 2`, `2 → 3`, …); the plain path stays the straight one.
pub fn migrate(json: &str, version: u64) -> Result<Plan, Misread> {
    debug_assert!((1..=u64::from(crate::VERSION)).contains(&version));
    read(json)
}
