//! The one table of every number in a plan that is not an outline parameter: unit, range, step and default.

use counterpoise_geometry::Unit;

/// What there is to know of one number of the document.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FieldInfo {
    /// Path in the document, such as `limits.removed_pct`.
    pub id: &'static str,
    /// Unit name as in `describe`.
    pub unit: &'static str,
    /// Least and greatest value accepted.
    pub range: (f64, f64),
    /// Step of the page's − and + buttons.
    pub step: f64,
    /// The start value; where the document starts empty, a usual value.
    pub default: f64,
}

const MM: &str = Unit::Mm.name();
const DEG: &str = Unit::Degree.name();
const PCT: &str = Unit::Percent.name();
const MM2: &str = Unit::Mm2.name();
const ONE: &str = Unit::One.name();
const PX: &str = "px";

macro_rules! fields {
    ($($(#[$doc:meta])* $name:ident = $id:literal $unit:ident ($min:expr, $max:expr) step $step:literal, $default:expr;)*) => {
        $($(#[$doc])* pub const $name: FieldInfo = FieldInfo {
            id: $id, unit: $unit, range: ($min, $max), step: $step, default: $default,
        };)*
        /// Every number of the document with its range.
        pub const ALL: &[FieldInfo] = &[$($name),*];
    };
}

// Ranges keep typing errors out; they are judgement, wide enough for every natural brow of this project's model
// study on the Face Research Lab London Set with room to spare, and no statement about any client.
fields! {
    /// Photo width.
    PHOTO_WIDTH = "photo.width_px" PX (16.0, 100_000.0) step 1.0, 3072.0;
    /// Photo height.
    PHOTO_HEIGHT = "photo.height_px" PX (16.0, 100_000.0) step 1.0, 3072.0;
    /// A coordinate on the photo; a trace may leave it a little.
    POINT = "point_px" PX (-100_000.0, 200_000.0) step 1.0, 0.0;
    /// Turn by hand.
    ROLL_NUDGE = "frame.roll_nudge_deg" DEG (-15.0, 15.0) step 0.1, 0.0;
    /// Ruler length.
    RULER = "frame.ruler_mm" MM (3.0, 250.0) step 0.5, 20.0;
    /// Caliper distance between two landmarks.
    CALIPER = "frame.calipers.mm" MM (3.0, 250.0) step 0.5, 60.0;
    /// Picking error.
    NOISE_LANDMARK = "noise.landmark_mm" MM (0.05, 3.0) step 0.05, 0.3;
    /// Hair-edge error.
    NOISE_EDGE = "noise.edge_mm" MM (0.05, 3.0) step 0.05, 0.25;
    /// Caliper error.
    NOISE_CALIPER = "noise.caliper_mm" MM (0.05, 3.0) step 0.05, 0.5;
    /// Head turn error.
    NOISE_YAW = "noise.yaw_deg" DEG (0.0, 10.0) step 0.5, 1.0;
    /// Measured arch candidate.
    ARCH_MEASURE = "guides.arch_measure_mm" MM (30.0, 60.0) step 0.5, 45.0;
    /// Removed per side.
    REMOVED = "limits.removed_pct" PCT (0.0, 100.0) step 1.0, 5.0;
    /// Added per side.
    ADDED = "limits.added_pct" PCT (0.0, 300.0) step 1.0, 25.0;
    /// Removed per side, as an area.
    REMOVED_MM2 = "limits.removed_mm2" MM2 (0.0, 2000.0) step 1.0, 20.0;
    /// Added per side, as an area.
    ADDED_MM2 = "limits.added_mm2" MM2 (0.0, 2000.0) step 5.0, 80.0;
    /// Least thickness.
    MIN_THICKNESS = "limits.min_thickness_mm" MM (0.5, 10.0) step 0.1, 2.0;
    /// Widest removed strip.
    STRIP = "limits.strip_mm" MM (0.1, 10.0) step 0.1, 1.5;
    /// Hair-edge tolerance.
    EDGE_TOLERANCE = "limits.edge_tolerance_mm" MM (0.0, 1.0) step 0.05, 0.25;
    /// Called equal.
    EQUAL = "limits.equal_mm" MM (0.1, 10.0) step 0.1, 1.0;
    /// How far the balance may lift.
    LIFT = "balance.lift_mm" MM (0.0, 15.0) step 0.5, 3.0;
    /// How far the balance may lower.
    LOWER = "balance.lower_mm" MM (0.0, 15.0) step 0.5, 3.0;
    /// How strongly a guide pulls.
    PULL_WEIGHT = "balance.pulls.weight" ONE (0.0, 10.0) step 0.25, 1.0;
    /// How much relaxed brows count in the balance.
    RELAXED_WEIGHT = "balance.relaxed_weight" ONE (0.0, 1.0) step 0.05, 0.0;
    /// How far a client may go: fullness.
    CLIENT_FULLNESS = "client.fullness_mm" MM (0.0, 3.0) step 0.1, 0.8;
    /// Arch.
    CLIENT_ARCH = "client.arch_mm" MM (0.0, 4.0) step 0.1, 1.0;
    /// Length.
    CLIENT_LENGTH = "client.length_mm" MM (0.0, 6.0) step 0.5, 2.0;
    /// Softness.
    CLIENT_SOFTNESS = "client.softness" ONE (0.0, 1.0) step 0.05, 0.3;
    /// Evenness.
    CLIENT_EVENNESS = "client.evenness" ONE (0.0, 1.0) step 0.1, 1.0;
    /// More hair than the artist's pair takes.
    CLIENT_HAIR = "client.hair_pct" PCT (0.0, 20.0) step 0.5, 2.0;
    /// More skin than the artist's pair adds.
    CLIENT_SKIN = "client.skin_pct" PCT (0.0, 100.0) step 1.0, 15.0;
    /// A height in another pose.
    POSE_HEIGHT = "poses.height_mm" MM (-15.0, 60.0) step 0.5, 20.0;
    /// What a printed bar of 100 mm measured.
    PRINTED_BAR = "sheet.printed_bar_mm" MM (80.0, 120.0) step 0.1, 100.0;
    /// Ruler length on a pose's photo.
    POSE_RULER = "poses.ruler_mm" MM (3.0, 250.0) step 0.5, 20.0;
    /// Natural brow by calipers: front.
    FRONT_OUT = "calipers.front_out_mm" MM (1.0, 30.0) step 0.5, 13.5;
    /// Natural brow by calipers: bottom of bulb.
    BULB_BOTTOM = "calipers.bulb_bottom_mm" MM (0.0, 35.0) step 0.5, 15.5;
    /// Natural brow by calipers: top of bulb.
    BULB_TOP = "calipers.bulb_top_mm" MM (1.0, 45.0) step 0.5, 21.5;
    /// Natural brow by calipers: arch.
    ARCH_OUT = "calipers.arch_out_mm" MM (15.0, 60.0) step 0.5, 38.5;
    /// Natural brow by calipers: top of arch.
    ARCH_TOP = "calipers.arch_top_mm" MM (5.0, 45.0) step 0.5, 27.0;
    /// Natural brow by calipers: thickness at the arch.
    ARCH_THICKNESS = "calipers.arch_thickness_mm" MM (1.5, 16.0) step 0.5, 7.5;
    /// Natural brow by calipers: end point outward.
    TAIL_OUT = "calipers.tail_out_mm" MM (30.0, 85.0) step 0.5, 55.5;
    /// Natural brow by calipers: end point upward.
    TAIL_UP = "calipers.tail_up_mm" MM (-5.0, 40.0) step 0.5, 15.5;
    /// Natural brow by calipers: thickness before the end.
    TAIL_THICKNESS = "calipers.tail_thickness_mm" MM (0.3, 8.0) step 0.1, 3.0;
}

/// Characters of `case.label`.
pub const LABEL_CHARS: usize = 120;
/// Characters of `case.note`.
pub const NOTE_CHARS: usize = 4_000;
/// Points of a stored trace.
pub const TRACE_POINTS: usize = 2_000;
/// Points of a stroke as it comes from the pointer, before it is cleaned: two minutes of a fast pen.
pub const STROKE_POINTS: usize = 30_000;
/// Points to which a drawn trace is thinned: about one every 0.6 mm of a brow's edge, well below the hair-edge error.
pub const CLEANED_POINTS: usize = 160;
/// Characters of the words on upkeep.
pub const UPKEEP_CHARS: usize = 1_000;
/// Characters of the note on what was asked.
pub const CAUTION_CHARS: usize = 2_000;
/// Characters of the name of a variant.
pub const VARIANT_CHARS: usize = 40;
/// Agreements of a plan.
pub const AGREEMENTS: usize = 12;
/// Characters of initials.
pub const INITIAL_CHARS: usize = 12;
/// Points of a signature.
pub const SIGNATURE_POINTS: usize = 1_500;
/// Variants of a plan.
pub const VARIANTS: usize = 8;
/// Characters of the name of a photo's pixels.
pub const PHOTO_KEY: usize = 64;
/// Caliper distances of a plan.
pub const CALIPERS: usize = 12;
/// Edits in one `Many`, all levels together.
pub const EDITS: usize = 1_000;
/// Levels of `Many` in `Many`.
pub const EDIT_DEPTH: usize = 8;
/// Bytes of a plan file that is read at all.
pub const FILE_BYTES: usize = 25 * 1024 * 1024;
