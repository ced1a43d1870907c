//! A contour shrunk by a distance, as one raw outline whose inside is where it winds at least once.
//!
//! *Source:* Chen, X. & McMains, S. (2005), Polygon offsetting by computing winding numbers, ASME IDETC, paper
//! DETC2005-85513: every edge is shifted inwards, gaps at reflex corners are closed by arcs, overlaps at convex corners
//! go through the corner itself; the shrunk polygon is where the winding number stays positive.

use kurbo::{Point, Vec2};

use crate::contour::edges;

/// Arcs are drawn with steps no wider than this, radians.
const ARC_STEP: f64 = 0.1;

/// An arc that turns by less is drawn with two points, radians. Its area is then exact to 1e-8 of distance².
const SLIGHT_TURN: f64 = 0.1;

/// The raw outline of a counter-clockwise simple polygon shrunk by `distance` mm.
///
/// *Accuracy:* the arcs at reflex corners are polylines that enclose exactly the area of the arc, so the shrunk area
/// is exact; the polylines stray from the arc by less than `distance` · ARC_STEP² / 12.
pub(crate) fn erosion_outline(points: &[Point], distance: f64) -> Vec<Point> {
    let normals: Vec<Vec2> = edges(points).map(|(a, b)| inward_normal(b - a)).collect();
    let lengths: Vec<f64> = edges(points).map(|(a, b)| a.distance(b)).collect();
    let n = points.len();
    // How much of an edge's length the shift takes away at its end points, where neighbours turn inwards.
    let trims: Vec<f64> = (0..n)
        .map(|i| {
            let (before, after) = (normals[(i + n - 1) % n], normals[i]);
            let tan_half = before.cross(after) / (1.0 + before.dot(after));
            distance * tan_half.max(0.0)
        })
        .collect();
    let mut outline = Vec::with_capacity(n + n / 2);
    for i in 0..n {
        let (before, after) = (normals[(i + n - 1) % n], normals[i]);
        let corner = points[i];
        let turn = before.cross(after).atan2(before.dot(after));
        if -turn > 0.0 && -turn <= SLIGHT_TURN {
            push_slight_arc(&mut outline, corner, before * distance, after * distance, turn);
        } else if turn < 0.0 {
            push_arc(&mut outline, corner, before * distance, turn);
        } else if trims[i] + trims[(i + 1) % n] < lengths[i]
            && trims[i] + trims[(i + n - 1) % n] < lengths[(i + n - 1) % n]
        {
            outline.push(corner + (before + after) * (distance / (1.0 + before.dot(after))));
        } else {
            outline.extend([corner + before * distance, corner, corner + after * distance]);
        }
    }
    outline
}

/// A slight arc from `centre + before` to `centre + after` as two points: the shifted edges run on a little beyond the
/// arc's ends and are joined by a chord that cuts off as much as they add.
///
/// With each running on by r·tan φ, the area differs from the sector's by r²(φ³/3 + φ²x/2 − x³/12), x = turn − 2φ, and
/// terms of fifth order; that is zero where x = (1 + √3)φ.
fn push_slight_arc(outline: &mut Vec<Point>, centre: Point, before: Vec2, after: Vec2, turn: f64) {
    let on = (turn.abs() / (3.0 + 3.0_f64.sqrt())).tan();
    // Along the edges: the normals turned back by a right angle.
    outline.push(centre + before + Vec2::new(before.y, -before.x) * on);
    outline.push(centre + after - Vec2::new(after.y, -after.x) * on);
}

fn inward_normal(along: Vec2) -> Vec2 {
    Vec2::new(-along.y, along.x) / along.hypot()
}

/// An arc about `centre` from `centre + start`, turning by `turn` radians, as a polyline of equal steps whose inner
/// vertices are moved out until it encloses the same area as the arc.
fn push_arc(outline: &mut Vec<Point>, centre: Point, start: Vec2, turn: f64) {
    let steps = (turn.abs() / ARC_STEP).ceil().max(1.0);
    let (sin, cos) = turn.sin_cos();
    outline.push(centre + start);
    // Per step of angle 2h, an inner vertex at radius k·r makes two triangles of area r²·k·sin(h) in all; the sector
    // has r²·h. The ends of each step stay on the arc, so that the outline meets the shifted edges.
    let half = turn / (2.0 * steps);
    let stretch = half / half.sin();
    for step in 0..steps as usize {
        let angle = half * (2 * step + 1) as f64;
        outline.push(centre + rotated(start, angle) * stretch);
        if step + 1 < steps as usize {
            outline.push(centre + rotated(start, 2.0 * half * (step + 1) as f64));
        }
    }
    outline.push(centre + Vec2::new(cos * start.x - sin * start.y, sin * start.x + cos * start.y));
}

fn rotated(v: Vec2, angle: f64) -> Vec2 {
    let (sin, cos) = angle.sin_cos();
    Vec2::new(cos * v.x - sin * v.y, sin * v.x + cos * v.y)
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;
    use crate::Contour;
    use crate::contour::signed_area;
    use crate::region::{eroded, patches_area};

    fn contour(points: &[(f64, f64)]) -> Contour {
        Contour::try_new(points.iter().map(|&p| p.into()).collect()).expect("a simple polygon")
    }

    #[test]
    fn square_shrinks_by_its_border() {
        let square =
            contour(&[(0., 0.), (5., 0.), (10., 0.), (10., 5.), (10., 10.), (5., 10.), (0., 10.), (0., 5.)]);
        assert!((signed_area(&erosion_outline(square.points(), 0.5)) - 81.0).abs() < 1e-12);
        assert!((patches_area(&eroded(&square, 0.5)) - 81.0).abs() < 1e-9);
        assert!(eroded(&square, 5.1).is_empty());
    }

    /// At a reflex corner a quarter of a disc is left out besides the bands along the edges.
    #[test]
    fn reflex_corner_takes_the_area_of_its_arc() {
        let l_shape =
            contour(&[(0., 0.), (10., 0.), (10., 4.), (4., 4.), (4., 10.), (2., 10.), (0., 10.), (0., 5.)]);
        let d = 0.6;
        // The inner L without the corner square of the notch, which only its quarter disc takes away.
        let arms = (10.0 - 2.0 * d) * (4.0 - 2.0 * d) + (4.0 - 2.0 * d) * 6.0;
        let expected = arms + d * d - 0.25 * PI * d * d;
        assert!((patches_area(&eroded(&l_shape, d)) - expected).abs() < 1e-6);
    }

    /// A waist thinner than twice the distance vanishes and leaves two pieces.
    #[test]
    fn thin_waist_parts() {
        let dumb_bell = contour(&[
            (0., 0.),
            (6., 0.),
            (6., 2.8),
            (14., 2.8),
            (14., 0.),
            (20., 0.),
            (20., 6.),
            (14., 6.),
            (14., 3.2),
            (6., 3.2),
            (6., 6.),
            (0., 6.),
        ]);
        let pieces = eroded(&dumb_bell, 0.5);
        assert_eq!(pieces.len(), 2);
        // Each half is a 5 × 5 square that bulges a little towards the waist, between the discs of its two corners.
        assert!(pieces.iter().all(|piece| (piece.area() - 25.0).abs() < 0.3), "{:?}", patches_area(&pieces));
    }

    /// Corners sharper than their edges are long: many short edges around a fine tip.
    #[test]
    fn fine_tip_recedes() {
        let tip: Vec<(f64, f64)> = (0..40)
            .map(|i| {
                let (sin, cos) = (f64::from(i) / 40.0 * 2.0 * PI).sin_cos();
                (20.0 + 0.3 * cos + if cos < 0.0 { 15.0 * cos } else { 0.0 }, 10.0 + 0.3 * sin)
            })
            .collect();
        // 0.6 mm thick: nothing is left of it beyond 0.3 mm, something within.
        assert!(eroded(&contour(&tip), 0.31).is_empty());
        assert!(!eroded(&contour(&tip), 0.2).is_empty());
    }
}
