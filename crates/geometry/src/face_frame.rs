//! The face frame: from landmarks on a photo to millimetres on the face, with the error of the frame itself.
//!
//! Roll is the direction of the length-weighted eye line (or the bridge line), the centre line runs through the mean
//! of the midpoints of pupils, inner and outer corners and of the bridge points, and height 0 is the midpoint of the
//! inner corners (this project's model study on the Face Research Lab London Set, DeBruine & Jones 2017, CC BY 4.0).

use std::fmt;

use crate::SortedMap;
use glam::DVec2;
use kurbo::Point;

use crate::frame_covariance::{Estimated, covariance};
use crate::landmark::{ImagePoint, Landmark};
use crate::placed_landmarks::{
    angle, as_f64, check_places, eye_direction, midline_points, require_inner_corners, upright,
};
use crate::scale::{self, CaliperScale, ScaleKind, ScaleSource};
use crate::scale_sources::scale_sources;
use crate::side::{PerSide, Side};

/// Which line is called level.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum RollSource {
    /// The length-weighted mean direction of pupils, inner and outer corners.
    #[default]
    Eyes,
    /// The bridge line, upright: for eyes that sit unevenly.
    Bridge,
}

/// One standard deviation of each measuring error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ErrorModel {
    /// Placing a landmark, mm in each direction.
    pub landmark_mm: f64,
    /// Tracing the edge of the hair, mm across the edge.
    pub edge_mm: f64,
    /// Reading a caliper, mm.
    pub caliper_mm: f64,
    /// Head turned away from the camera, degrees.
    pub yaw_deg: f64,
}

impl Default for ErrorModel {
    fn default() -> Self {
        // 0.3 mm: 45 % of landmarks repeat below 0.5 mm (Li et al., Aesthetic Plast Surg 2022;46:719); 0.25 mm: the
        // hair edge of the model study; 0.5 mm: good caliper repeat (from memory); 1 degree: a careful frontal photo.
        ErrorModel { landmark_mm: 0.3, edge_mm: 0.25, caliper_mm: 0.5, yaw_deg: 1.0 }
    }
}

/// Everything a frame is estimated from.
#[derive(Clone, Debug, PartialEq)]
pub struct FrameInput {
    /// Landmarks placed so far, photo px.
    pub landmarks: SortedMap<Landmark, ImagePoint>,
    /// True where the photo shows her as in a mirror: the client's left is then on the picture's left.
    pub mirrored: bool,
    /// Which line is called level.
    pub roll_from: RollSource,
    /// Turned by hand on top of that, radians. Positive raises the client's left side in the face frame: the roll
    /// that is taken out becomes smaller by this much.
    pub roll_nudge: f64,
    /// Length between `RulerStart` and `RulerEnd`, mm.
    pub ruler_mm: Option<f64>,
    /// Caliper distances between landmarks. One whose landmarks are not both placed yet is left out.
    pub calipers: Vec<CaliperScale>,
    /// Whether the iris width may help.
    pub use_iris: bool,
    /// Measuring errors.
    pub errors: ErrorModel,
}

impl Default for FrameInput {
    fn default() -> Self {
        FrameInput {
            landmarks: SortedMap::new(),
            mirrored: false,
            roll_from: RollSource::Eyes,
            roll_nudge: 0.0,
            ruler_mm: None,
            calipers: Vec::new(),
            use_iris: true,
            errors: ErrorModel::default(),
        }
    }
}

/// Why no frame can be made.
#[derive(Clone, Debug, PartialEq)]
pub enum FrameError {
    /// These landmarks are needed and not placed.
    Missing {
        /// In the order in which the page asks for them.
        landmarks: Vec<Landmark>,
    },
    /// A landmark's position is not a finite number.
    NotFinite {
        /// Which.
        landmark: Landmark,
    },
    /// Two landmarks lie on the same spot.
    Coincident {
        /// One.
        one: Landmark,
        /// The other.
        other: Landmark,
    },
    /// The client's right and left are exchanged for this pair.
    Swapped {
        /// The landmark of the client's right.
        right: Landmark,
        /// The landmark of the client's left.
        left: Landmark,
    },
    /// Every pair is exchanged: the "mirrored" switch is probably wrong.
    AllSwapped,
    /// Two landmarks of one side, or of the bridge, are in the wrong order.
    WrongOrder {
        /// What must lie nearer the centre line (or, on the bridge, higher).
        first: Landmark,
        /// What must lie further out (or lower).
        second: Landmark,
    },
    /// No ruler, caliper distance or iris gives a scale yet.
    NoScale,
    /// A scale source is zero, negative or not a number.
    BadScale {
        /// Which.
        kind: ScaleKind,
    },
    /// Two scale sources cannot both be right.
    ContradictoryScales {
        /// One.
        one: ScaleKind,
        /// The other.
        other: ScaleKind,
        /// px per mm of `one` divided by that of `other`.
        ratio: f64,
    },
    /// The nudge or one of the measuring errors is out of range or not a number.
    BadSetting,
}

impl fmt::Display for FrameError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self:?}")
    }
}

impl std::error::Error for FrameError {}

/// Number of frame parameters that carry an error.
pub const FRAME_ERRORS: usize = 5;

/// Index of each frame error in [`FaceFrame::covariance`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(usize)]
pub enum FrameErrorTerm {
    /// Roll: the frame's x axis turned towards the client's up on her left, radians.
    Roll = 0,
    /// A fixed point's x, at the height of the inner corners, comes out greater by this, mm.
    OriginX = 1,
    /// A fixed point's y, on the centre line, comes out greater by this, mm.
    OriginY = 2,
    /// ln of px per mm.
    LnScale = 3,
    /// Head turned, radians; positive moves what lies behind the centre line's own depth towards the client's right.
    Yaw = 4,
}

/// The affine link between photo and face, and how far it can be trusted.
#[derive(Clone, Debug, PartialEq)]
pub struct FaceFrame {
    image_from_face: [f64; 6],
    roll: f64,
    px_per_mm: f64,
    errors: ErrorModel,
    covariance: [[f64; FRAME_ERRORS]; FRAME_ERRORS],
    roll_of_eyes: Option<f64>,
    roll_of_bridge: Option<f64>,
    midpoint_spread_mm: f64,
    scale_sources: Vec<ScaleSource>,
    scale_inflation: f64,
    landmarks: SortedMap<Landmark, Point>,
    has_photo: bool,
}

/// Largest nudge by hand, radians (45 degrees: more is a mistake, not a correction).
const NUDGE_LIMIT: f64 = std::f64::consts::FRAC_PI_4;
/// Largest measuring error that the first-order model is asked to carry, mm or degrees.
const ERROR_LIMIT: f64 = 20.0;

/// Estimates roll, centre line, height 0 and scale from landmarks.
///
/// Needs both inner corners and one source of scale; with `RollSource::Bridge` both bridge points too. Everything
/// else that is placed makes it better.
///
/// # Errors
/// [`FrameError`] names what is missing, exchanged, on the same spot or contradictory.
pub fn estimate_frame(input: &FrameInput) -> Result<FaceFrame, FrameError> {
    check_settings(input)?;
    let upright = upright(input)?;
    let inner = require_inner_corners(&upright)?;
    check_places(&upright, inner)?;

    let roll_of_eyes = eye_direction(&upright).map(angle);
    let bridge = PerSide { right: Landmark::BridgeLower, left: Landmark::BridgeUpper };
    let bridge_up = upright.pair(bridge).map(|ends| ends.left - ends.right);
    let roll_of_bridge = bridge_up.map(|up| angle(DVec2::new(up.y, -up.x)));
    let line = match input.roll_from {
        RollSource::Eyes => roll_of_eyes,
        RollSource::Bridge => roll_of_bridge,
    };
    let Some(line) = line else {
        let needed = [Landmark::BridgeUpper, Landmark::BridgeLower];
        let landmarks = needed.into_iter().filter(|&landmark| upright.get(landmark).is_none()).collect();
        return Err(FrameError::Missing { landmarks });
    };
    let roll = line - input.roll_nudge;
    let ex = DVec2::from_angle(roll);
    let ey = ex.perp();

    let combined = scale::combine(&scale_sources(input, &upright, ex)?).map_err(|found| {
        FrameError::ContradictoryScales { one: found.one, other: found.other, ratio: found.ratio }
    })?;
    let combined = combined.ok_or(FrameError::NoScale)?;
    let px_per_mm = combined.ln.exp();
    if !(px_per_mm.is_finite() && px_per_mm > 0.0) {
        return Err(FrameError::NoScale);
    }

    let midpoints = midline_points(&upright);
    let count = as_f64(midpoints.len());
    let along: Vec<f64> = midpoints.iter().map(|(_, at)| ex.dot(*at)).collect();
    let centre = along.iter().sum::<f64>() / count;
    let low = along.iter().copied().fold(f64::INFINITY, f64::min);
    let high = along.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let inner_mid = 0.5 * (inner.right + inner.left);
    let origin = ex * centre + ey * ey.dot(inner_mid);

    let face = |at: DVec2| DVec2::new(ex.dot(at - origin), ey.dot(at - origin)) / px_per_mm;
    let estimated = Estimated { upright: &upright, ex, origin, combined: &combined, midpoints: &midpoints };
    let covariance = covariance(input, &estimated);
    let mirror = if input.mirrored { -1.0 } else { 1.0 };
    let image_from_face = [
        mirror * px_per_mm * ex.x,
        -px_per_mm * ex.y,
        mirror * px_per_mm * ey.x,
        -px_per_mm * ey.y,
        mirror * origin.x,
        -origin.y,
    ];
    let landmarks = upright
        .points
        .iter()
        .map(|(&landmark, &at)| {
            let at = face(at);
            (landmark, Point::new(at.x, at.y))
        })
        .collect();
    Ok(FaceFrame {
        image_from_face,
        roll,
        px_per_mm,
        errors: input.errors,
        covariance,
        roll_of_eyes,
        roll_of_bridge,
        midpoint_spread_mm: (high - low) / px_per_mm,
        scale_sources: combined.sources,
        scale_inflation: combined.inflation,
        landmarks,
        has_photo: true,
    })
}

impl FaceFrame {
    /// The frame of a plan that was measured with calipers alone: no roll, scale or origin to be wrong, and nothing
    /// to map to (one "pixel" is a millimetre).
    #[must_use]
    pub fn without_photo(errors: ErrorModel) -> Self {
        FaceFrame {
            image_from_face: [1.0, 0.0, 0.0, -1.0, 0.0, 0.0],
            roll: 0.0,
            px_per_mm: 1.0,
            errors,
            covariance: [[0.0; FRAME_ERRORS]; FRAME_ERRORS],
            roll_of_eyes: None,
            roll_of_bridge: None,
            midpoint_spread_mm: 0.0,
            scale_sources: Vec::new(),
            scale_inflation: 1.0,
            landmarks: SortedMap::new(),
            has_photo: false,
        }
    }

    /// False for [`FaceFrame::without_photo`].
    #[must_use]
    pub const fn has_photo(&self) -> bool {
        self.has_photo
    }

    /// The affine map from face mm to photo px, `[a, b, c, d, e, f]` as in SVG's `matrix()`.
    #[must_use]
    pub const fn image_from_face(&self) -> [f64; 6] {
        self.image_from_face
    }

    /// A photo point in the side's own `(out, up)`, mm.
    #[must_use]
    pub fn side_from_image(&self, side: Side, at: ImagePoint) -> Point {
        let [a, b, c, d, e, f] = self.image_from_face;
        // The linear part is a scaled rotation, perhaps mirrored, so its determinant is never zero.
        let det = a * d - b * c;
        let (dx, dy) = (at.x_px - e, at.y_px - f);
        Point::new(side.sign() * (d * dx - c * dy) / det, (a * dy - b * dx) / det)
    }

    /// A point of the side's own `(out, up)`, mm, on the photo.
    #[must_use]
    pub fn image_from_side(&self, side: Side, at: Point) -> ImagePoint {
        image_from_side_by(self.image_from_face, side, at)
    }

    /// Roll taken out, radians; positive where the client's left sits higher on the photo. The nudge is in it.
    #[must_use]
    pub const fn roll(&self) -> f64 {
        self.roll
    }

    /// Roll of the eye line before any nudge, radians.
    #[must_use]
    pub const fn roll_of_eyes(&self) -> Option<f64> {
        self.roll_of_eyes
    }

    /// Roll of the bridge line before any nudge, radians, where both bridge points are placed.
    #[must_use]
    pub const fn roll_of_bridge(&self) -> Option<f64> {
        self.roll_of_bridge
    }

    /// Scale, photo px per mm.
    #[must_use]
    pub const fn px_per_mm(&self) -> f64 {
        self.px_per_mm
    }

    /// Measuring errors that the frame was made with.
    #[must_use]
    pub const fn errors(&self) -> &ErrorModel {
        &self.errors
    }

    /// Covariance of the frame's errors in the order of [`FrameErrorTerm`]: rad, mm, mm, 1, rad.
    #[must_use]
    pub const fn covariance(&self) -> &[[f64; FRAME_ERRORS]; FRAME_ERRORS] {
        &self.covariance
    }

    /// 1 SD of one of the frame's errors.
    #[must_use]
    pub fn sd(&self, term: FrameErrorTerm) -> f64 {
        let index = term as usize;
        self.covariance.get(index).and_then(|row| row.get(index)).map_or(0.0, |var| var.sqrt())
    }

    /// Range of the centre-line midpoints across the face, mm: a hint of a turned head (median 1.0, 95th percentile
    /// 2.5 mm in 102 neutral faces; this project's model study on the Face Research Lab London Set).
    #[must_use]
    pub const fn midpoint_spread_mm(&self) -> f64 {
        self.midpoint_spread_mm
    }

    /// Each scale source, with its residual.
    #[must_use]
    pub fn scale_sources(&self) -> &[ScaleSource] {
        &self.scale_sources
    }

    /// True where the scale sources disagree by more than their errors explain (5 % level); the scale's SD is then
    /// inflated.
    #[must_use]
    pub fn scales_disagree(&self) -> bool {
        self.scale_inflation > 1.0
    }

    /// A landmark in the face frame, mm: x towards the client's left, y up.
    #[must_use]
    pub fn landmark_in_face(&self, landmark: Landmark) -> Option<Point> {
        self.landmarks.get(&landmark).copied()
    }

    /// A landmark that has a side, in that side's `(out, up)`, mm. `None` where it is not placed or has no side.
    #[must_use]
    pub fn landmark_in_side(&self, landmark: Landmark) -> Option<Point> {
        let side = landmark.side()?;
        let at = self.landmark_in_face(landmark)?;
        Some(Point::new(side.sign() * at.x, at.y))
    }
}

/// A point of the side's own `(out, up)`, mm, on the photo, by an affine map pinned down earlier (the form of
/// [`FaceFrame::image_from_face`]).
#[must_use]
pub fn image_from_side_by(image_from_face: [f64; 6], side: Side, at: Point) -> ImagePoint {
    let [a, b, c, d, e, f] = image_from_face;
    let x = side.sign() * at.x;
    ImagePoint::new(a * x + c * at.y + e, b * x + d * at.y + f)
}

/// The inverse of [`image_from_side_by`]: mm in the side's own `(out, up)`; `None` where the map has no inverse.
#[must_use]
pub fn side_from_image_by(image_from_face: [f64; 6], side: Side, at: ImagePoint) -> Option<Point> {
    let [a, b, c, d, e, f] = image_from_face;
    let determinant = a * d - b * c;
    let (x, y) = (at.x_px - e, at.y_px - f);
    let face = Point::new((d * x - c * y) / determinant, (a * y - b * x) / determinant);
    face.is_finite().then(|| Point::new(side.sign() * face.x, face.y))
}

fn check_settings(input: &FrameInput) -> Result<(), FrameError> {
    let ErrorModel { landmark_mm, edge_mm, caliper_mm, yaw_deg } = input.errors;
    let errors_fit =
        [landmark_mm, edge_mm, caliper_mm, yaw_deg].iter().all(|sd| (0.0..=ERROR_LIMIT).contains(sd));
    if errors_fit && (-NUDGE_LIMIT..=NUDGE_LIMIT).contains(&input.roll_nudge) {
        Ok(())
    } else {
        Err(FrameError::BadSetting)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Millimetres of a plain face, face frame.
    fn plain_face() -> Vec<(Landmark, f64, f64)> {
        let mut face = vec![
            (Landmark::BridgeUpper, 0.0, -2.0),
            (Landmark::BridgeLower, 0.0, -14.0),
            (Landmark::RulerStart, -20.0, 45.0),
            (Landmark::RulerEnd, 30.0, 45.0),
        ];
        for side in Side::BOTH {
            let x = side.sign();
            face.extend([
                (Landmark::Pupil(side), 31.0 * x, 1.0),
                (Landmark::InnerCorner(side), 16.0 * x, 0.0),
                (Landmark::OuterCorner(side), 44.0 * x, 1.5),
                (Landmark::IrisInner(side), 25.15 * x, 1.0),
                (Landmark::IrisOuter(side), 36.85 * x, 1.0),
                (Landmark::Nostril(side), 18.0 * x, -38.0),
            ]);
        }
        face
    }

    /// The plain face photographed with this roll at 4 px per mm.
    fn photo(roll: f64, mirrored: bool) -> FrameInput {
        let place = |(landmark, x, y): (Landmark, f64, f64)| {
            let turned = DVec2::from_angle(roll).rotate(DVec2::new(x, y)) * 4.0;
            let x = if mirrored { -turned.x } else { turned.x };
            (landmark, ImagePoint::new(500.0 + x, 700.0 - turned.y))
        };
        let landmarks = plain_face().into_iter().map(place).collect();
        FrameInput { landmarks, mirrored, ruler_mm: Some(50.0), ..FrameInput::default() }
    }

    #[test]
    fn millimetres_come_back_whatever_roll_and_mirror() {
        for mirrored in [false, true] {
            for roll in [-0.3, 0.0, 0.1] {
                let input = photo(roll, mirrored);
                let frame = estimate_frame(&input).expect("a whole face");
                assert!((frame.roll() - roll).abs() < 1e-12, "positive where her left sits higher");
                assert!((frame.px_per_mm() - 4.0).abs() < 1e-12);
                assert!(frame.midpoint_spread_mm() < 1e-9);
                for (landmark, x, y) in plain_face() {
                    let at = frame.landmark_in_face(landmark).expect("it was placed");
                    assert!((at.x - x).hypot(at.y - y) < 1e-9, "{landmark:?}");
                    let image = input.landmarks[&landmark];
                    let side = landmark.side().unwrap_or(Side::Left);
                    let there = frame.side_from_image(side, image);
                    assert!((there.x - side.sign() * x).abs() < 1e-9 && (there.y - y).abs() < 1e-9);
                    let back = frame.image_from_side(side, there);
                    assert!((back.x_px - image.x_px).hypot(back.y_px - image.y_px) < 1e-9);
                }
            }
        }
    }

    #[test]
    fn a_positive_nudge_raises_her_left() {
        let mut input = photo(0.05, false);
        input.roll_nudge = 0.02;
        // The iris is measured along the frame's x, so a turned frame makes it a hair narrower.
        input.use_iris = false;
        let frame = estimate_frame(&input).expect("a whole face");
        assert!((frame.roll() - 0.03).abs() < 1e-12);
        assert!((frame.roll_of_eyes().expect("eyes") - 0.05).abs() < 1e-12);
        let height = |side| frame.landmark_in_side(Landmark::Pupil(side)).expect("a pupil").y;
        let raised = height(Side::Left) - height(Side::Right);
        assert!((raised - 62.0 * 0.02_f64.sin()).abs() < 1e-9, "{raised}");
    }

    #[test]
    fn the_bridge_line_can_be_called_upright() {
        let mut input = photo(0.0, false);
        // The bridge leans towards her left by 0.1 rad; eyes stay level.
        input.landmarks.insert(Landmark::BridgeUpper, ImagePoint::new(500.0 + 4.0 * 1.2, 708.0));
        input.roll_from = RollSource::Bridge;
        let frame = estimate_frame(&input).expect("a whole face");
        let lean = (1.2_f64 / 12.0).atan();
        assert!((frame.roll() + lean).abs() < 1e-12, "leaning to her left lowers her left: {}", frame.roll());
        input.landmarks.remove(&Landmark::BridgeLower);
        let missing = vec![Landmark::BridgeLower];
        assert_eq!(estimate_frame(&input), Err(FrameError::Missing { landmarks: missing }));
    }

    #[test]
    fn inner_corners_and_one_scale_are_enough() {
        let mut input = photo(0.1, false);
        input.landmarks.retain(|landmark, _| {
            matches!(landmark, Landmark::InnerCorner(_) | Landmark::RulerStart | Landmark::RulerEnd)
        });
        let frame = estimate_frame(&input).expect("the least there can be");
        assert!((frame.roll() - 0.1).abs() < 1e-12);
        let whole = estimate_frame(&photo(0.1, false)).expect("a whole face");
        assert!(frame.sd(FrameErrorTerm::Roll) > 2.0 * whole.sd(FrameErrorTerm::Roll));
        // By hand: two points 32 mm apart, 0.3 mm each.
        let by_hand = 0.3 * 2.0_f64.sqrt() / 32.0;
        assert!((frame.sd(FrameErrorTerm::Roll) - by_hand).abs() < 1e-12);
    }

    #[test]
    fn impossible_points_and_scales_are_refused_by_name() {
        use Landmark::{InnerCorner, IrisInner, IrisOuter, OuterCorner, Pupil, RulerEnd, RulerStart};
        let (right, left) = (Side::Right, Side::Left);
        let refused = |change: &dyn Fn(&mut FrameInput)| {
            let mut input = photo(0.05, false);
            change(&mut input);
            estimate_frame(&input).expect_err("it must be refused")
        };
        let swap = |input: &mut FrameInput, a: Landmark, b: Landmark| {
            let (at, there) = (input.landmarks[&a], input.landmarks[&b]);
            input.landmarks.insert(a, there);
            input.landmarks.insert(b, at);
        };
        assert_eq!(
            refused(&|input| input.landmarks.retain(|&landmark, _| landmark != InnerCorner(left))),
            FrameError::Missing { landmarks: vec![InnerCorner(left)] }
        );
        assert_eq!(
            refused(&|input| {
                input.landmarks.insert(Pupil(left), ImagePoint::new(f64::NAN, 1.0));
            }),
            FrameError::NotFinite { landmark: Pupil(left) }
        );
        assert_eq!(
            refused(&|input| {
                let at = input.landmarks[&Pupil(right)];
                input.landmarks.insert(OuterCorner(right), at);
            }),
            FrameError::Coincident { one: Pupil(right), other: OuterCorner(right) }
        );
        assert_eq!(
            refused(&|input| {
                let at = input.landmarks[&RulerStart];
                input.landmarks.insert(RulerEnd, at);
            }),
            FrameError::Coincident { one: RulerStart, other: RulerEnd }
        );
        assert_eq!(
            refused(&|input| swap(input, Pupil(right), Pupil(left))),
            FrameError::Swapped { right: Pupil(right), left: Pupil(left) }
        );
        assert_eq!(refused(&|input| input.mirrored = true), FrameError::AllSwapped);
        assert_eq!(
            refused(&|input| swap(input, IrisInner(left), IrisOuter(left))),
            FrameError::WrongOrder { first: IrisInner(left), second: IrisOuter(left) }
        );
        assert_eq!(
            refused(&|input| swap(input, Landmark::BridgeUpper, Landmark::BridgeLower)),
            FrameError::WrongOrder { first: Landmark::BridgeUpper, second: Landmark::BridgeLower }
        );
        assert_eq!(
            refused(&|input| {
                input.ruler_mm = None;
                input.use_iris = false;
            }),
            FrameError::NoScale
        );
        for mm in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(
                refused(&|input| input.ruler_mm = Some(mm)),
                FrameError::BadScale { kind: ScaleKind::Ruler }
            );
        }
        assert!(matches!(
            refused(&|input| input.ruler_mm = Some(20.0)),
            FrameError::ContradictoryScales { one: ScaleKind::Ruler, other: ScaleKind::Iris, .. }
        ));
        assert_eq!(refused(&|input| input.roll_nudge = f64::NAN), FrameError::BadSetting);
        assert_eq!(refused(&|input| input.errors.landmark_mm = -0.1), FrameError::BadSetting);
    }

    #[test]
    fn one_iris_scale_is_seven_per_cent() {
        let mut input = photo(0.0, false);
        input.ruler_mm = None;
        input.errors.landmark_mm = 0.0;
        let frame = estimate_frame(&input).expect("a whole face");
        // Rüfer 2005: 0.42 / 11.7 = 3.6 % (1 SD).
        assert!((frame.sd(FrameErrorTerm::LnScale) - 0.0359).abs() < 1e-4);
    }
}
