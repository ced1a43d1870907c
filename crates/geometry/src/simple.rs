//! Whether a closed polygon crosses itself, and where.

use kurbo::Point;

use crate::order::rising_pairs;

/// Two edges that meet though they are no neighbours, or neighbours that fold back onto each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Crossing {
    /// Index of the earlier edge; edge `i` runs from point `i` to point `i + 1`.
    pub first: usize,
    /// Index of the later edge.
    pub second: usize,
    /// Where they meet.
    pub at: Point,
}

/// The first crossing found, or `None` where the polygon is simple. Touching counts as crossing.
///
/// Edges are swept by growing `out`, so a brow's thin outline costs little more than sorting its edges.
pub(crate) fn first_crossing(points: &[Point]) -> Option<Crossing> {
    crossings_until(points, |_| true)
}

/// Every crossing, in no particular order.
pub(crate) fn all_crossings(points: &[Point]) -> Vec<Crossing> {
    let mut found = Vec::new();
    crossings_until(points, |crossing| {
        found.push(crossing);
        false
    });
    found
}

fn crossings_until(points: &[Point], mut stop: impl FnMut(Crossing) -> bool) -> Option<Crossing> {
    let n = points.len();
    let edge = |i: usize| Some((*points.get(i)?, *points.get((i + 1) % n)?));
    let mut order: Vec<(f64, usize)> =
        (0..n).filter_map(|i| edge(i).map(|(a, b)| (a.x.min(b.x), i))).collect();
    rising_pairs(&mut order);
    let mut active: Vec<usize> = Vec::new();
    for &(left, i) in &order {
        let Some((a, b)) = edge(i) else { continue };
        active.retain(|&j| edge(j).is_some_and(|(c, d)| c.x.max(d.x) >= left));
        for &j in &active {
            let Some((c, d)) = edge(j) else { continue };
            let meeting = if (i + 1) % n == j {
                folds_back(a, b, d).then_some(b)
            } else if (j + 1) % n == i {
                folds_back(c, d, b).then_some(d)
            } else {
                meeting_point(a, b, c, d)
            };
            if let Some(at) = meeting {
                let crossing = Crossing { first: i.min(j), second: i.max(j), at };
                if stop(crossing) {
                    return Some(crossing);
                }
            }
        }
        active.push(i);
    }
    None
}

/// True where the edge `b → c` runs straight back over `a → b`.
fn folds_back(a: Point, b: Point, c: Point) -> bool {
    (b - a).cross(c - b) == 0.0 && (b - a).dot(c - b) < 0.0
}

/// Where two closed segments meet, if they do.
fn meeting_point(a: Point, b: Point, c: Point, d: Point) -> Option<Point> {
    if a.y.min(b.y) > c.y.max(d.y) || c.y.min(d.y) > a.y.max(b.y) {
        return None;
    }
    let (ab, cd) = (b - a, d - c);
    let (side_c, side_d) = (ab.cross(c - a), ab.cross(d - a));
    let (side_a, side_b) = (cd.cross(a - c), cd.cross(b - c));
    if side_c * side_d > 0.0 || side_a * side_b > 0.0 {
        return None;
    }
    let span = side_c - side_d;
    if span != 0.0 {
        return Some(c.lerp(d, side_c / span));
    }
    // All four on one line: they meet where one's end lies on the other.
    let on = |p: Point, q: Point, r: Point| (r - p).dot(r - q) <= 0.0;
    [(a, b, c), (a, b, d), (c, d, a)].into_iter().find(|&(p, q, r)| on(p, q, r)).map(|(_, _, r)| r)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(list: &[(f64, f64)]) -> Vec<Point> {
        list.iter().map(|&p| p.into()).collect()
    }

    #[test]
    fn square_is_simple() {
        assert_eq!(first_crossing(&points(&[(0., 0.), (2., 0.), (2., 2.), (0., 2.)])), None);
    }

    #[test]
    fn figure_eight_names_the_place() {
        let crossing = first_crossing(&points(&[(0., 0.), (2., 2.), (2., 0.), (0., 2.)]));
        assert_eq!(crossing.map(|c| c.at), Some(Point::new(1., 1.)));
    }

    #[test]
    fn corner_touching_a_far_edge_is_found() {
        let touching = points(&[(0., 0.), (4., 0.), (4., 3.), (2., 0.), (0., 3.)]);
        assert_eq!(first_crossing(&touching).map(|c| c.at), Some(Point::new(2., 0.)));
    }

    #[test]
    fn spike_and_overlap_are_found() {
        assert!(first_crossing(&points(&[(0., 0.), (4., 0.), (6., 0.), (4., 0.), (2., 3.)])).is_some());
        assert!(
            first_crossing(&points(&[(0., 0.), (4., 0.), (4., 2.), (3., 0.), (1., 0.), (0., 2.)])).is_some()
        );
    }

    #[test]
    fn agrees_with_testing_every_pair() {
        // A fixed linear congruential sequence: many small polygons, about half of them crossing.
        let mut state = 7_u64;
        let mut next = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 40) as f64 / (1 << 24) as f64
        };
        let (mut simple, mut crossing) = (0, 0);
        for _ in 0..2000 {
            let polygon: Vec<Point> = (0..5).map(|_| Point::new(next(), next())).collect();
            let n = polygon.len();
            let brute = (0..n).any(|i| {
                (i + 2..n).filter(|j| (j + 1) % n != i).any(|j| {
                    meeting_point(polygon[i], polygon[(i + 1) % n], polygon[j], polygon[(j + 1) % n])
                        .is_some()
                })
            });
            assert_eq!(first_crossing(&polygon).is_some(), brute);
            if brute { crossing += 1 } else { simple += 1 }
        }
        assert!(simple > 100 && crossing > 100, "{simple} simple, {crossing} crossing");
    }
}
