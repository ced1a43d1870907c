//! What the report says of a pose.

use counterpoise_geometry::PerSide;
use serde::Serialize;

use crate::report::{Measured, Problem};

/// The brows in one pose against the baseline.
#[derive(Clone, Debug, Serialize)]
pub struct PoseReport {
    /// Pose id; text `pose.ID`.
    pub id: String,
    /// Lifts at front, arch and tail; empty where there is a problem.
    pub places: Vec<LiftRow>,
    /// How the pose's photo lies over the baseline; `None` for calipers.
    pub fit: Option<PoseFit>,
    /// Headline of the natural brows in this pose, mm.
    pub natural_mm: Option<f64>,
    /// Headline of the planned outlines in this pose, mm.
    pub planned_mm: Option<f64>,
    /// The planned outlines' measures as they are in this pose.
    pub carried: Vec<CarriedRow>,
    /// What keeps the pose from being used.
    pub problem: Option<Problem>,
}

/// One place of both brows.
#[derive(Clone, Debug, Serialize)]
pub struct LiftRow {
    /// `front`, `arch` or `tail`; text `lift_place.PLACE`.
    pub place: &'static str,
    /// Height here less height in the baseline, mm.
    pub lift: PerSide<Option<Measured>>,
    /// Of the height difference, where both sides are there.
    pub split: Option<SplitReport>,
}

/// A height difference, right − left, mm, and its parts.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct SplitReport {
    /// In the baseline.
    pub difference: Measured,
    /// What goes in this pose.
    pub muscle: Measured,
    /// What stays.
    pub sits: Measured,
    /// True where what goes is within its measuring error.
    pub within_error: bool,
}

/// How a photo lies over the baseline.
#[derive(Clone, Debug, Serialize)]
pub struct PoseFit {
    /// Root mean square of what is left, mm.
    pub rms_mm: f64,
    /// What is left at each point, mm.
    pub residuals: Vec<PoseResidual>,
    /// The point to look at again, or `None`.
    pub outlier: Option<&'static str>,
    /// Head turned about the upright against the baseline, degrees; positive towards the client's left.
    pub yaw_deg: Option<Measured>,
    /// Head nodded against the baseline, degrees; positive upwards.
    pub pitch_deg: Option<Measured>,
    /// True where one of them is more than its error and more than a careful photo allows.
    pub is_turned: bool,
    /// Scale by the pose's own ruler against that by the face, per cent.
    pub ruler_pct: Option<Measured>,
}

/// What is left at one point.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct PoseResidual {
    /// Landmark id.
    pub landmark: &'static str,
    /// mm.
    pub mm: f64,
}

/// One measure of the planned outlines, carried into the pose.
#[derive(Clone, Debug, Serialize)]
pub struct CarriedRow {
    /// Measure id.
    pub id: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// As planned, upright with open eyes.
    pub upright: PerSide<Option<Measured>>,
    /// In this pose.
    pub here: PerSide<Option<Measured>>,
}

/// Open eyes and relaxed brows weighed against each other.
#[derive(Clone, Debug, Serialize)]
pub struct StatesReport {
    /// The pose that stands for relaxed.
    pub pose: String,
    /// 0: open eyes alone count; 1: relaxed alone.
    pub relaxed_weight: f64,
    /// Headline of the plan with open eyes, mm.
    pub open_mm: Option<f64>,
    /// Headline of the plan when relaxed, mm.
    pub relaxed_mm: Option<f64>,
    /// Whatever the plan, both together are at least this, mm: the two sides move differently.
    pub never_mm: f64,
}
