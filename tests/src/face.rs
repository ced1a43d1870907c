//! Real faces with their points: Face Research Lab London Set (DeBruine & Jones 2017, doi 10.6084/m9.figshare.5047666,
//! CC BY 4.0).

use std::path::{Path, PathBuf};

use counterpoise_geometry::{PerSide, Side};
use kurbo::{Affine, Point, Vec2};

use crate::data_dir;

/// A point of the photo, px: x right, y down.
pub type ImageXy = (f64, f64);

/// A photo and where its points are.
pub struct RealFace {
    /// The photo, 1350 × 1350 px, not mirrored: the client's right is on the picture's left.
    pub photo: PathBuf,
    /// Landmarks by the ids of the plan.
    pub landmarks: Vec<(&'static str, ImageXy)>,
    /// A closed smooth line around the client's right brow.
    pub right_brow: Vec<ImageXy>,
    /// A closed smooth line around the client's left brow.
    pub left_brow: Vec<ImageXy>,
    /// From `(out, up)` in mm, the frame of the outlines that come with the photos, to px.
    pub from_mm: PerSide<Affine>,
}

impl RealFace {
    /// The names of all neutral faces, in order; `None` where the data folder is absent.
    ///
    /// # Panics
    /// Where the folder cannot be listed.
    #[must_use]
    pub fn names() -> Option<Vec<String>> {
        let photos = data_dir()?.join("real-brows/photos");
        let entries =
            std::fs::read_dir(&photos).unwrap_or_else(|error| panic!("{}: {error}", photos.display()));
        let mut names: Vec<String> = entries
            .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
            .filter_map(|name| {
                name.strip_suffix(".jpg").filter(|name| name.ends_with("_03")).map(str::to_owned)
            })
            .collect();
        names.sort();
        Some(names)
    }

    /// Where a landmark is, px.
    ///
    /// # Panics
    /// Where the templates do not have it.
    #[must_use]
    pub fn at(&self, id: &str) -> Point {
        let found = self.landmarks.iter().find(|(name, _)| *name == id);
        Point::from(found.unwrap_or_else(|| panic!("no {id}")).1)
    }

    /// Her pupils, that on the picture's left first, px.
    #[must_use]
    pub fn pupils(&self) -> [Point; 2] {
        ["pupil.right", "pupil.left"].map(|id| self.at(id))
    }

    /// The face of this number; `None` where the data folder is absent.
    ///
    /// # Panics
    /// Where the folder is there but the face is not, or its points cannot be read.
    #[must_use]
    pub fn numbered(number: &str) -> Option<RealFace> {
        let photos = data_dir()?.join("real-brows/photos");
        let photo = photos.join(format!("{number}.jpg"));
        assert!(photo.is_file(), "{} is missing", photo.display());
        let points = template(&photos.join(format!("{number}.tem")));
        let at = |index: usize| points.get(index).copied().expect("a template has 189 points");
        let middle = |a: usize, b: usize| ((at(a).0 + at(b).0) / 2.0, (at(a).1 + at(b).1) / 2.0);
        let leftmost = |from: usize, to: usize| outermost(&points, from, to, f64::total_cmp);
        let rightmost = |from: usize, to: usize| outermost(&points, from, to, |a, b| b.total_cmp(a));
        let landmarks = vec![
            ("pupil.right", at(0)),
            ("pupil.left", at(1)),
            ("inner_corner.right", at(22)),
            ("inner_corner.left", at(23)),
            ("outer_corner.right", at(18)),
            ("outer_corner.left", at(27)),
            ("bridge_upper", middle(50, 56)),
            ("bridge_lower", middle(53, 59)),
            ("nostril.right", leftmost(61, 65)),
            ("nostril.left", rightmost(66, 70)),
            ("iris_outer.right", leftmost(2, 9)),
            ("iris_inner.right", rightmost(2, 9)),
            ("iris_inner.left", leftmost(10, 17)),
            ("iris_outer.left", rightmost(10, 17)),
        ];
        // Upper edge from the tail to the front, then the lower edge back.
        let brow = |corners: [usize; 8]| smooth(&corners.map(at));
        Some(RealFace {
            photo,
            landmarks,
            right_brow: brow([71, 72, 73, 74, 75, 76, 84, 83]),
            left_brow: brow([82, 81, 80, 79, 78, 77, 85, 86]),
            from_mm: frame(&points),
        })
    }
}

/// Visible width of an iris, mm, by which the outlines that come with the photos were scaled.
const IRIS_MM: f64 = 11.7;

/// The frame of the outlines that come with the photos: level along pupils and corners of the eyes, in the middle of these and of two pairs on the
/// bridge, height 0 between the inner corners, scaled by the width of the irises.
fn frame(points: &[ImageXy]) -> PerSide<Affine> {
    let at = |index: usize| Point::from(points[index]);
    let width = |from: usize, to: usize| {
        outermost(points, from, to, |a, b| b.total_cmp(a)).0 - outermost(points, from, to, f64::total_cmp).0
    };
    let scale = 0.5 * (width(2, 9) + width(10, 17)) / IRIS_MM;
    let along: Vec2 = [(0, 1), (22, 23), (18, 27)].map(|(a, b)| at(b) - at(a)).into_iter().sum();
    let along = along.normalize();
    let corners = at(22).midpoint(at(23));
    let middles = [(0, 1), (22, 23), (18, 27), (50, 56), (51, 57)].map(|(a, b)| at(a).midpoint(at(b)));
    let off = middles.iter().map(|middle| (*middle - corners).dot(along)).sum::<f64>() / middles.len() as f64;
    let centre = corners + off * along;
    let up = scale * Vec2::new(along.y, -along.x);
    PerSide::from_fn(|side| {
        let out = scale * if side == Side::Left { along } else { -along };
        Affine::new([out.x, out.y, up.x, up.y, centre.x, centre.y])
    })
}

/// Points of a `.tem` file: a count, then so many lines `x y`.
fn template(file: &Path) -> Vec<ImageXy> {
    let text = std::fs::read_to_string(file).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
    let mut lines = text.lines();
    let count: usize = lines.next().and_then(|line| line.trim().parse().ok()).expect("a count of points");
    lines
        .take(count)
        .map(|line| {
            let mut numbers = line.split_whitespace().map(|word| word.parse::<f64>().expect("a number"));
            (numbers.next().expect("x"), numbers.next().expect("y"))
        })
        .collect()
}

fn outermost(
    points: &[ImageXy],
    from: usize,
    to: usize,
    order: impl Fn(&f64, &f64) -> std::cmp::Ordering,
) -> ImageXy {
    let range = points.get(from..=to).expect("a template has 189 points");
    range.iter().copied().min_by(|a, b| order(&a.0, &b.0)).expect("a range with points")
}

/// A closed Catmull-Rom spline through the corners, eight places on each stretch: what a hand draws around the hair.
fn smooth(corners: &[ImageXy]) -> Vec<ImageXy> {
    const PLACES: u32 = 8;
    let n = corners.len();
    let mut line = Vec::new();
    for index in 0..n {
        let [a, b, c, d] = [n - 1, 0, 1, 2].map(|step| corners[(index + step) % n]);
        for place in 0..PLACES {
            let t = f64::from(place) / f64::from(PLACES);
            let blend = |a: f64, b: f64, c: f64, d: f64| {
                0.5 * (2.0 * b
                    + (c - a) * t
                    + (2.0 * a - 5.0 * b + 4.0 * c - d) * t * t
                    + (3.0 * b - a - 3.0 * c + d) * t * t * t)
            };
            line.push((blend(a.0, b.0, c.0, d.0), blend(a.1, b.1, c.1, d.1)));
        }
    }
    line
}
