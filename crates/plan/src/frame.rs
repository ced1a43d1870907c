//! Everything derived from a plan, worked out once.

use crate::build_report::build_report;
use crate::build_scene::build_scene;
use crate::derive::derive;
use crate::{Plan, Report, Scene};

/// The drawing and the numbers of a plan, in one pass.
#[must_use]
pub fn frame(plan: &Plan) -> (Scene, Report) {
    let derived = derive(plan);
    (build_scene(plan, &derived), build_report(plan, &derived))
}

/// The numbers of a plan.
#[must_use]
pub fn report(plan: &Plan) -> Report {
    build_report(plan, &derive(plan))
}

/// The drawing of a plan.
#[must_use]
pub fn scene(plan: &Plan) -> Scene {
    build_scene(plan, &derive(plan))
}
