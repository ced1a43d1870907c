//! The caliper points of a contour that is known by its points alone.

use kurbo::Point;

use crate::{CaliperPoints, Contour};

impl Contour {
    /// The points that a caliper is set on; mm.
    #[must_use]
    pub fn caliper_points(&self) -> CaliperPoints {
        let extreme = |key: &dyn Fn(&Point) -> f64| {
            self.points().iter().copied().max_by(|a, b| key(a).total_cmp(&key(b))).unwrap_or_default()
        };
        let front = extreme(&|p| -p.x);
        let arch_top = extreme(&|p| p.y);
        let tail_end = extreme(&|p| p.x);
        let crossings = |out: f64| {
            self.edges()
                .filter(move |(a, b)| (a.x > out) != (b.x > out))
                .map(move |(a, b)| a.lerp(b, (out - a.x) / (b.x - a.x)).y)
        };
        let low = |out: f64, fallback: f64| crossings(out).reduce(f64::min).unwrap_or(fallback);
        let high = |out: f64, fallback: f64| crossings(out).reduce(f64::max).unwrap_or(fallback);
        let inside = front.x + 1.5;
        CaliperPoints {
            front,
            bulb_bottom: Point::new(front.x, low(inside, front.y)),
            bulb_top: Point::new(front.x, high(inside, front.y)),
            arch_top,
            arch_under: Point::new(arch_top.x, low(arch_top.x, arch_top.y)),
            tail_end,
        }
    }
}
