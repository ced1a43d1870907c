//! Patches cut along upright lines.

use kurbo::Point;

use crate::contour::contains;
use crate::order::{by_number, greater, lesser};
use crate::region::Patch;

/// The parts of a patch with `low` ≤ out ≤ `high`.
pub(crate) fn between(patch: &Patch, low: f64, high: f64) -> Vec<Patch> {
    let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
    for p in &patch.outer {
        left = lesser(left, p.x);
        right = greater(right, p.x);
    }
    if right <= low || high <= left {
        return Vec::new();
    }
    let mut parts = vec![patch.clone()];
    if left < low {
        parts = parts.iter().flat_map(|part| one_side(part, low, true)).collect();
    }
    if right > high {
        parts = parts.iter().flat_map(|part| one_side(part, high, false)).collect();
    }
    parts
}

/// A stretch of a ring on the kept side, from where the ring comes over the line to where it goes back.
struct Chain {
    points: Vec<Point>,
    used: bool,
}

/// A place where a ring passes the line.
struct Passage {
    up: f64,
    chain: usize,
    /// True where the chain starts here.
    starts: bool,
}

/// The parts of a patch on one side of the upright line at `line`.
///
/// A corner is on the kept side or not; one that lies on the line counts as beyond it, so no case is special. Between
/// passages sorted by height the line runs inside, outside, inside, … so that each first and second belong together.
fn one_side(patch: &Patch, line: f64, keep_outer: bool) -> Vec<Patch> {
    let kept = |p: Point| if keep_outer { p.x > line } else { p.x < line };
    let mut whole: Vec<Vec<Point>> = Vec::new();
    let mut chains: Vec<Chain> = Vec::new();
    let mut passages: Vec<Passage> = Vec::new();
    for ring in patch.rings() {
        let n = ring.len();
        let Some(start) = (0..n).find(|&i| !kept(ring[i])) else {
            whole.push(ring.to_vec());
            continue;
        };
        let walk = (start..start + n).map(|i| (ring[i % n], ring[(i + 1) % n]));
        for (a, b) in walk {
            let passing = || Point::new(line, a.y + (line - a.x) / (b.x - a.x) * (b.y - a.y));
            match (kept(a), kept(b)) {
                (false, true) => {
                    let at = passing();
                    passages.push(Passage { up: at.y, chain: chains.len(), starts: true });
                    chains.push(Chain { points: vec![at, b], used: false });
                }
                (true, true) => {
                    if let Some(chain) = chains.last_mut() {
                        chain.points.push(b);
                    }
                }
                (true, false) => {
                    let at = passing();
                    if let Some(chain) = chains.len().checked_sub(1) {
                        passages.push(Passage { up: at.y, chain, starts: false });
                        chains[chain].points.push(at);
                    }
                }
                (false, false) => {}
            }
        }
    }
    let passages = by_number(passages, |passage| passage.up);
    // The start of the chain that follows the end of each chain along the line.
    let mut next = vec![None; chains.len()];
    for pair in passages.chunks_exact(2) {
        let [p, q] = pair else { continue };
        match (p.starts, q.starts) {
            (true, false) => next[q.chain] = Some(p.chain),
            (false, true) => next[p.chain] = Some(q.chain),
            // Two passages at one height in the wrong order by rounding: a sliver of no area. Each chain then closes
            // upon itself.
            _ => {}
        }
    }
    let mut parts = Vec::new();
    for first in 0..chains.len() {
        let mut outer = Vec::new();
        let mut chain = first;
        while !chains[chain].used {
            chains[chain].used = true;
            outer.append(&mut chains[chain].points);
            chain = next[chain].unwrap_or(chain);
        }
        if outer.len() > 2 {
            parts.push(Patch { outer, holes: Vec::new() });
        }
    }
    let mut whole = whole.into_iter();
    if parts.is_empty() {
        // Nothing was cut: either all of the patch is kept or none of it.
        return whole.next().map(|outer| Patch { outer, holes: whole.collect() }).into_iter().collect();
    }
    for hole in whole {
        let Some(&corner) = hole.first() else { continue };
        if let Some(part) = parts.iter_mut().find(|part| contains(&part.outer, corner)) {
            part.holes.push(hole);
        }
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::region::patches_area;

    fn ring(points: &[(f64, f64)]) -> Vec<Point> {
        points.iter().map(|&p| p.into()).collect()
    }

    #[test]
    fn u_shape_falls_into_its_two_arms() {
        let u = Patch {
            outer: ring(&[
                (0., 0.),
                (10., 0.),
                (10., 1.),
                (2., 1.),
                (2., 4.),
                (10., 4.),
                (10., 6.),
                (0., 6.),
            ]),
            holes: Vec::new(),
        };
        let arms = between(&u, 5.0, 8.0);
        let mut areas: Vec<f64> = arms.iter().map(Patch::area).collect();
        areas.sort_by(f64::total_cmp);
        assert_eq!(areas, [3.0, 6.0]);
        let back = between(&u, -1.0, 3.0);
        assert_eq!(back.len(), 1);
        assert_eq!(back[0].area(), 2.0 * 6.0 + 1.0 + 2.0);
        assert!(between(&u, 10.0, 20.0).is_empty());
        assert_eq!(between(&u, -5.0, 20.0), [u]);
    }

    #[test]
    fn hole_that_is_cut_opens_and_one_that_is_not_stays() {
        let frame = Patch {
            outer: ring(&[(0., 0.), (20., 0.), (20., 10.), (0., 10.)]),
            holes: vec![
                ring(&[(2., 2.), (2., 8.), (8., 8.), (8., 2.)]),
                ring(&[(15., 4.), (15., 6.), (17., 6.), (17., 4.)]),
            ],
        };
        let left = between(&frame, -1.0, 5.0);
        assert_eq!((left.len(), patches_area(&left)), (1, 50.0 - 18.0));
        let right = between(&frame, 5.0, 30.0);
        assert_eq!((right.len(), patches_area(&right)), (1, 150.0 - 18.0 - 4.0));
        assert_eq!(right[0].holes.len(), 1);
    }

    #[test]
    fn parts_add_up_to_the_whole() {
        // A comb whose teeth end exactly on a cutting line.
        let mut outer = vec![Point::new(0.0, 0.0), Point::new(5.0, 0.0)];
        for tooth in 0..5 {
            let up = f64::from(tooth);
            outer.extend([Point::new(10.0, up + 0.2), Point::new(5.0, up + 0.5), Point::new(5.0, up + 0.9)]);
        }
        outer.push(Point::new(0.0, 5.0));
        let comb = Patch { outer, holes: Vec::new() };
        for line in [0.0, 2.5, 5.0, 7.0, 10.0] {
            let halves =
                patches_area(&between(&comb, -1.0, line)) + patches_area(&between(&comb, line, 11.0));
            assert!((halves - comb.area()).abs() < 1e-12, "{line}: {halves}");
        }
    }
}
