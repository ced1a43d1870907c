//! The tail rib and its cap: where the two edges of the tail end and how they are closed.

use kurbo::{Point, Vec2};

/// Most rounds of the fixed point. It shrinks its error two- to twentyfold each round on any tail thinner than it
/// is long; one that has not settled by then is refused rather than drawn with its end in the wrong place.
const MAX_ROUNDS: usize = 60;
/// A thick tip on a short steep tail makes the plain rounds swing from side to side; from this round on they go half
/// way only, which brings most of them to rest.
const DAMPED_FROM: usize = 20;
/// Settled when the edges' end directions move less than this, radians: far below any visible length.
const SETTLED: f64 = 1e-12;
/// Least outward share of the tail's end direction. Steeper and the rib, which is upright, has no thickness to give.
const LEAST_OUTWARD: f64 = 0.05;

/// The arch end of the tail and the numbers that shape it; mm and bare numbers.
#[derive(Clone, Copy, Debug)]
pub(crate) struct TailInput {
    pub arch_top: Point,
    pub arch_t: f64,
    pub end: Point,
    pub tip_t: f64,
    pub tail_tens: f64,
    pub full: f64,
}

/// Where the upright rib before the tip lies, and what meets it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tail {
    /// The rib's distance from the centre line.
    pub x: f64,
    /// Heights of its two ends.
    pub top: f64,
    pub bottom: f64,
    /// Height of the second inner control point of the upper edge, and the thickness below it.
    pub upper_y: f64,
    pub thickness: f64,
    /// Directions in which the edges reach the rib; unit vectors.
    pub upper_dir: Vec2,
    pub lower_dir: Vec2,
    /// Length of the cap's handles.
    pub handle: f64,
}

/// Solves for the rib so that the cap's middle is exactly the end of the tail and the cap continues both edges
/// without a kink. `None` where the tail folds back or the rounds do not settle.
pub(crate) fn solve_tail(input: &TailInput) -> Option<Tail> {
    let TailInput { arch_top, arch_t, end, tip_t, tail_tens, full } = *input;
    // A cubic half turn of width w has handles 2/3 w long; its middle then lies 1/2 w ahead of its ends.
    let handle = 2.0 * tip_t / 3.0;
    let start = (end - Point::new(arch_top.x, arch_top.y - arch_t / 2.0)).normalize();
    let (mut upper_dir, mut lower_dir) = (start, start);
    for round in 0..MAX_ROUNDS {
        let mid = (upper_dir + lower_dir) / 2.0;
        let length = mid.hypot();
        // NaN fails this comparison too.
        if !(mid.x > LEAST_OUTWARD * length && length > LEAST_OUTWARD) {
            return None;
        }
        // The rib is upright, the tip's thickness is measured across the tail.
        let across = tip_t * length / mid.x;
        let rib = end - 0.75 * handle * mid;
        let (top, bottom) = (rib.y + across / 2.0, rib.y - across / 2.0);
        let upper_y = top + (arch_top.y - top) * (1.0 + 2.0 * tail_tens) / 3.0;
        let excess = arch_t - across;
        let thickness = across + if excess > 0.0 { excess * (2.0 + full) / 3.0 } else { excess / 3.0 };
        let leg = (rib.x - arch_top.x) / 3.0;
        if leg <= 0.0 {
            return None;
        }
        let next_upper = Vec2::new(leg, top - upper_y).normalize();
        let next_lower = Vec2::new(leg, bottom - (upper_y - thickness)).normalize();
        let change = (next_upper - upper_dir).hypot() + (next_lower - lower_dir).hypot();
        (upper_dir, lower_dir) = if round < DAMPED_FROM {
            (next_upper, next_lower)
        } else {
            ((upper_dir + next_upper).normalize(), (lower_dir + next_lower).normalize())
        };
        if change < SETTLED {
            return Some(Tail { x: rib.x, top, bottom, upper_y, thickness, upper_dir, lower_dir, handle });
        }
    }
    None
}
