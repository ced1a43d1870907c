//! Closed lips at rest.

use super::curve::{P, through};
use super::skin::{LIGHT, SHADE};
use super::svg::{Svg, smooth, swelling};

/// Upper edge from her right to her left, face frame.
const TOP: [P; 9] = [
    (-23.6, -61.3),
    (-18.0, -59.0),
    (-11.0, -56.5),
    (-4.6, -54.8),
    (0.0, -56.0),
    (4.6, -54.8),
    (11.0, -56.5),
    (18.0, -59.0),
    (23.6, -61.3),
];
/// Where the lips meet.
const SEAM: [P; 9] = [
    (-23.6, -61.3),
    (-18.5, -62.0),
    (-12.0, -62.4),
    (-5.5, -62.2),
    (0.0, -63.0),
    (5.5, -62.2),
    (12.0, -62.4),
    (18.5, -62.0),
    (23.6, -61.3),
];
/// Lower edge.
const BOTTOM: [P; 9] = [
    (-23.6, -61.3),
    (-19.2, -65.6),
    (-13.2, -69.6),
    (-6.8, -72.1),
    (0.0, -72.8),
    (6.8, -72.1),
    (13.2, -69.6),
    (19.2, -65.6),
    (23.6, -61.3),
];

fn between(a: &[P], b: &[P]) -> String {
    let upper = smooth(a, false);
    let back: Vec<P> = b.iter().rev().copied().collect();
    let lower = smooth(&back, false);
    format!("{upper}L{}Z", &lower[1..])
}

/// Paints the lips.
pub fn paint(svg: &mut Svg) {
    // Surroundings first: corners, the hollow under the lower lip.
    svg.glow((-25.4, -60.9), 4.6, 4.0, 0.0, SHADE, 0.42);
    svg.glow((25.4, -60.9), 5.0, 4.4, 0.0, SHADE, 0.52);
    svg.glow((0.5, -78.4), 15.0, 4.6, 0.0, "#a0603f", 0.52);
    svg.soft(&smooth(&TOP, false), LIGHT, 2.6, 0.3);
    svg.soft(&smooth(&BOTTOM[1..8], false), SHADE, 3.2, 0.3);

    let upper = svg.linear(
        (0.0, -55.0),
        (0.0, -63.0),
        &[(0.0, "#c26b62", 1.0), (0.6, "#a9524d", 1.0), (1.0, "#8a3c3a", 1.0)],
    );
    svg.fill(&between(&TOP, &SEAM), &upper, 0.92);
    let lower = svg.linear(
        (0.0, -62.5),
        (0.0, -73.3),
        &[(0.0, "#b05650", 1.0), (0.4, "#cd7b70", 1.0), (1.0, "#b25c53", 1.0)],
    );
    svg.fill(&between(&SEAM, &BOTTOM), &lower, 0.92);
    let clip = svg.clip(&between(&TOP, &BOTTOM));
    svg.open_clip(&clip);
    svg.glow((-4.0, -67.4), 11.0, 2.9, 0.0, "#f3b7a8", 0.66);
    svg.glow((-5.5, -66.9), 4.2, 1.1, 2.0, "#fff0ea", 0.6);
    svg.glow((6.0, -67.2), 3.2, 0.9, -3.0, "#fbd9cf", 0.5);
    svg.glow((-8.0, -58.5), 6.0, 1.6, 17.0, "#e39d90", 0.5);
    svg.glow((20.0, -64.5), 8.0, 5.0, 0.0, "#7c3634", 0.35);
    svg.glow((-21.0, -64.5), 6.0, 4.0, 0.0, "#7c3634", 0.22);
    svg.soft(&smooth(&SEAM, false), "#6a2a2a", 3.0, 0.5);
    svg.close();
    let seam = through(&SEAM, false, 4);
    svg.fill(&swelling(&seam, |t| 0.18 + 0.62 * (t * std::f64::consts::PI).sin().max(0.0)), "#4a1a1b", 0.9);
}
