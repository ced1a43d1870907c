//! Areas in common and areas apart. The only file that names the polygon overlay library.
//!
//! Coordinates are put on a fixed integer grid, so that the result does not depend on where the shapes lie and so
//! that no rounding can make an edge miss a corner.

use i_overlay::core::extract::BooleanExtractionBuffer;
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;
use i_overlay::i_shape::int::shape::IntShapes;
use kurbo::{BezPath, Point};

use crate::Contour;
use crate::contour::{closed_path, signed_area};
use crate::erosion::erosion_outline;

/// Grid lines per mm: 2⁴⁰, so that a grid step is 1e-12 mm, powers of two make the scaling exact, and 300 mm stay
/// below 2⁴⁹: far inside the 62 bits that the overlay allows and inside the 53 bits that an `f64` holds exactly.
const GRID_PER_MM: f64 = (1_u64 << 40) as f64;

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

/// What a plan keeps, removes and adds on one side.
#[derive(Clone, Debug, PartialEq)]
pub struct Regions {
    /// natural ∩ planned.
    pub kept: Vec<Patch>,
    /// natural − planned.
    pub removed: Vec<Patch>,
    /// planned − natural.
    pub added: Vec<Patch>,
    /// (natural shrunk by the edge tolerance) − planned: what counts as removed.
    pub removed_counted: Vec<Patch>,
    /// Their areas and those of both contours.
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
///
/// `edge_tolerance` (mm, not negative) is how far the hair edge may be off: removal is counted against the natural
/// brow shrunk by it, so that the noise of the edge does not count as hair.
#[must_use]
pub fn regions(natural: &Contour, planned: &Contour, edge_tolerance: f64) -> Regions {
    let mut overlay = overlay_of(&[natural.points()], &[planned.points()]);
    let (mut kept, mut removed, mut added) = (Vec::new(), Vec::new(), Vec::new());
    if let Some(graph) = overlay.build_graph_view(FillRule::Positive) {
        let mut buffer = BooleanExtractionBuffer::default();
        let mut extract = |rule| patches(graph.extract_shapes(rule, &mut buffer));
        kept = extract(OverlayRule::Intersect);
        removed = extract(OverlayRule::Difference);
        added = extract(OverlayRule::InverseDifference);
    }
    let removed_counted = if removed.is_empty() {
        Vec::new()
    } else if edge_tolerance > 0.0 {
        difference(&erosion_outline(natural.points(), edge_tolerance), planned)
    } else {
        removed.clone()
    };
    let areas = RegionAreas {
        natural: natural.area(),
        planned: planned.area(),
        kept: patches_area(&kept),
        removed: patches_area(&removed),
        added: patches_area(&added),
        removed_counted: patches_area(&removed_counted),
    };
    Regions { kept, removed, added, removed_counted, areas }
}

/// The contour shrunk by `distance` mm: every point that lies at least so far inside its edge.
#[must_use]
pub fn eroded(contour: &Contour, distance: f64) -> Vec<Patch> {
    let outline = erosion_outline(contour.points(), distance);
    patches(overlay_of(&[&outline], &[]).overlay(OverlayRule::Subject, FillRule::Positive))
}

fn difference(subject: &[Point], clip: &Contour) -> Vec<Patch> {
    patches(overlay_of(&[subject], &[clip.points()]).overlay(OverlayRule::Difference, FillRule::Positive))
}

fn overlay_of(subject: &[&[Point]], clip: &[&[Point]]) -> Overlay<i64> {
    let edges = subject.iter().chain(clip).map(|ring| ring.len()).sum();
    let mut overlay = Overlay::new(edges);
    for ring in subject {
        overlay.add_path_iter(ring.iter().copied().map(on_grid), ShapeType::Subject);
    }
    for ring in clip {
        overlay.add_path_iter(ring.iter().copied().map(on_grid), ShapeType::Clip);
    }
    overlay
}

fn on_grid(point: Point) -> IntPoint<i64> {
    // A contour's coordinates are finite and small (checked where it is made), so neither cast can saturate.
    IntPoint::new((point.x * GRID_PER_MM).round() as i64, (point.y * GRID_PER_MM).round() as i64)
}

fn patches(shapes: IntShapes<i64>) -> Vec<Patch> {
    let ring = |ring: Vec<IntPoint<i64>>| -> Vec<Point> {
        ring.iter().map(|p| Point::new(p.x as f64 / GRID_PER_MM, p.y as f64 / GRID_PER_MM)).collect()
    };
    shapes
        .into_iter()
        .filter_map(|shape| {
            let mut rings = shape.into_iter().map(ring);
            Some(Patch { outer: rings.next()?, holes: rings.collect() })
        })
        .collect()
}
