//! A brow's edge as a closed simple polygon.

use std::fmt;

use kurbo::{BezPath, Point, Rect, Vec2};

use crate::order::{greater, lesser};
use crate::simple;

/// Fewest points of a contour: with fewer neither bulb nor arch nor tail can be told.
pub const MIN_POINTS: usize = 8;
/// Most points of a contour: ten times what a patient hand draws, and still cheap to test.
pub const MAX_POINTS: usize = 4096;
/// Farthest coordinate, mm: beyond any head, so a slip in the units is caught.
pub const MAX_COORDINATE_MM: f64 = 300.0;
/// Least area, mm². The smallest natural brow of the 165 in this project's model study on the Face Research Lab
/// London Set is about 100 mm²; a hundredth of that is a slip of the pen.
pub const MIN_AREA_MM2: f64 = 1.0;
/// Points nearer than this are one point, mm: far below any measuring error, far above rounding.
pub(crate) const SAME_POINT_MM: f64 = 1e-9;

/// A closed simple polygon, counter-clockwise in `(out, up)`, mm; the last point is not repeated.
///
/// No two edges touch except neighbours at their common point, and no two neighbouring points coincide.
#[derive(Clone, Debug, PartialEq)]
pub struct Contour {
    points: Vec<Point>,
    // Asked for again and again, so found once.
    area: f64,
    perimeter: f64,
    bounds: Rect,
}

/// Why a line cannot be taken as the edge of a brow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ContourError {
    /// Fewer distinct points than needed.
    TooFewPoints {
        /// Distinct points found.
        count: usize,
        /// Points needed.
        needed: usize,
    },
    /// More than [`MAX_POINTS`].
    TooManyPoints {
        /// Points given.
        count: usize,
    },
    /// A coordinate is not a finite number.
    NotFinite {
        /// Index of the point.
        index: usize,
    },
    /// A point lies farther from the origin than any face is wide.
    TooLarge {
        /// The point, mm.
        at: Point,
    },
    /// It encloses next to nothing.
    TooSmall {
        /// Area enclosed, mm².
        area_mm2: f64,
    },
    /// The line crosses or touches itself and cannot be mended without guessing.
    SelfCrossing {
        /// Where, mm.
        at: Point,
    },
    /// The line reaches over the centre line to the other side.
    CrossesCentreLine {
        /// The point farthest over, mm.
        at: Point,
    },
    /// The ends of the line lie too far apart to close it.
    NotClosed {
        /// Distance of the ends, mm.
        gap_mm: f64,
    },
}

impl ContourError {
    /// Stable code, the key of the page's text.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            ContourError::TooFewPoints { .. } => "too_few_points",
            ContourError::TooManyPoints { .. } => "too_many_points",
            ContourError::NotFinite { .. } => "not_finite",
            ContourError::TooLarge { .. } => "too_large",
            ContourError::TooSmall { .. } => "too_small",
            ContourError::SelfCrossing { .. } => "self_crossing",
            ContourError::CrossesCentreLine { .. } => "crosses_centre_line",
            ContourError::NotClosed { .. } => "not_closed",
        }
    }
}

impl fmt::Display for ContourError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {self:?}", self.code())
    }
}

impl std::error::Error for ContourError {}

impl Contour {
    /// Checks the points and orients them counter-clockwise. A repeated last point and doubled points are dropped.
    ///
    /// # Errors
    /// Where the points are too few, too many, not finite, out of bounds, enclose less than [`MIN_AREA_MM2`], or where
    /// the line crosses or touches itself.
    pub fn try_new(points: Vec<Point>) -> Result<Contour, ContourError> {
        if points.len() > MAX_POINTS {
            return Err(ContourError::TooManyPoints { count: points.len() });
        }
        check_coordinates(&points)?;
        let mut points = points;
        drop_doubled(&mut points);
        if points.len() < MIN_POINTS {
            return Err(ContourError::TooFewPoints { count: points.len(), needed: MIN_POINTS });
        }
        if let Some(crossing) = simple::first_crossing(&points) {
            return Err(ContourError::SelfCrossing { at: crossing.at });
        }
        let area = signed_area(&points);
        if area.abs() < MIN_AREA_MM2 {
            return Err(ContourError::TooSmall { area_mm2: area.abs() });
        }
        if area < 0.0 {
            points.reverse();
        }
        Ok(Contour::from_simple(points))
    }

    /// A contour of points already proved finite, simple and counter-clockwise.
    pub(crate) fn from_simple(points: Vec<Point>) -> Contour {
        let (area, perimeter, bounds) = (signed_area(&points), perimeter(&points), bounds(&points));
        Contour { points, area, perimeter, bounds }
    }

    /// The points, counter-clockwise, the last not repeated; mm.
    #[must_use]
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// The edges, each from a point to the next.
    pub fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        edges(&self.points)
    }

    /// Area enclosed, mm²; always positive.
    #[must_use]
    pub const fn area(&self) -> f64 {
        self.area
    }

    /// Length of the edge, mm.
    #[must_use]
    pub const fn perimeter(&self) -> f64 {
        self.perimeter
    }

    /// The smallest upright rectangle around it, mm.
    #[must_use]
    pub const fn bounds(&self) -> Rect {
        self.bounds
    }

    /// `n` points at even arc length, starting with the first point; mm.
    #[must_use]
    pub fn sample(&self, n: usize) -> Vec<Point> {
        self.sample_with_edges(n).into_iter().map(|(point, _)| point).collect()
    }

    /// The same, each with the edge that it lies on; edge `i` begins at point `i`.
    pub(crate) fn sample_with_edges(&self, n: usize) -> Vec<(Point, usize)> {
        sample_with_edges(&self.points, self.perimeter, n)
    }

    /// The contour of [`Contour::sample`]. It stays simple as long as the spacing is finer than the brow is thick.
    #[must_use]
    pub fn resampled(&self, n: usize) -> Contour {
        Contour::from_simple(self.sample(n.max(MIN_POINTS)))
    }

    /// The polygon as a closed path; mm.
    #[must_use]
    pub fn to_path(&self) -> BezPath {
        closed_path(&self.points)
    }

    /// Moved by this much, mm.
    #[must_use]
    pub fn translated(&self, by: Vec2) -> Contour {
        Contour::from_simple(self.points.iter().map(|&point| point + by).collect())
    }

    /// Turned about the origin of the side frame, radians, counter-clockwise in `(out, up)`.
    #[must_use]
    pub fn rotated(&self, angle: f64) -> Contour {
        let (sin, cos) = angle.sin_cos();
        let turn = |p: &Point| Point::new(cos * p.x - sin * p.y, sin * p.x + cos * p.y);
        Contour::from_simple(self.points.iter().map(turn).collect())
    }

    /// True where the point lies inside or on the edge's lower or inner side (even-odd rule).
    #[must_use]
    pub fn contains(&self, point: Point) -> bool {
        contains(&self.points, point)
    }
}

/// The smallest rectangle around this one and a point.
pub(crate) fn with_point(all: Rect, p: Point) -> Rect {
    Rect::new(lesser(all.x0, p.x), lesser(all.y0, p.y), greater(all.x1, p.x), greater(all.y1, p.y))
}

/// The smallest upright rectangle around points.
pub(crate) fn bounds(points: &[Point]) -> Rect {
    let first = points.first().copied().unwrap_or_default();
    points.iter().fold(Rect::from_points(first, first), |all, p| with_point(all, *p))
}

/// Refuses numbers that are not finite or lie farther out than a face reaches.
pub(crate) fn check_coordinates(points: &[Point]) -> Result<(), ContourError> {
    if let Some(index) = points.iter().position(|point| !point.is_finite()) {
        return Err(ContourError::NotFinite { index });
    }
    let far = |point: &&Point| point.x.abs() > MAX_COORDINATE_MM || point.y.abs() > MAX_COORDINATE_MM;
    match points.iter().find(far) {
        Some(&at) => Err(ContourError::TooLarge { at }),
        None => Ok(()),
    }
}

/// Drops points that coincide with the one before, and a last one that coincides with the first.
pub(crate) fn drop_doubled(points: &mut Vec<Point>) {
    points.dedup_by(|next, kept| next.distance(*kept) < SAME_POINT_MM);
    while let (Some(first), Some(last)) = (points.first(), points.last())
        && points.len() > 1
        && last.distance(*first) < SAME_POINT_MM
    {
        points.pop();
    }
}

/// The edges of a closed polygon.
pub(crate) fn edges(points: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    points.iter().copied().zip(points.iter().copied().cycle().skip(1))
}

/// Area by the shoelace formula, positive where counter-clockwise. Summed about the first point, which keeps the
/// terms as small as the polygon however far it lies from the origin.
pub(crate) fn signed_area(points: &[Point]) -> f64 {
    let Some(&origin) = points.first() else { return 0.0 };
    0.5 * edges(points).map(|(a, b)| (a - origin).cross(b - origin)).sum::<f64>()
}

/// Length of a closed polygon.
pub(crate) fn perimeter(points: &[Point]) -> f64 {
    edges(points).map(|(a, b)| a.distance(b)).sum()
}

/// An arc length brought into one round, 0 to `perimeter`. Mostly it is there already. `f64::rem_euclid` divides bit by
/// bit, exactly, which is slow and a kilobyte of the page's module.
pub(crate) fn once_around(s: f64, perimeter: f64) -> f64 {
    if (0.0..perimeter).contains(&s) {
        return s;
    }
    let rest = s - (s / perimeter).floor() * perimeter;
    // The quotient is rounded, so the rest may lie just beyond an end.
    if rest < 0.0 {
        rest + perimeter
    } else if rest >= perimeter {
        rest - perimeter
    } else {
        rest
    }
}

/// `n` points at even arc length along a closed polygon, from its first point on.
pub(crate) fn sample_closed(points: &[Point], n: usize) -> Vec<Point> {
    sample_with_edges(points, perimeter(points), n).into_iter().map(|(point, _)| point).collect()
}

/// The same with the length of the polygon known, each with the edge that it lies on; edge `i` begins at point `i`.
fn sample_with_edges(points: &[Point], perimeter: f64, n: usize) -> Vec<(Point, usize)> {
    let step = perimeter / n as f64;
    let mut samples = Vec::with_capacity(n);
    let mut walked = 0.0;
    for (edge, (a, b)) in edges(points).enumerate() {
        let length = a.distance(b);
        while samples.len() < n && samples.len() as f64 * step <= walked + length {
            let along = samples.len() as f64 * step - walked;
            samples.push((if length > 0.0 { a.lerp(b, along / length) } else { a }, edge));
        }
        walked += length;
    }
    // Rounding may leave the very last sample unplaced; it would lie at the end of the last edge.
    while samples.len() < n {
        samples.extend(points.first().map(|&first| (first, points.len() - 1)));
        if points.is_empty() {
            break;
        }
    }
    samples
}

/// A polygon as a closed path.
pub(crate) fn closed_path(points: &[Point]) -> BezPath {
    let mut path = BezPath::with_capacity(points.len() + 1);
    let mut points = points.iter();
    if let Some(&first) = points.next() {
        path.move_to(first);
        for &point in points {
            path.line_to(point);
        }
        path.close_path();
    }
    path
}

/// Even-odd test by a ray towards growing `out`.
pub(crate) fn contains(points: &[Point], p: Point) -> bool {
    edges(points).fold(false, |inside, (a, b)| {
        let straddles = (a.y > p.y) != (b.y > p.y);
        inside ^ (straddles && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x))
    })
}

#[cfg(test)]
mod tests {
    use super::once_around;

    #[test]
    fn an_arc_length_is_brought_into_one_round() {
        for perimeter in [0.3, 1.0, 110.7] {
            for step in -3000..3000 {
                let s = f64::from(step) * perimeter / 1000.0;
                let (found, exact) = (once_around(s, perimeter), s.rem_euclid(perimeter));
                // Next to the seam either end is right.
                let apart = (found - exact).abs();
                assert!((0.0..perimeter).contains(&found), "{s} of {perimeter}: {found}");
                assert!(apart.min(perimeter - apart) < 1e-12, "{s} of {perimeter}: {found}, {exact}");
            }
        }
        assert!(once_around(f64::INFINITY, 1.0).is_nan() && once_around(f64::NAN, 1.0).is_nan());
    }
}
