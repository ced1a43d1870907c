//! A contour shrunk by a distance, as one raw outline whose inside is where it winds at least once.
//!
//! *Source:* Chen, X. & McMains, S. (2005), Polygon offsetting by computing winding numbers, ASME IDETC, paper
//! DETC2005-85513: every edge is shifted inwards, gaps at reflex corners are closed by arcs, overlaps at convex corners
//! go through the corner itself; the shrunk polygon is where the winding number stays positive.

use kurbo::{Point, Vec2};

use crate::contour::edges;

/// Arcs are drawn with steps no wider than this, radians.
const ARC_STEP: f64 = 0.2;

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
        if turn < 0.0 {
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
