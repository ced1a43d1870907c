//! What is drawn, in millimetres and meanings: no colours, no pixels. Three painters draw one scene.

use crate::notation::Read;
use counterpoise_geometry::Side;
use kurbo::{BezPath, Point};
use serde::{Deserialize, Serialize};

/// Everything there is to draw of a plan, in the **face frame**: mm, x towards the client's left, y up, origin where
/// the centre line meets the line through the inner eye corners. Items are in painting order, lowest first.
#[derive(Clone, Debug, Default)]
pub struct Scene {
    /// Shapes in painting order.
    pub items: Vec<Item>,
    /// Points that can be dragged.
    pub handles: Vec<Handle>,
    /// Short texts at a place.
    pub labels: Vec<Label>,
    /// The affine map from face mm to photo px (of the pose's photo, where a pose is drawn on its own), `[a, b, c, d, e, f]` as in SVG's `matrix()`; `None` without a photo
    /// or before the landmarks suffice.
    pub image_from_face: Option<[f64; 6]>,
    /// What should be in view: `[x0, y0, x1, y1]` mm in the face frame.
    pub bounds_mm: [f64; 4],
}

/// A path with its meaning.
#[derive(Clone, Debug)]
pub struct Item {
    /// What it means; painters choose colour, width and pattern by it.
    pub kind: Kind,
    /// The client's side, if it belongs to one.
    pub side: Option<Side>,
    /// mm, face frame. Closed where it is an area.
    pub path: BezPath,
}

/// What a shape means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Read)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Natural hair that the plan keeps (area).
    Kept,
    /// Natural hair outside the plan (area, hatched).
    Removed,
    /// Skin inside the plan (area, dotted).
    Added,
    /// Edge of the natural brow.
    Natural,
    /// Edge of the planned outline.
    Planned,
    /// The centre line.
    CentreLine,
    /// A height line: bottom of bulb, top of bulb, top of arch.
    HeightLine,
    /// Straight up from the nostril corner.
    FrontLine,
    /// Nostril corner through outer eye corner.
    EndLine,
    /// Arch candidate by measure.
    ArchMeasure,
    /// Arch candidate by the natural brow.
    ArchNatural,
    /// Arch candidate by the bone.
    ArchBone,
    /// Top of bulb to top of arch, and arch to end.
    Thread,
    /// The ruler or sticker.
    Ruler,
}

impl Kind {
    /// Every kind, in painting order.
    pub const ALL: [Kind; 14] = [
        Kind::Kept,
        Kind::Removed,
        Kind::Added,
        Kind::Natural,
        Kind::Planned,
        Kind::CentreLine,
        Kind::HeightLine,
        Kind::FrontLine,
        Kind::EndLine,
        Kind::ArchMeasure,
        Kind::ArchNatural,
        Kind::ArchBone,
        Kind::Thread,
        Kind::Ruler,
    ];
}

/// A point that can be dragged on the canvas, with its twin in the page.
#[derive(Clone, Debug)]
pub struct Handle {
    /// `landmark:ID`, `planned:SIDE:HANDLE`, `natural:SIDE:HANDLE` (see `describe`), or on a pose's photo `pose:POINT`.
    pub id: String,
    /// The client's side, if it belongs to one.
    pub side: Option<Side>,
    /// mm, face frame (before a frame exists: photo px with y down, see [`Handle::in_image`]).
    pub at: Point,
    /// True where `at` is photo px: no frame exists yet, or the photo is a pose's.
    pub in_image: bool,
}

/// A short text at a place.
#[derive(Clone, Debug)]
pub struct Label {
    /// Key of the page's catalogue.
    pub key: String,
    /// The number that goes with it, mm, if any.
    pub value: Option<f64>,
    /// The client's side, if it belongs to one.
    pub side: Option<Side>,
    /// mm, face frame.
    pub at: Point,
    /// Which part of the text stands at `at`.
    pub align: Align,
}

/// Which part of a label stands at its place, as seen with the client's right on the left of the drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// The text begins there.
    Start,
    /// The text is centred there.
    Middle,
    /// The text ends there.
    End,
}
