//! The points of the face that the artist places on a photo.

use crate::Side;

/// A named point on the photo. Anthropometric terms (ISO 7250 / ISO 20685 style) stand in the documentation;
/// the page says "inner eye corner", "nostril corner".
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Landmark {
    /// Centre of the pupil.
    Pupil(Side),
    /// Endocanthion: where the lids meet beside the nose.
    InnerCorner(Side),
    /// Exocanthion: where the lids meet at the temple side.
    OuterCorner(Side),
    /// Limbus, the iris rim nearest the nose, at the height of the pupil.
    IrisInner(Side),
    /// Limbus, the iris rim nearest the temple, at the height of the pupil.
    IrisOuter(Side),
    /// Alare: the outermost point of the nostril wing, where its crease meets the cheek.
    Nostril(Side),
    /// The corner of the brow bone felt under the skin (optional; one of the three arch candidates).
    Bone(Side),
    /// Sellion: the middle of the bridge at its deepest, between the eyes.
    BridgeUpper,
    /// The middle of the bridge lower down, above the tip (the tip itself is ignored: it is often off centre).
    BridgeLower,
    /// First end of a ruler or sticker in the brow plane.
    RulerStart,
    /// Second end of that ruler.
    RulerEnd,
}

impl Landmark {
    /// Every landmark, in the order in which the page asks for them. A new landmark is added here, in
    /// [`Landmark::id`], and nowhere else.
    pub const ALL: [Landmark; 18] = [
        Landmark::Pupil(Side::Right),
        Landmark::Pupil(Side::Left),
        Landmark::InnerCorner(Side::Right),
        Landmark::InnerCorner(Side::Left),
        Landmark::OuterCorner(Side::Right),
        Landmark::OuterCorner(Side::Left),
        Landmark::BridgeUpper,
        Landmark::BridgeLower,
        Landmark::Nostril(Side::Right),
        Landmark::Nostril(Side::Left),
        Landmark::IrisOuter(Side::Right),
        Landmark::IrisInner(Side::Right),
        Landmark::IrisInner(Side::Left),
        Landmark::IrisOuter(Side::Left),
        Landmark::RulerStart,
        Landmark::RulerEnd,
        Landmark::Bone(Side::Right),
        Landmark::Bone(Side::Left),
    ];

    /// The name in files and messages, such as `inner_corner.right`.
    #[must_use]
    pub const fn id(self) -> &'static str {
        use Side::{Left, Right};
        match self {
            Landmark::Pupil(Right) => "pupil.right",
            Landmark::Pupil(Left) => "pupil.left",
            Landmark::InnerCorner(Right) => "inner_corner.right",
            Landmark::InnerCorner(Left) => "inner_corner.left",
            Landmark::OuterCorner(Right) => "outer_corner.right",
            Landmark::OuterCorner(Left) => "outer_corner.left",
            Landmark::IrisInner(Right) => "iris_inner.right",
            Landmark::IrisInner(Left) => "iris_inner.left",
            Landmark::IrisOuter(Right) => "iris_outer.right",
            Landmark::IrisOuter(Left) => "iris_outer.left",
            Landmark::Nostril(Right) => "nostril.right",
            Landmark::Nostril(Left) => "nostril.left",
            Landmark::Bone(Right) => "bone.right",
            Landmark::Bone(Left) => "bone.left",
            Landmark::BridgeUpper => "bridge_upper",
            Landmark::BridgeLower => "bridge_lower",
            Landmark::RulerStart => "ruler_start",
            Landmark::RulerEnd => "ruler_end",
        }
    }

    /// The landmark with this name.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Landmark> {
        Landmark::ALL.into_iter().find(|landmark| landmark.id() == id)
    }

    /// Its counterpart on the client's other side; itself where it has no side.
    #[must_use]
    pub const fn on_other_side(self) -> Landmark {
        match self {
            Landmark::Pupil(side) => Landmark::Pupil(side.other()),
            Landmark::InnerCorner(side) => Landmark::InnerCorner(side.other()),
            Landmark::OuterCorner(side) => Landmark::OuterCorner(side.other()),
            Landmark::IrisInner(side) => Landmark::IrisInner(side.other()),
            Landmark::IrisOuter(side) => Landmark::IrisOuter(side.other()),
            Landmark::Nostril(side) => Landmark::Nostril(side.other()),
            Landmark::Bone(side) => Landmark::Bone(side.other()),
            Landmark::BridgeUpper | Landmark::BridgeLower | Landmark::RulerStart | Landmark::RulerEnd => self,
        }
    }

    /// The client's side it lies on, or `None` on the centre line and for the ruler.
    #[must_use]
    pub const fn side(self) -> Option<Side> {
        match self {
            Landmark::Pupil(side)
            | Landmark::InnerCorner(side)
            | Landmark::OuterCorner(side)
            | Landmark::IrisInner(side)
            | Landmark::IrisOuter(side)
            | Landmark::Nostril(side)
            | Landmark::Bone(side) => Some(side),
            Landmark::BridgeUpper | Landmark::BridgeLower | Landmark::RulerStart | Landmark::RulerEnd => None,
        }
    }
}

/// A point of the photo after EXIF orientation: px, x right, y down.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ImagePoint {
    /// px from the left edge.
    pub x_px: f64,
    /// px from the top edge.
    pub y_px: f64,
}

impl ImagePoint {
    /// The point at these pixels.
    #[must_use]
    pub const fn new(x_px: f64, y_px: f64) -> Self {
        ImagePoint { x_px, y_px }
    }

    /// True where both coordinates are finite numbers.
    #[must_use]
    pub const fn is_finite(self) -> bool {
        self.x_px.is_finite() && self.y_px.is_finite()
    }
}
