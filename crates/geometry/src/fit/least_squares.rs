//! Levenberg–Marquardt on the distances of two edges, inside the parameters' ranges.

use kurbo::{Point, Vec2};

use super::nearest::Edges;
use crate::cholesky::solve_spd;
use crate::order::within;
use crate::outline::{OUTLINE_POINTS, corresponding_points, derivatives, valid_pieces};
use crate::{OutlineParams, PARAM_COUNT, Param, ParamInfo};

/// Points of the brow whose distance to the outline counts: as many as the other way round, nearly.
pub(crate) const BROW_SAMPLES: usize = 104;
/// Pull of the positions towards the median brow, mm per typical change: it decides only what the edge leaves open.
const PULL_POSITION: f64 = 0.02;
/// Pull of the numbers that describe the character of an edge.
const PULL_CHARACTER: f64 = 0.05;
/// Pull of the front's slant, which a soft front hardly shows.
const PULL_SLANT: f64 = 0.1;
/// Pull of tensions and fullness. Free, they would trade places with the bulb's corners and leave those far from where
/// a caliper finds them; with this pull 81 real brows are followed to 0.109 instead of 0.097 mm (medians), and the
/// top of the bulb stays within 0.3 mm of where it lies when both tensions are fixed, instead of 1 mm.
const PULL_EXTRA: f64 = 0.7;
/// Steps of a whole run at most; 25 are usual.
pub(crate) const MAX_STEPS: usize = 40;
/// Finished when a step improves the sum of squares by less than this share.
const SETTLED: f64 = 1e-5;
/// Damping at the start, after a good step and after a bad one (Marquardt's scheme with gentle factors).
const DAMPING_START: f64 = 1e-3;
const DAMPING_DOWN: f64 = 0.3;
const DAMPING_UP: f64 = 4.0;
/// With more damping than this a step no longer moves anything.
const DAMPING_MOST: f64 = 1e6;
/// Softness is kept off the sharp corner, where it has no derivative.
const LEAST_SOFT: f64 = 0.05;

type Vector = [f64; PARAM_COUNT];

/// The brow as the fit sees it.
pub(crate) struct Target {
    edges: Edges,
    samples: Vec<Point>,
}

impl Target {
    pub(crate) fn new(edges: Edges, samples: Vec<Point>) -> Self {
        Target { edges, samples }
    }
}

/// Where a run ended: always a valid outline.
pub(crate) struct Fitted {
    pub params: OutlineParams,
    pub cost: f64,
}

/// Sum of squares and its normal equations at one place.
struct Normal {
    cost: f64,
    gradient: Vector,
    hessian: [[f64; PARAM_COUNT]; PARAM_COUNT],
}

/// Improves the parameters until nothing moves, or for so many steps. `None` where the start is not a valid outline.
pub(crate) fn improve(target: &Target, start: &OutlineParams, steps: usize) -> Option<Fitted> {
    let mut params = *start;
    let mut here = normal_equations(target, &params)?;
    let mut damping = DAMPING_START;
    let mut quiet = 0;
    for _ in 0..steps {
        let Some(next) = step(&params, &here, damping) else { break };
        match cost(target, &next) {
            Some(next_cost) if next_cost < here.cost => {
                quiet = if here.cost - next_cost < SETTLED * here.cost { quiet + 1 } else { 0 };
                params = next;
                here = normal_equations(target, &params)?;
                damping *= DAMPING_DOWN;
            }
            _ => damping *= DAMPING_UP,
        }
        if quiet == 2 || damping > DAMPING_MOST {
            break;
        }
    }
    Some(Fitted { params, cost: here.cost })
}

fn bounds(param: Param) -> (f64, f64) {
    let (least, greatest) = param.info().range;
    if param == Param::Soft { (LEAST_SOFT, greatest) } else { (least, greatest) }
}

/// One damped step, kept inside the ranges. Parameters that press against an end of their range stand still.
fn step(params: &OutlineParams, normal: &Normal, damping: f64) -> Option<OutlineParams> {
    let free: Vec<usize> = (0..PARAM_COUNT)
        .filter(|&i| {
            let (least, greatest) = bounds(Param::ALL[i].param);
            let (value, slope) = (params.0[i], normal.gradient[i]);
            !((value <= least && slope > 0.0) || (value >= greatest && slope < 0.0))
        })
        .collect();
    let n = free.len();
    let mut matrix = vec![0.0; n * n];
    let mut change: Vec<f64> = free.iter().map(|&i| -normal.gradient[i]).collect();
    for (r, &i) in free.iter().enumerate() {
        for (c, &j) in free.iter().enumerate() {
            matrix[r * n + c] = normal.hessian[i][j];
        }
        let scale = Param::ALL[i].scale;
        // Damping by the diagonal and by the parameter's own scale: the second holds where the edge says nothing.
        matrix[r * n + r] += damping * (normal.hessian[i][i] + 1.0 / (scale * scale));
    }
    if !solve_spd(&mut matrix, &mut change) {
        return None;
    }
    let mut next = *params;
    for (&i, change) in free.iter().zip(change) {
        let (least, greatest) = bounds(Param::ALL[i].param);
        next.0[i] = within(params.0[i] + change, least, greatest);
    }
    Some(next)
}

/// Pull of a parameter towards its median, mm per typical change.
fn pull(info: &ParamInfo) -> f64 {
    match info.param {
        Param::UpTens | Param::TailTens | Param::Full => PULL_EXTRA,
        Param::Slant => PULL_SLANT,
        Param::Soft | Param::Round | Param::LowDip | Param::Under => PULL_CHARACTER,
        _ => PULL_POSITION,
    }
}

/// Index, weight and weighted residual of each parameter's pull.
fn prior(params: &OutlineParams) -> impl Iterator<Item = (usize, f64, f64)> {
    Param::ALL.iter().enumerate().map(|(i, info)| {
        let weight = pull(info) / info.scale;
        (i, weight, weight * (params.0[i] - info.natural_median))
    })
}

/// One weighted residual and the direction in which it grows with a point of the outline: `into` names the points and
/// their shares.
fn residuals(
    target: &Target,
    points: &[Point; OUTLINE_POINTS],
    mut each: impl FnMut(f64, f64, Vec2, [(usize, f64); 2]),
) {
    // Outline to brow. Each point counts for its stretch of the edge, so that crowded points do not count more.
    let (weights, total) = stretches(points);
    let mut near = 0;
    for (i, &point) in points.iter().enumerate() {
        let foot = target.edges.nearest(point, near);
        near = foot.edge;
        let weight = weights[i] / total * OUTLINE_POINTS as f64;
        each(weight, foot.signed, foot.normal, [(i, 1.0), (i, 0.0)]);
    }
    // Brow to outline.
    let outline = Edges::new(points.to_vec());
    let mut near = 0;
    for &sample in &target.samples {
        let foot = outline.nearest(sample, near);
        near = foot.edge;
        let next = (foot.edge + 1) % OUTLINE_POINTS;
        each(1.0, foot.signed, -foot.normal, [(foot.edge, 1.0 - foot.along), (next, foot.along)]);
    }
}

/// Half the edge on either side of each point, and the whole edge; mm.
fn stretches(points: &[Point; OUTLINE_POINTS]) -> ([f64; OUTLINE_POINTS], f64) {
    let mut stretch = [0.0; OUTLINE_POINTS];
    let mut total = 0.0;
    for i in 0..OUTLINE_POINTS {
        let next = (i + 1) % OUTLINE_POINTS;
        let length = points[i].distance(points[next]);
        stretch[i] += 0.5 * length;
        stretch[next] += 0.5 * length;
        total += length;
    }
    (stretch, total)
}

/// Sum of squares, or `None` where these parameters make no valid outline.
fn cost(target: &Target, params: &OutlineParams) -> Option<f64> {
    let points = corresponding_points(&valid_pieces(params).ok()?);
    let mut cost: f64 = prior(params).map(|(_, _, residual)| residual * residual).sum();
    residuals(target, &points, |weight, residual, _, _| cost += weight * residual * residual);
    Some(cost)
}

fn normal_equations(target: &Target, params: &OutlineParams) -> Option<Normal> {
    let points = corresponding_points(&valid_pieces(params).ok()?);
    let jacobian = derivatives(params)?.points;
    let mut normal =
        Normal { cost: 0.0, gradient: [0.0; PARAM_COUNT], hessian: [[0.0; PARAM_COUNT]; PARAM_COUNT] };
    let mut add = |weight: f64, residual: f64, row: &Vector| {
        normal.cost += weight * residual * residual;
        for i in 0..PARAM_COUNT {
            normal.gradient[i] += weight * residual * row[i];
            for j in 0..=i {
                normal.hessian[i][j] += weight * row[i] * row[j];
            }
        }
    };
    residuals(target, &points, |weight, residual, direction, moved| {
        let [(i, share), (j, rest)] = moved;
        let mut row = [0.0; PARAM_COUNT];
        for (slope, by_point) in row.iter_mut().zip(&jacobian) {
            *slope = direction.dot(share * by_point[i] + rest * by_point[j]);
        }
        add(weight, residual, &row);
    });
    for (i, weight, residual) in prior(params) {
        let mut row = [0.0; PARAM_COUNT];
        row[i] = weight;
        add(1.0, residual, &row);
    }
    for i in 0..PARAM_COUNT {
        for j in 0..i {
            normal.hessian[j][i] = normal.hessian[i][j];
        }
    }
    Some(normal)
}
