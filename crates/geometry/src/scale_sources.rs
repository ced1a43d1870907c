//! Which scale sources the placed landmarks and typed lengths make complete.

use glam::DVec2;

use crate::face_frame::{FrameError, FrameInput};
use crate::landmark::Landmark;
use crate::placed_landmarks::{Upright, as_f64};
use crate::scale::{CaliperScale, IRIS_WIDTH_MM, IRIS_WIDTH_SD_MM, RULER_SD_MM, RawScale, ScaleKind};
use crate::side::Side;

/// Every scale source that is complete.
pub(crate) fn scale_sources(
    input: &FrameInput,
    upright: &Upright,
    ex: DVec2,
) -> Result<Vec<RawScale>, FrameError> {
    // The error of placing a point, relative to the true length between two such points.
    let picking = |mm: f64| 2.0 * (input.errors.landmark_mm / mm).powi(2);
    let length = |from, to, mm: f64, sd_mm: f64, kind| -> Result<Option<RawScale>, FrameError> {
        if !(mm.is_finite() && mm > 0.0) {
            return Err(FrameError::BadScale { kind });
        }
        let (Some(a), Some(b)) = (upright.get(from), upright.get(to)) else { return Ok(None) };
        let px = a.distance(b);
        if px <= 0.0 {
            return Err(FrameError::BadScale { kind });
        }
        let own_var = (sd_mm / mm).powi(2);
        Ok(Some(RawScale { kind, ln: (px / mm).ln(), picking_var: picking(mm), own_var }))
    };
    let mut sources = Vec::new();
    if let Some(mm) = input.ruler_mm {
        sources.extend(length(Landmark::RulerStart, Landmark::RulerEnd, mm, RULER_SD_MM, ScaleKind::Ruler)?);
    }
    for &CaliperScale { from, to, mm } in &input.calipers {
        sources.extend(length(from, to, mm, input.errors.caliper_mm, ScaleKind::Caliper { from, to })?);
    }
    if input.use_iris {
        let widths = iris_widths(upright, ex);
        if !widths.is_empty() {
            let count = as_f64(widths.len());
            let mean = widths.iter().map(|(_, px)| px).sum::<f64>() / count;
            sources.push(RawScale {
                kind: ScaleKind::Iris,
                ln: (mean / IRIS_WIDTH_MM).ln(),
                picking_var: picking(IRIS_WIDTH_MM) / count,
                // Both irises of one person are alike (Rüfer 2005: no difference of sides), so two do not help.
                own_var: (IRIS_WIDTH_SD_MM / IRIS_WIDTH_MM).powi(2),
            });
        }
    }
    Ok(sources)
}

/// Horizontal extent of each iris with both rim points, px, along the frame's x.
pub(crate) fn iris_widths(upright: &Upright, ex: DVec2) -> Vec<(Side, f64)> {
    let width = |side: Side| {
        let (near, far) = (upright.get(Landmark::IrisInner(side))?, upright.get(Landmark::IrisOuter(side))?);
        Some((side, side.sign() * ex.dot(far - near)))
    };
    Side::BOTH.into_iter().filter_map(width).filter(|(_, px)| *px > 0.0).collect()
}
