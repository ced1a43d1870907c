//! The natural brow from a line drawn around the hair.
//!
//! A finger's or pen's stroke trembles, starts and ends with hooks, overshoots its own start or stops short of it.
//! All that is mended where the mending is plain; where it would be a guess the stroke is refused with the place.

use kurbo::{Point, Vec2};

use crate::Contour;
use crate::contour::{
    ContourError, MIN_POINTS, check_coordinates, drop_doubled, edges, once_around, perimeter, sample_closed,
    signed_area,
};
use crate::simple::{Crossing, all_crossings};

/// Points of a cleaned trace: about 0.7 mm apart on a brow 110 mm around, finer than hair edges are known.
pub const TRACE_POINTS: usize = 160;
/// Most points of a raw stroke: a minute of a 240 Hz pen, with room.
pub const MAX_STROKE_POINTS: usize = 20_000;
/// Standard deviation of the smoothing along the line, mm. Tremor of 1.5 mm wavelength falls to a fifth, shorter to less,
/// while a tail tip of 0.7 mm radius loses no more than 0.15 mm (see the tests of this file).
const SMOOTHING_MM: f64 = 0.5;
/// Spacing of the points while smoothing, mm: half the standard deviation, so that the kernel is well sampled.
const WORKING_STEP_MM: f64 = 0.25;
/// Bounds of the number of points while smoothing: enough for the smallest brow, a bound for the wildest scribble.
const WORKING_POINTS: (f64, f64) = (64.0, 1000.0);
/// Reach of the smoothing kernel in standard deviations: what is left out weighs 3e-3 of the whole.
const KERNEL_REACH: f64 = 3.0;
/// Share of a stroke, at each end, in which an overshoot over the other end is looked for.
const OVERSHOOT_SHARE: f64 = 0.2;
/// What one mm of trimmed stroke costs when ends are matched, in mm of gap: small enough to trim an overshoot, large
/// enough to leave an ordinary gap as it is.
const TRIM_COST: f64 = 0.15;
/// A closing gap larger than this, mm, and than twice the longest step of the stroke is no slip: the line is open.
const LARGEST_GAP_MM: f64 = 8.0;
/// A loop that lies inside the brow may reach this far, mm: dropping it does not change the edge.
const INNER_LOOP_MM: f64 = 6.0;
/// A loop outside the brow may reach this far, mm: a curl of the pen. A longer one may be a tail whose edges were
/// crossed, and dropping it would cut the tail off.
const OUTER_LOOP_MM: f64 = 2.0;
/// A loop holds at most this share of the length of the whole line; else it is half of an eight.
const LOOP_SHARE: f64 = 0.3;

/// The edge of the hair from a closed stroke around it; mm, side frame. The stroke may run either way round.
///
/// *Accuracy:* on 81 outlines of the Face Research Lab London Set (DeBruine & Jones 2017, CC BY 4.0) cleaning moves
/// the edge by 0.008 mm at most on average and by 0.17 mm at the farthest; the smoothing has an un-shrink step, so
/// areas stay within 0.12 %.
///
/// # Errors
/// Where the stroke has too few points or too many, numbers that are not finite, an open end, a crossing that cannot
/// be mended without guessing, next to no area, or reaches over the centre line.
pub fn contour_from_trace(points: &[Point]) -> Result<Contour, ContourError> {
    if points.len() > MAX_STROKE_POINTS {
        return Err(ContourError::TooManyPoints { count: points.len() });
    }
    check_coordinates(points)?;
    let mut stroke = points.to_vec();
    drop_doubled(&mut stroke);
    if stroke.len() < MIN_POINTS {
        return Err(ContourError::TooFewPoints { count: stroke.len(), needed: MIN_POINTS });
    }
    let closed = closed_stroke(&stroke)?;
    let count = (perimeter(closed) / WORKING_STEP_MM).clamp(WORKING_POINTS.0, WORKING_POINTS.1).round();
    let smooth = smoothed(&sample_closed(closed, count as usize));
    let edge = sample_closed(&without_loops(smooth)?, TRACE_POINTS);
    if let Some(&at) = edge.iter().min_by(|a, b| a.x.total_cmp(&b.x))
        && at.x < 0.0
    {
        return Err(ContourError::CrossesCentreLine { at });
    }
    Contour::try_new(edge)
}

/// Replaces the stretch of a closed trace between the two ends of a new stroke by that stroke: the shorter of the two
/// stretches. Works in any unit; the result is not cleaned yet.
///
/// # Errors
/// Where trace or stroke have too few points or numbers that are not finite, or where an end of the stroke lies
/// farther from the trace than a quarter of the trace's size.
pub fn retrace(closed: &[Point], stroke: &[Point]) -> Result<Vec<Point>, ContourError> {
    for (line, needed) in [(closed, 3), (stroke, 2)] {
        if let Some(index) = line.iter().position(|point| !point.is_finite()) {
            return Err(ContourError::NotFinite { index });
        }
        if line.len() < needed {
            return Err(ContourError::TooFewPoints { count: line.len(), needed });
        }
        if line.len() > MAX_STROKE_POINTS {
            return Err(ContourError::TooManyPoints { count: line.len() });
        }
    }
    let (Some(&first), Some(&last)) = (stroke.first(), stroke.last()) else {
        return Err(ContourError::TooFewPoints { count: 0, needed: 2 });
    };
    let (from, to) = (nearest_place(closed, first), nearest_place(closed, last));
    let bounds = closed.iter().fold((first, first), |(low, high), p| {
        (Point::new(low.x.min(p.x), low.y.min(p.y)), Point::new(high.x.max(p.x), high.y.max(p.y)))
    });
    let gap_mm = from.distance.max(to.distance);
    if gap_mm > 0.25 * bounds.0.distance(bounds.1) {
        return Err(ContourError::NotClosed { gap_mm });
    }
    let whole = perimeter(closed);
    let forward = once_around(to.along - from.along, whole);
    let mut line = Vec::with_capacity(closed.len() + stroke.len());
    if forward <= 0.5 * whole {
        line.extend_from_slice(stroke);
        line.extend(kept_points(closed, &to, &from, whole - forward));
    } else {
        line.extend(stroke.iter().rev());
        line.extend(kept_points(closed, &from, &to, forward));
    }
    Ok(line)
}

/// A place on a closed line.
struct Place {
    /// Index of the edge it lies on.
    edge: usize,
    /// Arc length from the first point.
    along: f64,
    /// How far the asked point was.
    distance: f64,
}

fn nearest_place(closed: &[Point], p: Point) -> Place {
    let mut best = Place { edge: 0, along: 0.0, distance: f64::INFINITY };
    let mut walked = 0.0;
    for (edge, (a, b)) in edges(closed).enumerate() {
        let ab = b - a;
        let length = ab.hypot();
        let t = if length > 0.0 { ((p - a).dot(ab) / (length * length)).clamp(0.0, 1.0) } else { 0.0 };
        let distance = a.lerp(b, t).distance(p);
        if distance < best.distance {
            best = Place { edge, along: walked + t * length, distance };
        }
        walked += length;
    }
    best
}

/// The points of the stretch of this length that runs forward from one place to another.
fn kept_points<'a>(
    closed: &'a [Point],
    from: &Place,
    to: &Place,
    length: f64,
) -> impl Iterator<Item = Point> + 'a {
    let n = closed.len();
    let steps = (to.edge + n - from.edge) % n;
    // On one edge the stretch is either the bit between both places or all the way round.
    let around = steps == 0 && length > 0.0 && to.along < from.along;
    let count = if around { n } else { steps };
    closed.iter().copied().cycle().skip(from.edge + 1).take(count)
}

/// The stroke without what overshoots its start or end.
fn closed_stroke(stroke: &[Point]) -> Result<&[Point], ContourError> {
    let n = stroke.len();
    let mut along = Vec::with_capacity(n);
    let mut walked = 0.0;
    let mut longest = 0.0_f64;
    for (i, p) in stroke.iter().enumerate() {
        if i > 0 {
            let step = p.distance(stroke[i - 1]);
            walked += step;
            longest = longest.max(step);
        }
        along.push(walked);
    }
    let reach = OVERSHOOT_SHARE * walked;
    let starts = along.iter().take_while(|&&s| s <= reach).count();
    let ends = along.iter().rev().take_while(|&&s| walked - s <= reach).count();
    let mut best = (f64::INFINITY, 0, n - 1);
    for i in 0..starts {
        for j in n - ends..n {
            let cost = stroke[i].distance(stroke[j]) + TRIM_COST * (along[i] + walked - along[j]);
            if cost < best.0 {
                best = (cost, i, j);
            }
        }
    }
    let (_, first, last) = best;
    let kept = stroke.get(first..=last).unwrap_or(stroke);
    let gap_mm = stroke[first].distance(stroke[last]);
    if gap_mm > LARGEST_GAP_MM && gap_mm > 2.0 * longest {
        return Err(ContourError::NotClosed { gap_mm });
    }
    Ok(kept)
}

/// Gaussian smoothing along a closed line with evenly spaced points, with one un-shrink step: what the first pass
/// took away is smoothed as well and given back, so that wavelengths well above the kernel keep their size.
fn smoothed(points: &[Point]) -> Vec<Point> {
    let step = perimeter(points) / points.len() as f64;
    let once = blurred(points, step);
    let lost: Vec<Point> = points.iter().zip(&once).map(|(p, q)| (*p - *q).to_point()).collect();
    let back = blurred(&lost, step);
    once.iter().zip(&back).map(|(q, r)| *q + r.to_vec2()).collect()
}

fn blurred(points: &[Point], step: f64) -> Vec<Point> {
    let n = points.len();
    let reach = ((KERNEL_REACH * SMOOTHING_MM / step).ceil() as usize).min(n / 2);
    let weights: Vec<f64> =
        (0..=reach).map(|k| (-0.5 * (k as f64 * step / SMOOTHING_MM).powi(2)).exp()).collect();
    let total = weights.iter().skip(1).sum::<f64>() * 2.0 + 1.0;
    (0..n)
        .map(|i| {
            let at = |k: usize| points[k % n].to_vec2();
            let sum = weights
                .iter()
                .enumerate()
                .skip(1)
                .fold(at(i), |sum: Vec2, (k, &w)| sum + (at(i + k) + at(i + n - k)) * w);
            (sum / total).to_point()
        })
        .collect()
}

/// The line without its small loops.
fn without_loops(mut points: Vec<Point>) -> Result<Vec<Point>, ContourError> {
    loop {
        // The loop that is shortest goes first: a crossing inside a larger loop disappears with it.
        let crossings = all_crossings(&points);
        let Some(crossing) = crossings.iter().min_by_key(|c| loop_len(c, points.len())) else {
            return Ok(points);
        };
        let (looped, mut rest) = split_at(&points, crossing);
        let reach = looped.iter().map(|p| p.distance(crossing.at)).fold(0.0, f64::max);
        let inner = signed_area(&looped) * signed_area(&rest) > 0.0;
        let allowed = if inner { INNER_LOOP_MM } else { OUTER_LOOP_MM };
        if reach > allowed || perimeter(&looped) > LOOP_SHARE * perimeter(&points) {
            return Err(ContourError::SelfCrossing { at: crossing.at });
        }
        // Each round drops at least one point, so the loop ends.
        drop_doubled(&mut rest);
        if rest.len() < MIN_POINTS || rest.len() >= points.len() {
            return Err(ContourError::SelfCrossing { at: crossing.at });
        }
        points = rest;
    }
}

fn loop_len(crossing: &Crossing, n: usize) -> usize {
    let inside = crossing.second - crossing.first;
    inside.min(n - inside)
}

/// The shorter and the longer of the two loops that meet at a crossing; each starts at the crossing.
fn split_at(points: &[Point], crossing: &Crossing) -> (Vec<Point>, Vec<Point>) {
    let at = crossing.at;
    let middle = points.iter().take(crossing.second + 1).skip(crossing.first + 1);
    let outer = points.iter().skip(crossing.second + 1).chain(points.iter().take(crossing.first + 1));
    let inside: Vec<Point> = std::iter::once(&at).chain(middle).copied().collect();
    let around: Vec<Point> = std::iter::once(&at).chain(outer).copied().collect();
    if inside.len() <= around.len() { (inside, around) } else { (around, inside) }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;

    /// A brow-like oval, 48 mm long and 8 mm thick, bent upwards; `turn` 0 to 1 runs around it.
    fn oval(turn: f64) -> Point {
        let (sin, cos) = (turn * TAU).sin_cos();
        let x = 24.0 * cos;
        Point::new(35.0 + x, 22.0 + 4.0 * sin - 0.008 * x * x)
    }

    fn stroke(n: usize, from: f64, to: f64) -> Vec<Point> {
        (0..n).map(|i| oval(from + (to - from) * i as f64 / (n - 1) as f64)).collect()
    }

    fn farthest_between(a: &Contour, b: &Contour) -> f64 {
        crate::hausdorff(a, b)
    }

    fn truth() -> Contour {
        Contour::try_new(stroke(1001, 0.0, 1.0)).expect("the oval is simple")
    }

    /// A fixed sequence in −1 … 1.
    fn jitter() -> impl FnMut() -> f64 {
        let mut state = 1_u64;
        move || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 40) as f64 / (1 << 23) as f64 - 1.0
        }
    }

    #[test]
    fn clean_stroke_keeps_its_shape_and_area() {
        for n in [120, 300, 2000] {
            let contour = contour_from_trace(&stroke(n, 0.0, 1.0)).expect("clean");
            assert!(
                farthest_between(&contour, &truth()) < 0.15,
                "{n}: {}",
                farthest_between(&contour, &truth())
            );
            assert!((contour.area() / truth().area() - 1.0).abs() < 0.003, "{n}: {}", contour.area());
        }
    }

    #[test]
    fn either_direction_gives_the_same_brow_counter_clockwise() {
        let mut points = stroke(300, 0.0, 1.0);
        let one = contour_from_trace(&points).expect("clean");
        points.reverse();
        let other = contour_from_trace(&points).expect("clean");
        assert!(farthest_between(&one, &other) < 0.05);
        assert!(signed_area(other.points()) > 0.0);
    }

    #[test]
    fn tremor_is_smoothed_without_shrinking() {
        let mut next = jitter();
        let mut points = stroke(600, 0.0, 1.0);
        for p in &mut points {
            *p += Vec2::new(0.3 * next(), 0.3 * next());
        }
        let contour = contour_from_trace(&points).expect("tremor is mended");
        assert!(farthest_between(&contour, &truth()) < 0.35);
        assert!((contour.area() / truth().area() - 1.0).abs() < 0.01);
    }

    #[test]
    fn gap_and_overshoot_are_closed() {
        for (from, to) in [(0.0, 0.97), (0.0, 1.08), (0.3, 1.36), (0.6, 1.57)] {
            let contour = contour_from_trace(&stroke(400, from, to)).expect("closable");
            assert!(farthest_between(&contour, &truth()) < 0.5, "{from} to {to}");
        }
        // The end runs past the start, half a millimetre inside of it.
        let mut points = stroke(400, 0.3, 1.36);
        for p in points.iter_mut().skip(370) {
            p.y -= 0.5;
        }
        assert!(farthest_between(&contour_from_trace(&points).expect("closable"), &truth()) < 1.0);
    }

    #[test]
    fn curls_of_the_pen_are_dropped() {
        for (radius, way) in [(0.9, 1.0), (0.9, -1.0), (2.0, 1.0)] {
            let mut points = stroke(400, 0.0, 1.0);
            let (p, q) = (points[120], points[121]);
            let along = (q - p) / (q - p).hypot();
            let left = Vec2::new(-along.y, along.x) * way;
            let curl: Vec<Point> = (1..40)
                .map(|i| {
                    let (sin, cos) = (f64::from(i) / 40.0 * TAU).sin_cos();
                    p + along * (radius * sin) + left * (radius * (1.0 - cos))
                })
                .collect();
            points.splice(121..121, curl);
            let contour = contour_from_trace(&points).expect("curl is dropped");
            assert!(
                farthest_between(&contour, &truth()) < 0.5,
                "radius {radius}: {}",
                farthest_between(&contour, &truth())
            );
        }
    }

    #[test]
    fn doubled_points_do_no_harm() {
        let points: Vec<Point> = stroke(200, 0.0, 1.0).into_iter().flat_map(|p| [p, p, p]).collect();
        assert!(contour_from_trace(&points).is_ok());
    }

    #[test]
    fn what_cannot_be_mended_is_refused_with_its_reason() {
        assert!(matches!(
            contour_from_trace(&stroke(2, 0.0, 0.5)),
            Err(ContourError::TooFewPoints { count: 2, .. })
        ));
        assert!(matches!(contour_from_trace(&[]), Err(ContourError::TooFewPoints { count: 0, .. })));
        assert!(matches!(
            contour_from_trace(&stroke(200, 0.0, 0.7)),
            Err(ContourError::NotClosed { gap_mm }) if gap_mm > 8.0
        ));
        for bad in [f64::NAN, f64::INFINITY] {
            let mut points = stroke(100, 0.0, 1.0);
            points[7].y = bad;
            assert_eq!(contour_from_trace(&points), Err(ContourError::NotFinite { index: 7 }));
        }
        let mut points = stroke(100, 0.0, 1.0);
        points[7].x = 1e12;
        assert!(matches!(contour_from_trace(&points), Err(ContourError::TooLarge { .. })));
        let over: Vec<Point> = stroke(200, 0.0, 1.0).into_iter().map(|p| p - Vec2::new(20.0, 0.0)).collect();
        assert!(
            matches!(contour_from_trace(&over), Err(ContourError::CrossesCentreLine { at }) if at.x < -8.0)
        );
        let flat: Vec<Point> = stroke(200, 0.0, 1.0).into_iter().map(|p| Point::new(p.x, 20.0)).collect();
        assert!(contour_from_trace(&flat).is_err());
        assert!(matches!(
            contour_from_trace(&vec![Point::new(10.0, 10.0); 500]),
            Err(ContourError::TooFewPoints { .. })
        ));
    }

    #[test]
    fn figure_eight_names_its_crossing() {
        let eight: Vec<Point> = (0..400)
            .map(|i| {
                let (sin, cos) = (f64::from(i) / 400.0 * TAU).sin_cos();
                Point::new(35.0 + 20.0 * cos, 20.0 + 5.0 * sin * cos)
            })
            .collect();
        match contour_from_trace(&eight) {
            Err(ContourError::SelfCrossing { at }) => {
                assert!(at.distance(Point::new(35.0, 20.0)) < 0.2, "{at:?}");
            }
            other => panic!("an eight was taken: {other:?}"),
        }
    }

    #[test]
    fn crossed_tail_is_refused_rather_than_cut_off() {
        // Upper and lower edge change places over the last 6 mm of the tail.
        let crossed: Vec<Point> = stroke(400, 0.0, 1.0)
            .into_iter()
            .map(|p| {
                let middle = 22.0 - 0.008 * (p.x - 35.0).powi(2);
                let swap = if p.x > 53.0 { -1.0 } else { 1.0 };
                Point::new(p.x, middle + swap * (p.y - middle))
            })
            .collect();
        assert!(
            matches!(contour_from_trace(&crossed), Err(ContourError::SelfCrossing { at }) if (at.x - 53.0).abs() < 1.0)
        );
    }

    #[test]
    fn retraced_stretch_follows_the_new_stroke() {
        let trace = stroke(161, 0.0, 1.0)[..160].to_vec();
        // Lift the top between x = 25 and 45 by 2 mm; drawn in either direction.
        let mut lifted: Vec<Point> = stroke(60, 0.18, 0.32);
        for p in &mut lifted {
            let t = (p.x - 35.0) / 11.0;
            p.y += 2.0 * (1.0 - t * t).max(0.0);
        }
        let forward = retrace(&trace, &lifted).expect("ends lie on the trace");
        lifted.reverse();
        let backward = retrace(&trace, &lifted).expect("ends lie on the trace");
        let (a, b) =
            (contour_from_trace(&forward).expect("clean"), contour_from_trace(&backward).expect("clean"));
        assert!(farthest_between(&a, &b) < 0.05);
        assert!((a.bounds().y1 - 28.0).abs() < 0.1, "{:?}", a.bounds());
        assert!((a.bounds().y0 - truth().bounds().y0).abs() < 0.1);
    }

    #[test]
    fn stroke_around_the_first_point_is_retraced_too() {
        let trace = stroke(161, 0.0, 1.0)[..160].to_vec();
        let longer: Vec<Point> =
            stroke(40, -0.1, 0.1).into_iter().map(|p| Point::new(35.0 + (p.x - 35.0) * 1.05, p.y)).collect();
        let contour = contour_from_trace(&retrace(&trace, &longer).expect("near")).expect("clean");
        assert!((contour.bounds().x1 - 60.2).abs() < 0.15, "{:?}", contour.bounds());
    }

    #[test]
    fn stroke_far_from_the_trace_is_refused() {
        let trace = stroke(160, 0.0, 1.0);
        let far = [Point::new(100.0, 100.0), Point::new(120.0, 100.0)];
        assert!(matches!(retrace(&trace, &far), Err(ContourError::NotClosed { .. })));
        assert!(retrace(&trace, &far[..1]).is_err());
        assert!(retrace(&[], &far).is_err());
    }
}
