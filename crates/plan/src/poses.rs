//! What is recorded of the brows in other poses.

use counterpoise_geometry::{
    ImagePoint, Landmark, LiftPlace, PerSide, Pose, Side, SortedMap, stable_landmarks,
};
use serde::{Deserialize, Serialize};

use crate::document::{Photo, PointPx};
use crate::notation::Read;

/// The brows in one pose other than the baseline: by a photo of its own, or by heights taken with calipers. Where there is
/// a photo it counts, and the heights wait.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields, default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PoseRecord {
    /// Heights taken with calipers.
    pub heights: PerSide<Option<PoseHeights>>,
    /// The pose's own photo.
    pub photo: Option<PosePhoto>,
}

/// Heights of one brow above the line through the inner eye corners, mm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PoseHeights {
    /// Of the bottom of the bulb.
    pub front_mm: f64,
    /// Of the top of the arch.
    pub arch_mm: f64,
    /// Of the end point.
    pub tail_mm: f64,
}

/// A photo of the pose: its pixels travel beside the plan, its points are here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PosePhoto {
    /// Names the pixels among those that travel beside the plan; letters, digits and hyphens.
    #[serde(default)]
    pub key: String,
    /// Size and mirroring.
    pub photo: Photo,
    /// Its points by id ([`PosePoint::id`]), px.
    #[serde(default)]
    pub points: SortedMap<String, PointPx>,
    /// Length of the ruler or sticker between `ruler_start` and `ruler_end` on it, mm; `None` without one.
    #[serde(default)]
    pub ruler_mm: Option<f64>,
}

impl PosePhoto {
    /// Where a point is, if it was placed.
    #[must_use]
    pub fn point(&self, point: PosePoint) -> Option<ImagePoint> {
        self.points.get(&point.id()).map(|at| ImagePoint::new(at.x_px, at.y_px))
    }
}

/// A point of a pose's photo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PosePoint {
    /// A landmark, as on the plan's photo.
    Landmark(Landmark),
    /// A place of the natural brow that the muscles move.
    Brow(Side, LiftPlace),
}

impl PosePoint {
    /// What a photo of this pose is asked for, in that order: what holds still, then the brows, then a ruler, which may be
    /// left out ([`PosePoint::is_optional`]).
    #[must_use]
    pub fn of(pose: Pose) -> Vec<PosePoint> {
        let still = stable_landmarks(pose).into_iter().map(PosePoint::Landmark);
        let ruler = [Landmark::RulerStart, Landmark::RulerEnd].map(PosePoint::Landmark);
        still.chain(PosePoint::brows()).chain(ruler).collect()
    }

    /// True where a pose is none the worse without it.
    #[must_use]
    pub const fn is_optional(self) -> bool {
        matches!(self, PosePoint::Landmark(Landmark::RulerStart | Landmark::RulerEnd))
    }

    /// The name in files and messages: a landmark's own, or such as `brow_arch.right`.
    #[must_use]
    pub fn id(self) -> String {
        match self {
            PosePoint::Landmark(landmark) => landmark.id().to_owned(),
            PosePoint::Brow(side, place) => format!("brow_{}.{}", place.id(), side.name()),
        }
    }

    /// The point with this name.
    #[must_use]
    pub fn from_id(id: &str) -> Option<PosePoint> {
        let brow = PosePoint::brows().find(|point| point.id() == id);
        brow.or_else(|| Landmark::from_id(id).map(PosePoint::Landmark))
    }

    fn brows() -> impl Iterator<Item = PosePoint> {
        Side::BOTH.into_iter().flat_map(|side| LiftPlace::ALL.map(|place| PosePoint::Brow(side, place)))
    }

    /// The client's side, if it belongs to one.
    #[must_use]
    pub const fn side(self) -> Option<Side> {
        match self {
            PosePoint::Landmark(landmark) => landmark.side(),
            PosePoint::Brow(side, _) => Some(side),
        }
    }

    /// The same point on the other side; a point of the middle stays.
    #[must_use]
    pub const fn on_other_side(self) -> PosePoint {
        match self {
            PosePoint::Landmark(landmark) => PosePoint::Landmark(landmark.on_other_side()),
            PosePoint::Brow(side, place) => PosePoint::Brow(side.other(), place),
        }
    }
}
