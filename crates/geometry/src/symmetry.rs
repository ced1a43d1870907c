//! How uneven a pair is.

use kurbo::Point;

use crate::Contour;
use crate::region::overlap_area;

/// Points taken along each contour for the headline (this project's model study on the Face Research Lab London Set).
pub const CONTOUR_SAMPLES: usize = 240;

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
    let degree = 1_f64.to_radians();
    Unevenness {
        mean_distance_mm: mean_contour_distance(right, left),
        roll_band_mm: [-degree, degree].map(|roll| mean_contour_distance_with_roll(right, left, roll)),
        hausdorff_mm: hausdorff(right, left),
        one_minus_iou: 1.0 - iou(right, left),
    }
}

/// Mean distance of two contours, mm: the mean over 240 points at even arc length of the first of their distance to
/// the edge of the second, the same back, and the average of both.
#[must_use]
pub fn mean_contour_distance(a: &Contour, b: &Contour) -> f64 {
    let one_way = |from: &Contour, to: &Contour| {
        from.sample(CONTOUR_SAMPLES).iter().map(|&p| distance_to(to, p)).sum::<f64>() / CONTOUR_SAMPLES as f64
    };
    0.5 * (one_way(a, b) + one_way(b, a))
}

/// The headline if `roll` radians more roll were taken out of the photo.
///
/// *Convention:* roll is positive where the client's left sits higher on the photo. Taking more of it out turns the
/// face clockwise as seen by the client's opposite: her left brow sinks, her right one rises. Both turn about the
/// origin of the face frame.
#[must_use]
pub fn mean_contour_distance_with_roll(right: &Contour, left: &Contour, roll: f64) -> f64 {
    // Turning both in opposite directions or one of them twice as far is the same, since distances do not change
    // when both turn together.
    mean_contour_distance(&right.rotated(2.0 * roll), left)
}

/// Hausdorff distance of the two edges, mm: the farthest that any point of either edge lies from the other edge.
#[must_use]
pub fn hausdorff(a: &Contour, b: &Contour) -> f64 {
    let one_way =
        |from: &Contour, to: &Contour| from.points().iter().map(|&p| distance_to(to, p)).fold(0.0, f64::max);
    one_way(a, b).max(one_way(b, a))
}

/// Intersection over union of the areas, 0 to 1.
#[must_use]
pub fn iou(a: &Contour, b: &Contour) -> f64 {
    let common = overlap_area(a, b);
    common / (a.area() + b.area() - common)
}

fn distance_to(contour: &Contour, p: Point) -> f64 {
    contour
        .edges()
        .map(|(a, b)| {
            let ab = b - a;
            let t = ((p - a).dot(ab) / ab.hypot2()).clamp(0.0, 1.0);
            (a + ab * t - p).hypot2()
        })
        .fold(f64::INFINITY, f64::min)
        .sqrt()
}
