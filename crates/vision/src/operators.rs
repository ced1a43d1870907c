//! The arithmetic of the network's operators, on lists of numbers in the order height, width, depth.

/// Height, width and depth.
pub type Shape = [usize; 3];

/// How a window goes over a picture.
#[derive(Clone, Copy, Debug)]
pub struct Window {
    /// Height and width.
    pub size: [usize; 2],
    /// Steps down and across.
    pub step: [usize; 2],
    /// Rows above and columns before the picture that the first window begins with.
    pub before: [usize; 2],
}

/// Pixels of the input under each place of a window at an output pixel: `(place of the window, place of the input)`.
fn under(window: Window, input: Shape, row: usize, column: usize) -> impl Iterator<Item = (usize, usize)> {
    let [height, width] = window.size;
    let [down, across] = window.step;
    (0..height).flat_map(move |i| {
        (0..width).filter_map(move |j| {
            let y = (row * down + i).checked_sub(window.before[0]).filter(|y| *y < input[0])?;
            let x = (column * across + j).checked_sub(window.before[1]).filter(|x| *x < input[1])?;
            Some((i * width + j, y * input[1] + x))
        })
    })
}

/// A picture and its height, width and depth.
#[derive(Clone, Copy)]
pub struct Layers<'a> {
    /// Numbers in the order height, width, depth.
    pub values: &'a [f32],
    /// Height, width and depth.
    pub shape: Shape,
}

/// Goes over the output: each of its pixels is begun, and then gets what lies under each place of the window, as `(place, pixel of the input)`.
fn over(
    input: Layers<'_>,
    window: Window,
    out: &mut [f32],
    out_shape: Shape,
    begin: impl Fn(&mut [f32]),
    take: impl Fn(&mut [f32], usize, &[f32]),
) {
    let depth = input.shape[2];
    for (index, out) in out.chunks_exact_mut(out_shape[2]).enumerate() {
        begin(out);
        let (row, column) = (index / out_shape[1], index % out_shape[1]);
        for (place, pixel) in under(window, input.shape, row, column) {
            take(out, place, &input.values[pixel * depth..(pixel + 1) * depth]);
        }
    }
}

/// Convolution; `weights` are `[window, depth, output depth]`, so that the innermost loop goes along both.
pub fn convolution(
    input: Layers<'_>,
    weights: &[f32],
    bias: &[f32],
    window: Window,
    out: &mut [f32],
    out_shape: Shape,
) {
    let (depth, out_depth) = (input.shape[2], out_shape[2]);
    over(
        input,
        window,
        out,
        out_shape,
        |out| out.copy_from_slice(bias),
        |out, place, cell| {
            let weights = &weights[place * depth * out_depth..(place + 1) * depth * out_depth];
            for (value, weights) in cell.iter().zip(weights.chunks_exact(out_depth)) {
                for (out, weight) in out.iter_mut().zip(weights) {
                    *out += value * weight;
                }
            }
        },
    );
}

/// Convolution of each layer by itself; `weights` are `[window, depth]`.
pub fn depthwise(
    input: Layers<'_>,
    weights: &[f32],
    bias: &[f32],
    window: Window,
    out: &mut [f32],
    out_shape: Shape,
) {
    let depth = input.shape[2];
    over(
        input,
        window,
        out,
        out_shape,
        |out| out.copy_from_slice(bias),
        |out, place, cell| {
            let weights = &weights[place * depth..(place + 1) * depth];
            for ((out, value), weight) in out.iter_mut().zip(cell).zip(weights) {
                *out += value * weight;
            }
        },
    );
}

/// The largest value under a window, for each layer.
pub fn largest(input: Layers<'_>, window: Window, out: &mut [f32], out_shape: Shape) {
    over(
        input,
        window,
        out,
        out_shape,
        |out| out.fill(f32::NEG_INFINITY),
        |out, _, cell| {
            out.iter_mut().zip(cell).for_each(|(out, value)| *out = out.max(*value));
        },
    );
}

/// Values below zero times a slope of their layer.
pub fn sloped(input: &[f32], slopes: &[f32], out: &mut [f32]) {
    for (cell, out) in input.chunks_exact(slopes.len()).zip(out.chunks_exact_mut(slopes.len())) {
        for ((value, slope), out) in cell.iter().zip(slopes).zip(out) {
            *out = if *value < 0.0 { value * slope } else { *value };
        }
    }
}

/// Layers of zeros behind those that are there.
pub fn deepened(input: &[f32], depth: usize, out: &mut [f32], out_depth: usize) {
    for (cell, out) in input.chunks_exact(depth).zip(out.chunks_exact_mut(out_depth)) {
        let (kept, added) = out.split_at_mut(depth);
        kept.copy_from_slice(cell);
        added.fill(0.0);
    }
}
