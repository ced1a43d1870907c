//! Sequential quadratic steps with a merit function.

use super::prepared::{AREA_LIMITS, LIMITS, Pair, Prepared, Slopes, Value};
use super::quadratic::{self, Quadratic};

/// Quadratic steps per solve at most; with a warm start three to six are usual.
const MAX_STEPS: usize = 16;
/// Halvings of a step that does not improve matters.
const MAX_HALVINGS: usize = 6;
/// Farthest step in typical changes: beyond it the quadratic model of an area is worth little (model study).
const LONGEST_STEP: f64 = 1.5;
/// A step that had to be cut says how far the model can be trusted, but never less than this.
const SHORTEST_REACH: f64 = 0.05;
/// Finished when no variable wants to move farther than this, typical changes.
const SETTLED: f64 = 4e-3;
/// Finished also when a step promises less than this, mm² of mean square, …
const NO_GAIN: f64 = 1e-6;
/// … or, with the limits kept, less than this share of it: 0.1 % of the mean square is 0.05 % of the unevenness.
const LITTLE_GAIN: f64 = 1e-3;
/// Share of the promised improvement that a step must keep (Armijo's condition).
const KEPT_PROMISE: f64 = 0.05;
/// The merit function charges an excess at this multiple of its price, so that giving a limit up never pays …
const CHARGE: f64 = 1.5;
/// … and at no less than this, mm² of mean square per mm² of area (per mm of clearance).
const LEAST_CHARGE: f64 = 0.02;
/// Highest price of a limit, mm² of mean square per mm²: a hundred times what real pairs pay at a removed limit of 0.
const PRICE_CAP: f64 = 30.0;
/// A limit this far from binding, mm² or mm, is left out of a step: none moves an area or clearance that far.
const FAR_FROM_BINDING: f64 = -60.0;
/// The same for clearances, mm.
const FAR_FROM_CLOSING: f64 = -3.0;
/// An area limit this near to binding, mm², has its curvature counted, as if it were charged.
const NEAR_BINDING: f64 = -1.0;

/// Steps at most on the way back inside the limits.
const MAX_RESTORING: usize = 12;
/// What distance costs on that way, against [`PRICE_CAP`]: little enough that being inside comes first.
const SHORTNESS: f64 = 0.1;

/// Least and greatest half width of the band along the natural edge over which the areas' curvature is smeared in the
/// model, mm. Where outline and natural edge run along each other, removed and added area have a kink: a step that was
/// misled by it halves the band, which makes the next one more careful across the edge and no less so along it.
const BAND_MM: (f64, f64) = (0.03, 0.5);

/// Where the solver stands: a pair, and what each limit last cost.
#[derive(Clone)]
pub(crate) struct State {
    pub pair: Pair,
    pub prices: [f64; LIMITS],
}

/// Improves the state under the present limits, then makes good what is still over a limit. The work is bounded
/// whatever the state is; the pair stays valid.
///
/// Where that does not get inside the limits, the way from home is tried too: home removes and adds little, so that
/// only limits that contradict each other stay broken.
pub(crate) fn solve(problem: &Prepared, state: &mut State) -> Option<()> {
    improve(problem, state)?;
    let left = restore(problem, state)?;
    if left > problem.negligible() {
        let mut other = State { pair: problem.home_in_box(), prices: [0.0; LIMITS] };
        if problem.value(&other.pair).is_some() && improve(problem, &mut other).is_some() {
            let other_left = restore(problem, &mut other)?;
            if other_left < left {
                *state = other;
            }
        }
    }
    Some(())
}

/// How good a state is, to compare states: its wish, and far more where it breaks a limit.
pub(crate) fn standing(problem: &Prepared, state: &State) -> f64 {
    problem.value(&state.pair).map_or(f64::INFINITY, |value| {
        let over = value.excess[..AREA_LIMITS].iter().map(|excess| excess.max(0.0)).sum::<f64>();
        value.wish + if over > 2.0 * problem.negligible() { PRICE_CAP * over } else { 0.0 }
    })
}

/// Brings the pair back inside its limits by the shortest way, where the last step left it outside.
/// Returns what is left of the excess, mm².
fn restore(problem: &Prepared, state: &mut State) -> Option<f64> {
    let over = |value: &Value| value.excess[..AREA_LIMITS].iter().map(|excess| excess.max(0.0)).sum::<f64>();
    let mut value = problem.value(&state.pair)?;
    for _ in 0..MAX_RESTORING {
        if over(&value) <= problem.negligible() {
            break;
        }
        let Some(mut slopes) = problem.slopes(&state.pair, &value, &state.prices, BAND_MM.0) else { break };
        let n = slopes.gradient.len();
        slopes.gradient.fill(0.0);
        slopes.hessian.fill(0.0);
        for i in 0..n {
            slopes.hessian[i * n + i] = SHORTNESS;
        }
        let room = room(problem, &state.pair, LONGEST_STEP);
        let Some((change, _)) = step(&slopes, &value.excess, &room) else { break };
        let shares = [1.0, 0.5, 0.25, 0.125];
        let better = shares.into_iter().find_map(|share| {
            let trial = problem.moved(&state.pair, &change, share);
            problem.value(&trial).filter(|next| over(next) < over(&value)).map(|next| (trial, next))
        });
        let Some((trial, next)) = better else { break };
        (state.pair, value) = (trial, next);
    }
    Some(over(&value))
}

/// Improves the state under the present limits, step by step.
fn improve(problem: &Prepared, state: &mut State) -> Option<()> {
    let mut value = problem.value(&state.pair)?;
    let mut charges = [LEAST_CHARGE; LIMITS];
    let mut reach = LONGEST_STEP;
    let mut band = BAND_MM.1;
    for _ in 0..MAX_STEPS {
        let weights = std::array::from_fn(|k| {
            if value.excess[k] > NEAR_BINDING { state.prices[k].max(LEAST_CHARGE) } else { state.prices[k] }
        });
        let Some(slopes) = problem.slopes(&state.pair, &value, &weights, band) else { break };
        let room = room(problem, &state.pair, reach);
        let Some((change, prices)) = step(&slopes, &value.excess, &room) else { break };
        for (charge, price) in charges.iter_mut().zip(prices) {
            *charge = (CHARGE * price).max(0.5 * *charge).max(LEAST_CHARGE);
        }
        state.prices = prices;
        let promise = promised(&slopes, &value, &change, &charges);
        let longest = change.iter().fold(0.0f64, |most, d| most.max(d.abs()));
        let kept = value.excess[..AREA_LIMITS].iter().all(|&excess| excess <= problem.negligible());
        let enough = NO_GAIN + if kept { LITTLE_GAIN * value.wish } else { 0.0 };
        if longest < SETTLED && kept || promise < enough {
            break;
        }
        let least = |share: f64| merit(&value, &charges) - KEPT_PROMISE * share * promise;
        let attempt = |change: &[f64], share: f64| {
            let trial = problem.moved(&state.pair, change, share);
            problem.value(&trial).map(|next| (trial, next))
        };
        let mut accepted = None;
        let mut was_corrected = false;
        let mut share = 1.0;
        for halving in 0..MAX_HALVINGS {
            let Some((trial, next)) = attempt(&change, share) else {
                share *= 0.5;
                continue;
            };
            if merit(&next, &charges) <= least(share) {
                accepted = Some((trial, next));
                break;
            }
            // The areas bend: one more step from the same slopes with the excess that was really met.
            if halving == 0
                && let Some(corrected) = corrected(&slopes, &next, &change, &room)
                && let Some((trial, next)) = attempt(&corrected, 1.0)
                && merit(&next, &charges) <= least(1.0)
            {
                (accepted, was_corrected) = (Some((trial, next)), true);
                break;
            }
            share *= 0.5;
        }
        let Some((trial, next)) = accepted else { break };
        (state.pair, value) = (trial, next);
        band = if share < 1.0 || was_corrected { 0.5 * band } else { 2.0 * band }.clamp(BAND_MM.0, BAND_MM.1);
        reach =
            if share < 1.0 { (longest * share).max(SHORTEST_REACH) } else { (2.0 * reach).min(LONGEST_STEP) };
    }
    Some(())
}

/// Room below and above each variable, cut to the reach.
fn room(problem: &Prepared, pair: &Pair, reach: f64) -> (Vec<f64>, Vec<f64>) {
    let (mut low, mut high) = problem.room(pair);
    low.iter_mut().for_each(|low| *low = low.max(-reach));
    high.iter_mut().for_each(|high| *high = high.min(reach));
    (low, high)
}

/// The quadratic step under the limits that may bind, and the price of every limit.
fn step(
    slopes: &Slopes,
    excess: &[f64; LIMITS],
    (low, high): &(Vec<f64>, Vec<f64>),
) -> Option<(Vec<f64>, [f64; LIMITS])> {
    let near = |k: &usize| excess[*k] > if *k < AREA_LIMITS { FAR_FROM_BINDING } else { FAR_FROM_CLOSING };
    let chosen: Vec<usize> = (0..LIMITS).filter(near).collect();
    let values: Vec<f64> = chosen.iter().map(|&k| excess[k]).collect();
    let limits: Vec<Vec<f64>> = chosen.iter().map(|&k| slopes.limits[k].clone()).collect();
    let step = quadratic::solve(&Quadratic {
        hessian: &slopes.hessian,
        gradient: &slopes.gradient,
        values: &values,
        slopes: &limits,
        low,
        high,
        cap: PRICE_CAP,
    })?;
    let mut prices = [0.0; LIMITS];
    for (&k, price) in chosen.iter().zip(step.prices) {
        prices[k] = price;
    }
    Some((step.change, prices))
}

/// The step that makes good what the limits' bending spoilt (second-order correction).
fn corrected(slopes: &Slopes, met: &Value, change: &[f64], room: &(Vec<f64>, Vec<f64>)) -> Option<Vec<f64>> {
    let values = std::array::from_fn(|k| met.excess[k] - dot(&slopes.limits[k], change));
    step(slopes, &values, room).map(|(change, _)| change)
}

fn merit(value: &Value, charges: &[f64; LIMITS]) -> f64 {
    value.wish
        + charges.iter().zip(value.excess).map(|(charge, excess)| charge * excess.max(0.0)).sum::<f64>()
}

/// How much the quadratic model says the merit will fall.
fn promised(slopes: &Slopes, value: &Value, change: &[f64], charges: &[f64; LIMITS]) -> f64 {
    let n = change.len();
    let bend: f64 = (0..n).map(|i| change[i] * dot(&slopes.hessian[i * n..(i + 1) * n], change)).sum();
    let relief: f64 = (0..LIMITS)
        .map(|k| {
            let (now, then) = (value.excess[k], value.excess[k] + dot(&slopes.limits[k], change));
            charges[k] * (now.max(0.0) - then.max(0.0))
        })
        .sum();
    relief - dot(&slopes.gradient, change) - 0.5 * bend
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}
