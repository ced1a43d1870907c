//! Working out what the recorded poses say.

use counterpoise_geometry::{
    Contour, Drop, Estimate, Landmark, LiftPlace, LiftProfile, Measure, MeasuredBrow, PairLift, PerPlace,
    PerSide, Pose, PoseBrows, Registration, RegistrationError, RegistrationInput, STABLE_POINTS_NEEDED, Side,
    Split, TwoStates, mean_contour_distance, pair_lift, register,
};

use crate::build_report::measured;
use crate::codes::problem;
use crate::derive::Derived;
use crate::pose_report::{CarriedRow, LiftRow, PoseFit, PoseReport, PoseResidual, SplitReport, StatesReport};
use crate::{MeasureRow, Measured, Plan, PosePhoto, PosePoint, PoseRecord, Problem};

/// A head turned by more than this between two photos is said, degrees: with 1.5° sideways differences at the tails are
/// already off by 1.3 mm (derived from facial proportions).
const TURNED_DEG: f64 = 1.5;
/// A brow that moves farther than this was mistyped or marked in the wrong place, mm: twelve adults raised theirs by 10.57 ±
/// 2.51 mm (motion capture, Braz J Otorhinolaryngol), so this is nearly four standard deviations above.
const MOST_LIFT_MM: f64 = 20.0;
/// Poses that show the brows at rest without the eyes' effort, the best first.
const RELAXED: [&str; 3] = ["upright_closed_resting", "reclined_closed_resting", "reclined_open_resting"];

/// What one pose does to the brows.
pub struct Lifted {
    lift: PairLift,
    fit: Option<Registration>,
    /// Along each side's natural brow.
    pub profiles: PerSide<Option<LiftProfile>>,
}

impl Lifted {
    /// From face mm to px of the pose's own photo, where it has one.
    pub fn image_from_face(&self) -> Option<[f64; 6]> {
        self.fit.as_ref().map(Registration::image_from_face)
    }
}

/// Side, place and size of the largest lift, mm, where no face moves so far.
fn too_far(lift: &PairLift) -> Option<(Side, &'static str, f64)> {
    let of = |side: Side| {
        let lifts = lift.sides.get(side).iter().flatten();
        lifts.zip(LiftPlace::ALL).map(move |(lift, place)| (side, place.id(), lift.value))
    };
    let farthest = Side::BOTH.into_iter().flat_map(of).max_by(|a, b| a.2.abs().total_cmp(&b.2.abs()));
    farthest.filter(|(.., lift)| lift.abs() > MOST_LIFT_MM)
}

/// What a recorded pose does to the natural brows.
///
/// # Errors
/// What keeps it from being used.
pub fn lifted(plan: &Plan, derived: &Derived, id: &str, record: &PoseRecord) -> Result<Lifted, Problem> {
    let brows = PerSide::from_fn(|side| derived.natural(side).map(|natural| &natural.brow));
    let frame = derived.frame().measuring();
    let (lift, fit) = match &record.photo {
        Some(photo) => {
            let pose = Pose::from_id(id).ok_or_else(|| Problem::new(problem::POSE_NO_BASELINE, None, id))?;
            let fit = registration(plan, derived, id, pose, photo)?;
            let points = PerSide::from_fn(|side| {
                let [front, arch, tail] =
                    LiftPlace::ALL.map(|place| photo.point(PosePoint::Brow(side, place)));
                Some([front?, arch?, tail?])
            });
            (pair_lift(brows, frame, &PoseBrows::Points(points, &fit)), Some(fit))
        }
        None => {
            let heights = record.heights.map(|heights| heights.map(|h| [h.front_mm, h.arch_mm, h.tail_mm]));
            (pair_lift(brows, frame, &PoseBrows::Heights(heights)), None)
        }
    };
    if let Some((side, place, lift)) = too_far(&lift) {
        let problem = Problem::new(problem::POSE_TOO_FAR, Some(side), format!("lift_place.{place}"));
        return Err(problem.with("lift_mm", lift).with("limit_mm", MOST_LIFT_MM));
    }
    let profiles = PerSide::from_fn(|side| {
        let lift = (*lift.sides.get(side))?;
        Some(LiftProfile::new(brows.get(side).as_ref()?.points(), lift.map(|lift| lift.value)))
    });
    Ok(Lifted { lift, fit, profiles })
}

/// A photo in this pose laid over the baseline; `id` names it in problems.
///
/// # Errors
/// What is missing or does not fit.
pub fn registration(
    plan: &Plan,
    derived: &Derived,
    id: &str,
    pose: Pose,
    photo: &PosePhoto,
) -> Result<Registration, Problem> {
    let landmarks = Landmark::ALL
        .into_iter()
        .filter_map(|landmark| Some((landmark, photo.point(PosePoint::Landmark(landmark))?)))
        .collect();
    let none = || Problem::new(problem::POSE_NO_BASELINE, None, id);
    let baseline = derived.frame().of_photo().filter(|_| plan.photo.is_some()).ok_or_else(none)?;
    let input = RegistrationInput {
        baseline,
        landmarks: &landmarks,
        mirrored: photo.photo.mirrored,
        pose,
        ruler_mm: photo.ruler_mm,
    };
    #[expect(clippy::cast_precision_loss, reason = "counts of points, shown")]
    register(&input).map_err(|error| match error {
        RegistrationError::NoBaseline => none(),
        RegistrationError::TooFew { have } => Problem::new(problem::POSE_TOO_FEW_POINTS, None, id)
            .with("have_count", have as f64)
            .with("needed_count", STABLE_POINTS_NEEDED as f64),
        RegistrationError::Unusable => Problem::new(problem::POSE_POINTS_UNUSABLE, None, id),
        RegistrationError::Mirrored => Problem::new(problem::POSE_MIRRORED, None, id),
        RegistrationError::DifferentFace { rms_mm } => {
            Problem::new(problem::POSE_OTHER_FACE, None, id).with("rms_mm", rms_mm)
        }
    })
}

/// Every recorded pose, in the order of their ids. `planned` are the rows of the planned outlines.
pub fn pose_reports(plan: &Plan, derived: &Derived, planned: &[MeasureRow]) -> Vec<PoseReport> {
    plan.poses
        .iter()
        .map(|(id, record)| match lifted(plan, derived, id, record) {
            Ok(lifted) => report(derived, id, &lifted, planned),
            Err(problem) => PoseReport {
                id: id.clone(),
                places: Vec::new(),
                fit: None,
                natural_mm: None,
                planned_mm: None,
                carried: Vec::new(),
                problem: Some(problem),
            },
        })
        .collect()
}

fn report(derived: &Derived, id: &str, lifted: &Lifted, planned: &[MeasureRow]) -> PoseReport {
    let natural = PerSide::from_fn(|side| derived.natural(side).map(|natural| &natural.contour));
    let outlines = PerSide::from_fn(|side| derived.planned(side).map(|planned| &planned.contour));
    PoseReport {
        id: id.to_owned(),
        places: LiftPlace::ALL
            .into_iter()
            .enumerate()
            .map(|(k, place)| lift_row(&lifted.lift, k, place))
            .collect(),
        fit: lifted.fit.as_ref().map(pose_fit),
        natural_mm: headline(natural, &lifted.profiles),
        planned_mm: headline(outlines, &lifted.profiles),
        carried: carried(derived, lifted, planned),
        problem: None,
    }
}

fn lift_row(lift: &PairLift, index: usize, place: LiftPlace) -> LiftRow {
    LiftRow {
        place: place.id(),
        lift: lift.sides.map(|side| side.map(|places| measured(places[index]))),
        split: lift.splits.map(|splits| {
            let Split { difference, muscle, sits } = splits[index];
            SplitReport {
                difference: measured(difference),
                muscle: measured(muscle),
                sits: measured(sits),
                within_error: muscle.within_error(),
            }
        }),
    }
}

pub fn pose_fit(fit: &Registration) -> PoseFit {
    let is_far = |angle: Estimate| !angle.within_error() && angle.value.abs() > TURNED_DEG;
    PoseFit {
        rms_mm: fit.rms_mm,
        residuals: fit
            .residuals
            .iter()
            .map(|(landmark, left)| PoseResidual { landmark: landmark.id(), mm: left.hypot() })
            .collect(),
        outlier: fit.outlier.map(Landmark::id),
        yaw_deg: fit.turned.map(|turned| measured(turned.yaw_deg)),
        pitch_deg: fit.turned.map(|turned| measured(turned.pitch_deg)),
        is_turned: fit.turned.is_some_and(|turned| is_far(turned.yaw_deg) || is_far(turned.pitch_deg)),
        ruler_pct: fit.ruler_pct.map(measured),
    }
}

/// How uneven two contours are in the pose, mm.
fn headline(pair: PerSide<Option<&Contour>>, profiles: &PerSide<Option<LiftProfile>>) -> Option<f64> {
    let carried = |side: Side| carried_contour((*pair.get(side))?, profiles.get(side).as_ref()?);
    Some(mean_contour_distance(&carried(Side::Right)?, &carried(Side::Left)?))
}

/// A contour as it lies in the pose. Points only move up or down, by amounts that change slowly, so a simple line stays one;
/// where it would not, there is no such contour.
pub fn carried_contour(contour: &Contour, profile: &LiftProfile) -> Option<Contour> {
    Contour::try_new(contour.points().iter().map(|at| profile.carried(*at)).collect()).ok()
}

/// The planned outlines' measures in the pose, beside those upright.
fn carried(derived: &Derived, lifted: &Lifted, planned: &[MeasureRow]) -> Vec<CarriedRow> {
    let here = |side: Side, measure: Measure, upright: &Measured| -> Option<Measured> {
        let plan = derived.planned(side)?;
        let natural: &MeasuredBrow = &derived.natural(side)?.brow;
        let lifts = (*lifted.lift.sides.get(side))?;
        let value = |lifts: PerPlace<f64>| {
            let profile = LiftProfile::new(natural.points(), lifts);
            measure.value(&plan.points.map(|at| profile.carried(at)), plan.brow().area_mm2())
        };
        let lift_values = lifts.map(|lift| lift.value);
        let at = value(lift_values);
        // Each lift's own error by what it does to the measure.
        let by_lifts: f64 = (0..lifts.len())
            .map(|k| {
                let mut moved = lift_values;
                moved[k] += lifts[k].sd;
                (value(moved) - at).powi(2)
            })
            .sum();
        let by_lifts = Estimate { value: at, sd: by_lifts.sqrt() };
        Some(Measured { value: at, ci95: upright.ci95.hypot(by_lifts.ci95()) })
    };
    planned
        .iter()
        .filter_map(|row| {
            let info = Measure::from_id(&row.id)?.info();
            let here = PerSide::from_fn(|side| here(side, info.measure, row.sides.get(side).as_ref()?));
            Some(CarriedRow { id: info.id, unit: row.unit, upright: row.sides, here })
        })
        .collect()
}

/// The recorded pose that stands for relaxed brows, where one is usable on both sides.
fn relaxed(plan: &Plan, derived: &Derived) -> Option<(&'static str, Lifted)> {
    RELAXED.into_iter().find_map(|id| {
        let lifted = lifted(plan, derived, id, plan.poses.get(id)?).ok()?;
        lifted.profiles.both().is_some().then_some((id, lifted))
    })
}

/// The two states to be balanced together, where she gave relaxed brows a weight and they are recorded.
pub fn two_states(plan: &Plan, derived: &Derived) -> Option<TwoStates> {
    if plan.balance.relaxed_weight <= 0.0 {
        return None;
    }
    let (_, lifted) = relaxed(plan, derived)?;
    let drop = lifted.lift.sides.both()?.map(|[front, arch, tail]| Drop {
        front: -front.value,
        arch: -arch.value,
        tail: -tail.value,
    });
    Some(TwoStates { drop, closed_weight: plan.balance.relaxed_weight })
}

/// What the plan is worth in both states.
pub fn states_report(
    plan: &Plan,
    derived: &Derived,
    poses: &[PoseReport],
    open_mm: Option<f64>,
) -> Option<StatesReport> {
    let (id, lifted) = relaxed(plan, derived)?;
    let profiles = lifted.profiles.both()?;
    // One brow moved as the right does against the same brow moved as the left does.
    let one = &derived.natural(Side::Right)?.contour;
    let apart = [&profiles.right, &profiles.left].map(|profile| carried_contour(one, profile));
    let [Some(right), Some(left)] = apart else { return None };
    Some(StatesReport {
        pose: id.to_owned(),
        relaxed_weight: plan.balance.relaxed_weight,
        open_mm,
        relaxed_mm: poses.iter().find(|pose| pose.id == id)?.planned_mm,
        never_mm: mean_contour_distance(&right, &left),
    })
}
