use kurbo::Point;
use proptest::prelude::*;

use super::*;

fn polygon(n: usize, at: impl Fn(f64) -> (f64, f64)) -> Contour {
    let points = (0..n).map(|i| at(i as f64 / n as f64 * std::f64::consts::TAU).into()).collect();
    Contour::try_new(points).unwrap()
}

#[test]
fn outline_finds_itself() {
    let median = OutlineParams::natural_median();
    for (param, value) in [
        (Param::Slant, 10.0),
        (Param::Round, 0.8),
        (Param::TipT, 1.2),
        (Param::LowDip, 0.2),
        (Param::Under, 15.0),
    ] {
        let outline = Outline::try_new(&median.with(param, value)).unwrap();
        let fit = fit_outline(&outline.contour()).unwrap();
        // The polygon itself is up to 0.1 mm off the curve at a thick tip.
        assert!(fit.mean_mm < 0.02, "{param:?} {}", fit.mean_mm);
        assert!(fit.hausdorff_mm < 0.25, "{param:?} {}", fit.hausdorff_mm);
    }
}

#[test]
fn same_brow_same_fit() {
    let brow = polygon(160, |t| (35.0 + 22.0 * t.cos(), 25.0 + 4.0 * t.sin() - 4.0 * t.cos().powi(2)));
    assert_eq!(fit_outline(&brow), fit_outline(&brow));
}

#[test]
fn odd_shapes_end_in_a_valid_outline_or_a_reason() {
    let shapes = [
        polygon(40, |t| (40.0 + 9.0 * t.cos(), 25.0 + 9.0 * t.sin())),
        polygon(40, |t| (40.0 + 30.0 * t.cos(), 25.0 + 0.6 * t.sin())),
        polygon(40, |t| (200.0 + 9.0 * t.cos(), -250.0 + 9.0 * t.sin())),
        polygon(9, |t| (2.0 + t.cos(), t.sin())),
        polygon(50, |t| {
            let r = 10.0 + 6.0 * (5.0 * t).cos();
            (40.0 + r * t.cos(), 20.0 + r * t.sin())
        }),
        Contour::try_new(
            [
                (0.0, 0.0),
                (5.0, 0.0),
                (10.0, 0.0),
                (10.0, 5.0),
                (10.0, 10.0),
                (5.0, 10.0),
                (0.0, 10.0),
                (0.0, 5.0),
            ]
            .map(Point::from)
            .to_vec(),
        )
        .unwrap(),
    ];
    for shape in &shapes {
        if let Ok(fit) = fit_outline(shape) {
            assert!(Outline::try_new(fit.outline.params()).is_ok());
            assert!(fit.mean_mm.is_finite() && fit.hausdorff_mm >= fit.mean_mm);
        }
    }
}

#[test]
fn distances_of_circles_are_their_difference_in_radius() {
    let ring = |radius: f64| -> Vec<Point> {
        (0..720)
            .map(|i| {
                Point::new(30.0, 20.0) + radius * kurbo::Vec2::from_angle(f64::from(i).to_radians() / 2.0)
            })
            .collect()
    };
    let (mean, most) = directed(&ring(8.0), &ring(10.0));
    // The polygons' sagitta at half-degree steps is 1e-5 of the radius.
    assert!((mean - 2.0).abs() < 2e-4 && (most - 2.0).abs() < 2e-4, "{mean} {most}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn wobbly_brows_are_followed_within_their_wobble(
        phase in 0.0f64..6.3,
        waves in 5u32..14,
        height in 0.0f64..0.3,
        shift in -3.0f64..3.0,
    ) {
        let outline = Outline::try_new(&OutlineParams::natural_median().with(Param::TipT, 2.0)).unwrap();
        let points: Vec<Point> = outline.contour().sample(160);
        let wobbly: Vec<Point> = points
            .iter()
            .enumerate()
            .map(|(i, p)| {
                let t = i as f64 / 160.0 * std::f64::consts::TAU;
                *p + kurbo::Vec2::new(shift, shift + height * (f64::from(waves) * t + phase).sin())
            })
            .collect();
        let fit = fit_outline(&Contour::try_new(wobbly).unwrap()).unwrap();
        prop_assert!(fit.mean_mm < 0.03 + 0.65 * height, "{} at {height}", fit.mean_mm);
    }
}
