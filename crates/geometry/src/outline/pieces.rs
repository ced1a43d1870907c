//! The formulas: from 17 numbers to eight curves.
//!
//! The formulas are those of this project's model study on the Face Research Lab London Set (DeBruine & Jones 2017,
//! CC BY 4.0), where they follow 165 natural brows to a mean of 0.12 mm.

use kurbo::{CubicBez, Line, ParamCurve, Point, Vec2};

use super::tail::{Tail, TailInput, solve_tail};
use crate::{OutlineParams, Param};

/// Softness below which a front corner is simply sharp: its curve would be shorter than a tenth of a millimetre.
pub(crate) const SHARP_BELOW: f64 = 0.02;
/// Share of the front edge, from its top, that the soft top corner takes at softness 1.
const TOP_CORNER_EDGE: f64 = 0.62;
/// Share of the front edge, from its bottom, that the soft bottom corner takes at softness 1.
const BOTTOM_CORNER_EDGE: f64 = 0.36;
/// Curve parameter up to which the soft top corner takes the upper edge at softness 1.
const TOP_CORNER_CURVE: f64 = 0.32;
/// Curve parameter up to which the soft bottom corner takes the lower edge at softness 1.
const BOTTOM_CORNER_CURVE: f64 = 0.16;
/// Handle length of the corner curves as a share of the distance to the corner: near 0.55, which is a circle's.
const CORNER_HANDLE: f64 = 0.6;
/// Curve parameter at which `low_dip` is measured. The control point moves 9/4 as far as the curve does there.
pub(crate) const DIP_AT: f64 = 1.0 / 3.0;
const DIP_CONTROL: f64 = 2.25;

/// The eight curves of an outline, each in the outline's counter-clockwise direction, and the points they hang on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pieces {
    /// Underside from the bottom corner to the arch, trimmed where the corner's curve begins.
    pub lower_front: CubicBez,
    /// Underside from the arch to the rib.
    pub lower_tail: CubicBez,
    /// The tip, from the rib's bottom to its top.
    pub cap: CubicBez,
    /// Upper edge from the rib back to the arch.
    pub upper_tail: CubicBez,
    /// Upper edge from the arch back to the top corner, trimmed where the corner's curve begins.
    pub upper_front: CubicBez,
    /// The soft top corner.
    pub top_corner: CubicBez,
    /// The straight part of the front edge, downwards.
    pub front: Line,
    /// The soft bottom corner.
    pub bottom_corner: CubicBez,
    /// False where the corners are sharp and both corner curves are single points.
    pub soft: bool,
    /// The whole underside in front of the arch, outwards, before trimming.
    pub whole_lower_front: CubicBez,
    /// The whole upper edge in front of the arch, outwards, before trimming.
    pub whole_upper_front: CubicBez,
    /// Bottom corner of the front.
    pub bulb_bottom: Point,
    /// Top corner of the front.
    pub bulb_top: Point,
    /// Sideways offset of the top corner from the bottom corner.
    pub shear: f64,
}

impl Pieces {
    /// All eight as cubics, in the outline's order.
    pub(crate) fn curves(&self) -> [CubicBez; 8] {
        let front = &self.front;
        let straight = CubicBez::new(front.p0, front.eval(1.0 / 3.0), front.eval(2.0 / 3.0), front.p1);
        [
            self.lower_front,
            self.lower_tail,
            self.cap,
            self.upper_tail,
            self.upper_front,
            self.top_corner,
            straight,
            self.bottom_corner,
        ]
    }
}

/// Builds the curves. `None` where the tail has no solution (see [`solve_tail`]); otherwise nothing is checked.
pub(crate) fn build(params: &OutlineParams) -> Option<Pieces> {
    rib(params).map(|tail| assemble(params, tail))
}

/// Solves for the rib before the tip. It depends on arch, tail end, tip and the tail's two characters alone.
pub(crate) fn rib(params: &OutlineParams) -> Option<Tail> {
    let p = |param| params.get(param);
    solve_tail(&TailInput {
        arch_top: Point::new(p(Param::ArchX), p(Param::ArchY)),
        arch_t: p(Param::ArchT),
        end: Point::new(p(Param::TailX), p(Param::TailY)),
        tip_t: p(Param::TipT),
        tail_tens: p(Param::TailTens),
        full: p(Param::Full),
    })
}

/// Builds the curves on a solved rib.
pub(crate) fn assemble(params: &OutlineParams, tail: Tail) -> Pieces {
    let p = |param| params.get(param);
    let (front_x, bulb_y, bulb_t) = (p(Param::FrontX), p(Param::BulbY), p(Param::BulbT));
    let (arch_x, arch_y, arch_t, round) =
        (p(Param::ArchX), p(Param::ArchY), p(Param::ArchT), p(Param::Round));
    let shear = bulb_t * p(Param::Slant).to_radians().tan();
    let under_slope = p(Param::Under).to_radians().tan();
    let arch_under = arch_y - arch_t;
    let bulb_top_y = bulb_y + bulb_t;

    let span = arch_x - front_x;
    let reach = 2.0 / 3.0 * (span - shear.max(0.0)) * round;
    let whole_lower_front = CubicBez::new(
        (front_x, bulb_y),
        (front_x + span / 3.0, bulb_y + (arch_under - bulb_y) / 3.0 - DIP_CONTROL * p(Param::LowDip)),
        (arch_x - reach, arch_under - under_slope * reach),
        (arch_x, arch_under),
    );
    let whole_upper_front = CubicBez::new(
        (front_x + shear, bulb_top_y),
        (
            front_x + span / 3.0 + 2.0 / 3.0 * shear,
            bulb_top_y + (arch_y - bulb_top_y) * (1.0 + 2.0 * p(Param::UpTens)) / 3.0,
        ),
        (arch_x - reach, arch_y),
        (arch_x, arch_y),
    );

    let Tail { x, top, bottom, upper_y, thickness, upper_dir, lower_dir, handle } = tail;
    let reach_out = 2.0 / 3.0 * (x - arch_x) * round;
    let late_x = arch_x + 2.0 / 3.0 * (x - arch_x);
    let lower_tail = CubicBez::new(
        (arch_x, arch_under),
        (arch_x + reach_out, arch_under + under_slope * reach_out),
        (late_x, upper_y - thickness),
        (x, bottom),
    );
    let upper_tail =
        CubicBez::new((x, top), (late_x, upper_y), (arch_x + reach_out, arch_y), (arch_x, arch_y));
    let (rib_bottom, rib_top) = (Point::new(x, bottom), Point::new(x, top));
    let cap =
        CubicBez::new(rib_bottom, rib_bottom + handle * lower_dir, rib_top + handle * upper_dir, rib_top);

    let (bulb_bottom, bulb_top) = (whole_lower_front.p0, whole_upper_front.p0);
    let soft = if p(Param::Soft) < SHARP_BELOW { 0.0 } else { p(Param::Soft) };
    let top_on_edge = bulb_top.lerp(bulb_bottom, TOP_CORNER_EDGE * soft);
    let bottom_on_edge = bulb_bottom.lerp(bulb_top, BOTTOM_CORNER_EDGE * soft);
    let upper_front = whole_upper_front.subsegment(TOP_CORNER_CURVE * soft..1.0);
    let lower_front = whole_lower_front.subsegment(BOTTOM_CORNER_CURVE * soft..1.0);
    Pieces {
        lower_front,
        lower_tail,
        cap,
        upper_tail,
        upper_front: reversed(upper_front),
        top_corner: reversed(corner(top_on_edge, bulb_top, upper_front)),
        front: Line::new(top_on_edge, bottom_on_edge),
        bottom_corner: corner(bottom_on_edge, bulb_bottom, lower_front),
        soft: soft > 0.0,
        whole_lower_front,
        whole_upper_front,
        bulb_bottom,
        bulb_top,
        shear,
    }
}

/// The curve that rounds a corner, from the front edge to the start of a trimmed edge.
fn corner(on_edge: Point, corner: Point, trimmed: CubicBez) -> CubicBez {
    let on_curve = trimmed.p0;
    let along: Vec2 = (trimmed.p1 - trimmed.p0).normalize();
    let along = if along.is_finite() { along } else { Vec2::ZERO };
    let reach = CORNER_HANDLE * on_curve.distance(corner);
    CubicBez::new(on_edge, on_edge.lerp(corner, CORNER_HANDLE), on_curve - reach * along, on_curve)
}

fn reversed(c: CubicBez) -> CubicBez {
    CubicBez::new(c.p3, c.p2, c.p1, c.p0)
}
