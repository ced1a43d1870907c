//! The three operators that look closer at a part of the face: a square laid over some points, the features inside it, and points
//! found there brought back. Written from their definition in MediaPipe (Apache License 2.0), version 2 of each.

/// Which points a square is laid over, and how.
#[derive(Clone, Debug)]
pub struct Square {
    /// Points whose line becomes level.
    pub level: [usize; 2],
    /// Points that it holds.
    pub points: Vec<usize>,
    /// How much larger than their box it is, across and down.
    pub scale: [f32; 2],
    /// Its size in cells.
    pub cells: [f32; 2],
    /// Radians by which the level line is to be turned.
    pub turn: f32,
}

/// An affine map `[a, c, e, b, d, f]` in rows: `x' = a x + c y + e`, `y' = b x + d y + f`.
pub type Rows = [f32; 6];

/// From cells of the square to the picture. `points` are `[x, y, z]`, one after the other.
pub fn square_map(square: &Square, points: &[f32]) -> Rows {
    let at = |index: usize| {
        let place = |k| points.get(3 * index + k).copied().unwrap_or_default();
        [place(0), place(1)]
    };
    let [left, right] = square.level.map(at);
    let turn = square.turn - (right[1] - left[1]).atan2(right[0] - left[0]);
    let (sin, cos) = turn.sin_cos();
    let (mut low, mut high) = ([f32::INFINITY; 2], [f32::NEG_INFINITY; 2]);
    for &index in &square.points {
        let [x, y] = at(index);
        let turned = [cos * x - sin * y, sin * x + cos * y];
        for k in 0..2 {
            low[k] = low[k].min(turned[k]);
            high[k] = high[k].max(turned[k]);
        }
    }
    let middle = [0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1])];
    let centre = [cos * middle[0] + sin * middle[1], cos * middle[1] - sin * middle[0]];
    let size = [0, 1].map(|k| square.scale[k] * (high[k] - low[k]) / square.cells[k]);
    // Turned back, scaled, and moved from the square's middle.
    let (a, c) = (cos * size[0], sin * size[1]);
    let (b, d) = (-sin * size[0], cos * size[1]);
    let half = [0.5 * square.cells[0], 0.5 * square.cells[1]];
    [a, c, centre[0] - a * half[0] - c * half[1], b, d, centre[1] - b * half[0] - d * half[1]]
}

/// Features `[height, width, depth]` at the cells of a square, bilinear; nothing outside.
pub fn sampled(
    features: &[f32],
    [height, width, depth]: [usize; 3],
    map: &Rows,
    out: &mut [f32],
    cells: [usize; 2],
) {
    let inside = |value: f32, most: usize| (value >= 0.0 && value < most as f32).then_some(value as usize);
    for (index, out) in out.chunks_exact_mut(depth).enumerate().take(cells[0] * cells[1]) {
        // Cells and features are squares with their values in the middle.
        let (x, y) = ((index % cells[1]) as f32 + 0.5, (index / cells[1]) as f32 + 0.5);
        let at = [map[0] * x + map[1] * y + map[2] - 0.5, map[3] * x + map[4] * y + map[5] - 0.5];
        let (x0, y0) = (at[0].floor(), at[1].floor());
        let (right, down) = (at[0] - x0, at[1] - y0);
        out.fill(0.0);
        for (dx, dy, weight) in [
            (0.0, 0.0, (1.0 - right) * (1.0 - down)),
            (1.0, 0.0, right * (1.0 - down)),
            (0.0, 1.0, (1.0 - right) * down),
            (1.0, 1.0, right * down),
        ] {
            let (Some(x), Some(y)) = (inside(x0 + dx, width), inside(y0 + dy, height)) else { continue };
            let start = (y * width + x) * depth;
            if let Some(cell) = features.get(start..start + depth) {
                out.iter_mut().zip(cell).for_each(|(out, value)| *out += weight * value);
            }
        }
    }
}

/// Points `[x, y]` of a square in the picture.
pub fn brought_back(points: &[f32], map: &Rows, out: &mut [f32]) {
    for (from, to) in points.as_chunks::<2>().0.iter().zip(out.as_chunks_mut::<2>().0) {
        let [x, y] = *from;
        *to = [map[0] * x + map[1] * y + map[2], map[3] * x + map[4] * y + map[5]];
    }
}
