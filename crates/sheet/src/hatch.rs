//! Hatching an area with parallel lines.

use kurbo::{Point, Vec2};

/// Distance of the lines, mm.
const STEP_MM: f64 = 0.9;
/// Shorter stretches are not drawn, mm: a line that touches a corner.
const LEAST_MM: f64 = 0.02;

/// Stretches of lines at 45° (up to the right on the paper) inside the rings, by the even-odd rule. The lines lie on one grid
/// wherever the area lies, so that neighbouring areas match.
pub fn hatch(rings: &[Vec<Point>]) -> Vec<[Point; 2]> {
    let along = Vec2::new(1.0, -1.0) * std::f64::consts::FRAC_1_SQRT_2;
    let across = Vec2::new(1.0, 1.0) * std::f64::consts::FRAC_1_SQRT_2;
    let place = |at: Point| (at.to_vec2().dot(along), at.to_vec2().dot(across));
    let edges: Vec<((f64, f64), (f64, f64))> = rings
        .iter()
        .flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)))
        .map(|(a, b)| (place(*a), place(*b)))
        .collect();
    let low = edges.iter().map(|edge| edge.0.1).fold(f64::INFINITY, f64::min);
    let high = edges.iter().map(|edge| edge.0.1).fold(f64::NEG_INFINITY, f64::max);
    if !(low.is_finite() && high.is_finite()) {
        return Vec::new();
    }
    let mut found = Vec::new();
    #[expect(clippy::cast_possible_truncation, reason = "an area on a sheet of paper has few lines")]
    let (first, last) = ((low / STEP_MM).ceil() as i64, (high / STEP_MM).floor() as i64);
    for line in first..=last {
        #[expect(clippy::cast_precision_loss, reason = "a small count")]
        let at = line as f64 * STEP_MM;
        // Half open, so that a line through a corner meets one of its two edges.
        let mut crossings: Vec<f64> = edges
            .iter()
            .filter(|(a, b)| (a.1 <= at) != (b.1 <= at))
            .map(|(a, b)| a.0 + (b.0 - a.0) * (at - a.1) / (b.1 - a.1))
            .collect();
        crossings.sort_by(f64::total_cmp);
        for &[from, to] in crossings.as_chunks().0 {
            let point = |t: f64| (along * t + across * at).to_point();
            if to - from > LEAST_MM {
                found.push([point(from), point(to)]);
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hatching_has_the_area_over_its_step() {
        let square = vec![[0., 0.], [20., 0.], [20., 10.], [0., 10.]];
        let hole = vec![[5., 2.], [5., 8.], [12., 8.], [12., 2.]];
        let ring = |points: &[[f64; 2]]| points.iter().map(|[x, y]| Point::new(*x, *y)).collect::<Vec<_>>();
        let lines = hatch(&[ring(&square), ring(&hole)]);
        let length: f64 = lines.iter().map(|[a, b]| a.distance(*b)).sum();
        assert!((length * STEP_MM - (200.0 - 42.0)).abs() < 8.0, "{length}");
        for [a, b] in lines {
            let middle = a.midpoint(b);
            assert!((0.0..=20.0).contains(&middle.x) && (0.0..=10.0).contains(&middle.y));
            assert!(!(5.01..11.99).contains(&middle.x) || !(2.01..7.99).contains(&middle.y), "{middle:?}");
        }
        assert!(hatch(&[]).is_empty());
    }
}
