//! What is exactly known of the drawn face, for the tests.

use std::fmt::Write;

use super::curve::{P, area, distance};
use super::measures::{
    ORIGIN_PX, PX_PER_MM, ROLL_DEG, RULER_MM, SIZE_PX, Side, brow_edges, landmarks, natural_brow,
};
use super::person::Person;
use super::plan::FALLS_MM;

/// Height at the front of the least-squares line through an edge between two shares of the brow's length.
fn level_at_front(front: f64, length: f64, shares: (f64, f64), edge: impl Fn(f64) -> Option<f64>) -> f64 {
    const STEPS: usize = 200;
    let points: Vec<P> = (0..=STEPS)
        .filter_map(|i| {
            let ahead = length * (shares.0 + (shares.1 - shares.0) * i as f64 / STEPS as f64);
            edge(front + ahead).map(|height| (ahead, height))
        })
        .collect();
    let n = points.len() as f64;
    let (mean_x, mean_y) = points.iter().fold((0.0, 0.0), |sum, p| (sum.0 + p.0 / n, sum.1 + p.1 / n));
    let (sxy, sxx) = points.iter().fold((0.0, 0.0), |sum, p| {
        let dx = p.0 - mean_x;
        (sum.0 + dx * (p.1 - mean_y), sum.1 + dx * dx)
    });
    mean_y - sxy / sxx * mean_x
}

/// The measures of one natural brow, by the ids of reports: mm, degrees, mm².
pub fn brow_measures(person: Person, side: Side) -> Vec<(&'static str, f64)> {
    let ring = natural_brow(person, side);
    let extreme = |key: fn(&P) -> f64| {
        ring.iter().copied().max_by(|a, b| key(a).total_cmp(&key(b))).unwrap_or_default()
    };
    let front = extreme(|p| -p.0);
    let arch = extreme(|p| p.1);
    let tail = extreme(|p| p.0);
    // A rounded corner does not count: bottom and top of the bulb are where straight lines through the first part of
    // underside (4 to 18 % of the length) and upper edge (10 to 25 %) meet the front's upright: the definition of
    // the caliper points of a contour.
    let length = tail.0 - front.0;
    let bulb_bottom =
        level_at_front(front.0, length, (0.04, 0.18), |out| brow_edges(person, side, out).map(|e| e.0));
    let bulb_top =
        level_at_front(front.0, length, (0.10, 0.25), |out| brow_edges(person, side, out).map(|e| e.1));
    let (arch_under, _) = brow_edges(person, side, arch.0).unwrap_or_default();
    let bulb = (front.0, bulb_top);
    vec![
        ("front_distance", front.0),
        ("bulb_bottom", bulb_bottom),
        ("bulb_top", bulb_top),
        ("bulb_thickness", bulb_top - bulb_bottom),
        ("arch_distance", arch.0),
        ("arch_top", arch.1),
        ("arch_thickness", arch.1 - arch_under),
        ("tail_out", tail.0),
        ("tail_up", tail.1),
        ("tail_angle", (arch.1 - tail.1).atan2(tail.0 - arch.0).to_degrees()),
        ("brow_length", tail.0 - front.0),
        ("front_to_arch", distance(bulb, arch)),
        ("front_to_tail", distance(bulb, tail)),
        ("area", area(&ring)),
    ]
}

/// The truth as JSON.
pub fn json() -> String {
    let mut out = String::from("{\n");
    let _ = write!(
        out,
        "  \"size_px\": {SIZE_PX},\n  \"px_per_mm\": {PX_PER_MM},\n  \"roll_deg\": {ROLL_DEG},\n  \
         \"origin_px\": [{}, {}],\n  \"ruler_mm\": {RULER_MM},\n  \"landmarks_face_mm\": {{\n",
        ORIGIN_PX.0, ORIGIN_PX.1
    );
    let rows: Vec<String> =
        landmarks().iter().map(|(id, p)| format!("    \"{id}\": [{:.3}, {:.3}]", p.0, p.1)).collect();
    let _ = write!(out, "{}\n  }},\n  \"natural\": {{\n", rows.join(",\n"));
    let sides: Vec<String> = Side::BOTH
        .iter()
        .map(|&side| {
            let rows: Vec<String> = brow_measures(Person::Marisol, side)
                .iter()
                .map(|(id, value)| format!("      \"{id}\": {value:.3}"))
                .collect();
            format!("    \"{}\": {{\n{}\n    }}", side.name(), rows.join(",\n"))
        })
        .collect();
    let falls: Vec<String> = Side::BOTH
        .iter()
        .map(|&side| format!("    \"{}\": {:?}", side.name(), FALLS_MM[side as usize]))
        .collect();
    let _ = write!(
        out,
        "{}\n  }},\n  \"couch_falls_mm\": {{\n{}\n  }}\n}}\n",
        sides.join(",\n"),
        falls.join(",\n")
    );
    out
}
