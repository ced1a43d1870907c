//! Open eyes that look at you.

use super::curve::{P, along, at_angle, through};
use super::measures::{INNER_CORNER, IRIS_R, OUTER_CORNER, PUPIL, Side};
use super::random::Random;
use super::skin::{DEEP, LIGHT, SHADE};
use super::svg::{Svg, hair, smooth, swelling};

/// Upper lid margin from inner to outer corner, `(out, up)`.
const UPPER: [P; 9] = [
    INNER_CORNER,
    (17.6, 0.8),
    (20.0, 2.35),
    (23.5, 4.0),
    (27.5, 4.95),
    (32.0, 5.15),
    (37.0, 4.6),
    (41.6, 3.3),
    OUTER_CORNER,
];
/// Lower lid margin from outer to inner corner.
const LOWER: [P; 8] = [
    OUTER_CORNER,
    (42.6, -0.7),
    (39.0, -2.9),
    (34.5, -4.55),
    (29.5, -4.75),
    (24.5, -3.6),
    (20.0, -1.7),
    (17.6, -0.8),
];

/// Paints both eyes with their surroundings.
pub fn paint(svg: &mut Svg) {
    for side in Side::BOTH {
        socket(svg, side);
        ball(svg, side);
        lids(svg, side);
    }
}

fn socket(svg: &mut Svg, side: Side) {
    let at = |x, y| side.face((x, y));
    let turn = |deg: f64| side.face((deg, 0.0)).0;
    let far = if side == Side::Left { 1.25 } else { 1.0 };
    // Hollow below the brow's front, shade of the lid, light on the brow bone.
    svg.glow(at(17.0, 8.0), 10.0, 11.0, turn(-18.0), SHADE, 0.5 * far);
    svg.glow(at(31.0, 8.3), 20.0, 7.0, turn(2.0), "#a4603f", 0.5);
    svg.glow(at(43.0, 6.5), 10.0, 7.0, turn(24.0), "#a4603f", 0.34);
    svg.glow(at(40.0, 16.2), 13.0, 4.2, turn(-4.0), LIGHT, 0.7);
    // Below: a soft fold and a light cheek top.
    svg.soft(
        &smooth(&side.line(&[(19.0, -4.6), (24.0, -8.4), (31.0, -10.4), (38.0, -9.4)]), false),
        SHADE,
        5.5,
        0.12,
    );
    svg.glow(at(22.0, -7.0), 8.0, 4.0, turn(-28.0), "#a4603f", 0.26);
    svg.glow(at(31.0, -14.0), 13.0, 4.0, turn(4.0), LIGHT, 0.3);
    // Crease of the upper lid.
    let crease = [
        (17.2, 3.4),
        (20.0, 6.3),
        (24.0, 8.5),
        (29.0, 9.6),
        (34.5, 9.4),
        (40.0, 7.9),
        (45.0, 5.2),
        (48.2, 2.9),
    ];
    let line = through(&side.line(&crease), false, 4);
    svg.soft(&smooth(&side.line(&crease), false), DEEP, 3.2, 0.42);
    svg.fill(&swelling(&line, |t| 0.1 + 0.4 * (t * std::f64::consts::PI).sin().max(0.0)), "#6b3826", 0.62);
    // The lid itself catches light in its middle.
    svg.glow(at(31.0, 7.3), 10.0, 1.7, turn(0.0), LIGHT, 0.55);
}

fn ball(svg: &mut Svg, side: Side) {
    let mut opening: Vec<P> = UPPER.to_vec();
    opening.extend(&LOWER[1..]);
    let d = smooth(&side.line(&opening), true);
    let clip = svg.clip(&d);
    let at = |x, y| side.face((x, y));
    let pupil = side.face(PUPIL);
    let white = svg.radial(
        at(31.0, -1.0),
        16.0,
        9.0,
        0.0,
        &[(0.0, "#fbf6f0", 1.0), (0.55, "#f0e6de", 1.0), (0.85, "#d6c0b4", 1.0), (1.0, "#b9978a", 1.0)],
    );
    svg.fill(&d, &white, 1.0);
    svg.open_clip(&clip);
    // Tear corner.
    svg.glow(at(16.6, -0.1), 4.0, 3.0, 0.0, "#cf7a6c", 1.0);
    svg.ellipse(at(17.5, 0.05), 1.15, 0.95, "#d98d80", 0.9);
    svg.ellipse(at(17.35, 0.3), 0.42, 0.3, "#fbe4dc", 0.8);
    svg.glow(at(44.5, 1.2), 4.0, 3.0, 0.0, "#b86e60", 0.5);

    // Iris: dark rim, warm brown, amber near the pupil, fibres.
    let iris = svg.radial(
        (pupil.0, pupil.1 - 0.9),
        IRIS_R * 1.1,
        IRIS_R * 1.1,
        0.0,
        &[
            (0.0, "#a9713b", 1.0),
            (0.38, "#94602f", 1.0),
            (0.68, "#6b4122", 1.0),
            (0.88, "#46291a", 1.0),
            (1.0, "#2a1812", 1.0),
        ],
    );
    svg.ellipse(pupil, IRIS_R, IRIS_R, &iris, 1.0);
    let mut random = Random::new(3 + side as u64);
    let (mut pale, mut dark) = (String::new(), String::new());
    for i in 0..96 {
        let (dx, dy) = at_angle(i as f64 * 3.75 + random.between(-1.6, 1.6));
        let (from, to) = (random.between(2.05, 2.7), random.between(3.6, 5.2));
        let root = (pupil.0 + dx * from, pupil.1 + dy * from);
        let tip = (pupil.0 + dx * to, pupil.1 + dy * to);
        let bend =
            ((root.0 + tip.0) / 2.0 + random.bell() * 0.05, (root.1 + tip.1) / 2.0 + random.bell() * 0.05);
        let into = if i % 3 == 0 { &mut dark } else { &mut pale };
        into.push_str(&hair(root, bend, tip, random.between(0.12, 0.26)));
    }
    svg.fill(&pale, "#d39a58", 0.42);
    svg.fill(&dark, "#3a2115", 0.45);
    let ring = format!(
        "M{} {}a{r} {r} 0 1 0 {w} 0a{r} {r} 0 1 0 -{w} 0Z",
        super::svg::num(pupil.0 - IRIS_R + 0.28),
        super::svg::num(pupil.1),
        r = super::svg::num(IRIS_R - 0.28),
        w = super::svg::num(2.0 * (IRIS_R - 0.28))
    );
    svg.stroke(&ring, "#21130e", 0.56, 0.75);
    svg.glow((pupil.0, pupil.1), 3.1, 3.1, 0.0, "#1a0e0a", 0.75);
    svg.ellipse(pupil, 2.15, 2.15, "#0d0705", 1.0);
    // Light falls through from the lower right of the iris.
    svg.glow((pupil.0 + 1.6, pupil.1 - 2.7), 3.0, 1.9, 25.0, "#e0a662", 0.55);
    // The upper lid shades the ball.
    let shade: Vec<P> = UPPER.iter().map(|p| (p.0, p.1 - 0.1)).collect();
    svg.soft(&smooth(&side.line(&shade), false), "#341c14", 4.6, 0.62);
    let lower: Vec<P> = LOWER.to_vec();
    svg.soft(&smooth(&side.line(&lower), false), "#9c6455", 1.8, 0.32);
    // Window light and its echo.
    svg.ellipse((pupil.0 - 1.75, pupil.1 + 1.95), 1.12, 1.3, "#ffffff", 0.96);
    svg.ellipse((pupil.0 + 1.9, pupil.1 - 1.9), 0.5, 0.46, "#ffffff", 0.62);
    svg.close();
}

fn lids(svg: &mut Svg, side: Side) {
    let mut random = Random::new(11 + side as u64);
    // Wet edge of the lower lid.
    let lower: Vec<P> = LOWER.iter().map(|p| (p.0, p.1 - 0.32)).chain([(16.0, -0.3)]).collect();
    svg.stroke(&smooth(&side.line(&lower), false), "#e9b9a2", 0.7, 0.85);
    let below: Vec<P> = LOWER[..7].iter().map(|p| (p.0, p.1 - 0.85)).collect();
    svg.soft(&smooth(&side.line(&below), false), DEEP, 1.5, 0.3);

    // Lash line: thin at the tear corner, full outside, a little beyond the corner.
    let mut margin = through(&UPPER, false, 5);
    margin.push((46.0, 1.75));
    let lash_line = side.line(&margin);
    svg.fill(
        &swelling(&lash_line, |t| {
            0.28 + 0.95 * (t * 1.12).min(1.0).powf(0.8) * if t > 0.93 { (1.0 - t) / 0.07 } else { 1.0 }
        }),
        "#1f110d",
        0.95,
    );

    let (mut upper, mut under) = (String::new(), String::new());
    let n_upper = 58;
    for i in 0..n_upper {
        let share = 0.1 + 0.9 * (i as f64 + random.between(-0.3, 0.3)) / n_upper as f64;
        let root = along(&margin, share.clamp(0.05, 0.995));
        let angle = 118.0 - 92.0 * share.powf(1.15) + random.bell() * 4.0;
        let length = (1.9 + 3.0 * (share * 1.08).min(1.0).powf(1.4)) * random.between(0.72, 1.12);
        // Lashes leave the lid forwards and sweep up.
        let (d1, d2) =
            (at_angle(angle - 26.0 * (share - 0.35).max(-0.2)), at_angle(angle + 16.0 * (share - 0.2)));
        let bend = (root.0 + d1.0 * length * 0.45, root.1 + d1.1 * length * 0.34);
        let tip = (bend.0 + d2.0 * length * 0.55, bend.1 + d2.1 * length * 0.62);
        upper.push_str(&hair(side.face(root), side.face(bend), side.face(tip), random.between(0.22, 0.34)));
    }
    svg.fill(&upper, "#1c0f0b", 0.94);
    let mut edge: Vec<P> = through(&LOWER[..7], false, 4);
    edge.reverse();
    for i in 0..34 {
        let share = 0.12 + 0.86 * (i as f64 + random.between(-0.3, 0.3)) / 34.0;
        let at = along(&edge, share);
        let root = (at.0, at.1 - 0.55);
        let angle = -118.0 + 80.0 * share + random.bell() * 6.0;
        let length = (1.1 + 1.1 * share) * random.between(0.75, 1.15);
        let (d1, d2) = (at_angle(angle), at_angle(angle + 22.0 * (share - 0.25)));
        let bend = (root.0 + d1.0 * length * 0.5, root.1 + d1.1 * length * 0.5);
        let tip = (bend.0 + d2.0 * length * 0.5, bend.1 + d2.1 * length * 0.5);
        under.push_str(&hair(side.face(root), side.face(bend), side.face(tip), random.between(0.12, 0.19)));
    }
    svg.fill(&under, "#2c1812", 0.72);
}
