//! The natural brow from numbers taken with calipers.

use crate::{Contour, Outline, OutlineParams, Param};

/// Caliper numbers of one brow: mm, distances outward from the centre line, heights above the inner eye corners.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CaliperNumbers {
    /// Centre line to the front.
    pub front_out: f64,
    /// Height of the bottom of the bulb.
    pub bulb_bottom: f64,
    /// Height of the top of the bulb.
    pub bulb_top: f64,
    /// Centre line to the arch.
    pub arch_out: f64,
    /// Height of the top of the arch.
    pub arch_top: f64,
    /// Thickness at the arch.
    pub arch_thickness: f64,
    /// Centre line to the end point.
    pub tail_out: f64,
    /// Height of the end point.
    pub tail_up: f64,
    /// Thickness just before the end.
    pub tail_thickness: f64,
}

/// Why caliper numbers make no brow. Fields go by their names in [`CaliperNumbers`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CaliperError {
    /// Not a number, or out of any brow's range.
    OutOfRange {
        /// Which number.
        field: &'static str,
        /// Least value, mm.
        low: f64,
        /// Greatest value, mm.
        high: f64,
    },
    /// Two numbers contradict each other: `field` must exceed `other` by at least `margin`.
    Contradiction {
        /// The number that is too small.
        field: &'static str,
        /// The number that it must exceed.
        other: &'static str,
        /// By how much, mm.
        margin: f64,
    },
    /// Each number is possible, but no brow outline has them all.
    NoSuchOutline,
}

/// Least distance outward from front to arch and from arch to tail end, mm: shorter ones are slips, since natural
/// brows run 24 mm (SD 4) from bulb to arch (this project's model study on the Face Research Lab London Set).
const LEAST_RUN_MM: f64 = 5.0;
/// Rounds of moving the end of the outline until its outermost point is where the caliper was.
const TAIL_ROUNDS: usize = 20;
/// The end counts as reached within this, mm.
const TAIL_REACHED_MM: f64 = 1e-9;

impl CaliperNumbers {
    /// Every number with its name and the parameter whose range it shares.
    fn fields(&self) -> [(&'static str, f64, Param); 8] {
        [
            ("front_out", self.front_out, Param::FrontX),
            ("bulb_bottom", self.bulb_bottom, Param::BulbY),
            ("arch_out", self.arch_out, Param::ArchX),
            ("arch_top", self.arch_top, Param::ArchY),
            ("arch_thickness", self.arch_thickness, Param::ArchT),
            ("tail_out", self.tail_out, Param::TailX),
            ("tail_up", self.tail_up, Param::TailY),
            ("tail_thickness", self.tail_thickness, Param::TipT),
        ]
    }

    fn check(&self) -> Result<(), CaliperError> {
        let within = |field, value: f64, (low, high): (f64, f64)| {
            if (low..=high).contains(&value) {
                Ok(())
            } else {
                Err(CaliperError::OutOfRange { field, low, high })
            }
        };
        for (field, value, param) in self.fields() {
            within(field, value, param.info().range)?;
        }
        let (thinnest, thickest) = Param::BulbT.info().range;
        within("bulb_top", self.bulb_top, {
            let (low, high) = Param::BulbY.info().range;
            (low, high + thickest)
        })?;
        for (field, value, other, base, margin) in [
            ("bulb_top", self.bulb_top, "bulb_bottom", self.bulb_bottom, thinnest),
            ("arch_out", self.arch_out, "front_out", self.front_out, LEAST_RUN_MM),
            ("tail_out", self.tail_out, "arch_out", self.arch_out, LEAST_RUN_MM),
            ("arch_top", self.arch_top, "bulb_bottom", self.bulb_bottom, thinnest),
            ("arch_top", self.arch_top, "tail_up", self.tail_up, 0.0),
            ("arch_thickness", self.arch_thickness, "tail_thickness", self.tail_thickness, 0.0),
        ] {
            if value - base < margin {
                return Err(CaliperError::Contradiction { field, other, margin });
            }
        }
        within("bulb_top", self.bulb_top, (self.bulb_bottom + thinnest, self.bulb_bottom + thickest))
    }

    /// The outline with these numbers and the medians of natural brows for all that calipers do not tell; the front
    /// is upright.
    fn params(&self) -> OutlineParams {
        self.fields()
            .into_iter()
            .fold(OutlineParams::natural_median(), |params, (_, value, param)| params.with(param, value))
            .with(Param::BulbT, self.bulb_top - self.bulb_bottom)
            .with(Param::Slant, 0.0)
    }
}

/// The outline of a brow with these numbers. What calipers do not tell (roundness, softness, bow) is that of the
/// median natural brow, or plainer where that does not fit.
///
/// # Errors
/// Names the number that is out of range or the two that contradict each other.
pub fn outline_from_calipers(numbers: &CaliperNumbers) -> Result<Outline, CaliperError> {
    numbers.check()?;
    let usual = numbers.params();
    let straight = usual.with(Param::LowDip, 0.0).with(Param::Under, 0.0);
    let sharp = straight.with(Param::Soft, 0.2).with(Param::UpTens, 0.0).with(Param::TailTens, 0.0);
    [usual, straight, sharp]
        .iter()
        .find_map(|params| Outline::try_new(params).ok())
        .map(|outline| with_end_at(outline, numbers.tail_out, numbers.tail_up))
        .ok_or(CaliperError::NoSuchOutline)
}

/// The edge of a brow with these numbers: [`outline_from_calipers`] as a contour.
///
/// # Errors
/// As [`outline_from_calipers`].
pub fn contour_from_calipers(numbers: &CaliperNumbers) -> Result<Contour, CaliperError> {
    outline_from_calipers(numbers).map(|outline| outline.contour())
}

/// The outline with its outermost point at the end that was measured. The parameters place the middle of the tip,
/// which on a blunt, sloping tail is neither outermost nor at the same height.
fn with_end_at(outline: Outline, out: f64, up: f64) -> Outline {
    let mut best = outline;
    for _ in 0..TAIL_ROUNDS {
        let end = best.caliper_points().tail_end;
        let (off_out, off_up) = (out - end.x, up - end.y);
        if off_out.hypot(off_up) < TAIL_REACHED_MM {
            break;
        }
        let params = best.params();
        let moved = params
            .with(Param::TailX, params.get(Param::TailX) + off_out)
            .with(Param::TailY, params.get(Param::TailY) + off_up);
        match Outline::try_new(&moved) {
            Ok(next) => best = next,
            Err(_) => break,
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Round numbers near the medians of natural brows.
    const USUAL: CaliperNumbers = CaliperNumbers {
        front_out: 13.0,
        bulb_bottom: 16.0,
        bulb_top: 22.0,
        arch_out: 38.0,
        arch_top: 27.0,
        arch_thickness: 7.0,
        tail_out: 56.0,
        tail_up: 15.0,
        tail_thickness: 3.0,
    };

    #[test]
    fn outline_has_the_typed_numbers() {
        for numbers in [
            USUAL,
            CaliperNumbers { tail_thickness: 0.8, ..USUAL },
            CaliperNumbers { arch_top: 24.0, tail_up: 8.0, ..USUAL },
            CaliperNumbers { bulb_top: 19.0, arch_thickness: 4.0, ..USUAL },
            CaliperNumbers { front_out: 8.0, arch_out: 42.0, tail_out: 65.0, ..USUAL },
        ] {
            let outline = outline_from_calipers(&numbers).expect("a possible brow");
            let points = outline.caliper_points();
            for (typed, drawn) in [
                (numbers.front_out, points.front.x),
                (numbers.bulb_bottom, points.bulb_bottom.y),
                (numbers.bulb_top, points.bulb_top.y),
                (numbers.arch_out, points.arch_top.x),
                (numbers.arch_top, points.arch_top.y),
                (numbers.arch_top - numbers.arch_thickness, points.arch_under.y),
                (numbers.tail_out, points.tail_end.x),
                (numbers.tail_up, points.tail_end.y),
            ] {
                assert!((typed - drawn).abs() < 1e-6, "{typed} typed, {drawn} drawn: {numbers:?}");
            }
            let contour = contour_from_calipers(&numbers).expect("a possible brow");
            assert!(Contour::try_new(contour.points().to_vec()).is_ok());
        }
    }

    #[test]
    fn impossible_numbers_name_their_field() {
        let cases = [
            (CaliperNumbers { front_out: f64::NAN, ..USUAL }, "front_out"),
            (CaliperNumbers { tail_out: f64::INFINITY, ..USUAL }, "tail_out"),
            (CaliperNumbers { arch_thickness: -1.0, ..USUAL }, "arch_thickness"),
            (CaliperNumbers { bulb_top: f64::NAN, ..USUAL }, "bulb_top"),
            (CaliperNumbers { bulb_top: 40.0, ..USUAL }, "bulb_top"),
        ];
        for (numbers, wrong) in cases {
            match outline_from_calipers(&numbers) {
                Err(CaliperError::OutOfRange { field, low, high }) => {
                    assert!(field == wrong && low < high, "{field} for {wrong}");
                }
                other => panic!("{wrong}: {other:?}"),
            }
        }
        let cases = [
            (CaliperNumbers { bulb_top: 15.0, ..USUAL }, "bulb_top", "bulb_bottom"),
            (CaliperNumbers { arch_out: 15.0, ..USUAL }, "arch_out", "front_out"),
            (CaliperNumbers { tail_out: 39.0, ..USUAL }, "tail_out", "arch_out"),
            (CaliperNumbers { arch_top: 14.0, ..USUAL }, "arch_top", "bulb_bottom"),
            (CaliperNumbers { tail_up: 28.0, ..USUAL }, "arch_top", "tail_up"),
            (CaliperNumbers { tail_thickness: 8.0, ..USUAL }, "arch_thickness", "tail_thickness"),
        ];
        for (numbers, smaller, larger) in cases {
            match outline_from_calipers(&numbers) {
                Err(CaliperError::Contradiction { field, other, .. }) => {
                    assert_eq!((field, other), (smaller, larger));
                }
                other => panic!("{smaller}: {other:?}"),
            }
        }
    }
}
