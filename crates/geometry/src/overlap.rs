//! The area that two contours have in common, without cutting polygons.

use kurbo::Point;

use crate::Contour;
use crate::order::{by_number, greater, lesser};

/// Area that both contours cover, mm².
///
/// *Method:* a polygon is the signed sum of the strips below its edges, so the common area is the signed sum, over
/// pairs of edges, of the area below both: the integral of the lower of two straight lines over the `out` that they
/// share. No point is ever said to lie inside or outside, so touching and coinciding edges need no special care.
///
/// *Accuracy:* rounding only, about 1e-12 of the areas.
#[must_use]
pub fn overlap_area(a: &Contour, b: &Contour) -> f64 {
    let base = a.bounds().y0.min(b.bounds().y0);
    let under_a = strips_below(a, base);
    let under_b = by_number(strips_below(b, base), |strip| strip.left);
    let widest = under_b.iter().map(|s| s.right - s.left).fold(0.0, greater);
    under_a
        .iter()
        .map(|s| {
            let first = under_b.partition_point(|t| t.left <= s.left - widest);
            let met = under_b.iter().skip(first).take_while(|t| t.left < s.right);
            met.map(|t| s.sign * t.sign * area_below_both(s, t)).sum::<f64>()
        })
        .sum()
}

/// The strip between an edge and the base line.
struct Strip {
    left: f64,
    right: f64,
    /// Height above the base at `left`.
    height: f64,
    slope: f64,
    /// +1 below an upper edge, −1 below a lower one.
    sign: f64,
}

impl Strip {
    #[inline(always)]
    fn height_at(&self, x: f64) -> f64 {
        self.height + (x - self.left) * self.slope
    }
}

fn strips_below(contour: &Contour, base: f64) -> Vec<Strip> {
    let strip = |(p, q): (Point, Point)| {
        // Counter-clockwise: an edge that runs inwards is an upper one. Upright edges have no strip.
        let (l, r, sign) = if p.x < q.x { (p, q, -1.0) } else { (q, p, 1.0) };
        (l.x < r.x).then(|| Strip {
            left: l.x,
            right: r.x,
            height: l.y - base,
            slope: (r.y - l.y) / (r.x - l.x),
            sign,
        })
    };
    contour.edges().filter_map(strip).collect()
}

#[inline(always)]
fn area_below_both(s: &Strip, t: &Strip) -> f64 {
    let (left, right) = (greater(s.left, t.left), lesser(s.right, t.right));
    let width = right - left;
    if width <= 0.0 {
        return 0.0;
    }
    let (s_left, s_right) = (s.height_at(left), s.height_at(right));
    let (t_left, t_right) = (t.height_at(left), t.height_at(right));
    // The lower of two numbers is their mean less half their distance.
    let (d_left, d_right) = (s_left - t_left, s_right - t_right);
    let apart = d_left.abs() + d_right.abs();
    let mean_distance = if d_left * d_right >= 0.0 {
        0.5 * apart
    } else {
        (d_left * d_left + d_right * d_right) / (2.0 * apart)
    };
    0.5 * width * (0.5 * (s_left + s_right + t_left + t_right) - mean_distance)
}
