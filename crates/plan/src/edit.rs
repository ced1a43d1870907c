//! The commands: the only way a plan changes.

use counterpoise_geometry::{PerSide, Side};
use serde::{Deserialize, Serialize};

use crate::document::{
    Balance, BrowCalipers, CaliperDistance, Case, FrameSettings, Guides, Limits, Noise, Outline, Photo,
};
use crate::notation::Read;
use crate::poses::{PosePhoto, PoseRecord};
use crate::touch_up::TouchUpLine;
use crate::wishes::{ClientLimits, Wishes};

/// One change of a plan. In JSON: `{"do": "place_landmark", "landmark": "pupil.right", "x_px": 10.0, "y_px": 20.0}`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(tag = "do", rename_all = "snake_case", deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[expect(missing_docs, reason = "fields repeat the document's, where they are described")]
pub enum Edit {
    /// Label, note and date.
    SetCase { case: Case },
    /// Another photo, or none. Drops every landmark and trace, since they belong to the old pixels.
    SetPhoto { photo: Option<Photo> },
    /// The "mirrored selfie?" switch. Swaps the sides of landmarks and natural brows, since the same pixels now
    /// belong to the client's other side.
    SetMirrored { mirrored: bool },
    /// Puts a landmark on the photo.
    PlaceLandmark { landmark: String, x_px: f64, y_px: f64 },
    /// Takes a landmark off again.
    RemoveLandmark { landmark: String },
    /// Roll and scale settings as a whole.
    SetFrame { frame: FrameSettings },
    /// Adds or replaces the caliper distance between two landmarks.
    SetCaliper { caliper: CaliperDistance },
    /// Forgets the caliper distance between two landmarks.
    RemoveCaliper { from: String, to: String },
    /// Measuring errors.
    SetNoise { noise: Noise },
    /// A closed trace around the natural brow, px.
    TraceNatural { side: Side, points_px: Vec<[f64; 2]> },
    /// Redraws a stretch of the trace: the new stroke replaces the shorter stretch between its two ends.
    RetraceNatural { side: Side, points_px: Vec<[f64; 2]> },
    /// The natural brow from typed caliper numbers, mm.
    TypeNatural { side: Side, calipers: BrowCalipers },
    /// The natural brow as an outline pulled over the hair, mm in the present frame; where the brow is such an outline
    /// already, mm in the frame that one is pinned to, so that a slider never moves it off the hair.
    ShapeNatural { side: Side, outline: Outline },
    /// Drags a handle of a natural brow that is an outline to this place, mm in the side's `(out, up)` of the present
    /// frame.
    MoveNaturalHandle { side: Side, handle: String, out_mm: f64, up_mm: f64 },
    /// Forgets the natural brow of one side.
    ClearNatural { side: Side },
    /// One parameter of the planned outline; `linked` sets the other side to the same value.
    SetParam {
        side: Side,
        param: String,
        value: f64,
        #[serde(default)]
        linked: bool,
    },
    /// Drags a handle of the planned outline to this place, mm in the side's `(out, up)`.
    MoveHandle {
        side: Side,
        handle: String,
        out_mm: f64,
        up_mm: f64,
        #[serde(default)]
        linked: bool,
    },
    /// Whole outlines; a missing side stays as it is.
    SetOutlines { outlines: PerSide<Option<Outline>> },
    /// Starts the planned outline of each named side from the fit of its natural brow.
    StartFromNatural { sides: Vec<Side> },
    /// Starts both planned outlines from the mean of both natural fits.
    StartFromMean,
    /// Copies the other side's planned outline onto this side.
    CopyFromOther { side: Side },
    /// Forgets the planned outline of one side.
    ClearOutline { side: Side },
    /// Guide settings.
    SetGuides { guides: Guides },
    /// Limits.
    SetLimits { limits: Limits },
    /// Rules for balancing the pair as a whole.
    SetBalance { balance: Balance },
    /// What is recorded of the brows in one pose, as a whole; it needs natural brows to compare with.
    SetPose { pose: String, record: PoseRecord },
    /// Puts a point on the photo of a pose.
    PlacePosePoint { pose: String, point: String, x_px: f64, y_px: f64 },
    /// Takes a point off the photo of a pose again.
    RemovePosePoint { pose: String, point: String },
    /// The "mirrored selfie?" switch of a pose's photo. Swaps the sides of its points.
    MirrorPose { pose: String, mirrored: bool },
    /// How far the client may go.
    SetClient { client: ClientLimits },
    /// The pair `base`, which was the artist's, with the client's wishes as far as they go from those `before`.
    Wish {
        base: PerSide<Option<Outline>>,
        #[serde(default)]
        before: Wishes,
        wishes: Wishes,
    },
    /// Keeps the answer to a question, true for a yes, or takes it back.
    AnswerCaution { caution: String, yes: Option<bool> },
    /// The artist's words on what was asked.
    NoteCautions { note: String },
    /// Aftercare and upkeep in the artist's words.
    NoteUpkeep { note: String },
    /// Keeps the present pair under a name; in place of the variant that has it already.
    KeepVariant { name: String },
    /// Makes a variant the pair that is worked on.
    TakeVariant { name: String },
    /// A copy of a variant under another name.
    DuplicateVariant { name: String, to: String },
    /// Gives a variant another name.
    RenameVariant { name: String, to: String },
    /// Forgets a variant.
    RemoveVariant { name: String },
    /// She agrees to the pair in work: when, by whom, and her signature in thousandths of the field's height.
    Agree { at: String, initials: String, strokes: Vec<Vec<[f64; 2]>> },
    /// The photo that the healed pair is looked at on, or none; its points are placed as those of a pose named `touch_up`.
    SetTouchUp {
        #[serde(rename = "pose_photo")]
        photo: Option<PosePhoto>,
        date: String,
    },
    /// A closed line around healed colour or hair on that photo, px; without points the line goes.
    TraceTouchUp { line: TouchUpLine, side: Side, points_px: Vec<[f64; 2]> },
    /// Makes this the plan of the touch-up: on the new photo, from the agreed pair, which is kept under a name.
    StartTouchUpPlan { name: String },
    /// Forgets a pose.
    RemovePose { pose: String },
    /// Several edits as one; none is done where one is refused.
    Many { edits: Vec<Edit> },
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn missing_and_foreign_fields_are_refused() {
        for text in [
            r#"{}"#,
            r#"{"do": "set_fringe"}"#,
            r#"{"do": "set_case"}"#,
            r#"{"do": "clear_natural", "side": "right", "linked": true}"#,
            r#"{"do": "clear_natural", "side": "right", "extra": 1}"#,
            r#"{"do": "set_param", "side": "right", "param": "arch_y", "value": null}"#,
            r#"{"do": "many", "edits": [{"do": "start_from_mean"}, {"do": "start_from_mean", "do": "start_from_mean"}]}"#,
        ] {
            assert!(serde_json::from_str::<Edit>(text).is_err(), "{text}");
            assert!(crate::read_edit(text).is_err(), "{text}");
        }
        // A library's reader passes over fields that a name alone cannot have.
        assert!(crate::read_edit(r#"{"do": "start_from_mean", "side": "left"}"#).is_err());
    }

    #[test]
    fn fields_that_may_be_missing_may_be_missing() {
        let read = |text| crate::read_edit(text).unwrap();
        assert_eq!(read(r#"{"do": "set_photo"}"#), Edit::SetPhoto { photo: None });
        assert_eq!(read(r#"{"photo": null, "do": "set_photo"}"#), Edit::SetPhoto { photo: None });
        let (side, param) = (Side::Left, "arch_y".to_owned());
        assert_eq!(
            read(r#"{"value": 27, "side": "left", "do": "set_param", "param": "arch_y"}"#),
            Edit::SetParam { side, param, value: 27.0, linked: false }
        );
    }
}
