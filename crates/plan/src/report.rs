//! The numbers of a plan: measures, areas, symmetry, checks, problems. Derived each time, never stored.
//!
//! No sentence is made here: texts are keys of the page's catalogue plus the numbers that go into them.

use counterpoise_geometry::{PerSide, Side, SortedMap};
use serde::Serialize;

use crate::agreement::AgreementReport;
use crate::build_touch_up::TouchUpReport;
use crate::codes::Code;
use crate::pose_report::{PoseReport, StatesReport};

/// The whole report.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Report {
    /// Roll, scale and their errors; `None` until the landmarks suffice, or without a photo.
    pub frame: Option<FrameReport>,
    /// Measures of the natural brows.
    pub natural: Vec<MeasureRow>,
    /// Measures of the planned outlines.
    pub planned: Vec<MeasureRow>,
    /// Kept, removed and added per side.
    pub areas: PerSide<Option<Areas>>,
    /// Hair to remove, strip by strip.
    pub strips: Vec<Strip>,
    /// How uneven the natural brows are; `None` unless both are there.
    pub natural_symmetry: Option<Symmetry>,
    /// How uneven the planned outlines are.
    pub planned_symmetry: Option<Symmetry>,
    /// Checks of the plan.
    pub checks: Vec<Check>,
    /// What keeps a part of the report from being made, or should be mended.
    pub problems: Vec<Problem>,
    /// The brows in other poses.
    pub poses: Vec<PoseReport>,
    /// Open eyes against relaxed brows, where both are known.
    pub states: Option<StatesReport>,
    /// How the last agreement stands to the plan.
    pub agreement: Option<AgreementReport>,
    /// What has become of the agreed pair.
    pub touch_up: Option<TouchUpReport>,
}

/// The part of the report that is shown at every frame of a drag; it is told apart because the rest takes as long again.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Glance {
    /// As in [`Report`]; so is everything here.
    pub frame: Option<FrameReport>,
    /// Kept, removed and added per side.
    pub areas: PerSide<Option<Areas>>,
    /// Hair to remove, strip by strip.
    pub strips: Vec<Strip>,
    /// How uneven the natural brows are.
    pub natural_symmetry: Option<Symmetry>,
    /// How uneven the planned outlines are.
    pub planned_symmetry: Option<Symmetry>,
    /// What keeps a part of the report from being made.
    pub problems: Vec<Problem>,
    /// How the last agreement stands to the plan.
    pub agreement: Option<AgreementReport>,
}

/// Where roll and scale come from and how far they can be trusted.
#[derive(Clone, Debug, Serialize)]
pub struct FrameReport {
    /// Roll taken out, degrees; positive where the client's left sits higher on the photo.
    pub roll_deg: f64,
    /// 1 SD of roll, degrees.
    pub roll_sd_deg: f64,
    /// Scale, px per mm.
    pub px_per_mm: f64,
    /// 1 SD of the scale, per cent.
    pub scale_sd_pct: f64,
    /// Range of the centre-line midpoints, mm: a hint of a turned head.
    pub midpoint_spread_mm: f64,
    /// Each scale source by itself.
    pub scale_sources: Vec<ScaleSourceReport>,
}

/// One scale source.
#[derive(Clone, Debug, Serialize)]
pub struct ScaleSourceReport {
    /// `ruler`, `iris`, or `caliper:FROM:TO`.
    pub id: String,
    /// Scale by this source alone, px per mm.
    pub px_per_mm: f64,
    /// 1 SD, per cent.
    pub sd_pct: f64,
    /// Its difference from the combined scale, per cent.
    pub residual_pct: f64,
}

/// A number with its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Measured {
    /// The value, in the row's unit.
    pub value: f64,
    /// Half width of the 95 % interval, in the row's unit.
    pub ci95: f64,
}

/// One measure, both sides.
#[derive(Clone, Debug, Serialize)]
pub struct MeasureRow {
    /// Measure id; see `describe`.
    pub id: String,
    /// `mm`, `mm2`, `deg` or `pct`.
    pub unit: &'static str,
    /// Client's right and left.
    pub sides: PerSide<Option<Measured>>,
    /// Percentile among adults (0-100), where norms exist.
    pub percentile: PerSide<Option<f64>>,
    /// Right − left.
    pub difference: Option<Measured>,
    /// True where the difference lies inside its own 95 % interval.
    pub within_error: bool,
    /// Band of the difference: `error`, `fine`, `seen`, `obvious` (mm rows only).
    pub band: Option<&'static str>,
}

/// Areas of one side, mm² and % of the natural area.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Areas {
    /// Area of the natural brow.
    pub natural_mm2: f64,
    /// Area of the planned outline.
    pub planned_mm2: f64,
    /// natural ∩ planned.
    pub kept_mm2: f64,
    /// natural − planned, exactly.
    pub removed_mm2: f64,
    /// planned − natural.
    pub added_mm2: f64,
    /// Removed beyond the edge tolerance: what counts against the limit.
    pub removed_counted_mm2: f64,
    /// `removed_counted_mm2` in % of the natural area.
    pub removed_pct: f64,
    /// `added_mm2` in % of the natural area.
    pub added_pct: f64,
    /// Uncertainty of the two percentages by the hair edge alone (95 %), percentage points.
    pub pct_ci95: f64,
}

/// One strip of hair to remove.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Strip {
    /// The client's side.
    pub side: Side,
    /// `above`, `front` (ahead of it), `under_front`, `under_arch` or `tail`.
    pub place: &'static str,
    /// Area, mm².
    pub area_mm2: f64,
    /// Mean width, mm.
    pub mean_width_mm: f64,
    /// Widest place, mm.
    pub widest_mm: f64,
    /// Where the widest place is, mm outward and up.
    pub at: [f64; 2],
}

/// How uneven a pair is.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Symmetry {
    /// Headline: mean mirrored contour distance, mm.
    pub mean_distance_mm: f64,
    /// 95 % half width of the headline.
    pub ci95_mm: f64,
    /// The least and the greatest headline if the roll were one degree less, as it is, or one degree more, mm.
    pub roll_band_mm: [f64; 2],
    /// Hausdorff distance, mm.
    pub hausdorff_mm: f64,
    /// 1 − intersection over union, 0 to 1.
    pub one_minus_iou: f64,
    /// `error`, `fine`, `seen` or `obvious`.
    pub band: &'static str,
    /// True where the headline is no larger than the measuring error of the pair.
    pub within_error: bool,
}

/// One check of the plan. Text: catalogue key `check.ID.LEVEL` with `values`.
#[derive(Clone, Debug, Serialize)]
pub struct Check {
    /// Which check.
    pub id: &'static str,
    /// The client's side, if it belongs to one.
    pub side: Option<Side>,
    /// The place of the widest strip (text `strip.PLACE`) for `strip_width`, else empty.
    pub subject: &'static str,
    /// How it stands.
    pub level: Level,
    /// Numbers for the sentence, mm unless the name says otherwise.
    pub values: SortedMap<&'static str, f64>,
}

/// How a check stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Level {
    /// As it should be.
    Ok,
    /// Worth knowing.
    Note,
    /// Look again before going on.
    Warn,
}

/// Something the artist can mend. Text: catalogue key `problem.CODE`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Problem {
    /// Stable code.
    pub code: &'static str,
    /// The client's side, if it belongs to one.
    pub side: Option<Side>,
    /// The id of a landmark, parameter, refusal or scale source that goes with it, or empty.
    pub subject: String,
    /// A second such id, where two things clash, or empty.
    pub other: String,
    /// Numbers for the sentence.
    pub values: SortedMap<&'static str, f64>,
}

impl Problem {
    /// A problem with a code of the table.
    #[must_use]
    pub fn new(code: Code, side: Option<Side>, subject: impl Into<String>) -> Self {
        Problem {
            code: code.code,
            side,
            subject: subject.into(),
            other: String::new(),
            values: SortedMap::new(),
        }
    }

    /// Names the second thing of a clash.
    #[must_use]
    pub fn against(mut self, other: impl Into<String>) -> Self {
        self.other = other.into();
        self
    }

    /// Adds a number for the sentence.
    #[must_use]
    pub fn with(mut self, name: &'static str, value: f64) -> Self {
        self.values.insert(name, value);
        self
    }
}
