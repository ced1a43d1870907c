//! Sequential quadratic steps with a merit function.

use super::prepared::{Pair, Prepared, Value};
use super::quadratic::{self, LIMITS, Quadratic};

/// Quadratic steps per solve at most; with a warm start three to six are usual.
const MAX_STEPS: usize = 14;
/// Halvings of a step that does not improve matters.
const MAX_HALVINGS: usize = 6;
/// Farthest step in typical changes: beyond it the quadratic model of an area is worth little (model study).
const LONGEST_STEP: f64 = 1.5;
/// Finished when no variable wants to move farther than this, typical changes.
const SETTLED: f64 = 4e-3;
/// Finished also when a step promises less than this, mm² of mean square.
const NO_GAIN: f64 = 1e-6;
/// Share of the promised improvement that a step must keep (Armijo's condition).
const KEPT_PROMISE: f64 = 0.05;
/// The merit function charges an excess at this multiple of its price, so that giving a limit up never pays …
const CHARGE: f64 = 1.5;
/// … and at no less than this, mm² of mean square per mm² of area.
const LEAST_CHARGE: f64 = 0.02;
/// Highest price of a limit, mm² of mean square per mm²: a hundred times what real pairs pay at a removed limit of 0.
const PRICE_CAP: f64 = 30.0;

/// Where the solver stands: a pair, and what each limit last cost.
#[derive(Clone)]
pub(crate) struct State {
    pub pair: Pair,
    pub prices: [f64; LIMITS],
}

/// Improves the state under the present limits. The work is bounded whatever the state is; the pair stays valid.
pub(crate) fn solve(problem: &Prepared, state: &mut State) -> Option<()> {
    let mut value = problem.value(&state.pair)?;
    let mut charges = [LEAST_CHARGE; LIMITS];
    let mut reach = LONGEST_STEP;
    for _ in 0..MAX_STEPS {
        let slopes = problem.slopes(&state.pair, &value, &state.prices)?;
        let (mut low, mut high) = problem.room(&state.pair);
        for (low, high) in low.iter_mut().zip(&mut high) {
            *low = low.max(-reach);
            *high = high.min(reach);
        }
        let step = quadratic::solve(&Quadratic {
            hessian: &slopes.hessian,
            gradient: &slopes.gradient,
            values: value.excess,
            slopes: std::array::from_fn(|k| slopes.limits[k].as_slice()),
            low: &low,
            high: &high,
            cap: PRICE_CAP,
        })?;
        for (charge, price) in charges.iter_mut().zip(step.prices) {
            *charge = (CHARGE * price).max(0.5 * *charge).max(LEAST_CHARGE);
        }
        let promise =
            promised(&slopes.gradient, &slopes.hessian, &slopes.limits, &value, &step.change, &charges);
        let longest = step.change.iter().fold(0.0f64, |most, d| most.max(d.abs()));
        state.prices = step.prices;
        let kept = value.excess.iter().all(|&excess| excess <= problem.negligible());
        if longest < SETTLED && kept || promise < NO_GAIN {
            break;
        }
        let merit = merit(&value, &charges);
        let mut share = 1.0;
        let mut accepted = false;
        for _ in 0..MAX_HALVINGS {
            let trial = problem.moved(&state.pair, &step.change, share);
            if let Some(next) = problem.value(&trial)
                && self::merit(&next, &charges) <= merit - KEPT_PROMISE * share * promise
            {
                (state.pair, value, accepted) = (trial, next, true);
                break;
            }
            share *= 0.5;
        }
        if !accepted {
            break;
        }
        // A step that had to be cut says how far the model can be trusted.
        reach = if share < 1.0 { (longest * share).max(0.05) } else { (2.0 * reach).min(LONGEST_STEP) };
    }
    Some(())
}

fn merit(value: &Value, charges: &[f64; LIMITS]) -> f64 {
    value.wish
        + charges.iter().zip(value.excess).map(|(charge, excess)| charge * excess.max(0.0)).sum::<f64>()
}

/// How much the quadratic model says the merit will fall.
fn promised(
    gradient: &[f64],
    hessian: &[f64],
    limits: &[Vec<f64>; LIMITS],
    value: &Value,
    change: &[f64],
    charges: &[f64; LIMITS],
) -> f64 {
    let n = change.len();
    let dot = |a: &[f64]| a.iter().zip(change).map(|(x, y)| x * y).sum::<f64>();
    let bend: f64 = (0..n).map(|i| change[i] * dot(&hessian[i * n..(i + 1) * n])).sum();
    let relief: f64 = (0..LIMITS)
        .map(|k| charges[k] * (value.excess[k].max(0.0) - (value.excess[k] + dot(&limits[k])).max(0.0)))
        .sum();
    relief - dot(gradient) - 0.5 * bend
}
