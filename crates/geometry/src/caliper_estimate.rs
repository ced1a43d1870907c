//! The caliper points of a contour that is known by its points alone, and how each of them answers to a wrong edge.
//!
//! A traced edge is noisy, so no caliper point hangs on a single vertex: extremes come from a local parabola along the
//! edge, bulb heights from a straight line through the first millimetres of upper edge and underside. Each coordinate
//! is thereby (to first order) a weighted sum of edge displacements, and these weights are what its error is made of.

use kurbo::{Point, Vec2};

use crate::contour::{edges, once_around};
use crate::order::within;
use crate::{CaliperPoints, Contour};

impl Contour {
    /// The points that a caliper is set on; mm.
    ///
    /// *Definition:* front, arch top and tail end are the vertices of parabolas fitted along the edge around the
    /// foremost, highest and outermost point, over 2 mm, 8 mm and 1.25 mm to either side. The bulb's bottom and top
    /// are the heights at the front of straight lines through underside and upper edge between 4 and 18 % (upper
    /// edge: 10 and 25 %) of the brow's length, so that a rounded corner does not count. Below the arch, a straight
    /// line through 2 mm of underside to either side.
    ///
    /// *Accuracy:* against the exact points of outlines fitted to 81 real brows (Face Research Lab London Set) the
    /// median deviation is 0.1 mm at front and tail distance and arch height, 0.2 to 0.3 mm at bulb bottom, tail
    /// height and under the arch, 0.7 mm at the bulb top, whose corner is often round, and about 1 mm in the arch
    /// distance: the top of a brow is flat, and the wide parabola stands for the flat part as a whole.
    #[must_use]
    pub fn caliper_points(&self) -> CaliperPoints {
        estimate(self.points()).points
    }
}

/// How far along the edge to either side the parabola at the front reaches, mm.
const FRONT_REACH: f64 = 2.0;
/// At the arch, mm: brow tops are flat, so a shorter one would follow the noise of the edge (at 5 mm the arch distance
/// strays by more than its own first-order error says).
const ARCH_REACH: f64 = 8.0;
/// At the tail end, mm: short, since tails are narrow.
const TAIL_REACH: f64 = 1.25;
/// How far outward and inward of the arch top the underside is averaged, mm.
const UNDER_REACH: f64 = 2.0;
/// Where the underside is read for the bottom of the bulb, as shares of the brow's length from its front.
const BOTTOM_SHARES: (f64, f64) = (0.04, 0.18);
/// Where the upper edge is read for the top of the bulb.
const TOP_SHARES: (f64, f64) = (0.10, 0.25);

/// Number of coordinates: out and up of the six points, in the order of [`CaliperPoints`].
pub(crate) const COORDINATES: usize = 12;
/// Number of places where the edge is probed: front, bulb bottom, bulb top, arch top, under the arch, tail end.
pub(crate) const PROBES: usize = 6;

const FRONT: usize = 0;
const BOTTOM: usize = 1;
const TOP: usize = 2;
const ARCH: usize = 3;
const UNDER: usize = 4;
const TAIL: usize = 5;

/// A part of the edge and what small outward displacements of it do to two numbers.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Probe {
    /// Arc length of each node, mm.
    pub along: [f64; NODES],
    /// For an extreme: its out and up by the displacement of each node. For a line: nothing, and its height.
    pub weights: [[f64; NODES]; 2],
    /// The part of `weights` that comes of a vertex sliding along the edge; nothing for a line.
    pub sliding: [[f64; NODES]; 2],
    /// Share by which a displacement of each node changes the bend that the sliding depends on; nothing for a line.
    pub bend: [f64; NODES],
    /// How the two numbers answer to a clockwise turn of the whole edge about the origin, mm per radian; for a line,
    /// read at the same `out`.
    pub turned: [f64; 2],
    /// The part of `turned` that comes of a vertex sliding along the edge; nothing for a line.
    pub turned_sliding: [f64; 2],
}

/// Caliper points with the weights that tie them to the edge.
#[derive(Clone, Debug)]
pub(crate) struct CaliperEstimate {
    pub points: CaliperPoints,
    pub probes: [Probe; PROBES],
    /// What taking the lines at bulb bottom, bulb top and under the arch 1 mm farther out does to their heights.
    slopes: [f64; 3],
    /// Length of the edge, mm.
    pub perimeter: f64,
}

impl CaliperEstimate {
    /// What each coordinate is made of: up to two `(probe, which of its two numbers, factor)`. The lines are read off
    /// where front and arch are, so errors of those slide along them.
    pub(crate) fn chain(&self) -> [[(usize, usize, f64); 2]; COORDINATES] {
        let [bottom, top, under] = self.slopes;
        let alone = |probe, number| [(probe, number, 1.0), (probe, number, 0.0)];
        let sliding = |probe, slope, along| [(probe, 1, 1.0), (along, 0, slope)];
        [
            alone(FRONT, 0),
            alone(FRONT, 1),
            alone(FRONT, 0),
            sliding(BOTTOM, bottom, FRONT),
            alone(FRONT, 0),
            sliding(TOP, top, FRONT),
            alone(ARCH, 0),
            alone(ARCH, 1),
            alone(ARCH, 0),
            sliding(UNDER, under, ARCH),
            alone(TAIL, 0),
            alone(TAIL, 1),
        ]
    }
}

impl CaliperEstimate {
    /// How the coordinates answer to a clockwise turn of the whole edge about the origin, mm per radian. Not only does
    /// each point go round: the highest point of a flat arch also becomes another point of the edge.
    pub(crate) fn turned(&self) -> [f64; COORDINATES] {
        self.chain().map(|parts| {
            parts.iter().map(|&(probe, number, factor)| factor * self.probes[probe].turned[number]).sum()
        })
    }
}

/// Estimates the caliper points of a closed, counter-clockwise polygon.
pub(crate) fn estimate(points: &[Point]) -> CaliperEstimate {
    let edge = Edge::new(points);
    let front = edge.extreme(Vec2::new(-1.0, 0.0), FRONT_REACH);
    let arch = edge.extreme(Vec2::new(0.0, 1.0), ARCH_REACH);
    let tail = edge.extreme(Vec2::new(1.0, 0.0), TAIL_REACH);
    let length = tail.at.x - front.at.x;
    let window = |(from, to): (f64, f64)| (front.at.x + from * length, front.at.x + to * length);
    let underside = edge.run(front.along, tail.along);
    let upper = edge.run(tail.along, front.along);
    let bottom = underside.line(window(BOTTOM_SHARES), front.at.x);
    let top = upper.line(window(TOP_SHARES), front.at.x);
    let under = underside.line((arch.at.x - UNDER_REACH, arch.at.x + UNDER_REACH), arch.at.x);
    CaliperEstimate {
        points: CaliperPoints {
            front: front.at,
            bulb_bottom: Point::new(front.at.x, bottom.height),
            bulb_top: Point::new(front.at.x, top.height),
            arch_top: arch.at,
            arch_under: Point::new(arch.at.x, under.height),
            tail_end: tail.at,
        },
        probes: [front.probe, bottom.probe, top.probe, arch.probe, under.probe, tail.probe],
        slopes: [bottom.slope, top.slope, under.slope],
        perimeter: edge.perimeter(),
    }
}

/// Nodes of a fitted parabola or line; odd, so that one lies in the middle.
pub(crate) const NODES: usize = 9;

/// A closed polygon with its arc length.
struct Edge<'a> {
    points: &'a [Point],
    /// Arc length at each point; one longer than `points`, the last being the perimeter.
    along: Vec<f64>,
}

/// An extreme of the edge in some direction.
struct Extreme {
    at: Point,
    along: f64,
    probe: Probe,
}

impl<'a> Edge<'a> {
    fn new(points: &'a [Point]) -> Self {
        let mut along = Vec::with_capacity(points.len() + 1);
        let mut walked = 0.0;
        along.push(walked);
        for (a, b) in edges(points) {
            walked += a.distance(b);
            along.push(walked);
        }
        Edge { points, along }
    }

    fn perimeter(&self) -> f64 {
        self.along.last().copied().unwrap_or_default()
    }

    /// The point at this arc length (any number of rounds) and the outward normal there.
    fn at(&self, s: f64) -> (Point, Vec2) {
        let perimeter = self.perimeter();
        if perimeter <= 0.0 {
            return (self.points.first().copied().unwrap_or_default(), Vec2::ZERO);
        }
        let s = once_around(s, perimeter);
        let count = self.points.len();
        let start_of = |index: usize| self.along.get(index).copied().unwrap_or(f64::INFINITY);
        // Points mostly lie evenly, so the right edge is near where even ones would have it.
        let mut index = ((s / perimeter * count as f64) as usize).min(count.saturating_sub(1));
        while index > 0 && start_of(index) > s {
            index -= 1;
        }
        while index + 1 < count && start_of(index + 1) <= s {
            index += 1;
        }
        let (Some(&a), Some(&b)) = (self.points.get(index), self.points.get((index + 1) % count)) else {
            return (Point::ORIGIN, Vec2::ZERO);
        };
        let step = b - a;
        let length = step.hypot().max(f64::MIN_POSITIVE);
        let start = self.along.get(index).copied().unwrap_or_default();
        // Counter-clockwise, so the outside is to the right of the way.
        (a + step * ((s - start) / length), Vec2::new(step.y, -step.x) / length)
    }

    /// The vertex of the parabola through the edge around its extreme point in this direction.
    fn extreme(&self, direction: Vec2, reach: f64) -> Extreme {
        /// More are never needed: the step is a Newton step on a parabola.
        const ROUNDS: usize = 4;
        /// An edge that falls by a smaller share of the reach than this within the reach counts as falling by this: it is
        /// flat, and how far its vertex slides is bounded by what is called its top at all.
        const FLATTEST: f64 = 0.02;
        /// Keeps the parabola of an empty contour defined, mm.
        const SMALLEST_REACH: f64 = 1e-6;
        /// A step below this share of the reach is taken on the parabola as it is, without fitting again.
        const STILL: f64 = 5e-3;
        let score = |p: &Point| direction.dot(p.to_vec2());
        let farther = |best: (usize, f64), (index, p): (usize, &Point)| {
            let here = score(p);
            if here > best.1 { (index, here) } else { best }
        };
        let (index, _) = self.points.iter().enumerate().fold((0, f64::NEG_INFINITY), farther);
        let mut s = self.along.get(index).copied().unwrap_or_default();
        // On a tiny contour the parabola must not wrap around.
        let reach = reach.min(self.perimeter() / 8.0).max(SMALLEST_REACH);
        let fit = ParabolaWeights::new(reach);
        let mut nodes = self.nodes(s, &fit);
        let mut curve = fit.apply(nodes.map(|(p, _)| score(&p)));
        let mut rest = 0.0;
        for _ in 0..ROUNDS {
            // A hollow "extreme" is a corner between two of them: it stays where it is.
            let step = if curve[2] < 0.0 { -0.5 * curve[1] / curve[2] } else { 0.0 };
            rest = within(step, -0.5 * reach, 0.5 * reach);
            if rest.abs() < STILL * reach {
                break;
            }
            s += rest;
            rest = 0.0;
            nodes = self.nodes(s, &fit);
            curve = fit.apply(nodes.map(|(p, _)| score(&p)));
        }
        let at_rest = |c: [f64; 3]| c[0] + rest * (c[1] + rest * c[2]);
        let out = fit.apply(nodes.map(|(p, _)| p.x));
        let up = fit.apply(nodes.map(|(p, _)| p.y));
        // A tilt of the edge slides the vertex along it, the more the flatter the edge.
        let slide = 0.5 / (-curve[2]).max(FLATTEST / reach);
        let [value, tilt, bend] = &fit.weights;
        let across: [f64; NODES] = std::array::from_fn(|k| direction.dot(nodes[k].1));
        let sliding = [out[1], up[1]].map(|rate| std::array::from_fn(|k| tilt[k] * across[k] * slide * rate));
        let parts: [fn(Vec2) -> f64; 2] = [|normal| normal.x, |normal| normal.y];
        let weights = std::array::from_fn(|number| {
            let slid: &[f64; NODES] = &sliding[number];
            std::array::from_fn(|k| value[k] * parts[number](nodes[k].1) + slid[k])
        });
        // Clockwise, (out, up) moves by (up, −out), and the direction's slope along the edge by as much.
        let tilted = slide * (direction.x * up[1] - direction.y * out[1]);
        let turned_sliding = [tilted * out[1], tilted * up[1]];
        Extreme {
            at: Point::new(at_rest(out), at_rest(up)),
            along: s,
            probe: Probe {
                along: fit.offsets.map(|offset| s + offset),
                weights,
                sliding,
                turned: [at_rest(up) + turned_sliding[0], -at_rest(out) + turned_sliding[1]],
                turned_sliding,
                // −2 · slide is the inverse of the bend.
                bend: std::array::from_fn(|k| -2.0 * slide * bend[k] * across[k]),
            },
        }
    }

    fn nodes(&self, s: f64, fit: &ParabolaWeights) -> [(Point, Vec2); NODES] {
        fit.offsets.map(|offset| self.at(s + offset))
    }

    /// The stretch of the edge from one arc length on to another, counter-clockwise.
    fn run(&self, from: f64, to: f64) -> Run<'_> {
        let perimeter = self.perimeter().max(f64::MIN_POSITIVE);
        let from = once_around(from, perimeter);
        let length = once_around(to - from, perimeter);
        let first = self.along.partition_point(|&walked| walked <= from);
        let start = self.at(from).0;
        let mut places = vec![(start, from)];
        for k in 0..self.points.len() {
            let index = (first + k) % self.points.len();
            let s = self.along.get(index).copied().unwrap_or_default();
            let walked = once_around(s - from, perimeter);
            if walked >= length {
                break;
            }
            places.extend(self.points.get(index).map(|&p| (p, from + walked)));
        }
        places.push((self.at(from + length).0, from + length));
        Run { edge: self, places }
    }
}

/// A stretch of the edge: points with their arc length.
struct Run<'a> {
    edge: &'a Edge<'a>,
    places: Vec<(Point, f64)>,
}

/// A straight line through a stretch of upper edge or underside.
struct Line {
    /// Height where it is read off.
    height: f64,
    /// How much higher it comes out if it is taken 1 mm farther out as a whole.
    slope: f64,
    probe: Probe,
}

impl Run<'_> {
    /// Least-squares line of height over `out` within the window, read off at `out`.
    fn line(&self, (from, to): (f64, f64), out: f64) -> Line {
        /// An edge steeper than this (cosine) counts as this steep: it has no height to speak of.
        const STEEPEST: f64 = 0.3;
        let count = NODES as f64;
        let node = |k: usize| from + (to - from) * (k as f64 + 0.5) / count;
        // Nodes in the order in which the run passes them, so that it is walked once.
        let outward = self.places.first().map(|(p, _)| p.x) < self.places.last().map(|(p, _)| p.x);
        let mut walked = 0;
        let places: [(Point, f64); NODES] = std::array::from_fn(|k| {
            let (place, at) = self.at_out(node(if outward { k } else { NODES - 1 - k }), walked);
            walked = at;
            place
        });
        let mean_x = places.iter().map(|(p, _)| p.x).sum::<f64>() / count;
        let spread = places.iter().map(|(p, _)| (p.x - mean_x).powi(2)).sum::<f64>().max(f64::MIN_POSITIVE);
        let weight = |x: f64| 1.0 / count + (x - mean_x) * (out - mean_x) / spread;
        let normals = places.map(|(_, s)| {
            let Vec2 { x, y } = self.edge.at(s).1;
            Vec2::new(x, if y < 0.0 { y.min(-STEEPEST) } else { y.max(STEEPEST) })
        });
        let of_nodes = |of: fn(Vec2) -> f64| -> [f64; NODES] {
            std::array::from_fn(|k| weight(places[k].0.x) * of(normals[k]))
        };
        // The edge at a fixed out sinks by out, and as it moves outward by its height, by slope · height more.
        let turned: [f64; NODES] = std::array::from_fn(|k| {
            let ((p, _), normal) = (places[k], normals[k]);
            -weight(p.x) * (p.x - normal.x / normal.y * p.y)
        });
        Line {
            height: places.iter().map(|(p, _)| weight(p.x) * p.y).sum(),
            slope: of_nodes(|normal| -normal.x / normal.y).iter().sum(),
            probe: Probe {
                along: places.map(|(_, s)| s),
                weights: [[0.0; NODES], of_nodes(|normal| 1.0 / normal.y)],
                sliding: [[0.0; NODES]; 2],
                bend: [0.0; NODES],
                turned: [0.0, turned.iter().sum()],
                turned_sliding: [0.0; 2],
            },
        }
    }

    /// Where the run, from its `walked`th place on, first passes this `out`, with its arc length, and how far it was
    /// walked for that; its nearest place where it never does.
    fn at_out(&self, out: f64, walked: usize) -> ((Point, f64), usize) {
        let ahead = self.places.get(walked..).unwrap_or_default();
        for (step, pair) in ahead.windows(2).enumerate() {
            if let &[(a, s), (b, t)] = pair
                && (a.x > out) != (b.x > out)
            {
                let share = (out - a.x) / (b.x - a.x);
                return ((a.lerp(b, share), s + (t - s) * share), walked + step);
            }
        }
        let far = |place: &&(Point, f64)| (place.0.x - out).abs();
        let nearest = ahead.iter().min_by(|a, b| far(a).total_cmp(&far(b))).copied();
        (nearest.unwrap_or_default(), walked)
    }
}

/// Weights that give height, slope and half the bend of a weighted least-squares parabola at its middle.
struct ParabolaWeights {
    offsets: [f64; NODES],
    weights: [[f64; NODES]; 3],
}

impl ParabolaWeights {
    /// Nodes evenly within the reach, weighted by 1 − t² so that nothing jumps when the edge moves along.
    fn new(reach: f64) -> Self {
        let middle = (NODES / 2) as f64;
        let share: [f64; NODES] = std::array::from_fn(|k| (k as f64 - middle) / (middle + 1.0));
        let moment = |power: i32| share.iter().map(|t| (1.0 - t * t) * t.powi(power)).sum::<f64>();
        let (m0, m2, m4) = (moment(0), moment(2), moment(4));
        let det = m0 * m4 - m2 * m2;
        let each = |of: fn(f64, f64, f64, f64) -> f64, scale: f64| {
            share.map(|t| (1.0 - t * t) * of(t, m0, m2, m4) * scale)
        };
        ParabolaWeights {
            offsets: share.map(|t| t * reach),
            weights: [
                each(|t, _, m2, m4| m4 - m2 * t * t, 1.0 / det),
                each(|t, _, _, _| t, 1.0 / (m2 * reach)),
                each(|t, m0, m2, _| m0 * t * t - m2, 1.0 / (det * reach * reach)),
            ],
        }
    }

    fn apply(&self, values: [f64; NODES]) -> [f64; 3] {
        self.weights.map(|weights| weights.iter().zip(&values).map(|(w, v)| w * v).sum())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::Outline;
    use crate::param::OutlineParams;

    fn median() -> (Outline, Contour) {
        let outline = Outline::try_new(&OutlineParams::natural_median()).expect("the median brow is valid");
        let contour = outline.contour().resampled(200);
        (outline, contour)
    }

    #[test]
    fn agrees_with_the_exact_points_of_an_outline() {
        let (outline, contour) = median();
        let (exact, found) = (outline.caliper_points(), contour.caliper_points());
        let near =
            |a: f64, b: f64, within: f64, what: &str| assert!((a - b).abs() < within, "{what}: {a} {b}");
        near(found.front.x, exact.front.x, 0.15, "front");
        near(found.bulb_bottom.y, exact.bulb_bottom.y, 0.3, "bulb bottom");
        near(found.bulb_top.y, exact.bulb_top.y, 0.3, "bulb top");
        near(found.arch_top.x, exact.arch_top.x, 1.2, "arch distance (flat top: one is an average)");
        near(found.arch_top.y, exact.arch_top.y, 0.15, "arch top");
        near(found.arch_under.y, exact.arch_under.y, 0.3, "under the arch");
        near(found.tail_end.x, exact.tail_end.x, 0.15, "tail out");
        near(found.tail_end.y, exact.tail_end.y, 0.3, "tail up");
    }

    #[test]
    fn influences_are_the_derivatives() {
        let (_, contour) = median();
        let base = estimate(contour.points());
        // A smooth wave of the edge, small enough to stay linear.
        let (size, waves) = (1e-4, 4.0);
        let wave = |s: f64| (std::f64::consts::TAU * waves * s / base.perimeter + 0.7).sin();
        let edge = Edge::new(contour.points());
        let moved: Vec<Point> = contour
            .points()
            .iter()
            .zip(&edge.along)
            .map(|(&p, &s)| p + 0.5 * (edge.at(s - 1e-6).1 + edge.at(s + 1e-6).1) * (size * wave(s)))
            .collect();
        let after = estimate(&moved);
        let coordinates = |e: &CaliperEstimate| {
            let p = &e.points;
            [p.front, p.bulb_bottom, p.bulb_top, p.arch_top, p.arch_under, p.tail_end]
                .map(|p| [p.x, p.y])
                .concat()
        };
        for (k, (a, b)) in coordinates(&base).iter().zip(coordinates(&after)).enumerate() {
            let expected: f64 = base.chain()[k]
                .iter()
                .map(|&(probe, number, factor)| {
                    let Probe { along, weights, .. } = &base.probes[probe];
                    factor * along.iter().zip(&weights[number]).map(|(&s, w)| w * wave(s)).sum::<f64>()
                })
                .sum();
            let found = (b - a) / size;
            assert!((found - expected).abs() < 0.12 * expected.abs() + 0.06, "{k}: {found} for {expected}");
        }
    }

    #[test]
    fn turning_answers_as_a_turned_contour_does() {
        let (_, contour) = median();
        // Half a degree to either side.
        let step = 0.008_7;
        let at = |angle: f64| {
            let p = contour.rotated(angle).caliper_points();
            [p.front, p.bulb_bottom, p.bulb_top, p.arch_top, p.arch_under, p.tail_end]
                .map(|p| [p.x, p.y])
                .concat()
        };
        let (plus, minus) = (at(-step), at(step));
        let turned = estimate(contour.points()).turned();
        for (k, rate) in turned.iter().enumerate() {
            let expected = (plus[k] - minus[k]) / (2.0 * step);
            assert!((rate - expected).abs() < 0.02 * expected.abs() + 0.4, "{k}: {rate} for {expected}");
        }
    }

    #[test]
    fn odd_polygons_do_no_harm() {
        let square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(Point::from);
        assert!(estimate(&square).points.arch_top.is_finite());
        assert!(estimate(&[]).points.front.is_finite());
        assert!(estimate(&[Point::ORIGIN; 3]).points.tail_end.is_finite());
    }
}
