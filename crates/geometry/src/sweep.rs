//! Areas made of two closed lines, by a sweep of upright slabs.
//!
//! Both lines are parted into *chains* that run outward without turning back. Slabs begin and end where a chain does and
//! where two chains cross, meet or part, so inside a slab the chains keep their order: walking up through its middle with
//! two winding numbers says between which chains each wanted area lies. At a border the intervals of both neighbouring
//! slabs are merged: where only one of them is inside, the area has an upright edge.
//!
//! *Robust by construction:* nothing is decided twice. An order that rounding got wrong makes an area wrong by that
//! rounding; it cannot open a ring, since each list of ends alternates between lower and upper whatever the numbers are.

use kurbo::Point;

use crate::contour::{contains, edges, signed_area};
use crate::order::{by_number, greater, lesser, rising};
use crate::region::Patch;

/// Chains that lie closer than this lie on each other, mm. Times the length of a brow's edge this bounds what an area
/// can lose: less than 5e-7 mm².
const SAME_MM: f64 = 4e-9;

/// Corners stand on upright lines this many to a mm, so that an edge that should be upright is.
const LINES_PER_MM: f64 = (1_u64 << 32) as f64;

/// A smaller ring is rounding, mm².
const NOTHING_MM2: f64 = 1e-9;

/// Room that a chain begins with: a brow has two long ones.
const MOST_KNOTS: usize = 128;

/// How often the first line and the second wind about a place.
pub(crate) type Windings = [i32; 2];

/// The connected areas where each of `wanted` holds, within upright bands `(from, to)` that lie apart, in rising order.
/// The lines are closed; they may cross themselves and each other.
pub(crate) fn areas(
    lines: [&[Point]; 2],
    bands: &[(f64, f64)],
    wanted: &[fn(Windings) -> bool],
) -> Vec<Vec<Patch>> {
    let bands: Vec<(f64, f64)> = bands.iter().map(|&(from, to)| (on_line(from), on_line(to))).collect();
    let chains = chains_within(lines, &bands);
    let borders = borders(&chains, &bands);
    let edges = lines[0].len() + lines[1].len();
    let mut sweeps: Vec<AreaSweep> = wanted.iter().map(|&inside| AreaSweep::new(inside, edges)).collect();
    let mut active: Vec<Crossed> = Vec::new();
    let mut coming = chains.iter().enumerate().peekable();
    let mut bands = bands.iter().peekable();
    for (i, &left) in borders.iter().enumerate() {
        let middle = borders.get(i + 1).map(|right| 0.5 * (left + right));
        active.retain(|crossed| chains[crossed.chain].right() > left);
        while let Some((chain, found)) = coming.next_if(|(_, chain)| chain.left() <= left) {
            if found.right() > left {
                active.push(Crossed { chain, up: 0.0 });
            }
        }
        while bands.next_if(|band| band.1 <= left).is_some() {}
        let within = bands.peek().is_some_and(|band| band.0 <= left);
        for sweep in &mut sweeps {
            sweep.current.clear();
        }
        if let Some(middle) = middle.filter(|_| within) {
            for crossed in &mut active {
                crossed.up = chains[crossed.chain].up_at(middle);
            }
            sort_nearly_sorted(&mut active);
            cross_slab(&active, &chains, &mut sweeps);
        }
        for sweep in &mut sweeps {
            sweep.pass_border(left, &chains);
        }
    }
    sweeps.into_iter().map(|sweep| sweep.rings.into_patches()).collect()
}

fn on_line(out: f64) -> f64 {
    (out * LINES_PER_MM).round_ties_even() / LINES_PER_MM
}

/// A corner of a chain and how steeply it goes on.
#[derive(Clone, Copy)]
struct Knot {
    out: f64,
    up: f64,
    slope: f64,
}

/// A stretch of a closed line with a growing `out`: at least two knots.
struct Chain {
    knots: Vec<Knot>,
    /// What the winding number grows by on the way up across the chain.
    turn: i32,
    /// Which of the two lines it belongs to.
    line: usize,
}

impl Chain {
    fn left(&self) -> f64 {
        self.knots[0].out
    }

    fn right(&self) -> f64 {
        self.knots[self.knots.len() - 1].out
    }

    /// Index of the last knot that is not beyond `out`.
    #[inline(always)]
    fn knot_before(&self, out: f64) -> usize {
        self.knots.partition_point(|knot| knot.out <= out).max(1) - 1
    }

    /// Exact at every knot, so that chains meet where their corners do.
    #[inline(always)]
    fn up_at(&self, out: f64) -> f64 {
        let knot = self.knots[self.knot_before(out)];
        knot.up + (out - knot.out) * knot.slope
    }

    fn between(&self, from: f64, to: f64) -> &[Knot] {
        let first = self.knots.partition_point(|knot| knot.out <= from);
        let count = self.knots[first..].partition_point(|knot| knot.out < to);
        &self.knots[first..first + count]
    }

    fn finished(mut self) -> Chain {
        if self.turn < 0 {
            self.knots.reverse();
        }
        for i in 1..self.knots.len() {
            let (from, to) = (self.knots[i - 1], self.knots[i]);
            self.knots[i - 1].slope = (to.up - from.up) / (to.out - from.out);
        }
        self
    }
}

/// The chains that reach into a band, by growing left end. Upright edges belong to none.
fn chains_within(lines: [&[Point]; 2], bands: &[(f64, f64)]) -> Vec<Chain> {
    let mut found = Vec::new();
    for (line, points) in lines.into_iter().enumerate() {
        let mut open: Option<Chain> = None;
        for (a, b) in edges(points) {
            let (from, to) = (on_line(a.x), on_line(b.x));
            let (left, right, turn) = if from < to { (from, to, 1) } else { (to, from, -1) };
            let wanted = left < right && bands.iter().any(|band| left < band.1 && band.0 < right);
            if open.as_ref().is_some_and(|chain| !wanted || chain.turn != turn) {
                found.extend(open.take().map(Chain::finished));
            }
            if wanted {
                let knot = |out, up| Knot { out, up, slope: 0.0 };
                let chain = open.get_or_insert_with(|| {
                    let mut knots = Vec::with_capacity(MOST_KNOTS.min(points.len()));
                    knots.push(knot(from, a.y));
                    Chain { knots, turn, line }
                });
                chain.knots.push(knot(to, b.y));
            }
        }
        found.extend(open.map(Chain::finished));
    }
    by_number(found, Chain::left)
}

/// Where slabs begin and end, in rising order.
fn borders(chains: &[Chain], bands: &[(f64, f64)]) -> Vec<f64> {
    let mut found: Vec<f64> = Vec::with_capacity(4 * chains.len());
    let mut active: Vec<&Chain> = Vec::new();
    for chain in chains {
        found.extend([chain.left(), chain.right()]);
        active.retain(|other| other.right() > chain.left());
        for other in &active {
            note_changes(chain, other, &mut found);
        }
        active.push(chain);
    }
    found.retain(|out| bands.iter().any(|band| band.0 < *out && *out < band.1));
    found.extend(bands.iter().flat_map(|band| [band.0, band.1]));
    rising(&mut found);
    found.dedup();
    found
}

/// Notes where two chains cross, and both ends of every straight piece along which they meet or part: between two
/// borders they then lie apart at all knots or on each other at all of them.
fn note_changes(a: &Chain, b: &Chain, borders: &mut Vec<f64>) {
    let last = lesser(a.right(), b.right());
    let mut out = greater(a.left(), b.left());
    let (mut i, mut j) = (a.knot_before(out), b.knot_before(out));
    let mut gap = a.up_at(out) - b.up_at(out);
    while out < last {
        let (p, q) = (a.knots[i], b.knots[j]);
        let (next_a, next_b) = (a.knots[i + 1], b.knots[j + 1]);
        let next = lesser(next_a.out, next_b.out);
        let up_a = if next_a.out <= next { next_a.up } else { p.up + (next - p.out) * p.slope };
        let up_b = if next_b.out <= next { next_b.up } else { q.up + (next - q.out) * q.slope };
        let next_gap = up_a - up_b;
        let apart = (gap.abs() > SAME_MM, next_gap.abs() > SAME_MM);
        if apart == (true, true) && gap * next_gap < 0.0 {
            borders.push(out + (next - out) * (gap / (gap - next_gap)));
        } else if apart.0 != apart.1 {
            borders.extend([out, next]);
        }
        i += usize::from(next_a.out <= next);
        j += usize::from(next_b.out <= next);
        (out, gap) = (next, next_gap);
    }
}

/// A chain and its height at the middle of the slab.
#[derive(Clone, Copy)]
struct Crossed {
    chain: usize,
    up: f64,
}

fn sort_nearly_sorted(active: &mut [Crossed]) {
    for i in 1..active.len() {
        let mut j = i;
        while j > 0 && active[j].up < active[j - 1].up {
            active.swap(j, j - 1);
            j -= 1;
        }
    }
}

/// Walks up through a slab and notes where each area begins and ends.
fn cross_slab(active: &[Crossed], chains: &[Chain], sweeps: &mut [AreaSweep]) {
    let mut windings = [0, 0];
    for together in active.chunk_by(|lower, upper| upper.up - lower.up <= SAME_MM) {
        let mut named = usize::MAX;
        for crossed in together {
            let chain = &chains[crossed.chain];
            windings[chain.line] += chain.turn;
            // Of chains on each other always the same one, so that the end goes on from slab to slab.
            named = named.min(crossed.chain);
        }
        for sweep in sweeps.iter_mut() {
            let was_inside = sweep.current.len() % 2 == 1;
            if (sweep.inside)(windings) != was_inside {
                sweep.current.push(End { chain: named, node: NONE, since: 0.0, up: 0.0 });
            }
        }
    }
}

/// No node.
const NONE: usize = usize::MAX;

/// One end of an interval of a slab: lower and upper ends take turns.
#[derive(Clone, Copy)]
struct End {
    chain: usize,
    /// The last corner set along the chain.
    node: usize,
    /// Its `out`.
    since: f64,
    /// Height at the border at hand.
    up: f64,
}

/// Gives the ends their heights at a border, never falling.
fn place(ends: &mut [End], out: f64, chains: &[Chain]) {
    let mut highest = f64::NEG_INFINITY;
    for end in ends {
        highest = greater(highest, chains[end.chain].up_at(out));
        end.up = highest;
    }
}

/// The sweep as one of the wanted areas sees it.
struct AreaSweep {
    inside: fn(Windings) -> bool,
    /// Ends in the slab before the border at hand and in the one after it.
    previous: Vec<End>,
    current: Vec<End>,
    rings: Rings,
}

/// An end that does not go on across a border: which slab's, and whether it is an upper one.
#[derive(Clone, Copy)]
struct Loose {
    index: usize,
    after: bool,
    upper: bool,
    up: f64,
}

impl AreaSweep {
    /// With room for as many corners as the lines have edges.
    fn new(inside: fn(Windings) -> bool, edges: usize) -> AreaSweep {
        let rings = Rings { corners: Vec::with_capacity(edges), next: Vec::with_capacity(edges) };
        AreaSweep { inside, previous: Vec::new(), current: Vec::new(), rings }
    }

    /// Joins the ends of the slabs on either side of a border. Going up along it, every loose end changes whether just
    /// one of the slabs is inside, so the first and the second belong together, the third and the fourth, …
    fn pass_border(&mut self, out: f64, chains: &[Chain]) {
        if self.previous.is_empty() && self.current.is_empty() {
            return;
        }
        place(&mut self.previous, out, chains);
        place(&mut self.current, out, chains);
        let (mut i, mut j) = (0, 0);
        let mut waiting: Option<Loose> = None;
        loop {
            let (before, after) = (self.previous.get(i), self.current.get(j));
            let take_after = match (before, after) {
                (None, None) => break,
                (Some(p), Some(q)) if p.chain == q.chain && i % 2 == j % 2 => {
                    (self.current[j].node, self.current[j].since) = (p.node, p.since);
                    (i, j) = (i + 1, j + 1);
                    continue;
                }
                // The slab before comes first where both meet in a point, so that areas which only touch stay apart.
                (Some(p), Some(q)) => q.up < p.up - SAME_MM,
                (before, _) => before.is_none(),
            };
            let loose = if take_after {
                j += 1;
                Loose { index: j - 1, after: true, upper: j % 2 == 0, up: self.current[j - 1].up }
            } else {
                i += 1;
                Loose { index: i - 1, after: false, upper: i % 2 == 0, up: self.previous[i - 1].up }
            };
            match waiting.take() {
                None => waiting = Some(loose),
                Some(first) => self.join(out, first, loose, chains),
            }
        }
        std::mem::swap(&mut self.previous, &mut self.current);
    }

    /// Joins two loose ends at a border. A ring runs out along lower ends and back along upper ones.
    fn join(&mut self, out: f64, first: Loose, second: Loose, chains: &[Chain]) {
        let (a, b) = (self.corner(out, first, chains), self.corner(out, second, chains));
        // Lower ends from before and upper ends from after arrive at the border.
        let (arriving, leaving) = if first.after == first.upper { (a, b) } else { (b, a) };
        self.rings.link(arriving, leaving);
    }

    fn corner(&mut self, out: f64, loose: Loose, chains: &[Chain]) -> usize {
        let node = self.rings.corner(Point::new(out, loose.up));
        if loose.after {
            let end = &mut self.current[loose.index];
            (end.node, end.since) = (node, out);
        } else {
            let end = self.previous[loose.index];
            let mut last = end.node;
            for knot in chains[end.chain].between(end.since, out) {
                let next = self.rings.corner(Point::new(knot.out, knot.up));
                self.rings.link_along(loose.upper, last, next);
                last = next;
            }
            self.rings.link_along(loose.upper, last, node);
        }
        node
    }
}

/// Corners and which follows which.
struct Rings {
    corners: Vec<Point>,
    next: Vec<usize>,
}

impl Rings {
    fn corner(&mut self, at: Point) -> usize {
        self.corners.push(at);
        self.next.push(NONE);
        self.corners.len() - 1
    }

    fn link(&mut self, from: usize, to: usize) {
        if let Some(next) = self.next.get_mut(from) {
            *next = to;
        }
    }

    /// Links two corners of which the second lies farther out: along an upper end a ring runs back.
    fn link_along(&mut self, upper: bool, inner: usize, outer: usize) {
        let (from, to) = if upper { (outer, inner) } else { (inner, outer) };
        self.link(from, to);
    }

    fn into_patches(mut self) -> Vec<Patch> {
        let (mut patches, mut holes) = (Vec::new(), Vec::new());
        let mut ring = Vec::new();
        for first in 0..self.next.len() {
            ring.clear();
            let mut node = first;
            while let Some(next) = self.next.get_mut(node).filter(|next| **next != NONE) {
                ring.push(self.corners[node]);
                node = std::mem::replace(next, NONE);
            }
            let ring = without_needless(&ring);
            let area = signed_area(&ring);
            if area > NOTHING_MM2 {
                patches.push(Patch { outer: ring, holes: Vec::new() });
            } else if area < -NOTHING_MM2 {
                holes.push(ring);
            }
        }
        for hole in holes {
            let around = if patches.len() > 1 { innermost_around(&patches, &hole) } else { 0 };
            if let Some(patch) = patches.get_mut(around) {
                patch.holes.push(hole);
            }
        }
        patches
    }
}

/// The smallest patch that a hole lies in. Holes may touch the ring around them in corners, never along an edge.
fn innermost_around(patches: &[Patch], hole: &[Point]) -> usize {
    let longest =
        edges(hole).max_by(|(a, b), (c, d)| a.distance_squared(*b).total_cmp(&c.distance_squared(*d)));
    let Some(within) = longest.map(|(a, b)| a.midpoint(b)) else { return 0 };
    let around = patches.iter().enumerate().filter(|(_, patch)| contains(&patch.outer, within));
    around
        .min_by(|(_, p), (_, q)| signed_area(&p.outer).total_cmp(&signed_area(&q.outer)))
        .map_or(0, |(index, _)| index)
}

/// A ring without doubled corners, without corners along a straight edge and without needles of no width.
fn without_needless(ring: &[Point]) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::with_capacity(ring.len());
    for &point in ring {
        while let Some(&last) = kept.last() {
            let needless = last.distance_squared(point) < SAME_MM * SAME_MM
                || kept.len() > 1 && is_straight(kept[kept.len() - 2], last, point);
            if !needless {
                break;
            }
            kept.pop();
        }
        kept.push(point);
    }
    // Around the seam.
    let mut start = 0;
    while kept.len() > start + 2 {
        let (first, second, last) = (kept[start], kept[start + 1], kept[kept.len() - 1]);
        if last.distance_squared(first) < SAME_MM * SAME_MM || is_straight(kept[kept.len() - 2], last, first)
        {
            kept.pop();
        } else if is_straight(last, first, second) {
            start += 1;
        } else {
            break;
        }
    }
    kept.drain(..start);
    kept
}

/// Whether the corner `b` between `a` and `c` bends no more than rounding does.
fn is_straight(a: Point, b: Point, c: Point) -> bool {
    let (ab, bc) = (b - a, c - b);
    let cross = ab.cross(bc);
    cross * cross < SAME_MM * SAME_MM * greater(ab.hypot2(), bc.hypot2())
}
