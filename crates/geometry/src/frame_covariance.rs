//! What misplaced landmarks do to the face frame: its covariance.
//!
//! Each landmark is misplaced by an independent, round, normal error; what that does to roll, origin and scale is linear,
//! so their common covariance is a sum over landmarks.

use crate::SortedMap;
use glam::DVec2;

use crate::face_frame::{FRAME_ERRORS, FrameErrorTerm, FrameInput, RollSource};
use crate::landmark::Landmark;
use crate::placed_landmarks::{EYE_PAIRS, Upright, angle, as_f64, eye_direction};
use crate::scale::{CombinedScale, IRIS_WIDTH_MM, IRIS_WIDTH_SD_MM, RULER_SD_MM, ScaleKind, ScaleSource};
use crate::scale_sources::iris_widths;
use crate::side::Side;

/// Linear effect of moving one landmark (mm, along the frame's x and y) on roll, x, y and ln scale.
type Effects = SortedMap<Landmark, [DVec2; 4]>;

/// A frame before its errors are known.
pub(crate) struct Estimated<'a> {
    pub upright: &'a Upright,
    /// Direction of the frame's x axis on the upright picture.
    pub ex: DVec2,
    /// Where the frame's origin lies, px.
    pub origin: DVec2,
    pub combined: &'a CombinedScale,
    /// What the centre line runs through, px, with the landmarks that make each.
    pub midpoints: &'a [(Vec<Landmark>, DVec2)],
}

/// Covariance of the frame's errors in the order of [`FrameErrorTerm`].
pub(crate) fn covariance(
    input: &FrameInput,
    estimated: &Estimated<'_>,
) -> [[f64; FRAME_ERRORS]; FRAME_ERRORS] {
    let &Estimated { upright, ex, origin, combined, midpoints } = estimated;
    let px_per_mm = combined.ln.exp();
    let face = |at: DVec2| DVec2::new(ex.dot(at - origin), ex.perp().dot(at - origin)) / px_per_mm;
    let mut effects = Effects::new();
    roll_effects(&mut effects, input.roll_from, upright, ex, px_per_mm);
    origin_effects(&mut effects, midpoints, face);
    scale_effects(&mut effects, upright, &combined.sources, ex, px_per_mm);
    total(&effects, combined, input)
}

fn add_effect(effects: &mut Effects, landmark: Landmark, term: FrameErrorTerm, effect: DVec2) {
    if let Some(slot) = effects.or_default(landmark).get_mut(term as usize) {
        *slot += effect;
    }
}

fn roll_effects(effects: &mut Effects, from: RollSource, upright: &Upright, ex: DVec2, px_per_mm: f64) {
    match from {
        RollSource::Eyes => {
            let Some(sum) = eye_direction(upright) else { return };
            // Turning is measured across the eye line itself, which the nudge may have turned off the x axis.
            let across = DVec2::from_angle(angle(sum) - angle(ex)).perp() / (sum.length() / px_per_mm);
            for pair in EYE_PAIRS {
                if upright.pair(pair).is_some() {
                    add_effect(effects, pair.left, FrameErrorTerm::Roll, across);
                    add_effect(effects, pair.right, FrameErrorTerm::Roll, -across);
                }
            }
        }
        RollSource::Bridge => {
            let ends = (upright.get(Landmark::BridgeUpper), upright.get(Landmark::BridgeLower));
            let (Some(upper), Some(lower)) = ends else { return };
            let line = upper - lower;
            let across = DVec2::from_angle(angle(line) - angle(ex)).perp() / (line.length() / px_per_mm);
            add_effect(effects, Landmark::BridgeUpper, FrameErrorTerm::Roll, across);
            add_effect(effects, Landmark::BridgeLower, FrameErrorTerm::Roll, -across);
        }
    }
}

/// Must follow [`roll_effects`]: a turned frame moves the origin as well, since it turns about the mean midpoint.
fn origin_effects(
    effects: &mut Effects,
    midpoints: &[(Vec<Landmark>, DVec2)],
    face: impl Fn(DVec2) -> DVec2,
) {
    let count = as_f64(midpoints.len());
    let mean_y = midpoints.iter().map(|(_, at)| face(*at).y).sum::<f64>() / count;
    let inner = Landmark::InnerCorner(Side::Right);
    let inner_x = midpoints.iter().find(|(by, _)| by.contains(&inner)).map_or(0.0, |(_, at)| face(*at).x);
    for terms in effects.values_mut() {
        let [roll, x, y, _] = terms;
        *x -= mean_y * *roll;
        *y += inner_x * *roll;
    }
    for (by, _) in midpoints {
        for &landmark in by {
            let share = 1.0 / (count * as_f64(by.len()));
            add_effect(effects, landmark, FrameErrorTerm::OriginX, DVec2::new(-share, 0.0));
        }
    }
    for side in Side::BOTH {
        let half = DVec2::new(0.0, -0.5);
        add_effect(effects, Landmark::InnerCorner(side), FrameErrorTerm::OriginY, half);
    }
}

fn scale_effects(
    effects: &mut Effects,
    upright: &Upright,
    sources: &[ScaleSource],
    ex: DVec2,
    px_per_mm: f64,
) {
    let to_frame = |v: DVec2| DVec2::new(ex.dot(v), ex.perp().dot(v));
    let between = |effects: &mut Effects, from: Landmark, to: Landmark, weight: f64| {
        let (Some(a), Some(b)) = (upright.get(from), upright.get(to)) else { return };
        let along = to_frame((b - a).normalize_or_zero()) * (weight * px_per_mm / a.distance(b));
        add_effect(effects, to, FrameErrorTerm::LnScale, along);
        add_effect(effects, from, FrameErrorTerm::LnScale, -along);
    };
    for source in sources {
        match source.kind {
            ScaleKind::Ruler => between(effects, Landmark::RulerStart, Landmark::RulerEnd, source.weight),
            ScaleKind::Caliper { from, to } => between(effects, from, to, source.weight),
            ScaleKind::Iris => {
                let widths = iris_widths(upright, ex);
                let total: f64 = widths.iter().map(|(_, px)| px).sum();
                for (side, _) in widths {
                    let along = DVec2::X * (side.sign() * source.weight * px_per_mm / total);
                    add_effect(effects, Landmark::IrisOuter(side), FrameErrorTerm::LnScale, along);
                    add_effect(effects, Landmark::IrisInner(side), FrameErrorTerm::LnScale, -along);
                }
            }
        }
    }
}

/// Sums the landmarks' effects, adds what the scale sources carry of their own, and the yaw.
fn total(
    effects: &Effects,
    combined: &CombinedScale,
    input: &FrameInput,
) -> [[f64; FRAME_ERRORS]; FRAME_ERRORS] {
    let picking_var = input.errors.landmark_mm.powi(2);
    let mut covariance = [[0.0; FRAME_ERRORS]; FRAME_ERRORS];
    for terms in effects.values() {
        for (row, a) in covariance.iter_mut().zip(terms) {
            for (cell, b) in row.iter_mut().zip(terms) {
                *cell += picking_var * a.dot(*b);
            }
        }
    }
    let own: f64 = combined
        .sources
        .iter()
        .map(|source| {
            let own_var = match source.kind {
                ScaleKind::Ruler => input.ruler_mm.map_or(0.0, |mm| (RULER_SD_MM / mm).powi(2)),
                ScaleKind::Caliper { from, to } => input
                    .calipers
                    .iter()
                    .find(|caliper| caliper.from == from && caliper.to == to)
                    .map_or(0.0, |caliper| (input.errors.caliper_mm / caliper.mm).powi(2)),
                ScaleKind::Iris => (IRIS_WIDTH_SD_MM / IRIS_WIDTH_MM).powi(2),
            };
            source.weight.powi(2) * own_var
        })
        .sum();
    let ln_scale = FrameErrorTerm::LnScale as usize;
    let yaw = FrameErrorTerm::Yaw as usize;
    covariance[ln_scale][ln_scale] += own;
    // Row, then column: the variance itself is inflated twice, its covariances once.
    covariance[ln_scale] = covariance[ln_scale].map(|cell| cell * combined.inflation);
    for row in &mut covariance {
        row[ln_scale] *= combined.inflation;
    }
    covariance[yaw][yaw] = input.errors.yaw_deg.to_radians().powi(2);
    covariance
}
