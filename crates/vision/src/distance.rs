//! Distances to a set of squares.

/// Square of the distance from the middle of each square to that of the nearest one in the set, in sides of a square: exact, by the lower envelope
/// of parabolas along columns and then rows (Felzenszwalb and Huttenlocher, Distance Transforms of Sampled Functions, Theory of Computing 8, 2012).
/// A great number everywhere where the set is empty.
pub(crate) fn squared_distance(set: &[bool], columns: usize, rows: usize) -> Vec<f32> {
    let far = ((columns + rows) * (columns + rows)) as f32;
    let mut squares: Vec<f32> = set.iter().map(|inside| if *inside { 0.0 } else { far }).collect();
    let mut envelope = Envelope::default();
    let mut line = vec![0.0; rows];
    for column in 0..columns {
        line.iter_mut().enumerate().for_each(|(row, value)| *value = squares[row * columns + column]);
        envelope.lower(&mut line);
        line.iter().enumerate().for_each(|(row, value)| squares[row * columns + column] = *value);
    }
    for row in squares.chunks_exact_mut(columns.max(1)) {
        envelope.lower(row);
    }
    squares
}

/// Room for one line, kept from one to the next.
#[derive(Default)]
struct Envelope {
    values: Vec<f32>,
    /// Which parabola is lowest from its beginning on.
    parabolas: Vec<(usize, f32)>,
}

impl Envelope {
    /// Puts the least of `value[j] + (i - j)²` in the place of each value.
    fn lower(&mut self, line: &mut [f32]) {
        self.values.clear();
        self.values.extend_from_slice(line);
        self.parabolas.clear();
        for (at, value) in self.values.iter().enumerate() {
            let mut begins = f32::NEG_INFINITY;
            while let Some(&(other, from)) = self.parabolas.last() {
                let (x, y) = (at as f32, other as f32);
                begins = 0.5 * ((value + x * x) - (self.values[other] + y * y)) / (x - y);
                if begins > from {
                    break;
                }
                self.parabolas.pop();
                begins = f32::NEG_INFINITY;
            }
            self.parabolas.push((at, begins));
        }
        let mut lowest = 0;
        for (at, out) in line.iter_mut().enumerate() {
            while self.parabolas.get(lowest + 1).is_some_and(|(_, from)| *from < at as f32) {
                lowest += 1;
            }
            if let Some((other, _)) = self.parabolas.get(lowest) {
                *out = self.values[*other] + (at as f32 - *other as f32).powi(2);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn is_the_distance_to_the_nearest(set in prop::collection::vec(prop::bool::weighted(0.1), 13 * 9)) {
            let found = squared_distance(&set, 13, 9);
            for (at, found) in found.iter().enumerate() {
                let square = |other: usize| (at % 13).abs_diff(other % 13).pow(2) + (at / 13).abs_diff(other / 13).pow(2);
                let nearest = (0..set.len()).filter(|other| set[*other]).map(square).min();
                prop_assert_eq!(*found, nearest.map_or(found.max(400.0), |square| square as f32));
            }
        }
    }
}
