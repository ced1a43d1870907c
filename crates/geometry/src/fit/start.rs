//! Where the fit starts from: the artist's numbers read off the polygon.

use kurbo::Point;

use crate::order::within;
use crate::{Contour, OutlineParams, Param};

/// Where the arch is looked for, as shares of the length from front to tail: past the bulb, before the tail.
const ARCH_BETWEEN: (f64, f64) = (0.3, 0.85);
/// Columns in which the arch is looked for: finer than 2 mm on any brow.
const COLUMNS: usize = 40;
/// How far behind the foremost point the bulb has its thickness, as a share of the length.
const BULB_AT: f64 = 0.06;
/// How far before the end the tail has the thickness of its tip, as a share of the length.
const TIP_AT: f64 = 0.05;

/// Starting parameters with the arch at its highest column, and the same with the arch at a typical place.
pub(crate) fn starts(contour: &Contour) -> [OutlineParams; 2] {
    let bounds = contour.bounds();
    let length = bounds.width();
    let column = |share: f64| span_at(contour, bounds.x0 + share * length);
    let arch_share = (0..=COLUMNS)
        .map(|k| ARCH_BETWEEN.0 + (ARCH_BETWEEN.1 - ARCH_BETWEEN.0) * k as f64 / COLUMNS as f64)
        .max_by(|&a, &b| column(a).1.total_cmp(&column(b).1))
        .unwrap_or(TYPICAL_ARCH);
    [arch_share, TYPICAL_ARCH].map(|share| with_arch_at(contour, share))
}

/// Share of the length at which the arch of the median natural brow lies.
const TYPICAL_ARCH: f64 = 0.58;

fn with_arch_at(contour: &Contour, share: f64) -> OutlineParams {
    let bounds = contour.bounds();
    let length = bounds.width();
    let column = |share: f64| span_at(contour, bounds.x0 + share * length);
    let (bulb, arch, tip) = (column(BULB_AT), column(share), column(1.0 - TIP_AT));
    let end = contour
        .points()
        .iter()
        .copied()
        .max_by(|a, b| a.x.total_cmp(&b.x))
        .unwrap_or(Point::new(bounds.x1, bounds.center().y));
    let numbers = [
        (Param::FrontX, bounds.x0),
        (Param::BulbY, bulb.0),
        (Param::BulbT, bulb.1 - bulb.0),
        (Param::ArchX, bounds.x0 + share * length),
        (Param::ArchY, arch.1),
        (Param::ArchT, arch.1 - arch.0),
        (Param::TailX, end.x),
        (Param::TailY, end.y),
        (Param::TipT, tip.1 - tip.0),
    ];
    numbers.into_iter().fold(OutlineParams::natural_median(), |params, (param, value)| {
        let (least, greatest) = param.info().range;
        params.with(param, within(value, least, greatest))
    })
}

/// Lowest and highest crossing of the polygon with the upright line at this distance from the centre line.
fn span_at(contour: &Contour, out: f64) -> (f64, f64) {
    let crossings = contour.edges().filter(|(a, b)| (a.x > out) != (b.x > out));
    let (low, high) = crossings.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (a, b)| {
        let up = a.y + (b.y - a.y) * (out - a.x) / (b.x - a.x);
        (low.min(up), high.max(up))
    });
    if low <= high { (low, high) } else { (contour.bounds().center().y, contour.bounds().center().y) }
}
