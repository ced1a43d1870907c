//! Where a brow lies by the rows of the face network: the place to begin to look for its hair.

use kurbo::{Point, Vec2};

use crate::seed_table::{MEAN_CORNERS, MEAN_INPUTS, WEIGHTS};

/// Upper and lower row of five points along a brow, each from the tail to the front.
pub(crate) type BrowRows = [[Point; 5]; 2];
/// Corners of a brow: the upper edge from the tail to the front, then the lower edge back.
pub(crate) const CORNERS: usize = 8;
/// What they are told from: the middle line of both rows, and how far the rows are apart.
pub(crate) const INPUTS: usize = 11;
/// Places between two corners.
const BETWEEN: u32 = 8;

/// A smooth closed line around the brow, mm: a linear map from the rows, both in the side's `(out, up)`, fitted to real faces by
/// `tests/oracle/brow_seed.py`. The network's own rows stop short of the tail by 5 mm and lie too high by 2.
pub(crate) fn first_outline(rows: &BrowRows) -> Vec<Point> {
    let [upper, lower] = rows;
    let mut inputs = [0.0; INPUTS];
    let mut thickness = 0.0;
    for (k, (above, below)) in upper.iter().zip(lower).enumerate() {
        let middle = above.midpoint(*below);
        inputs[2 * k] = middle.x;
        inputs[2 * k + 1] = middle.y;
        thickness += (above.y - below.y) / upper.len() as f64;
    }
    inputs[INPUTS - 1] = thickness;
    let value = |k: usize| {
        let moved: f64 = (0..INPUTS).map(|j| WEIGHTS[k][j] * (inputs[j] - MEAN_INPUTS[j])).sum();
        MEAN_CORNERS[k] + moved
    };
    let corners: [Point; CORNERS] = std::array::from_fn(|k| Point::new(value(2 * k), value(2 * k + 1)));
    smooth(&corners)
}

/// The closed Catmull–Rom spline through the corners.
fn smooth(corners: &[Point; CORNERS]) -> Vec<Point> {
    let corner = |k: usize| corners[k % CORNERS].to_vec2();
    let mut line = Vec::with_capacity(CORNERS * BETWEEN as usize);
    for k in CORNERS..2 * CORNERS {
        let [a, b, c, d] = [corner(k - 1), corner(k), corner(k + 1), corner(k + 2)];
        for place in 0..BETWEEN {
            let t = f64::from(place) / f64::from(BETWEEN);
            let at: Vec2 = 2.0 * b
                + (c - a) * t
                + (2.0 * a - 5.0 * b + 4.0 * c - d) * (t * t)
                + (3.0 * b - a - 3.0 * c + d) * (t * t * t);
            line.push((0.5 * at).to_point());
        }
    }
    line
}
