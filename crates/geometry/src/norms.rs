//! Where a measure stands among adults.
//!
//! Means and standard deviations of the brows of 102 neutral adult faces, measured on the photo templates of the Face
//! Research Lab London Set (DeBruine & Jones 2017, CC BY 4.0) in this project's model study: scale by iris width,
//! level by the eye line. One population, one photo each: a percentile says "common" or "rare", never "right".

use crate::measure::Measure;

/// What adults measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Norm {
    /// Mean, in the measure's unit.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
    /// Sizes of the left-right difference that 50, 90, 95 and 100 % of the adults do not exceed.
    pub difference: Option<[f64; 4]>,
}

/// The norm of a measure, where adults were measured.
#[must_use]
pub const fn norm(measure: Measure) -> Option<Norm> {
    let (mean, sd, difference) = match measure {
        Measure::FrontDistance => (12.95, 2.81, [1.58, 3.80, 4.58, 8.12]),
        Measure::BulbBottom => (14.53, 3.21, [0.66, 1.96, 2.40, 5.92]),
        Measure::BulbTop => (19.87, 3.99, [1.26, 3.41, 3.94, 7.45]),
        Measure::ArchDistance => (36.64, 3.68, [1.97, 4.22, 5.89, 7.88]),
        Measure::ArchTop => (26.68, 3.48, [0.87, 2.48, 2.91, 4.14]),
        Measure::TailOut => (57.35, 3.49, [1.22, 3.03, 3.56, 6.63]),
        Measure::TailUp => (11.26, 4.45, [1.30, 3.92, 4.55, 8.73]),
        Measure::FrontToArch => (24.24, 4.29, [2.05, 5.51, 6.25, 11.3]),
        Measure::FrontToTail => (44.94, 4.46, [1.94, 5.11, 6.35, 10.4]),
        Measure::Area => (299.0, 85.0, [21.1, 49.4, 58.8, 96.0]),
        Measure::BulbThickness | Measure::ArchThickness | Measure::TailAngle | Measure::BrowLength => {
            return None;
        }
    };
    Some(Norm { mean, sd, difference: Some(difference) })
}

/// Percentile (0 to 100) of a value among adults, by the normal approximation.
#[must_use]
pub fn percentile(measure: Measure, value: f64) -> Option<f64> {
    let norm = norm(measure)?;
    Some(100.0 * normal_cdf((value - norm.mean) / norm.sd))
}

/// Percentage of adults (0 to 100) whose left-right difference is smaller than this one; straight lines between the
/// known percentiles.
#[must_use]
pub fn difference_percentile(measure: Measure, difference: f64) -> Option<f64> {
    let [p50, p90, p95, max] = norm(measure)?.difference?;
    let steps = [(0.0, 0.0), (p50, 50.0), (p90, 90.0), (p95, 95.0), (max, 100.0)];
    let size = difference.abs();
    let between = steps.windows(2).find_map(|pair| match pair {
        &[(low, from), (high, to)] if size <= high => Some(from + (to - from) * (size - low) / (high - low)),
        _ => None,
    });
    Some(between.unwrap_or(100.0))
}

/// Φ(z). Abramowitz & Stegun 1964, 7.1.26: absolute error of erf below 1.5e-7.
fn normal_cdf(z: f64) -> f64 {
    let x = z.abs() * std::f64::consts::FRAC_1_SQRT_2;
    let t = 1.0 / (1.0 + 0.327_591_1 * x);
    let series = [1.061_405_429, -1.453_152_027, 1.421_413_741, -0.284_496_736, 0.254_829_592];
    let tail = 0.5 * t * series.iter().fold(0.0, |sum, c| sum * t + c) * (-x * x).exp();
    if z < 0.0 { tail } else { 1.0 - tail }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_cdf_matches_tables() {
        // Any table of the normal distribution.
        for (z, p) in
            [(0.0, 0.5), (1.0, 0.841_344_7), (1.959_964, 0.975), (-1.644_854, 0.05), (-3.0, 0.001_349_9)]
        {
            assert!((normal_cdf(z) - p).abs() < 2e-7, "{z}: {}", normal_cdf(z));
        }
    }

    #[test]
    fn percentiles_stand_where_the_table_says() {
        assert!(percentile(Measure::ArchTop, 26.68).is_some_and(|p| (p - 50.0).abs() < 1e-4));
        assert!(percentile(Measure::FrontDistance, 12.95 + 2.81).is_some_and(|p| (p - 84.134).abs() < 1e-2));
        assert_eq!(difference_percentile(Measure::ArchTop, -0.87), Some(50.0));
        assert_eq!(difference_percentile(Measure::ArchTop, 99.0), Some(100.0));
        assert_eq!(difference_percentile(Measure::ArchTop, 0.0), Some(0.0));
    }
}
