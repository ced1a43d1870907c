//! The plan: one small immutable document, the only source of truth.
//!
//! Millimetres and degrees with unit suffixes, photo pixels only where the name ends in `_px`. Nothing derived is
//! stored: frame, outlines, areas and checks are computed from this each time.

use counterpoise_geometry::{PerSide, Side, SortedMap};
use serde::{Deserialize, Serialize};

use crate::agreement::Agreement;
use crate::cautions::Cautions;
use crate::notation::Read;
use crate::poses::PoseRecord;
use crate::touch_up::TouchUp;
use crate::variants::Variant;
use crate::wishes::ClientLimits;

/// The value of [`Plan::format`].
pub const FORMAT: &str = "counterpoise-plan";
/// The newest plan version this build reads and the one it writes.
pub const VERSION: u32 = 1;

/// Everything there is to know of one client's brow mapping, without the photo itself.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Plan {
    /// Always [`FORMAT`].
    pub format: String,
    /// The version of this document, 1 or more.
    pub version: u32,
    /// Whose plan it is, in the artist's words.
    #[serde(default)]
    pub case: Case,
    /// The photo it was measured on; `None` in no-photo mode.
    #[serde(default)]
    pub photo: Option<Photo>,
    /// Landmarks placed so far, by the id of `Landmark`.
    #[serde(default)]
    pub landmarks: SortedMap<String, PointPx>,
    /// How roll and scale are taken from the landmarks.
    #[serde(default)]
    pub frame: FrameSettings,
    /// What is assumed of the measuring errors.
    #[serde(default)]
    pub noise: Noise,
    /// The natural brows as measured; `None` until traced or typed.
    #[serde(default)]
    pub natural: PerSide<Option<NaturalBrow>>,
    /// The planned outlines; `None` until started.
    #[serde(default)]
    pub planned: PerSide<Option<Outline>>,
    /// Settings of the guides.
    #[serde(default)]
    pub guides: Guides,
    /// What may be removed and added, and other limits that the checks use.
    #[serde(default)]
    pub limits: Limits,
    /// The artist's rules for balancing the pair.
    #[serde(default)]
    pub balance: Balance,
    /// How far the client may change the pair.
    #[serde(default, skip_serializing_if = "ClientLimits::are_untouched")]
    pub client: ClientLimits,
    /// What was asked before anything is agreed.
    #[serde(default, skip_serializing_if = "Cautions::are_untouched")]
    pub cautions: Cautions,
    /// Aftercare and upkeep in the artist's words, for the sheet, at most 1,000 characters: which hair to remove and how often.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub upkeep: String,
    /// Pairs kept by name, in the order in which they are shown.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub variants: Vec<Variant>,
    /// What the client agreed to, the latest last.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub agreements: Vec<Agreement>,
    /// The healed pair, weeks later.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub touch_up: Option<TouchUp>,
    /// The brows in other poses, by the id of the pose.
    #[serde(default, skip_serializing_if = "SortedMap::is_empty")]
    pub poses: SortedMap<String, PoseRecord>,
}

impl Default for Plan {
    fn default() -> Self {
        Plan {
            format: FORMAT.into(),
            version: VERSION,
            case: Case::default(),
            photo: None,
            landmarks: SortedMap::new(),
            frame: FrameSettings::default(),
            noise: Noise::default(),
            natural: PerSide::default(),
            planned: PerSide::default(),
            guides: Guides::default(),
            limits: Limits::default(),
            balance: Balance::default(),
            client: ClientLimits::default(),
            cautions: Cautions::default(),
            upkeep: String::new(),
            variants: Vec::new(),
            agreements: Vec::new(),
            touch_up: None,
            poses: SortedMap::new(),
        }
    }
}

/// Whose plan it is. A pseudonym is enough.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields, default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Case {
    /// A short label, at most 120 characters.
    pub label: String,
    /// Free notes, at most 4,000 characters.
    pub note: String,
    /// The day of the measuring as `YYYY-MM-DD`, or empty.
    pub date: String,
}

/// What the plan knows of the photo. The pixels travel beside it, never inside.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Photo {
    /// Width after EXIF orientation, px, of the working copy that all `_px` values refer to.
    pub width_px: u32,
    /// Height after EXIF orientation, px.
    pub height_px: u32,
    /// True where the file shows her as in a mirror (a selfie): the client's right is then on the picture's right.
    #[serde(default)]
    pub mirrored: bool,
}

/// A point of the photo: px after EXIF orientation, x right, y down.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PointPx {
    /// px from the left edge.
    pub x_px: f64,
    /// px from the top edge.
    pub y_px: f64,
}

/// How roll and scale are taken from the landmarks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields, default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FrameSettings {
    /// Which line is called level.
    pub roll_from: RollFrom,
    /// Turned by hand on top of that, degrees; positive raises the client's left side. −15 to 15.
    pub roll_nudge_deg: f64,
    /// Length of the ruler or sticker between `ruler_start` and `ruler_end`, mm; `None` without one.
    pub ruler_mm: Option<f64>,
    /// Distances taken with calipers between two landmarks; at most 12.
    pub calipers: Vec<CaliperDistance>,
    /// Whether the iris width may help (the weakest source).
    pub use_iris: bool,
}

impl Default for FrameSettings {
    fn default() -> Self {
        FrameSettings {
            roll_from: RollFrom::Eyes,
            roll_nudge_deg: 0.0,
            ruler_mm: None,
            calipers: Vec::new(),
            use_iris: true,
        }
    }
}

/// Which line is called level.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, Read)]
#[serde(rename_all = "lowercase")]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum RollFrom {
    /// The weighted mean direction of pupils, inner and outer corners.
    #[default]
    Eyes,
    /// The bridge line, upright: for eyes that sit unevenly.
    Bridge,
}

/// A caliper distance between two landmarks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CaliperDistance {
    /// Landmark id.
    pub from: String,
    /// Landmark id.
    pub to: String,
    /// Distance, mm; 3 to 250.
    pub mm: f64,
}

/// One standard deviation of each measuring error.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields, default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Noise {
    /// Placing a landmark, mm in each direction; 0.05 to 3.
    pub landmark_mm: f64,
    /// Tracing the edge of the hair, mm; 0.05 to 3.
    pub edge_mm: f64,
    /// Reading a caliper or ruler, mm; 0.05 to 3.
    pub caliper_mm: f64,
    /// Head turned away from the camera, degrees; 0 to 10.
    pub yaw_deg: f64,
}

impl Default for Noise {
    fn default() -> Self {
        // 0.3 mm is the design's default; 0.25 mm the hair-edge uncertainty measured on real outlines; 0.5 mm the
        // "good" caliper repeat (from memory); 1 degree is a careful frontal photo.
        Noise { landmark_mm: 0.3, edge_mm: 0.25, caliper_mm: 0.5, yaw_deg: 1.0 }
    }
}

/// A natural brow, as it was measured.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(tag = "by", rename_all = "lowercase", deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum NaturalBrow {
    /// A closed line drawn around the hair on the photo.
    Trace {
        /// `[x, y]` px; at most 2,000 points; the last joins the first.
        points_px: Vec<[f64; 2]>,
    },
    /// An outline pulled into shape over the hair. Fixed to the photo by the frame it was drawn in.
    Shape {
        /// The outline, mm.
        outline: Outline,
        /// The frame it was drawn in; `None` in no-photo mode.
        at: Option<FrameStamp>,
    },
    /// Numbers taken with calipers; mm.
    Calipers(BrowCalipers),
}

/// A face frame pinned down in photo pixels, so that a shape stays on the hair when landmarks move later.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FrameStamp {
    /// The six numbers `[a, b, c, d, e, f]` of the affine map from the face frame (mm) to the photo (px):
    /// `x_px = a x + c y + e`, `y_px = b x + d y + f`.
    pub image_from_face: [f64; 6],
}

/// Caliper numbers of one natural brow: mm, distances outward from the centre line, heights above the inner eye
/// corners.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BrowCalipers {
    /// Centre line to the front.
    pub front_out_mm: f64,
    /// Height of the bottom of the bulb.
    pub bulb_bottom_mm: f64,
    /// Height of the top of the bulb.
    pub bulb_top_mm: f64,
    /// Centre line to the arch.
    pub arch_out_mm: f64,
    /// Height of the top of the arch.
    pub arch_top_mm: f64,
    /// Thickness at the arch.
    pub arch_thickness_mm: f64,
    /// Centre line to the end point.
    pub tail_out_mm: f64,
    /// Height of the end point.
    pub tail_up_mm: f64,
    /// Thickness just before the end.
    #[serde(default = "default_tail_thickness")]
    pub tail_thickness_mm: f64,
}

pub(crate) const fn default_tail_thickness() -> f64 {
    // Median tip of 165 natural brows, rounded (model study, Face Research Lab London Set, CC BY 4.0).
    3.0
}

/// The numbers of an outline by the id of `Param`. Every parameter is written; on reading all must be there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(transparent)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Outline(pub SortedMap<String, f64>);

/// Settings of the guides.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields, default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Guides {
    /// Centre line to the measured arch candidate, mm; common practice, no source; a guide only. 30 to 60.
    pub arch_measure_mm: f64,
    /// Which candidate the arch is checked against.
    pub arch: ArchGuide,
}

impl Default for Guides {
    fn default() -> Self {
        Guides { arch_measure_mm: 45.0, arch: ArchGuide::Natural }
    }
}

/// The three arch candidates.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, Read)]
#[serde(rename_all = "lowercase")]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum ArchGuide {
    /// The 45 mm measure.
    Measure,
    /// The highest point of the natural brow.
    #[default]
    Natural,
    /// The corner of the brow bone.
    Bone,
}

/// What may be removed and added per side, and the limits of the checks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields, default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Limits {
    /// Natural brow that may be removed per side, % of its area; 0 to 100.
    pub removed_pct: f64,
    /// The same in mm²; the tighter of the two binds. `None`: per cent alone. 0 to 2,000.
    pub removed_mm2: Option<f64>,
    /// Skin that may be added per side, % of the natural area; 0 to 300.
    pub added_pct: f64,
    /// The same in mm²; the tighter of the two binds. `None`: per cent alone. 0 to 2,000.
    pub added_mm2: Option<f64>,
    /// Least thickness of bulb and arch, mm.
    pub min_thickness_mm: f64,
    /// Widest strip of removed hair before regrowth may read as a second brow line, mm (common practice, no source).
    pub strip_mm: f64,
    /// How far the hair edge may be off, mm: removal is counted against the natural brow shrunk by this. 0 to 1.
    pub edge_tolerance_mm: f64,
    /// How far apart distances may be and still be called equal, mm.
    pub equal_mm: f64,
}

impl Default for Limits {
    fn default() -> Self {
        Limits {
            removed_pct: 5.0,
            removed_mm2: None,
            added_pct: 25.0,
            added_mm2: None,
            min_thickness_mm: 2.0,
            strip_mm: 1.5,
            edge_tolerance_mm: 0.25,
            equal_mm: 1.0,
        }
    }
}

impl Limits {
    /// How much natural brow may be removed where it has this area, mm²: % of its area, the tighter limit.
    #[must_use]
    pub fn removed_pct_of(&self, natural_mm2: f64) -> f64 {
        tighter_pct(self.removed_pct, self.removed_mm2, natural_mm2)
    }

    /// How much skin may be added where the natural brow has this area, mm²: % of that area, the tighter limit.
    #[must_use]
    pub fn added_pct_of(&self, natural_mm2: f64) -> f64 {
        tighter_pct(self.added_pct, self.added_mm2, natural_mm2)
    }
}

fn tighter_pct(pct: f64, mm2: Option<f64>, natural_mm2: f64) -> f64 {
    mm2.map_or(pct, |mm2| pct.min(100.0 * mm2 / natural_mm2))
}

/// The artist's rules for balancing the pair.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields, default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Balance {
    /// Rules for each side.
    pub sides: PerSide<SideBalance>,
    /// What to prefer where both even the pair.
    pub prefer: Prefer,
    /// How much evenness of relaxed brows counts against evenness with open eyes: 0 not at all, 1 alone. Without a recorded
    /// pose of relaxed brows it does nothing.
    #[serde(skip_serializing_if = "is_nothing")]
    pub relaxed_weight: f64,
}

#[allow(
    clippy::trivially_copy_pass_by_ref,
    reason = "the signature that serde asks for; small on 64 bits only"
)]
fn is_nothing(number: &f64) -> bool {
    *number == 0.0
}

/// The rules for one side.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields, default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SideBalance {
    /// "Leave this brow": nothing of its outline moves.
    pub locked: bool,
    /// Ids of outline parameters that stay as they are, each at most once.
    pub locked_params: Vec<String>,
    /// How far bulb, arch and tail end may be lifted above the natural brow, mm; 0 to 15.
    pub lift_mm: f64,
    /// How far they may be lowered, mm; 0 to 15.
    pub lower_mm: f64,
    /// Guides that draw the outline towards them, each at most once.
    pub pulls: Vec<Pull>,
}

impl Default for SideBalance {
    fn default() -> Self {
        // 3 mm is the bound of the model study on the Face Research Lab London Set, CC BY 4.0: beyond it the client
        // would not know her own brow (judgement).
        SideBalance {
            locked: false,
            locked_params: Vec::new(),
            lift_mm: 3.0,
            lower_mm: 3.0,
            pulls: Vec::new(),
        }
    }
}

/// A wish to be near a guide.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Pull {
    /// Which guide.
    pub guide: PullTo,
    /// 0 does nothing; at 1 a millimetre off the guide counts like a millimetre of unevenness everywhere. 0 to 10.
    pub weight: f64,
}

/// A guide that the balance can be drawn to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, Read)]
#[serde(rename_all = "lowercase")]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum PullTo {
    /// The front's bottom corner to the vertical through the nostril corner.
    Front,
    /// The end of the tail to the line from nostril corner through outer eye corner.
    End,
    /// The arch to the chosen candidate; see [`Guides::arch`].
    Arch,
}

impl PullTo {
    /// Every guide that can pull.
    pub const ALL: [PullTo; 3] = [PullTo::Front, PullTo::End, PullTo::Arch];

    /// The name in files and messages.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            PullTo::Front => "front",
            PullTo::End => "end",
            PullTo::Arch => "arch",
        }
    }
}

/// What to prefer where both even the pair.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, Read)]
#[serde(rename_all = "lowercase")]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum Prefer {
    /// Neither: evenness alone.
    #[default]
    Even,
    /// Adding skin to removing hair.
    Filling,
    /// Removing hair to adding skin.
    Trimming,
}

/// Convenience for the two sides of a plan.
impl Plan {
    /// True where nothing has been entered yet on either side.
    #[must_use]
    pub fn is_blank(&self) -> bool {
        self.photo.is_none()
            && self.landmarks.is_empty()
            && Side::BOTH
                .iter()
                .all(|&side| self.natural.get(side).is_none() && self.planned.get(side).is_none())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_way_of_measuring_is_read_as_it_was_written() {
        let stamp = FrameStamp { image_from_face: [1.0, 0.0, 0.0, -1.0, 2.0, 3.0] };
        let outline = Outline([("arch_y".to_owned(), 27.0)].into());
        let calipers = BrowCalipers {
            front_out_mm: 13.5,
            bulb_bottom_mm: 15.5,
            bulb_top_mm: 21.5,
            arch_out_mm: 38.5,
            arch_top_mm: 27.0,
            arch_thickness_mm: 7.5,
            tail_out_mm: 55.5,
            tail_up_mm: 15.5,
            tail_thickness_mm: 2.5,
        };
        for brow in [
            NaturalBrow::Trace { points_px: vec![[1.0, 2.5], [3.0, 4.0]] },
            NaturalBrow::Shape { outline: outline.clone(), at: Some(stamp) },
            NaturalBrow::Shape { outline, at: None },
            NaturalBrow::Calipers(calipers),
        ] {
            let text = serde_json::to_string(&brow).unwrap();
            assert_eq!(serde_json::from_str::<NaturalBrow>(&text).unwrap(), brow, "{text}");
        }
    }

    #[test]
    fn missing_and_foreign_fields_are_refused() {
        for text in [
            r#"{}"#,
            r#"{"by": "trace"}"#,
            r#"{"by": "eye", "points_px": []}"#,
            r#"{"by": "trace", "points_px": [], "outline": {}}"#,
            r#"{"by": "trace", "points_px": [], "extra": 1}"#,
            r#"{"by": "shape", "points_px": []}"#,
            r#"{"by": "calipers", "front_out_mm": 13.0}"#,
            r#"{"by": "trace", "points_px": [[1.0]]}"#,
        ] {
            assert!(serde_json::from_str::<NaturalBrow>(text).is_err(), "{text}");
        }
    }
}
