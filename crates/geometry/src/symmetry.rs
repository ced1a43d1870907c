//! How uneven a pair is.

use kurbo::{Point, Vec2};

use crate::Contour;
use crate::nearest::{EdgeIndex, Nearest};
use crate::order::greater;
use crate::overlap::overlap_area;

/// Points taken along each contour for the headline (this project's model study on the Face Research Lab London Set).
pub const CONTOUR_SAMPLES: usize = 240;
/// Of so many samples one is looked at when only the change by a small motion is asked for.
const MOVED_EVERY: usize = 4;
/// How far below its true value a Hausdorff distance may be given, mm.
const HAUSDORFF_TOLERANCE_MM: f64 = 1e-7;
/// Pieces looked at for one Hausdorff distance, a bound that real outlines stay far below.
const HAUSDORFF_PIECES: usize = 100_000;

/// How uneven a pair of contours is, each in its own side's frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unevenness {
    /// Headline: mean mirrored contour distance, mm.
    pub mean_distance_mm: f64,
    /// The headline with one degree of roll less and one degree more taken out, mm.
    pub roll_band_mm: [f64; 2],
    /// Hausdorff distance of the two edges, mm.
    pub hausdorff_mm: f64,
    /// 1 − intersection over union, 0 to 1.
    pub one_minus_iou: f64,
}

/// All figures of a pair.
#[must_use]
pub fn unevenness(right: &Contour, left: &Contour) -> Unevenness {
    Pair::new(right, left).unevenness()
}

/// All figures of a pair, and the headline if the right brow lay `sideways` mm farther out.
#[must_use]
pub fn unevenness_and_moved(right: &Contour, left: &Contour, sideways: f64) -> (Unevenness, f64) {
    let pair = Pair::new(right, left);
    let by = Vec2::new(sideways, 0.0);
    (pair.unevenness(), pair.mean_distance(|p| p + by, |p| p - by))
}

/// Mean distance of two contours, mm: the mean over 240 points at even arc length of the first of their distance to
/// the edge of the second, the same back, and the average of both.
///
/// *Source:* this project's model study on the Face Research Lab London Set, where it was chosen as the headline: it is
/// in the unit of the caliper, responds to every part of the edge and does not depend on how thick the brows are.
#[must_use]
pub fn mean_contour_distance(a: &Contour, b: &Contour) -> f64 {
    Pair::new(a, b).headline()
}

/// The headline if `roll` radians more roll were taken out of the photo.
///
/// *Convention:* roll is positive where the client's left sits higher on the photo. Taking more of it out lowers her
/// left brow and raises her right one; both turn about the origin of the face frame.
#[must_use]
pub fn mean_contour_distance_with_roll(right: &Contour, left: &Contour, roll: f64) -> f64 {
    mean_contour_distance(&right.rotated(roll), &left.rotated(-roll))
}

/// Hausdorff distance of the two edges, mm: the farthest that any point of either edge lies from the other edge.
///
/// *Accuracy:* exact to 1e-7 mm, edges included, not only corners.
#[must_use]
pub fn hausdorff(a: &Contour, b: &Contour) -> f64 {
    Pair::new(a, b).hausdorff()
}

/// Intersection over union of the areas, 0 to 1.
#[must_use]
pub fn iou(a: &Contour, b: &Contour) -> f64 {
    let common = overlap_area(a, b);
    common / (a.area() + b.area() - common)
}

/// A point of a contour.
#[derive(Clone, Copy)]
struct Sample {
    at: Point,
    /// The edge of its own contour that it lies on.
    on: usize,
    /// The edge of the other contour nearest to it as the contours lie.
    nearest: Nearest,
}

/// Two contours made ready for distance questions.
struct Pair<'a> {
    contours: [&'a Contour; 2],
    indices: [EdgeIndex; 2],
    /// Even points of each contour.
    samples: [Vec<Sample>; 2],
}

impl<'a> Pair<'a> {
    fn new(a: &'a Contour, b: &'a Contour) -> Self {
        let indices = [EdgeIndex::new(a), EdgeIndex::new(b)];
        let [index_a, index_b] = &indices;
        let samples = [samples(a, index_b), samples(b, index_a)];
        Pair { contours: [a, b], indices, samples }
    }

    fn unevenness(&self) -> Unevenness {
        let [a, b] = self.contours;
        let degree = 1_f64.to_radians();
        Unevenness {
            mean_distance_mm: self.headline(),
            roll_band_mm: [-degree, degree].map(|roll| self.mean_distance_turned(2.0 * roll)),
            hausdorff_mm: self.hausdorff(),
            one_minus_iou: 1.0 - iou(a, b),
        }
    }

    fn headline(&self) -> f64 {
        let one_way = |samples: &[Sample]| {
            samples.iter().map(|sample| sample.nearest.distance_sq.sqrt()).sum::<f64>()
                / CONTOUR_SAMPLES as f64
        };
        let [from_a, from_b] = &self.samples;
        0.5 * (one_way(from_a) + one_way(from_b))
    }

    /// Mean distance with the first contour moved a little; `back` undoes the motion. The second contour's points are
    /// moved back instead of the first contour's edges: distances do not change when both move together.
    ///
    /// *Method:* what a motion changes varies slowly along a brow, so it is taken at every [`MOVED_EVERY`]th sample. The
    /// nearest edge is sought among all, the one that was nearest before first: sought along the contour alone, the change
    /// comes out too large where another edge is nearer by then, and the intervals hold 97.5 % instead of 95.
    fn mean_distance(&self, there: impl Fn(Point) -> Point, back: impl Fn(Point) -> Point) -> f64 {
        let [index_a, index_b] = &self.indices;
        let [from_a, from_b] = &self.samples;
        self.headline() + 0.5 * (mean_change(from_a, index_b, there) + mean_change(from_b, index_a, back))
    }

    /// Mean distance with the first contour turned by a small `angle` about the origin. Turning right and left in
    /// opposite directions, or the right one twice as far, is the same.
    fn mean_distance_turned(&self, angle: f64) -> f64 {
        let (sin, cos) = angle.sin_cos();
        self.mean_distance(
            |p| Point::new(cos * p.x - sin * p.y, sin * p.x + cos * p.y),
            |p| Point::new(cos * p.x + sin * p.y, cos * p.y - sin * p.x),
        )
    }

    fn hausdorff(&self) -> f64 {
        let [a, b] = self.contours;
        let [index_a, index_b] = &self.indices;
        let [from_a, from_b] = &self.samples;
        let farthest = |samples: &[Sample]| {
            samples.iter().map(|sample| sample.nearest.distance_sq).fold(0.0, greater).sqrt()
        };
        // The farthest of all known points first, so that few pieces between them are left to look at.
        let known = farthest(from_a).max(farthest(from_b));
        farthest_between(b, from_b, index_a, farthest_between(a, from_a, index_b, known))
    }
}

fn samples(of: &Contour, to: &EdgeIndex) -> Vec<Sample> {
    let mut walk = to.walk();
    of.sample_with_edges(CONTOUR_SAMPLES)
        .into_iter()
        .map(|(at, on)| Sample { at, on, nearest: walk.next(at) })
        .collect()
}

/// By how much the mean distance of points grows with a small motion.
fn mean_change(samples: &[Sample], to: &EdgeIndex, moved: impl Fn(Point) -> Point) -> f64 {
    let mut walk = to.walk();
    let change = |sample: &Sample| {
        let now = walk.next_from(moved(sample.at), sample.nearest.edge).distance_sq.sqrt();
        now - sample.nearest.distance_sq.sqrt()
    };
    let few = samples.iter().step_by(MOVED_EVERY);
    few.clone().map(change).sum::<f64>() / few.len().max(1) as f64
}

/// The farthest that a point of a contour lies from the edges of `to`, or `known` if that is farther; `known` is at
/// least as far as any of the samples.
///
/// The distance to all edges grows no faster than one walks, so a stretch between two samples matters only where their
/// distances and its length could add up to more than the best so far. Such a stretch is parted at its corners; along a
/// straight piece the distance to one edge of `to` is convex, so at most the larger of its values at the ends. Pieces
/// that can by these bounds not exceed the best are left, the others halved.
fn farthest_between(of: &Contour, samples: &[Sample], to: &EdgeIndex, known: f64) -> f64 {
    let corners = of.points();
    let step = of.perimeter() / CONTOUR_SAMPLES as f64;
    let mut best = known;
    let mut pieces = Vec::new();
    let mut seen = 0;
    for (start, end) in samples.iter().zip(samples.iter().cycle().skip(1)) {
        if 0.5 * (start.nearest.distance_sq.sqrt() + end.nearest.distance_sq.sqrt() + step)
            <= best + HAUSDORFF_TOLERANCE_MM
        {
            continue;
        }
        let mut last = (start.at, start.nearest);
        let mut edge = start.on;
        while edge != end.on {
            edge = (edge + 1) % corners.len().max(1);
            let Some(&corner) = corners.get(edge) else { break };
            let nearest = to.nearest(corner, last.1.edge);
            best = greater(best, nearest.distance_sq.sqrt());
            pieces.push((last, (corner, nearest)));
            last = (corner, nearest);
        }
        pieces.push((last, (end.at, end.nearest)));
        while let Some(((p, near_p), (q, near_q))) = pieces.pop() {
            seen += 1;
            let (at_p, at_q) = (near_p.distance_sq.sqrt(), near_q.distance_sq.sqrt());
            let enough = best + HAUSDORFF_TOLERANCE_MM;
            if 0.5 * (at_p + at_q + p.distance(q)) <= enough
                || greater(at_p, to.distance_sq_to(near_p.edge, q).sqrt()) <= enough
                || greater(at_q, to.distance_sq_to(near_q.edge, p).sqrt()) <= enough
                || seen > HAUSDORFF_PIECES
            {
                continue;
            }
            let middle = p.midpoint(q);
            let nearest = to.nearest(middle, near_p.edge);
            best = greater(best, nearest.distance_sq.sqrt());
            pieces.push(((p, near_p), (middle, nearest)));
            pieces.push(((middle, nearest), (q, near_q)));
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ellipse(x: f64, y: f64, a: f64, b: f64, n: usize) -> Contour {
        let points = (0..n)
            .map(|i| {
                let (sin, cos) = (i as f64 / n as f64 * std::f64::consts::TAU).sin_cos();
                Point::new(x + a * cos, y + b * sin)
            })
            .collect();
        Contour::try_new(points).expect("an ellipse is simple")
    }

    fn every_edge(contour: &Contour, p: Point) -> f64 {
        contour
            .edges()
            .map(|(a, b)| {
                let t = ((p - a).dot(b - a) / (b - a).hypot2()).clamp(0.0, 1.0);
                a.lerp(b, t).distance(p)
            })
            .fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn mean_distance_equals_its_definition() {
        let (a, b) = (ellipse(35.0, 20.0, 23.0, 4.0, 104), ellipse(36.5, 21.0, 21.0, 3.0, 157));
        let one_way = |from: &Contour, to: &Contour| {
            from.sample(240).iter().map(|&p| every_edge(to, p)).sum::<f64>() / 240.0
        };
        let expected = 0.5 * (one_way(&a, &b) + one_way(&b, &a));
        assert!((mean_contour_distance(&a, &b) - expected).abs() < 1e-12);
        assert!((mean_contour_distance(&b, &a) - expected).abs() < 1e-12);
        assert!(mean_contour_distance(&a, &a.clone()) < 1e-12);
    }

    #[test]
    fn roll_turns_both_sides_in_opposite_directions() {
        let (right, left) = (ellipse(35.0, 20.0, 23.0, 4.0, 104), ellipse(36.0, 21.0, 22.0, 4.5, 120));
        for roll in [-0.0175, 0.004, 0.0175] {
            let turned = mean_contour_distance(&right.rotated(roll), &left.rotated(-roll));
            assert!((mean_contour_distance_with_roll(&right, &left, roll) - turned).abs() < 1e-6);
        }
        // Her left is higher; taking more roll out lowers it, so the pair becomes more even.
        let left = ellipse(35.0, 21.0, 23.0, 4.0, 104);
        let [less, more] = unevenness(&right, &left).roll_band_mm;
        assert!(more < less);
    }

    #[test]
    fn moved_headline_is_that_of_the_moved_contour() {
        let (right, left) = (ellipse(35.0, 20.0, 23.0, 4.0, 104), ellipse(36.0, 21.0, 22.0, 4.5, 120));
        for sideways in [-1.3, 0.0, 0.8] {
            let (found, moved) = unevenness_and_moved(&right, &left, sideways);
            let expected = mean_contour_distance(&right.translated(Vec2::new(sideways, 0.0)), &left);
            // A change taken at a quarter of the points, and meant for an error's size.
            assert!((moved - expected).abs() < 5e-3, "{sideways}: {moved} {expected}");
            assert_eq!(found, unevenness(&right, &left));
        }
    }

    #[test]
    fn hausdorff_finds_places_between_corners() {
        // A long edge over a notch: the farthest point of the edge lies between its corners.
        let square = |x0: f64, y0: f64, x1: f64, y1: f64, extra: &[(f64, f64)]| {
            let mut points = vec![(x0, y0), (0.5 * (x0 + x1), y0), (x1, y0), (x1, y1)];
            points.extend_from_slice(extra);
            points.extend([(x0, y1), (x0, 0.7 * y1), (x0, 0.5 * y1), (x0, 0.2 * y1)]);
            Contour::try_new(points.into_iter().map(Point::from).collect()).expect("simple")
        };
        let whole = square(0.0, 0.0, 40.0, 10.0, &[]);
        let notched = square(0.0, 0.0, 40.0, 10.0, &[(21.0, 10.0), (20.0, 4.0), (19.0, 10.0)]);
        // Halfway up the notch, at height 5, it is 5 mm to the upper edge as to the lower one; no corner lies there.
        assert!((hausdorff(&whole, &notched) - 5.0).abs() < 1e-6);
        let dense =
            |a: &Contour, b: &Contour| a.sample(40_000).iter().map(|&p| every_edge(b, p)).fold(0.0, f64::max);
        let wide = square(0.0, 0.0, 40.0, 10.0, &[(30.0, 10.0), (20.0, 9.0), (10.0, 10.0)]);
        let expected = dense(&wide, &notched).max(dense(&notched, &wide));
        assert!((hausdorff(&wide, &notched) - expected).abs() < 1e-3, "{expected}");
    }
}
