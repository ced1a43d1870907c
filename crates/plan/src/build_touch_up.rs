//! Working out what has become of the agreed pair.

use counterpoise_geometry::{
    CI95_SD, CaliperPoints, Contour, Estimate, Measure, MeasuredBrow, PerSide, Pose, Registration, Side,
    counted_regions, hausdorff, mean_contour_distance, measure_pair, strips,
};
use kurbo::Point;
use serde::Serialize;

use crate::build_poses::{pose_fit, registration};
use crate::build_report::{measured, strips_of};
use crate::convert;
use crate::derive::{Derived, shape};
use crate::pose_report::PoseFit;
use crate::touch_up::{TOUCH_UP, TouchUp, TouchUpLine, contour};
use crate::{Measured, Outline, Plan, Problem, Strip};

/// What has become of the agreed pair.
#[derive(Clone, Debug, Serialize)]
pub struct TouchUpReport {
    /// How the new photo lies over the first one; `None` until it does.
    pub fit: Option<PoseFit>,
    /// What keeps it from that.
    pub problem: Option<Problem>,
    /// Agreed against healed, where the healed colour was drawn around.
    pub healed: PerSide<Option<HealedSide>>,
    /// Hair outside the agreed outline, strip by strip, where the hair was drawn around.
    pub hair: PerSide<Option<Vec<Strip>>>,
    /// True where nobody has agreed to anything yet, so that the pair in work stands in.
    pub is_unagreed: bool,
}

/// Agreed against healed on one side.
#[derive(Clone, Debug, Serialize)]
pub struct HealedSide {
    /// Area of the agreed outline, mm².
    pub agreed_mm2: f64,
    /// agreed − healed: where the colour has gone, mm².
    pub faded_mm2: f64,
    /// healed − agreed: where it lies outside, mm².
    pub spread_mm2: f64,
    /// 95 % half width of both areas by the drawn edge alone, mm².
    pub area_ci95_mm2: f64,
    /// Mean distance between the two edges, mm.
    pub mean_distance_mm: f64,
    /// Greatest distance between them, mm.
    pub farthest_mm: f64,
    /// Caliper measures, agreed and now.
    pub measures: Vec<HealedMeasure>,
}

/// One caliper measure, agreed and now.
#[derive(Clone, Debug, Serialize)]
pub struct HealedMeasure {
    /// Measure id; see `describe`.
    pub id: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// As agreed.
    pub agreed: f64,
    /// now − agreed.
    pub change: Measured,
    /// True where the change lies inside its own 95 % interval.
    pub within_error: bool,
}

/// The pair that healing is compared with: the one last agreed to, or the one in work.
pub fn agreed_pair(plan: &Plan) -> &PerSide<Option<Outline>> {
    plan.agreements.last().map_or(&plan.planned, |agreement| &agreement.planned)
}

/// The new photo laid over the first one; `None` without a new photo.
pub fn frames(plan: &Plan, derived: &Derived) -> Option<Result<Registration, Problem>> {
    let touch_up = plan.touch_up.as_ref()?;
    Some(registration(plan, derived, TOUCH_UP, Pose::BASELINE, &touch_up.photo))
}

/// One side of an agreed pair as a contour; `None` where there is none, or its numbers make none.
pub fn agreed_contour(plan: &Plan, side: Side) -> Option<(counterpoise_geometry::Outline, Contour)> {
    let shape = shape(agreed_pair(plan).get(side).as_ref()?).ok()?;
    let contour = shape.contour();
    Some((shape, contour))
}

/// What has become of the agreed pair; `None` without a new photo.
pub fn report(plan: &Plan, derived: &Derived) -> Option<TouchUpReport> {
    let touch_up = plan.touch_up.as_ref()?;
    let is_unagreed = plan.agreements.is_empty();
    let fit = match frames(plan, derived)? {
        Ok(fit) => fit,
        Err(problem) => {
            return Some(TouchUpReport {
                fit: None,
                problem: Some(problem),
                healed: PerSide::default(),
                hair: PerSide::default(),
                is_unagreed,
            });
        }
    };
    Some(TouchUpReport {
        healed: PerSide::from_fn(|side| healed_side(plan, derived, touch_up, side, &fit)),
        hair: PerSide::from_fn(|side| hair_outside(plan, touch_up, side, &fit)),
        fit: Some(pose_fit(&fit)),
        problem: None,
        is_unagreed,
    })
}

fn healed_side(
    plan: &Plan,
    derived: &Derived,
    touch_up: &TouchUp,
    side: Side,
    fit: &Registration,
) -> Option<HealedSide> {
    let (shape, agreed) = agreed_contour(plan, side)?;
    let healed = contour(touch_up.line(TouchUpLine::Healed, side)?, side, fit).ok()?;
    let found = counted_regions(&agreed, &healed, 0.0).areas;
    let errors = convert::error_model(plan);
    let now = MeasuredBrow::traced(&healed, &errors);
    let then = shape.caliper_points();
    // Read off a line in the same way, so that what the reading itself does is in neither.
    let as_drawn = MeasuredBrow::traced(&agreed, &errors);
    let only = PerSide::from_fn(|each| (each == side).then_some(&now));
    let measures = measure_pair(only, derived.frame().measuring()).into_iter().filter_map(|pair| {
        let info = pair.measure.info();
        // Areas are told by themselves.
        let here = (*pair.sides.get(side)).filter(|_| !matches!(pair.measure, Measure::Area))?;
        let placing =
            fit.sd_of(|moved| pair.measure.value(&moved_points(now.points(), side, moved), now.area_mm2()));
        let before = pair.measure.value(as_drawn.points(), as_drawn.area_mm2());
        let change = Estimate { value: here.value - before, sd: here.sd.hypot(placing) };
        Some(HealedMeasure {
            id: info.id,
            unit: info.unit.name(),
            agreed: pair.measure.value(&then, agreed.area()),
            change: measured(change),
            within_error: change.within_error(),
        })
    });
    let measures = measures.collect();
    Some(HealedSide {
        agreed_mm2: found.natural,
        faded_mm2: found.removed,
        spread_mm2: found.added,
        area_ci95_mm2: CI95_SD * errors.edge_mm * healed.perimeter(),
        mean_distance_mm: mean_contour_distance(&agreed, &healed),
        farthest_mm: hausdorff(&agreed, &healed),
        measures,
    })
}

/// Caliper points of a side after a map of the face frame.
fn moved_points(points: &CaliperPoints, side: Side, moved: &dyn Fn(Point) -> Point) -> CaliperPoints {
    let sign = side.sign();
    points.map(|at| {
        let there = moved(Point::new(sign * at.x, at.y));
        Point::new(sign * there.x, there.y)
    })
}

/// Hair outside the agreed outline.
fn hair_outside(plan: &Plan, touch_up: &TouchUp, side: Side, fit: &Registration) -> Option<Vec<Strip>> {
    let (shape, agreed) = agreed_contour(plan, side)?;
    let hair = contour(touch_up.line(TouchUpLine::Hair, side)?, side, fit).ok()?;
    let tolerance = plan.limits.edge_tolerance_mm;
    let found = counted_regions(&hair, &agreed, tolerance);
    Some(strips_of(side, &strips(&found.removed, &agreed, &shape.caliper_points(), tolerance)))
}
