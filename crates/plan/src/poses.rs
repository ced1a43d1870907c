//! What is recorded of the brows in other poses.

use std::collections::BTreeMap;

use counterpoise_geometry::PerSide;
use serde::{Deserialize, Serialize};

use crate::document::{Photo, PointPx};

/// The brows in one pose other than the baseline: by a photo of its own, or by heights taken with calipers. Where there is
/// a photo it counts, and the heights wait.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PoseRecord {
    /// Heights taken with calipers.
    pub heights: PerSide<Option<PoseHeights>>,
    /// The pose's own photo.
    pub photo: Option<PosePhoto>,
}

/// Heights of one brow above the line through the inner eye corners, mm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
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
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PosePhoto {
    /// Size and mirroring.
    pub photo: Photo,
    /// Landmarks on it by id, px.
    #[serde(default)]
    pub landmarks: BTreeMap<String, PointPx>,
    /// Length of the ruler or sticker between `ruler_start` and `ruler_end` on it, mm; `None` without one.
    #[serde(default)]
    pub ruler_mm: Option<f64>,
    /// Where the brows are on it.
    #[serde(default)]
    pub brows: PerSide<Option<PosePoints>>,
}

/// Three points of one brow on the pose's photo, px.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PosePoints {
    /// The bottom of the bulb.
    pub front: PointPx,
    /// The top of the arch.
    pub arch: PointPx,
    /// The end point.
    pub tail: PointPx,
}
