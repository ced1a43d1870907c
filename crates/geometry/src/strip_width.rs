//! How wide a strip of skin or hair is.

use kurbo::{Point, Vec2};

use crate::contour::{contains, edges, once_around, perimeter};
use crate::nearest::EdgeIndex;
use crate::order::lesser;
use crate::region::Patch;

/// Rounds of shrinking a circle until it touches; each round at least comes closer, and few are ever needed.
const SHRINK_ROUNDS: usize = 30;
/// A circle that reaches over the edge by less than this touches it, mm.
const TOUCH_MM: f64 = 1e-9;
/// Spacing of the contact points that are tried along the edge of a patch, mm, and the bounds of their number.
const CONTACT_STEP_MM: f64 = 1.0;
const CONTACTS: (f64, f64) = (16.0, 64.0);
/// Halvings of the stretch around the best contact point: 1 mm / 2¹⁰ is far below what can be seen.
const REFINE_ROUNDS: usize = 10;

/// A circle inside a patch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct InnerCircle {
    pub centre: Point,
    pub radius: f64,
}

/// The widest place of a patch: the largest circle that fits inside.
///
/// *Method:* for a point on the edge, the largest inner circle that touches there is found by shrinking one that is
/// too large to the nearest edge point until it no longer reaches over (the shrinking ball of Ma, Bae & Choi 2012,
/// doi 10.1007/s00371-011-0594-7). Contact points at even arc length are tried, then the best one's neighbourhood.
pub(crate) fn widest_circle(patch: &Patch) -> Option<InnerCircle> {
    // No shape is narrower than area over perimeter allows: smaller circles need not be looked at. The contacts that are
    // tried may miss a little of the best one, and in a shape that is all corners a lot.
    let least = 0.9 * patch.area().max(0.0) / patch.rings().map(perimeter).sum::<f64>();
    widest_beyond(patch, least).or_else(|| widest_beyond(patch, 0.0))
}

/// The same, if its radius lies beyond the one given.
fn widest_beyond(patch: &Patch, least: f64) -> Option<InnerCircle> {
    let all: Vec<(Point, Point)> = patch.rings().flat_map(edges).collect();
    let index = EdgeIndex::of(all.iter().copied());
    let first = *patch.outer.first()?;
    // No circle inside has a larger area than the patch.
    let largest = (patch.area().max(0.0) / std::f64::consts::PI).sqrt() + TOUCH_MM;
    let mut ends = Vec::with_capacity(all.len());
    let mut whole = 0.0;
    for (a, b) in &all {
        whole += a.distance(*b);
        ends.push(whole);
    }
    // What was in the way of the last circle is likely in the way of the next one.
    let mut obstacle = 0;
    let mut touching = |along: f64, beyond: f64| {
        let edge = ends.partition_point(|&end| end < along);
        let (&(a, b), &end) = all.get(edge).zip(ends.get(edge))?;
        let length = a.distance(b);
        let inward = Vec2::new(a.y - b.y, b.x - a.x) / length;
        let contact = Contact { edge, at: b.lerp(a, (end - along) / length), inward };
        contact.circle(&index, beyond, largest, &mut obstacle)
    };
    let count = (whole / CONTACT_STEP_MM).clamp(CONTACTS.0, CONTACTS.1).round();
    let step = whole / count;
    let mut best = InnerCircle { centre: first, radius: least };
    let mut at = 0.0;
    // Along an edge that lies on another one (a crack of no width) circles touch on the outside: those are no inner ones.
    let inside = |p: Point| patch.rings().filter(|ring| contains(ring, p)).count() % 2 == 1;
    let mut try_at = |along: f64, at: &mut f64| {
        if let Some(circle) = touching(once_around(along, whole), best.radius)
            && inside(circle.centre)
        {
            best = circle;
            *at = along;
        }
    };
    for i in 0..count as usize {
        try_at((i as f64 + 0.5) * step, &mut at);
    }
    let mut reach = step;
    for _ in 0..REFINE_ROUNDS {
        reach *= 0.5;
        for along in [at - reach, at + reach] {
            try_at(along, &mut at);
        }
    }
    (best.radius > least).then_some(best)
}

/// A point of the edge that circles touch from inside.
struct Contact {
    edge: usize,
    at: Point,
    inward: Vec2,
}

impl Contact {
    /// The largest circle inside that touches here, if its radius lies beyond the one given; it is at most `largest`.
    fn circle(
        &self,
        index: &EdgeIndex,
        beyond: f64,
        largest: f64,
        obstacle: &mut usize,
    ) -> Option<InnerCircle> {
        // Circles that touch here grow within each other: if one is too large already, so are all larger ones.
        let wanted = beyond + TOUCH_MM;
        if wanted >= largest || self.is_blocked(index, wanted, *obstacle) {
            return None;
        }
        if let Some((_, edge)) = self.smaller(index, wanted) {
            *obstacle = edge;
            return None;
        }
        let mut radius = largest;
        for _ in 0..SHRINK_ROUNDS {
            match self.smaller(index, radius) {
                Some((shrunk, edge)) if shrunk > beyond => {
                    *obstacle = edge;
                    radius = shrunk;
                }
                Some(_) => return None,
                None => break,
            }
        }
        Some(InnerCircle { centre: self.at + self.inward * radius, radius })
    }

    /// Whether a circle of this radius reaches over an edge near this one.
    fn is_blocked(&self, index: &EdgeIndex, radius: f64, near: usize) -> bool {
        let centre = self.at + self.inward * radius;
        index.downhill(centre, near).distance_sq.sqrt() < radius - TOUCH_MM
    }

    /// The radius at which a circle of this radius would pass through the edge point nearest to its centre, or `None`
    /// where it reaches over no edge; and that edge.
    fn smaller(&self, index: &EdgeIndex, radius: f64) -> Option<(f64, usize)> {
        let centre = self.at + self.inward * radius;
        let nearest = index.nearest(centre, self.edge);
        if nearest.distance_sq.sqrt() >= radius - TOUCH_MM {
            return None;
        }
        let chord = index.point_on(nearest.edge, centre) - self.at;
        let depth = chord.dot(self.inward);
        let shrunk = if depth > 0.0 { lesser(chord.hypot2() / (2.0 * depth), radius) } else { 0.0 };
        Some((shrunk, nearest.edge))
    }
}

/// Mean width of a patch, mm: the short side of the rectangle of the same area and perimeter, or the side of the
/// square of the same area where the patch is plumper than any rectangle.
pub(crate) fn mean_width(patch: &Patch) -> f64 {
    let area = patch.area().max(0.0);
    let quarter = 0.25 * patch.rings().map(perimeter).sum::<f64>();
    // Sides w and l with w + l = 2·quarter and w·l = area.
    match quarter * quarter - area {
        rest if rest > 0.0 => quarter - rest.sqrt(),
        _ => area.sqrt(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn patch(points: &[(f64, f64)]) -> Patch {
        Patch { outer: points.iter().map(|&p| p.into()).collect(), holes: Vec::new() }
    }

    #[test]
    fn rectangle_has_its_short_side() {
        let strip = patch(&[(0., 0.), (20., 0.), (20., 1.5), (0., 1.5)]);
        assert!((mean_width(&strip) - 1.5).abs() < 1e-12);
        assert!((widest_circle(&strip).expect("a circle").radius - 0.75).abs() < 1e-9);
    }

    #[test]
    fn triangle_has_its_incircle() {
        // 3-4-5: inradius 1.
        let circle = widest_circle(&patch(&[(0., 0.), (4., 0.), (0., 3.)])).expect("a circle");
        assert!((circle.radius - 1.0).abs() < 2e-3, "{circle:?}");
        assert!(circle.centre.distance(Point::new(1., 1.)) < 4e-3);
    }

    #[test]
    fn wedge_is_widest_at_its_open_end() {
        let circle =
            widest_circle(&patch(&[(0., 0.), (10., 0.), (20., 0.), (20., 2.), (10., 1.)])).expect("a circle");
        assert!(circle.centre.x > 18.5 && circle.radius > 0.9 && circle.radius < 1.0, "{circle:?}");
    }

    #[test]
    fn hole_is_kept_clear() {
        let ring = Patch {
            outer: [(0., 0.), (10., 0.), (10., 10.), (0., 10.)].map(Point::from).to_vec(),
            holes: vec![[(2., 2.), (2., 7.), (8., 7.), (8., 2.)].map(Point::from).to_vec()],
        };
        let circle = widest_circle(&ring).expect("a circle");
        // It touches two outer sides and the hole's corner at (8, 7): (2 − r)² + (3 − r)² = r².
        assert!((circle.radius - (5.0 - 12.0_f64.sqrt())).abs() < 2e-3, "{circle:?}");
    }

    #[test]
    fn plump_patch_has_the_side_of_its_square() {
        let disc: Vec<(f64, f64)> = (0..100)
            .map(|i| (f64::from(i) * std::f64::consts::TAU / 100.0).sin_cos())
            .map(|(s, c)| (c, s))
            .collect();
        let disc = patch(&disc);
        assert!((mean_width(&disc) - disc.area().sqrt()).abs() < 1e-12);
        assert!((widest_circle(&disc).expect("a circle").radius - 1.0).abs() < 1e-3);
    }
}
