//! Background, bust and the skin of the face with its soft light from the upper left.

use super::curve::P;
use super::measures::Side;
use super::svg::{Svg, smooth};

/// Colours of her skin from light to deep.
pub const LIGHT: &str = "#f7d3b4";
/// Turned from the light.
pub const SHADE: &str = "#b8754f";
/// Folds.
pub const DEEP: &str = "#7d4530";
/// Warm cheeks.
pub const BLUSH: &str = "#d2685a";

/// Half of the face's edge from the top down, `(out, up)`.
const EDGE: [P; 15] = [
    (0.0, 92.0),
    (34.0, 84.0),
    (54.0, 64.0),
    (62.0, 40.0),
    (64.4, 15.0),
    (65.2, -6.0),
    (63.0, -27.0),
    (58.2, -47.0),
    (50.2, -66.0),
    (39.6, -83.0),
    (27.6, -96.0),
    (17.0, -103.4),
    (8.4, -106.3),
    (2.8, -107.0),
    (0.0, -107.1),
];

/// The face's edge, closed, face frame.
pub fn edge() -> Vec<P> {
    let mut ring: Vec<P> = EDGE.to_vec();
    ring.extend(EDGE[1..EDGE.len() - 1].iter().rev().map(|p| (-p.0, p.1)));
    ring
}

/// A quiet wall with a light disc behind her. Pixels, not mm.
pub fn background(svg: &mut Svg) {
    let wall = svg.linear((0.0, 0.0), (2400.0, 2400.0), &[(0.0, "#dfe3da", 1.0), (1.0, "#bcc8c1", 1.0)]);
    svg.fill("M0 0H2400V2400H0Z", &wall, 1.0);
    let disc = svg.linear((500.0, 100.0), (1900.0, 1900.0), &[(0.0, "#f4efe6", 1.0), (1.0, "#dcd9cc", 1.0)]);
    svg.ellipse((1200.0, 1010.0), 985.0, 985.0, &disc, 1.0);
}

/// Neck, shoulders and a wrapped robe.
pub fn bust(svg: &mut Svg) {
    let half: [P; 8] = [
        (36.5, -40.0),
        (37.0, -80.0),
        (36.0, -102.0),
        (38.0, -117.0),
        (49.0, -128.5),
        (80.0, -138.0),
        (120.0, -148.0),
        (150.0, -170.0),
    ];
    let mut shoulders: Vec<P> = half.to_vec();
    shoulders.extend(half.iter().rev().map(|p| (-p.0, p.1)));
    let d = smooth(&shoulders, true);
    let skin = svg.linear(
        (0.0, -90.0),
        (0.0, -150.0),
        &[(0.0, "#b87650", 1.0), (0.45, "#cf9468", 1.0), (1.0, "#dca57d", 1.0)],
    );
    let clip = svg.clip(&d);
    svg.fill(&d, &skin, 1.0);
    svg.open_clip(&clip);
    // The chin throws a shadow on the neck; its right side turns from the light.
    svg.glow((3.0, -100.0), 52.0, 26.0, 0.0, "#8d5237", 0.75);
    svg.glow((38.0, -108.0), 15.0, 40.0, 4.0, DEEP, 0.5);
    svg.glow((-38.0, -108.0), 9.0, 36.0, -4.0, DEEP, 0.32);
    svg.glow((-22.0, -124.0), 10.0, 24.0, 20.0, LIGHT, 0.4);
    svg.soft(&smooth(&[(31.0, -98.0), (22.0, -120.0), (7.0, -142.0)], false), SHADE, 8.0, 0.32);
    svg.soft(&smooth(&[(-31.0, -98.0), (-22.0, -121.0), (-7.0, -142.0)], false), SHADE, 7.0, 0.22);
    svg.glow((0.0, -143.0), 6.0, 8.0, 0.0, DEEP, 0.25);
    svg.close();

    // The robe: one lapel over the other.
    let back = svg.linear((60.0, -110.0), (20.0, -160.0), &[(0.0, "#f1ece2", 1.0), (1.0, "#d9d1c3", 1.0)]);
    let front = svg.linear((-80.0, -110.0), (0.0, -165.0), &[(0.0, "#fbf8f1", 1.0), (1.0, "#e4ddd0", 1.0)]);
    let left: Vec<P> = vec![
        (36.6, -109.0),
        (40.0, -108.4),
        (54.0, -123.5),
        (88.0, -136.5),
        (160.0, -162.0),
        (160.0, -190.0),
        (-20.0, -190.0),
        (3.0, -160.0),
        (27.0, -140.0),
    ];
    let right: Vec<P> = left.iter().map(|p| (-p.0, p.1)).collect();
    for (lapel, paint) in [(&left, &back), (&right, &front)] {
        svg.soft(&smooth(&lapel[6..], false), DEEP, 4.0, 0.25);
        svg.fill(&smooth(lapel, true), paint, 1.0);
        let inset: Vec<P> =
            lapel[7..].iter().chain(&lapel[..1]).map(|p| (p.0 + p.0.signum() * 4.2, p.1 - 4.4)).collect();
        svg.stroke(&smooth(&inset, false), "#b9ae9c", 0.35, 0.8);
    }
}

/// Both ears, in front of the hair.
pub fn ears(svg: &mut Svg) {
    for side in Side::BOTH {
        ear(svg, side);
    }
}

fn ear(svg: &mut Svg, side: Side) {
    let ring = [
        (64.6, 1.0),
        (66.4, 6.2),
        (70.2, 8.0),
        (73.0, 4.6),
        (74.0, -4.0),
        (72.6, -16.0),
        (70.8, -27.0),
        (69.4, -36.0),
        (66.4, -42.0),
        (62.2, -41.6),
        (60.6, -36.0),
        (62.6, -26.0),
        (64.4, -14.0),
    ];
    let d = smooth(&side.line(&ring), true);
    let skin = svg.linear(
        side.face((60.0, 0.0)),
        side.face((76.0, -10.0)),
        &[(0.0, "#b26f4d", 1.0), (0.5, "#d59a74", 1.0), (1.0, "#c9875f", 1.0)],
    );
    let clip = svg.clip(&d);
    svg.fill(&d, &skin, 1.0);
    svg.open_clip(&clip);
    svg.glow(side.face((67.4, -13.0)), 3.6, 11.0, side.face((8.0, 0.0)).0, "#8a4c36", 0.7);
    svg.soft(
        &smooth(&side.line(&[(66.4, 0.5), (70.2, 4.2), (71.9, -4.0), (70.6, -16.0), (68.6, -27.0)]), false),
        DEEP,
        1.7,
        0.42,
    );
    svg.glow(side.face((66.0, -38.0)), 4.5, 6.0, 0.0, "#e8a98a", 0.7);
    svg.close();
    // A small stud.
    let at = side.face((65.6, -37.6));
    let gold = svg.radial(
        (at.0 - 0.4, at.1 + 0.5),
        2.0,
        2.0,
        0.0,
        &[(0.0, "#fff6dc", 1.0), (0.5, "#e3bd72", 1.0), (1.0, "#a87a35", 1.0)],
    );
    svg.glow((at.0 + 0.3, at.1 - 0.9), 2.6, 2.4, 0.0, DEEP, 0.5);
    svg.ellipse(at, 1.45, 1.45, &gold, 1.0);
}

/// Skin of the face.
pub fn face(svg: &mut Svg) {
    let d = smooth(&edge(), true);
    let clip = svg.clip(&d);
    let skin = svg.linear(
        (-50.0, 80.0),
        (55.0, -100.0),
        &[(0.0, "#f0c4a0", 1.0), (0.45, "#e6b38d", 1.0), (1.0, "#d2966d", 1.0)],
    );
    svg.fill(&d, &skin, 1.0);
    svg.open_clip(&clip);

    // The edge turns away: soft shade along it, stronger on her left.
    let right: Vec<P> = edge().into_iter().filter(|p| p.0 >= 0.0).collect();
    let left: Vec<P> = right.iter().map(|p| (-p.0, p.1)).collect();
    svg.soft(&smooth(&right[..15], false), SHADE, 24.0, 0.55);
    svg.soft(&smooth(&left[..15], false), SHADE, 14.0, 0.34);
    svg.glow((64.0, -20.0), 20.0, 60.0, 4.0, "#a9663f", 0.35);
    // Forehead and temples.
    svg.glow((-8.0, 48.0), 46.0, 28.0, 6.0, LIGHT, 0.75);
    svg.glow((55.0, 30.0), 14.0, 26.0, 8.0, SHADE, 0.32);
    svg.glow((-57.0, 30.0), 10.0, 24.0, -8.0, SHADE, 0.22);
    // Under the hairline.
    svg.soft(
        &smooth(
            &[
                (-62.0, 8.0),
                (-57.0, 32.0),
                (-46.0, 52.0),
                (-24.0, 66.0),
                (-4.0, 70.0),
                (20.0, 68.0),
                (44.0, 54.0),
                (57.0, 32.0),
                (62.0, 8.0),
            ],
            false,
        ),
        "#a8643f",
        13.0,
        0.34,
    );
    // Cheeks.
    svg.glow((-37.0, -22.0), 21.0, 13.0, 24.0, LIGHT, 0.72);
    svg.glow((35.0, -22.0), 19.0, 12.0, -24.0, LIGHT, 0.55);
    svg.glow((-41.0, -29.0), 27.0, 17.0, 28.0, BLUSH, 0.27);
    svg.glow((41.0, -29.0), 27.0, 17.0, -28.0, BLUSH, 0.29);
    svg.glow((-56.0, -50.0), 12.0, 34.0, -18.0, SHADE, 0.26);
    svg.glow((53.0, -52.0), 16.0, 36.0, 18.0, SHADE, 0.42);
    // Around the mouth and the chin.
    svg.glow((-21.0, -52.0), 10.0, 12.0, -20.0, LIGHT, 0.28);
    svg.glow((0.0, -95.5), 13.0, 8.0, 0.0, LIGHT, 0.6);
    svg.glow((0.0, -96.0), 10.0, 8.0, 0.0, BLUSH, 0.12);
    svg.soft(
        &smooth(&[(-40.0, -90.0), (-22.0, -103.5), (0.0, -108.5), (22.0, -103.5), (42.0, -88.0)], false),
        SHADE,
        12.0,
        0.42,
    );
    // Freckles, very faint.
    let mut random = super::random::Random::new(41);
    for _ in 0..130 {
        let at = (random.bell() * 23.0, -19.0 + random.bell() * 6.0);
        let r = random.between(0.14, 0.34);
        svg.ellipse(at, r, r * random.between(0.75, 1.0), "#9c5a34", random.between(0.08, 0.24));
    }
    svg.ellipse((26.5, -50.5), 0.62, 0.58, "#5c3222", 0.75);
    svg.close();
}
