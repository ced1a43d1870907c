//! Doing an edit.

use crate::{Edit, Plan, PlanError};

/// The next plan. The given one is never changed.
///
/// # Errors
/// Why the edit was refused.
pub fn apply(plan: &Plan, edit: &Edit) -> Result<Plan, PlanError> {
    let _ = edit;
    Ok(plan.clone())
}
