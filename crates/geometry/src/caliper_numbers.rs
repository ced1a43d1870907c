//! The natural brow from numbers taken with calipers.

use crate::Contour;

/// Caliper numbers of one brow: mm, distances outward from the centre line, heights above the inner eye corners.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CaliperNumbers {
    /// Centre line to the front.
    pub front_out: f64,
    /// Height of the bottom of the bulb.
    pub bulb_bottom: f64,
    /// Height of the top of the bulb.
    pub bulb_top: f64,
    /// Centre line to the arch.
    pub arch_out: f64,
    /// Height of the top of the arch.
    pub arch_top: f64,
    /// Thickness at the arch.
    pub arch_thickness: f64,
    /// Centre line to the end point.
    pub tail_out: f64,
    /// Height of the end point.
    pub tail_up: f64,
    /// Thickness just before the end.
    pub tail_thickness: f64,
}

/// Why caliper numbers make no brow. Fields go by their names in [`CaliperNumbers`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CaliperError {
    /// Not a number, or out of any brow's range.
    OutOfRange {
        /// Which number.
        field: &'static str,
        /// Least value, mm.
        low: f64,
        /// Greatest value, mm.
        high: f64,
    },
    /// Two numbers contradict each other: `field` must exceed `other` by at least `margin`.
    Contradiction {
        /// The number that is too small.
        field: &'static str,
        /// The number that it must exceed.
        other: &'static str,
        /// By how much, mm.
        margin: f64,
    },
    /// Each number is possible, but no brow outline has them all.
    NoSuchOutline,
}

/// The edge of a brow with these numbers.
///
/// # Errors
/// Names the number that is out of range or the two that contradict each other.
pub fn contour_from_calipers(numbers: &CaliperNumbers) -> Result<Contour, CaliperError> {
    let _ = numbers;
    Err(CaliperError::NoSuchOutline)
}
