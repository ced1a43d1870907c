//! A head turned or nodded between two photos, told from how points at different depths moved against each other.

use kurbo::{Point, Vec2};

use crate::cholesky::{solve_factored, solve_spd};
use crate::landmark::Landmark;
use crate::uncertainty::Estimate;

/// How the head was turned against the baseline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TurnedHead {
    /// Turned about the upright, degrees; positive where the nose points more to the client's left.
    pub yaw_deg: Estimate,
    /// Nodded, degrees; positive where the nose points further up.
    pub pitch_deg: Estimate,
}

/// Shift (2), turn, scale, yaw, pitch.
const UNKNOWNS: usize = 6;

/// How far a point lies before the inner eye corners, mm (facial proportions, from memory): the bridge and the nose
/// wings stand forward, the outer corners lie back.
const fn depth_mm(landmark: Landmark) -> f64 {
    match landmark {
        Landmark::OuterCorner(_) => -8.0,
        Landmark::BridgeUpper => 8.0,
        Landmark::BridgeLower => 16.0,
        Landmark::Nostril(_) => 10.0,
        _ => 0.0,
    }
}

/// Yaw and pitch by least squares beside what a similarity could still take up. `None` where the points are too few or
/// lie so that they cannot tell.
pub(crate) fn turned_head(
    places: &[(Landmark, Point)],
    residuals: &[(Landmark, Vec2)],
    point_var: f64,
) -> Option<TurnedHead> {
    // Two numbers for each point, and one to spare.
    if 2 * places.len() <= UNKNOWNS {
        return None;
    }
    let mut normal = [0.0; UNKNOWNS * UNKNOWNS];
    let mut sums = [0.0; UNKNOWNS];
    for ((landmark, at), (_, residual)) in places.iter().zip(residuals) {
        let depth = depth_mm(*landmark);
        let rows = [
            ([1.0, 0.0, -at.y, at.x, depth, 0.0], residual.x),
            ([0.0, 1.0, at.x, at.y, 0.0, depth], residual.y),
        ];
        for (row, value) in rows {
            for (i, a) in row.iter().enumerate() {
                sums[i] += a * value;
                for (j, b) in row.iter().enumerate() {
                    normal[i * UNKNOWNS + j] += a * b;
                }
            }
        }
    }
    if !solve_spd(&mut normal, &mut sums) {
        return None;
    }
    let estimate = |index: usize| {
        let mut unit = [0.0; UNKNOWNS];
        unit[index] = 1.0;
        solve_factored(&normal, &mut unit);
        Estimate {
            value: sums[index].to_degrees(),
            sd: (unit[index] * point_var).max(0.0).sqrt().to_degrees(),
        }
    };
    let found = TurnedHead { yaw_deg: estimate(4), pitch_deg: estimate(5) };
    (found.yaw_deg.sd.is_finite() && found.pitch_deg.sd.is_finite()).then_some(found)
}
