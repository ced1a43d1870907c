//! One step of the solver: a quadratic model with a few linear limits, inside a box.

use crate::cholesky::solve_spd;
use crate::order::within;

/// `½ dᵀ H d + gᵀ d` under `value + slope · d ≤ 0` for each limit and `low ≤ d ≤ high`.
pub(crate) struct Quadratic<'a> {
    /// Row-major n × n, positive definite.
    pub hessian: &'a [f64],
    pub gradient: &'a [f64],
    pub values: &'a [f64],
    pub slopes: &'a [Vec<f64>],
    pub low: &'a [f64],
    pub high: &'a [f64],
    /// The most that one unit of excess may cost: where the limits cannot all be kept, this shares the excess out.
    pub cap: f64,
}

/// A step and the price of each limit (its multiplier).
pub(crate) struct Step {
    pub change: Vec<f64>,
    pub prices: Vec<f64>,
}

/// Rounds in which every variable that is on the wrong side of its bound changes at once: fast, and nearly always enough.
const BLOCK_ROUNDS: usize = 8;
/// Rounds after that in which only the first such variable changes. That rule cannot go round in circles (Murty's
/// least-index pivoting), so these are a bound on the work, not on what can be solved in practice.
const SINGLE_ROUNDS: usize = 60;
/// Sweeps over the prices: the matrix is small, so this is cheap, and it ends early once nothing moves.
const PRICE_SWEEPS: usize = 200;

/// Solves the step. `None` where the model is not positive definite in rounding.
pub(crate) fn solve(problem: &Quadratic) -> Option<Step> {
    let n = problem.gradient.len();
    // −1, 0, 1: held at the lower end, free, held at the upper end.
    let mut held = vec![0i8; n];
    for (i, held) in held.iter_mut().enumerate() {
        if problem.high[i] - problem.low[i] <= 0.0 {
            *held = -1;
        }
    }
    let mut last = None;
    for round in 0..BLOCK_ROUNDS + SINGLE_ROUNDS {
        let step = solve_free(problem, &held)?;
        let mut changed = false;
        for (i, held) in held.iter_mut().enumerate() {
            if let Some(state) = better_state(problem, &step, i, *held) {
                (*held, changed) = (state, true);
                if round >= BLOCK_ROUNDS {
                    break;
                }
            }
        }
        last = Some(step);
        if !changed {
            break;
        }
    }
    let mut step = last?;
    for i in 0..n {
        step.change[i] = within(step.change[i], problem.low[i], problem.high[i]);
    }
    Some(step)
}

/// What a variable should change to: held where it left its box, free where it pushes inwards. `None` where it is well.
fn better_state(problem: &Quadratic, step: &Step, i: usize, held: i8) -> Option<i8> {
    let (low, high) = (problem.low[i], problem.high[i]);
    if high - low <= 0.0 {
        return None;
    }
    if held == 0 {
        let slack = 1e-9 * (1.0 + high - low);
        return if step.change[i] < low - slack {
            Some(-1)
        } else if step.change[i] > high + slack {
            Some(1)
        } else {
            None
        };
    }
    let n = step.change.len();
    let row = &problem.hessian[i * n..(i + 1) * n];
    let push = problem.gradient[i]
        + row.iter().zip(&step.change).map(|(h, d)| h * d).sum::<f64>()
        + problem.slopes.iter().zip(&step.prices).map(|(slope, price)| price * slope[i]).sum::<f64>();
    (push * f64::from(held) > 1e-9).then_some(0)
}

/// Solves with some variables held at an end of their box and the others free of it, by way of the limits' prices:
/// these solve a small concave problem with bounds, one price after the other.
fn solve_free(problem: &Quadratic, held: &[i8]) -> Option<Step> {
    let n = held.len();
    let end = |i: usize| if held[i] < 0 { problem.low[i] } else { problem.high[i] };
    let free: Vec<usize> = (0..n).filter(|&i| held[i] == 0).collect();
    let fixed: Vec<(usize, f64)> = (0..n).filter(|&i| held[i] != 0).map(|i| (i, end(i))).collect();
    let m = free.len();
    let limits = problem.values.len();
    let mut values = problem.values.to_vec();
    for (k, value) in values.iter_mut().enumerate() {
        *value += fixed.iter().map(|&(i, d)| problem.slopes[k][i] * d).sum::<f64>();
    }
    // Columns: the gradient and each limit's slope, on the free variables.
    let gradient: Vec<f64> = free
        .iter()
        .map(|&i| {
            problem.gradient[i] + fixed.iter().map(|&(j, d)| problem.hessian[i * n + j] * d).sum::<f64>()
        })
        .collect();
    let slopes: Vec<Vec<f64>> =
        problem.slopes.iter().map(|slope| free.iter().map(|&i| slope[i]).collect()).collect();
    let mut factor = vec![0.0; m * m];
    for (r, &i) in free.iter().enumerate() {
        for (c, &j) in free.iter().enumerate().take(r + 1) {
            factor[r * m + c] = problem.hessian[i * n + j];
        }
    }
    let mut solved_gradient = gradient.clone();
    if !solve_spd(&mut factor, &mut solved_gradient) {
        return None;
    }
    let solved: Vec<Vec<f64>> = slopes
        .iter()
        .map(|slope| {
            let mut x = slope.clone();
            crate::cholesky::solve_factored(&factor, &mut x);
            x
        })
        .collect();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let matrix: Vec<Vec<f64>> =
        slopes.iter().map(|slope| solved.iter().map(|solved| dot(slope, solved)).collect()).collect();
    let right: Vec<f64> =
        slopes.iter().zip(&values).map(|(slope, value)| value - dot(slope, &solved_gradient)).collect();
    let mut prices = vec![0.0; limits];
    for _ in 0..PRICE_SWEEPS {
        let mut moved = 0.0f64;
        for k in 0..limits {
            // A limit that no free variable acts on has no price.
            if matrix[k][k] <= 1e-14 {
                continue;
            }
            let others: f64 = (0..limits).filter(|&l| l != k).map(|l| matrix[k][l] * prices[l]).sum();
            let price = within((right[k] - others) / matrix[k][k], 0.0, problem.cap);
            moved = moved.max((price - prices[k]).abs());
            prices[k] = price;
        }
        if moved < 1e-12 {
            break;
        }
    }
    let mut change = vec![0.0; n];
    for (r, &i) in free.iter().enumerate() {
        change[i] = -solved_gradient[r]
            - prices.iter().zip(&solved).map(|(price, solved)| price * solved[r]).sum::<f64>();
    }
    for &(i, d) in &fixed {
        change[i] = d;
    }
    Some(Step { change, prices })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn solve_2d(gradient: [f64; 2], limits: &[(f64, [f64; 2])], half_box: f64) -> Step {
        let values: Vec<f64> = limits.iter().map(|limit| limit.0).collect();
        let slopes: Vec<Vec<f64>> = limits.iter().map(|limit| limit.1.to_vec()).collect();
        solve(&Quadratic {
            hessian: &[2.0, 0.0, 0.0, 2.0],
            gradient: &gradient,
            values: &values,
            slopes: &slopes,
            low: &[-half_box; 2],
            high: &[half_box; 2],
            cap: 100.0,
        })
        .unwrap()
    }

    fn close(step: &Step, want: [f64; 2]) {
        assert!(
            (step.change[0] - want[0]).abs() < 1e-9 && (step.change[1] - want[1]).abs() < 1e-9,
            "{:?}",
            step.change
        );
    }

    #[test]
    fn free_step_goes_to_the_bottom() {
        close(&solve_2d([-2.0, 4.0], &[(-1.0, [0.0; 2])], 10.0), [1.0, -2.0]);
    }

    #[test]
    fn box_holds_and_the_rest_goes_on() {
        close(&solve_2d([-2.0, 4.0], &[], 1.5), [1.0, -1.5]);
    }

    #[test]
    fn limit_is_kept_at_its_price() {
        // x ≤ 0.25 where the bottom lies at x = 1: price 2·(1 − 0.25) = 1.5.
        let step = solve_2d([-2.0, 0.0], &[(-1.0, [0.0; 2]), (-0.25, [1.0, 0.0])], 10.0);
        close(&step, [0.25, 0.0]);
        assert!((step.prices[1] - 1.5).abs() < 1e-9);
    }

    #[test]
    fn contradicting_limits_share_the_excess() {
        // x ≤ −1 and −x ≤ −1 at once: the capped prices cancel and x stays in between.
        let step = solve_2d([0.0, 0.0], &[(1.0, [1.0, 0.0]), (1.0, [-1.0, 0.0])], 10.0);
        assert!(step.change[0].abs() <= 1.0 + 1e-9 && step.change[0].is_finite());
        assert!(step.prices[0] <= 100.0);
    }
}
