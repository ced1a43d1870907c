//! The nearest point of a closed polygon, found without looking at every edge.

use kurbo::{Point, Rect, Vec2};

/// Edges under one box. Eight halve the work twice on brows of 100 to 400 edges; the exact number matters little.
const EDGES_PER_BOX: usize = 8;

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

/// A closed polygon with boxes around runs of its edges.
#[derive(Clone, Debug)]
pub(crate) struct Edges {
    points: Vec<Point>,
    boxes: Vec<Rect>,
}

impl Edges {
    /// Takes the points of a counter-clockwise polygon, the last not repeated.
    pub(crate) fn new(points: Vec<Point>) -> Self {
        let n = points.len();
        let boxes = (0..n.div_ceil(EDGES_PER_BOX))
            .map(|k| {
                let (start, end) = (k * EDGES_PER_BOX, ((k + 1) * EDGES_PER_BOX).min(n));
                (start + 1..=end)
                    .fold(Rect::from_points(points[start], points[start]), |b, i| b.union_pt(points[i % n]))
            })
            .collect();
        Edges { points, boxes }
    }

    /// The nearest point; `near` is an edge to look at first, such as the last point's neighbour's.
    pub(crate) fn nearest(&self, p: Point, near: usize) -> Foot {
        let n = self.points.len();
        let mut best = (f64::INFINITY, near.min(n.saturating_sub(1)), 0.0, Vec2::ZERO);
        let look = |edge: usize, best: &mut (f64, usize, f64, Vec2)| {
            let a = self.points[edge];
            let b = self.points[if edge + 1 == n { 0 } else { edge + 1 }];
            let (leg, to) = (b - a, p - a);
            let along = (to.dot(leg) / leg.hypot2()).clamp(0.0, 1.0);
            // An edge without length gives NaN: its start is its only point.
            let along = if along.is_nan() { 0.0 } else { along };
            let offset = to - along * leg;
            let square = offset.hypot2();
            if square < best.0 {
                *best = (square, edge, along, offset);
            }
        };
        if n > 0 {
            look(best.1, &mut best);
        }
        for (k, b) in self.boxes.iter().enumerate() {
            let dx = (b.x0 - p.x).max(p.x - b.x1).max(0.0);
            let dy = (b.y0 - p.y).max(p.y - b.y1).max(0.0);
            if dx * dx + dy * dy < best.0 {
                for edge in k * EDGES_PER_BOX..((k + 1) * EDGES_PER_BOX).min(n) {
                    look(edge, &mut best);
                }
            }
        }
        let (square, edge, along, offset) = best;
        let a = self.points[edge];
        let leg = self.points[if edge + 1 == n { 0 } else { edge + 1 }] - a;
        // Outside lies to the right of a counter-clockwise edge.
        let outward = Vec2::new(leg.y, -leg.x) / leg.hypot();
        let distance = square.sqrt();
        let sign = if offset.dot(outward) < 0.0 { -1.0 } else { 1.0 };
        // Close to the edge its own normal is the better direction, and the only one at distance 0.
        let normal = if distance > 1e-6 { sign / distance * offset } else { outward };
        Foot { edge, along, signed: sign * distance, normal }
    }

    /// Distance to the nearest point, mm.
    pub(crate) fn distance(&self, p: Point, near: usize) -> (f64, usize) {
        let foot = self.nearest(p, near);
        (foot.signed.abs(), foot.edge)
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
