//! The face in millimetres: where everything lies that is measured. The picture is drawn from these numbers, so they
//! are known exactly. An invented face; sizes lie near the means of published anthropometry (see the test).

use super::curve::{self, P};
use super::person::Person;

/// Width and height of the picture, px.
pub const SIZE_PX: u32 = 2400;
/// Scale of the picture, px per mm.
pub const PX_PER_MM: f64 = 9.0;
/// Her head is turned by this much in the picture, degrees; positive where the client's left sits higher.
pub const ROLL_DEG: f64 = 1.2;
/// Where the face frame's origin lies in the picture, px: centre line ∩ line through the inner eye corners.
pub const ORIGIN_PX: P = (1200.0, 1092.0);

/// Pupil from the centre line and above the inner-corner line, mm: pupil distance 63.
pub const PUPIL: P = (31.5, 0.5);
/// Radius of the iris, mm: 11.7 across.
pub const IRIS_R: f64 = 5.85;
/// Inner eye corner: 32 mm between the two.
pub const INNER_CORNER: P = (16.0, 0.0);
/// Outer eye corner: 90 mm between the two.
pub const OUTER_CORNER: P = (45.0, 1.6);
/// Nostril corner: 34 mm between the two.
pub const NOSTRIL: P = (17.0, -35.0);
/// Corner of the brow bone.
pub const BONE: P = (42.0, 22.5);
/// Middle of the bridge at its deepest.
pub const BRIDGE_UPPER: P = (0.0, 3.5);
/// Middle of the bridge lower down.
pub const BRIDGE_LOWER: P = (0.0, -17.0);
/// Length between the two end marks of the paper ruler on her forehead, mm.
pub const RULER_MM: f64 = 40.0;
/// Middle of the ruler, mm.
pub const RULER_MIDDLE: P = (0.5, 41.0);
/// It is not quite straight: nobody sticks one on straight. Degrees.
pub const RULER_TURN_DEG: f64 = -2.6;

/// One of her two sides.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Side {
    /// Her own right: left in the picture.
    Right,
    /// Her own left.
    Left,
}

impl Side {
    /// Right first, as everywhere.
    pub const BOTH: [Side; 2] = [Side::Right, Side::Left];

    /// The name in files.
    pub const fn name(self) -> &'static str {
        match self {
            Side::Right => "right",
            Side::Left => "left",
        }
    }

    /// From `(out, up)` to the face frame (x towards her left).
    pub const fn face(self, p: P) -> P {
        match self {
            Side::Right => (-p.0, p.1),
            Side::Left => p,
        }
    }

    /// A whole line from `(out, up)` to the face frame.
    pub fn line(self, points: &[P]) -> Vec<P> {
        points.iter().map(|&p| self.face(p)).collect()
    }
}

/// The affine map from the face frame (mm, y up) to the picture (px, y down), as in SVG's `matrix()`.
pub fn image_from_face() -> [f64; 6] {
    let (sin, cos) = ROLL_DEG.to_radians().sin_cos();
    let s = PX_PER_MM;
    [s * cos, -s * sin, -s * sin, -s * cos, ORIGIN_PX.0, ORIGIN_PX.1]
}

/// A point of the face frame in the picture, px.
pub fn to_image(p: P) -> P {
    let [a, b, c, d, e, f] = image_from_face();
    (a * p.0 + c * p.1 + e, b * p.0 + d * p.1 + f)
}

/// The two end marks of the ruler, face frame.
pub fn ruler_ends() -> [P; 2] {
    let (dx, dy) = curve::at_angle(RULER_TURN_DEG);
    [-0.5, 0.5].map(|share| (RULER_MIDDLE.0 + dx * RULER_MM * share, RULER_MIDDLE.1 + dy * RULER_MM * share))
}

/// Every landmark by its id in plan files, face frame.
pub fn landmarks() -> Vec<(&'static str, P)> {
    use Side::{Left, Right};
    let iris = |out: f64| (PUPIL.0 + out * IRIS_R, PUPIL.1);
    let [ruler_start, ruler_end] = ruler_ends();
    vec![
        ("bone.left", Left.face(BONE)),
        ("bone.right", Right.face(BONE)),
        ("bridge_lower", BRIDGE_LOWER),
        ("bridge_upper", BRIDGE_UPPER),
        ("inner_corner.left", Left.face(INNER_CORNER)),
        ("inner_corner.right", Right.face(INNER_CORNER)),
        ("iris_inner.left", Left.face(iris(-1.0))),
        ("iris_inner.right", Right.face(iris(-1.0))),
        ("iris_outer.left", Left.face(iris(1.0))),
        ("iris_outer.right", Right.face(iris(1.0))),
        ("nostril.left", Left.face(NOSTRIL)),
        ("nostril.right", Right.face(NOSTRIL)),
        ("outer_corner.left", Left.face(OUTER_CORNER)),
        ("outer_corner.right", Right.face(OUTER_CORNER)),
        ("pupil.left", Left.face(PUPIL)),
        ("pupil.right", Right.face(PUPIL)),
        ("ruler_end", ruler_end),
        ("ruler_start", ruler_start),
    ]
}

/// Points around the hair of the demo case's natural brow, `(out, up)`, counter-clockwise from the front of the underside: what all brows are made of.
/// Her right is fuller and 2.4 mm higher at the arch; her left starts 1.5 mm farther out and ends sooner.
pub fn brow_points(side: Side) -> &'static [P] {
    match side {
        Side::Right => &[
            (13.2, 16.4),
            (16.0, 15.9),
            (21.0, 16.9),
            (27.0, 18.7),
            (33.0, 20.2),
            (38.0, 20.9),
            (43.0, 20.6),
            (48.0, 18.9),
            (52.5, 16.5),
            (56.0, 14.5),
            (57.2, 14.7),
            (56.4, 16.3),
            (53.0, 19.5),
            (49.0, 23.1),
            (45.0, 26.3),
            (41.5, 28.0),
            (38.5, 28.5),
            (35.0, 28.2),
            (30.0, 26.9),
            (24.0, 24.8),
            (18.5, 22.9),
            (15.0, 21.9),
            (12.9, 20.7),
            (12.4, 18.5),
        ],
        Side::Left => &[
            (14.8, 15.9),
            (17.5, 15.4),
            (22.0, 16.1),
            (28.0, 17.5),
            (33.0, 18.6),
            (38.0, 19.2),
            (43.0, 18.9),
            (48.0, 17.4),
            (52.0, 15.4),
            (55.0, 13.9),
            (56.0, 14.0),
            (55.4, 15.3),
            (52.4, 18.0),
            (48.3, 21.4),
            (44.5, 24.2),
            (41.0, 25.7),
            (38.0, 26.1),
            (34.5, 25.8),
            (29.5, 24.8),
            (24.0, 23.4),
            (19.5, 22.0),
            (16.5, 21.2),
            (14.4, 20.0),
            (13.9, 17.8),
        ],
    }
}

/// The exact outline of a natural brow: a fine polygon, `(out, up)`, counter-clockwise.
pub fn natural_brow(person: Person, side: Side) -> Vec<P> {
    curve::through(&person.brow_points(side), true, 12)
}

/// Where the underside and the upper edge lie at this distance from the centre line, mm.
pub fn brow_edges(person: Person, side: Side, out: f64) -> Option<(f64, f64)> {
    let ring = natural_brow(person, side);
    let next = ring.iter().cycle().skip(1);
    let mut heights: Vec<f64> = ring
        .iter()
        .zip(next)
        .filter(|(a, b)| (a.0 > out) != (b.0 > out))
        .map(|(a, b)| a.1 + (out - a.0) / (b.0 - a.0) * (b.1 - a.1))
        .collect();
    heights.sort_by(f64::total_cmp);
    Some((*heights.first()?, *heights.last()?))
}
