//! The headline of a pair and how far it can be trusted.

use counterpoise_geometry::{
    Band, CI95_SD, Contour, FaceFrame, FrameErrorTerm, PerSide, depth_behind_centre_line,
    unevenness_and_moved,
};

use crate::Symmetry;

/// The hair edge wanders over about this length before it is independent of where it was, mm: the smoothing length
/// of a dense hair edge in this project's model study on the Face Research Lab London Set is 0.9 mm; hair tufts and a
/// hand's tremor are longer. Judgement: a longer one makes the headline less certain.
const EDGE_LENGTH_MM: f64 = 8.0;
/// Mean size of a normal error relative to its SD: √(2/π).
const MEAN_ABSOLUTE_NORMAL: f64 = 0.797_884_560_802_865_4;

/// All figures of a pair. `edge_sd_mm` is 1 SD of each edge, 0 for planned outlines.
///
/// The headline's own error is first order: the roll by the ±1° band; sideways errors of centre line and head turn
/// by moving one brow; the scale in proportion; the edges as independent stretches. Roll and sideways errors act
/// through sizes, so the larger of the two directions is taken where the headline is near its least.
pub fn symmetry(pair: PerSide<&Contour>, edge_sd_mm: PerSide<f64>, frame: &FaceFrame) -> Symmetry {
    // A centre line moved by one SD lets one brow reach further out and the other less far: twice that between them.
    let middle = 0.5 * (pair.right.bounds().center().x + pair.left.bounds().center().x);
    let sideways = 2.0
        * frame
            .sd(FrameErrorTerm::OriginX)
            .hypot(depth_behind_centre_line(middle) * frame.sd(FrameErrorTerm::Yaw));
    let (found, moved) = unevenness_and_moved(pair.right, pair.left, sideways);
    let headline = found.mean_distance_mm;
    let per_degree = found.roll_band_mm.iter().map(|at| (at - headline).abs()).fold(0.0, f64::max);
    let by_roll = per_degree * frame.sd(FrameErrorTerm::Roll).to_degrees();
    let by_sideways = (moved - headline).abs();
    let by_scale = headline * frame.sd(FrameErrorTerm::LnScale);

    let edge = edge_sd_mm.right.hypot(edge_sd_mm.left);
    let stretches = (0.5 * (pair.right.perimeter() + pair.left.perimeter()) / EDGE_LENGTH_MM).max(1.0);
    let by_edge = edge / stretches.sqrt();

    let sd = by_roll.hypot(by_sideways).hypot(by_scale).hypot(by_edge);
    let ci95_mm = CI95_SD * sd;
    // Two equal brows drawn with such edges would still show this much.
    let floor = MEAN_ABSOLUTE_NORMAL * edge;
    Symmetry {
        mean_distance_mm: headline,
        ci95_mm,
        roll_band_mm: [
            found.roll_band_mm.iter().copied().fold(headline, f64::min),
            found.roll_band_mm.iter().copied().fold(headline, f64::max),
        ],
        hausdorff_mm: found.hausdorff_mm,
        one_minus_iou: found.one_minus_iou,
        band: Band::of_mm(headline).id(),
        within_error: headline <= floor + ci95_mm,
    }
}

/// How far the headlines of a plan, `(natural, planned)`, can be trusted, mm: the larger of their 95 % half widths. A
/// pair evened beyond this chases noise. Both tell of the same face and photo; how much a roll or a shift shows depends
/// on how the pair lies, so the larger one is the careful answer. `None` where there is no pair, or nothing known of the
/// errors.
pub fn measuring_error(pairs: (Option<&Symmetry>, Option<&Symmetry>)) -> Option<f64> {
    let known = [pairs.0, pairs.1].into_iter().flatten().map(|found| found.ci95_mm);
    known.reduce(f64::max).filter(|ci95| *ci95 > 0.0)
}
