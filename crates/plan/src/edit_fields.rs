//! Reading an edit.
//!
//! As in [`natural_fields`](crate::natural_fields): the fields of all edits are read straight into their types, and the tag
//! then says which of them must be there.

use counterpoise_geometry::{PerSide, Side};
use serde::de::Error;
use serde::{Deserialize, Deserializer};

use crate::document::{
    Balance, BrowCalipers, CaliperDistance, Case, FrameSettings, Guides, Limits, Noise, Outline, Photo,
};
use crate::edit::Edit;
use crate::poses::{PosePhoto, PoseRecord};
use crate::touch_up::TouchUpLine;
use crate::wishes::{ClientLimits, Wishes};

#[derive(Clone, Copy, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Do {
    SetCase,
    SetPhoto,
    SetMirrored,
    PlaceLandmark,
    RemoveLandmark,
    SetFrame,
    SetCaliper,
    RemoveCaliper,
    SetNoise,
    TraceNatural,
    RetraceNatural,
    TypeNatural,
    ShapeNatural,
    MoveNaturalHandle,
    ClearNatural,
    SetParam,
    MoveHandle,
    SetOutlines,
    StartFromNatural,
    StartFromMean,
    CopyFromOther,
    ClearOutline,
    SetGuides,
    SetLimits,
    SetBalance,
    SetPose,
    PlacePosePoint,
    RemovePosePoint,
    MirrorPose,
    SetClient,
    Wish,
    AnswerCaution,
    NoteCautions,
    NoteUpkeep,
    KeepVariant,
    TakeVariant,
    DuplicateVariant,
    RenameVariant,
    RemoveVariant,
    Agree,
    SetTouchUp,
    TraceTouchUp,
    StartTouchUpPlan,
    RemovePose,
    Many,
}

/// Declares the fields of all edits, and how many of them are there.
macro_rules! fields {
    ($($name:ident: $type:ty,)*) => {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields)]
        struct EditFields {
            r#do: Do,
            $($name: Option<$type>,)*
        }

        impl EditFields {
            fn left_over(&self) -> Option<&'static str> {
                $(if self.$name.is_some() {
                    return Some(stringify!($name));
                })*
                None
            }
        }
    };
}

fields! {
    case: Case,
    photo: Photo,
    mirrored: bool,
    landmark: String,
    x_px: f64,
    y_px: f64,
    frame: FrameSettings,
    caliper: CaliperDistance,
    from: String,
    to: String,
    noise: Noise,
    side: Side,
    points_px: Vec<[f64; 2]>,
    calipers: BrowCalipers,
    outline: Outline,
    handle: String,
    out_mm: f64,
    up_mm: f64,
    param: String,
    value: f64,
    linked: bool,
    outlines: PerSide<Option<Outline>>,
    sides: Vec<Side>,
    guides: Guides,
    limits: Limits,
    balance: Balance,
    pose: String,
    record: PoseRecord,
    point: String,
    client: ClientLimits,
    name: String,
    caution: String,
    yes: bool,
    note: String,
    base: PerSide<Option<Outline>>,
    before: Wishes,
    wishes: Wishes,
    at: String,
    initials: String,
    strokes: Vec<Vec<[f64; 2]>>,
    pose_photo: PosePhoto,
    date: String,
    line: TouchUpLine,
    edits: Vec<Edit>,
}

impl<'de> Deserialize<'de> for Edit {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let mut fields = EditFields::deserialize(deserializer)?;
        /// Takes a field that must be there.
        macro_rules! take {
            ($name:ident) => {
                fields.$name.take().ok_or_else(|| D::Error::missing_field(stringify!($name)))?
            };
        }
        let edit = match fields.r#do {
            Do::SetCase => Edit::SetCase { case: take!(case) },
            Do::SetPhoto => Edit::SetPhoto { photo: fields.photo.take() },
            Do::SetMirrored => Edit::SetMirrored { mirrored: take!(mirrored) },
            Do::PlaceLandmark => {
                Edit::PlaceLandmark { landmark: take!(landmark), x_px: take!(x_px), y_px: take!(y_px) }
            }
            Do::RemoveLandmark => Edit::RemoveLandmark { landmark: take!(landmark) },
            Do::SetFrame => Edit::SetFrame { frame: take!(frame) },
            Do::SetCaliper => Edit::SetCaliper { caliper: take!(caliper) },
            Do::RemoveCaliper => Edit::RemoveCaliper { from: take!(from), to: take!(to) },
            Do::SetNoise => Edit::SetNoise { noise: take!(noise) },
            Do::TraceNatural => Edit::TraceNatural { side: take!(side), points_px: take!(points_px) },
            Do::RetraceNatural => Edit::RetraceNatural { side: take!(side), points_px: take!(points_px) },
            Do::TypeNatural => Edit::TypeNatural { side: take!(side), calipers: take!(calipers) },
            Do::ShapeNatural => Edit::ShapeNatural { side: take!(side), outline: take!(outline) },
            Do::MoveNaturalHandle => Edit::MoveNaturalHandle {
                side: take!(side),
                handle: take!(handle),
                out_mm: take!(out_mm),
                up_mm: take!(up_mm),
            },
            Do::ClearNatural => Edit::ClearNatural { side: take!(side) },
            Do::SetParam => Edit::SetParam {
                side: take!(side),
                param: take!(param),
                value: take!(value),
                linked: fields.linked.take().unwrap_or_default(),
            },
            Do::MoveHandle => Edit::MoveHandle {
                side: take!(side),
                handle: take!(handle),
                out_mm: take!(out_mm),
                up_mm: take!(up_mm),
                linked: fields.linked.take().unwrap_or_default(),
            },
            Do::SetOutlines => Edit::SetOutlines { outlines: take!(outlines) },
            Do::StartFromNatural => Edit::StartFromNatural { sides: take!(sides) },
            Do::StartFromMean => Edit::StartFromMean,
            Do::CopyFromOther => Edit::CopyFromOther { side: take!(side) },
            Do::ClearOutline => Edit::ClearOutline { side: take!(side) },
            Do::SetGuides => Edit::SetGuides { guides: take!(guides) },
            Do::SetLimits => Edit::SetLimits { limits: take!(limits) },
            Do::SetBalance => Edit::SetBalance { balance: take!(balance) },
            Do::SetPose => Edit::SetPose { pose: take!(pose), record: take!(record) },
            Do::PlacePosePoint => Edit::PlacePosePoint {
                pose: take!(pose),
                point: take!(point),
                x_px: take!(x_px),
                y_px: take!(y_px),
            },
            Do::RemovePosePoint => Edit::RemovePosePoint { pose: take!(pose), point: take!(point) },
            Do::MirrorPose => Edit::MirrorPose { pose: take!(pose), mirrored: take!(mirrored) },
            Do::SetClient => Edit::SetClient { client: take!(client) },
            Do::Wish => Edit::Wish {
                base: take!(base),
                before: fields.before.take().unwrap_or_default(),
                wishes: take!(wishes),
            },
            Do::AnswerCaution => Edit::AnswerCaution { caution: take!(caution), yes: fields.yes.take() },
            Do::NoteCautions => Edit::NoteCautions { note: take!(note) },
            Do::NoteUpkeep => Edit::NoteUpkeep { note: take!(note) },
            Do::KeepVariant => Edit::KeepVariant { name: take!(name) },
            Do::TakeVariant => Edit::TakeVariant { name: take!(name) },
            Do::DuplicateVariant => Edit::DuplicateVariant { name: take!(name), to: take!(to) },
            Do::RenameVariant => Edit::RenameVariant { name: take!(name), to: take!(to) },
            Do::RemoveVariant => Edit::RemoveVariant { name: take!(name) },
            Do::Agree => Edit::Agree { at: take!(at), initials: take!(initials), strokes: take!(strokes) },
            Do::SetTouchUp => Edit::SetTouchUp { photo: fields.pose_photo.take(), date: take!(date) },
            Do::TraceTouchUp => {
                Edit::TraceTouchUp { line: take!(line), side: take!(side), points_px: take!(points_px) }
            }
            Do::StartTouchUpPlan => Edit::StartTouchUpPlan { name: take!(name) },
            Do::RemovePose => Edit::RemovePose { pose: take!(pose) },
            Do::Many => Edit::Many { edits: take!(edits) },
        };
        // What is left belongs to another edit.
        match fields.left_over() {
            Some(name) => Err(D::Error::custom(format_args!("field `{name}` does not belong to this edit"))),
            None => Ok(edit),
        }
    }
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
            r#"{"do": "many", "edits": [{"do": "start_from_mean", "side": "left"}]}"#,
        ] {
            assert!(serde_json::from_str::<Edit>(text).is_err(), "{text}");
            assert!(crate::read_edit(text).is_err(), "{text}");
        }
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
