//! One step of the solver: a quadratic model with a few linear limits, inside a box.

use crate::cholesky::solve_spd;

/// Limits of a problem: removed and added on each of two sides.
pub(crate) const LIMITS: usize = 4;

/// `½ dᵀ H d + gᵀ d` under `value + slope · d ≤ 0` for each limit and `low ≤ d ≤ high`.
pub(crate) struct Quadratic<'a> {
    /// Row-major n × n, positive definite.
    pub hessian: &'a [f64],
    pub gradient: &'a [f64],
    pub values: [f64; LIMITS],
    pub slopes: [&'a [f64]; LIMITS],
    pub low: &'a [f64],
    pub high: &'a [f64],
    /// The most that one unit of excess may cost: where the limits cannot all be kept, this shares the excess out.
    pub cap: f64,
}

/// A step and the price of each limit (its multiplier).
pub(crate) struct Step {
    pub change: Vec<f64>,
    pub prices: [f64; LIMITS],
}

/// Rounds of fixing and releasing box bounds. Each fixes at least one variable; a handful is usual.
const BOX_ROUNDS: usize = 12;
/// Sweeps over the prices: the matrix is 4 × 4, so this is cheap, and it ends early once nothing moves.
const PRICE_SWEEPS: usize = 200;

/// Solves the step. `None` where the model is not positive definite in rounding.
pub(crate) fn solve(problem: &Quadratic) -> Option<Step> {
    let n = problem.gradient.len();
    // −1, 0, 1: held at the lower end, free, held at the upper end.
    let mut held = vec![0i8; n];
    for i in 0..n {
        if problem.high[i] - problem.low[i] <= 0.0 {
            held[i] = -1;
        }
    }
    let mut last = None;
    for round in 0..BOX_ROUNDS {
        let step = solve_free(problem, &held)?;
        let mut changed = false;
        for i in 0..n {
            if held[i] == 0 {
                let slack = 1e-9 * (1.0 + problem.high[i] - problem.low[i]);
                if step.change[i] < problem.low[i] - slack {
                    (held[i], changed) = (-1, true);
                } else if step.change[i] > problem.high[i] + slack {
                    (held[i], changed) = (1, true);
                }
            }
        }
        if !changed && round + 1 < BOX_ROUNDS {
            // Release what pushes inwards.
            for i in 0..n {
                if held[i] == 0 || problem.high[i] - problem.low[i] <= 0.0 {
                    continue;
                }
                let row = &problem.hessian[i * n..(i + 1) * n];
                let mut push = problem.gradient[i];
                push += row.iter().zip(&step.change).map(|(h, d)| h * d).sum::<f64>();
                push += (0..LIMITS).map(|k| step.prices[k] * problem.slopes[k][i]).sum::<f64>();
                if push * f64::from(held[i]) > 1e-9 {
                    (held[i], changed) = (0, true);
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
        step.change[i] = step.change[i].clamp(problem.low[i], problem.high[i]);
    }
    Some(step)
}

/// Solves with some variables held at an end of their box and the others free of it, by way of the limits' prices:
/// these solve a small concave problem with bounds, one price after the other.
fn solve_free(problem: &Quadratic, held: &[i8]) -> Option<Step> {
    let n = held.len();
    let end = |i: usize| if held[i] < 0 { problem.low[i] } else { problem.high[i] };
    let free: Vec<usize> = (0..n).filter(|&i| held[i] == 0).collect();
    let fixed: Vec<(usize, f64)> = (0..n).filter(|&i| held[i] != 0).map(|i| (i, end(i))).collect();
    let m = free.len();
    let mut values = problem.values;
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
    let slopes: [Vec<f64>; LIMITS] =
        std::array::from_fn(|k| free.iter().map(|&i| problem.slopes[k][i]).collect());
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
    let solved: [Vec<f64>; LIMITS] = std::array::from_fn(|k| {
        let mut x = slopes[k].clone();
        crate::cholesky::solve_factored(&factor, &mut x);
        x
    });
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let matrix: [[f64; LIMITS]; LIMITS] =
        std::array::from_fn(|k| std::array::from_fn(|l| dot(&slopes[k], &solved[l])));
    let right: [f64; LIMITS] = std::array::from_fn(|k| values[k] - dot(&slopes[k], &solved_gradient));
    let mut prices = [0.0; LIMITS];
    for _ in 0..PRICE_SWEEPS {
        let mut moved = 0.0f64;
        for k in 0..LIMITS {
            // A limit that no free variable acts on has no price.
            if matrix[k][k] <= 1e-14 {
                continue;
            }
            let others: f64 = (0..LIMITS).filter(|&l| l != k).map(|l| matrix[k][l] * prices[l]).sum();
            let price = ((right[k] - others) / matrix[k][k]).clamp(0.0, problem.cap);
            moved = moved.max((price - prices[k]).abs());
            prices[k] = price;
        }
        if moved < 1e-12 {
            break;
        }
    }
    let mut change = vec![0.0; n];
    for (r, &i) in free.iter().enumerate() {
        change[i] = -solved_gradient[r] - (0..LIMITS).map(|k| prices[k] * solved[k][r]).sum::<f64>();
    }
    for &(i, d) in &fixed {
        change[i] = d;
    }
    Some(Step { change, prices })
}

#[cfg(test)]
mod tests {
    use super::*;

    const NONE: [f64; LIMITS] = [-1.0; LIMITS];

    fn solve_2d(
        gradient: [f64; 2],
        values: [f64; LIMITS],
        slopes: [[f64; 2]; LIMITS],
        half_box: f64,
    ) -> Step {
        let hessian = [2.0, 0.0, 0.0, 2.0];
        let slopes = slopes.map(|s| s.to_vec());
        solve(&Quadratic {
            hessian: &hessian,
            gradient: &gradient,
            values,
            slopes: std::array::from_fn(|k| slopes[k].as_slice()),
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
        close(&solve_2d([-2.0, 4.0], NONE, [[0.0; 2]; LIMITS], 10.0), [1.0, -2.0]);
    }

    #[test]
    fn box_holds_and_the_rest_goes_on() {
        close(&solve_2d([-2.0, 4.0], NONE, [[0.0; 2]; LIMITS], 1.5), [1.0, -1.5]);
    }

    #[test]
    fn limit_is_kept_at_its_price() {
        // x ≤ 0.25 where the bottom lies at x = 1: price 2·(1 − 0.25) = 1.5.
        let mut slopes = [[0.0; 2]; LIMITS];
        slopes[2] = [1.0, 0.0];
        let step = solve_2d([-2.0, 0.0], [-1.0, -1.0, -0.25, -1.0], slopes, 10.0);
        close(&step, [0.25, 0.0]);
        assert!((step.prices[2] - 1.5).abs() < 1e-9);
    }

    #[test]
    fn contradicting_limits_share_the_excess() {
        // x ≤ −1 and −x ≤ −1 at once: the capped prices cancel and x stays in between.
        let step =
            solve_2d([0.0, 0.0], [1.0, 1.0, -1.0, -1.0], [[1.0, 0.0], [-1.0, 0.0], [0.0; 2], [0.0; 2]], 10.0);
        assert!(step.change[0].abs() <= 1.0 + 1e-9 && step.change[0].is_finite());
        assert!(step.prices[0] <= 100.0);
    }
}
