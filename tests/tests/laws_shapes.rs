//! What must hold for any shapes: areas add up, nothing depends on where shapes lie, on their size or on which side is
//! called the right one.

use counterpoise_geometry::{
    Contour, ContourError, Outline, OutlineParams, Param, StripPlace, contour_from_trace, count_regions,
    counted_regions, eroded, hausdorff, iou, mean_contour_distance, mean_contour_distance_with_roll,
    overlap_area, patches_area, regions, retrace, strips, unevenness,
};
use kurbo::{Point, Vec2};
use proptest::prelude::*;
use proptest::test_runner::Config;

/// An invented brow-like contour: a bent band of varying thickness.
fn brow() -> impl Strategy<Value = Contour> {
    let shape = (5.0..20.0_f64, 35.0..50.0_f64, 12.0..20.0_f64, 0.0..10.0_f64, 3.0..9.0_f64);
    (shape, prop::collection::vec(0.6..1.0_f64, 16..60)).prop_map(
        |((front, length, height, rise, thick), rough)| {
            let n = rough.len();
            let at = |i: usize, side: f64| {
                let t = i as f64 / (n - 1) as f64;
                let middle = height + 4.0 * rise * t * (1.0 - 0.6 * t);
                Point::new(front + length * t, middle + side * 0.5 * thick * rough[i] * (1.0 - 0.8 * t))
            };
            let lower = (0..n).map(|i| at(i, -1.0));
            let upper = (0..n).rev().map(|i| at(i, 1.0));
            Contour::try_new(lower.chain(upper).collect()).expect("upper stays above lower")
        },
    )
}

fn mapped(contour: &Contour, map: impl Fn(Point) -> Point) -> Contour {
    Contour::try_new(contour.points().iter().map(|&p| map(p)).collect()).expect("still simple")
}

proptest! {
    #![proptest_config(Config { cases: 200, failure_persistence: None, ..Config::default() })]

    #[test]
    fn areas_add_up(natural in brow(), planned in brow(), tolerance in 0.0..1.0_f64) {
        let areas = counted_regions(&natural, &planned, tolerance).areas;
        prop_assert!((areas.kept + areas.removed - areas.natural).abs() < 1e-6);
        prop_assert!((areas.kept + areas.added - areas.planned).abs() < 1e-6);
        prop_assert!((areas.kept - overlap_area(&natural, &planned)).abs() < 1e-6);
        prop_assert!(areas.removed_counted <= areas.removed + 1e-6);
    }

    /// The patches hold the areas that are summed without them, however nearly the two edges lie on each other, and at
    /// whatever angle; parts that keep an edge in common share it exactly.
    #[test]
    fn patches_hold_their_areas(
        natural in brow(),
        other in brow(),
        kind in 0..4_u8,
        shift in prop::sample::select(vec![0.0, 1e-12, 1e-9, 1e-7, 1e-5, 1e-3, 0.3]),
        turn in prop::sample::select(vec![0.0, 1e-9, 1e-4, 0.5, std::f64::consts::FRAC_PI_2, 3.0]),
    ) {
        let about = Point::new(40.0, 40.0);
        let turned = |contour: &Contour, by: f64| mapped(contour, |p| about + Vec2::from_angle(by).rotate_scale(p - about));
        let natural = turned(&natural, turn);
        let planned = match kind {
            // The same edge, a little moved, a part of it dented, or another brow altogether.
            0 => mapped(&natural, |p| p + Vec2::new(shift, 0.7 * shift)),
            1 => natural.rotated(shift),
            2 => {
                let dented: Vec<Point> = natural
                    .points()
                    .iter()
                    .enumerate()
                    .map(|(i, p)| if i % 9 == 4 { p.lerp(natural.bounds().center(), 0.02 + shift * 0.1) } else { *p })
                    .collect();
                match Contour::try_new(dented) {
                    Ok(dented) => dented,
                    Err(_) => return Ok(()),
                }
            }
            _ => turned(&other, turn),
        };
        let found = regions(&natural, &planned);
        let areas = count_regions(&natural, &planned, &found.removed, 0.25).areas;
        for (name, patches, area) in [
            ("kept", &found.kept, areas.kept),
            ("removed", &found.removed, areas.removed),
            ("added", &found.added, areas.added),
        ] {
            let by_patches = patches_area(patches);
            // An edge of 0.3 mm that is upright but for 2e-10 mm, the least that a sweep tells apart, turns the rounding
            // of a crossing's place (7e-15 mm) into 1e-5 mm of its height, and that times the mm or so to the next
            // corners is the area at stake.
            prop_assert!((by_patches - area).abs() < 2e-5, "{name}: {by_patches} {area}");
            for patch in patches {
                prop_assert!(patch.rings().flatten().all(|p| p.is_finite()));
                prop_assert!(patch.area() > 0.0);
            }
        }
        let shrunk = patches_area(&eroded(&natural, 0.25));
        let counted = areas.removed_counted;
        prop_assert!(counted <= areas.removed + 2e-5 && counted >= shrunk - areas.kept - 2e-5);
        prop_assert_eq!(areas, counted_regions(&natural, &planned, 0.25).areas);
    }

    #[test]
    fn a_brow_against_itself_has_nothing_apart(brow in brow()) {
        let areas = counted_regions(&brow, &brow, 0.25).areas;
        prop_assert!(areas.removed.abs() < 1e-9 && areas.added.abs() < 1e-9);
        prop_assert!((areas.kept - brow.area()).abs() < 1e-6);
        let all = unevenness(&brow, &brow);
        prop_assert!(all.mean_distance_mm < 1e-9 && all.hausdorff_mm < 1e-6 && all.one_minus_iou.abs() < 1e-12);
    }

    #[test]
    fn a_wider_tolerance_counts_less(natural in brow(), planned in brow(), low in 0.0..0.5_f64, more in 0.01..0.5_f64) {
        let counted = |tolerance| counted_regions(&natural, &planned, tolerance).areas.removed_counted;
        prop_assert!(counted(low + more) <= counted(low) + 1e-6);
    }

    #[test]
    fn shrinking_stays_inside_by_the_distance(brow in brow(), distance in 0.05..1.0_f64) {
        let shrunk = eroded(&brow, distance);
        for p in shrunk.iter().flat_map(|patch| patch.rings()).flatten() {
            let nearest = brow.edges().map(|(a, b)| {
                let t = ((*p - a).dot(b - a) / (b - a).hypot2()).clamp(0.0, 1.0);
                a.lerp(b, t).distance(*p)
            }).fold(f64::INFINITY, f64::min);
            // The arcs are polylines that stray by less than 0.1 % of the distance.
            prop_assert!((nearest - distance).abs() < 0.001 * distance + 1e-9, "{nearest} for {distance}");
        }
        prop_assert!(patches_area(&shrunk) < brow.area());
    }

    #[test]
    fn distances_do_not_depend_on_order(a in brow(), b in brow()) {
        prop_assert!((mean_contour_distance(&a, &b) - mean_contour_distance(&b, &a)).abs() < 1e-12);
        prop_assert!((hausdorff(&a, &b) - hausdorff(&b, &a)).abs() < 1e-6);
        prop_assert!((iou(&a, &b) - iou(&b, &a)).abs() < 1e-12);
        // Exchanging the sides turns the roll around.
        let [less, more] = unevenness(&a, &b).roll_band_mm;
        let swapped = unevenness(&b, &a).roll_band_mm;
        prop_assert!((less - swapped[1]).abs() < 1e-9 && (more - swapped[0]).abs() < 1e-9);
    }

    #[test]
    fn nothing_depends_on_place(a in brow(), b in brow(), x in -4.0..20.0_f64, y in -10.0..10.0_f64) {
        let by = Vec2::new(x, y);
        let (c, d) = (a.translated(by), b.translated(by));
        let (before, after) = (counted_regions(&a, &b, 0.25).areas, counted_regions(&c, &d, 0.25).areas);
        for (p, q) in [
            (before.kept, after.kept),
            (before.removed, after.removed),
            (before.added, after.added),
            (before.removed_counted, after.removed_counted),
            (mean_contour_distance(&a, &b), mean_contour_distance(&c, &d)),
            (hausdorff(&a, &b), hausdorff(&c, &d)),
            (iou(&a, &b), iou(&c, &d)),
        ] {
            prop_assert!((p - q).abs() < 1e-6, "{p} {q}");
        }
    }

    #[test]
    fn sizes_scale(a in brow(), b in brow(), scale in 0.5..2.0_f64) {
        let larger = |contour: &Contour| mapped(contour, |p| Point::new(p.x * scale, p.y * scale));
        let (c, d) = (larger(&a), larger(&b));
        let (before, after) = (counted_regions(&a, &b, 0.25).areas, counted_regions(&c, &d, 0.25 * scale).areas);
        for (p, q) in [
            (before.kept, after.kept),
            (before.removed, after.removed),
            (before.added, after.added),
        ] {
            prop_assert!((p * scale * scale - q).abs() < 1e-6);
        }
        // Shrinking draws arcs by angle, not by length, so it scales as well.
        prop_assert!((before.removed_counted * scale * scale - after.removed_counted).abs() < 1e-5);
        prop_assert!((mean_contour_distance(&a, &b) * scale - mean_contour_distance(&c, &d)).abs() < 1e-9);
        prop_assert!((hausdorff(&a, &b) * scale - hausdorff(&c, &d)).abs() < 1e-6);
        prop_assert!((iou(&a, &b) - iou(&c, &d)).abs() < 1e-9);
    }

    #[test]
    fn mirror_images_measure_alike(a in brow(), b in brow()) {
        // Upside down: the same areas and distances with every orientation turned.
        let flip = |contour: &Contour| mapped(contour, |p| Point::new(p.x, 40.0 - p.y));
        let (c, d) = (flip(&a), flip(&b));
        let (before, after) = (counted_regions(&a, &b, 0.25).areas, counted_regions(&c, &d, 0.25).areas);
        for (p, q) in [
            (before.kept, after.kept),
            (before.removed, after.removed),
            (before.added, after.added),
            (before.removed_counted, after.removed_counted),
        ] {
            prop_assert!((p - q).abs() < 1e-6, "{p} {q}");
        }
        prop_assert!((iou(&a, &b) - iou(&c, &d)).abs() < 1e-12);
    }

    #[test]
    fn turning_both_sides_together_changes_nothing(a in brow(), b in brow(), angle in -0.1..0.1_f64) {
        let (c, d) = (a.rotated(angle), b.rotated(angle));
        prop_assert!((mean_contour_distance(&a, &b) - mean_contour_distance(&c, &d)).abs() < 1e-9);
        let rolled = mean_contour_distance(&a.rotated(angle), &b.rotated(-angle));
        prop_assert!((mean_contour_distance_with_roll(&a, &b, angle) - rolled).abs() < 1e-9);
    }

    #[test]
    fn strips_add_up_to_what_counts(natural in brow(), planned in brow()) {
        let found = counted_regions(&natural, &planned, 0.25);
        let list = strips(&found.removed, &planned, &planned.caliper_points(), 0.25);
        let listed: f64 = list.iter().map(|strip| strip.area).sum();
        // Crumbs below 0.05 mm² are not listed; a rough edge leaves a few dozen at most.
        prop_assert!(listed <= found.areas.removed_counted + 1e-6);
        prop_assert!(listed >= found.areas.removed_counted - 0.05 * 120.0);
        for strip in &list {
            prop_assert!(strip.widest >= strip.mean_width - 1e-9 && strip.mean_width > 0.25);
            prop_assert!(strip.at.is_finite(), "{strip:?}");
            prop_assert!(!planned.contains(strip.at), "inside the plan: {strip:?}");
            prop_assert!(natural.contains(strip.at), "outside the brow: {strip:?}");
        }
    }

    #[test]
    fn any_stroke_is_taken_or_refused(points in prop::collection::vec((-80.0..80.0_f64, -80.0..80.0_f64), 0..60)) {
        let points: Vec<Point> = points.into_iter().map(Point::from).collect();
        if let Ok(contour) = contour_from_trace(&points) {
            prop_assert!(Contour::try_new(contour.points().to_vec()).is_ok());
            prop_assert!(contour.bounds().x0 >= 0.0);
        }
        let _ = retrace(&points, &points);
        let _ = Contour::try_new(points);
    }

    #[test]
    fn broken_numbers_are_refused(brow in brow(), index in 0..30_usize, bad in prop::sample::select(vec![f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300])) {
        let mut points = brow.points().to_vec();
        points[index].x = bad;
        for result in [Contour::try_new(points.clone()), contour_from_trace(&points)] {
            let refused = matches!(result, Err(ContourError::NotFinite { .. } | ContourError::TooLarge { .. }));
            prop_assert!(refused, "{:?}", result);
        }
    }

    #[test]
    fn cleaning_twice_is_cleaning_once(brow in brow()) {
        let once = contour_from_trace(brow.points());
        if let Ok(once) = once {
            let twice = contour_from_trace(once.points()).expect("clean already");
            prop_assert!(mean_contour_distance(&once, &twice) < 0.08);
        }
    }
}

/// The median brow, planned slimmer, higher or shorter: every strip is found where it lies.
#[test]
fn strips_are_named_by_their_place() {
    let natural = OutlineParams::natural_median();
    let of = |params: &OutlineParams| Outline::try_new(params).expect("a valid brow");
    let places = |planned: &OutlineParams| {
        let outline = of(planned);
        let contour = outline.contour();
        let found = counted_regions(&of(&natural).contour(), &contour, 0.25);
        strips(&found.removed, &contour, &outline.caliper_points(), 0.25)
    };
    let main = |planned: &OutlineParams| {
        let mut list = places(planned);
        list.sort_by(|a, b| b.area.total_cmp(&a.area));
        list.first().copied().expect("something is removed")
    };
    let lower_top = natural.with(Param::ArchY, 25.5).with(Param::ArchT, 5.8).with(Param::BulbT, 5.0);
    assert_eq!(main(&lower_top).place, StripPlace::Above);
    let further_out = natural.with(Param::FrontX, 17.5);
    let front = main(&further_out);
    assert_eq!(front.place, StripPlace::Front);
    assert!((front.widest - 4.0).abs() < 0.5, "{front:?}");
    let higher_underside = natural.with(Param::ArchT, 5.3);
    let under = main(&higher_underside);
    assert_eq!(under.place, StripPlace::UnderArch);
    assert!((under.widest - 2.0).abs() < 0.2, "{under:?}");
    let shorter = natural.with(Param::TailX, 50.3).with(Param::TailY, 18.6);
    assert_eq!(main(&shorter).place, StripPlace::Tail);
    let slimmer_bulb = natural.with(Param::BulbY, 17.4).with(Param::BulbT, 4.0);
    assert_eq!(main(&slimmer_bulb).place, StripPlace::UnderFront);
    assert!(places(&natural).is_empty());
}
