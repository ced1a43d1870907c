//! The natural brows, hair by hair.

use super::curve::{P, at_angle, contains, table};
use super::measures::{Side, brow_edges, natural_brow};
use super::person::Person;
use super::random::Random;
use super::svg::{Svg, hair, polygon};

/// Colours from the lowest layer to the highest.
const TONES: [&str; 5] = ["#5b3d2c", "#452c20", "#3a241a", "#4d3425", "#2f1c15"];

/// Paints both brows.
pub fn paint(svg: &mut Svg, person: Person) {
    for side in Side::BOTH {
        paint_one(svg, person, side);
    }
}

fn paint_one(svg: &mut Svg, person: Person, side: Side) {
    let ring = natural_brow(person, side);
    let growth = person.growth(side);
    let mut random = Random::new(growth.seed);
    let (front, tail) =
        ring.iter().fold((f64::MAX, f64::MIN), |(low, high), p| (low.min(p.0), high.max(p.0)));
    let share_of = |out: f64| (out - front) / (tail - front);
    let middle = |out: f64| {
        brow_edges(person, side, out.clamp(front + 0.3, tail - 0.3))
            .map_or(18.0, |(low, high)| (low + high) / 2.0)
    };

    // A breath of colour on the skin below, where many hairs stand close.
    let dim = if side == Side::Right { 0.2 } else { 0.15 };
    let clip = svg.clip(&polygon(&side.line(&ring)));
    svg.open_clip(&clip);
    for step in 0..14 {
        let out = front + (tail - front) * (step as f64 + 0.5) / 14.0;
        let strength = table(growth.density, share_of(out));
        let (low, high) = brow_edges(person, side, out).unwrap_or((18.0, 22.0));
        svg.glow(
            side.face((out, (low + high) / 2.0)),
            4.2,
            (high - low) * 0.75,
            0.0,
            "#3a241a",
            dim * strength * strength,
        );
    }
    svg.close();

    let mut layers = vec![String::new(); TONES.len()];
    let mut n_hairs = 0;
    while n_hairs < growth.n_hairs {
        let out = random.between(front, tail);
        let Some((low, high)) = brow_edges(person, side, out) else { continue };
        let height = random.unit();
        let root = (out, low + (high - low) * height);
        let share = share_of(out);
        // Fewer roots right at the upper edge and the very front, as hair lies over them.
        let keep = table(growth.density, share)
            * table(&[(0.0, 0.8), (0.15, 1.0), (0.75, 0.95), (1.0, 0.5)], height);
        // Columns near the tail are short, so roots would crowd there.
        if random.unit() > keep * ((high - low) / 8.0).clamp(0.25, 1.0) {
            continue;
        }
        let along = (middle(out + 1.5) - middle(out - 1.5)).atan2(3.0).to_degrees();
        let rise = table(
            &[(0.0, 68.0), (0.07, 58.0), (0.16, 40.0), (0.3, 25.0), (0.5, 12.0), (0.75, 4.0), (1.0, 0.0)],
            share,
        );
        let spread = table(&[(0.0, 14.0), (0.15, 34.0), (0.5, 46.0), (0.8, 26.0), (1.0, 10.0)], share);
        let angle = along + rise + (0.5 - height) * spread + random.bell() * 6.0;
        let turn = -0.32 * (rise + (0.5 - height) * spread) + random.bell() * 4.0;
        let mut length = table(&[(0.0, 4.6), (0.12, 6.0), (0.4, 6.8), (0.75, 6.2), (1.0, 4.6)], share)
            * random.between(0.78, 1.12);
        let mut drawn = None;
        while length > 1.5 {
            let (d1, d2) = (at_angle(angle), at_angle(angle + turn));
            let bend: P = (root.0 + d1.0 * length * 0.5, root.1 + d1.1 * length * 0.5);
            let tip: P = (bend.0 + d2.0 * length * 0.5, bend.1 + d2.1 * length * 0.5);
            if contains(&ring, tip) && contains(&ring, bend) {
                drawn = Some((bend, tip));
                break;
            }
            length *= 0.86;
        }
        let Some((bend, tip)) = drawn else { continue };
        n_hairs += 1;
        let width =
            random.between(0.14, 0.26) * table(&[(0.0, 0.75), (0.15, 1.0), (0.8, 1.0), (1.0, 0.8)], share);
        let layer = n_hairs * TONES.len() / (growth.n_hairs + 1);
        layers[layer].push_str(&hair(side.face(root), side.face(bend), side.face(tip), width));
    }
    for (layer, tone) in layers.iter().zip(TONES) {
        svg.fill(layer, tone, 0.86);
    }

    // A few fine strays below the arch and above the front: skin hair, not brow.
    let mut strays = String::new();
    for _ in 0..16 {
        let out = random.between(front + 12.0, tail - 7.0);
        let Some((low, _)) = brow_edges(person, side, out) else { continue };
        let root = (out, low - random.between(0.5, 2.6));
        let d = at_angle(random.between(5.0, 42.0));
        let length = random.between(1.4, 2.6);
        let bend = (root.0 + d.0 * length * 0.5, root.1 + d.1 * length * 0.5);
        let tip = (root.0 + d.0 * length, root.1 + d.1 * length * 0.8);
        strays.push_str(&hair(side.face(root), side.face(bend), side.face(tip), 0.11));
    }
    svg.fill(&strays, "#5b3d2c", 0.5);
}
