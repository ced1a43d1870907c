//! What a person is offered to take: landmarks and the edge of the brow hair, each with how far off it may be.

use counterpoise_geometry::{PerSide, Side};
use kurbo::{Affine, Point, Vec2};
use serde::Serialize;

use crate::face::{Face, PUPILS_MM};
use crate::hair::{HairDoubt, find_hair};
use crate::picture::Picture;
use crate::seed::first_outline;

/// A landmark as a first guess.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FacePoint {
    /// The id of the plan's landmark.
    pub id: String,
    /// px from the left edge.
    pub x_px: f64,
    /// px from the top edge.
    pub y_px: f64,
    /// 1 SD in each direction, px.
    pub sd_px: f64,
    /// True where the guess is only a place to start from: it is always to be placed by a person.
    pub is_seed: bool,
}

/// The edge of a brow's hair as a first guess.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BrowHair {
    /// A closed line, px.
    pub outline_px: Vec<[f64; 2]>,
    /// 1 SD across the line, px; at the front and the tail it is several times that.
    pub sd_px: f64,
    /// Its innermost, highest and outermost place, px: front, arch and tail, which the hair says least of and a person always checks.
    pub front_px: [f64; 2],
    /// See `front_px`.
    pub arch_px: [f64; 2],
    /// See `front_px`.
    pub tail_px: [f64; 2],
    /// Why it is to be looked at closely; empty where nothing speaks against it.
    pub doubts: Vec<HairDoubt>,
    /// CIE L* of the skin around it, 0 to 100.
    pub skin_lightness: f64,
}

/// All that is guessed of a face.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Guess {
    /// Landmarks.
    pub points: Vec<FacePoint>,
    /// How sure the network is that this is a face, 0 to 1.
    pub score: f64,
    /// Each brow's hair; none where it was not found.
    pub brows: PerSide<Option<BrowHair>>,
}

/// One point that is taken from the network.
struct Taken {
    /// The landmark without its side.
    name: &'static str,
    /// 1 SD, mm: the median error in the plane over 1.18 (Rayleigh) on that set, rounded up.
    sd_mm: f64,
    is_seed: bool,
}

/// In the order of the face's own points of a side.
const TAKEN: [Taken; 6] = [
    Taken { name: "pupil", sd_mm: 0.4, is_seed: false },
    Taken { name: "inner_corner", sd_mm: 0.9, is_seed: false },
    Taken { name: "outer_corner", sd_mm: 1.0, is_seed: false },
    Taken { name: "iris_inner", sd_mm: 0.5, is_seed: false },
    Taken { name: "iris_outer", sd_mm: 0.5, is_seed: false },
    Taken { name: "nostril", sd_mm: 1.5, is_seed: true },
];
/// The two points of the bridge. Seeds, since nothing there has an edge.
const BRIDGE: [&str; 2] = ["bridge_upper", "bridge_lower"];
const BRIDGE_SD_MM: f64 = 1.5;
/// Half of the brows of that set lie within 0.42 mm of the outlines that were checked by eye, on average along the line, and 95 % within 1.3.
const EDGE_SD_MM: f64 = 0.6;
/// Which of a side's points are of the eye: pupil, inner and outer corner.
const EYE: [usize; 3] = [0, 1, 2];

impl Face {
    /// Landmarks and hair. `picture` is the one that was looked at.
    #[must_use]
    pub fn guess(&self, picture: &Picture) -> Guess {
        Guess { points: self.points(), score: self.score(), brows: self.brows(picture) }
    }

    /// Its landmarks.
    #[must_use]
    pub fn points(&self) -> Vec<FacePoint> {
        let px_per_mm = self.px_per_mm();
        let point = |id: String, at: Point, sd_mm: f64, is_seed: bool| FacePoint {
            id,
            x_px: at.x,
            y_px: at.y,
            sd_px: sd_mm * px_per_mm,
            is_seed,
        };
        let of_side = |side: Side| {
            let points = TAKEN.iter().zip(self.side_points(side));
            points.map(move |(taken, at)| (format!("{}.{}", taken.name, side.name()), at, taken))
        };
        let sides = Side::BOTH.into_iter().flat_map(of_side);
        let bridge = BRIDGE.iter().zip(self.bridge());
        sides
            .map(|(id, at, taken)| point(id, at, taken.sd_mm, taken.is_seed))
            .chain(bridge.map(|(id, at)| point((*id).to_owned(), at, BRIDGE_SD_MM, true)))
            .collect()
    }

    /// The hair of each brow. `picture` is the one that was looked at.
    #[must_use]
    pub fn brows(&self, picture: &Picture) -> PerSide<Option<BrowHair>> {
        PerSide::from_fn(|side| {
            let to_image = self.to_image(side);
            let to_mm = to_image.inverse();
            let rows = self.brow_rows(side).map(|row| row.map(|at| to_mm * at));
            let hair = find_hair(picture, to_image, &first_outline(&rows))?;
            let px = |at: &Point| {
                let at = to_image * *at;
                [at.x, at.y]
            };
            let line = hair.outline.points();
            let most =
                |value: fn(&Point) -> f64| line.iter().max_by(|a, b| value(a).total_cmp(&value(b))).map(px);
            Some(BrowHair {
                outline_px: line.iter().map(px).collect(),
                front_px: most(|at| -at.x)?,
                arch_px: most(|at| at.y)?,
                tail_px: most(|at| at.x)?,
                sd_px: EDGE_SD_MM * self.px_per_mm(),
                doubts: hair.doubts,
                skin_lightness: hair.skin_lightness,
            })
        })
    }

    fn px_per_mm(&self) -> f64 {
        let [right, left] = Side::BOTH.map(|side| self.side_points(side)[0]);
        (left - right).hypot() / PUPILS_MM
    }

    /// From a side's `(out, up)` in mm to px of the picture, by the eyes alone: level along pupils and corners, the middle between them, height 0 at the
    /// inner corners.
    fn to_image(&self, side: Side) -> Affine {
        let (own, other) = (self.side_points(side), self.side_points(side.other()));
        let out: Vec2 = EYE.into_iter().map(|k| own[k] - other[k]).sum();
        let out = out.normalize();
        let middle = |k: usize| own[k].midpoint(other[k]);
        let corners = middle(1);
        let off: f64 = EYE.into_iter().map(|k| (middle(k) - corners).dot(out)).sum();
        let centre = corners + off / EYE.len() as f64 * out;
        // Up is to the left of who looks to the picture's right, and the other way.
        let up = if self.is_on_right(side) { Vec2::new(out.y, -out.x) } else { Vec2::new(-out.y, out.x) };
        let (out, up) = (self.px_per_mm() * out, self.px_per_mm() * up);
        Affine::new([out.x, out.y, up.x, up.y, centre.x, centre.y])
    }
}
