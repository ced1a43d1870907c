//! How far every measure can be trusted: the errors of frame, edge and calipers, propagated to first order.
//!
//! A measure is a function of six caliper points and the area. Their errors have two parts: the frame's (roll, origin,
//! scale, yaw), which is one and the same for both brows of a face, and the brow's own (the traced edge, or the typed
//! caliper numbers). The right − left difference therefore subtracts the frame parts before squaring them.

use kurbo::Point;

use crate::caliper_estimate::{self, CaliperEstimate, NODES, PROBES, Probe};
use crate::caliper_numbers::CaliperNumbers;
use crate::caliper_points::CaliperPoints;
use crate::contour::{Contour, once_around};
use crate::face_frame::{ErrorModel, FRAME_ERRORS, FaceFrame};
use crate::measure::{MEASURE_COUNT, Measure};
use crate::order::lesser;
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

/// Length along the edge over which its error keeps its sign, mm (SD of the Gaussian correlation): a stroke of the
/// hand, a tuft of hair. Our choice; the model study knows only the size of the error.
pub const EDGE_CORRELATION_MM: f64 = 4.0;
/// Share of the edge's error variance that is common to the whole edge of a brow: taking the hair to begin a little
/// farther out or in, all around. In the model study a changed threshold moved whole outlines by 0.23 mm, so neither
/// part may be left out; half each is our choice.
pub const EDGE_COMMON_SHARE: f64 = 0.5;
/// Correlations beyond this many correlation lengths are nothing (3e-4).
const NO_CORRELATION: f64 = 4.0;
/// Largest relative variance of a bend that this series is asked to carry: beyond it the edge is flat, and the series,
/// which diverges, is no guide.
const MOST_BEND_VAR: f64 = 0.4;
/// Coordinates that measures are made of: out and up of the six caliper points, and the area.
const COORDINATES: usize = caliper_estimate::COORDINATES + 1;
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
    /// How the coordinates move when the brow is turned clockwise in `(out, up)`, mm per radian; `None` where the
    /// numbers were taken on the face itself, so that no frame stands between.
    turned: Option<Gradient>,
}

impl MeasuredBrow {
    /// A natural brow traced on the photo, or an outline pulled over its hair; side mm.
    #[must_use]
    pub fn traced(contour: &Contour, errors: &ErrorModel) -> Self {
        let mut estimate = caliper_estimate::estimate(contour.points());
        let own = estimate.probes.map(|probe| correlations(&probe.along, &probe.along, estimate.perimeter));
        for (probe, near) in estimate.probes.iter_mut().zip(&own) {
            widen(probe, near, edge_variances(errors.edge_mm));
        }
        MeasuredBrow {
            points: estimate.points,
            area_mm2: contour.area(),
            local: edge_covariance(&estimate, &own, errors.edge_mm),
            turned: Some(turned(&estimate)),
        }
    }

    /// A natural brow from numbers typed off a caliper: no frame stands between, but each number has the caliper's
    /// error. `area_mm2` is that of the outline made from the numbers.
    #[must_use]
    pub fn typed(numbers: &CaliperNumbers, area_mm2: f64, errors: &ErrorModel) -> Self {
        let n = numbers;
        let points = CaliperPoints {
            front: Point::new(n.front_out, 0.5 * (n.bulb_bottom + n.bulb_top)),
            bulb_bottom: Point::new(n.front_out, n.bulb_bottom),
            bulb_top: Point::new(n.front_out, n.bulb_top),
            arch_top: Point::new(n.arch_out, n.arch_top),
            arch_under: Point::new(n.arch_out, n.arch_top - n.arch_thickness),
            tail_end: Point::new(n.tail_out, n.tail_up),
        };
        let local = caliper_covariance(&points, n.tail_thickness, errors.caliper_mm);
        MeasuredBrow { points, area_mm2, local, turned: None }
    }

    /// A planned outline: exactly what it says in the frame; only the frame can be off. `contour` is its polygon.
    #[must_use]
    pub fn planned(contour: &Contour, points: CaliperPoints, area_mm2: f64) -> Self {
        let local = [[0.0; COORDINATES]; COORDINATES];
        let turned = turned(&caliper_estimate::estimate(contour.points()));
        MeasuredBrow { points, area_mm2, local, turned: Some(turned) }
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

const fn coordinates(points: &CaliperPoints) -> [Point; 6] {
    [points.front, points.bulb_bottom, points.bulb_top, points.arch_top, points.arch_under, points.tail_end]
}

/// How the coordinates move with a clockwise turn; the area does not.
fn turned(estimate: &CaliperEstimate) -> Gradient {
    let mut gradient = [0.0; COORDINATES];
    for (cell, rate) in gradient.iter_mut().zip(estimate.turned()) {
        *cell = rate;
    }
    gradient
}

/// Variance of the edge that is common to all of it, and the rest, mm².
fn edge_variances(edge_mm: f64) -> (f64, f64) {
    let var = edge_mm.powi(2);
    (var * EDGE_COMMON_SHARE, var * (1.0 - EDGE_COMMON_SHARE))
}

/// Covariance of the coordinates by a wrong edge: displacements across it of SD `edge_mm`, part common to the whole
/// edge, the rest correlated along it. `own` are the correlations within each probe.
fn edge_covariance(
    estimate: &CaliperEstimate,
    own: &[Correlations; PROBES],
    edge_mm: f64,
) -> LocalCovariance {
    let (common, local) = edge_variances(edge_mm);
    let perimeter = estimate.perimeter;
    let probes = &estimate.probes;
    let sums = probes.map(|probe| probe.weights.map(|weights| weights.iter().sum::<f64>()));
    // Covariance of the two numbers of each probe with those of every other.
    let mut probed = [[[[0.0; 2]; 2]; PROBES]; PROBES];
    for (i, a) in probes.iter().enumerate() {
        for (j, b) in probes.iter().enumerate().take(i + 1) {
            let near = if i == j {
                Some(own[i])
            } else {
                are_near(&a.along, &b.along, perimeter).then(|| correlations(&a.along, &b.along, perimeter))
            };
            let near = near.map_or_else(Default::default, |near| weighed(&a.weights, &near, &b.weights));
            for (m, n) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                let cov = common * sums[i][m] * sums[j][n] + local * near[m][n];
                probed[i][j][m][n] = cov;
                probed[j][i][n][m] = cov;
            }
        }
    }
    let chain = estimate.chain();
    let mut covariance = [[0.0; COORDINATES]; COORDINATES];
    for (k, of) in chain.iter().enumerate() {
        for (l, by) in chain.iter().enumerate().take(k + 1) {
            let mut cov = 0.0;
            for &(i, m, f) in of.iter().filter(|part| part.2 != 0.0) {
                for &(j, n, g) in by.iter().filter(|part| part.2 != 0.0) {
                    cov += f * g * probed[i][j][m][n];
                }
            }
            covariance[k][l] = cov;
            covariance[l][k] = cov;
        }
    }
    // The area grows by the mean displacement times the edge; a stretch of one correlation length counts as one.
    let stretch = (std::f64::consts::TAU.sqrt() * EDGE_CORRELATION_MM).min(perimeter);
    for k in 0..chain.len() {
        let sum: f64 = chain[k].iter().map(|&(i, m, factor)| factor * sums[i][m]).sum();
        let cov = sum * (common * perimeter + local * stretch);
        covariance[k][AREA] = cov;
        covariance[AREA][k] = cov;
    }
    covariance[AREA][AREA] = common * perimeter.powi(2) + local * perimeter * stretch;
    covariance
}

/// A vertex slides by tilt / bend, and on a flat edge the bend is uncertain too. With v the relative variance of a
/// normal bend, the mean of (1 − error)⁻² is 1 + 3 v + 15 v² + …; so much greater is the variance of the slide.
fn widen(probe: &mut Probe, near: &Correlations, (common, local): (f64, f64)) {
    if probe.bend.iter().all(|bend| *bend == 0.0) {
        return;
    }
    let sum: f64 = probe.bend.iter().sum();
    let bend = [probe.bend];
    let [[near]] = weighed(&bend, near, &bend);
    let relative_var = (common * sum * sum + local * near).min(MOST_BEND_VAR);
    let wider = (1.0 + 3.0 * relative_var + 15.0 * relative_var.powi(2)).sqrt() - 1.0;
    for (weights, sliding) in probe.weights.iter_mut().zip(&probe.sliding) {
        for (weight, slid) in weights.iter_mut().zip(sliding) {
            *weight += wider * slid;
        }
    }
    for (rate, slid) in probe.turned.iter_mut().zip(&probe.turned_sliding) {
        *rate += wider * slid;
    }
}

/// Correlations of the edge's error between the nodes of two probes.
type Correlations = [[f64; NODES]; NODES];

/// Of two probes, each given by the arc length of its nodes.
fn correlations(a: &[f64; NODES], b: &[f64; NODES], perimeter: f64) -> Correlations {
    let mut found = [[0.0; NODES]; NODES];
    let is_own = a == b;
    for (k, &s) in a.iter().enumerate() {
        // Those of a probe with itself are the same both ways.
        let count = if is_own { k + 1 } else { NODES };
        for (l, &t) in b.iter().enumerate().take(count) {
            let lengths = apart(s, t, perimeter);
            if lengths < NO_CORRELATION {
                found[k][l] = (-0.5 * lengths * lengths).exp();
            }
            if is_own {
                found[l][k] = found[k][l];
            }
        }
    }
    found
}

/// Whether any correlation of two probes is worth a look: they reach less far than correlations do.
fn are_near(a: &[f64; NODES], b: &[f64; NODES], perimeter: f64) -> bool {
    let ends = |along: &[f64; NODES]| [along[0], along[NODES - 1]];
    ends(a).into_iter().any(|s| ends(b).into_iter().any(|t| apart(s, t, perimeter) <= NO_CORRELATION))
}

/// How far two places lie apart along the edge, in correlation lengths.
fn apart(s: f64, t: f64, perimeter: f64) -> f64 {
    let apart = once_around((s - t).abs(), perimeter);
    lesser(apart, perimeter - apart) / EDGE_CORRELATION_MM
}

/// Sum over the nodes of two probes of weight · correlation · weight, for each pair of their numbers.
fn weighed<const N: usize>(
    of: &[[f64; NODES]; N],
    near: &Correlations,
    by: &[[f64; NODES]; N],
) -> [[f64; N]; N] {
    let mut sums = [[0.0; N]; N];
    for (k, near) in near.iter().enumerate() {
        let mut answers = [0.0; N];
        for (answer, weights) in answers.iter_mut().zip(by) {
            *answer = near.iter().zip(weights).map(|(near, weight)| near * weight).sum();
        }
        for (row, weights) in sums.iter_mut().zip(of) {
            for (cell, answer) in row.iter_mut().zip(&answers) {
                *cell += weights[k] * answer;
            }
        }
    }
    sums
}

/// Covariance of the coordinates where each was made from independent caliper readings.
fn caliper_covariance(points: &CaliperPoints, tail_thickness: f64, caliper_mm: f64) -> LocalCovariance {
    let bulb = points.bulb_top.y - points.bulb_bottom.y;
    let arch = points.arch_top.y - points.arch_under.y;
    let (front, middle, end) = (points.front.x, points.arch_top.x, points.tail_end.x);
    // Area as two trapezia: bulb to arch, arch to tail.
    let (inner, outer) = (0.5 * (bulb + arch), 0.5 * (arch + tail_thickness));
    // Each reading: the coordinates that follow it one to one, and the area.
    let readings: [(&[(usize, f64)], f64); 9] = [
        (&[(FRONT, 1.0), (BULB_BOTTOM, 1.0), (BULB_TOP, 1.0)], -inner),
        (&[(BULB_BOTTOM + 1, 1.0)], -0.5 * (middle - front)),
        (&[(BULB_TOP + 1, 1.0)], 0.5 * (middle - front)),
        (&[(ARCH_TOP, 1.0), (ARCH_UNDER, 1.0)], inner - outer),
        (&[(ARCH_TOP + 1, 1.0), (ARCH_UNDER + 1, 1.0)], 0.0),
        (&[(ARCH_UNDER + 1, -1.0)], 0.5 * (end - front)),
        (&[(TAIL_END, 1.0)], outer),
        (&[(TAIL_END + 1, 1.0)], 0.0),
        (&[], 0.5 * (end - middle)),
    ];
    let mut covariance = [[0.0; COORDINATES]; COORDINATES];
    for (follows, by_area) in readings {
        let mut effect = [0.0; COORDINATES];
        effect[AREA] = by_area;
        for &(coordinate, factor) in follows {
            effect[coordinate] = factor;
        }
        for (row, a) in covariance.iter_mut().zip(&effect) {
            for (cell, b) in row.iter_mut().zip(&effect) {
                *cell += caliper_mm * caliper_mm * a * b;
            }
        }
    }
    covariance
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
        let frame =
            brow.turned.map_or([0.0; FRAME_ERRORS], |turned| frame_gradient(&gradient, side, brow, &turned));
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
fn frame_gradient(g: &Gradient, side: Side, brow: &MeasuredBrow, turned: &Gradient) -> [f64; FRAME_ERRORS] {
    let sign = side.sign();
    let mut f = [0.0; FRAME_ERRORS];
    // A frame turned too far (counter-clockwise) turns the face clockwise, which on the client's right, where `out`
    // runs the other way, is counter-clockwise in `(out, up)`.
    f[0] = sign * g.iter().zip(turned).map(|(by, rate)| by * rate).sum::<f64>();
    for (point, by) in coordinates(&brow.points).iter().zip(g.chunks_exact(2)) {
        let &[by_out, by_up] = by else { continue };
        f[1] += by_out * sign;
        f[2] += by_up;
        f[3] -= by_out * point.x + by_up * point.y;
        f[4] -= by_out * sign * depth_behind_centre_line(point.x);
    }
    f[3] -= 2.0 * g[AREA] * brow.area_mm2;
    f
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::Outline;
    use crate::param::{OutlineParams, Param};

    const NO_ERRORS: ErrorModel =
        ErrorModel { landmark_mm: 0.0, edge_mm: 0.0, caliper_mm: 0.0, yaw_deg: 0.0 };

    fn brow(shift: f64) -> Contour {
        let median = OutlineParams::natural_median();
        let outline = Outline::try_new(&median.with(Param::TailX, 57.35 + shift)).expect("a plain brow");
        outline.contour().resampled(200)
    }

    fn pair(right: &MeasuredBrow, left: &MeasuredBrow, frame: &FaceFrame) -> [MeasuredPair; MEASURE_COUNT] {
        measure_pair(PerSide { right: Some(right), left: Some(left) }, frame)
    }

    #[test]
    fn exchanged_sides_turn_the_difference_round() {
        let errors = ErrorModel::default();
        let (a, b) = (MeasuredBrow::traced(&brow(0.0), &errors), MeasuredBrow::traced(&brow(2.0), &errors));
        let frame = FaceFrame::without_photo(errors);
        for (one, other) in pair(&a, &b, &frame).iter().zip(&pair(&b, &a, &frame)) {
            let (one, other) = (one.difference.expect("both"), other.difference.expect("both"));
            assert!((one.value + other.value).abs() < 1e-12);
            assert!((one.sd - other.sd).abs() < 1e-12);
        }
    }

    #[test]
    fn exact_outlines_without_a_photo_have_no_error() {
        let contour = brow(0.0);
        let planned = MeasuredBrow::planned(&contour, contour.caliper_points(), contour.area());
        for row in pair(&planned, &planned, &FaceFrame::without_photo(NO_ERRORS)) {
            assert_eq!(row.difference, Some(Estimate { value: 0.0, sd: 0.0 }));
        }
    }

    #[test]
    fn typed_numbers_carry_the_caliper() {
        let numbers = CaliperNumbers {
            front_out: 13.0,
            bulb_bottom: 15.0,
            bulb_top: 21.0,
            arch_out: 38.0,
            arch_top: 27.0,
            arch_thickness: 7.0,
            tail_out: 56.0,
            tail_up: 14.0,
            tail_thickness: 3.0,
        };
        let errors = ErrorModel { caliper_mm: 0.5, ..NO_ERRORS };
        let typed = MeasuredBrow::typed(&numbers, 300.0, &errors);
        let rows = pair(&typed, &typed, &FaceFrame::without_photo(errors));
        let right = |measure: Measure| rows[measure as usize].sides.right.expect("it is there");
        let near = |measure: Measure, value: f64, sd: f64| {
            let found = right(measure);
            assert!(
                (found.value - value).abs() < 1e-12 && (found.sd - sd).abs() < 1e-12,
                "{measure:?} {found:?}"
            );
        };
        near(Measure::FrontDistance, 13.0, 0.5);
        near(Measure::BulbThickness, 6.0, 0.5 * 2.0_f64.sqrt());
        near(Measure::ArchThickness, 7.0, 0.5);
        near(Measure::TailUp, 14.0, 0.5);
        near(Measure::BrowLength, 43.0, 0.5 * 2.0_f64.sqrt());
        let difference = rows[Measure::ArchTop as usize].difference.expect("both");
        assert!((difference.sd - 0.5 * 2.0_f64.sqrt()).abs() < 1e-12);
        assert!(difference.within_error());
    }

    #[test]
    fn a_common_edge_shift_changes_the_area_by_the_perimeter() {
        let contour = brow(0.0);
        let errors = ErrorModel { edge_mm: 0.25, ..NO_ERRORS };
        let traced = MeasuredBrow::traced(&contour, &errors);
        let sd =
            pair(&traced, &traced, &FaceFrame::without_photo(errors))[Measure::Area as usize].sides.right;
        let sd = sd.expect("it is there").sd;
        // Between the common part alone and an edge that is wrong all around by the same amount.
        let all_around = 0.25 * contour.perimeter();
        assert!((EDGE_COMMON_SHARE.sqrt() * all_around..all_around).contains(&sd), "{sd} of {all_around}");
    }

    #[test]
    fn bands_have_the_published_limits() {
        let bands = [0.99, -1.0, 1.99, 2.0, 3.5, -3.51].map(|mm| Band::of_mm(mm).id());
        assert_eq!(bands, ["error", "fine", "fine", "seen", "seen", "obvious"]);
    }
}
