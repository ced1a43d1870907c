//! How far every measure can be trusted: the errors of frame, edge and calipers, propagated to first order.
//!
//! A measure is a function of six caliper points and the area. Their errors have two parts: the frame's (roll, origin,
//! scale, yaw), which is one and the same for both brows of a face, and the brow's own (the traced edge, or the typed
//! caliper numbers). The right − left difference therefore subtracts the frame parts before squaring them.

use kurbo::Point;

use crate::caliper_points::CaliperPoints;
use crate::face_frame::{ErrorModel, FRAME_ERRORS, FaceFrame};
use crate::measure::{MEASURE_COUNT, Measure};
use crate::side::{PerSide, Side};

/// Standard deviations in the half width of a 95 % interval of a normal error.
pub const CI95_SD: f64 = 1.959_964;

/// Depth of the tail end behind what the centre line is taken from, mm: with this, one degree of yaw fakes a
/// left-right difference of 2 · 25 · sin 1° = 0.87 mm at the tails (depth from facial proportions, from memory).
const TAIL_DEPTH_MM: f64 = 25.0;
/// Mean distance of the tail end from the centre line, mm (model study on the Face Research Lab London Set).
const TAIL_OUT_MM: f64 = 57.35;

/// How far a point of the brow lies behind the depth of the centre line, mm: a parabola across the forehead through
/// 25 mm at the mean tail. It gives 1 mm at the front and 5 mm at the middle of the brow.
#[must_use]
pub fn depth_behind_centre_line(out_mm: f64) -> f64 {
    TAIL_DEPTH_MM * (out_mm / TAIL_OUT_MM).powi(2)
}

/// Coordinates that measures are made of: out and up of the six caliper points, and the area.
const COORDINATES: usize = 13;
const AREA: usize = 12;
const FRONT: usize = 0;
const BULB_BOTTOM: usize = 2;
const BULB_TOP: usize = 4;
const ARCH_TOP: usize = 6;
const ARCH_UNDER: usize = 8;
const TAIL_END: usize = 10;

type Gradient = [f64; COORDINATES];
type LocalCovariance = [[f64; COORDINATES]; COORDINATES];

/// A brow with everything that its measures and their errors need.
#[derive(Clone, Debug)]
pub struct MeasuredBrow {
    points: CaliperPoints,
    area_mm2: f64,
    local: LocalCovariance,
    /// False where the numbers were taken on the face itself, so that no frame stands between.
    through_frame: bool,
}

impl MeasuredBrow {
    /// A natural brow traced on the photo: `contour` is its closed polygon in side mm.
    #[must_use]
    pub fn traced(contour: &[Point], points: CaliperPoints, area_mm2: f64, errors: &ErrorModel) -> Self {
        let mut local = [[0.0; COORDINATES]; COORDINATES];
        let var = errors.edge_mm.powi(2);
        for (k, row) in local.iter_mut().enumerate().take(AREA) {
            row[k] = var;
        }
        let perimeter: f64 =
            contour.iter().zip(contour.iter().cycle().skip(1)).map(|(a, b)| (*b - *a).hypot()).sum();
        local[AREA][AREA] = var * perimeter.powi(2);
        MeasuredBrow { points, area_mm2, local, through_frame: true }
    }

    /// A natural brow from numbers typed off a caliper: no frame stands between, but each number has the caliper's
    /// error.
    #[must_use]
    pub fn typed(points: CaliperPoints, area_mm2: f64, errors: &ErrorModel) -> Self {
        let mut local = [[0.0; COORDINATES]; COORDINATES];
        let var = errors.caliper_mm.powi(2);
        for (k, row) in local.iter_mut().enumerate().take(AREA) {
            row[k] = var;
        }
        MeasuredBrow { points, area_mm2, local, through_frame: false }
    }

    /// A planned outline: exactly what it says in the frame; only the frame can be off.
    #[must_use]
    pub const fn planned(points: CaliperPoints, area_mm2: f64) -> Self {
        MeasuredBrow { points, area_mm2, local: [[0.0; COORDINATES]; COORDINATES], through_frame: true }
    }

    /// Its caliper points, mm.
    #[must_use]
    pub const fn points(&self) -> &CaliperPoints {
        &self.points
    }

    /// Its area, mm².
    #[must_use]
    pub const fn area_mm2(&self) -> f64 {
        self.area_mm2
    }
}

/// A number and its standard deviation, in the unit of the measure.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// 1 SD of its error.
    pub sd: f64,
}

impl Estimate {
    /// Half width of the 95 % interval.
    #[must_use]
    pub fn ci95(self) -> f64 {
        CI95_SD * self.sd
    }

    /// True where 0 lies inside the 95 % interval.
    #[must_use]
    pub fn within_error(self) -> bool {
        self.value.abs() <= self.ci95()
    }
}

/// One measure of a pair of brows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeasuredPair {
    /// Which measure.
    pub measure: Measure,
    /// The client's right and left.
    pub sides: PerSide<Option<Estimate>>,
    /// Right − left, where both are there.
    pub difference: Option<Estimate>,
}

/// How large a left-right difference looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Band {
    /// Below 1 mm: measuring error, leave it.
    Error,
    /// 1 to 2 mm: fine-tuning.
    Fine,
    /// 2 to 3.5 mm: the client likely sees it.
    Seen,
    /// Above 3.5 mm: most people see it.
    Obvious,
}

impl Band {
    /// The band of a difference in mm. Limits: 2 mm is what patients notice of their own brows (Tiryaki & Ciloglu,
    /// Aesthet Surg J 2007;27:513), 3.5 mm what most viewers see (Aesthet Surg J 2017;37:375), 1 mm how well photos
    /// agree with direct measuring (Lim 2022, 10.3389/fpubh.2021.813058).
    #[must_use]
    pub fn of_mm(difference: f64) -> Self {
        match difference.abs() {
            size if size < 1.0 => Band::Error,
            size if size < 2.0 => Band::Fine,
            size if size <= 3.5 => Band::Seen,
            _ => Band::Obvious,
        }
    }

    /// The name in files and messages.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Band::Error => "error",
            Band::Fine => "fine",
            Band::Seen => "seen",
            Band::Obvious => "obvious",
        }
    }
}

/// Every measure of a pair, with errors, in the order of [`Measure::ALL`].
#[must_use]
pub fn measure_pair(
    brows: PerSide<Option<&MeasuredBrow>>,
    frame: &FaceFrame,
) -> [MeasuredPair; MEASURE_COUNT] {
    Measure::ALL.map(|info| measure_one(info.measure, brows, frame))
}

fn measure_one(measure: Measure, brows: PerSide<Option<&MeasuredBrow>>, frame: &FaceFrame) -> MeasuredPair {
    let parts = PerSide::from_fn(|side| brows.get(side).map(|brow| Parts::of(measure, side, brow)));
    let sides = parts.map(|parts| {
        parts.map(|parts| Estimate {
            value: parts.value,
            sd: (parts.local_var + quadratic_form(&parts.frame, frame.covariance())).max(0.0).sqrt(),
        })
    });
    let difference = parts.both().map(|PerSide { right, left }| {
        let apart = std::array::from_fn(|k| right.frame[k] - left.frame[k]);
        let var = right.local_var + left.local_var + quadratic_form(&apart, frame.covariance());
        Estimate { value: right.value - left.value, sd: var.max(0.0).sqrt() }
    });
    MeasuredPair { measure, sides, difference }
}

/// What one brow contributes to one measure.
#[derive(Clone, Copy)]
struct Parts {
    value: f64,
    local_var: f64,
    frame: [f64; FRAME_ERRORS],
}

impl Parts {
    fn of(measure: Measure, side: Side, brow: &MeasuredBrow) -> Self {
        let gradient = gradient(measure, &brow.points);
        let frame = if brow.through_frame {
            frame_gradient(&gradient, side, &brow.points, brow.area_mm2)
        } else {
            [0.0; FRAME_ERRORS]
        };
        Parts {
            value: measure.value(&brow.points, brow.area_mm2),
            local_var: quadratic_form(&gradient, &brow.local),
            frame,
        }
    }
}

fn quadratic_form<const N: usize>(v: &[f64; N], matrix: &[[f64; N]; N]) -> f64 {
    matrix
        .iter()
        .zip(v)
        .filter(|(_, a)| **a != 0.0)
        .map(|(row, a)| a * row.iter().zip(v).map(|(m, b)| m * b).sum::<f64>())
        .sum()
}

/// Derivatives of a measure by the coordinates.
fn gradient(measure: Measure, points: &CaliperPoints) -> Gradient {
    let mut g = [0.0; COORDINATES];
    let mut distance = |to: usize, at: Point, from: usize, start: Point| {
        let along = (at - start) / (at - start).hypot().max(f64::MIN_POSITIVE);
        g[to] = along.x;
        g[to + 1] = along.y;
        g[from] = -along.x;
        g[from + 1] = -along.y;
    };
    match measure {
        Measure::FrontToArch => distance(ARCH_TOP, points.arch_top, BULB_TOP, points.bulb_top),
        Measure::FrontToTail => distance(TAIL_END, points.tail_end, BULB_TOP, points.bulb_top),
        Measure::FrontDistance => g[FRONT] = 1.0,
        Measure::BulbBottom => g[BULB_BOTTOM + 1] = 1.0,
        Measure::BulbTop => g[BULB_TOP + 1] = 1.0,
        Measure::BulbThickness => {
            g[BULB_TOP + 1] = 1.0;
            g[BULB_BOTTOM + 1] = -1.0;
        }
        Measure::ArchDistance => g[ARCH_TOP] = 1.0,
        Measure::ArchTop => g[ARCH_TOP + 1] = 1.0,
        Measure::ArchThickness => {
            g[ARCH_TOP + 1] = 1.0;
            g[ARCH_UNDER + 1] = -1.0;
        }
        Measure::TailOut => g[TAIL_END] = 1.0,
        Measure::TailUp => g[TAIL_END + 1] = 1.0,
        Measure::TailAngle => {
            let thread = points.tail_end - points.arch_top;
            let square = thread.hypot2().max(f64::MIN_POSITIVE);
            // angle = atan2(−y, x): ∂/∂x = y / r², ∂/∂y = −x / r².
            let by = [thread.y / square, -thread.x / square].map(f64::to_degrees);
            g[TAIL_END] = by[0];
            g[TAIL_END + 1] = by[1];
            g[ARCH_TOP] = -by[0];
            g[ARCH_TOP + 1] = -by[1];
        }
        Measure::BrowLength => {
            g[TAIL_END] = 1.0;
            g[FRONT] = -1.0;
        }
        Measure::Area => g[AREA] = 1.0,
    }
    g
}

/// Derivatives of a measure by the frame's errors: what a wrong frame does to every caliper point at once.
fn frame_gradient(g: &Gradient, side: Side, points: &CaliperPoints, area_mm2: f64) -> [f64; FRAME_ERRORS] {
    let sign = side.sign();
    let at = [
        points.front,
        points.bulb_bottom,
        points.bulb_top,
        points.arch_top,
        points.arch_under,
        points.tail_end,
    ];
    let mut f = [0.0; FRAME_ERRORS];
    for (point, by) in at.iter().zip(g.chunks_exact(2)) {
        let &[by_out, by_up] = by else { continue };
        // A frame turned too far (positive) raises x by y and lowers y by x; out = sign · x.
        f[0] += by_out * sign * point.y - by_up * sign * point.x;
        f[1] += by_out * sign;
        f[2] += by_up;
        f[3] -= by_out * point.x + by_up * point.y;
        f[4] -= by_out * sign * depth_behind_centre_line(point.x);
    }
    f[3] -= 2.0 * g[AREA] * area_mm2;
    f
}
