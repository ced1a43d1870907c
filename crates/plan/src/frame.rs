//! Everything derived from a plan, worked out once.

use crate::build_report::build_report;
use crate::build_scene::{build_scene, posed_scene};
use crate::derive::{Derived, derive, derive_on};
use crate::ground::GroundMemo;
use crate::{Plan, Report, Scene};

/// The drawing and the numbers of a plan, in one pass.
#[must_use]
pub fn frame(plan: &Plan) -> (Scene, Report) {
    both(plan, &derive(plan))
}

/// The same for plans of which each differs little from the one before.
#[must_use]
pub fn frame_after(memo: &mut GroundMemo, plan: &Plan) -> (Scene, Report) {
    both(plan, &derive_on(plan, memo.ground(plan)))
}

/// Whether two plans have the same drawing and numbers without a look at either: the rules of the balance say where outlines
/// may go, not where they are, and the words of the case are drawn nowhere.
#[must_use]
pub fn same_frame(one: &Plan, other: &Plan) -> bool {
    // By name, so that a new member of the plan has to be put somewhere.
    let Plan {
        format: _,
        version: _,
        case: _,
        photo,
        landmarks,
        frame,
        noise,
        natural,
        planned,
        guides,
        limits,
        balance,
        poses,
    } = one;
    *planned == other.planned
        && *poses == other.poses
        // What is reported of poses names the weight of relaxed brows.
        && balance.relaxed_weight == other.balance.relaxed_weight
        && *limits == other.limits
        && *guides == other.guides
        && *photo == other.photo
        && *frame == other.frame
        && *noise == other.noise
        && *landmarks == other.landmarks
        && *natural == other.natural
}

fn both(plan: &Plan, derived: &Derived) -> (Scene, Report) {
    (build_scene(plan, derived), build_report(plan, derived))
}

/// The brows of a plan as they lie in a recorded pose; `None` where the pose is not recorded, or without
/// a photo cannot be used. With a photo of its own it is drawn over that, and its points are the handles.
#[must_use]
pub fn scene_in_pose(memo: &mut GroundMemo, plan: &Plan, pose: &str) -> Option<Scene> {
    posed_scene(plan, &derive_on(plan, memo.ground(plan)), pose)
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
