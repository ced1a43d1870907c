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
use kurbo::{BezPath, Point, Rect, Vec2};

use crate::Contour;
use crate::contour::{bounds, closed_path, edges, signed_area};
use crate::erosion::erosion_outline;
use crate::overlap::overlap_area;

/// Grid lines on either side of the middle of what is overlaid: as many as the overlay's makers call safe for every
/// product of differences in 32 bits.
const GRID_HALF: f64 = (1_u32 << 29) as f64;

/// An integer grid laid over the shapes at hand.
///
/// 32 bits are enough and much faster than 64, most of all in WebAssembly: over a brow of 60 mm a grid step is 6e-8 mm,
/// which changes an area by about 1e-7 mm². What is kept, removed and added is known better still: it is summed without
/// a grid.
#[derive(Clone, Copy, Debug)]
struct Grid {
    middle: Point,
    /// A power of two, so that round numbers stay round.
    lines_per_mm: f64,
}

impl Grid {
    fn over(rings: &[&[Point]]) -> Grid {
        let mut all = rings.iter().filter(|ring| !ring.is_empty()).map(|ring| bounds(ring));
        let first = all.next().unwrap_or_default();
        let bounds = all.fold(first, |all, ring| all.union(ring));
        let half = (0.5 * bounds.width().max(bounds.height())).max(SMALLEST_HALF_MM);
        Grid { middle: bounds.center(), lines_per_mm: (GRID_HALF / half).log2().floor().exp2() }
    }

    fn on(self, point: Point) -> IntPoint<i32> {
        // Inside the bounds by construction, so neither cast can saturate.
        let on = (point - self.middle) * self.lines_per_mm;
        IntPoint::new(on.x.round() as i32, on.y.round() as i32)
    }

    fn off(self, point: IntPoint<i32>) -> Point {
        self.middle + Vec2::new(f64::from(point.x), f64::from(point.y)) / self.lines_per_mm
    }
}

/// How far a window reaches beyond the hair it holds, mm: farther than any rounding on a grid.
const WINDOW_MARGIN_MM: f64 = 1e-3;

/// Half the side of the smallest square that a grid is laid over, mm; keeps a single point from asking for an endless
/// number of lines.
const SMALLEST_HALF_MM: f64 = 1e-3;

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
    let (mut overlay, grid) = overlay_of(natural.points(), planned.points());
    let (mut kept, mut removed, mut added) = (Vec::new(), Vec::new(), Vec::new());
    if let Some(graph) = overlay.build_graph_view(FillRule::Positive) {
        let mut buffer = BooleanExtractionBuffer::default();
        let mut extract = |rule| patches(graph.extract_shapes(rule, &mut buffer), grid);
        kept = extract(OverlayRule::Intersect);
        removed = extract(OverlayRule::Difference);
        added = extract(OverlayRule::InverseDifference);
    }
    let removed_counted = if removed.is_empty() {
        Vec::new()
    } else if edge_tolerance > 0.0 {
        let shrunk = erosion_outline(natural.points(), edge_tolerance);
        windows(&removed).into_iter().flat_map(|window| difference(&shrunk, planned, window)).collect()
    } else {
        removed.clone()
    };
    let (natural_area, planned_area) = (natural.area(), planned.area());
    let common = overlap_area(natural, planned);
    let areas = RegionAreas {
        natural: natural_area,
        planned: planned_area,
        kept: common,
        removed: (natural_area - common).max(0.0),
        added: (planned_area - common).max(0.0),
        removed_counted: patches_area(&removed_counted),
    };
    Regions { kept, removed, added, removed_counted, areas }
}

/// The contour shrunk by `distance` mm: every point that lies at least so far inside its edge.
#[must_use]
pub fn eroded(contour: &Contour, distance: f64) -> Vec<Patch> {
    let outline = erosion_outline(contour.points(), distance);
    let (mut overlay, grid) = overlay_of(&outline, &[]);
    patches(overlay.overlay(OverlayRule::Subject, FillRule::Positive), grid)
}

/// Upright rectangles that together hold the patches; no two of them touch.
fn windows(patches: &[Patch]) -> Vec<Rect> {
    let mut apart: Vec<Rect> = Vec::new();
    for patch in patches {
        let mut window = bounds(&patch.outer).inflate(WINDOW_MARGIN_MM, WINDOW_MARGIN_MM);
        while let Some(met) = apart.iter().position(|other| other.overlaps(window)) {
            window = window.union(apart.swap_remove(met));
        }
        apart.push(window);
    }
    apart
}

/// What lies inside `subject` and outside `clip`, in a window only: most edges of a brow lie far from the hair that
/// goes, and an overlay costs what it has edges.
fn difference(subject: &[Point], clip: &Contour, window: Rect) -> Vec<Patch> {
    let (mut overlay, grid) = overlay_of(&folded(subject, window), &folded(clip.points(), window));
    patches(overlay.overlay(OverlayRule::Difference, FillRule::Positive), grid)
}

/// A closed line with all that lies outside a window pressed flat onto the window's border. How often it winds about
/// any point of the window does not change.
///
/// *Source:* Sutherland, I. E. & Hodgman, G. W. (1974), Reentrant polygon clipping, doi 10.1145/360767.360802.
fn folded(points: &[Point], window: Rect) -> Vec<Point> {
    let beyond: [fn(Point, Rect) -> f64; 4] =
        [|p, w| w.x0 - p.x, |p, w| p.x - w.x1, |p, w| w.y0 - p.y, |p, w| p.y - w.y1];
    // A stretch wholly beyond one side of the window may as well be straight.
    let side_of = |p: Point| beyond.iter().position(|beyond| beyond(p, window) > 0.0);
    let mut line: Vec<Point> = Vec::with_capacity(points.len());
    let mut last_two = [None, None];
    for &point in points {
        let side = side_of(point);
        if side.is_some() && last_two == [side, side] {
            line.pop();
        }
        last_two = [last_two[1], side];
        line.push(point);
    }
    for beyond in beyond {
        let mut inside = Vec::with_capacity(line.len());
        for (a, b) in edges(&line) {
            let (out_a, out_b) = (beyond(a, window), beyond(b, window));
            if (out_a > 0.0) != (out_b > 0.0) {
                inside.push(a.lerp(b, out_a / (out_a - out_b)));
            }
            if out_b <= 0.0 {
                inside.push(b);
            }
        }
        line = inside;
    }
    line
}

fn overlay_of(subject: &[Point], clip: &[Point]) -> (Overlay<i32>, Grid) {
    let grid = Grid::over(&[subject, clip]);
    let mut overlay = Overlay::new(subject.len() + clip.len());
    for (ring, role) in [(subject, ShapeType::Subject), (clip, ShapeType::Clip)] {
        overlay.add_path_iter(ring.iter().map(|&point| grid.on(point)), role);
    }
    (overlay, grid)
}

fn patches(shapes: IntShapes<i32>, grid: Grid) -> Vec<Patch> {
    let ring = |ring: Vec<IntPoint<i32>>| -> Vec<Point> { ring.into_iter().map(|p| grid.off(p)).collect() };
    shapes
        .into_iter()
        .filter_map(|shape| {
            let mut rings = shape.into_iter().map(ring);
            Some(Patch { outer: rings.next()?, holes: rings.collect() })
        })
        .collect()
}
