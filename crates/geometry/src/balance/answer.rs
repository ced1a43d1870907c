//! What the balance answers.

use std::fmt;

use crate::{Outline, PerSide, Side};

/// Why a pair cannot be balanced. Nothing is changed then.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BalanceError {
    /// A limit, bound, weight or start is not a number in its range.
    OutOfRange {
        /// Which one.
        what: &'static str,
        /// The side it belongs to, if any.
        side: Option<Side>,
    },
    /// Everything is locked on both sides.
    EverythingLocked,
    /// No pair of outlines keeps the limits on this side, not even nearly.
    LimitsContradict {
        /// The side with the larger excess.
        side: Side,
        /// By how much the best outline exceeds the removed limit, mm².
        removed_excess_mm2: f64,
        /// And the added limit, mm².
        added_excess_mm2: f64,
    },
    /// The starting outlines are no outlines: fit the natural brows again.
    NoStart,
}

impl BalanceError {
    /// Stable code, the key of the page's text.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            BalanceError::OutOfRange { .. } => "balance_out_of_range",
            BalanceError::EverythingLocked => "everything_locked",
            BalanceError::LimitsContradict { .. } => "limits_contradict",
            BalanceError::NoStart => "no_start",
        }
    }
}

impl fmt::Display for BalanceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {self:?}", self.code())
    }
}

impl std::error::Error for BalanceError {}

/// What one side of a pair costs; mm², exact for the outline's polygon.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SidePrice {
    /// Area of the natural brow.
    pub natural_mm2: f64,
    /// Area of the planned outline.
    pub planned_mm2: f64,
    /// natural − planned.
    pub removed_mm2: f64,
    /// The same for the natural brow shrunk by the edge tolerance: what counts against the limit.
    pub removed_counted_mm2: f64,
    /// planned − natural.
    pub added_mm2: f64,
}

impl SidePrice {
    /// Counted removal, % of the natural area.
    #[must_use]
    pub fn removed_pct(&self) -> f64 {
        100.0 * self.removed_counted_mm2 / self.natural_mm2
    }

    /// Addition, % of the natural area.
    #[must_use]
    pub fn added_pct(&self) -> f64 {
        100.0 * self.added_mm2 / self.natural_mm2
    }
}

/// How exactly a limit is kept, % of the natural area: about 0.6 mm², the width of a hair along the brow. A plan that
/// passes its limit by less keeps it.
pub const LIMIT_SLACK_PCT: f64 = 0.2;

/// A balanced pair and its price.
#[derive(Clone, Debug, PartialEq)]
pub struct Balanced {
    /// The planned outlines; always valid.
    pub outlines: PerSide<Outline>,
    /// Mean mirrored contour distance left, mm.
    pub asymmetry_mm: f64,
    /// What it costs.
    pub prices: PerSide<SidePrice>,
    /// True where every limit is kept to [`LIMIT_SLACK_PCT`]. False where no outlines found do; `prices` then
    /// says by how much.
    pub keeps_limits: bool,
}

/// One point of the curve.
#[derive(Clone, Debug, PartialEq)]
pub struct CurvePoint {
    /// The removed limit asked for, % of the natural area, on either side.
    pub removed_limit_pct: f64,
    /// The evenest pair found within it.
    pub balanced: Balanced,
}

/// The simple recipes, for comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Recipe {
    /// This side's natural fit on both sides.
    Mirror(Side),
    /// The mean of both natural fits on both sides.
    Average,
}

impl CurvePoint {
    /// Takes the answer to tighter limits where it is evener and keeps limits no worse.
    pub(super) fn improve_by(&mut self, tighter: &CurvePoint) {
        let evener = tighter.balanced.asymmetry_mm < self.balanced.asymmetry_mm;
        if evener && (tighter.balanced.keeps_limits || !self.balanced.keeps_limits) {
            self.balanced = tighter.balanced.clone();
        }
    }
}

/// The knee of a curve: where it lies farthest below the straight line between its ends, both axes taken as shares of
/// their ranges. `None` where the curve has fewer than three points or does not fall.
#[must_use]
pub fn knee(curve: &[CurvePoint]) -> Option<usize> {
    let (first, last) = (curve.first()?, curve.last()?);
    let width = last.removed_limit_pct - first.removed_limit_pct;
    let height = first.balanced.asymmetry_mm - last.balanced.asymmetry_mm;
    if curve.len() < 3 || width <= 0.0 || height <= 0.0 {
        return None;
    }
    let below = |point: &CurvePoint| {
        let along = (point.removed_limit_pct - first.removed_limit_pct) / width;
        let fallen = (first.balanced.asymmetry_mm - point.balanced.asymmetry_mm) / height;
        fallen - along
    };
    (0..curve.len()).max_by(|&a, &b| below(&curve[a]).total_cmp(&below(&curve[b])))
}
