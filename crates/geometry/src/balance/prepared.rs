//! A balance problem made ready for the solver: areas, weights, boxes, and the value and slopes at one place.

use kurbo::{Point, Vec2};

use super::answer::LIMIT_SLACK_PCT;
use super::one_side::{PreparedSide, add_square};
use super::overlap::{OutlinePoints, PerPoint};
use super::{BalanceProblem, Preference, SidePrice};
use crate::order::within;
use crate::outline::{
    CLEARANCES, Derivatives, OUTLINE_POINTS, build, clearances, corresponding_points, derivatives,
    valid_pieces,
};
use crate::{Contour, OutlineParams, PARAM_COUNT, Param, Side};

/// Variables: the parameters of both sides, each divided by its scale.
pub(crate) const VARIABLES: usize = 2 * PARAM_COUNT;

/// Limits on areas: removed and added of the first side, then of the second.
pub(crate) const AREA_LIMITS: usize = 4;
/// All limits: the areas, then the clearances of the first side and of the second.
pub(crate) const LIMITS: usize = AREA_LIMITS + 2 * CLEARANCES;
/// Clearance kept between the edges, mm, so that the solver runs along the border of the valid outlines instead of
/// against it.
const LEAST_CLEARANCE_MM: f64 = 0.05;
/// A removed limit counts as no less than this share of the natural area: at exactly 0 the removed area has a kink.
/// It is half of what a limit may be exceeded by.
const LEAST_REMOVED: f64 = 1e-3;

/// Pull towards the start, mm² per squared typical change. It decides only what evenness leaves open (model study).
const PULL_HOME: f64 = 5e-4;
/// What filling all of a brow's area costs against what trimming it costs, mm²: a tenth of the area is worth a mean
/// square of 0.05 mm².
const PREFERENCE: f64 = 0.5;

/// The whole problem. Its two sides stand in an order that depends on the numbers alone, so that exchanging right and
/// left exchanges the answer to the last digit.
pub(crate) struct Prepared {
    sides: [PreparedSide; 2],
    /// The client's side of each.
    pub order: [Side; 2],
    weights: PerPoint<f64>,
    /// How much higher the first side is wanted than the second, mm.
    offsets: PerPoint<f64>,
    preference: Preference,
}

/// Parameters of both sides, in the order of [`Prepared::order`].
pub(crate) type Pair = [OutlineParams; 2];

/// Value of the wish and of the limits at one place.
pub(crate) struct Value {
    points: [OutlinePoints; 2],
    /// Mean squared matched distance and all pulls, mm².
    pub wish: f64,
    /// Excess over each limit, mm² for areas and mm for clearances.
    pub excess: [f64; LIMITS],
}

/// Slopes and curvature at one place, by the scaled variables.
pub(crate) struct Slopes {
    pub gradient: Vec<f64>,
    pub hessian: Vec<f64>,
    pub limits: [Vec<f64>; LIMITS],
}

impl Prepared {
    pub(crate) fn new(problem: &BalanceProblem) -> Option<Prepared> {
        let home = problem.home();
        let key = |side: Side| (problem.natural.get(side).outline.0, home.get(side).0);
        // Any fixed order will do; equal keys mean that the sides' outlines are equal.
        let right_first = key(Side::Right).partial_cmp(&key(Side::Left)) != Some(std::cmp::Ordering::Greater);
        let order = if right_first { [Side::Right, Side::Left] } else { [Side::Left, Side::Right] };
        let natural = order.map(|side| problem.natural.get(side).outline);
        let points = [outline_points(&natural[0])?, outline_points(&natural[1])?];
        let stretch = points.each_ref().map(stretches);
        let total: f64 = stretch.iter().flatten().sum();
        let weights = std::array::from_fn(|i| (stretch[0][i] + stretch[1][i]) / total);
        let offsets = std::array::from_fn(|i| match &problem.two_states {
            Some(states) => {
                let drop = |k: usize| states.drop.get(order[k]).at(points[k][i].x, &natural[k]);
                states.closed_weight * (drop(0) - drop(1))
            }
            None => 0.0,
        });
        let sides = order.map(|side| PreparedSide::new(problem, side, home.get(side)));
        Some(Prepared { sides, order, weights, offsets, preference: problem.preference })
    }

    /// Another removed limit for both sides, % of the natural areas; mm² limits keep binding.
    pub(crate) fn limit_removed(&mut self, problem: &BalanceProblem, percent: f64) {
        for (prepared, side) in self.sides.iter_mut().zip(self.order) {
            let limit = super::AreaLimit { percent, ..problem.rules.get(side).removed };
            prepared.removed_limit = limit.mm2(prepared.natural_area);
        }
    }

    /// Another added limit for both sides, % of the natural areas; mm² limits keep binding.
    pub(crate) fn limit_added(&mut self, problem: &BalanceProblem, percent: f64) {
        for (prepared, side) in self.sides.iter_mut().zip(self.order) {
            let limit = super::AreaLimit { percent, ..problem.rules.get(side).added };
            prepared.added_limit = limit.mm2(prepared.natural_area);
        }
    }

    /// The limits of the rules themselves.
    pub(crate) fn limit_as_ruled(&mut self, problem: &BalanceProblem) {
        for (prepared, side) in self.sides.iter_mut().zip(self.order) {
            let rules = problem.rules.get(side);
            prepared.removed_limit = rules.removed.mm2(prepared.natural_area);
            prepared.added_limit = rules.added.mm2(prepared.natural_area);
        }
    }

    /// Where the sweep begins: both sides at the mean of both starts, as far as locks and boxes allow, or at home where
    /// that is no pair of valid outlines.
    pub(crate) fn start(&self) -> Option<Pair> {
        let home = self.home();
        let mean = home[0].mean(&home[1]);
        [[mean, mean], home]
            .into_iter()
            .map(|pair| self.boxed(&pair))
            .find(|pair| pair.iter().all(|params| valid_pieces(params).is_ok()))
    }

    /// The parameters that the balance starts from and is drawn back to.
    pub(crate) fn home(&self) -> Pair {
        [self.sides[0].home, self.sides[1].home]
    }

    /// Home, moved into the boxes where thickness or tip are below their least.
    pub(crate) fn home_in_box(&self) -> Pair {
        self.boxed(&self.home())
    }

    /// The pair moved into the boxes.
    pub(crate) fn boxed(&self, pair: &Pair) -> Pair {
        std::array::from_fn(|s| {
            let side = &self.sides[s];
            OutlineParams(std::array::from_fn(|i| within(pair[s].0[i], side.low[i], side.high[i])))
        })
    }

    /// Room below and above each variable, in scaled units.
    pub(crate) fn room(&self, pair: &Pair) -> (Vec<f64>, Vec<f64>) {
        let each = |bound: fn(&PreparedSide) -> &[f64; PARAM_COUNT]| {
            (0..VARIABLES)
                .map(|v| {
                    let (s, i) = (v / PARAM_COUNT, v % PARAM_COUNT);
                    (bound(&self.sides[s])[i] - pair[s].0[i]) / Param::ALL[i].scale
                })
                .collect()
        };
        (each(|side| &side.low), each(|side| &side.high))
    }

    /// The pair moved by a change of the scaled variables, inside the boxes to the last digit.
    pub(crate) fn moved(&self, pair: &Pair, change: &[f64], share: f64) -> Pair {
        self.boxed(&std::array::from_fn(|s| {
            OutlineParams(std::array::from_fn(|i| {
                pair[s].0[i] + share * change[s * PARAM_COUNT + i] * Param::ALL[i].scale
            }))
        }))
    }

    /// The excess that counts as none, mm²: a twentieth of a per cent of the smaller brow.
    pub(crate) fn negligible(&self) -> f64 {
        5e-4 * self.sides[0].natural_area.min(self.sides[1].natural_area)
    }

    /// Wish and limits, or `None` where one of the two is no valid outline.
    pub(crate) fn value(&self, pair: &Pair) -> Option<Value> {
        let pieces = [valid_pieces(&pair[0]).ok()?, valid_pieces(&pair[1]).ok()?];
        let points = pieces.each_ref().map(corresponding_points);
        let mut wish = 0.0;
        for i in 0..OUTLINE_POINTS {
            wish += self.weights[i] * self.residual(&points, i).hypot2();
        }
        let mut excess = [0.0; LIMITS];
        for (s, side) in self.sides.iter().enumerate() {
            let price = side.price(&points[s]);
            excess[2 * s] =
                price.removed_counted_mm2 - side.removed_limit.max(LEAST_REMOVED * side.natural_area);
            excess[2 * s + 1] = price.added_mm2 - side.added_limit;
            for (c, clearance) in clearances(&pieces[s]).into_iter().enumerate() {
                excess[AREA_LIMITS + s * CLEARANCES + c] = LEAST_CLEARANCE_MM - clearance;
            }
            for (i, info) in Param::ALL.iter().enumerate() {
                let change = (pair[s].0[i] - side.home.0[i]) / info.scale;
                wish += PULL_HOME * change * change;
            }
            for pull in &side.pulls {
                let off = pull.off(&pair[s]);
                wish += pull.weight * off * off;
            }
            wish += self.preferred(price.removed_counted_mm2, price.added_mm2, side.natural_area);
        }
        Some(Value { points, wish, excess })
    }

    fn residual(&self, points: &[OutlinePoints; 2], i: usize) -> Vec2 {
        points[0][i] - points[1][i] - Vec2::new(0.0, self.offsets[i])
    }

    fn preferred(&self, removed: f64, added: f64, natural: f64) -> f64 {
        match self.preference {
            Preference::Neither => 0.0,
            Preference::Filling => PREFERENCE * removed / natural,
            Preference::Trimming => PREFERENCE * added / natural,
        }
    }

    /// Slopes at a place whose value is known; `prices` weigh the limits' curvature, which is smeared over a band of
    /// half width `band` along the natural edge, mm.
    pub(crate) fn slopes(
        &self,
        pair: &Pair,
        value: &Value,
        prices: &[f64; LIMITS],
        band: f64,
    ) -> Option<Slopes> {
        let both = [scaled_derivatives(&pair[0])?, scaled_derivatives(&pair[1])?];
        let moves = [&both[0].points, &both[1].points];
        let n = VARIABLES;
        let mut gradient = vec![0.0; n];
        let mut hessian = vec![0.0; n * n];
        let mut limits: [Vec<f64>; LIMITS] = std::array::from_fn(|_| vec![0.0; n]);
        for (slot, slopes) in limits.iter_mut().zip(self.area_slopes(&value.points, &moves)) {
            *slot = slopes;
        }
        // Rows of the matched distances: both sides' variables at once, the second side against the first.
        // Front and tail answer to different parameters, so a third of every row is nothing and is left out.
        let mut rows: Vec<(usize, Vec2)> = Vec::with_capacity(n);
        for (i, weight) in self.weights.iter().enumerate() {
            let residual = self.residual(&value.points, i);
            rows.clear();
            rows.extend((0..PARAM_COUNT).map(|v| (v, moves[0][v][i])));
            rows.extend((0..PARAM_COUNT).map(|v| (PARAM_COUNT + v, -moves[1][v][i])));
            rows.retain(|(_, by)| by.x != 0.0 || by.y != 0.0);
            for (k, &(r, by)) in rows.iter().enumerate() {
                let by = 2.0 * weight * by;
                gradient[r] += by.dot(residual);
                let line = &mut hessian[r * n..(r + 1) * n];
                for &(c, other) in &rows[..=k] {
                    line[c] += by.dot(other);
                }
            }
        }
        for (s, side) in self.sides.iter().enumerate() {
            let from = s * PARAM_COUNT;
            for (i, info) in Param::ALL.iter().enumerate() {
                gradient[from + i] += 2.0 * PULL_HOME * (pair[s].0[i] - side.home.0[i]) / info.scale;
                hessian[(from + i) * n + from + i] += 2.0 * PULL_HOME;
            }
            for pull in &side.pulls {
                let mut row = [0.0; PARAM_COUNT];
                for &(i, factor) in &pull.factors {
                    row[i] = factor * Param::ALL[i].scale;
                }
                add_square(&mut hessian, n, from, &row, 2.0 * pull.weight);
                for i in 0..PARAM_COUNT {
                    gradient[from + i] += 2.0 * pull.weight * pull.off(&pair[s]) * row[i];
                }
            }
            for c in 0..CLEARANCES {
                for v in 0..PARAM_COUNT {
                    limits[AREA_LIMITS + s * CLEARANCES + c][from + v] = -both[s].clearances[v][c];
                }
            }
            let per_area = PREFERENCE / side.natural_area;
            let (mut removed_price, mut added_price) = (prices[2 * s], prices[2 * s + 1]);
            match self.preference {
                Preference::Neither => {}
                Preference::Filling => removed_price += per_area,
                Preference::Trimming => added_price += per_area,
            }
            for v in 0..PARAM_COUNT {
                let (removed, added) = (limits[2 * s][from + v], limits[2 * s + 1][from + v]);
                gradient[from + v] += match self.preference {
                    Preference::Neither => 0.0,
                    Preference::Filling => per_area * removed,
                    Preference::Trimming => per_area * added,
                };
            }
            if removed_price > 0.0 || added_price > 0.0 {
                side.add_curvature(
                    &mut hessian,
                    from,
                    &value.points[s],
                    moves[s],
                    [removed_price, added_price],
                    band,
                );
            }
        }
        // Only the lower triangle was summed.
        for r in 0..n {
            for c in 0..r {
                hessian[c * n + r] = hessian[r * n + c];
            }
        }
        Some(Slopes { gradient, hessian, limits })
    }

    /// Areas spent by a pair of valid outlines, mm², in the order of the area limits.
    pub(crate) fn spent(&self, pair: &Pair) -> Option<[f64; AREA_LIMITS]> {
        let [first, second] = self.prices(pair)?;
        let each = |price: SidePrice| [price.removed_counted_mm2, price.added_mm2];
        let ([a, b], [c, d]) = (each(first), each(second));
        Some([a, b, c, d])
    }

    /// True for areas inside the present limits but for what is negligible.
    pub(crate) fn is_inside(&self, spent: &[f64; AREA_LIMITS]) -> bool {
        let limits = [&self.sides[0], &self.sides[1]].map(|side| [side.removed_limit, side.added_limit]);
        spent.iter().zip(limits.as_flattened()).all(|(spent, limit)| *spent <= limit + self.negligible())
    }

    /// How the areas of the area limits grow with each scaled variable.
    fn area_slopes(
        &self,
        points: &[OutlinePoints; 2],
        moves: &[&Vec<PerPoint<Vec2>>; 2],
    ) -> [Vec<f64>; AREA_LIMITS] {
        let mut slopes = std::array::from_fn(|_| vec![0.0; VARIABLES]);
        for (s, side) in self.sides.iter().enumerate() {
            let (removed, added) = side.area_gradients(&points[s]);
            for (k, per_point) in [(2 * s, removed), (2 * s + 1, added)] {
                for (v, moves) in moves[s].iter().enumerate() {
                    let slope: &mut f64 = &mut slopes[k][s * PARAM_COUNT + v];
                    *slope = per_point.iter().zip(moves).map(|(g, m)| g.dot(*m)).sum();
                }
            }
        }
        slopes
    }

    /// What the pair costs, by the client's sides in the order of [`Prepared::order`].
    pub(crate) fn prices(&self, pair: &Pair) -> Option<[SidePrice; 2]> {
        let points = [outline_points(&pair[0])?, outline_points(&pair[1])?];
        Some([self.sides[0].price(&points[0]), self.sides[1].price(&points[1])])
    }

    /// True where the pair keeps every limit to [`LIMIT_SLACK_PCT`].
    pub(crate) fn keeps_limits(&self, prices: &[SidePrice; 2]) -> bool {
        self.sides.iter().zip(prices).all(|(side, price)| {
            let most = LIMIT_SLACK_PCT / 100.0 * side.natural_area;
            price.removed_counted_mm2 <= side.removed_limit + most
                && price.added_mm2 <= side.added_limit + most
        })
    }
}

fn outline_points(params: &OutlineParams) -> Option<OutlinePoints> {
    build(params).map(|pieces| corresponding_points(&pieces))
}

/// Slopes by the scaled variables.
fn scaled_derivatives(params: &OutlineParams) -> Option<Derivatives> {
    let mut slopes = derivatives(params)?;
    for ((moves, clearances), info) in slopes.points.iter_mut().zip(&mut slopes.clearances).zip(&Param::ALL) {
        moves.iter_mut().for_each(|by| *by *= info.scale);
        clearances.iter_mut().for_each(|by| *by *= info.scale);
    }
    Some(slopes)
}

/// Half the edge on either side of each point, mm.
fn stretches(points: &OutlinePoints) -> PerPoint<f64> {
    let distance = |i: usize, j: usize| -> f64 {
        let (a, b): (Point, Point) = (points[i % OUTLINE_POINTS], points[j % OUTLINE_POINTS]);
        a.distance(b)
    };
    std::array::from_fn(|i| 0.5 * (distance(i + OUTLINE_POINTS - 1, i) + distance(i, i + 1)))
}

/// The polygon whose overlaps are reported.
pub(crate) fn contour_of(params: &OutlineParams) -> Option<Contour> {
    crate::Outline::try_new(params).ok().map(|outline| outline.contour())
}
