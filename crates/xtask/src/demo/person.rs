//! The invented clients: how their brows grew, and how they look.

use super::curve::P;
use super::measures::{Side, brow_points};

/// How thick the hair stands, by share of the brow's length.
pub type Density = &'static [P];

const FULL: Density = &[(0.0, 0.45), (0.06, 0.7), (0.16, 1.0), (0.7, 1.0), (0.9, 0.85), (1.0, 0.7)];
/// A tail that was plucked for years: it came back thin.
const THIN_TAIL: Density =
    &[(0.0, 0.4), (0.07, 0.65), (0.18, 1.0), (0.58, 1.0), (0.7, 0.5), (0.82, 0.26), (1.0, 0.2)];

/// How one brow grows. Shares run from 0 at the front to 1 at the tail.
pub struct Growth {
    /// Hairs that are drawn.
    pub n_hairs: usize,
    /// Of the random numbers.
    pub seed: u64,
    /// Where they stand.
    pub density: Density,
}

/// An invented client. Her face is the same drawn face; brows and colours are her own.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Person {
    /// The demo case: right brow fuller and 2.4 mm higher at the arch, left farther out and with a thin tail.
    Marisol,
    /// Nearly even.
    Noor,
    /// The left brow sits 2.6 mm lower as a whole.
    Ifeoma,
    /// The muscle holds the right arch up; the left tail is thin and ends early.
    Liv,
}

impl Person {
    /// Points around the hair of a natural brow, `(out, up)` in mm, counter-clockwise from the front of the underside.
    pub fn brow_points(self, side: Side) -> Vec<P> {
        let moved = |from: Side, out: f64, up: f64| -> Vec<P> {
            brow_points(from).iter().map(|p| (p.0 + out, p.1 + up)).collect()
        };
        match (self, side) {
            (Person::Marisol, side) => brow_points(side).to_vec(),
            (Person::Noor, Side::Right) => moved(Side::Right, 0.0, -1.1),
            (Person::Noor, Side::Left) => moved(Side::Right, 0.4, -1.4),
            (Person::Ifeoma, Side::Right) => moved(Side::Right, -0.3, -0.2),
            (Person::Ifeoma, Side::Left) => moved(Side::Right, 0.2, -2.8),
            // Lifted most over the arch, as where one half of the forehead's muscle pulls.
            (Person::Liv, Side::Right) => moved(Side::Right, 0.0, -1.4)
                .into_iter()
                .map(|(out, up)| (out, up + 2.1 * (-((out - 40.0) / 11.0).powi(2)).exp()))
                .collect(),
            (Person::Liv, Side::Left) => moved(Side::Left, -1.2, -0.4)
                .into_iter()
                .map(|(out, up)| {
                    if out > 44.0 {
                        (44.0 + (out - 44.0) * 0.72, up + (out - 44.0) * 0.12)
                    } else {
                        (out, up)
                    }
                })
                .collect(),
        }
    }

    /// How a brow grows.
    pub fn growth(self, side: Side) -> Growth {
        let (n_hairs, seed, density) = match (self, side) {
            (Person::Marisol, Side::Right) => (780, 7, FULL),
            (Person::Marisol, Side::Left) => (560, 23, THIN_TAIL),
            (Person::Noor, Side::Right) => (760, 11, FULL),
            (Person::Noor, Side::Left) => (760, 13, FULL),
            (Person::Ifeoma, Side::Right) => (800, 17, FULL),
            (Person::Ifeoma, Side::Left) => (790, 19, FULL),
            (Person::Liv, Side::Right) => (740, 29, FULL),
            (Person::Liv, Side::Left) => (430, 37, THIN_TAIL),
        };
        Growth { n_hairs, seed, density }
    }

    /// How colours of skin and hair change against the drawn ones, as factors of red, green and blue.
    pub const fn tint(self) -> [f64; 3] {
        match self {
            Person::Marisol => [1.0, 1.0, 1.0],
            Person::Noor => [0.86, 0.83, 0.82],
            Person::Ifeoma => [0.60, 0.53, 0.48],
            Person::Liv => [1.02, 1.06, 1.1],
        }
    }

    /// Of the trace's wobble.
    pub const fn seed(self) -> u64 {
        match self {
            Person::Marisol => 31,
            Person::Noor => 43,
            Person::Ifeoma => 57,
            Person::Liv => 71,
        }
    }
}

/// A drawing in other colours: those of skin and hair, which are warm, times a factor for each channel; all others stay.
pub fn tinted(drawing: &str, [red, green, blue]: [f64; 3]) -> String {
    const WARM: i32 = 24;
    let mut out = String::with_capacity(drawing.len());
    let mut rest = drawing;
    while let Some(at) = rest.find('#') {
        out.push_str(&rest[..at]);
        rest = &rest[at..];
        let digits = rest.get(1..7).and_then(|digits| u32::from_str_radix(digits, 16).ok());
        let channels = digits.map(|rgb| [16, 8, 0].map(|shift| ((rgb >> shift) & 255) as i32));
        match channels {
            Some([r, g, b]) if r > g && g > b && r - b > WARM => {
                let times = |value: i32, factor: f64| (f64::from(value) * factor).round().clamp(0.0, 255.0);
                out.push_str(&format!(
                    "#{:02x}{:02x}{:02x}",
                    times(r, red) as u8,
                    times(g, green) as u8,
                    times(b, blue) as u8
                ));
                rest = &rest[7..];
            }
            _ => {
                out.push('#');
                rest = &rest[1..];
            }
        }
    }
    out + rest
}
