//! How the points of an outline, and its clearances, move with its numbers.

use kurbo::Vec2;

use super::pieces::{Pieces, assemble, rib};
use super::{OUTLINE_POINTS, POINTS_PER_PIECE, corner_clearances, front_clearances, tail_clearances};
use crate::{OutlineParams, PARAM_COUNT, Param};

/// Step of the difference, in typical changes of the parameter. The curves bend by about a millimetre per squared
/// typical change, so the slopes are within 1e-6 mm; rounding adds 1e-9.
const STEP: f64 = 1e-6;
/// Clearances that can shrink to nothing while a pair is shaped: three in front of the arch, two behind
/// it and one at each soft corner.
pub(crate) const CLEARANCES: usize = 7;
/// A corner's share of clearance counts as so many mm: the whole range of shares then weighs like a brow's thickness.
const CORNER_MM: f64 = 5.0;

/// Slopes of an outline by its parameters, in the order of [`Param::ALL`] and in their units.
pub(crate) struct Derivatives {
    /// How each point moves.
    pub points: Vec<[Vec2; OUTLINE_POINTS]>,
    /// How each clearance grows.
    pub clearances: [[f64; CLEARANCES]; PARAM_COUNT],
}

/// What is left between the edges, mm: where one of these is 0 the outline is refused.
pub(crate) fn clearances(pieces: &Pieces) -> [f64; CLEARANCES] {
    let ([bulb, dip, under, _], [_, behind, late, _]) = (front_clearances(pieces), tail_clearances(pieces));
    // A sharp corner cannot loop.
    let [top, bottom] = if pieces.soft { corner_clearances(pieces) } else { [1.0; 2] };
    [bulb, dip, under, behind, late, CORNER_MM * top, CORNER_MM * bottom]
}

/// Weights of the four control points of a curve at each of its points.
const WEIGHTS: [[f64; 4]; OUTLINE_POINTS] = {
    let mut weights = [[0.0; 4]; OUTLINE_POINTS];
    let (mut piece, mut at) = (0, 0);
    while piece < POINTS_PER_PIECE.len() {
        let mut i = 0;
        while i < POINTS_PER_PIECE[piece] {
            let t = i as f64 / POINTS_PER_PIECE[piece] as f64;
            let u = 1.0 - t;
            weights[at] = [u * u * u, 3.0 * t * u * u, 3.0 * t * t * u, t * t * t];
            at += 1;
            i += 1;
        }
        piece += 1;
    }
    weights
};

/// The slopes at these parameters; `None` where a step has no outline.
pub(crate) fn derivatives(params: &OutlineParams) -> Option<Derivatives> {
    let base_rib = rib(params)?;
    let base = assemble(params, base_rib);
    let (base_curves, base_clear) = (base.curves(), clearances(&base));
    let mut points = Vec::with_capacity(PARAM_COUNT);
    let mut slopes = [[0.0; CLEARANCES]; PARAM_COUNT];
    for (info, slopes) in Param::ALL.iter().zip(&mut slopes) {
        let h = STEP * info.scale;
        let moved = params.with(info.param, params.get(info.param) + h);
        let moved_rib = if acts_on_rib(info.param) { rib(&moved)? } else { base_rib };
        let moved = assemble(&moved, moved_rib);
        for ((slope, ahead), here) in slopes.iter_mut().zip(clearances(&moved)).zip(base_clear) {
            *slope = (ahead - here) / h;
        }
        let mut by_point = [Vec2::ZERO; OUTLINE_POINTS];
        let mut slots = by_point.iter_mut().zip(&WEIGHTS);
        for ((ahead, here), count) in moved.curves().iter().zip(&base_curves).zip(POINTS_PER_PIECE) {
            let by = [ahead.p0 - here.p0, ahead.p1 - here.p1, ahead.p2 - here.p2, ahead.p3 - here.p3];
            let by = by.map(|by| by / h);
            let still = by.iter().all(|by| *by == Vec2::ZERO);
            for (slot, w) in slots.by_ref().take(count) {
                if !still {
                    *slot = w[0] * by[0] + w[1] * by[1] + w[2] * by[2] + w[3] * by[3];
                }
            }
        }
        points.push(by_point);
    }
    Some(Derivatives { points, clearances: slopes })
}

/// True for the parameters that the rib before the tip depends on.
const fn acts_on_rib(param: Param) -> bool {
    matches!(
        param,
        Param::ArchX
            | Param::ArchY
            | Param::ArchT
            | Param::TailX
            | Param::TailY
            | Param::TipT
            | Param::TailTens
            | Param::Full
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::{build, corresponding_points};

    #[test]
    fn slopes_are_those_of_a_wide_central_difference() {
        let params = OutlineParams::natural_median().with(Param::Slant, 8.0).with(Param::Round, 0.6);
        let ours = derivatives(&params).unwrap();
        for (k, info) in Param::ALL.iter().enumerate() {
            let h = 1e-4 * info.scale;
            let at = |by: f64| {
                let pieces = build(&params.with(info.param, params.get(info.param) + by)).unwrap();
                (corresponding_points(&pieces), clearances(&pieces))
            };
            let (ahead, behind) = (at(h), at(-h));
            for i in 0..OUTLINE_POINTS {
                let slope = (ahead.0[i] - behind.0[i]) / (2.0 * h);
                assert!((slope - ours.points[k][i]).hypot() * info.scale < 1e-5, "{} at {i}", info.id);
            }
            for c in 0..CLEARANCES {
                let slope = (ahead.1[c] - behind.1[c]) / (2.0 * h);
                assert!(
                    (slope - ours.clearances[k][c]).abs() * info.scale < 1e-5,
                    "{} clearance {c}",
                    info.id
                );
            }
        }
    }
}
