//! The nose: mostly light and shade, few lines.

use super::curve::P;
use super::curve::through;
use super::measures::{NOSTRIL, Side};
use super::skin::{DEEP, LIGHT, SHADE};
use super::svg::{Svg, smooth, swelling};

/// Paints the nose.
pub fn paint(svg: &mut Svg) {
    for side in Side::BOTH {
        let far = side == Side::Left;
        let at = |x, y| side.face((x, y));
        let turn = |deg: f64| side.face((deg, 0.0)).0;
        // Its side, from the brow's front down to the wing.
        let flank: Vec<P> = vec![(12.5, 14.0), (9.8, 6.0), (8.6, -4.0), (9.2, -15.0), (11.2, -26.0)];
        svg.soft(&smooth(&side.line(&flank), false), SHADE, 11.0, if far { 0.3 } else { 0.13 });
        svg.glow(at(11.5, -16.0), 6.0, 17.0, turn(6.0), SHADE, if far { 0.34 } else { 0.16 });
        // Wing.
        svg.glow(at(13.2, -33.5), 5.2, 6.0, 0.0, LIGHT, if far { 0.24 } else { 0.5 });
        svg.glow(at(18.4, -35.5), 4.4, 6.4, turn(16.0), SHADE, if far { 0.62 } else { 0.42 });
        let crease: Vec<P> = vec![(14.2, -27.2), (16.3, -30.4), NOSTRIL, (15.9, -38.8), (13.3, -41.0)];
        svg.soft(&smooth(&side.line(&crease), false), DEEP, 2.8, if far { 0.34 } else { 0.27 });
        let line = through(
            &side.line(&[(15.6, -29.6), (16.7, -32.0), NOSTRIL, (16.1, -38.4), (14.0, -40.6)]),
            false,
            5,
        );
        svg.fill(
            &swelling(&line, |t| 0.06 + 0.4 * (t * std::f64::consts::PI).sin().max(0.0)),
            "#7a4530",
            0.5,
        );
        // Nostril.
        let hole: Vec<P> = vec![
            (3.6, -41.6),
            (5.6, -39.9),
            (8.6, -39.2),
            (11.3, -40.1),
            (11.9, -41.4),
            (9.4, -41.7),
            (6.6, -42.3),
            (4.4, -42.6),
        ];
        svg.soft(&smooth(&side.line(&[(4.6, -41.5), (8.0, -40.4), (11.4, -41.0)]), false), DEEP, 4.0, 0.42);
        svg.fill(&smooth(&side.line(&hole), true), "#431f16", 0.86);
    }
    // Ridge and tip.
    svg.glow((-1.4, -8.0), 5.0, 26.0, -1.5, LIGHT, 0.68);
    svg.glow((-1.0, 10.0), 8.0, 9.0, 0.0, LIGHT, 0.35);
    svg.glow((-1.2, -32.0), 8.0, 7.0, 0.0, LIGHT, 0.55);
    svg.glow((-2.0, -31.0), 3.4, 2.8, 0.0, "#fff1e2", 0.55);
    svg.soft(
        &smooth(
            &[(-9.0, -31.0), (-7.0, -36.5), (-2.5, -40.0), (2.5, -40.0), (7.0, -36.5), (9.0, -31.0)],
            false,
        ),
        SHADE,
        5.0,
        0.26,
    );
    // Below the tip, and the furrow down to the lip.
    svg.glow((0.5, -43.0), 15.0, 4.6, 0.0, "#935437", 0.5);
    svg.soft(&smooth(&[(-3.6, -41.4), (0.0, -42.9), (3.6, -41.4)], false), DEEP, 1.8, 0.34);
    svg.soft(&smooth(&[(3.6, -45.0), (4.1, -50.0), (4.4, -53.4)], false), SHADE, 3.2, 0.26);
    svg.glow((-0.6, -49.0), 2.6, 5.0, 0.0, SHADE, 0.3);
    svg.glow((-4.2, -49.5), 2.0, 5.0, -4.0, LIGHT, 0.4);
}
