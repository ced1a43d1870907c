//! An unsteady hand.

use std::f64::consts::TAU;

use counterpoise_geometry::{Contour, EDGE_COMMON_SHARE, EDGE_CORRELATION_MM};
use kurbo::Point;

use crate::Chance;

/// The contour as a hand draws it: displaced across the edge by a smooth random wave, part of it all around. `edge_mm` is
/// the SD of the displacement.
#[must_use]
pub fn wavering(contour: &Contour, edge_mm: f64, chance: &mut Chance) -> Vec<Point> {
    let points = contour.points();
    let perimeter = contour.perimeter();
    let step = perimeter / points.len() as f64;
    let local = edge_mm * (1.0 - EDGE_COMMON_SHARE).sqrt();
    // Fourier series of a periodic process with the Gaussian correlation of EDGE_CORRELATION_MM.
    let power = |k: usize| {
        let rate = TAU * k as f64 / perimeter;
        (TAU.sqrt() * EDGE_CORRELATION_MM / perimeter) * (-0.5 * (rate * EDGE_CORRELATION_MM).powi(2)).exp()
    };
    let constant = chance.normal(edge_mm * EDGE_COMMON_SHARE.sqrt()) + chance.normal(local * power(0).sqrt());
    let waves: Vec<_> = (1..40)
        .map(|k| (k as f64, (local * (2.0 * power(k)).sqrt()), chance.normal(1.0), chance.normal(1.0)))
        .collect();
    let count = points.len();
    (0..count)
        .map(|i| {
            let along = points[(i + 1) % count] - points[(i + count - 1) % count];
            let outward = -along.normalize().turn_90();
            let phase = TAU * (i as f64 * step) / perimeter;
            let wave =
                waves.iter().map(|(k, size, c, s)| size * (c * (k * phase).cos() + s * (k * phase).sin()));
            points[i] + outward * (constant + wave.sum::<f64>())
        })
        .collect()
}
