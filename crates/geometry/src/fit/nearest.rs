//! The nearest point of a closed polygon, with the side it lies on.

use kurbo::{Point, Vec2};

use crate::contour::edges;
use crate::nearest::EdgeIndex;

/// Where a polygon comes nearest to a point.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Foot {
    /// Index of the edge, which starts at the point of the same index.
    pub edge: usize,
    /// Share of the way along it, 0 to 1.
    pub along: f64,
    /// Distance, mm; negative inside a counter-clockwise polygon.
    pub signed: f64,
    /// Unit vector along which `signed` grows.
    pub normal: Vec2,
}

/// A closed polygon whose neighbouring points do not coincide.
pub(crate) struct Edges {
    points: Vec<Point>,
    index: EdgeIndex,
}

impl Edges {
    /// Takes the points of a counter-clockwise polygon, the last not repeated.
    pub(crate) fn new(points: Vec<Point>) -> Self {
        let index = EdgeIndex::of(edges(&points));
        Edges { points, index }
    }

    /// The nearest point; `near` is an edge to look at first, such as the last point's neighbour's.
    pub(crate) fn nearest(&self, p: Point, near: usize) -> Foot {
        let n = self.points.len();
        let edge = self.index.nearest(p, near).edge;
        let a = self.points[edge];
        let leg = self.points[if edge + 1 == n { 0 } else { edge + 1 }] - a;
        let along = ((p - a).dot(leg) / leg.hypot2()).clamp(0.0, 1.0);
        let offset = p - a - along * leg;
        // Outside lies to the right of a counter-clockwise edge.
        let outward = Vec2::new(leg.y, -leg.x) / leg.hypot();
        let distance = offset.hypot();
        let sign = if offset.dot(outward) < 0.0 { -1.0 } else { 1.0 };
        // Close to the edge its own normal is the better direction, and the only one at distance 0.
        let normal = if distance > 1e-6 { sign / distance * offset } else { outward };
        Foot { edge, along, signed: sign * distance, normal }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::{Outline, OutlineParams};

    #[test]
    fn sign_and_normal_point_outward() {
        let square =
            Edges::new(vec![(0.0, 0.0).into(), (2.0, 0.0).into(), (2.0, 2.0).into(), (0.0, 2.0).into()]);
        let inside = square.nearest(Point::new(1.0, 0.5), 3);
        assert_eq!((inside.edge, inside.along, inside.signed), (0, 0.5, -0.5));
        assert_eq!(inside.normal, Vec2::new(0.0, -1.0));
        let corner = square.nearest(Point::new(3.0, 3.0), 0);
        assert!((corner.signed - 2f64.sqrt()).abs() < 1e-12);
        assert!((corner.normal - Vec2::new(0.5f64.sqrt(), 0.5f64.sqrt())).hypot() < 1e-12);
    }

    proptest! {
        #[test]
        fn boxes_lose_nothing(x in -20.0..80.0, y in -20.0..60.0, near in 0usize..200) {
            let contour = Outline::try_new(&OutlineParams::natural_median()).unwrap().contour();
            let edges = Edges::new(contour.points().to_vec());
            let p = Point::new(x, y);
            let brute = contour
                .edges()
                .map(|(a, b)| {
                    let along = ((p - a).dot(b - a) / (b - a).hypot2()).clamp(0.0, 1.0);
                    p.distance(a.lerp(b, along))
                })
                .fold(f64::INFINITY, f64::min);
            let foot = edges.nearest(p, near);
            prop_assert!((foot.signed.abs() - brute).abs() < 1e-9);
            prop_assert_eq!(foot.signed < 0.0, contour.contains(p));
        }
    }
}
