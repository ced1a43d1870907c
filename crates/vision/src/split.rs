//! Telling hair from skin by what is surely one and surely the other.

use counterpoise_geometry::solve_spd;

/// What a square is told by: lightness, two colours, and how much lightness varies around it.
pub(crate) const FEATURES: usize = 4;
/// Those that a shadow or a shine changes slowly, so that a smooth surface is taken off: all but the variation.
const SHADED: usize = 3;
/// Coefficients of a quadratic surface.
const SURFACE: usize = 6;
/// Rounds in which values far off the surface lose weight; far is so many standard deviations.
const SURFACE_ROUNDS: usize = 4;
const FAR_SD: f64 = 4.0;
/// One of so many squares is enough for a surface.
const SURFACE_EVERY: usize = 7;
/// Median distance from the median of a normal sample, times this, is its standard deviation.
const SD_OF_MEDIAN: f64 = 1.4826;
/// Added to the variances, so that flat patches have an answer.
const LEAST_VARIANCE: f64 = 1e-3;
/// Fewer squares than these say nothing of a class.
const LEAST_SQUARES: usize = 100;

/// A patch whose hair has been told from its skin.
pub(crate) struct Split {
    /// How much like hair each square is: 0 the middle of the skin, 1 the middle of the hair.
    pub hair: Vec<f32>,
    /// How far apart both are, in standard deviations.
    pub apart: f64,
}

/// Takes off the skin's own shading, a quadratic surface through `skin`. `places` are within about ±1.
pub(crate) fn without_shading(
    features: &[Vec<f32>; FEATURES],
    places: &[[f64; 2]],
    skin: &[usize],
) -> [Vec<f32>; FEATURES] {
    let mut flat = features.clone();
    let few: Vec<usize> = skin.iter().copied().step_by(SURFACE_EVERY).collect();
    for values in &mut flat[..SHADED] {
        let Some(surface) = surface(values, places, &few) else { continue };
        for (value, place) in values.iter_mut().zip(places) {
            let shade: f64 = terms(*place).iter().zip(surface).map(|(term, weight)| term * weight).sum();
            *value -= shade as f32;
        }
    }
    flat
}

fn terms([x, y]: [f64; 2]) -> [f64; SURFACE] {
    [1.0, x, y, x * x, x * y, y * y]
}

fn surface(values: &[f32], places: &[[f64; 2]], at: &[usize]) -> Option<[f64; SURFACE]> {
    let mut weights = vec![1.0; at.len()];
    let mut found = None;
    for _ in 0..SURFACE_ROUNDS {
        let mut matrix = [0.0; SURFACE * SURFACE];
        let mut right = [0.0; SURFACE];
        for (index, weight) in at.iter().zip(&weights) {
            let terms = terms(places[*index]);
            for i in 0..SURFACE {
                right[i] += weight * terms[i] * f64::from(values[*index]);
                for j in 0..=i {
                    matrix[i * SURFACE + j] += weight * terms[i] * terms[j];
                }
            }
        }
        if !solve_spd(&mut matrix, &mut right) {
            return found;
        }
        found = Some(right);
        let off = |index: &usize| {
            let shade: f64 =
                terms(places[*index]).iter().zip(right).map(|(term, weight)| term * weight).sum();
            f64::from(values[*index]) - shade
        };
        let off: Vec<f64> = at.iter().map(off).collect();
        let spread = FAR_SD * SD_OF_MEDIAN * median(off.iter().map(|off| off.abs()));
        weights =
            off.iter().map(|off| (1.0 - (off / spread.max(f64::MIN_POSITIVE)).powi(2)).max(0.0)).collect();
    }
    found
}

/// Fisher's linear discriminant between two classes of squares; `None` where one has too few, or both are alike.
pub(crate) fn split(features: &[Vec<f32>; FEATURES], hair: &[usize], skin: &[usize]) -> Option<Split> {
    if hair.len() < LEAST_SQUARES || skin.len() < LEAST_SQUARES {
        return None;
    }
    let [of_hair, of_skin] = [hair, skin].map(|class| Class::of(features, class));
    let mut matrix = [0.0; FEATURES * FEATURES];
    for (k, value) in matrix.iter_mut().enumerate() {
        *value = 0.5 * (of_hair.covariance[k] + of_skin.covariance[k]);
        if k % (FEATURES + 1) == 0 {
            *value += LEAST_VARIANCE;
        }
    }
    let differ: [f64; FEATURES] = std::array::from_fn(|k| of_hair.mean[k] - of_skin.mean[k]);
    let mut weights = differ;
    if !solve_spd(&mut matrix, &mut weights) {
        return None;
    }
    let score = |at: usize| -> f32 {
        features.iter().zip(weights).map(|(values, weight)| values[at] * weight as f32).sum()
    };
    let scores: Vec<f32> = (0..features[0].len()).map(score).collect();
    let middle = |class: &[usize]| median(class.iter().map(|at| f64::from(scores[*at])));
    let (none, all) = (middle(skin), middle(hair));
    if !(all - none > 0.0 && all.is_finite()) {
        return None;
    }
    let apart: f64 = differ.iter().zip(weights).map(|(differ, weight)| differ * weight).sum();
    let share = |score: f32| ((f64::from(score) - none) / (all - none)) as f32;
    Some(Split { hair: scores.into_iter().map(share).collect(), apart: apart.max(0.0).sqrt() })
}

struct Class {
    mean: [f64; FEATURES],
    covariance: [f64; FEATURES * FEATURES],
}

impl Class {
    fn of(features: &[Vec<f32>; FEATURES], class: &[usize]) -> Class {
        let count = class.len() as f64;
        let value = |k: usize, at: usize| f64::from(features[k][at]);
        let mean: [f64; FEATURES] =
            std::array::from_fn(|k| class.iter().map(|at| value(k, *at)).sum::<f64>() / count);
        let mut covariance = [0.0; FEATURES * FEATURES];
        for at in class {
            let off: [f64; FEATURES] = std::array::from_fn(|k| value(k, *at) - mean[k]);
            for (k, sum) in covariance.iter_mut().enumerate() {
                *sum += off[k / FEATURES] * off[k % FEATURES] / (count - 1.0);
            }
        }
        Class { mean, covariance }
    }
}

/// The middle value; 0 of none.
pub(crate) fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.collect();
    let half = values.len() / 2;
    if values.is_empty() {
        return 0.0;
    }
    *values.select_nth_unstable_by(half, f64::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two features that differ by 3 and vary by 1, one that is shaded across the patch, and one that says nothing.
    #[test]
    fn classes_are_told_apart_under_a_shade() {
        let count = 4000;
        let noise =
            |k: usize, seed: usize| (((k * 7919 + seed * 104_729) % 1000) as f32 / 1000.0 - 0.5) * 3.46;
        let is_hair = |k: usize| k.is_multiple_of(5);
        let places: Vec<[f64; 2]> =
            (0..count).map(|k| [(k % 80) as f64 / 40.0 - 1.0, (k / 80) as f64 / 25.0 - 1.0]).collect();
        let one = |seed: usize, step: f32, shade: f32| -> Vec<f32> {
            let value = |k: usize| {
                let [x, y] = places[k].map(|value| value as f32);
                noise(k, seed) + if is_hair(k) { step } else { 0.0 } + shade * (x * x + 2.0 * y - x * y)
            };
            (0..count).map(value).collect()
        };
        let features = [one(1, -3.0, 20.0), one(2, 3.0, 0.0), one(3, 0.0, 0.0), one(4, 0.0, 0.0)];
        let (hair, skin): (Vec<usize>, Vec<usize>) = (0..count).partition(|k| is_hair(*k));
        let flat = without_shading(&features, &places, &skin);
        let split = split(&flat, &hair, &skin).unwrap();
        // √(3² + 3²) where each varies by 1.
        assert!((split.apart - 18.0_f64.sqrt()).abs() < 0.2, "{}", split.apart);
        let wrong = (0..count).filter(|k| (split.hair[*k] > 0.5) != is_hair(*k)).count();
        assert!(wrong < count / 50, "{wrong}");
        assert!(super::split(&flat, &hair[..50], &skin).is_none());
        let same = [vec![1.0; count], vec![1.0; count], vec![1.0; count], vec![1.0; count]];
        assert!(super::split(&same, &hair, &skin).is_none());
        let broken = same.map(|_| vec![f32::NAN; count]);
        assert!(super::split(&without_shading(&broken, &places, &skin), &hair, &skin).is_none());
    }
}
