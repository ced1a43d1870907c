//! The strips of natural hair that fall outside the plan.

use kurbo::Point;

use crate::contour::edges;
use crate::cut::between;
use crate::order::{by_number, greater, lesser};
use crate::region::Patch;
use crate::strip_width::{mean_width, widest_circle};
use crate::{CaliperPoints, Contour, MAX_COORDINATE_MM};

/// A crumb smaller than this is not listed, mm²: a few hairs.
pub const CRUMB_MM2: f64 = 0.05;

/// How far inside the plan's own extent patches are cut, mm: an upright front edge of the plan then lies wholly on one
/// side of the cut, while no area to speak of changes its name.
const CUT_INSIDE_MM: f64 = 1e-6;

/// Where a strip lies, seen from the planned outline.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StripPlace {
    /// Above the plan.
    Above,
    /// Ahead of the plan, nearer the centre line than its front.
    Front,
    /// Below the plan, nearer the front than the arch.
    UnderFront,
    /// Below the plan, around the arch.
    UnderArch,
    /// Below the plan, nearer its end than the arch, or out beyond the end.
    Tail,
}

impl StripPlace {
    /// Every place, in the order of the report.
    pub const ALL: [StripPlace; 5] = [
        StripPlace::Above,
        StripPlace::Front,
        StripPlace::UnderFront,
        StripPlace::UnderArch,
        StripPlace::Tail,
    ];

    /// The name in files and messages.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            StripPlace::Above => "above",
            StripPlace::Front => "front",
            StripPlace::UnderFront => "under_front",
            StripPlace::UnderArch => "under_arch",
            StripPlace::Tail => "tail",
        }
    }
}

/// One strip of hair to remove.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RemovedStrip {
    /// Where it lies.
    pub place: StripPlace,
    /// Area that counts as removed, mm².
    pub area: f64,
    /// Mean width from the plan's edge to the hair's edge, mm.
    pub mean_width: f64,
    /// Width at the widest place, mm.
    pub widest: f64,
    /// The middle of the widest place, mm.
    pub at: Point,
}

/// The strips of the removed hair that counts ([`CountedRegions::removed`](crate::CountedRegions)), in the order of
/// [`StripPlace::ALL`], larger ones first.
///
/// Their areas add up to the counted removed area but for crumbs. The widths are those of the counted strip with the
/// edge tolerance given back, since the hair's own edge lies that much farther out: the mean width is the short side
/// of the rectangle of the same area and perimeter, the widest place the diameter of the largest circle inside.
/// A patch of hair that reaches around the plan is cut at the plan's front and end and, below the plan, halfway
/// between front and arch and halfway between arch and end.
#[must_use]
pub fn strips(
    removed: &[Patch],
    planned: &Contour,
    points: &CaliperPoints,
    edge_tolerance: f64,
) -> Vec<RemovedStrip> {
    let front = planned.bounds().x0 + CUT_INSIDE_MM;
    let end = planned.bounds().x1 - CUT_INSIDE_MM;
    let before_arch = 0.5 * (front + points.arch_top.x);
    let after_arch = 0.5 * (points.arch_top.x + end);
    let mut found = Vec::new();
    let mut list = |place, patch: &Patch| found.extend(strip(place, patch, edge_tolerance));
    for patch in removed {
        for ahead in between(patch, -MAX_COORDINATE_MM, front) {
            list(StripPlace::Front, &ahead);
        }
        for beyond in between(patch, end, MAX_COORDINATE_MM) {
            list(StripPlace::Tail, &beyond);
        }
        for along in between(patch, front, end) {
            if is_above(&along, planned) {
                list(StripPlace::Above, &along);
                continue;
            }
            for (place, low, high) in [
                (StripPlace::UnderFront, front, before_arch),
                (StripPlace::UnderArch, before_arch, after_arch),
                (StripPlace::Tail, after_arch, end),
            ] {
                for below in between(&along, low, high) {
                    list(place, &below);
                }
            }
        }
    }
    // The second sort leaves the order of the first within each place.
    by_number(by_number(found, |strip| -strip.area), |strip| f64::from(strip.place as u8))
}

fn strip(place: StripPlace, patch: &Patch, edge_tolerance: f64) -> Option<RemovedStrip> {
    let area = patch.area();
    if area < CRUMB_MM2 {
        return None;
    }
    let circle = widest_circle(patch)?;
    let mean = mean_width(patch);
    Some(RemovedStrip {
        place,
        area,
        mean_width: mean + edge_tolerance,
        // The largest circle in a wedge can be narrower than the mean of its rectangle; the widest place is not.
        widest: (2.0 * circle.radius).max(mean) + edge_tolerance,
        at: circle.centre,
    })
}

/// Whether a patch beside the plan lies above it. Between the plan's front and end the plan fills every upright line
/// somewhere, so a connected patch outside the plan is either above or below; the middle of its longest edge tells.
fn is_above(patch: &Patch, planned: &Contour) -> bool {
    let longest = edges(&patch.outer).max_by(|(a, b), (c, d)| a.distance(*b).total_cmp(&c.distance(*d)));
    let Some(middle) = longest.map(|(a, b)| a.midpoint(b)) else { return false };
    let crossed = planned
        .edges()
        .filter(|(a, b)| (a.x > middle.x) != (b.x > middle.x))
        .map(|(a, b)| a.y + (middle.x - a.x) / (b.x - a.x) * (b.y - a.y));
    // Compared with the middle of the plan, since the patch's own edge may be the plan's.
    let (low, high) =
        crossed.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), y| (lesser(low, y), greater(high, y)));
    middle.y > 0.5 * (low + high)
}
