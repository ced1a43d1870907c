//! Where curves turn round. The library's own way sorts what it finds, by a sort of its own, which is a hundredth of the page's module.

use kurbo::common::solve_quadratic;
use kurbo::{BezPath, CubicBez, ParamCurve, PathSeg, Point, Rect};

use crate::contour::with_point;

/// The points inside a curve where this coordinate turns round; `of` is linear in the point.
pub(crate) fn turning_points(curve: &CubicBez, of: impl Fn(Point) -> f64) -> impl Iterator<Item = Point> {
    // A third of the derivative's Bézier numbers.
    let [p0, p1, p2, p3] = [curve.p0, curve.p1, curve.p2, curve.p3].map(of);
    let [d0, d1, d2] = [p1 - p0, p2 - p1, p3 - p2];
    solve_quadratic(d0, 2.0 * (d1 - d0), d0 - 2.0 * d1 + d2)
        .into_iter()
        .filter(|t| *t > 0.0 && *t < 1.0)
        .map(|t| curve.eval(t))
}

/// The smallest upright rectangle around a path.
#[must_use]
pub fn bounds_of(path: &BezPath) -> Option<Rect> {
    let mut bounds: Option<Rect> = None;
    let mut around = |at: Point| {
        bounds = Some(bounds.map_or(Rect::from_points(at, at), |bounds| with_point(bounds, at)));
    };
    for piece in path.segments() {
        around(piece.start());
        around(piece.end());
        if !matches!(piece, PathSeg::Line(_)) {
            let curve = piece.to_cubic();
            turning_points(&curve, |at| at.x).for_each(&mut around);
            turning_points(&curve, |at| at.y).for_each(&mut around);
        }
    }
    bounds
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Shape;
    use proptest::prelude::*;

    fn point() -> impl Strategy<Value = Point> {
        (-40..40_i8, -40..40_i8).prop_map(|(x, y)| Point::new(f64::from(x) / 4.0, f64::from(y) / 4.0))
    }

    proptest! {
        #[test]
        fn bounds_are_those_of_the_library(pieces in prop::collection::vec((0..3_u8, point(), point(), point()), 1..6), start in point()) {
            let mut path = BezPath::new();
            path.move_to(start);
            for (kind, a, b, c) in pieces {
                match kind {
                    0 => path.line_to(a),
                    1 => path.quad_to(a, b),
                    _ => path.curve_to(a, b, c),
                }
            }
            let (ours, theirs) = (bounds_of(&path).unwrap(), path.bounding_box());
            for (ours, theirs) in [(ours.x0, theirs.x0), (ours.y0, theirs.y0), (ours.x1, theirs.x1), (ours.y1, theirs.y1)] {
                prop_assert!((ours - theirs).abs() < 1e-12, "{} {}", ours, theirs);
            }
        }
    }

    #[test]
    fn nothing_has_no_bounds() {
        assert_eq!(bounds_of(&BezPath::new()), None);
    }
}
