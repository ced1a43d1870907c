//! Putting the report together.

use counterpoise_geometry::{
    Band, CI95_SD, Estimate, FaceFrame, FrameErrorTerm, Landmark, Measure, MeasuredPair, PerSide,
    RegionAreas, RemovedStrip, Side, Unit, measure_pair, percentile,
};

use crate::agreement;
use crate::build_poses::{pose_reports, states_report};
use crate::build_touch_up;
use crate::checks::{Checked, checks};
use crate::codes::problem;
use crate::convert::frame_problems;
use crate::derive::{Derived, FrameState, Natural, Planned};
use crate::headline::symmetry;
use crate::{
    ArchGuide, Areas, FrameReport, Glance, MeasureRow, Measured, Plan, PlanError, Problem, Report,
    ScaleSourceReport, Strip, Symmetry,
};

/// The numbers that are shown at every frame.
pub fn build_glance(plan: &Plan, derived: &Derived) -> Glance {
    Glance {
        frame: derived.frame().of_photo().map(frame_report),
        areas: areas(derived),
        strips: strips(derived),
        natural_symmetry: derived.ground.symmetry,
        planned_symmetry: planned_symmetry(derived, derived.frame().measuring()),
        problems: problems(plan, derived),
        agreement: agreement::report(plan),
    }
}

/// The numbers of a plan.
pub fn build_report(plan: &Plan, derived: &Derived) -> Report {
    let Glance { frame: frame_said, areas, strips, natural_symmetry, planned_symmetry, problems, agreement } =
        build_glance(plan, derived);
    let frame = derived.frame().measuring();
    let planned_brows = PerSide::from_fn(|side| derived.planned(side));
    let planned = rows(measure_pair(planned_brows.map(|found| found.map(Planned::brow)), frame));
    let checks = checks(&Checked {
        plan,
        derived,
        planned: &planned,
        areas: &areas,
        symmetry: (natural_symmetry.as_ref(), planned_symmetry.as_ref()),
    });
    let poses = pose_reports(plan, derived, &planned);
    let open_mm = planned_symmetry.map(|found| found.mean_distance_mm);
    Report {
        states: states_report(plan, derived, &poses, open_mm),
        poses,
        frame: frame_said,
        natural: derived.ground.rows.clone(),
        planned,
        areas,
        strips,
        natural_symmetry,
        planned_symmetry,
        checks,
        problems,
        agreement,
        touch_up: build_touch_up::report(plan, derived),
    }
}

/// How uneven the planned pair is, where there is one.
pub fn planned_symmetry(derived: &Derived, frame: &FaceFrame) -> Option<Symmetry> {
    let pair = PerSide::from_fn(|side| derived.planned(side)).both()?;
    Some(symmetry(pair.map(|planned| &planned.contour), PerSide::default(), frame))
}

fn frame_report(frame: &FaceFrame) -> FrameReport {
    FrameReport {
        roll_deg: frame.roll().to_degrees(),
        roll_sd_deg: frame.sd(FrameErrorTerm::Roll).to_degrees(),
        px_per_mm: frame.px_per_mm(),
        scale_sd_pct: 100.0 * frame.sd(FrameErrorTerm::LnScale),
        midpoint_spread_mm: frame.midpoint_spread_mm(),
        scale_sources: frame
            .scale_sources()
            .iter()
            .map(|source| ScaleSourceReport {
                id: source.kind.id(),
                px_per_mm: source.px_per_mm,
                sd_pct: 100.0 * source.sd_ln,
                residual_pct: 100.0 * source.residual_ln.exp_m1(),
            })
            .collect(),
    }
}

/// Half width of the scale's 95 % interval, per cent.
pub fn scale_ci95_pct(frame: &FaceFrame) -> f64 {
    100.0 * CI95_SD * frame.sd(FrameErrorTerm::LnScale)
}

/// One row per measure; none at all where neither side has a brow.
pub fn rows(pairs: impl IntoIterator<Item = MeasuredPair>) -> Vec<MeasureRow> {
    pairs
        .into_iter()
        .filter(|pair| pair.sides.right.is_some() || pair.sides.left.is_some())
        .map(|pair| {
            let info = pair.measure.info();
            MeasureRow {
                id: info.id.to_owned(),
                unit: info.unit.name(),
                sides: pair.sides.map(|side| side.map(measured)),
                percentile: pair
                    .sides
                    .map(|side| side.and_then(|estimate| percentile(pair.measure, estimate.value))),
                difference: pair.difference.map(measured),
                within_error: pair.difference.is_some_and(Estimate::within_error),
                band: pair
                    .difference
                    .filter(|_| matches!(info.unit, Unit::Mm))
                    .map(|difference| Band::of_mm(difference.value).id()),
            }
        })
        .collect()
}

pub fn measured(estimate: Estimate) -> Measured {
    Measured { value: estimate.value, ci95: estimate.ci95() }
}

/// Kept, removed and added, where both brows of a side are there.
pub fn areas(derived: &Derived) -> PerSide<Option<Areas>> {
    PerSide::from_fn(|side| {
        let natural = derived.natural(side)?;
        Some(areas_of(&derived.on(side).counted()?.areas, natural))
    })
}

fn areas_of(areas: &RegionAreas, natural: &Natural) -> Areas {
    let pct = |part: f64| 100.0 * part / areas.natural;
    Areas {
        natural_mm2: areas.natural,
        planned_mm2: areas.planned,
        kept_mm2: areas.kept,
        removed_mm2: areas.removed,
        added_mm2: areas.added,
        removed_counted_mm2: areas.removed_counted,
        removed_pct: pct(areas.removed_counted),
        added_pct: pct(areas.added),
        // A whole edge that lies further out or in by one SD changes the area by perimeter times SD; it is the worst
        // case, and what a different idea of "where the hair ends" does.
        pct_ci95: pct(CI95_SD * natural.edge_sd_mm * natural.contour.perimeter()),
    }
}

/// Hair to remove, strip by strip.
pub fn strips(derived: &Derived) -> Vec<Strip> {
    Side::BOTH.into_iter().flat_map(|side| strips_of(side, derived.on(side).strips())).collect()
}

/// Strips of one side as they are reported.
pub fn strips_of(side: Side, found: &[RemovedStrip]) -> Vec<Strip> {
    let strip = |strip: &RemovedStrip| Strip {
        side,
        place: strip.place.id(),
        area_mm2: strip.area,
        mean_width_mm: strip.mean_width,
        widest_mm: strip.widest,
        at: [strip.at.x, strip.at.y],
    };
    found.iter().map(strip).collect()
}

fn problems(plan: &Plan, derived: &Derived) -> Vec<Problem> {
    let mut found = match derived.frame() {
        FrameState::Missing(error, _) => frame_problems(error),
        FrameState::NoPhoto(_) | FrameState::Photo(_) => Vec::new(),
    };
    let refused = |code, side, error: &PlanError| {
        let subject = if code == problem::PLANNED_INVALID { error.subject.as_str() } else { error.code };
        let mut problem = Problem::new(code, Some(side), subject);
        problem.values.clone_from(&error.values);
        problem
    };
    for side in Side::BOTH {
        match derived.ground.natural.get(side) {
            None if plan.natural.get(side).is_none() => {
                found.push(Problem::new(problem::NATURAL_MISSING, Some(side), ""));
            }
            Some(Err(error)) => found.push(refused(problem::NATURAL_UNUSABLE, side, error)),
            _ => {}
        }
        match &derived.on(side).planned {
            None => found.push(Problem::new(problem::PLANNED_MISSING, Some(side), "")),
            Some(Err(error)) => found.push(refused(problem::PLANNED_INVALID, side, error)),
            Some(Ok(_)) => {}
        }
    }
    if let Some(frame) = derived.frame().of_photo() {
        for side in Side::BOTH {
            let wanted = [
                Some(Landmark::Nostril(side)),
                Some(Landmark::OuterCorner(side)),
                (plan.guides.arch == ArchGuide::Bone).then_some(Landmark::Bone(side)),
            ];
            let absent =
                wanted.into_iter().flatten().filter(|landmark| frame.landmark_in_face(*landmark).is_none());
            found.extend(
                absent.map(|landmark| Problem::new(problem::GUIDE_LANDMARK, Some(side), landmark.id())),
            );
        }
    }
    found
}

/// Measures in the order of the report, for `describe`.
pub fn measure_ids() -> impl Iterator<Item = (&'static str, &'static str)> {
    Measure::ALL.iter().map(|info| (info.id, info.unit.name()))
}
