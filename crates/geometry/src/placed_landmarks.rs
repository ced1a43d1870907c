//! Landmarks as they lie on the upright picture, and whether they can belong to one face.

use crate::SortedMap;
use glam::DVec2;

use crate::face_frame::{FrameError, FrameInput};
use crate::landmark::Landmark;
use crate::side::{PerSide, Side};

/// The pairs whose midpoints lie on the centre line and whose direction is the eye line, and what they are called.
pub(crate) const EYE_PAIRS: [PerSide<Landmark>; 3] = [
    PerSide { right: Landmark::Pupil(Side::Right), left: Landmark::Pupil(Side::Left) },
    PerSide { right: Landmark::InnerCorner(Side::Right), left: Landmark::InnerCorner(Side::Left) },
    PerSide { right: Landmark::OuterCorner(Side::Right), left: Landmark::OuterCorner(Side::Left) },
];

/// The landmark of a kind on one side.
type OfSide = fn(Side) -> Landmark;

/// Every pair that has a right and a left.
const ALL_PAIRS: [OfSide; 7] = [
    Landmark::Pupil,
    Landmark::InnerCorner,
    Landmark::OuterCorner,
    Landmark::IrisInner,
    Landmark::IrisOuter,
    Landmark::Nostril,
    Landmark::Bone,
];

/// What lies nearer the centre line than what, on either side.
const OUTWARD: [(OfSide, OfSide); 5] = [
    (Landmark::InnerCorner, Landmark::OuterCorner),
    (Landmark::InnerCorner, Landmark::Pupil),
    (Landmark::Pupil, Landmark::OuterCorner),
    (Landmark::IrisInner, Landmark::IrisOuter),
    (Landmark::InnerCorner, Landmark::IrisOuter),
];

/// Landmarks nearer than this share of the distance of the inner corners (about 0.6 mm) lie on the same spot.
const COINCIDENT_SHARE: f64 = 0.02;
/// And nearer than this in px, whatever the scale.
const COINCIDENT_PX: f64 = 0.5;
/// Landmarks turned so that x runs towards the client's left and y up; px.
pub(crate) struct Upright {
    pub points: SortedMap<Landmark, DVec2>,
}

impl Upright {
    pub(crate) fn get(&self, landmark: Landmark) -> Option<DVec2> {
        self.points.get(&landmark).copied()
    }

    pub(crate) fn pair(&self, pair: PerSide<Landmark>) -> Option<PerSide<DVec2>> {
        pair.map(|landmark| self.get(landmark)).both()
    }
}

pub(crate) fn upright(input: &FrameInput) -> Result<Upright, FrameError> {
    let mirror = if input.mirrored { -1.0 } else { 1.0 };
    let mut points = SortedMap::new();
    for (&landmark, &at) in &input.landmarks {
        if !at.is_finite() {
            return Err(FrameError::NotFinite { landmark });
        }
        points.insert(landmark, DVec2::new(mirror * at.x_px, -at.y_px));
    }
    Ok(Upright { points })
}

pub(crate) fn require_inner_corners(upright: &Upright) -> Result<PerSide<DVec2>, FrameError> {
    let pair = PerSide::from_fn(Landmark::InnerCorner);
    upright.pair(pair).ok_or_else(|| {
        let landmarks = Side::BOTH.map(Landmark::InnerCorner);
        let landmarks = landmarks.into_iter().filter(|&landmark| upright.get(landmark).is_none()).collect();
        FrameError::Missing { landmarks }
    })
}

/// Refuses points on the same spot, exchanged sides and impossible orders, in this sequence.
pub(crate) fn check_places(upright: &Upright, inner: PerSide<DVec2>) -> Result<(), FrameError> {
    let apart = (COINCIDENT_SHARE * inner.left.distance(inner.right)).max(COINCIDENT_PX);
    let is_ruler = |landmark| matches!(landmark, Landmark::RulerStart | Landmark::RulerEnd);
    for (index, (&one, &at)) in upright.points.iter().enumerate() {
        for (&other, &there) in upright.points.iter().skip(index + 1) {
            // A ruler may lie anywhere, so only its own two ends are compared.
            if is_ruler(one) == is_ruler(other) && at.distance(there) < apart {
                return Err(FrameError::Coincident { one, other });
            }
        }
    }
    let pairs: Vec<_> = ALL_PAIRS
        .iter()
        .filter_map(|&make| {
            let pair = PerSide::from_fn(make);
            upright.pair(pair).map(|at| (pair, at))
        })
        .collect();
    let level = eye_direction(upright).map_or(DVec2::X, |sum| if sum.x < 0.0 { DVec2::X } else { sum });
    let exchanged = |(_, at): &&(PerSide<Landmark>, PerSide<DVec2>)| (at.left - at.right).dot(level) <= 0.0;
    let wrong: Vec<_> = pairs.iter().filter(exchanged).collect();
    if let Some((pair, _)) = wrong.first() {
        return Err(if wrong.len() == pairs.len() && pairs.len() > 1 {
            FrameError::AllSwapped
        } else {
            FrameError::Swapped { right: pair.right, left: pair.left }
        });
    }
    for side in Side::BOTH {
        for (first, second) in OUTWARD {
            let (first, second) = (first(side), second(side));
            if let (Some(near), Some(far)) = (upright.get(first), upright.get(second))
                && side.sign() * (far - near).dot(level) <= 0.0
            {
                return Err(FrameError::WrongOrder { first, second });
            }
        }
    }
    let (first, second) = (Landmark::BridgeUpper, Landmark::BridgeLower);
    if let (Some(upper), Some(lower)) = (upright.get(first), upright.get(second))
        && (upper - lower).dot(level.perp()) <= 0.0
    {
        return Err(FrameError::WrongOrder { first, second });
    }
    Ok(())
}

/// Sum of right → left over the eye pairs that are there: the length-weighted mean direction.
pub(crate) fn eye_direction(upright: &Upright) -> Option<DVec2> {
    let ends = EYE_PAIRS.iter().filter_map(|&pair| upright.pair(pair));
    let sum = ends.fold(DVec2::ZERO, |sum, at| sum + at.left - at.right);
    (sum != DVec2::ZERO).then_some(sum)
}

/// What the centre line runs through: midpoints of the eye pairs and the bridge points; px, with the landmarks that
/// make each.
pub(crate) fn midline_points(upright: &Upright) -> Vec<(Vec<Landmark>, DVec2)> {
    let of_pairs = EYE_PAIRS.iter().filter_map(|&pair| {
        upright.pair(pair).map(|at| (vec![pair.right, pair.left], 0.5 * (at.right + at.left)))
    });
    let of_bridge = [Landmark::BridgeUpper, Landmark::BridgeLower]
        .into_iter()
        .filter_map(|landmark| upright.get(landmark).map(|at| (vec![landmark], at)));
    of_pairs.chain(of_bridge).collect()
}

#[expect(clippy::cast_precision_loss, reason = "a handful of landmarks")]
pub(crate) const fn as_f64(count: usize) -> f64 {
    count as f64
}

/// Direction of a vector, radians, counter-clockwise from x.
pub(crate) fn angle(direction: DVec2) -> f64 {
    direction.y.atan2(direction.x)
}
