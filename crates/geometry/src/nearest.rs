//! Nearest points on a contour, found without looking at every edge.

use kurbo::{Point, Vec2};

use crate::Contour;
use crate::order::{greater, lesser};

/// Edges that share one bounding box. Small boxes cost their own tests, large ones let too many edges through;
/// 8 was as fast as any on outlines of 104 to 160 points.
const EDGES_PER_BOX: usize = 8;

/// How many edges without gain end a walk downhill. One would stop at the first dent of a traced edge.
const LOOK_AHEAD: usize = 2;

/// The edges of a contour in boxes.
pub(crate) struct EdgeIndex {
    edges: Vec<Edge>,
    boxes: Vec<EdgeBox>,
}

/// An edge with what its distance needs.
#[derive(Clone, Copy)]
struct Edge {
    from: Point,
    along: Vec2,
    per_length_sq: f64,
}

struct EdgeBox {
    low: Point,
    high: Point,
}

/// The nearest edge of a point.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Nearest {
    /// Which edge; edge `i` runs from point `i` to the next.
    pub edge: usize,
    /// Square of the distance, mm².
    pub distance_sq: f64,
}

// Where geometry is built small, the compiler would call what is only a few steps. No branches in the innermost ones: which
// way they went would change from edge to edge, and guessing wrong took a fifth of a report. What the sums of sizes round is
// 1e-14 mm.
impl Edge {
    #[inline(always)]
    fn distance_sq(&self, p: Point) -> f64 {
        let to = p - self.from;
        let t = to.dot(self.along) * self.per_length_sq;
        // No less than 0, no more than 1.
        let t = 0.5 * (t.abs() - (t - 1.0).abs() + 1.0);
        (to - self.along * t).hypot2()
    }
}

impl EdgeBox {
    #[inline(always)]
    fn distance_sq(&self, p: Point) -> f64 {
        let x = beyond(self.low.x, self.high.x, p.x);
        let y = beyond(self.low.y, self.high.y, p.y);
        x * x + y * y
    }
}

/// How far a number lies outside a range, 0 inside. This is the innermost step of every search.
#[inline(always)]
fn beyond(low: f64, high: f64, value: f64) -> f64 {
    0.5 * ((value - low).abs() + (value - high).abs() - (high - low))
}

impl EdgeIndex {
    pub(crate) fn new(contour: &Contour) -> EdgeIndex {
        EdgeIndex::of(contour.edges())
    }

    /// Of any edges; those that follow each other should lie near each other.
    pub(crate) fn of(edges: impl Iterator<Item = (Point, Point)>) -> EdgeIndex {
        let edges: Vec<Edge> = edges
            .map(|(from, to)| {
                let along = to - from;
                Edge { from, along, per_length_sq: along.hypot2().recip() }
            })
            .collect();
        let boxes = edges
            .chunks(EDGES_PER_BOX)
            .map(|chunk| {
                let far = f64::INFINITY;
                let (mut low, mut high) = (Point::new(far, far), Point::new(-far, -far));
                for p in chunk.iter().flat_map(|edge| [edge.from, edge.from + edge.along]) {
                    low = Point::new(lesser(low.x, p.x), lesser(low.y, p.y));
                    high = Point::new(greater(high.x, p.x), greater(high.y, p.y));
                }
                EdgeBox { low, high }
            })
            .collect();
        EdgeIndex { edges, boxes }
    }

    /// The edge nearest to `p`. `hint` is an edge that is likely near, such as that of the point before.
    pub(crate) fn nearest(&self, p: Point, hint: usize) -> Nearest {
        let mut best = Nearest { edge: hint, distance_sq: self.distance_sq_to(hint, p) };
        for (i, (bounds, chunk)) in self.boxes.iter().zip(self.edges.chunks(EDGES_PER_BOX)).enumerate() {
            if bounds.distance_sq(p) < best.distance_sq {
                for (j, edge) in chunk.iter().enumerate() {
                    let distance_sq = edge.distance_sq(p);
                    if distance_sq < best.distance_sq {
                        best = Nearest { edge: i * EDGES_PER_BOX + j, distance_sq };
                    }
                }
            }
        }
        best
    }

    /// The edge nearest to `p` that is reached from `from` along the contour without ever going away from `p`, looking
    /// [`LOOK_AHEAD`] edges ahead. Not always the nearest of all: across the brow another edge may be nearer.
    pub(crate) fn downhill(&self, p: Point, from: usize) -> Nearest {
        let mut best = Nearest { edge: from, distance_sq: self.distance_sq_to(from, p) };
        let last = self.edges.len().saturating_sub(1);
        for forward in [true, false] {
            let (mut edge, mut since) = (best.edge, 0);
            while since < LOOK_AHEAD {
                edge = match (forward, edge) {
                    (true, edge) if edge == last => 0,
                    (true, edge) => edge + 1,
                    (false, 0) => last,
                    (false, edge) => edge - 1,
                };
                let distance_sq = self.distance_sq_to(edge, p);
                since += 1;
                if distance_sq < best.distance_sq {
                    best = Nearest { edge, distance_sq };
                    since = 0;
                }
            }
        }
        best
    }

    /// The point of one edge nearest to `p`, or `p` itself where there is no such edge.
    pub(crate) fn point_on(&self, edge: usize, p: Point) -> Point {
        self.edges.get(edge).map_or(p, |edge| {
            let t = ((p - edge.from).dot(edge.along) * edge.per_length_sq).clamp(0.0, 1.0);
            edge.from + edge.along * t
        })
    }

    /// Square of the distance of `p` from one edge; infinite where there is no such edge.
    #[inline(always)]
    pub(crate) fn distance_sq_to(&self, edge: usize, p: Point) -> f64 {
        self.edges.get(edge).map_or(f64::INFINITY, |edge| edge.distance_sq(p))
    }

    /// A walk along a row of points of which each is likely near the one before.
    pub(crate) fn walk(&self) -> Walk<'_> {
        Walk {
            index: self,
            hint: 0,
            walked: 0.0,
            before: None,
            far_until: vec![f64::NEG_INFINITY; self.boxes.len()],
        }
    }
}

/// Nearest edges of a row of points.
///
/// A box that was far from one point is still far from the next, by what was walked in between; only when that could
/// have used up its distance is the box looked at again.
pub(crate) struct Walk<'a> {
    index: &'a EdgeIndex,
    hint: usize,
    walked: f64,
    before: Option<Point>,
    /// For each box, how far may be walked in all before it can be nearer than 0.
    far_until: Vec<f64>,
}

impl Walk<'_> {
    /// The edge nearest to the next point.
    pub(crate) fn next(&mut self, p: Point) -> Nearest {
        let nearest = self.next_from(p, self.hint);
        self.hint = nearest.edge;
        nearest
    }

    /// The same, where `hint` is an edge that is likely near.
    pub(crate) fn next_from(&mut self, p: Point, hint: usize) -> Nearest {
        self.walked += self.before.map_or(0.0, |q| q.distance(p));
        self.before = Some(p);
        let index = self.index;
        let mut nearest = Nearest { edge: hint, distance_sq: index.distance_sq_to(hint, p) };
        let mut reach = self.walked + nearest.distance_sq.sqrt();
        let chunks = index.boxes.iter().zip(index.edges.chunks(EDGES_PER_BOX));
        for (i, (far_until, (bounds, chunk))) in self.far_until.iter_mut().zip(chunks).enumerate() {
            if *far_until >= reach {
                continue;
            }
            let box_sq = bounds.distance_sq(p);
            *far_until = self.walked + box_sq.sqrt();
            if box_sq < nearest.distance_sq {
                for (j, edge) in chunk.iter().enumerate() {
                    let distance_sq = edge.distance_sq(p);
                    if distance_sq < nearest.distance_sq {
                        nearest = Nearest { edge: i * EDGES_PER_BOX + j, distance_sq };
                    }
                }
                reach = self.walked + nearest.distance_sq.sqrt();
            }
        }
        nearest
    }
}
