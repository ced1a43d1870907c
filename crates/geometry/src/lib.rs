//! Brow geometry in millimetres.
//!
//! # Frames
//! - **image**: photo pixels after EXIF orientation, x right, y down ([`ImagePoint`]). Only `face_frame` touches it.
//! - **face**: mm; x towards the client's left, y up; the origin is where the centre line meets the line through the
//!   two inner eye corners.
//! - **side**: mm; `(out, up)` with `out = |x|` measured outward from the centre line on either side. A brow is always
//!   expressed in its own side's frame, so left and right compare directly, and "mirror" is a change of side, not of
//!   numbers. A [`kurbo::Point`] in this crate is `(out, up)` unless its name says `face`.
//!
//! Angles are radians inside except where a name ends in `_deg` and for the two parameters that the artist reads in
//! degrees (see [`Param`]). A contour is counter-clockwise in `(out, up)`.

mod balance;
mod caliper_estimate;
mod caliper_numbers;
mod caliper_points;
mod cholesky;
mod contour;
mod cut;
mod erosion;
mod face_frame;
mod fit;
mod frame_covariance;
mod guides;
mod handles;
mod landmark;
mod lift;
mod measure;
mod natural_brow;
mod nearest;
mod norms;
mod order;
mod outline;
mod overlap;
mod param;
mod placed_landmarks;
mod pose;
mod region;
mod registration;
mod scale;
mod scale_sources;
mod side;
mod similarity;
mod simple;
mod sorted_map;
mod strip_width;
mod strips;
mod sweep;
mod symmetry;
mod turned_head;
mod turning;
mod uncertainty;

pub use balance::{
    AreaLimit, BalanceError, BalanceProblem, Balanced, CurvePoint, Drop, GuidePull, LIMIT_SLACK_PCT,
    NaturalSide, Preference, PullGuide, Recipe, SidePrice, SideRules, TwoStates, knee,
};
pub use caliper_numbers::{CaliperError, CaliperNumbers, contour_from_calipers, outline_from_calipers};
pub use caliper_points::CaliperPoints;
pub use cholesky::solve_spd;
pub use contour::{Contour, ContourError, MAX_COORDINATE_MM, MAX_POINTS, MIN_AREA_MM2, MIN_POINTS};
pub use face_frame::{
    ErrorModel, FRAME_ERRORS, FaceFrame, FrameError, FrameErrorTerm, FrameInput, RollSource, estimate_frame,
    image_from_side_by, side_from_image_by,
};
pub use fit::{FitError, OutlineFit, fit_outline};
pub use guides::{ArchCandidates, EndLine, GuideInput, HeightLines, SideGuides, guides};
pub use handles::{OUTLINE_HANDLES, OutlineHandle, OutlineHandleInfo, params_with_handle_at};
pub use landmark::{ImagePoint, Landmark};
pub use lift::{LiftPlace, LiftProfile, PairLift, PerPlace, PoseBrows, Split, pair_lift};
pub use measure::{MEASURE_COUNT, Measure, MeasureInfo};
pub use natural_brow::{contour_from_trace, retrace};
pub use norms::{Norm, difference_percentile, norm, percentile};
pub use order::{by_number, rising, within};
pub use outline::{OUTLINE_POINTS, Outline, OutlineError, OutlineFault};
pub use overlap::overlap_area;
pub use param::{OutlineParams, PARAM_COUNT, Param, ParamInfo, Unit};
pub use pose::{Eyes, Head, Muscles, Pose};
pub use region::{
    CountedRegions, Patch, RegionAreas, Regions, count_regions, counted_regions, eroded, patches_area,
    patches_path, regions,
};
pub use registration::{
    DIFFERENT_FACE_MM, Registration, RegistrationError, RegistrationInput, STABLE_POINTS_NEEDED, register,
    stable_landmarks,
};
pub use scale::{CaliperScale, IRIS_WIDTH_MM, IRIS_WIDTH_SD_MM, RULER_SD_MM, ScaleKind, ScaleSource};
pub use side::{PerSide, Side};
pub use similarity::{Similarity, similarity};
pub use sorted_map::SortedMap;
pub use strips::{RemovedStrip, StripPlace, strips};
pub use symmetry::{
    CONTOUR_SAMPLES, Unevenness, hausdorff, iou, mean_contour_distance, mean_contour_distance_with_roll,
    unevenness, unevenness_and_moved,
};
pub use turned_head::TurnedHead;
pub use turning::bounds_of;
pub use uncertainty::{
    Band, CI95_SD, EDGE_COMMON_SHARE, EDGE_CORRELATION_MM, Estimate, MeasuredBrow, MeasuredPair,
    depth_behind_centre_line, measure_pair,
};
