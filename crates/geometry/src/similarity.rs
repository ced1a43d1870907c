//! The similarity transform that brings one set of points nearest to another.

use kurbo::{Point, Vec2};

/// Turn, scale and shift: `to = scale · R(turn) · from + shift`. Never a reflection.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Similarity {
    /// Units of `to` for each unit of `from`.
    pub scale: f64,
    /// Turn from x towards y, radians.
    pub turn: f64,
    /// What the origin of `from` becomes, units of `to`.
    pub shift: Vec2,
}

impl Similarity {
    /// The image of a point.
    #[must_use]
    pub fn apply(&self, at: Point) -> Point {
        let (sin, cos) = self.turn.sin_cos();
        let turned = Vec2::new(cos * at.x - sin * at.y, sin * at.x + cos * at.y);
        (self.scale * turned + self.shift).to_point()
    }

    /// The way back: `from = inverse(to)`.
    #[must_use]
    pub fn inverse(&self) -> Similarity {
        let back = Similarity { scale: 1.0 / self.scale, turn: -self.turn, shift: Vec2::ZERO };
        Similarity { shift: -back.apply(self.shift.to_point()).to_vec2(), ..back }
    }

    /// The same turn about the same middle with another scale: `middle` (units of `from`) goes where it went.
    #[must_use]
    pub fn with_scale(&self, scale: f64, middle: Point) -> Similarity {
        let fixed = self.apply(middle);
        let moved = Similarity { scale, ..*self }.apply(middle);
        Similarity { scale, turn: self.turn, shift: self.shift + (fixed - moved) }
    }
}

/// The similarity that makes the sum of squared distances between its images of `from` and `to` least. `None` where there
/// are fewer than two points, unequally many, points that are not finite, or all of `from` on one spot.
///
/// *Source:* Umeyama, S. (1991), Least-squares estimation of transformation parameters between two point patterns,
/// doi 10.1109/34.88573. In the plane his singular value decomposition comes down to the angle and the length of one
/// complex number, and the reflection that he rules out cannot arise.
#[must_use]
pub fn similarity(from: &[Point], to: &[Point]) -> Option<Similarity> {
    if from.len() < 2 || from.len() != to.len() {
        return None;
    }
    let (from_middle, to_middle) = (middle(from), middle(to));
    let (mut along, mut across, mut spread) = (0.0, 0.0, 0.0);
    for (a, b) in from.iter().zip(to) {
        let (a, b) = (*a - from_middle, *b - to_middle);
        along += a.dot(b);
        across += a.cross(b);
        spread += a.hypot2();
    }
    let (scale, turn) = (along.hypot(across) / spread, across.atan2(along));
    let centred = Similarity { scale, turn, shift: Vec2::ZERO };
    let shift = to_middle - centred.apply(from_middle);
    let found = Similarity { shift, ..centred };
    (found.scale.is_finite() && found.scale > 0.0 && found.shift.is_finite()).then_some(found)
}

/// The mean of points; not a number where there are none.
pub(crate) fn middle(points: &[Point]) -> Point {
    #[expect(clippy::cast_precision_loss, reason = "a count of points")]
    let count = points.len() as f64;
    (points.iter().map(|at| at.to_vec2()).fold(Vec2::ZERO, |sum, at| sum + at) / count).to_point()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn similarity_is_found_again(
            points in prop::collection::vec((-50.0..50.0_f64, -50.0..50.0_f64), 3..12),
            scale in 0.05..20.0_f64, turn in -3.1..3.1_f64, x in -900.0..900.0_f64, y in -900.0..900.0_f64,
        ) {
            let from: Vec<Point> = points.into_iter().map(Point::from).collect();
            let spread: f64 = from.iter().map(|at| (*at - middle(&from)).hypot2()).sum();
            prop_assume!(spread > 1.0);
            let true_one = Similarity { scale, turn, shift: Vec2::new(x, y) };
            let to: Vec<Point> = from.iter().map(|at| true_one.apply(*at)).collect();
            let found = similarity(&from, &to).expect("enough points");
            for (a, b) in from.iter().zip(&to) {
                prop_assert!(found.apply(*a).distance(*b) < 1e-9 * (1.0 + b.to_vec2().hypot()));
            }
        }
    }

    #[test]
    fn nothing_is_made_of_nothing() {
        let at = Point::new(3.0, 4.0);
        assert_eq!(similarity(&[], &[]), None);
        assert_eq!(similarity(&[at], &[at]), None);
        assert_eq!(similarity(&[at, at], &[at, Point::ZERO]), None);
        assert_eq!(similarity(&[at, Point::ZERO], &[at]), None);
        assert_eq!(similarity(&[at, Point::new(f64::NAN, 0.0)], &[at, Point::ZERO]), None);
    }

    #[test]
    fn other_scale_keeps_the_middle() {
        let found = Similarity { scale: 2.0, turn: 0.3, shift: Vec2::new(5.0, -1.0) };
        let about = Point::new(7.0, 2.0);
        let other = found.with_scale(2.5, about);
        assert!(other.apply(about).distance(found.apply(about)) < 1e-12);
        let apart = other.apply(Point::new(8.0, 2.0)) - other.apply(about);
        assert!((apart.hypot() - 2.5).abs() < 1e-12);
    }
}
