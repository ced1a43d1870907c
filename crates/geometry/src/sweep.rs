//! Areas made of two closed lines, by a sweep of upright slabs.
//!
//! The `out` of every corner and of every crossing borders a slab. Inside a slab no two edges cross, so their order at
//! its middle is their order throughout, and walking up through it with two winding numbers says where each wanted area
//! begins and ends. At a border the intervals of both neighbouring slabs are merged: where only one of them is inside,
//! the area has an upright edge.
//!
//! *Robust by construction:* nothing is decided twice. An order that rounding got wrong makes an area wrong by that
//! rounding; it cannot open a ring, since each list of ends alternates between lower and upper whatever the numbers are.

use kurbo::Point;

use crate::contour::{contains, edges, signed_area};
use crate::region::Patch;

/// Edges that lie closer than this at the middle of a slab lie on each other, mm. Times the length of a brow's edge this
/// bounds what an area can lose: less than 5e-7 mm².
const SAME_MM: f64 = 4e-9;

/// Corners stand on upright lines this many to a mm, so that an edge that should be upright is.
const LINES_PER_MM: f64 = (1_u64 << 32) as f64;

/// A smaller ring is rounding, mm².
const NOTHING_MM2: f64 = 1e-9;

/// A closed line and how to take it.
#[derive(Clone, Copy)]
pub(crate) struct ClosedLine<'a> {
    pub points: &'a [Point],
    /// It may cross itself.
    pub tangled: bool,
}

/// How often the first line and the second wind about a place.
pub(crate) type Windings = [i32; 2];

/// The connected areas where each of `wanted` holds, within upright bands `(from, to)` that lie apart, in rising order.
pub(crate) fn areas(
    lines: [ClosedLine; 2],
    bands: &[(f64, f64)],
    wanted: &[fn(Windings) -> bool],
) -> Vec<Vec<Patch>> {
    let bands: Vec<(f64, f64)> = bands.iter().map(|&(from, to)| (on_line(from), on_line(to))).collect();
    let edges = edges_within(lines, &bands);
    let borders = borders(&edges, lines, &bands);
    let mut sweeps: Vec<AreaSweep> = wanted.iter().map(|&inside| AreaSweep::new(inside)).collect();
    let mut active: Vec<Crossed> = Vec::new();
    let mut coming = edges.iter().enumerate().peekable();
    let mut bands = bands.iter().peekable();
    for (i, &left) in borders.iter().enumerate() {
        let middle = borders.get(i + 1).map(|right| 0.5 * (left + right));
        active.retain(|crossed| edges[crossed.edge].right > left);
        while let Some((edge, _)) = coming.next_if(|(_, edge)| edge.left <= left) {
            if edges[edge].right > left {
                active.push(Crossed { edge, up: 0.0 });
            }
        }
        while bands.next_if(|band| band.1 <= left).is_some() {}
        let within = bands.peek().is_some_and(|band| band.0 <= left);
        for sweep in &mut sweeps {
            sweep.current.clear();
        }
        if let Some(middle) = middle.filter(|_| within) {
            for crossed in &mut active {
                crossed.up = edges[crossed.edge].up_at(middle);
            }
            sort_nearly_sorted(&mut active);
            cross_slab(&active, &edges, &mut sweeps);
        }
        for sweep in &mut sweeps {
            sweep.pass_border(left, &edges);
        }
    }
    sweeps.into_iter().map(|sweep| sweep.rings.into_patches()).collect()
}

fn on_line(out: f64) -> f64 {
    (out * LINES_PER_MM).round_ties_even() / LINES_PER_MM
}

/// An edge that is not upright.
struct Edge {
    left: f64,
    right: f64,
    up_left: f64,
    up_right: f64,
    slope: f64,
    /// What the winding number grows by on the way up across the edge.
    turn: i32,
    /// Which of the two lines it belongs to.
    line: usize,
}

impl Edge {
    fn up_at(&self, out: f64) -> f64 {
        // Exact at both ends, so that edges meet where their corners do.
        if out >= self.right { self.up_right } else { self.up_left + (out - self.left) * self.slope }
    }
}

/// The edges that reach into a band, by growing left end.
fn edges_within(lines: [ClosedLine; 2], bands: &[(f64, f64)]) -> Vec<Edge> {
    let mut found = Vec::with_capacity(lines.iter().map(|line| line.points.len()).sum());
    for (line, closed) in lines.iter().enumerate() {
        for (a, b) in edges(closed.points) {
            let (from, to) = (on_line(a.x), on_line(b.x));
            let (left, right, up_left, up_right, turn) =
                if from < to { (from, to, a.y, b.y, 1) } else { (to, from, b.y, a.y, -1) };
            if left < right && bands.iter().any(|band| left < band.1 && band.0 < right) {
                let slope = (up_right - up_left) / (right - left);
                found.push(Edge { left, right, up_left, up_right, slope, turn, line });
            }
        }
    }
    found.sort_unstable_by(|e, f| e.left.total_cmp(&f.left));
    found
}

/// Where slabs begin and end, in rising order.
fn borders(edges: &[Edge], lines: [ClosedLine; 2], bands: &[(f64, f64)]) -> Vec<f64> {
    let mut found: Vec<f64> = Vec::with_capacity(2 * edges.len());
    let mut active: Vec<&Edge> = Vec::new();
    for edge in edges {
        found.extend([edge.left, edge.right]);
        active.retain(|other| other.right > edge.left);
        for other in &active {
            if edge.line != other.line || lines[edge.line].tangled {
                found.extend(crossing(edge, other));
            }
        }
        active.push(edge);
    }
    found.retain(|out| bands.iter().any(|band| band.0 < *out && *out < band.1));
    found.extend(bands.iter().flat_map(|band| [band.0, band.1]));
    found.sort_unstable_by(f64::total_cmp);
    found.dedup();
    found
}

/// Where two edges pass through each other.
fn crossing(edge: &Edge, other: &Edge) -> Option<f64> {
    let (left, right) = (edge.left.max(other.left), edge.right.min(other.right));
    let (before, after) = (edge.up_at(left) - other.up_at(left), edge.up_at(right) - other.up_at(right));
    let apart = before.abs().max(after.abs()) > SAME_MM;
    (apart && before * after < 0.0).then(|| left + (right - left) * (before / (before - after)))
}

/// An edge and its height at the middle of the slab.
#[derive(Clone, Copy)]
struct Crossed {
    edge: usize,
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
fn cross_slab(active: &[Crossed], edges: &[Edge], sweeps: &mut [AreaSweep]) {
    let mut windings = [0, 0];
    for together in active.chunk_by(|lower, upper| upper.up - lower.up < SAME_MM) {
        let mut named = usize::MAX;
        for crossed in together {
            let edge = &edges[crossed.edge];
            windings[edge.line] += edge.turn;
            // Of edges on each other always the same one, so that the end goes on from slab to slab.
            named = named.min(crossed.edge);
        }
        for sweep in sweeps.iter_mut() {
            let was_inside = sweep.current.len() % 2 == 1;
            if (sweep.inside)(windings) != was_inside {
                sweep.current.push(End { edge: named, node: NONE, up: 0.0 });
            }
        }
    }
}

/// No node.
const NONE: usize = usize::MAX;

/// One end of an interval of a slab: lower and upper ends take turns.
#[derive(Clone, Copy)]
struct End {
    edge: usize,
    /// The last corner set along the edge.
    node: usize,
    /// Height at the border at hand.
    up: f64,
}

/// Gives the ends their heights at a border, never falling.
fn place(ends: &mut [End], out: f64, edges: &[Edge]) {
    let mut highest = f64::NEG_INFINITY;
    for end in ends {
        highest = edges[end.edge].up_at(out).max(highest);
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
    fn new(inside: fn(Windings) -> bool) -> AreaSweep {
        AreaSweep { inside, previous: Vec::new(), current: Vec::new(), rings: Rings::default() }
    }

    /// Joins the ends of the slabs on either side of a border. Going up along it, every loose end changes whether just
    /// one of the slabs is inside, so the first and the second belong together, the third and the fourth, …
    fn pass_border(&mut self, out: f64, edges: &[Edge]) {
        if self.previous.is_empty() && self.current.is_empty() {
            return;
        }
        place(&mut self.previous, out, edges);
        place(&mut self.current, out, edges);
        let (mut i, mut j) = (0, 0);
        let mut waiting: Option<Loose> = None;
        loop {
            let (before, after) = (self.previous.get(i), self.current.get(j));
            let take_after = match (before, after) {
                (None, None) => break,
                (Some(p), Some(q)) if p.edge == q.edge && i % 2 == j % 2 => {
                    self.current[j].node = p.node;
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
                Some(first) => self.join(out, first, loose),
            }
        }
        std::mem::swap(&mut self.previous, &mut self.current);
    }

    /// Joins two loose ends at a border. A ring runs out along lower ends and back along upper ones.
    fn join(&mut self, out: f64, first: Loose, second: Loose) {
        let (a, b) = (self.corner(out, first), self.corner(out, second));
        // Lower ends from before and upper ends from after arrive at the border.
        let (arriving, leaving) = if first.after == first.upper { (a, b) } else { (b, a) };
        self.rings.link(arriving, leaving);
    }

    fn corner(&mut self, out: f64, loose: Loose) -> usize {
        let node = self.rings.corner(Point::new(out, loose.up));
        if loose.after {
            self.current[loose.index].node = node;
        } else {
            let old = self.previous[loose.index].node;
            let (from, to) = if loose.upper { (node, old) } else { (old, node) };
            self.rings.link(from, to);
        }
        node
    }
}

/// Corners and which follows which.
#[derive(Default)]
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

    fn into_patches(mut self) -> Vec<Patch> {
        let (mut patches, mut holes) = (Vec::new(), Vec::new());
        for first in 0..self.next.len() {
            let mut ring = Vec::new();
            let mut node = first;
            while let Some(next) = self.next.get_mut(node) {
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
    cross * cross < SAME_MM * SAME_MM * ab.hypot2().max(bc.hypot2())
}
