use kurbo::{ParamCurve, Point};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

use super::*;

/// Independent of the crate's own test of simplicity: every pair of edges by orientation signs.
fn crosses_itself(points: &[Point]) -> bool {
    let n = points.len();
    let turn = |a: Point, b: Point, c: Point| (b - a).cross(c - a);
    (0..n).any(|i| {
        let (a, b) = (points[i], points[(i + 1) % n]);
        (i + 2..n).any(|j| {
            let (c, d) = (points[j], points[(j + 1) % n]);
            let apart = a.x.max(b.x) < c.x.min(d.x) || c.x.max(d.x) < a.x.min(b.x) || (j + 1) % n == i;
            !apart && turn(a, b, c) * turn(a, b, d) <= 0.0 && turn(c, d, a) * turn(c, d, b) <= 0.0
        })
    })
}

/// The exact curves, sampled more finely than the contour.
fn dense(outline: &Outline) -> Vec<Point> {
    let mut points = Vec::new();
    for segment in outline.path().segments() {
        points.extend((0..32).map(|i| segment.eval(f64::from(i) / 32.0)));
    }
    points.dedup();
    points
}

/// The ranges that this project's model study sampled, in the order of the parameters.
const STUDY: [(f64, f64); 17] = [
    (2.0, 25.0),
    (5.0, 30.0),
    (2.0, 14.0),
    (-25.0, 25.0),
    (0.0, 1.0),
    (25.0, 52.0),
    (12.0, 38.0),
    (2.5, 14.0),
    (0.05, 1.0),
    (45.0, 75.0),
    (2.0, 30.0),
    (0.3, 4.0),
    (-1.0, 1.0),
    (-1.5, 3.0),
    (-1.0, 1.0),
    (-20.0, 30.0),
    (-1.0, 1.0),
];
/// Standard deviations of the parameters of 165 natural brows, rounded up (same study).
const NATURAL_SD: [f64; 17] =
    [3.0, 3.5, 2.2, 14.0, 0.35, 5.0, 3.6, 2.2, 0.3, 4.5, 4.5, 1.2, 0.3, 0.6, 0.3, 10.0, 0.3];

fn params_in(ranges: [(f64, f64); 17]) -> impl Strategy<Value = OutlineParams> {
    prop::array::uniform17(0.0..1.0).prop_map(move |u: [f64; 17]| {
        OutlineParams(std::array::from_fn(|i| ranges[i].0 + (ranges[i].1 - ranges[i].0) * u[i]))
    })
}

fn any_params() -> impl Strategy<Value = OutlineParams> {
    params_in(Param::ALL.map(|info| info.range))
}

/// Parameters around the natural median, each by itself, one and a half times as varied as natural brows: a sum of three even ones is near enough to a bell curve.
fn natural_params() -> impl Strategy<Value = OutlineParams> {
    prop::array::uniform17((-1.0..1.0, -1.0..1.0, -1.0..1.0)).prop_map(|u: [(f64, f64, f64); 17]| {
        OutlineParams(std::array::from_fn(|i| {
            let (least, greatest) = Param::ALL[i].range;
            let value = Param::ALL[i].natural_median + 1.5 * NATURAL_SD[i] * (u[i].0 + u[i].1 + u[i].2);
            value.clamp(least, greatest)
        }))
    })
}

/// Runs `check` on every valid outline of `cases` samples and returns how many were valid.
fn on_valid(
    cases: u32,
    strategy: impl Strategy<Value = OutlineParams>,
    check: impl Fn(&Outline) -> Result<(), TestCaseError>,
) -> u32 {
    let valid = std::cell::Cell::new(0);
    let config = Config { cases, failure_persistence: None, ..Config::default() };
    TestRunner::new_with_rng(
        config,
        prop::test_runner::TestRng::deterministic_rng(prop::test_runner::RngAlgorithm::ChaCha),
    )
    .run(&strategy, |params| match Outline::try_new(&params) {
        Ok(outline) => {
            valid.set(valid.get() + 1);
            check(&outline)
        }
        Err(_) => Ok(()),
    })
    .unwrap();
    valid.get()
}

fn is_simple(outline: &Outline) -> Result<(), TestCaseError> {
    let contour = outline.contour();
    prop_assert!(!crosses_itself(contour.points()));
    prop_assert!(contour.area() > 0.0, "clockwise");
    prop_assert!(Contour::try_new(contour.points().to_vec()).is_ok());
    Ok(())
}

#[test]
fn valid_outlines_of_the_study_ranges_are_simple() {
    let valid = on_valid(25_000, params_in(STUDY), is_simple);
    assert!(valid > 18_000, "only {valid} of 25000 accepted");
}

#[test]
fn valid_outlines_of_all_ranges_are_simple() {
    let valid = on_valid(20_000, any_params(), is_simple);
    assert!(valid > 6_000, "only {valid} of 20000 accepted");
}

#[test]
fn natural_outlines_are_accepted_and_simple() {
    let valid = on_valid(20_000, natural_params(), is_simple);
    assert!(valid > 13_000, "only {valid} of 20000 accepted");
}

#[test]
fn exact_curves_are_simple_too() {
    on_valid(2_000, params_in(STUDY), |outline| {
        prop_assert!(!crosses_itself(&dense(outline)));
        Ok(())
    });
}

#[test]
fn arch_top_is_where_its_numbers_say() {
    on_valid(4_000, params_in(STUDY), |outline| {
        let p = |param| outline.params().get(param);
        let arch = Point::new(p(Param::ArchX), p(Param::ArchY));
        prop_assert!(dense(outline).iter().any(|point| point.distance(arch) < 1e-9));
        let pieces = build(outline.params()).unwrap();
        let highest = dense(outline).into_iter().fold(f64::MIN, |best, point| best.max(point.y));
        if arch.y >= pieces.bulb_top.y && arch.y >= pieces.cap.p3.y && pieces.cap.p2.y <= arch.y {
            prop_assert!(highest <= arch.y + 1e-9, "{highest} above the arch at {}", arch.y);
            prop_assert_eq!(outline.caliper_points().arch_top, arch);
            let under = Point::new(arch.x, arch.y - p(Param::ArchT));
            prop_assert!(outline.caliper_points().arch_under.distance(under) < 1e-9);
        }
        Ok(())
    });
}

#[test]
fn tail_ends_where_its_numbers_say() {
    on_valid(4_000, any_params(), |outline| {
        let end = Point::new(outline.params().get(Param::TailX), outline.params().get(Param::TailY));
        let pieces = build(outline.params()).unwrap();
        prop_assert!(pieces.cap.eval(0.5).distance(end) < 1e-9);
        Ok(())
    });
}

#[test]
fn joins_are_smooth_where_promised() {
    on_valid(2_000, params_in(STUDY), |outline| {
        let c = build(outline.params()).unwrap();
        let ring =
            [c.bottom_corner, c.lower_front, c.lower_tail, c.cap, c.upper_tail, c.upper_front, c.top_corner];
        for pair in ring.windows(2) {
            let (out, into) = ((pair[0].p3 - pair[0].p2).normalize(), (pair[1].p1 - pair[1].p0).normalize());
            prop_assert!(pair[0].p3.distance(pair[1].p0) < 1e-12);
            if c.soft {
                prop_assert!((out - into).hypot() < 1e-6, "{out:?} {into:?}");
            }
        }
        Ok(())
    });
}

#[test]
fn sharp_front_passes_its_bottom_corner() {
    on_valid(2_000, params_in(STUDY), |outline| {
        if let Ok(sharp) = Outline::try_new(&outline.params().with(Param::Soft, 0.0)) {
            let corner = Point::new(outline.params().get(Param::FrontX), outline.params().get(Param::BulbY));
            prop_assert!(sharp.contour().points().contains(&corner));
            let top = sharp.caliper_points().bulb_top;
            prop_assert!(sharp.contour().points().iter().any(|point| point.distance(top) < 1e-9));
        }
        Ok(())
    });
}

#[test]
fn caliper_points_are_the_extremes_of_the_curves() {
    on_valid(3_000, params_in(STUDY), |outline| {
        let points = outline.caliper_points();
        let dense = dense(outline);
        let most = |score: fn(&Point) -> f64| dense.iter().map(score).fold(f64::MIN, f64::max);
        // The samples are at most this far short of the curve between them.
        let short = 0.02;
        for (exact, sampled) in [
            (-points.front.x, most(|p| -p.x)),
            (points.arch_top.y, most(|p| p.y)),
            (points.tail_end.x, most(|p| p.x)),
        ] {
            prop_assert!(exact >= sampled - 1e-9 && exact < sampled + short, "{exact} {sampled}");
        }
        Ok(())
    });
}

#[test]
fn area_is_that_of_a_fine_polygon() {
    on_valid(2_000, params_in(STUDY), |outline| {
        let fine = crate::contour::signed_area(&dense(outline));
        prop_assert!((outline.area() - fine).abs() < 0.002 * outline.area(), "{} {fine}", outline.area());
        Ok(())
    });
}

#[test]
fn contour_follows_the_curves() {
    on_valid(500, natural_params(), |outline| {
        let contour = outline.contour();
        for point in dense(outline) {
            let distance = contour
                .edges()
                .map(|(a, b)| {
                    let t = ((point - a).dot(b - a) / (b - a).hypot2()).clamp(0.0, 1.0);
                    point.distance(a.lerp(b, t))
                })
                .fold(f64::MAX, f64::min);
            // A half turn of width w in six chords stays within w/2 (1 − cos 15°); a steep tail's tip is drawn out.
            let bound = 0.03 + 0.1 * outline.params().get(Param::TipT);
            prop_assert!(distance < bound, "{distance}");
        }
        Ok(())
    });
}

#[test]
fn soft_outlines_correspond_point_by_point() {
    let outline = Outline::try_new(&OutlineParams::natural_median()).unwrap();
    assert_eq!(outline.contour().points().len(), OUTLINE_POINTS);
    assert_eq!(POINTS_PER_PIECE.iter().sum::<usize>(), OUTLINE_POINTS);
}

#[test]
fn numbers_that_make_no_outline_are_refused_by_name() {
    let median = OutlineParams::natural_median();
    let check = |change: &[(Param, f64)], fault: OutlineFault, param: Param| {
        let params = change.iter().fold(median, |params, &(param, value)| params.with(param, value));
        let error = Outline::try_new(&params).unwrap_err();
        assert_eq!((error.fault, error.param), (fault, param), "{change:?}");
    };
    for info in &Param::ALL {
        for value in
            [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, info.range.0 - 1e-9, info.range.1 + 1e-9, 1e300]
        {
            check(&[(info.param, value)], OutlineFault::OutOfRange, info.param);
        }
    }
    check(&[(Param::TailX, 39.0)], OutlineFault::TailFolded, Param::TailX);
    check(&[(Param::ArchX, 15.0), (Param::Slant, 40.0)], OutlineFault::FrontTooShort, Param::ArchX);
    check(
        &[(Param::LowDip, -2.5), (Param::BulbT, 1.0), (Param::UpTens, -0.5)],
        OutlineFault::FrontPinched,
        Param::LowDip,
    );
    check(&[(Param::Under, 45.0), (Param::ArchT, 2.0)], OutlineFault::TailPinched, Param::Under);
}
