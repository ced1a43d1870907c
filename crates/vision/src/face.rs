//! Where a face is on a picture, by what the network says of it.

use counterpoise_geometry::Side;
use kurbo::{Affine, Point, Vec2};

use crate::network::Network;
use crate::picture::{Picture, PixelMap};
use crate::seed::BrowRows;

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
/// The outer corners are taken from a wider square, where more of the face is around them: as near in the median, and the farthest are nearer (95th
/// percentile 2.4 mm in place of 2.7 in the faces of even place).
const WIDE_SQUARE: f64 = 4.0;
/// Their place among the points of a side.
const OUTER_CORNER: usize = 2;
/// Mean distance between the pupils, mm: 61.8 on the 102 faces of that set by their irises; a unit
/// that is near enough to a millimetre to say how far off a point may be, and how wide the edge of hair is.
pub(crate) const PUPILS_MM: f64 = 61.8;
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
const MOVED: f64 = 0.02;

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
    /// There are two faces.
    TwoFaces,
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
            NoFace::TwoFaces => "two_faces",
            NoFace::OtherNetwork => "other_network",
        }
    }
}

/// The two points of the bridge, by MediaPipe's count of all points: between the eyes, and where the bone ends.
const BRIDGE: [usize; 2] = [168, 197];
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
    /// The mean of two.
    fn midway(&self, other: &Answer) -> Answer {
        let both = |one: Point, other: Point| one.midpoint(other);
        let side = |k: usize| {
            let (one, other) = (&self.sides[k], &other.sides[k]);
            Seen {
                points: std::array::from_fn(|i| both(one.points[i], other.points[i])),
                open: 0.5 * (one.open + other.open),
                brow: std::array::from_fn(|row| {
                    std::array::from_fn(|i| both(one.brow[row][i], other.brow[row][i]))
                }),
            }
        };
        Answer {
            sides: [side(0), side(1)],
            bridge: std::array::from_fn(|i| both(self.bridge[i], other.bridge[i])),
            score: 0.5 * (self.score + other.score),
        }
    }

    fn pupils(&self) -> [Point; 2] {
        [0, 1].map(|k| self.sides[k].points[0])
    }

    fn is_finite(&self) -> bool {
        let points = self.sides.iter().flat_map(|side| side.points).chain(self.bridge);
        self.score.is_finite() && points.into_iter().all(Point::is_finite)
    }
}

/// Whether pupils are elsewhere than where the square was laid for.
fn moved(from: [Point; 2], to: [Point; 2]) -> bool {
    let apart = (from[1] - from[0]).hypot();
    from.iter().zip(to).any(|(from, to)| from.distance(to) > MOVED * apart)
}

/// A face as the network sees it on a picture.
pub struct Face {
    answer: Answer,
    mirrored: bool,
}

impl Face {
    /// The only face on a picture: that with the client's right and left pupil at these places, px, or the one that is seen where they are not known.
    /// `mirrored` as in [`Face::look`].
    ///
    /// # Errors
    /// Why there is none that can be used.
    pub fn find(
        network: &Network,
        picture: &Picture,
        clients_pupils: Option<[Point; 2]>,
        mirrored: bool,
    ) -> Result<Face, NoFace> {
        let pupils = match clients_pupils {
            Some([right, left]) if mirrored => [left, right],
            Some(pupils) => pupils,
            None => find_pupils(network, picture)?,
        };
        Face::look(network, picture, pupils, mirrored)
    }

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
        let mut answer = ask(network, picture, at, SQUARE_WIDTH)?;
        // Taps may be off, and so may be what was only guessed: what the network sees itself is a better square.
        let seen = answer.pupils();
        if moved(at, seen) {
            at = seen;
            answer = ask(network, picture, at, SQUARE_WIDTH)?;
        }
        let wide = ask(network, picture, at, WIDE_SQUARE)?;
        for (side, wide) in answer.sides.iter_mut().zip(&wide.sides) {
            side.points[OUTER_CORNER] = wide.points[OUTER_CORNER];
        }
        checked(&answer)?;
        Ok(Face { answer, mirrored })
    }

    /// How sure the network is that this is a face, 0 to 1.
    pub(crate) fn score(&self) -> f64 {
        1.0 / (1.0 + (-self.answer.score).exp())
    }

    /// Pupil, inner and outer corner, inner and outer rim of the iris and wing of the nose of a side, px.
    pub(crate) fn side_points(&self, side: Side) -> [Point; 6] {
        self.on_picture(side).points
    }

    /// Two points of the bridge from the top, px.
    pub(crate) fn bridge(&self) -> [Point; 2] {
        self.answer.bridge
    }

    /// What the network itself says of a brow, px: an upper and a lower row, each from the tail to the front. A place to begin to look for hair, no more.
    #[must_use]
    pub fn brow_rows(&self, side: Side) -> [[Point; 5]; 2] {
        self.on_picture(side).brow
    }

    /// Whether a side is seen on the right half of the picture.
    pub(crate) fn is_on_right(&self, side: Side) -> bool {
        (side == Side::Left) != self.mirrored
    }

    fn on_picture(&self, side: Side) -> &Seen {
        &self.answer.sides[usize::from(self.is_on_right(side))]
    }
}

/// Distances between the pupils that a face on a photo may have, of the photo's width, the likely ones first: from the whole head with shoulders to eyes
/// and brows alone.
const APART: [f64; 4] = [0.19, 0.29, 0.12, 0.42];
/// Heights of the eyes in the photo, of its height from the top.
const EYES_AT: [f64; 3] = [0.44, 0.34, 0.55];
/// Where a face may be beside the middle, of the photo's width; only small ones fit there.
const BESIDE: [f64; 2] = [0.25, -0.25];
/// Distances between the pupils that fit beside the middle.
const APART_BESIDE: [f64; 2] = [0.12, 0.19];
/// A guess with this score is surely a face: the faces of that set score about 34, what was taken for one beside them at most 3.3.
const SURE_SCORE: f64 = 10.0;
/// A guess that leads to the same place again is the face; some guesses take a step or two more.
const STEPS: usize = 3;
/// Faces beside one another are this far apart at least, in distances between the pupils: a head is about 2.4 wide.
const NEXT_FACE: f64 = 2.2;
/// Where others are looked for, in the same unit: the first place beside a face, and how far from there to the next.
const BESIDE_FIRST: f64 = 2.8;
const BESIDE_STEP: f64 = 1.6;

/// Where the pupils of the only face on a photo are, px, that on the picture's left first: the square is tried in several places and sizes, and laid
/// anew where the network sees eyes, until it stays.
///
/// # Errors
/// Where no face is seen, or two.
pub fn find_pupils(network: &Network, picture: &Picture) -> Result<[Point; 2], NoFace> {
    let search = Search::of(network, picture)?;
    let [across, down] = picture.size().map(|px| px as f64);
    let middle = APART.iter().flat_map(|apart| EYES_AT.map(|up| (0.0, *apart, up)));
    let beside = BESIDE.iter().flat_map(|aside| APART_BESIDE.map(|apart| (*aside, apart, EYES_AT[0])));
    let mut best: Option<Answer> = None;
    for (aside, apart, up) in middle.chain(beside) {
        let pupils = [-0.5, 0.5].map(|side| Point::new(across * (0.5 + aside + side * apart), down * up));
        if let Some(answer) = search.look(pupils)?
            && best.as_ref().is_none_or(|best| answer.score > best.score)
        {
            best = Some(answer);
        }
        if best.as_ref().is_some_and(|best| best.score >= SURE_SCORE) {
            break;
        }
    }
    let found = search.settled(best.ok_or(NoFace::NotSeen)?)?.ok_or(NoFace::NotSeen)?.pupils();
    if search.is_another_beside(found)? { Err(NoFace::TwoFaces) } else { Ok(found) }
}

/// Looking for eyes where none have been tapped.
struct Search<'a> {
    network: &'a Network,
    picture: &'a Picture<'a>,
    side: usize,
}

impl<'a> Search<'a> {
    fn of(network: &'a Network, picture: &'a Picture<'a>) -> Result<Search<'a>, NoFace> {
        Ok(Search { network, picture, side: side_of(network)? })
    }

    /// What is seen with the square laid for these pupils, where that is a face.
    fn look(&self, pupils: [Point; 2]) -> Result<Option<Answer>, NoFace> {
        let map = square_map(pupils[0], pupils[1] - pupils[0], SQUARE_WIDTH, self.side as f64);
        let square = self.picture.rough_square(self.side, map);
        let answer = ask_once(self.network, &square, map, false)?;
        Ok((answer.is_finite() && answer.score >= FACE_SCORE).then_some(answer))
    }

    /// The face where its pupils stay when the square is laid anew; none where it is lost on the way.
    fn settled(&self, mut answer: Answer) -> Result<Option<Answer>, NoFace> {
        for _ in 0..STEPS {
            let pupils = answer.pupils();
            if (pupils[1] - pupils[0]).hypot() < LEAST_PUPILS_PX {
                return Ok(None);
            }
            let Some(next) = self.look(pupils)? else { return Ok(None) };
            let has_stayed = !moved(pupils, next.pupils());
            answer = next;
            if has_stayed {
                break;
            }
        }
        Ok(Some(answer))
    }

    /// Whether there is another face to the left or right of this one, about as large.
    fn is_another_beside(&self, found: [Point; 2]) -> Result<bool, NoFace> {
        let across = found[1] - found[0];
        let middle = found[0].midpoint(found[1]);
        let width = self.picture.size()[0] as f64;
        let places = (width / (BESIDE_STEP * across.hypot())) as usize;
        let aside =
            (0..places).map(|k| BESIDE_FIRST + BESIDE_STEP * k as f64).flat_map(|aside| [aside, -aside]);
        for aside in aside {
            let pupils = found.map(|at| at + aside * across);
            if !pupils.iter().all(|at| (0.0..width).contains(&at.x)) {
                continue;
            }
            let Some(answer) = self.look(pupils)? else { continue };
            let Some(other) = self.settled(answer)? else { continue };
            let [left, right] = other.pupils();
            let is_elsewhere = left.midpoint(right).distance(middle) > NEXT_FACE * across.hypot();
            if is_elsewhere && other.score >= SURE_SCORE {
                return Ok(true);
            }
        }
        Ok(false)
    }
}

/// Side of the square of colours that the network takes, px.
fn side_of(network: &Network) -> Result<usize, NoFace> {
    let [height, width, depth] = network.input_shape();
    if height == width && depth == 3 { Ok(width) } else { Err(NoFace::OtherNetwork) }
}

/// Asks the network about the picture and about its mirror image, and takes the mean: it is trained on faces either way round and still leans a
/// little, by up to a millimetre, which this takes away for the price of a second run.
fn ask(network: &Network, picture: &Picture, [left, right]: [Point; 2], wide: f64) -> Result<Answer, NoFace> {
    let width = side_of(network)?;
    let across = right - left;
    let size = picture.size().map(|px| px as f64);
    let is_near = |at: Point| (0.0..=size[0]).contains(&at.x) && (0.0..=size[1]).contains(&at.y);
    if !(is_near(left) && is_near(right) && across.hypot() >= LEAST_PUPILS_PX) {
        return Err(NoFace::Pupils);
    }
    let side = width as f64;
    let mirror = Affine::new([-1.0, 0.0, 0.0, 1.0, side, 0.0]);
    let map = square_map(left, across, wide, side);
    let look =
        |map: PixelMap, is_mirror: bool| ask_once(network, &picture.square(width, map), map, is_mirror);
    let answer = look(map, false)?.midway(&look(map * mirror, true)?);
    if answer.is_finite() && answer.score >= FACE_SCORE { Ok(answer) } else { Err(NoFace::NotSeen) }
}

/// One run on a square that was taken out of the picture. `map` leads from there to the picture; where it mirrors, the network's left is the
/// picture's right.
fn ask_once(network: &Network, square: &[f32], map: PixelMap, is_mirror: bool) -> Result<Answer, NoFace> {
    let values = network.run(square).map_err(|_| NoFace::OtherNetwork)?;
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
        bridge: BRIDGE.map(|index| mesh[index]),
        score: f64::from(flag.first().copied().unwrap_or(f32::NEG_INFINITY)),
    })
}

/// From px of the network's square, `wide` distances between the pupils, to px of the picture.
fn square_map(left: Point, across: Vec2, wide: f64, side: f64) -> PixelMap {
    let down = Vec2::new(-across.y, across.x);
    let centre = left + 0.5 * across + SQUARE_BELOW * down;
    let scale = wide / side;
    let (x, y) = (across * scale, down * scale);
    let origin = centre - 0.5 * side * (x + y);
    Affine::new([x.x, x.y, y.x, y.y, origin.x, origin.y])
}

/// Refuses faces whose points would mislead.
fn checked(answer: &Answer) -> Result<(), NoFace> {
    if answer.sides.iter().any(|side| side.open < CLOSED) {
        return Err(NoFace::EyesClosed);
    }
    let [left, right] = [0, 1].map(|k| answer.sides[k].points[OUTER_CORNER]);
    let across = right - left;
    let off = (answer.bridge[0] - left.midpoint(right)).dot(across) / across.hypot2();
    if off.abs() > TURNED { Err(NoFace::Turned) } else { Ok(()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Eyes whose corners are 30 apart and whose lids are open by a share of that; the bridge stands beside the middle.
    fn answer(open: f64, bridge_aside: f64) -> Answer {
        let side = |sign: f64| {
            let at = |x: f64| Point::new(500.0 + sign * x, 400.0);
            Seen {
                points: [at(31.0), at(16.0), at(46.0), at(26.0), at(36.0), at(17.0)],
                open,
                brow: [[at(30.0); 5]; 2],
            }
        };
        let bridge = [Point::new(500.0 + bridge_aside, 400.0), Point::new(500.0 + bridge_aside, 430.0)];
        Answer { sides: [side(-1.0), side(1.0)], bridge, score: 30.0 }
    }

    #[test]
    fn closed_eyes_and_a_turned_head_are_refused() {
        assert_eq!(checked(&answer(0.33, 3.0)), Ok(()));
        assert_eq!(checked(&answer(0.05, 0.0)), Err(NoFace::EyesClosed));
        // One eye is enough: a blink on one side.
        let mut blink = answer(0.33, 0.0);
        blink.sides[1].open = 0.08;
        assert_eq!(checked(&blink), Err(NoFace::EyesClosed));
        for aside in [-20.0, 20.0] {
            assert_eq!(checked(&answer(0.33, aside)), Err(NoFace::Turned));
        }
    }

    /// Whether the photo is mirrored decides which half is whose, and nothing else.
    #[test]
    fn sides_are_the_clients_own() {
        for mirrored in [false, true] {
            let face = Face { answer: answer(0.33, 0.0), mirrored };
            let [right, left] = Side::BOTH.map(|side| face.side_points(side)[0]);
            assert_eq!(right.x < left.x, !mirrored);
            assert_eq!((right.x - 500.0).abs(), (left.x - 500.0).abs());
            assert_eq!(face.points().iter().filter(|point| point.is_seed).count(), 4);
        }
    }
}
