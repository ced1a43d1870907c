//! One side of a balance problem, ready for the solver: its areas, its box and its wishes.

use kurbo::Vec2;

use super::overlap::{self, OutlinePoints, PerPoint, Ring};
use super::prepared::VARIABLES;
use super::{BalanceProblem, PullGuide, SidePrice};
use crate::fit::nearest::Edges;
use crate::outline::OUTLINE_POINTS;
use crate::{OutlineParams, PARAM_COUNT, Param, Side, eroded};

/// How far each parameter may leave the natural fit, in its own unit, in the order of [`Param::ALL`]: beyond that the
/// client would not know her own brow (this project's model study on the Face Research Lab London Set). The heights
/// `bulb_y`, `arch_y` and `tail_y` have their bounds from the rules.
const LEEWAY: [f64; PARAM_COUNT] =
    [4.0, 3.0, 4.0, 20.0, 0.6, 6.0, 3.0, 4.0, 0.6, 5.0, 3.0, 2.5, 0.8, 2.0, 0.8, 25.0, 1.0];
/// Thinnest tip planned, mm: a finer one cannot be drawn with a needle (common practice, no source).
const LEAST_TIP_MM: f64 = 0.8;
/// Softness is kept off the sharp corner, where it has no derivative.
const LEAST_SOFT: f64 = 0.03;
/// A linear wish: `weight · (factors · parameters − target)²`, mm².
pub(crate) struct Pull {
    pub factors: Vec<(usize, f64)>,
    pub target: f64,
    pub weight: f64,
}

/// One side, ready.
pub(crate) struct PreparedSide {
    pub natural_area: f64,
    pub natural: Vec<Ring>,
    pub counted: Vec<Ring>,
    pub counted_area: f64,
    pub tolerance: f64,
    pub edges: Edges,
    pub removed_limit: f64,
    pub added_limit: f64,
    pub home: OutlineParams,
    pub low: [f64; PARAM_COUNT],
    pub high: [f64; PARAM_COUNT],
    pub pulls: Vec<Pull>,
}

impl PreparedSide {
    pub(crate) fn new(problem: &BalanceProblem, side: Side, home: &OutlineParams) -> PreparedSide {
        let natural = problem.natural.get(side);
        let rules = problem.rules.get(side);
        let tolerance = problem.edge_tolerance_mm;
        let rings = vec![Ring::new(natural.contour.points())];
        let counted: Vec<Ring> = if tolerance > 0.0 {
            eroded(&natural.contour, tolerance)
                .iter()
                .flat_map(|patch| patch.rings().map(Ring::new).collect::<Vec<_>>())
                .collect()
        } else {
            rings.clone()
        };
        let natural_area = natural.contour.area();
        let (low, high) = bounds(problem, side, home);
        PreparedSide {
            natural_area,
            counted_area: counted.iter().map(Ring::area).sum(),
            natural: rings,
            counted,
            tolerance,
            edges: Edges::new(natural.contour.points().to_vec()),
            removed_limit: rules.removed.mm2(natural_area),
            added_limit: rules.added.mm2(natural_area),
            home: *home,
            low,
            high,
            pulls: rules.pulls.iter().filter_map(Pull::new).collect(),
        }
    }

    pub(crate) fn price(&self, points: &OutlinePoints) -> SidePrice {
        let planned = overlap::area(points, None);
        let kept: f64 = self.natural.iter().map(|ring| ring.overlap(points, None)).sum();
        let kept_counted = if self.tolerance > 0.0 {
            self.counted.iter().map(|ring| ring.overlap(points, None)).sum()
        } else {
            kept
        };
        SidePrice {
            natural_mm2: self.natural_area,
            planned_mm2: planned,
            removed_mm2: (self.natural_area - kept).max(0.0),
            removed_counted_mm2: (self.counted_area - kept_counted).max(0.0),
            added_mm2: (planned - kept).max(0.0),
        }
    }

    /// How removed (counted) and added area grow with each point.
    pub(crate) fn area_gradients(&self, points: &OutlinePoints) -> (PerPoint<Vec2>, PerPoint<Vec2>) {
        let gradient_of = |rings: &[Ring]| {
            let mut gradient = [Vec2::ZERO; OUTLINE_POINTS];
            for ring in rings {
                ring.overlap(points, Some(&mut gradient));
            }
            gradient
        };
        let kept = gradient_of(&self.natural);
        let mut added = [Vec2::ZERO; OUTLINE_POINTS];
        overlap::area(points, Some(&mut added));
        for (added, kept) in added.iter_mut().zip(&kept) {
            *added -= *kept;
        }
        let removed = if self.tolerance > 0.0 { gradient_of(&self.counted) } else { kept };
        (removed.map(|kept| -kept), added)
    }

    /// Adds the areas' curvature. Where an outline point moves across the natural edge, removed turns into added: the
    /// rate changes by the point's stretch of edge over the width of the band that the edge is smeared to.
    pub(crate) fn add_curvature(
        &self,
        hessian: &mut [f64],
        from: usize,
        points: &OutlinePoints,
        moves: &[PerPoint<Vec2>],
        prices: [f64; 2],
        band: f64,
    ) {
        let mut near = 0;
        for i in 0..OUTLINE_POINTS {
            let foot = self.edges.nearest(points[i], near);
            near = foot.edge;
            let in_band = |distance: f64| f64::from(distance.abs() < band) / (2.0 * band);
            let weight = prices[0] * in_band(foot.signed + self.tolerance) + prices[1] * in_band(foot.signed);
            let outward = overlap::outward(points, i);
            let stretch = outward.hypot();
            if weight > 0.0 && stretch > 1e-9 {
                let row: [f64; PARAM_COUNT] = std::array::from_fn(|v| moves[v][i].dot(outward));
                add_square(hessian, VARIABLES, from, &row, weight / stretch);
            }
        }
    }
}

impl Pull {
    fn new(pull: &super::GuidePull) -> Option<Pull> {
        let weight = pull.weight;
        let index = |param: Param| param as usize;
        let (factors, target) = match pull.guide {
            PullGuide::FrontLine { out } => (vec![(index(Param::FrontX), 1.0)], out),
            PullGuide::Arch { out } => (vec![(index(Param::ArchX), 1.0)], out),
            PullGuide::EndLine { from, through } => {
                let along = through - from;
                let across = Vec2::new(along.y, -along.x) / along.hypot();
                if !across.is_finite() {
                    return None;
                }
                let factors = vec![(index(Param::TailX), across.x), (index(Param::TailY), across.y)];
                (factors, across.dot(from.to_vec2()))
            }
        };
        Some(Pull { factors, target, weight })
    }

    pub(crate) fn off(&self, params: &OutlineParams) -> f64 {
        self.factors.iter().map(|&(i, factor)| factor * params.0[i]).sum::<f64>() - self.target
    }
}

/// The box of one side: leeway around the natural fit, the rules' bounds, least thicknesses, the parameters' ranges;
/// locked parameters have no room. Home lies inside.
fn bounds(
    problem: &BalanceProblem,
    side: Side,
    home: &OutlineParams,
) -> ([f64; PARAM_COUNT], [f64; PARAM_COUNT]) {
    let rules = problem.rules.get(side);
    let natural = problem.natural.get(side).outline;
    let other = problem.natural.get(side.other()).outline;
    let (mut low, mut high) = ([0.0; PARAM_COUNT], [0.0; PARAM_COUNT]);
    for (i, info) in Param::ALL.iter().enumerate() {
        let locked = rules.locked || rules.locked_params.contains(&info.param);
        if locked {
            (low[i], high[i]) = (home.0[i], home.0[i]);
            continue;
        }
        // A parameter may always go where the other brow has it: what mirroring allows is no stranger to the face.
        let (down, up) = match info.param {
            Param::BulbY | Param::ArchY | Param::TailY => (rules.lower_mm, rules.lift_mm),
            _ => (LEEWAY[i].max(natural.0[i] - other.0[i]), LEEWAY[i].max(other.0[i] - natural.0[i])),
        };
        let (least, greatest) = info.range;
        low[i] = (natural.0[i] - down).min(home.0[i]).max(least);
        high[i] = (natural.0[i] + up).max(home.0[i]).min(greatest);
        let floor = match info.param {
            Param::BulbT | Param::ArchT => problem.min_thickness_mm,
            Param::TipT => LEAST_TIP_MM,
            Param::Soft => LEAST_SOFT,
            _ => least,
        };
        low[i] = low[i].max(floor).min(high[i]);
    }
    (low, high)
}

/// Adds `weight · row rowᵀ` to the lower triangle of a block of a row-major n × n matrix.
#[inline(always)]
pub(crate) fn add_square(matrix: &mut [f64], n: usize, from: usize, row: &[f64], weight: f64) {
    for (r, &a) in row.iter().enumerate() {
        let a = weight * a;
        let start = (from + r) * n + from;
        for (slot, &b) in matrix[start..=start + r].iter_mut().zip(row) {
            *slot += a * b;
        }
    }
}
