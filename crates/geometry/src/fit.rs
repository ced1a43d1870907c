//! Fitting an outline to a natural brow.

mod least_squares;
pub(crate) mod nearest;
mod start;

use std::fmt;

use kurbo::{ParamCurve, Point};

use self::least_squares::{BROW_SAMPLES, MAX_STEPS, Target, improve};
use self::nearest::Edges;
use crate::contour::{edges, sample_closed};
use crate::nearest::EdgeIndex;
use crate::{Contour, Outline, OutlineError, OutlineParams, Param};

/// Points per curve of an outline where distances to it are measured: a tenth of a millimetre or finer.
const DENSE_PER_CURVE: usize = 64;
/// Samples of either edge for the distances reported: one per 0.1 mm of a usual brow.
const DENSE_SAMPLES: usize = 1000;

/// Steps after which the better start is known: the first few settle the places of arch and tail.
const FIRST_STEPS: usize = 8;

/// A fitted outline and how closely it follows the brow.
#[derive(Clone, Debug, PartialEq)]
pub struct OutlineFit {
    /// The outline; always valid.
    pub outline: Outline,
    /// Mean distance of the two edges, mm: the average of both directed mean distances.
    pub mean_mm: f64,
    /// Hausdorff distance of the two edges, mm.
    pub hausdorff_mm: f64,
}

/// Why no outline was fitted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FitError {
    /// No valid outline comes near this brow; the error is that of the numbers read off the brow.
    NoOutline(OutlineError),
}

impl fmt::Display for FitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FitError::NoOutline(error) => write!(f, "no outline fits: {error}"),
        }
    }
}

impl std::error::Error for FitError {}

/// Fits an outline to a brow: all 17 parameters, least squares on the distances of both edges to each other.
///
/// The same brow always gives the same outline, and the work is bounded whatever the brow looks like.
///
/// # Errors
/// Where the numbers read off the brow make no valid outline to start from: a brow out of every range.
pub fn fit_outline(contour: &Contour) -> Result<OutlineFit, FitError> {
    let samples = sample_closed(contour.points(), BROW_SAMPLES);
    let target = Target::new(Edges::new(contour.points().to_vec()), samples);
    let starts = start::starts(contour);
    let best = starts
        .iter()
        .filter_map(|start| {
            improve(&target, start, FIRST_STEPS).or_else(|| improve(&target, &tamed(start), FIRST_STEPS))
        })
        .min_by(|a, b| a.cost.total_cmp(&b.cost))
        .and_then(|begun| improve(&target, &begun.params, MAX_STEPS));
    let params = best.map_or(starts[0], |fitted| fitted.params);
    let outline = Outline::try_new(&params).map_err(FitError::NoOutline)?;
    let (mean_mm, hausdorff_mm) = distances(&outline, contour);
    Ok(OutlineFit { outline, mean_mm, hausdorff_mm })
}

/// The start with everything but the places put to harmless values, for brows whose first reading is no outline.
fn tamed(start: &OutlineParams) -> OutlineParams {
    start.with(Param::LowDip, 0.0).with(Param::Under, 0.0).with(Param::Slant, 0.0).with(Param::TipT, 1.0)
}

/// Mean (average of both directions) and Hausdorff distance of an outline's curves and a polygon; mm.
pub(crate) fn distances(outline: &Outline, contour: &Contour) -> (f64, f64) {
    let mut curve = Vec::new();
    for segment in outline.path().segments() {
        curve.extend((0..DENSE_PER_CURVE).map(|i| segment.eval(i as f64 / DENSE_PER_CURVE as f64)));
    }
    curve.dedup();
    let there = directed(&curve, contour.points());
    let back = directed(contour.points(), &curve);
    (0.5 * (there.0 + back.0), there.1.max(back.1))
}

/// Mean and greatest distance of the points of one polygon's edge from another's.
fn directed(from: &[Point], to: &[Point]) -> (f64, f64) {
    let index = EdgeIndex::of(edges(to));
    let walked = |points: &[Point]| -> Vec<f64> {
        let mut walk = index.walk();
        points.iter().map(|&p| walk.next(p).distance_sq.sqrt()).collect()
    };
    let along = walked(&sample_closed(from, DENSE_SAMPLES));
    // A polygon is farthest at a corner more often than not.
    let most = along.iter().chain(&walked(from)).fold(0.0f64, |most, &d| most.max(d));
    let sum: f64 = along.iter().sum();
    (sum / DENSE_SAMPLES as f64, most)
}

#[cfg(test)]
mod tests;
