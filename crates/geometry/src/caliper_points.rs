//! The points a caliper is set on.

use kurbo::Point;

/// The six points of one brow that distances and heights are taken from; mm, side frame `(out, up)`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CaliperPoints {
    /// The foremost point, nearest the centre line.
    pub front: Point,
    /// The bottom of the bulb, at the front.
    pub bulb_bottom: Point,
    /// The top of the bulb, at the front.
    pub bulb_top: Point,
    /// The highest point.
    pub arch_top: Point,
    /// The underside straight below `arch_top`.
    pub arch_under: Point,
    /// The very end of the tail, farthest out.
    pub tail_end: Point,
}

impl CaliperPoints {
    /// The same points, each taken elsewhere.
    #[must_use]
    pub fn map(&self, to: impl Fn(Point) -> Point) -> CaliperPoints {
        CaliperPoints {
            front: to(self.front),
            bulb_bottom: to(self.bulb_bottom),
            bulb_top: to(self.bulb_top),
            arch_top: to(self.arch_top),
            arch_under: to(self.arch_under),
            tail_end: to(self.tail_end),
        }
    }
}
