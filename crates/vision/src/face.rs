//! Landmarks from what the network says of a face.

use counterpoise_geometry::{PerSide, Side};
use kurbo::{Affine, Point, Vec2};
use serde::Serialize;

use crate::hair::{HairDoubt, find_hair};
use crate::network::Network;
use crate::picture::{Picture, PixelMap};
use crate::seed::{BrowRows, first_outline};

/// What the face network is asked for: all points of the face, both eyes looked at closer, both irises, and whether there is a face.
pub const OUTPUTS: [&str; 6] = [
    "output_mesh_identity",
    "output_left_eye",
    "output_right_eye",
    "output_left_iris",
    "output_right_iris",
    "conv_faceflag",
];

/// The square that the network looks at, in distances between the pupils: its width, and how far its middle lies below theirs. The crop that the
/// network was measured with (this project's study on the Face Research Lab London Set).
const SQUARE_WIDTH: f64 = 3.2;
const SQUARE_BELOW: f64 = 0.5;
/// Mean distance between the pupils, mm: 61.8 on the 102 faces of that set by their irises; only 1 SD of each point hangs on it.
const PUPILS_MM: f64 = 61.8;
/// The network's iris sits lower than its centre by this, in distances between the pupils: 0.73 mm in the 26 faces of even place in the half
/// of that set that is at hand.
const IRIS_LOWER: f64 = 0.73 / PUPILS_MM;
/// Its corners of the eyes sit higher than where they were marked by hand, by 0.45 mm in the same faces (0.43 mm in the others).
const CORNERS_HIGHER: f64 = 0.45 / PUPILS_MM;
/// A face is there where the network's score is at least this: a chance of one half.
const FACE_SCORE: f64 = 0.0;
/// Pupils nearer than this are no face to measure, px.
const LEAST_PUPILS_PX: f64 = 24.0;
/// Pupils that move by more than this share of their distance were not where they had been said to be: the square is laid anew.
const MOVED: f64 = 0.003;

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

/// The face that was found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FacePoints {
    /// Landmarks.
    pub points: Vec<FacePoint>,
    /// How sure the network is that this is a face, 0 to 1.
    pub score: f64,
}

/// Why there are no points.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoFace {
    /// The pupils that were given are too close together, far outside, or no numbers.
    Pupils,
    /// The network sees no face there.
    NotSeen,
    /// An eye is as good as closed, so that its pupil cannot be seen.
    EyesClosed,
    /// The head is turned so far that sideways distances say nothing.
    Turned,
    /// The network is another one.
    OtherNetwork,
}

impl NoFace {
    /// The name in messages.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            NoFace::Pupils => "pupils",
            NoFace::NotSeen => "not_seen",
            NoFace::EyesClosed => "eyes_closed",
            NoFace::Turned => "turned",
            NoFace::OtherNetwork => "other_network",
        }
    }
}

/// One point that is taken from the network.
struct Taken {
    /// The landmark without its side.
    name: &'static str,
    /// 1 SD, mm: the median error in the plane over 1.18 (Rayleigh) on that set, rounded up.
    sd_mm: f64,
    is_seed: bool,
}

/// In the order of [`Seen::points`].
const TAKEN: [Taken; 6] = [
    Taken { name: "pupil", sd_mm: 0.4, is_seed: false },
    Taken { name: "inner_corner", sd_mm: 0.9, is_seed: false },
    Taken { name: "outer_corner", sd_mm: 1.0, is_seed: false },
    Taken { name: "iris_inner", sd_mm: 0.5, is_seed: false },
    Taken { name: "iris_outer", sd_mm: 0.5, is_seed: false },
    Taken { name: "nostril", sd_mm: 1.5, is_seed: true },
];
/// The two points of the bridge, by MediaPipe's count of all points: between the eyes, and where the bone ends. Seeds, since nothing there has
/// an edge.
const BRIDGE: [(&str, usize); 2] = [("bridge_upper", 168), ("bridge_lower", 197)];
const BRIDGE_SD_MM: f64 = 1.5;
/// Half of the brows of that set lie within 0.47 mm of the outlines that were checked by eye, on average along the line.
const EDGE_SD_MM: f64 = 0.6;
/// The wings of the nose, by the same count, on the picture's left and right.
const WINGS: [usize; 2] = [48, 278];
/// Points of an eye, by its own count: outer and inner corner, and the lids at its middle.
const OUTER: usize = 0;
const INNER: usize = 8;
const LIDS: [usize; 2] = [4, 12];
/// Points along the hair of the brow, by the same count as the eye's: the upper row and the lower one, each from the tail to the front.
const BROW_ROWS: [[usize; 5]; 2] = [[64, 65, 66, 67, 68], [50, 51, 52, 53, 69]];
/// Lids nearer than this share of the eye's width show no pupil: open eyes have about a third, a blink a twentieth (judgement).
const CLOSED: f64 = 0.12;
/// The bridge may stand so far from the middle of the outer corners, of their distance: a turn of about 25° (judgement).
const TURNED: f64 = 0.16;

/// One side of the face, px of the picture.
#[derive(Clone, Copy)]
struct Seen {
    /// Pupil, inner and outer corner, inner and outer rim of the iris, wing of the nose.
    points: [Point; 6],
    /// Opening of the lids over the width of the eye.
    open: f64,
    /// The rows of [`BROW_ROWS`], px.
    brow: BrowRows,
}

/// What the network said.
struct Answer {
    /// On the picture's left and right.
    sides: [Seen; 2],
    bridge: [Point; 2],
    score: f64,
}

impl Answer {
    fn is_finite(&self) -> bool {
        let points = self.sides.iter().flat_map(|side| side.points).chain(self.bridge);
        self.score.is_finite() && points.into_iter().all(Point::is_finite)
    }
}

/// A face as the network sees it on a picture.
pub struct Face {
    answer: Answer,
    mirrored: bool,
}

impl Face {
    /// The face whose pupils are near these places, px: that on the picture's left first. `mirrored` says that the photo shows her as in a
    /// mirror, so that her right is on the picture's right.
    ///
    /// # Errors
    /// Why it cannot be used.
    pub fn look(
        network: &Network,
        picture: &Picture,
        pupils: [Point; 2],
        mirrored: bool,
    ) -> Result<Face, NoFace> {
        let mut at = pupils;
        let mut answer = ask(network, picture, at)?;
        // Taps may be off, and so may be what was only guessed: what the network sees itself is a better square.
        let seen = answer.sides.map(|side| side.points[0]);
        let apart = (at[1] - at[0]).hypot();
        if (0..2).any(|side| (seen[side] - at[side]).hypot() > MOVED * apart) {
            at = seen;
            answer = ask(network, picture, at)?;
        }
        checked(&answer)?;
        Ok(Face { answer, mirrored })
    }

    /// Its landmarks.
    #[must_use]
    pub fn points(&self) -> FacePoints {
        points(&self.answer, self.mirrored)
    }

    /// The hair of each brow. `picture` is the one that was looked at.
    #[must_use]
    pub fn brows(&self, picture: &Picture) -> PerSide<Option<BrowHair>> {
        PerSide::from_fn(|side| {
            let to_image = self.to_image(side);
            let to_mm = to_image.inverse();
            let rows = self.brow_rows(side).map(|row| row.map(|at| to_mm * at));
            let hair = find_hair(picture, to_image, &first_outline(&rows))?;
            Some(BrowHair {
                outline_px: hair.outline.points().iter().map(|at| xy(to_image * *at)).collect(),
                sd_px: EDGE_SD_MM * self.px_per_mm(),
                doubts: hair.doubts,
                skin_lightness: hair.skin_lightness,
            })
        })
    }

    /// What the network itself says of a brow, px: an upper and a lower row, each from the tail to the front. A place to begin to look for hair, no more.
    #[must_use]
    pub fn brow_rows(&self, side: Side) -> [[Point; 5]; 2] {
        self.on_picture(side).brow
    }

    /// The half of the picture on which a side is seen.
    fn on_picture(&self, side: Side) -> &Seen {
        &self.answer.sides[usize::from((side == Side::Left) != self.mirrored)]
    }

    fn px_per_mm(&self) -> f64 {
        let [left, right] = [0, 1].map(|k| self.answer.sides[k].points[0]);
        (right - left).hypot() / PUPILS_MM
    }

    /// From a side's `(out, up)` in mm to px of the picture, by the eyes alone: level along pupils and corners, the middle between them, height 0 at the
    /// inner corners.
    fn to_image(&self, side: Side) -> Affine {
        const EYE: [usize; 3] = [0, 1, 2];
        let [left, right] = &self.answer.sides;
        let along: Vec2 = EYE.into_iter().map(|k| right.points[k] - left.points[k]).sum();
        let along = along.normalize();
        let middle = |k: usize| left.points[k].midpoint(right.points[k]);
        let corners = middle(1);
        let off: f64 = EYE.into_iter().map(|k| (middle(k) - corners).dot(along)).sum();
        let centre = corners + off / EYE.len() as f64 * along;
        let scale = self.px_per_mm();
        let is_right_of_picture = (side == Side::Left) != self.mirrored;
        let out = scale * if is_right_of_picture { along } else { -along };
        let up = scale * Vec2::new(along.y, -along.x);
        Affine::new([out.x, out.y, up.x, up.y, centre.x, centre.y])
    }
}

const fn xy(at: Point) -> [f64; 2] {
    [at.x, at.y]
}

/// The edge of a brow's hair as a first guess.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BrowHair {
    /// A closed line, px.
    pub outline_px: Vec<[f64; 2]>,
    /// 1 SD across the line, px; at the front and the tail it is several times that.
    pub sd_px: f64,
    /// Why it is to be looked at closely; empty where nothing speaks against it.
    pub doubts: Vec<HairDoubt>,
    /// CIE L* of the skin around it, 0 to 100.
    pub skin_lightness: f64,
}

/// Distances between the pupils that a face in the middle of a photo may have, of the photo's width: from the whole head with shoulders to eyes and
/// brows alone.
const APART: [f64; 4] = [0.12, 0.19, 0.29, 0.42];
/// Heights of the eyes in the photo, of its height from the top.
const EYES_AT: [f64; 3] = [0.34, 0.44, 0.55];
/// A guess that leads to the same place again is the face; some guesses take a step or two more.
const STEPS: usize = 3;

/// Where the pupils of a face in the middle of a photo are, px, that on the picture's left first: the square is tried in several sizes and heights,
/// and laid anew where the network sees eyes, until it stays.
///
/// # Errors
/// Where no face is seen.
pub fn find_pupils(network: &Network, picture: &Picture) -> Result<[Point; 2], NoFace> {
    let [height, width, depth] = network.input_shape();
    if height != width || depth != 3 {
        return Err(NoFace::OtherNetwork);
    }
    let [across, down] = picture.size().map(|px| px as f64);
    let look = |pupils: [Point; 2]| {
        let map = square_map(pupils[0], pupils[1] - pupils[0], width as f64);
        ask_once(network, picture, width, map, false)
    };
    let mut best: Option<Answer> = None;
    for (apart, up) in APART.iter().flat_map(|apart| EYES_AT.map(|up| (*apart, up))) {
        let pupils = [-0.5, 0.5].map(|side| Point::new(across * (0.5 + side * apart), down * up));
        let answer = look(pupils)?;
        if answer.is_finite() && best.as_ref().is_none_or(|best| answer.score > best.score) {
            best = Some(answer);
        }
    }
    let mut best = best.filter(|best| best.score >= FACE_SCORE).ok_or(NoFace::NotSeen)?;
    for _ in 0..STEPS {
        let pupils = best.sides.map(|side| side.points[0]);
        if (pupils[1] - pupils[0]).hypot() < LEAST_PUPILS_PX {
            return Err(NoFace::NotSeen);
        }
        best = look(pupils)?;
        if !best.is_finite() || best.score < FACE_SCORE {
            return Err(NoFace::NotSeen);
        }
    }
    Ok(best.sides.map(|side| side.points[0]))
}

/// Asks the network about the picture and about its mirror image, and takes the mean: it is trained on faces either way round and still leans a
/// little, by up to a millimetre, which this takes away for the price of a second run.
fn ask(network: &Network, picture: &Picture, [left, right]: [Point; 2]) -> Result<Answer, NoFace> {
    let [height, width, depth] = network.input_shape();
    if height != width || depth != 3 {
        return Err(NoFace::OtherNetwork);
    }
    let across = right - left;
    let size = picture.size().map(|px| px as f64);
    let is_near = |at: Point| (0.0..=size[0]).contains(&at.x) && (0.0..=size[1]).contains(&at.y);
    if !(is_near(left) && is_near(right) && across.hypot() >= LEAST_PUPILS_PX) {
        return Err(NoFace::Pupils);
    }
    let side = width as f64;
    let map = square_map(left, across, side);
    let mirror = Affine::new([-1.0, 0.0, 0.0, 1.0, side, 0.0]);
    let straight = ask_once(network, picture, width, map, false)?;
    let mirrored = ask_once(network, picture, width, map * mirror, true)?;
    let both = |one: Point, other: Point| one.midpoint(other);
    let side = |k: usize| {
        let (one, other) = (&straight.sides[k], &mirrored.sides[k]);
        let mut points = one.points;
        points.iter_mut().zip(other.points).for_each(|(one, other)| *one = both(*one, other));
        let brow = [0, 1].map(|row| [0, 1, 2, 3, 4].map(|k| both(one.brow[row][k], other.brow[row][k])));
        Seen { points, open: 0.5 * (one.open + other.open), brow }
    };
    let answer = Answer {
        sides: [side(0), side(1)],
        bridge: [0, 1].map(|k| both(straight.bridge[k], mirrored.bridge[k])),
        score: 0.5 * (straight.score + mirrored.score),
    };
    if answer.is_finite() && answer.score >= FACE_SCORE { Ok(answer) } else { Err(NoFace::NotSeen) }
}

/// One run. `map` leads from the network's square to the picture; where it mirrors, the network's left is the picture's right.
fn ask_once(
    network: &Network,
    picture: &Picture,
    side: usize,
    map: PixelMap,
    is_mirror: bool,
) -> Result<Answer, NoFace> {
    let values = network.run(&picture.square(side, map)).map_err(|_| NoFace::OtherNetwork)?;
    let Ok([mesh, left_eye, right_eye, left_iris, right_iris, flag]) = <[Vec<f32>; 6]>::try_from(values)
    else {
        return Err(NoFace::OtherNetwork);
    };
    let placed = |numbers: &[f32], step: usize| -> Vec<Point> {
        let place = |at: &[f32]| map * Point::new(f64::from(at[0]), f64::from(at[1]));
        numbers.chunks_exact(step).map(place).collect()
    };
    let mesh = placed(&mesh, 3);
    let mut eyes = [placed(&left_eye, 2), placed(&right_eye, 2)];
    let mut irises = [placed(&left_iris, 2), placed(&right_iris, 2)];
    let is_whole = mesh.len() == 468
        && eyes.iter().all(|eye| eye.len() == 71)
        && irises.iter().all(|iris| iris.len() == 5);
    if !is_whole {
        return Err(NoFace::OtherNetwork);
    }
    let mut wings = WINGS.map(|index| mesh[index]);
    if is_mirror {
        eyes.swap(0, 1);
        irises.swap(0, 1);
        wings.swap(0, 1);
    }
    let across = irises[1][0] - irises[0][0];
    let down = Vec2::new(-across.y, across.x);
    let seen = |k: usize| {
        let (eye, iris) = (&eyes[k], &irises[k]);
        let pupil = iris[0] - IRIS_LOWER * down;
        let [inner, outer] = [INNER, OUTER].map(|corner| eye[corner] + CORNERS_HIGHER * down);
        let inward = (if k == 0 { across } else { -across }).normalize();
        let rim = |way: Vec2| {
            let reach = iris.iter().map(|at| (*at - iris[0]).dot(way)).fold(0.0, f64::max);
            pupil + reach * way
        };
        Seen {
            points: [pupil, inner, outer, rim(inward), rim(-inward), wings[k]],
            open: (eye[LIDS[1]] - eye[LIDS[0]]).hypot() / (eye[INNER] - eye[OUTER]).hypot(),
            brow: BROW_ROWS.map(|row| row.map(|index| eye[index])),
        }
    };
    Ok(Answer {
        sides: [seen(0), seen(1)],
        bridge: BRIDGE.map(|(_, index)| mesh[index]),
        score: f64::from(flag.first().copied().unwrap_or(f32::NEG_INFINITY)),
    })
}

/// From px of the network's square to px of the picture.
fn square_map(left: Point, across: Vec2, side: f64) -> PixelMap {
    let down = Vec2::new(-across.y, across.x);
    let centre = left + 0.5 * across + SQUARE_BELOW * down;
    let scale = SQUARE_WIDTH / side;
    let (x, y) = (across * scale, down * scale);
    let origin = centre - 0.5 * side * (x + y);
    Affine::new([x.x, x.y, y.x, y.y, origin.x, origin.y])
}

/// Refuses faces whose points would mislead.
fn checked(answer: &Answer) -> Result<(), NoFace> {
    if answer.sides.iter().any(|side| side.open < CLOSED) {
        return Err(NoFace::EyesClosed);
    }
    let [left, right] = [0, 1].map(|k| answer.sides[k].points[2]);
    let across = right - left;
    let off = (answer.bridge[0] - left.midpoint(right)).dot(across) / across.hypot2();
    if off.abs() > TURNED { Err(NoFace::Turned) } else { Ok(()) }
}

fn points(answer: &Answer, mirrored: bool) -> FacePoints {
    let [left, right] = [0, 1].map(|k| answer.sides[k].points[0]);
    let px_per_mm = (right - left).hypot() / PUPILS_MM;
    let point = |id: String, at: Point, sd_mm: f64, is_seed: bool| FacePoint {
        id,
        x_px: at.x,
        y_px: at.y,
        sd_px: sd_mm * px_per_mm,
        is_seed,
    };
    let mut points = Vec::new();
    for (k, side) in answer.sides.iter().enumerate() {
        let name = if (k == 0) == mirrored { "left" } else { "right" };
        let of_side = TAKEN.iter().zip(side.points);
        points.extend(
            of_side
                .map(|(taken, at)| point(format!("{}.{name}", taken.name), at, taken.sd_mm, taken.is_seed)),
        );
    }
    points.extend(
        BRIDGE.iter().zip(answer.bridge).map(|((id, _), at)| point((*id).to_owned(), at, BRIDGE_SD_MM, true)),
    );
    FacePoints { points, score: 1.0 / (1.0 + (-answer.score).exp()) }
}
