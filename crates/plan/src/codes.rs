//! Every stable code that the page has a text for, with the names of the values in that text.
//!
//! A code is written once, here; the rest of the crate names the constant, so the tables cannot fall behind.

/// A code of the catalogue and the numbers that its text may use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Code {
    /// The stable code.
    pub code: &'static str,
    /// Names of the values that always come with it.
    pub values: &'static [&'static str],
}

macro_rules! codes {
    ($(#[$doc:meta])* $table:ident: $($(#[$each:meta])* $name:ident = $code:literal [$($value:literal),*];)*) => {
        $($(#[$each])* pub const $name: Code = Code { code: $code, values: &[$($value),*] };)*
        $(#[$doc])*
        pub const $table: &[Code] = &[$($name),*];
    };
}

/// Why an edit or a file was refused; catalogue key `refused.CODE`.
pub mod refused {
    use super::Code;

    codes! {
        /// Every refusal.
        ALL:
        /// The file is larger than this build reads.
        TOO_LARGE = "too_large" ["size_mb", "limit_mb"];
        /// Not JSON, or not the format of a plan.
        NOT_A_PLAN = "not_a_plan" [];
        /// Written by a newer version.
        NEWER_VERSION = "newer_version" ["version", "newest"];
        /// A plan by its head, yet its fields cannot be read.
        UNREADABLE = "unreadable" ["line", "column"];
        /// An edit that cannot be read.
        EDIT_UNREADABLE = "edit_unreadable" ["line", "column"];
        /// NaN or infinite.
        NOT_FINITE = "not_finite" [];
        /// A number outside its range.
        OUT_OF_RANGE = "out_of_range" ["value", "min", "max"];
        /// A text longer than its field.
        TEXT_TOO_LONG = "text_too_long" ["length", "limit"];
        /// A date that is neither empty nor `YYYY-MM-DD`.
        BAD_DATE = "bad_date" [];
        /// No landmark has this id.
        UNKNOWN_LANDMARK = "unknown_landmark" [];
        /// No outline parameter has this id.
        UNKNOWN_PARAM = "unknown_param" [];
        /// No handle has this id.
        UNKNOWN_HANDLE = "unknown_handle" [];
        /// An outline that lacks a parameter.
        MISSING_PARAM = "missing_param" [];
        /// More points than a trace may have.
        TOO_MANY_POINTS = "too_many_points" ["count", "limit"];
        /// More caliper distances than a plan holds.
        TOO_MANY_CALIPERS = "too_many_calipers" ["count", "limit"];
        /// More edits at once, or nested deeper, than is sensible.
        TOO_MANY_EDITS = "too_many_edits" ["limit"];
        /// A caliper distance from a landmark to itself, or the same pair twice.
        SAME_LANDMARK = "same_landmark" [];
        /// A landmark beside the photo.
        OUTSIDE_PHOTO = "outside_photo" [];
        /// More variants than a plan keeps.
        TOO_MANY_VARIANTS = "too_many_variants" ["limit"];
        /// No variant has this name.
        UNKNOWN_VARIANT = "unknown_variant" [];
        /// More agreements than a plan keeps.
        TOO_MANY_AGREEMENTS = "too_many_agreements" ["limit"];
        /// A moment that is not `YYYY-MM-DDThh:mm:ss+hh:mm`.
        BAD_MOMENT = "bad_moment" [];
        /// Nobody is named who agrees.
        INITIALS_FIRST = "initials_first" [];
        /// A dot or a slip in place of a signature.
        SIGNATURE_TOO_SHORT = "signature_too_short" [];
        /// More strokes than a signature has.
        SIGNATURE_TOO_LONG = "signature_too_long" [];
        /// A question that nobody asks.
        UNKNOWN_CAUTION = "unknown_caution" [];
        /// Another variant has this name.
        NAME_TAKEN = "name_taken" [];
        /// A name of nothing but blanks.
        NAME_EMPTY = "name_empty" [];
        /// The name of a photo's pixels is too long, or has other signs than letters, digits and hyphens.
        PHOTO_KEY = "photo_key" [];
        /// Needs a photo first.
        PHOTO_FIRST = "photo_first" [];
        /// Needs the landmarks that make a frame first; the subject names what is missing.
        FRAME_FIRST = "frame_first" [];
        /// Needs the natural brow of this side first.
        NATURAL_FIRST = "natural_first" [];
        /// Needs a trace of this side first, to redraw a stretch of it.
        TRACE_FIRST = "trace_first" [];
        /// Needs the natural brow of this side as an outline first, to pull a handle of it.
        SHAPE_FIRST = "shape_first" [];
        /// Needs the planned outline of this side first.
        PLANNED_FIRST = "planned_first" [];
        /// A trace of too few points, or one that encloses nothing.
        TRACE_TOO_SHORT = "trace_too_short" [];
        /// A trace that crosses itself, at `out_mm`, `up_mm`.
        TRACE_CROSSES_ITSELF = "trace_crosses_itself" ["out_mm", "up_mm"];
        /// A trace that crosses the centre line.
        TRACE_CROSSES_CENTRE = "trace_crosses_centre" [];
        /// A trace far smaller than a brow.
        TRACE_TOO_SMALL = "trace_too_small" ["area_mm2"];
        /// A trace far larger than a face.
        TRACE_TOO_LARGE = "trace_too_large" [];
        /// A trace whose ends lie too far apart.
        TRACE_NOT_CLOSED = "trace_not_closed" ["gap_mm"];
        /// A caliper number that must exceed another (`other`) by at least `margin_mm`; the subject names it.
        CALIPERS_CONTRADICT = "calipers_contradict" ["margin_mm"];
        /// Caliper numbers each possible, yet no brow has them all.
        CALIPERS_IMPOSSIBLE = "calipers_impossible" [];
        /// Numbers that make no outline (it would cross itself); the subject names the parameter to look at first.
        OUTLINE_INVALID = "outline_invalid" ["value"];
        /// A natural brow that no outline fits.
        NO_FIT = "no_fit" [];
        /// A parameter or guide named twice in one list; the subject names it.
        NAMED_TWICE = "named_twice" [];
        /// Nothing may move, so there is nothing to balance.
        EVERYTHING_LOCKED = "everything_locked" [];
        /// No pair of outlines keeps all limits and locks; the subject is the side with the larger excess.
        LIMITS_CONTRADICT = "limits_contradict" ["removed_excess_mm2", "added_excess_mm2"];
        /// A pull towards a guide that cannot be drawn yet; the subject names the landmark to place.
        PULL_GUIDE_MISSING = "pull_guide_missing" [];
        /// No pose has this id, or it is the one that every plan is measured in.
        UNKNOWN_POSE = "unknown_pose" [];
        /// Needs this pose recorded, and usable, first; the subject names it.
        POSE_FIRST = "pose_first" [];
        /// A pose that would move a brow farther than any face does; the subject is the place.
        POSE_TOO_FAR = "pose_too_far" ["lift_mm", "limit_mm"];
        /// The planned outlines are no place to start from.
        NO_START = "no_start" [];
    }
}

/// What the artist can mend; catalogue key `problem.CODE`.
pub mod problem {
    use super::Code;

    codes! {
        /// Every problem.
        ALL:
        /// A landmark that the frame needs; the subject names it.
        PLACE_LANDMARK = "place_landmark" [];
        /// Two landmarks, `subject` and `other`, at the same place.
        POINTS_COINCIDE = "points_coincide" [];
        /// Right and left landmarks (`subject` and `other`) on the wrong sides.
        SIDES_SWAPPED = "sides_swapped" [];
        /// Every pair on the wrong sides: the mirrored switch is probably wrong.
        ALL_SIDES_SWAPPED = "all_sides_swapped" [];
        /// `subject` must lie nearer the centre line (or, on the bridge, higher) than `other`.
        POINTS_OUT_OF_ORDER = "points_out_of_order" [];
        /// No ruler, no caliper distance, no iris: no scale.
        SCALE_MISSING = "scale_missing" [];
        /// A scale source of no length; the subject names it.
        SCALE_ZERO = "scale_zero" [];
        /// Scale sources `subject` and `other` that cannot both be right.
        SCALE_CONTRADICTS = "scale_contradicts" ["residual_pct"];
        /// The landmarks make no usable frame for another reason.
        FRAME_UNUSABLE = "frame_unusable" [];
        /// No natural brow on this side yet.
        NATURAL_MISSING = "natural_missing" [];
        /// The natural brow cannot be used; the subject is the code of the refusal.
        NATURAL_UNUSABLE = "natural_unusable" [];
        /// No planned outline on this side yet.
        PLANNED_MISSING = "planned_missing" [];
        /// The planned outline cannot be drawn; the subject names the parameter.
        PLANNED_INVALID = "planned_invalid" [];
        /// A pose by photo where the plan itself has no photo with its points; the subject is the pose.
        POSE_NO_BASELINE = "pose_no_baseline" [];
        /// Too few points of a pose's photo lie on the plan's photo as well.
        POSE_TOO_FEW_POINTS = "pose_too_few_points" ["have_count", "needed_count"];
        /// The points of a pose's photo lie on one spot.
        POSE_POINTS_UNUSABLE = "pose_points_unusable" [];
        /// A pose's photo fits only as in a mirror.
        POSE_MIRRORED = "pose_mirrored" [];
        /// The points of a pose's photo would move a brow farther than any face does; the subject is the place.
        POSE_TOO_FAR = "pose_too_far" ["lift_mm", "limit_mm"];
        /// A pose's photo does not fit this face.
        POSE_OTHER_FACE = "pose_other_face" ["rms_mm"];
        /// A landmark that a guide or check of this side needs; the subject names it.
        GUIDE_LANDMARK = "guide_landmark" [];
    }
}

/// A check with the levels it can take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CheckCode {
    /// The id and the names of its values.
    pub code: Code,
    /// Levels it can take; catalogue key `check.ID.LEVEL` for each.
    pub levels: &'static [crate::Level],
    /// True where there is one for each side.
    pub per_side: bool,
}

/// The checks of a plan.
pub mod check {
    use super::{CheckCode, Code};
    use crate::Level::{Note, Ok, Warn};

    macro_rules! checks {
        ($($(#[$each:meta])* $name:ident = $id:literal [$($value:literal),*] $levels:expr, $per_side:literal;)*) => {
            $($(#[$each])* pub const $name: CheckCode = CheckCode {
                code: Code { code: $id, values: &[$($value),*] }, levels: &$levels, per_side: $per_side,
            };)*
            /// Every check, in the order of the report.
            pub const ALL: &[CheckCode] = &[$($name),*];
        };
    }

    checks! {
        /// Both fronts equally far from the centre line.
        FRONTS_EQUAL = "fronts_equal" ["difference_mm", "ci95_mm", "limit_mm"] [Ok, Note, Warn], false;
        /// Top of bulb to top of arch equal on both sides.
        FRONT_TO_ARCH_EQUAL = "front_to_arch_equal" ["difference_mm", "ci95_mm", "limit_mm"] [Ok, Note, Warn], false;
        /// Top of bulb to end point equal on both sides.
        FRONT_TO_TAIL_EQUAL = "front_to_tail_equal" ["difference_mm", "ci95_mm", "limit_mm"] [Ok, Note, Warn], false;
        /// The planned pair is no more uneven than the natural one.
        MORE_EVEN = "more_even" ["natural_mm", "planned_mm"] [Ok, Note, Warn], false;
        /// Natural brow removed within the limit.
        REMOVED_WITHIN = "removed_within" ["removed_pct", "ci95_pct", "limit_pct"] [Ok, Warn], true;
        /// Skin added within the limit.
        ADDED_WITHIN = "added_within" ["added_pct", "ci95_pct", "limit_pct"] [Ok, Warn], true;
        /// No removed strip so wide that its regrowth reads as a second brow line.
        STRIP_WIDTH = "strip_width" ["widest_mm", "limit_mm"] [Ok, Warn], true;
        /// Bulb and arch no thinner than the limit.
        THICKNESS = "thickness" ["thickness_mm", "limit_mm"] [Ok, Warn], true;
        /// End point near the line from nostril corner through outer eye corner.
        TAIL_ON_LINE = "tail_on_line" ["off_mm", "limit_mm"] [Ok, Note], true;
        /// Arch near the chosen candidate.
        ARCH_NEAR = "arch_near" ["off_mm", "arch_mm", "candidate_mm", "limit_mm"] [Ok, Note], true;
        /// The planned pair is not yet so even that the measuring error hides the rest.
        BALANCE_NOISE = "balance_noise" ["planned_mm", "error_mm"] [Ok, Note], false;
        /// Head straight towards the camera, by the spread of the centre-line midpoints.
        HEAD_STRAIGHT = "head_straight" ["spread_mm", "limit_mm"] [Ok, Note, Warn], false;
        /// Eye line and bridge line agree about level.
        ROLL_SOURCES = "roll_sources" ["difference_deg", "limit_deg"] [Ok, Note, Warn], false;
        /// The scale does not rest on the iris alone.
        SCALE_SOURCE = "scale_source" ["ci95_pct"] [Ok, Note], false;
        /// The scale sources agree within their errors.
        SCALE_SOURCES_AGREE = "scale_sources_agree" ["residual_pct"] [Ok, Warn], false;
    }
}
