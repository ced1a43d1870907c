//! Everything derived from a plan, worked out once.

use crate::build_report::{build_glance, build_report};
use crate::build_scene::{build_scene, posed_scene};
use crate::derive::derive;
use crate::derive_memo::DeriveMemo;
use crate::{Glance, Plan, Report, Scene};

/// The drawing and the numbers of a plan, in one pass.
#[must_use]
pub fn frame(plan: &Plan) -> (Scene, Report) {
    let derived = derive(plan);
    (build_scene(plan, &derived), build_report(plan, &derived))
}

/// The drawing of plans of which each differs little from the one before: what a drag needs at every frame.
#[must_use]
pub fn scene_after(memo: &mut DeriveMemo, plan: &Plan) -> Scene {
    build_scene(plan, &memo.derive(plan))
}

/// The numbers that are shown with such a drawing.
#[must_use]
pub fn glance_after(memo: &mut DeriveMemo, plan: &Plan) -> Glance {
    build_glance(plan, &memo.derive(plan))
}

/// All numbers of such plans.
#[must_use]
pub fn report_after(memo: &mut DeriveMemo, plan: &Plan) -> Report {
    build_report(plan, &memo.derive(plan))
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
        client: _,
        variants: _,
        cautions,
        upkeep,
        agreements,
        touch_up,
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
        && *touch_up == other.touch_up
        // A seal tells of what was asked and noted as well.
        && *agreements == other.agreements
        && (agreements.is_empty() || (*cautions == other.cautions && *upkeep == other.upkeep))
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

/// The brows of a plan as they lie in a recorded pose; `None` where the pose is not recorded, or without
/// a photo cannot be used. With a photo of its own it is drawn over that, and its points are the handles.
#[must_use]
pub fn scene_in_pose(memo: &mut DeriveMemo, plan: &Plan, pose: &str) -> Option<Scene> {
    posed_scene(plan, &memo.derive(plan), pose)
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
