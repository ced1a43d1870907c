//! A paper ruler stuck to the forehead in the plane of the brows.

use super::curve::P;
use super::measures::{RULER_MIDDLE, RULER_MM, RULER_TURN_DEG};
use super::svg::{Svg, num};

/// Paints the ruler: 1 mm ticks, longer at 5 and 10, an arrowhead at each end mark.
pub fn paint(svg: &mut Svg) {
    let (half, high) = (RULER_MM / 2.0 + 4.0, 3.6);
    let strip = |dx: f64, dy: f64| -> String {
        format!(
            "M{} {}h{w}a1 1 0 0 0 1-1v-{v}a1 1 0 0 0-1-1h-{w}a1 1 0 0 0-1 1v{v}a1 1 0 0 0 1 1Z",
            num(dx - half + 1.0),
            num(dy + high),
            w = num(2.0 * half - 2.0),
            v = num(2.0 * high - 2.0)
        )
    };
    svg.open(&format!(
        "transform=\"translate({} {}) rotate({})\"",
        num(RULER_MIDDLE.0),
        num(RULER_MIDDLE.1),
        num(RULER_TURN_DEG)
    ));
    svg.soft(&strip(0.3, -0.6), "#7d4530", 2.2, 0.3);
    let paper = svg.linear((-half, high), (half, -high), &[(0.0, "#ffffff", 1.0), (1.0, "#ece8df", 1.0)]);
    svg.fill(&strip(0.0, 0.0), &paper, 1.0);
    let mut ticks = [String::new(), String::new(), String::new()];
    for mm in 0..=RULER_MM as i32 {
        let (class, length) = match mm {
            m if m % 10 == 0 => (2, 4.2),
            m if m % 5 == 0 => (1, 3.0),
            _ => (0, 2.0),
        };
        ticks[class].push_str(&format!(
            "M{} {}v-{}",
            num(f64::from(mm) - RULER_MM / 2.0),
            num(high),
            num(length)
        ));
    }
    for (ticks, width) in ticks.iter().zip([0.13, 0.17, 0.24]) {
        svg.stroke(ticks, "#2b2b2b", width, 1.0);
    }
    for sign in [-1.0, 1.0] {
        let x = sign * RULER_MM / 2.0;
        let tip: P = (x, high - 4.6);
        svg.fill(&format!("M{} {}l-1.1-1.7h2.2Z", num(tip.0), num(tip.1)), "#b3392f", 1.0);
    }
    svg.close();
}
