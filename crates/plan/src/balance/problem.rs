//! From the document's rules to the geometry's problem, and from its errors to refusals.

use counterpoise_geometry::{
    AreaLimit, BalanceError, BalanceProblem, CurvePoint, GuidePull, Landmark, NaturalSide, Outline as Shape,
    OutlineParams, Param, PerSide, Preference, PullGuide, Side, SideRules, mean_contour_distance,
};

use crate::apply::{checked_outline, fitted};
use crate::build_poses::two_states;
use crate::codes::refused;
use crate::derive::Derived;
use crate::{ArchGuide, Plan, PlanError, Prefer, PullTo};

/// Mean distance between a natural brow and its fit beyond which the fit is no outline of this brow, mm, and what would
/// be removed and added no price of moving it. Judgement: four times the worst of 165 natural brows of this project's
/// model study on the Face Research Lab London Set (0.44 mm).
const FIT_MEAN_MM: f64 = 1.8;

/// The problem of a plan.
///
/// # Errors
/// Why there is none; see [`balance_curve`](super::balance_curve).
pub fn problem(plan: &Plan, derived: &Derived) -> Result<BalanceProblem, PlanError> {
    let natural = both(|side| natural(plan, derived, side))?;
    let start = both(|side| start(plan, side, || Ok(natural.get(side).outline)))?;
    Ok(BalanceProblem {
        start: Some(start),
        rules: both(|side| rules(plan, derived, side))?,
        natural,
        min_thickness_mm: plan.limits.min_thickness_mm,
        edge_tolerance_mm: plan.limits.edge_tolerance_mm,
        preference: match plan.balance.prefer {
            Prefer::Even => Preference::Neither,
            Prefer::Filling => Preference::Filling,
            Prefer::Trimming => Preference::Trimming,
        },
        two_states: two_states(plan, derived),
    })
}

/// Both sides, right first, or the first refusal.
pub fn both<T>(mut make: impl FnMut(Side) -> Result<T, PlanError>) -> Result<PerSide<T>, PlanError> {
    Ok(PerSide { right: make(Side::Right)?, left: make(Side::Left)? })
}

fn natural(plan: &Plan, derived: &Derived, side: Side) -> Result<NaturalSide, PlanError> {
    let outline = fitted(plan, side)?;
    // What can be fitted was derived, so this names no other fault.
    let natural =
        derived.natural(side).ok_or_else(|| PlanError::refused(refused::NATURAL_FIRST, side.name()))?;
    let follows = Shape::try_new(&outline)
        .is_ok_and(|shape| mean_contour_distance(&shape.contour(), &natural.contour) <= FIT_MEAN_MM);
    if !follows {
        return Err(PlanError::refused(refused::NO_FIT, side.name()));
    }
    Ok(NaturalSide { contour: natural.contour.clone(), outline })
}

/// Where balancing starts on this side: the planned outline, which may have been shaped by hand, else the natural fit.
pub fn start(
    plan: &Plan,
    side: Side,
    natural: impl FnOnce() -> Result<OutlineParams, PlanError>,
) -> Result<OutlineParams, PlanError> {
    plan.planned.get(side).as_ref().map_or_else(natural, checked_outline)
}

fn rules(plan: &Plan, derived: &Derived, side: Side) -> Result<SideRules, PlanError> {
    let rules = plan.balance.sides.get(side);
    let limits = &plan.limits;
    let mut pulls = Vec::with_capacity(rules.pulls.len());
    // A guide that pulls at nothing need not be there.
    for pull in rules.pulls.iter().filter(|pull| pull.weight > 0.0) {
        pulls.push(GuidePull { guide: guide(plan, derived, side, pull.guide)?, weight: pull.weight });
    }
    Ok(SideRules {
        removed: AreaLimit { percent: limits.removed_pct, mm2: limits.removed_mm2 },
        added: AreaLimit { percent: limits.added_pct, mm2: limits.added_mm2 },
        locked: rules.locked,
        locked_params: rules.locked_params.iter().filter_map(|id| Param::from_id(id)).collect(),
        lift_mm: rules.lift_mm,
        lower_mm: rules.lower_mm,
        pulls,
    })
}

/// Where a guide lies.
fn guide(plan: &Plan, derived: &Derived, side: Side, to: PullTo) -> Result<PullGuide, PlanError> {
    let lines = &derived.on(side).guides;
    let missing = |landmark: Landmark| {
        PlanError::refused(refused::PULL_GUIDE_MISSING, landmark.id()).against(side.name())
    };
    match to {
        PullTo::Front => lines
            .front_line_out
            .map(|out| PullGuide::FrontLine { out })
            .ok_or_else(|| missing(Landmark::Nostril(side))),
        PullTo::End => {
            lines
                .end_line
                .map(|line| PullGuide::EndLine { from: line.from, through: line.through })
                .ok_or_else(|| {
                    // Without the nostril there is no front line either.
                    let nostril_is_there = lines.front_line_out.is_some();
                    missing(if nostril_is_there {
                        Landmark::OuterCorner(side)
                    } else {
                        Landmark::Nostril(side)
                    })
                })
        }
        PullTo::Arch => match plan.guides.arch {
            ArchGuide::Measure => Ok(PullGuide::Arch { out: plan.guides.arch_measure_mm }),
            ArchGuide::Natural => lines
                .arch
                .natural
                .map(|at| PullGuide::Arch { out: at.x })
                .ok_or_else(|| PlanError::refused(refused::NATURAL_FIRST, side.name())),
            ArchGuide::Bone => lines
                .arch
                .bone
                .map(|at| PullGuide::Arch { out: at.x })
                .ok_or_else(|| missing(Landmark::Bone(side))),
        },
    }
}

/// Why the pair of a plan that passes `validate` cannot be balanced.
pub fn refusal(error: &BalanceError) -> PlanError {
    match *error {
        BalanceError::EverythingLocked => PlanError::refused(refused::EVERYTHING_LOCKED, ""),
        BalanceError::LimitsContradict { side, removed_excess_mm2, added_excess_mm2 } => {
            contradiction(side, removed_excess_mm2, added_excess_mm2)
        }
        // The document's ranges lie inside the geometry's, so only a fit or a plan beside its own range gets here.
        BalanceError::OutOfRange { side, .. } => {
            PlanError::refused(refused::NO_START, side.map_or("", Side::name))
        }
        BalanceError::NoStart => PlanError::refused(refused::NO_START, ""),
    }
}

fn contradiction(side: Side, removed_excess_mm2: f64, added_excess_mm2: f64) -> PlanError {
    PlanError::refused(refused::LIMITS_CONTRADICT, side.name())
        .with("removed_excess_mm2", removed_excess_mm2)
        .with("added_excess_mm2", added_excess_mm2)
}

/// The refusal of a curve of which not even the loosest point keeps its limits.
pub fn limits_contradict(plan: &Plan, added_pct: f64, loosest: &CurvePoint) -> PlanError {
    let excess = |side: Side| {
        let price = loosest.balanced.prices.get(side);
        let limit = |percent, mm2| AreaLimit { percent, mm2 }.mm2(price.natural_mm2);
        let removed = price.removed_counted_mm2 - limit(loosest.removed_limit_pct, plan.limits.removed_mm2);
        let added = price.added_mm2 - limit(added_pct, plan.limits.added_mm2);
        (removed.max(0.0), added.max(0.0))
    };
    let (right, left) = (excess(Side::Right), excess(Side::Left));
    let (side, (removed, added)) =
        if right.0 + right.1 >= left.0 + left.1 { (Side::Right, right) } else { (Side::Left, left) };
    contradiction(side, removed, added)
}
