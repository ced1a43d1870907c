//! Solving small symmetric positive definite systems.

/// Solves `a x = b` in place: `a` is row-major n × n, symmetric, of which the lower triangle is read and overwritten
/// by its Cholesky factor; `b` becomes `x`. False where `a` is not positive definite in rounding; `a` and `b` are then
/// spoilt.
#[must_use]
pub fn solve_spd(a: &mut [f64], b: &mut [f64]) -> bool {
    let n = b.len();
    debug_assert_eq!(a.len(), n * n);
    for j in 0..n {
        let (above, rest) = a.split_at_mut(j * n);
        let row_j = &mut rest[..n];
        for i in 0..j {
            let row_i = &above[i * n..i * n + i + 1];
            let dot: f64 = row_i[..i].iter().zip(&row_j[..i]).map(|(x, y)| x * y).sum();
            row_j[i] = (row_j[i] - dot) / row_i[i];
        }
        let square: f64 = row_j[..j].iter().map(|x| x * x).sum();
        let pivot = row_j[j] - square;
        // NaN is refused as well.
        if pivot.is_nan() || pivot <= 0.0 {
            return false;
        }
        row_j[j] = pivot.sqrt();
    }
    solve_factored(a, b);
    b.iter().all(|x| x.is_finite())
}

/// Solves `a x = b` where [`solve_spd`] has left the factor of `a`; `b` becomes `x`.
pub(crate) fn solve_factored(a: &[f64], b: &mut [f64]) {
    let n = b.len();
    for i in 0..n {
        let row = &a[i * n..i * n + n];
        let dot: f64 = row[..i].iter().zip(b.iter()).map(|(x, y)| x * y).sum();
        b[i] = (b[i] - dot) / row[i];
    }
    for i in (0..n).rev() {
        // Column by column, so that the factor is read along its rows.
        let x = b[i] / a[i * n + i];
        b[i] = x;
        for (k, value) in b[..i].iter_mut().enumerate() {
            *value -= a[i * n + k] * x;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solves_a_known_system() {
        // Hilbert matrix of order 4 plus one on the diagonal; x = (1, −2, 3, −4).
        let n = 4;
        let mut a: Vec<f64> =
            (0..16).map(|k| 1.0 / ((k / n + k % n + 1) as f64) + f64::from(k / n == k % n)).collect();
        let x = [1.0, -2.0, 3.0, -4.0];
        let mut b: Vec<f64> = (0..n).map(|i| (0..n).map(|j| a[i * n + j] * x[j]).sum()).collect();
        assert!(solve_spd(&mut a, &mut b));
        for (got, want) in b.iter().zip(x) {
            assert!((got - want).abs() < 1e-12);
        }
    }

    #[test]
    fn refuses_what_is_not_positive_definite() {
        assert!(!solve_spd(&mut [1.0, 2.0, 2.0, 1.0], &mut [1.0, 1.0]));
        assert!(!solve_spd(&mut [f64::NAN], &mut [1.0]));
        assert!(!solve_spd(&mut [0.0], &mut [0.0]));
    }
}
