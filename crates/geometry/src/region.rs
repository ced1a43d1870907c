//! Areas in common and areas apart.

use kurbo::{BezPath, Point};

use crate::Contour;
use crate::contour::{bounds, closed_path, signed_area};
use crate::erosion::erosion_outline;
use crate::order::by_number;
use crate::overlap::overlap_area;
use crate::sweep::{Windings, areas};

/// How far a band reaches beyond the hair it holds, mm: farther than any rounding.
const BAND_MARGIN_MM: f64 = 1e-3;

/// A connected area: an outer ring counter-clockwise and holes clockwise; mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    /// The outer ring, counter-clockwise, the last point not repeated.
    pub outer: Vec<Point>,
    /// The holes, clockwise.
    pub holes: Vec<Vec<Point>>,
}

impl Patch {
    /// Area, mm².
    #[must_use]
    pub fn area(&self) -> f64 {
        self.rings().map(signed_area).sum()
    }

    /// Outer ring first, then the holes.
    pub fn rings(&self) -> impl Iterator<Item = &[Point]> {
        std::iter::once(self.outer.as_slice()).chain(self.holes.iter().map(Vec::as_slice))
    }
}

/// Total area of patches, mm².
#[must_use]
pub fn patches_area(patches: &[Patch]) -> f64 {
    patches.iter().map(Patch::area).sum()
}

/// All rings as one path, to be filled by either rule.
#[must_use]
pub fn patches_path(patches: &[Patch]) -> BezPath {
    let mut path = BezPath::new();
    for ring in patches.iter().flat_map(Patch::rings) {
        path.extend(closed_path(ring));
    }
    path
}

/// What a plan keeps, removes and adds on one side, as it is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Regions {
    /// natural ∩ planned.
    pub kept: Vec<Patch>,
    /// natural − planned.
    pub removed: Vec<Patch>,
    /// planned − natural.
    pub added: Vec<Patch>,
}

/// What counts of it, and how large all of it is.
#[derive(Clone, Debug, PartialEq)]
pub struct CountedRegions {
    /// (natural shrunk by the edge tolerance) − planned: what counts as removed.
    pub removed: Vec<Patch>,
    /// The areas of all, and those of both contours.
    pub areas: RegionAreas,
}

/// Areas of one side, mm².
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RegionAreas {
    /// The natural brow.
    pub natural: f64,
    /// The planned outline.
    pub planned: f64,
    /// natural ∩ planned.
    pub kept: f64,
    /// natural − planned.
    pub removed: f64,
    /// planned − natural.
    pub added: f64,
    /// (natural shrunk by the edge tolerance) − planned.
    pub removed_counted: f64,
}

/// Kept, removed and added areas of one side.
#[must_use]
pub fn regions(natural: &Contour, planned: &Contour) -> Regions {
    let lines = [natural.points(), planned.points()];
    let mut found = areas(lines, &[reach(natural, planned)], &[IS_KEPT, IS_REMOVED, IS_ADDED]).into_iter();
    let mut next = || found.next().unwrap_or_default();
    Regions { kept: next(), removed: next(), added: next() }
}

/// What counts of the areas that [`regions`] gives, of which it takes the removed ones.
///
/// `edge_tolerance` (mm, not negative) is how far the hair edge may be off: removal is counted against the natural
/// brow shrunk by it, so that the noise of the edge does not count as hair.
#[must_use]
pub fn count_regions(
    natural: &Contour,
    planned: &Contour,
    removed: &[Patch],
    edge_tolerance: f64,
) -> CountedRegions {
    let counted = if removed.is_empty() {
        Vec::new()
    } else if edge_tolerance > 0.0 {
        let shrunk = erosion_outline(natural.points(), edge_tolerance);
        one_area([&shrunk, planned.points()], &bands(removed), IS_REMOVED)
    } else {
        removed.to_vec()
    };
    let (natural_area, planned_area) = (natural.area(), planned.area());
    let common = overlap_area(natural, planned);
    let areas = RegionAreas {
        natural: natural_area,
        planned: planned_area,
        kept: common,
        removed: (natural_area - common).max(0.0),
        added: (planned_area - common).max(0.0),
        removed_counted: patches_area(&counted),
    };
    CountedRegions { removed: counted, areas }
}

/// The same of two contours of which nothing is drawn.
#[must_use]
pub fn counted_regions(natural: &Contour, planned: &Contour, edge_tolerance: f64) -> CountedRegions {
    let removed = one_area([natural.points(), planned.points()], &[reach(natural, planned)], IS_REMOVED);
    count_regions(natural, planned, &removed, edge_tolerance)
}

/// By how often the natural and the planned line wind about a place.
const IS_KEPT: fn(Windings) -> bool = |[natural, planned]| natural > 0 && planned > 0;
const IS_REMOVED: fn(Windings) -> bool = |[natural, planned]| natural > 0 && planned <= 0;
const IS_ADDED: fn(Windings) -> bool = |[natural, planned]| natural <= 0 && planned > 0;

/// The one band that holds both.
fn reach(natural: &Contour, planned: &Contour) -> (f64, f64) {
    let everywhere = natural.bounds().union(planned.bounds());
    (everywhere.x0, everywhere.x1)
}

/// The contour shrunk by `distance` mm: every point that lies at least so far inside its edge.
#[must_use]
pub fn eroded(contour: &Contour, distance: f64) -> Vec<Patch> {
    let outline = erosion_outline(contour.points(), distance);
    let within = contour.bounds();
    one_area([&outline, &[]], &[(within.x0, within.x1)], |[shrunk, _]| shrunk > 0)
}

fn one_area(lines: [&[Point]; 2], bands: &[(f64, f64)], inside: fn(Windings) -> bool) -> Vec<Patch> {
    areas(lines, bands, &[inside]).pop().unwrap_or_default()
}

/// Upright bands that together hold the patches; no two of them touch: most edges of a brow lie far from the hair that
/// goes, and a sweep costs what it has edges.
fn bands(patches: &[Patch]) -> Vec<(f64, f64)> {
    let around = |patch: &Patch| {
        let bounds = bounds(&patch.outer);
        (bounds.x0 - BAND_MARGIN_MM, bounds.x1 + BAND_MARGIN_MM)
    };
    let all = by_number(patches.iter().map(around).collect(), |band: &(f64, f64)| band.0);
    let mut apart: Vec<(f64, f64)> = Vec::new();
    for band in all {
        match apart.last_mut() {
            Some(last) if band.0 <= last.1 => last.1 = last.1.max(band.1),
            _ => apart.push(band),
        }
    }
    apart
}
