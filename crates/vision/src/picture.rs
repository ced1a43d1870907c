//! Pixels, and taking a level square out of them.

use kurbo::Affine;

/// A picture: rows from the top, each pixel red, green, blue and, where `channels` is 4, one more that is not looked at.
#[derive(Clone, Copy, Debug)]
pub struct Picture<'a> {
    width: usize,
    height: usize,
    channels: usize,
    bytes: &'a [u8],
}

/// From px of a square that was taken out (x right, y down, the first pixel from 0 to 1) to px of the picture.
pub type PixelMap = Affine;

impl<'a> Picture<'a> {
    /// A picture of this size; `None` where there are more or fewer bytes than that, or no pixel.
    #[must_use]
    pub fn new(bytes: &'a [u8], width: usize, height: usize, channels: usize) -> Option<Picture<'a>> {
        let count = width.checked_mul(height)?.checked_mul(channels)?;
        let is_one = count > 0 && bytes.len() == count && (channels == 3 || channels == 4);
        is_one.then_some(Picture { width, height, channels, bytes })
    }

    /// Width and height, px.
    #[must_use]
    pub fn size(&self) -> [usize; 2] {
        [self.width, self.height]
    }

    /// Red, green and blue of a pixel, 0 to 255; black outside.
    fn pixel(&self, x: i64, y: i64) -> [f32; 3] {
        let place = |value: i64, most: usize| usize::try_from(value).ok().filter(|value| *value < most);
        let (Some(x), Some(y)) = (place(x, self.width), place(y, self.height)) else { return [0.0; 3] };
        let at = (y * self.width + x) * self.channels;
        [0, 1, 2].map(|k| self.bytes.get(at + k).copied().map_or(0.0, f32::from))
    }

    /// Colour at a place, between the four pixels around it.
    fn at(&self, x: f64, y: f64) -> [f32; 3] {
        let (x, y) = (x - 0.5, y - 0.5);
        // Where a map leads nowhere there is nothing to see; no colour that is no number reaches the network.
        if !(x.is_finite() && y.is_finite()) {
            return [0.0; 3];
        }
        if x >= 0.0 && y >= 0.0 && x + 1.0 < self.width as f64 && y + 1.0 < self.height as f64 {
            // Nearly every place is in the middle of the picture: two rows of two pixels.
            let (left, top) = (x as usize, y as usize);
            let (right, down) = ((x - left as f64) as f32, (y - top as f64) as f32);
            let start = (top * self.width + left) * self.channels;
            let row = |from: usize| self.bytes.get(from..from + self.channels + 3);
            let (Some(above), Some(below)) = (row(start), row(start + self.width * self.channels)) else {
                return [0.0; 3];
            };
            return [0, 1, 2].map(|k| {
                let across = |row: &[u8]| {
                    let (here, next) = (f32::from(row[k]), f32::from(row[self.channels + k]));
                    here + right * (next - here)
                };
                let (above, below) = (across(above), across(below));
                above + down * (below - above)
            });
        }
        let (left, top) = (x.floor(), y.floor());
        let (right, down) = ((x - left) as f32, (y - top) as f32);
        // Far outside everything is black; a cast would only lose digits there.
        let (left, top) = (left as i64, top as i64);
        let corners = [
            (0, 0, (1.0 - right) * (1.0 - down)),
            (1, 0, right * (1.0 - down)),
            (0, 1, (1.0 - right) * down),
            (1, 1, right * down),
        ];
        let mut sum = [0.0; 3];
        for (dx, dy, weight) in corners {
            let pixel = self.pixel(left.saturating_add(dx), top.saturating_add(dy));
            sum.iter_mut().zip(pixel).for_each(|(sum, value)| *sum += weight * value);
        }
        sum
    }

    /// A square of `side` × `side` pixels: see [`Picture::patch`].
    #[must_use]
    pub fn square(&self, side: usize, map: PixelMap) -> Vec<f32> {
        self.patch(side, side, map)
    }

    /// `columns` × `rows` pixels laid over the picture by a map, red, green and blue from 0 to 1 one after the other. Where one of them covers several
    /// of the picture's, it is their mean.
    #[must_use]
    pub fn patch(&self, columns: usize, rows: usize, map: PixelMap) -> Vec<f32> {
        /// So many places in each direction are enough for any camera.
        const MOST: usize = 12;
        self.read(columns, rows, map, MOST)
    }

    /// The square of [`Picture::square`] from one place for each of its pixels: quick, and good enough to see whether there is a face.
    #[must_use]
    pub(crate) fn rough_square(&self, side: usize, map: PixelMap) -> Vec<f32> {
        self.read(side, side, map, 1)
    }

    /// At most `most` × `most` places for each pixel.
    fn read(&self, columns: usize, rows: usize, map: PixelMap, most: usize) -> Vec<f32> {
        /// Each place is read between four pixels, so that places need not be as dense as pixels: so many to a pixel, along each direction.
        const APART: f64 = 0.7;
        let [a, b, c, d, e, f] = map.as_coeffs();
        let within = ((APART * a.hypot(b)).ceil() as usize).clamp(1, most);
        let step = 1.0 / within as f64;
        let share = 1.0 / (255.0 * (within * within) as f32);
        let mut out = Vec::with_capacity(3 * columns * rows);
        for row in 0..rows {
            for column in 0..columns {
                let mut sum = [0.0; 3];
                for i in 0..within {
                    let v = row as f64 + (i as f64 + 0.5) * step;
                    for j in 0..within {
                        let u = column as f64 + (j as f64 + 0.5) * step;
                        let colour = self.at(a * u + c * v + e, b * u + d * v + f);
                        sum.iter_mut().zip(colour).for_each(|(sum, value)| *sum += value);
                    }
                }
                out.extend(sum.map(|value| value * share));
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn square_of_the_picture_itself_is_the_picture() {
        let bytes: Vec<u8> = (0..4 * 4 * 3).map(|k| (k * 5) as u8).collect();
        let picture = Picture::new(&bytes, 4, 4, 3).expect("a picture");
        let square = picture.square(4, Affine::IDENTITY);
        for (byte, value) in bytes.iter().zip(&square) {
            assert!((f32::from(*byte) / 255.0 - value).abs() < 1e-6);
        }
        // Half the size: each pixel is the mean of four.
        let half = picture.square(2, Affine::scale(2.0));
        let mean = (0.0 + 15.0 + 60.0 + 75.0) / 4.0 / 255.0;
        assert!((half[0] - mean).abs() < 1e-6, "{} {mean}", half[0]);
        assert!(Picture::new(&bytes, 4, 5, 3).is_none() && Picture::new(&[], 0, 0, 3).is_none());
    }

    #[test]
    fn outside_and_far_away_is_black() {
        let bytes = [200_u8; 12];
        let picture = Picture::new(&bytes, 2, 2, 3).expect("a picture");
        for map in [Affine::translate((1e300, 0.0)), Affine::translate((-50.0, 3.0)), Affine::scale(f64::NAN)]
        {
            assert!(picture.square(2, map).iter().all(|value| *value == 0.0), "{map:?}");
        }
    }
}
