//! The parametric brow outline: 17 numbers, eight curves.
//!
//! Seven cubics and the straight front edge, counter-clockwise in `(out, up)`: underside to the arch, underside to
//! the tail rib, tip, upper edge back to the arch, upper edge back to the front, soft top corner, front edge, soft
//! bottom corner. All joins are smooth except where `soft` is 0. The underside below the arch and the upper edge at
//! the arch carry the tangents that the artist asks for, so the arch top is exactly where `arch_x` and `arch_y` say.

mod derivatives;
mod pieces;
mod tail;

use std::fmt;

use kurbo::{BezPath, CubicBez, ParamCurve, PathEl, Point, Shape};

pub(crate) use self::derivatives::{CLEARANCES, Derivatives, clearances, derivatives};
pub(crate) use self::pieces::{DIP_AT, Pieces, SHARP_BELOW, build};
use crate::turning::turning_points;
use crate::{CaliperPoints, Contour, OutlineParams, Param};

/// Points of [`Outline::contour`] on each piece, in the order of the module's description. Dense where the curves
/// bend most for their length; the same for every outline, so that the points of two outlines correspond.
pub(crate) const POINTS_PER_PIECE: [usize; 8] = [20, 20, 6, 20, 20, 8, 4, 6];
/// Points of [`Outline::contour`] with soft front corners (with sharp ones coinciding points are left out).
pub const OUTLINE_POINTS: usize = 104;

/// A brow outline that was proved valid: it does not cross itself and every number is in range.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    params: OutlineParams,
    path: BezPath,
}

/// What is wrong with the numbers of an outline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OutlineFault {
    /// A number is not finite or outside the range of its parameter.
    OutOfRange,
    /// Front and arch are too close together for the front's slant.
    FrontTooShort,
    /// Between front and arch the underside may meet the upper edge.
    FrontPinched,
    /// The front corners are too round for so slim or so bowed a front.
    CornerTooRound,
    /// Between arch and tail the underside may meet the upper edge.
    TailPinched,
    /// The tail has no room: it folds back, or is too steep or too short for its tip.
    TailFolded,
}

impl OutlineFault {
    /// Stable code, the key of the page's text.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            OutlineFault::OutOfRange => "out_of_range",
            OutlineFault::FrontTooShort => "front_too_short",
            OutlineFault::FrontPinched => "front_pinched",
            OutlineFault::CornerTooRound => "corner_too_round",
            OutlineFault::TailPinched => "tail_pinched",
            OutlineFault::TailFolded => "tail_folded",
        }
    }
}

/// Why an outline was refused.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutlineError {
    /// What is wrong.
    pub fault: OutlineFault,
    /// The parameter to look at first.
    pub param: Param,
    /// Its value, in its own unit.
    pub value: f64,
}

impl fmt::Display for OutlineError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({} = {})", self.fault.code(), self.param.info().id, self.value)
    }
}

impl std::error::Error for OutlineError {}

impl Outline {
    /// Builds the outline of these numbers and tests it in constant time.
    ///
    /// The test is sufficient, not necessary: a few shapes that would not cross themselves are refused too, all of
    /// them odder than any brow.
    ///
    /// # Errors
    /// Where a number is out of range or the shape may cross itself; the error names the parameter to look at.
    pub fn try_new(params: &OutlineParams) -> Result<Outline, OutlineError> {
        let pieces = valid_pieces(params)?;
        Ok(Outline { params: *params, path: path_of(&pieces) })
    }

    /// The numbers.
    #[must_use]
    pub const fn params(&self) -> &OutlineParams {
        &self.params
    }

    /// The exact curves, closed, counter-clockwise in `(out, up)`; mm.
    #[must_use]
    pub const fn path(&self) -> &BezPath {
        &self.path
    }

    /// The outline as a polygon of [`OUTLINE_POINTS`] points at fixed curve parameters; mm. It stays within 0.03 mm
    /// of the curves, at the tip of a thick, steep tail within a tenth of its thickness.
    #[must_use]
    pub fn contour(&self) -> Contour {
        let mut points =
            self.pieces().map(|pieces| corresponding_points(&pieces).to_vec()).unwrap_or_default();
        if self.params.get(Param::Soft) < SHARP_BELOW && points.len() == OUTLINE_POINTS {
            // Sharp corners put the points of their curves in one place, where the next piece begins.
            let [.., top_corner, front, bottom_corner] = POINTS_PER_PIECE;
            points.truncate(OUTLINE_POINTS - bottom_corner);
            let front_starts = OUTLINE_POINTS - bottom_corner - front;
            points.drain(front_starts - top_corner..front_starts);
        }
        Contour::from_simple(points)
    }

    /// Area inside the exact curves, mm².
    #[must_use]
    pub fn area(&self) -> f64 {
        self.path.area().abs()
    }

    /// The points a caliper is set on, exact to rounding; mm.
    ///
    /// Bottom and top of the bulb are the front's corners as if they were sharp, the places that `bulb_y` and
    /// `bulb_t` speak of. The others are where the curves are foremost, highest and farthest out.
    #[must_use]
    pub fn caliper_points(&self) -> CaliperPoints {
        match self.pieces() {
            Some(pieces) => caliper_points(&pieces),
            // Not reachable: the pieces were built when the outline was made.
            None => {
                let origin = Point::ORIGIN;
                CaliperPoints {
                    front: origin,
                    bulb_bottom: origin,
                    bulb_top: origin,
                    arch_top: origin,
                    arch_under: origin,
                    tail_end: origin,
                }
            }
        }
    }

    fn pieces(&self) -> Option<Pieces> {
        build(&self.params)
    }
}

/// The curves of these numbers if they are in range and cannot cross themselves.
pub(crate) fn valid_pieces(params: &OutlineParams) -> Result<Pieces, OutlineError> {
    let refuse = |fault, param| OutlineError { fault, param, value: params.get(param) };
    if let Some(param) = params.first_out_of_range() {
        return Err(refuse(OutlineFault::OutOfRange, param));
    }
    let pieces = build(params).ok_or(refuse(OutlineFault::TailFolded, Param::TailX))?;
    check_front(&pieces).map_err(|(fault, param)| refuse(fault, param))?;
    check_corners(&pieces).map_err(|(fault, param)| refuse(fault, param))?;
    check_tail(&pieces).map_err(|(fault, param)| refuse(fault, param))?;
    Ok(pieces)
}

/// The part in front of the arch: the underside stays below the upper edge.
///
/// Both edges are graphs over `out` when their control abscissae do not decrease. Their heights differ by more than
/// `|shear| · w(t) · M` at equal curve parameter t, where `w` is the shear's Bernstein weight (1, 2/3, 0, 0) and M the
/// steepest leg of the chain that the shear moves. Two points at equal `out` differ in parameter only through the
/// shear, over which that chain climbs at most `|shear| · w · M`; so the underside is the lower one at every `out`.
fn check_front(pieces: &Pieces) -> Result<(), (OutlineFault, Param)> {
    let lower = control_points(&pieces.whole_lower_front);
    let upper = control_points(&pieces.whole_upper_front);
    if !(runs_outward(&lower) && runs_outward(&upper)) {
        return Err((OutlineFault::FrontTooShort, Param::ArchX));
    }
    match front_clearances(pieces).iter().position(|&clearance| clearance.is_nan() || clearance <= 0.0) {
        // The first pair is the bulb itself, the last belongs to the arch.
        Some(i) => {
            Err((OutlineFault::FrontPinched, [Param::Slant, Param::LowDip, Param::Under, Param::ArchT][i]))
        }
        None => Ok(()),
    }
}

/// How far each pair of control points in front of the arch is from letting the edges meet, mm.
pub(crate) fn front_clearances(pieces: &Pieces) -> [f64; 4] {
    let lower = control_points(&pieces.whole_lower_front);
    let upper = control_points(&pieces.whole_upper_front);
    let shear = pieces.shear.abs();
    let steepest = steepest_leg(if pieces.shear > 0.0 { &lower } else { &upper });
    let weights = [1.0, 2.0 / 3.0, 0.0, 0.0];
    std::array::from_fn(|i| {
        // A weight of 0 stands for itself even where a leg is upright and `steepest` infinite.
        let climb = if weights[i] > 0.0 && shear > 0.0 { shear * weights[i] * steepest } else { 0.0 };
        upper[i].y - lower[i].y - climb
    })
}

/// The same behind the arch.
pub(crate) fn tail_clearances(pieces: &Pieces) -> [f64; 4] {
    let (lower, upper) = (control_points(&pieces.lower_tail), control_points(&pieces.upper_tail));
    std::array::from_fn(|i| upper[3 - i].y - lower[i].y)
}

/// The soft corners: each runs forward only, along the middle of the two directions it joins. A cubic whose three legs
/// all advance along one direction cannot loop, nor meet the front edge that it continues.
fn check_corners(pieces: &Pieces) -> Result<(), (OutlineFault, Param)> {
    let clear = !pieces.soft || corner_clearances(pieces).iter().all(|&clearance| clearance > 0.0);
    if clear { Ok(()) } else { Err((OutlineFault::CornerTooRound, Param::Soft)) }
}

/// How far the middle leg of each soft corner, top and bottom, runs along the middle of the two directions that the
/// corner joins, as a share of the corner's width. The outer legs advance along that middle unless they are opposite.
pub(crate) fn corner_clearances(pieces: &Pieces) -> [f64; 2] {
    [&pieces.top_corner, &pieces.bottom_corner].map(|c| {
        let forward = (c.p1 - c.p0).normalize() + (c.p3 - c.p2).normalize();
        (c.p2 - c.p1).dot(forward) / (forward.hypot() * c.p0.distance(c.p3))
    })
}

/// The part behind the arch: equal control abscissae, so the heights alone decide. The tip lies beyond the rib.
fn check_tail(pieces: &Pieces) -> Result<(), (OutlineFault, Param)> {
    if !runs_outward(&control_points(&pieces.lower_tail)) {
        return Err((OutlineFault::TailFolded, Param::TailX));
    }
    match tail_clearances(pieces).iter().position(|&clearance| clearance.is_nan() || clearance <= 0.0) {
        Some(i) => {
            Err((OutlineFault::TailPinched, [Param::ArchT, Param::Under, Param::Full, Param::TipT][i]))
        }
        None => Ok(()),
    }
}

fn control_points(c: &CubicBez) -> [Point; 4] {
    [c.p0, c.p1, c.p2, c.p3]
}

fn runs_outward(points: &[Point; 4]) -> bool {
    points[0].x <= points[1].x
        && points[1].x <= points[2].x
        && points[2].x <= points[3].x
        && points[0].x < points[3].x
}

fn steepest_leg(points: &[Point; 4]) -> f64 {
    let slope = |a: Point, b: Point| {
        let leg = b - a;
        if leg.y == 0.0 { 0.0 } else { (leg.y / leg.x).abs() }
    };
    slope(points[0], points[1]).max(slope(points[1], points[2])).max(slope(points[2], points[3]))
}

/// The pieces as a closed path.
fn path_of(pieces: &Pieces) -> BezPath {
    let mut path = BezPath::with_capacity(10);
    let curve = |c: CubicBez| PathEl::CurveTo(c.p1, c.p2, c.p3);
    path.push(PathEl::MoveTo(pieces.lower_front.p0));
    for c in [pieces.lower_front, pieces.lower_tail, pieces.cap, pieces.upper_tail, pieces.upper_front] {
        path.push(curve(c));
    }
    if pieces.soft {
        path.push(curve(pieces.top_corner));
    }
    path.push(PathEl::LineTo(pieces.front.p1));
    if pieces.soft {
        path.push(curve(pieces.bottom_corner));
    }
    path.push(PathEl::ClosePath);
    path
}

/// The points of an outline at fixed curve parameters: every outline has the same number on every piece. With sharp
/// corners those of the corner curves coincide.
pub(crate) fn corresponding_points(pieces: &Pieces) -> [Point; OUTLINE_POINTS] {
    let mut points = [Point::ORIGIN; OUTLINE_POINTS];
    let mut slots = points.iter_mut();
    for (curve, count) in pieces.curves().iter().zip(POINTS_PER_PIECE) {
        for (i, slot) in slots.by_ref().take(count).enumerate() {
            *slot = curve.eval(i as f64 / count as f64);
        }
    }
    points
}

fn caliper_points(pieces: &Pieces) -> CaliperPoints {
    let all = [
        pieces.lower_front,
        pieces.lower_tail,
        pieces.cap,
        pieces.upper_tail,
        pieces.upper_front,
        pieces.top_corner,
        pieces.bottom_corner,
    ];
    // The arch first: where the bulb is exactly as high, the arch is meant.
    let arch = pieces.upper_tail.p3;
    let highest = all.iter().fold(arch, |best, c| farthest(c, best, |p| p.y));
    let foremost = all.iter().fold(pieces.front.p1, |best, c| farthest(c, best, |p| -p.x));
    let end = farthest(&pieces.cap, pieces.cap.p3, |p| p.x);
    let arch_under = if highest == arch { pieces.lower_tail.p0 } else { underside_at(pieces, highest.x) };
    CaliperPoints {
        front: foremost,
        bulb_bottom: pieces.bulb_bottom,
        bulb_top: pieces.bulb_top,
        arch_top: highest,
        arch_under,
        tail_end: end,
    }
}

/// The point of the curve that scores more than `best`, if any does; `score` is linear.
fn farthest(curve: &CubicBez, best: Point, score: impl Fn(Point) -> f64) -> Point {
    // Rounding in an extremum next to an end point must not outscore that end.
    let rounding = 1e-12;
    [curve.p0, curve.p3]
        .into_iter()
        .chain(turning_points(curve, &score))
        .fold(best, |best, p| if score(p) > score(best) + rounding { p } else { best })
}

/// The underside at this distance from the centre line, by bisection of the curve parameter (the curves run outward).
fn underside_at(pieces: &Pieces, x: f64) -> Point {
    let curve = if x < pieces.lower_tail.p0.x { pieces.whole_lower_front } else { pieces.lower_tail };
    let (mut low, mut high) = (0.0, 1.0);
    // 53 halvings exhaust the precision of the parameter.
    for _ in 0..53 {
        let middle = 0.5 * (low + high);
        if curve.eval(middle).x < x { low = middle } else { high = middle }
    }
    curve.eval(0.5 * (low + high))
}

#[cfg(test)]
mod tests;
