//! Between the document's words and the geometry's: strings and degrees there, enums and radians here.

use counterpoise_geometry as geometry;
use geometry::{
    CaliperError, CaliperNumbers, CaliperScale, ContourError, ErrorModel, FrameError, FrameInput, ImagePoint,
    Landmark, OutlineError, OutlineParams, Param, RollSource, Side,
};

use crate::codes::{problem, refused};
use crate::field;
use crate::validate::short;
use crate::{BrowCalipers, Outline, Plan, PlanError, Problem, RollFrom};

/// Everything of the plan that makes the frame. Ids that no landmark has are left out; `validate` refuses them.
pub fn frame_input(plan: &Plan) -> FrameInput {
    FrameInput {
        landmarks: plan
            .landmarks
            .iter()
            .filter_map(|(id, at)| Some((Landmark::from_id(id)?, ImagePoint::new(at.x_px, at.y_px))))
            .collect(),
        mirrored: plan.photo.as_ref().is_some_and(|photo| photo.mirrored),
        roll_from: match plan.frame.roll_from {
            RollFrom::Eyes => RollSource::Eyes,
            RollFrom::Bridge => RollSource::Bridge,
        },
        roll_nudge: plan.frame.roll_nudge_deg.to_radians(),
        ruler_mm: plan.frame.ruler_mm,
        calipers: plan
            .frame
            .calipers
            .iter()
            .filter_map(|caliper| {
                Some(CaliperScale {
                    from: Landmark::from_id(&caliper.from)?,
                    to: Landmark::from_id(&caliper.to)?,
                    mm: caliper.mm,
                })
            })
            .collect(),
        use_iris: plan.frame.use_iris,
        errors: error_model(plan),
    }
}

/// The measuring errors.
pub const fn error_model(plan: &Plan) -> ErrorModel {
    ErrorModel {
        landmark_mm: plan.noise.landmark_mm,
        edge_mm: plan.noise.edge_mm,
        caliper_mm: plan.noise.caliper_mm,
        yaw_deg: plan.noise.yaw_deg,
    }
}

/// What keeps the frame from being made, as the artist can mend it.
pub fn frame_problems(error: &FrameError) -> Vec<Problem> {
    let one = |code, subject: &str| vec![Problem::new(code, None, subject)];
    let two = |code, subject: String, other: String| vec![Problem::new(code, None, subject).against(other)];
    match error {
        FrameError::Missing { landmarks } => landmarks
            .iter()
            .map(|landmark| Problem::new(problem::PLACE_LANDMARK, landmark.side(), landmark.id()))
            .collect(),
        FrameError::NotFinite { landmark } => one(problem::FRAME_UNUSABLE, landmark.id()),
        FrameError::Coincident { one, other } => {
            two(problem::POINTS_COINCIDE, one.id().into(), other.id().into())
        }
        FrameError::Swapped { right, left } => {
            two(problem::SIDES_SWAPPED, right.id().into(), left.id().into())
        }
        FrameError::AllSwapped => one(problem::ALL_SIDES_SWAPPED, ""),
        FrameError::WrongOrder { first, second } => {
            two(problem::POINTS_OUT_OF_ORDER, first.id().into(), second.id().into())
        }
        FrameError::NoScale => one(problem::SCALE_MISSING, ""),
        FrameError::BadScale { kind } => one(problem::SCALE_ZERO, &kind.id()),
        FrameError::ContradictoryScales { one, other, ratio } => {
            vec![
                Problem::new(problem::SCALE_CONTRADICTS, None, one.id())
                    .against(other.id())
                    .with("residual_pct", 100.0 * (ratio.max(1.0 / ratio) - 1.0)),
            ]
        }
        FrameError::BadSetting => one(problem::FRAME_UNUSABLE, ""),
    }
}

/// The refusal of an edit that needs the frame. Subject: the first landmark or number that stands in the way.
pub fn frame_first(error: &FrameError) -> PlanError {
    let found = frame_problems(error).into_iter().next();
    // Without any scale the ruler is what to reach for: it is the best source and the easiest to come by.
    let (subject, other) = found.map_or_else(Default::default, |found| match found.subject.is_empty() {
        true => (field::RULER.id.to_owned(), found.other),
        false => (found.subject, found.other),
    });
    PlanError::refused(refused::FRAME_FIRST, subject).against(other)
}

/// The geometry's numbers of an outline.
///
/// # Errors
/// `missing_param`.
pub fn params(outline: &Outline) -> Result<OutlineParams, PlanError> {
    let mut params = OutlineParams::natural_median();
    for info in &Param::ALL {
        let value =
            outline.0.get(info.id).ok_or_else(|| PlanError::refused(refused::MISSING_PARAM, info.id))?;
        params = params.with(info.param, *value);
    }
    Ok(params)
}

/// The document's numbers of an outline.
pub fn outline(params: &OutlineParams) -> Outline {
    Outline(Param::ALL.iter().map(|info| (info.id.to_owned(), params.get(info.param))).collect())
}

/// Numbers that make no outline.
pub fn outline_error(error: &OutlineError) -> PlanError {
    PlanError::refused(refused::OUTLINE_INVALID, error.param.info().id)
        .against(error.fault.code())
        .with("value", error.value)
}

/// A line that is no edge of a brow.
pub fn contour_error(side: Side, error: &ContourError) -> PlanError {
    #[expect(clippy::cast_precision_loss, reason = "a count, shown")]
    match *error {
        ContourError::TooFewPoints { .. } => PlanError::refused(refused::TRACE_TOO_SHORT, side.name()),
        ContourError::TooManyPoints { count } => PlanError::refused(refused::TOO_MANY_POINTS, side.name())
            .with("count", count as f64)
            .with("limit", field::STROKE_POINTS as f64),
        ContourError::NotFinite { .. } => PlanError::refused(refused::NOT_FINITE, side.name()),
        ContourError::TooLarge { .. } => PlanError::refused(refused::TRACE_TOO_LARGE, side.name()),
        ContourError::TooSmall { area_mm2 } => {
            PlanError::refused(refused::TRACE_TOO_SMALL, side.name()).with("area_mm2", area_mm2)
        }
        ContourError::SelfCrossing { at } => PlanError::refused(refused::TRACE_CROSSES_ITSELF, side.name())
            .with("out_mm", at.x)
            .with("up_mm", at.y),
        ContourError::CrossesCentreLine { .. } => {
            PlanError::refused(refused::TRACE_CROSSES_CENTRE, side.name())
        }
        ContourError::NotClosed { gap_mm } => {
            PlanError::refused(refused::TRACE_NOT_CLOSED, side.name()).with("gap_mm", gap_mm)
        }
    }
}

/// The geometry's caliper numbers.
pub const fn caliper_numbers(calipers: &BrowCalipers) -> CaliperNumbers {
    CaliperNumbers {
        front_out: calipers.front_out_mm,
        bulb_bottom: calipers.bulb_bottom_mm,
        bulb_top: calipers.bulb_top_mm,
        arch_out: calipers.arch_out_mm,
        arch_top: calipers.arch_top_mm,
        arch_thickness: calipers.arch_thickness_mm,
        tail_out: calipers.tail_out_mm,
        tail_up: calipers.tail_up_mm,
        tail_thickness: calipers.tail_thickness_mm,
    }
}

/// Caliper numbers that make no brow. Subjects are the fields of [`BrowCalipers`].
pub fn caliper_error(error: &CaliperError) -> PlanError {
    let field = |name: &str| short(&format!("calipers.{name}_mm"));
    match error {
        CaliperError::OutOfRange { field: name, low, high } => {
            PlanError::refused(refused::OUT_OF_RANGE, field(name)).with("min", *low).with("max", *high)
        }
        CaliperError::Contradiction { field: name, other, margin } => {
            PlanError::refused(refused::CALIPERS_CONTRADICT, field(name))
                .against(field(other))
                .with("margin_mm", *margin)
        }
        CaliperError::NoSuchOutline => PlanError::refused(refused::CALIPERS_IMPOSSIBLE, ""),
    }
}
