//! What there is: every parameter, measure, landmark, handle, edit and code with its id, unit, range and step. The
//! page builds its sliders, tables and point list from this, and a test asks the catalogue for a text of each.

use counterpoise_geometry::{Landmark, LiftPlace, OUTLINE_HANDLES, Param, Pose, Side, SortedMap};
use serde::Serialize;

use crate::build_report::measure_ids;
use crate::cautions::CAUTIONS;
use crate::codes::{check, problem, refused};
use crate::touch_up::{TOUCH_UP, touch_up_points};
use crate::wishes::WISHES;
use crate::{FORMAT, Kind, Level, PosePoint, VERSION, field};

/// Everything the page needs to know of the core.
#[derive(Clone, Debug, Serialize)]
pub struct Describe {
    /// The plan file's format name.
    pub format: &'static str,
    /// The plan version that is written.
    pub version: u32,
    /// Outline parameters, in the order of the sliders; text `param.ID`.
    pub params: Vec<ParamDescription>,
    /// Measures, in the order of the report; text `measure.ID`.
    pub measures: Vec<MeasureDescription>,
    /// Landmarks, in the order in which they are asked for; text `landmark.ID`.
    pub landmarks: Vec<LandmarkDescription>,
    /// Handles of an outline; text `handle.ID`.
    pub handles: Vec<HandleDescription>,
    /// Numbers of limits, noise, guides, frame and typed calipers.
    pub fields: Vec<FieldDescription>,
    /// Tags of the edits (`do`).
    pub edits: Vec<&'static str>,
    /// Kinds of shapes in a scene; text `kind.KIND`.
    pub kinds: Vec<Kind>,
    /// Checks; text `check.ID.LEVEL`.
    pub checks: Vec<CheckDescription>,
    /// Problem codes; text `problem.CODE`.
    pub problems: Vec<CodeDescription>,
    /// Refusal codes; text `refused.CODE`.
    pub refusals: Vec<CodeDescription>,
    /// Units; text `unit.UNIT`.
    pub units: Vec<UnitDescription>,
    /// Places of a removed strip; text `strip.PLACE`.
    pub strips: Vec<&'static str>,
    /// Bands of a difference; text `band.BAND`.
    pub bands: Vec<&'static str>,
    /// Poses that can be recorded, in the order in which they are worth it; text `pose.POSE`.
    pub poses: Vec<&'static str>,
    /// Points that the photo of a pose is asked for, by pose, in that order; text `landmark.POINT`.
    pub pose_points: SortedMap<&'static str, Vec<PosePointDescription>>,
    /// What a client may move; texts `wish.WISH`, `wish.WISH.less`, `wish.WISH.more`.
    pub wishes: Vec<WishDescription>,
    /// What is asked before anything is agreed; text `caution.CAUTION`.
    pub cautions: Vec<&'static str>,
    /// Places whose lift is taken; text `lift_place.PLACE`.
    pub lift_places: Vec<&'static str>,
}

/// One wish of a client.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct WishDescription {
    /// Id.
    pub id: &'static str,
    /// Id of the field that limits it.
    pub limit: &'static str,
    /// Least value.
    pub min: f64,
    /// Greatest value.
    pub max: f64,
}

/// One point of a pose's photo.
#[derive(Clone, Debug, Serialize)]
pub struct PosePointDescription {
    /// Id.
    pub id: String,
    /// The client's side, if it belongs to one.
    pub side: Option<Side>,
    /// True where a pose is none the worse without it.
    pub optional: bool,
}

/// One outline parameter.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct ParamDescription {
    /// Id.
    pub id: &'static str,
    /// Unit id.
    pub unit: &'static str,
    /// Least value.
    pub min: f64,
    /// Greatest value.
    pub max: f64,
    /// Step of − and +.
    pub step: f64,
    /// Median natural brow.
    pub default: f64,
    /// Usual start of a planned outline.
    pub planned_start: f64,
    /// `front`, `arch`, `tail` or `fine`.
    pub group: &'static str,
}

/// One measure of the report.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct MeasureDescription {
    /// Id.
    pub id: &'static str,
    /// Unit id.
    pub unit: &'static str,
}

/// One landmark.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct LandmarkDescription {
    /// Id.
    pub id: &'static str,
    /// The client's side, or `None` on the centre line and for the ruler.
    pub side: Option<Side>,
    /// True for an extra that adds something (a scale, a guide); false for the eyes and the bridge, which everyone is
    /// asked for. The least a frame needs are both inner corners and one scale.
    pub optional: bool,
}

/// One handle of an outline.
#[derive(Clone, Debug, Serialize)]
pub struct HandleDescription {
    /// Id.
    pub id: &'static str,
    /// Parameters that it moves.
    pub params: Vec<&'static str>,
}

/// One number of the document.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct FieldDescription {
    /// Path in the document, such as `limits.removed_pct`.
    pub id: &'static str,
    /// Unit id.
    pub unit: &'static str,
    /// Least value.
    pub min: f64,
    /// Greatest value.
    pub max: f64,
    /// Step of − and +.
    pub step: f64,
    /// Start value.
    pub default: f64,
}

/// One check.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct CheckDescription {
    /// Id.
    pub id: &'static str,
    /// Levels it can take.
    pub levels: &'static [Level],
    /// True where there is one for each side.
    pub per_side: bool,
    /// Names of its values.
    pub values: &'static [&'static str],
}

/// One problem or refusal.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct CodeDescription {
    /// Code.
    pub code: &'static str,
    /// Names of its values.
    pub values: &'static [&'static str],
}

/// One unit.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct UnitDescription {
    /// Id.
    pub id: &'static str,
    /// Decimals that it is shown with.
    pub decimals: usize,
}

/// Tags of every edit, in the order of [`Edit`](crate::Edit).
pub const EDITS: &[&str] = &[
    "set_case",
    "set_photo",
    "set_mirrored",
    "place_landmark",
    "remove_landmark",
    "set_frame",
    "set_caliper",
    "remove_caliper",
    "set_noise",
    "trace_natural",
    "retrace_natural",
    "type_natural",
    "shape_natural",
    "clear_natural",
    "set_param",
    "move_handle",
    "move_natural_handle",
    "set_outlines",
    "start_from_natural",
    "start_from_mean",
    "copy_from_other",
    "clear_outline",
    "set_guides",
    "set_limits",
    "set_balance",
    "set_pose",
    "place_pose_point",
    "remove_pose_point",
    "mirror_pose",
    "set_client",
    "wish",
    "answer_caution",
    "note_cautions",
    "note_upkeep",
    "keep_variant",
    "take_variant",
    "duplicate_variant",
    "rename_variant",
    "remove_variant",
    "agree",
    "set_touch_up",
    "trace_touch_up",
    "start_touch_up_plan",
    "remove_pose",
    "many",
];

/// Units that occur.
pub const UNITS: &[&str] = &["mm", "mm2", "deg", "pct", "one", "px"];
/// Places of a strip; see [`Strip`](crate::Strip).
pub const STRIP_PLACES: &[&str] = &["above", "front", "under_front", "under_arch", "tail"];
/// Bands of a difference; see [`MeasureRow`](crate::MeasureRow).
pub const BANDS: &[&str] = &["error", "fine", "seen", "obvious"];

/// What there is.
#[must_use]
pub fn describe() -> Describe {
    let code = |code: &crate::codes::Code| CodeDescription { code: code.code, values: code.values };
    Describe {
        format: FORMAT,
        version: VERSION,
        params: Param::ALL
            .iter()
            .map(|info| ParamDescription {
                id: info.id,
                unit: info.unit.name(),
                min: info.range.0,
                max: info.range.1,
                step: info.step,
                default: info.natural_median,
                planned_start: info.planned_start,
                group: group(info.param),
            })
            .collect(),
        measures: measure_ids().map(|(id, unit)| MeasureDescription { id, unit }).collect(),
        landmarks: Landmark::ALL
            .iter()
            .map(|landmark| LandmarkDescription {
                id: landmark.id(),
                side: landmark.side(),
                optional: is_optional(*landmark),
            })
            .collect(),
        handles: OUTLINE_HANDLES
            .iter()
            .map(|handle| HandleDescription {
                id: handle.id,
                params: handle.moves.iter().map(|param| param.info().id).collect(),
            })
            .collect(),
        fields: field::ALL
            .iter()
            .map(|field| FieldDescription {
                id: field.id,
                unit: field.unit,
                min: field.range.0,
                max: field.range.1,
                step: field.step,
                default: field.default,
            })
            .collect(),
        edits: EDITS.to_vec(),
        kinds: Kind::ALL.to_vec(),
        checks: check::ALL
            .iter()
            .map(|check| CheckDescription {
                id: check.code.code,
                levels: check.levels,
                per_side: check.per_side,
                values: check.code.values,
            })
            .collect(),
        problems: problem::ALL.iter().map(code).collect(),
        refusals: refused::ALL.iter().map(code).collect(),
        units: UNITS
            .iter()
            .map(|unit| UnitDescription { id: unit, decimals: crate::shown::decimals(unit) })
            .collect(),
        strips: STRIP_PLACES.to_vec(),
        bands: BANDS.to_vec(),
        poses: Pose::OTHERS.iter().map(|pose| pose.id()).collect(),
        wishes: WISHES
            .iter()
            .map(|wish| WishDescription {
                id: wish.id,
                limit: wish.limit.id,
                min: wish.range.0,
                max: wish.range.1,
            })
            .collect(),
        cautions: CAUTIONS.to_vec(),
        pose_points: Pose::OTHERS
            .iter()
            .map(|pose| (pose.id(), described(PosePoint::of(*pose))))
            .chain([(TOUCH_UP, described(touch_up_points()))])
            .collect(),
        lift_places: LiftPlace::ALL.iter().map(|place| place.id()).collect(),
    }
}

/// Which part of the brow a parameter shapes: the page's groups of sliders.
const fn group(param: Param) -> &'static str {
    match param {
        Param::FrontX | Param::BulbY | Param::BulbT | Param::Slant | Param::Soft => "front",
        Param::ArchX | Param::ArchY | Param::ArchT | Param::Round => "arch",
        Param::TailX | Param::TailY | Param::TipT => "tail",
        Param::UpTens | Param::LowDip | Param::TailTens | Param::Under | Param::Full => "fine",
    }
}

/// The frame needs the eyes and the bridge; iris, ruler, nostrils and bone each add something.
const fn is_optional(landmark: Landmark) -> bool {
    !matches!(
        landmark,
        Landmark::Pupil(_)
            | Landmark::InnerCorner(_)
            | Landmark::OuterCorner(_)
            | Landmark::BridgeUpper
            | Landmark::BridgeLower
    )
}

fn described(points: Vec<PosePoint>) -> Vec<PosePointDescription> {
    let describe = |point: PosePoint| PosePointDescription {
        id: point.id(),
        side: point.side(),
        optional: point.is_optional(),
    };
    points.into_iter().map(describe).collect()
}
