//! Dark hair, parted near the middle and gathered low behind the neck.

use super::curve::{P, along, distance, lerp, through};
use super::random::Random;
use super::svg::{Svg, cornered, smooth, strand, swelling};

/// Where the part meets the forehead and where it leaves over the crown, face frame.
const PART: [P; 2] = [(-3.0, 69.5), (-2.0, 109.0)];

/// The hair's front edge on one side, from the part down over the ear.
fn front_edge(sign: f64) -> Vec<P> {
    let mut line: Vec<P> = [
        (14.0, 68.0),
        (33.0, 61.0),
        (47.5, 48.0),
        (56.6, 31.0),
        (61.4, 14.0),
        (64.2, 2.0),
        (66.0, -12.0),
        (66.0, -30.0),
        (61.0, -46.0),
    ]
    .map(|p| (sign * p.0, p.1))
    .to_vec();
    line.insert(0, PART[0]);
    line
}

/// The outer edge on one side, from the crown down.
fn outer_edge(sign: f64) -> Vec<P> {
    let mut line: Vec<P> = [
        (16.0, 107.5),
        (33.0, 102.0),
        (52.0, 90.0),
        (66.5, 71.0),
        (75.5, 47.0),
        (78.5, 22.0),
        (77.0, 0.0),
        (74.0, -18.0),
        (69.0, -34.0),
        (62.0, -48.0),
    ]
    .map(|p| (sign * p.0, p.1))
    .to_vec();
    line.insert(0, PART[1]);
    line
}

/// The knot behind the neck, and hair behind the ears.
pub fn behind(svg: &mut Svg) {
    let ring = [
        (-68.0, 2.0),
        (-67.0, -24.0),
        (-62.5, -46.0),
        (-53.0, -72.0),
        (-43.5, -94.0),
        (-39.5, -104.0),
        (-36.0, -112.0),
        (-20.0, -116.0),
        (20.0, -116.0),
        (36.0, -112.0),
        (39.5, -104.0),
        (43.5, -94.0),
        (53.0, -72.0),
        (62.5, -46.0),
        (67.0, -24.0),
        (68.0, 2.0),
        (0.0, 20.0),
    ];
    let shade = svg.linear((0.0, -30.0), (0.0, -95.0), &[(0.0, "#20120e", 1.0), (1.0, "#140a08", 1.0)]);
    svg.fill(&smooth(&ring, true), &shade, 1.0);
    let mut random = Random::new(17);
    let mut locks = String::new();
    for _ in 0..60 {
        let sign = if random.unit() < 0.5 { -1.0 } else { 1.0 };
        let shift = random.between(-14.0, -1.0);
        let points =
            [(66.5, -20.0), (62.0, -46.0), (53.0, -72.0), (44.0, -96.0)].map(|p| (sign * (p.0 + shift), p.1));
        locks.push_str(&strand(&points, random.between(0.3, 0.8)));
    }
    svg.fill(&locks, "#4a2e22", 0.5);
}

/// The mass of hair behind the forehead.
pub fn crown(svg: &mut Svg) {
    let mut left = outer_edge(-1.0);
    left.reverse();
    left.extend(&outer_edge(1.0)[1..]);
    svg.fill(&cornered(&[left, vec![(60.0, -10.0), (-60.0, -10.0)]]), "#2a1813", 1.0);
}

/// The two swept sides, strand by strand.
pub fn front(svg: &mut Svg) {
    let mut random = Random::new(5);
    for sign in [-1.0, 1.0] {
        let (inner, outer) = (through(&front_edge(sign), false, 6), through(&outer_edge(sign), false, 6));
        let mut back = outer_edge(sign);
        back.reverse();
        let d = cornered(&[front_edge(sign), back]);
        let mass = svg.linear(
            (sign * 10.0, 104.0),
            (sign * 78.0, -10.0),
            &[
                (0.0, "#3b241b", 1.0),
                (0.35, if sign < 0.0 { "#4a2e22" } else { "#38221a" }, 1.0),
                (1.0, "#20120e", 1.0),
            ],
        );
        // The hair lies on the skin: a shadow under its front edge.
        svg.fill(&d, &mass, 1.0);
        // A strand keeps its place between the two edges, with a slow wave.
        let lock = |place: f64, from: f64, to: f64, wave: f64, width: f64| -> String {
            let points = [0.0, 1.0, 2.0, 3.0].map(|i| {
                let t = from + (to - from) * i / 3.0;
                let drift = place + wave * (t * 5.0).sin();
                lerp(along(&inner, t), along(&outer, t), drift.clamp(-0.01, 1.01))
            });
            strand(&points, width)
        };
        let mut bands = [String::new(), String::new(), String::new(), String::new()];
        for _ in 0..330 {
            let place = random.unit();
            let from = random.between(0.0, 0.55);
            let to = (from + random.between(0.25, 0.6)).min(1.0);
            let wave = random.bell() * 0.012;
            let width = random.between(0.25, 0.95);
            let band = (random.unit() * 4.0) as usize;
            bands[band].push_str(&lock(place, from, to, wave, width));
        }
        let lit = if sign < 0.0 { 1.0 } else { 0.7 };
        svg.fill(&bands[0], "#160b08", 0.5);
        svg.fill(&bands[1], "#6b4634", 0.42 * lit);
        svg.fill(&bands[2], "#54362a", 0.6 * lit);
        svg.fill(&bands[3], "#2a1712", 0.6);
        // A band of light across the curve of the head.
        let mut shine = String::new();
        for _ in 0..110 {
            let place = random.between(0.12, 0.95);
            let mid = 0.36 + 0.05 * (place * 7.0).sin() + random.bell() * 0.025;
            let half = random.between(0.04, 0.1);
            shine.push_str(&lock(place, mid - half, mid + half, 0.004, random.between(0.3, 0.85)));
        }
        svg.fill(&shine, "#b07d5c", 0.34 * lit);
        // Fine hairs at the front edge soften it.
        let mut fine = String::new();
        for _ in 0..120 {
            let t = random.between(0.01, 0.86);
            let start = along(&inner, t);
            let ahead = along(&inner, (t + 0.07).min(1.0));
            let inward = lerp(ahead, along(&outer, (t + 0.07).min(1.0)), random.between(0.02, 0.14));
            let out = random.between(0.0, 1.5);
            let length = distance(start, inward).max(1.0);
            let away = ((start.0 - inward.0) / length * 0.2, (start.1 - inward.1) / length * 0.2 - 1.0);
            let root = (start.0 + away.0 * out - sign * out * 0.7, start.1 + away.1 * out * 0.6);
            let bend = ((root.0 + inward.0) / 2.0 + sign * 0.5, (root.1 + inward.1) / 2.0 + 0.4);
            fine.push_str(&super::svg::hair(inward, bend, root, random.between(0.16, 0.34)));
        }
        svg.fill(&fine, "#2e1a14", 0.8);
    }
    // Flyaways over the silhouette.
    let mut loose = String::new();
    for _ in 0..46 {
        let sign = if random.unit() < 0.5 { -1.0 } else { 1.0 };
        let line = through(&outer_edge(sign), false, 6);
        let t = random.between(0.0, 0.72);
        let lift = random.between(0.4, 2.2);
        let points = [0.0, 0.07, 0.14, 0.21].map(|step: f64| {
            let p = along(&line, t + step);
            let away = lift * (step / 0.21 * std::f64::consts::PI).sin();
            (p.0 * (1.0 + away / 90.0), p.1 + away * 0.6)
        });
        loose.push_str(&strand(&points, random.between(0.12, 0.24)));
    }
    svg.fill(&loose, "#2a1712", 0.6);
    // A few wisps that came loose in front of the ears.
    let mut wisps = String::new();
    for (sign, points, width) in [
        (-1.0, [(58.5, 27.0), (62.6, 2.0), (59.2, -26.0), (55.8, -45.0)], 0.42),
        (-1.0, [(59.2, 24.0), (63.6, 0.0), (61.2, -22.0), (59.4, -36.0)], 0.36),
        (-1.0, [(57.6, 29.0), (61.4, 6.0), (59.6, -12.0), (56.2, -29.0)], 0.3),
        (1.0, [(58.8, 26.0), (63.2, 2.0), (60.6, -24.0), (58.6, -40.0)], 0.4),
        (1.0, [(58.0, 28.0), (62.0, 6.0), (60.2, -10.0), (57.2, -24.0)], 0.3),
    ] {
        wisps.push_str(&strand(&points.map(|p: P| (sign * p.0, p.1)), width));
    }
    svg.fill(&wisps, "#33201a", 0.85);
    // The part.
    let part = through(&[PART[0], (-2.2, 82.0), (-1.8, 97.0), PART[1]], false, 4);
    svg.fill(&swelling(&part, |t| 1.5 * (1.0 - t)), "#c08a64", 0.75);
}
