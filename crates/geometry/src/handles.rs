//! Points on and near an outline that can be dragged, and what dragging them means for the numbers.
//!
//! Every parameter has a handle. A handle is free in as many directions as it moves the outline by itself: one
//! that lies on a fixed curve follows only the part of the drag along its own track.

use kurbo::{ParamCurve, Point, Vec2};

use crate::order::within;
use crate::outline::{DIP_AT, Pieces, build};
use crate::{Outline, OutlineParams, Param};

/// What there is to know of a handle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OutlineHandleInfo {
    /// Name in edits and messages.
    pub id: &'static str,
    /// The parameters that dragging it changes.
    pub moves: &'static [Param],
}

/// A handle of one outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutlineHandle {
    /// Name in edits and messages.
    pub id: &'static str,
    /// Where it is; mm, side frame `(out, up)`.
    pub at: Point,
    /// The parameters that dragging it changes.
    pub moves: &'static [Param],
}

const fn handle(id: &'static str, moves: &'static [Param]) -> OutlineHandleInfo {
    OutlineHandleInfo { id, moves }
}

/// Every handle, in the order in which the keyboard walks them: along the brow from front to tail.
pub const OUTLINE_HANDLES: [OutlineHandleInfo; 14] = [
    handle("front", &[Param::FrontX, Param::BulbY]),
    handle("bulb_bottom", &[Param::FrontX, Param::BulbY, Param::BulbT, Param::Slant]),
    handle("bulb_top", &[Param::BulbT, Param::Slant]),
    handle("soft", &[Param::Soft]),
    handle("up_tens", &[Param::UpTens]),
    handle("low_dip", &[Param::LowDip]),
    handle("arch_top", &[Param::ArchX, Param::ArchY]),
    handle("arch_under", &[Param::ArchT]),
    handle("round", &[Param::Round]),
    handle("under", &[Param::Under]),
    handle("tail_tens", &[Param::TailTens]),
    handle("full", &[Param::Full]),
    handle("tip", &[Param::TipT]),
    handle("tail_end", &[Param::TailX, Param::TailY]),
];

/// Where on the front's upper edge its tension is pulled (curve parameter): where the control point acts most.
const UP_TENS_AT: f64 = 1.0 / 3.0;
/// Where on the tail's edges tension and fullness are pulled, from the arch (curve parameter).
const TAIL_AT: f64 = 2.0 / 3.0;
/// The softness handle runs into the bulb from its top corner, from this share of the bulb's thickness …
const SOFT_FROM: f64 = 0.12;
/// … over this share more at softness 1: clear of the corner's own handle and of the front's.
const SOFT_TRAVEL: f64 = 0.45;
/// The slope handle stands this far outward of the arch, mm: a lever long enough for steady fingers.
const UNDER_LEVER_MM: f64 = 6.0;
/// The tip handle stands this far back from the end, mm, beside the tail.
const TIP_BACK_MM: f64 = 2.0;
/// A number acts on its handle's place by less than this, mm per whole range: the drag then says nothing of it.
const NO_EFFECT_MM: f64 = 1e-3;
/// Steps from the present value to either end of a range in which a turn of the height is looked for.
const SEARCH_STEPS: u32 = 24;

impl Outline {
    /// Where the handles of this outline are.
    #[must_use]
    pub fn handles(&self) -> Vec<OutlineHandle> {
        OUTLINE_HANDLES
            .iter()
            .filter_map(|info| {
                let at = handle_at(self.params(), info.id)?;
                Some(OutlineHandle { id: info.id, at, moves: info.moves })
            })
            .collect()
    }
}

/// The parameters after dragging a handle to a point (mm, side frame), each clamped to its range; `None` for a name
/// that is no handle, a point that is not finite, or parameters without an outline. Validity of the result is for
/// [`Outline::try_new`] to say.
///
/// Within the ranges this is the inverse of [`Outline::handles`]: dragging a handle to where it is changes nothing,
/// and a handle that moves two parameters lands exactly on the point.
#[must_use]
pub fn params_with_handle_at(params: &OutlineParams, id: &str, to: Point) -> Option<OutlineParams> {
    let from = handle_at(params, id)?;
    if !to.is_finite() {
        return None;
    }
    let p = |param| params.get(param);
    let by = to - from;
    let set = |changes: &[(Param, f64)]| {
        Some(changes.iter().fold(*params, |new, &(param, value)| new.with(param, clamped(param, value))))
    };
    let bulb_bottom = Point::new(p(Param::FrontX), p(Param::BulbY));
    match id {
        "front" => set(&[(Param::FrontX, p(Param::FrontX) + by.x), (Param::BulbY, p(Param::BulbY) + by.y)]),
        "bulb_bottom" => {
            let top = bulb_top(params);
            // Where the corner reaches the end of a range, the rest follows from what it could do.
            let front_x = clamped(Param::FrontX, to.x);
            let bulb_y = clamped(Param::BulbY, to.y);
            let bulb_t = clamped(Param::BulbT, top.y - bulb_y);
            set(&[
                (Param::FrontX, front_x),
                (Param::BulbY, bulb_y),
                (Param::BulbT, bulb_t),
                (Param::Slant, (top.x - front_x).atan2(bulb_t).to_degrees()),
            ])
        }
        "bulb_top" => {
            let bulb_t = clamped(Param::BulbT, to.y - bulb_bottom.y);
            let slant = (to.x - bulb_bottom.x).atan2(bulb_t).to_degrees();
            set(&[(Param::BulbT, bulb_t), (Param::Slant, slant)])
        }
        "soft" => {
            let along = (to - bulb_top(params)).dot(soft_direction()) / p(Param::BulbT);
            set(&[(Param::Soft, (along - SOFT_FROM) / SOFT_TRAVEL)])
        }
        "arch_top" => set(&[(Param::ArchX, to.x), (Param::ArchY, to.y)]),
        "arch_under" => set(&[(Param::ArchT, p(Param::ArchY) - to.y)]),
        "low_dip" => set(&[(Param::LowDip, p(Param::LowDip) - by.y)]),
        "under" => {
            let slope = (to.y - (p(Param::ArchY) - p(Param::ArchT))) / UNDER_LEVER_MM;
            set(&[(Param::Under, slope.atan().to_degrees())])
        }
        "round" => {
            let tail = Point::new(arch_tail_span(params)?, 0.0);
            set(&[(Param::Round, (to.x - p(Param::ArchX)) / (2.0 / 3.0 * tail.x))])
        }
        "tip" => {
            let (end, along) = tail_axis(params);
            set(&[(Param::TipT, 2.0 * (to - end).dot(below(along)))])
        }
        "tail_end" => set(&[(Param::TailX, to.x), (Param::TailY, to.y)]),
        "up_tens" => solve(params, id, Param::UpTens, to.y),
        "tail_tens" => solve(params, id, Param::TailTens, to.y),
        "full" => solve(params, id, Param::Full, to.y),
        _ => None,
    }
}

/// Where one handle is; mm, side frame.
fn handle_at(params: &OutlineParams, id: &str) -> Option<Point> {
    let pieces: Pieces = build(params)?;
    let p = |param| params.get(param);
    Some(match id {
        "front" => pieces.bulb_bottom.midpoint(pieces.bulb_top),
        "bulb_bottom" => pieces.bulb_bottom,
        "bulb_top" => pieces.bulb_top,
        "soft" => {
            let along = SOFT_FROM + SOFT_TRAVEL * p(Param::Soft);
            pieces.bulb_top + along * p(Param::BulbT) * soft_direction()
        }
        "up_tens" => pieces.whole_upper_front.eval(UP_TENS_AT),
        "low_dip" => pieces.whole_lower_front.eval(DIP_AT),
        "arch_top" => Point::new(p(Param::ArchX), p(Param::ArchY)),
        "arch_under" => pieces.lower_tail.p0,
        "round" => pieces.upper_tail.p2,
        "under" => {
            let slope = p(Param::Under).to_radians().tan();
            pieces.lower_tail.p0 + UNDER_LEVER_MM * Vec2::new(1.0, slope)
        }
        "tail_tens" => pieces.upper_tail.eval(1.0 - TAIL_AT),
        "full" => pieces.lower_tail.eval(TAIL_AT),
        "tip" => {
            let (end, along) = tail_axis(params);
            end - TIP_BACK_MM * along + 0.5 * p(Param::TipT) * below(along)
        }
        "tail_end" => Point::new(p(Param::TailX), p(Param::TailY)),
        _ => return None,
    })
}

fn clamped(param: Param, value: f64) -> f64 {
    let (least, greatest) = param.info().range;
    within(value, least, greatest)
}

fn bulb_top(params: &OutlineParams) -> Point {
    let bulb_t = params.get(Param::BulbT);
    let shear = bulb_t * params.get(Param::Slant).to_radians().tan();
    Point::new(params.get(Param::FrontX) + shear, params.get(Param::BulbY) + bulb_t)
}

/// From the bulb's top corner into the bulb: outward and down.
fn soft_direction() -> Vec2 {
    Vec2::new(std::f64::consts::FRAC_1_SQRT_2, -std::f64::consts::FRAC_1_SQRT_2)
}

/// Outward distance from the arch to the rib before the tip; it does not depend on `round`.
fn arch_tail_span(params: &OutlineParams) -> Option<f64> {
    let pieces = build(params)?;
    let span = pieces.cap.p0.x - params.get(Param::ArchX);
    (span > 0.0).then_some(span)
}

/// The end of the tail and the direction there from the middle of the arch; it does not depend on `tip_t`.
fn tail_axis(params: &OutlineParams) -> (Point, Vec2) {
    let end = Point::new(params.get(Param::TailX), params.get(Param::TailY));
    let arch =
        Point::new(params.get(Param::ArchX), params.get(Param::ArchY) - params.get(Param::ArchT) / 2.0);
    (end, (end - arch).normalize())
}

/// Across the tail, towards the underside.
fn below(along: Vec2) -> Vec2 {
    Vec2::new(along.y, -along.x)
}

/// The value of one bare-number parameter that puts its handle at this height, or as near as its range lets it.
///
/// The rib moves with the parameter and leaves no closed form. On a plain brow the height changes one way with each of
/// the three; on a tail as thick as it is long it may turn, so the value nearest to the present one is looked for: a
/// drag then never jumps, and a drag to nowhere changes nothing.
fn solve(params: &OutlineParams, id: &str, param: Param, height: f64) -> Option<OutlineParams> {
    let above = |value: f64| handle_at(&params.with(param, value), id).map(|point| point.y - height);
    let now = params.get(param);
    let (least, greatest) = param.info().range;
    let mut nearest = (now, above(now)?);
    if nearest.1 == 0.0 {
        return Some(*params);
    }
    let mut effect = 0.0_f64;
    let mut crossed = None;
    for step in 1..=SEARCH_STEPS {
        let [before, share] = [step - 1, step].map(|step| f64::from(step) / f64::from(SEARCH_STEPS));
        for end in [least, greatest] {
            let (inner, outer) = (now + before * (end - now), now + share * (end - now));
            let Some(off) = above(inner) else { continue };
            // Where the tail folds there is no outline: the drag stops before.
            let outer =
                if above(outer).is_some() { outer } else { halved(inner, outer, |v| above(v).is_none()) };
            let beyond = above(outer).unwrap_or(off);
            effect = effect.max((beyond - off).abs());
            if (off < 0.0) != (beyond < 0.0) {
                crossed.get_or_insert((inner, outer, off < 0.0));
            }
            // The height may be passed before it is seen that the parameter has an effect.
            if let Some((inner, outer, is_below)) = crossed.filter(|_| effect >= NO_EFFECT_MM) {
                let value = halved(inner, outer, |v| above(v).is_none_or(|at| (at < 0.0) != is_below));
                return Some(params.with(param, clamped(param, value)));
            }
            if beyond.abs() < nearest.1.abs() {
                nearest = (outer, beyond);
            }
        }
    }
    let value = if effect < NO_EFFECT_MM { now } else { nearest.0 };
    Some(params.with(param, clamped(param, value)))
}

/// The last value from `inner` towards `outer` for which `is_beyond` does not hold yet; 60 halvings of a range of 2
/// exhaust the precision of the result.
fn halved(inner: f64, outer: f64, is_beyond: impl Fn(f64) -> bool) -> f64 {
    let (mut inner, mut outer) = (inner, outer);
    for _ in 0..60 {
        let middle = 0.5 * (inner + outer);
        if is_beyond(middle) { outer = middle } else { inner = middle }
    }
    inner
}

#[cfg(test)]
mod tests;
