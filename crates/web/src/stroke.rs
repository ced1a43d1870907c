//! What a stroke of the pen means: a new trace, or a stretch of the old one drawn again.

use counterpoise_geometry::Side;
use counterpoise_plan::{NaturalBrow, Plan};
use serde::Serialize;

/// Points that a stroke keeps; the document takes 2,000.
const MOST_POINTS: usize = 1_500;

/// A stroke shorter than this part of the old trace's way round can be a stretch of it; one nearly all the way round is
/// a new trace that happens to start on the old one.
const STRETCH_PART: f64 = 0.6;

/// The edit that a stroke asks for, as [`counterpoise_plan::read_edit`] reads it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StrokeEdit {
    /// `trace_natural` or `retrace_natural`.
    #[serde(rename = "do")]
    pub tag: &'static str,
    /// The client's side.
    pub side: Side,
    /// The stroke, photo px.
    pub points_px: Vec<[f64; 2]>,
}

/// What a stroke asks for. `points_px` are photo px, `reach_px` how near the old trace an end must lie to join it.
#[must_use]
pub fn stroke_edit(plan: &Plan, side: Side, points_px: &[[f64; 2]], reach_px: f64) -> StrokeEdit {
    let points_px = thinned(points_px);
    let is_stretch = match plan.natural.get(side) {
        Some(NaturalBrow::Trace { points_px: old }) => joins(old, &points_px, reach_px),
        _ => false,
    };
    StrokeEdit { tag: if is_stretch { "retrace_natural" } else { "trace_natural" }, side, points_px }
}

fn joins(old: &[[f64; 2]], stroke: &[[f64; 2]], reach_px: f64) -> bool {
    let (Some(first), Some(last)) = (stroke.first(), stroke.last()) else { return false };
    let round: f64 = sides(old).map(|(a, b)| distance(a, b)).sum();
    let way: f64 = stroke.windows(2).map(|pair| distance(pair[0], pair[1])).sum();
    way < STRETCH_PART * round && from_line(old, *first) <= reach_px && from_line(old, *last) <= reach_px
}

/// The sides of a closed line.
fn sides(line: &[[f64; 2]]) -> impl Iterator<Item = ([f64; 2], [f64; 2])> + '_ {
    line.iter().copied().zip(line.iter().copied().cycle().skip(1))
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// Distance of a point from a closed line.
fn from_line(line: &[[f64; 2]], at: [f64; 2]) -> f64 {
    sides(line)
        .map(|(a, b)| {
            let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
            let along = (at[0] - a[0]) * dx + (at[1] - a[1]) * dy;
            let length_sq = dx * dx + dy * dy;
            let t = if length_sq > 0.0 { (along / length_sq).clamp(0.0, 1.0) } else { 0.0 };
            distance(at, [a[0] + t * dx, a[1] + t * dy])
        })
        .fold(f64::INFINITY, f64::min)
}

/// The same stroke with evenly fewer points where there are too many; both ends stay.
fn thinned(points: &[[f64; 2]]) -> Vec<[f64; 2]> {
    if points.len() <= MOST_POINTS {
        return points.to_vec();
    }
    let last = points.len() - 1;
    (0..MOST_POINTS).filter_map(|i| points.get(i * last / (MOST_POINTS - 1)).copied()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn traced() -> Plan {
        let mut plan = Plan::default();
        plan.natural.right = Some(NaturalBrow::Trace {
            points_px: vec![
                [0.0, 0.0],
                [100.0, 0.0],
                [200.0, 0.0],
                [200.0, 40.0],
                [100.0, 40.0],
                [0.0, 40.0],
            ],
        });
        plan
    }

    fn is_stretch(plan: &Plan, side: Side, stroke: &[[f64; 2]]) -> bool {
        stroke_edit(plan, side, stroke, 10.0).tag == "retrace_natural"
    }

    #[test]
    fn stroke_between_two_places_of_the_trace_is_a_stretch() {
        assert!(is_stretch(&traced(), Side::Right, &[[50.0, 3.0], [100.0, -12.0], [150.0, -4.0]]));
    }

    #[test]
    fn ends_off_the_trace_other_side_or_no_trace_make_a_new_one() {
        let plan = traced();
        let stroke = [[50.0, 3.0], [100.0, -12.0], [150.0, -4.0]];
        assert!(!is_stretch(&plan, Side::Right, &[[50.0, -30.0], [150.0, -4.0]]));
        assert!(!is_stretch(&plan, Side::Left, &stroke));
        assert!(!is_stretch(&Plan::default(), Side::Right, &stroke));
    }

    #[test]
    fn whole_round_is_a_new_trace_though_it_starts_on_the_old_one() {
        let round = [[0.0, 0.0], [200.0, 2.0], [200.0, 42.0], [0.0, 42.0], [0.0, 5.0]];
        assert!(!is_stretch(&traced(), Side::Right, &round));
    }

    #[test]
    fn closing_side_of_the_trace_counts_as_trace() {
        assert!(is_stretch(&traced(), Side::Right, &[[2.0, 10.0], [-9.0, 20.0], [-2.0, 30.0]]));
    }

    #[test]
    fn long_strokes_are_thinned_and_keep_both_ends() {
        let stroke: Vec<[f64; 2]> = (0..9_000).map(|i| [f64::from(i), 1.0]).collect();
        let StrokeEdit { points_px, .. } = stroke_edit(&Plan::default(), Side::Left, &stroke, 1.0);
        assert_eq!(points_px.len(), MOST_POINTS);
        assert_eq!((points_px[0], points_px[MOST_POINTS - 1]), ([0.0, 1.0], [8_999.0, 1.0]));
    }

    #[test]
    fn stroke_without_points_is_left_to_the_plan_to_refuse() {
        assert!(!is_stretch(&traced(), Side::Right, &[]));
    }

    #[test]
    fn edits_are_what_the_plan_reads() {
        for (stroke, tag) in [
            (vec![[50.0, 3.0], [100.0, -12.0], [150.0, -4.0]], "retrace_natural"),
            (vec![[50.0, 90.0], [100.0, 80.0], [150.0, 99.5]], "trace_natural"),
        ] {
            let made = stroke_edit(&traced(), Side::Right, &stroke, 10.0);
            assert_eq!(made.tag, tag);
            let read = counterpoise_plan::read_edit(&serde_json::to_string(&made).unwrap()).unwrap();
            assert_eq!(serde_json::to_value(&read).unwrap(), serde_json::to_value(&made).unwrap());
        }
    }
}
