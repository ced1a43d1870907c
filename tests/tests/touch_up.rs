//! Weeks later: what has become of the agreed pair on a new photo of another size, turn and side.

use counterpoise_geometry::{Contour, Landmark, Outline as Shape, PerSide, Side, SortedMap};
use counterpoise_plan::{
    Edit, Photo, Plan, PlanError, PointPx, PosePhoto, TOUCH_UP, TouchUpLine, apply, describe, open, report,
    to_json,
};
use counterpoise_tests::cases::{Camera, face_landmark, planned_params, trace, whole_plan};
use kurbo::{Point, Vec2};

/// The second photo: from farther away, head tilted the other way, and as a selfie.
const LATER: Camera = Camera {
    px_per_mm: 9.0,
    roll: -0.05,
    origin: [820.0, 760.0],
    mirrored: true,
    width_px: 1700,
    height_px: 1500,
};

fn done(plan: &Plan, edit: &Edit) -> Plan {
    apply(plan, edit).expect("the edit is taken")
}

fn code(result: Result<Plan, PlanError>) -> &'static str {
    result.expect_err("it is refused").code
}

fn agreed() -> Plan {
    let plan = whole_plan(&Camera::default()).expect("the case");
    let strokes = vec![vec![[100.0, 500.0], [900.0, 300.0], [1700.0, 600.0]]];
    done(&plan, &Edit::Agree { at: "2026-10-10T10:00:00+02:00".into(), initials: "ab".into(), strokes })
}

fn photo(key: &str) -> PosePhoto {
    let photo = Photo { width_px: LATER.width_px, height_px: LATER.height_px, mirrored: LATER.mirrored };
    PosePhoto { key: key.into(), photo, points: SortedMap::new(), ruler_mm: None }
}

/// The new photo with what holds still.
fn laid_over(plan: &Plan) -> Plan {
    let mut photo = photo("later-1");
    for point in &describe().pose_points[TOUCH_UP] {
        let Some(landmark) = Landmark::from_id(&point.id).filter(|_| !point.optional) else { continue };
        let [x, y] = face_landmark(landmark);
        let [x_px, y_px] = LATER.pixel(x, y);
        photo.points.insert(point.id.clone(), PointPx { x_px, y_px });
    }
    done(plan, &Edit::SetTouchUp { photo: Some(photo), date: "2026-11-28".into() })
}

fn agreed_contour() -> Contour {
    Shape::try_new(&planned_params()).expect("the pair").contour()
}

fn drawn(side: Side, contour: &Contour) -> Vec<[f64; 2]> {
    contour.points().iter().map(|at| LATER.side_pixel(side, at.x, at.y)).collect()
}

/// Area of `one` without `other`, mm², by counting the middles of small squares: shares no code with the sweep.
fn counted(one: &Contour, other: &Contour) -> f64 {
    const STEP: f64 = 0.04;
    let place = |k: f64| (k + 0.5) * STEP;
    let bounds = one.bounds();
    let (columns, rows) = ((bounds.width() / STEP) as u32 + 1, (bounds.height() / STEP) as u32 + 1);
    let squares = (0..columns).flat_map(|i| (0..rows).map(move |j| (f64::from(i), f64::from(j))));
    let inside = squares
        .map(|(i, j)| Point::new(bounds.x0 + place(i), bounds.y0 + place(j)))
        .filter(|at| one.contains(*at) && !other.contains(*at));
    inside.count() as f64 * STEP * STEP
}

#[test]
fn moved_colour_is_told_in_millimetres_and_square_millimetres() {
    let by = Vec2::new(-0.8, 0.5);
    let contour = agreed_contour();
    let healed = contour.translated(by);
    let plan = laid_over(&agreed());
    let plan = done(
        &plan,
        &Edit::TraceTouchUp {
            line: TouchUpLine::Healed,
            side: Side::Right,
            points_px: drawn(Side::Right, &healed),
        },
    );
    let found = report(&plan).touch_up.expect("a touch-up");
    let fit = found.fit.expect("it lies over the first photo");
    assert!(fit.rms_mm < 0.01, "{}", fit.rms_mm);
    assert!(found.healed.left.is_none() && !found.is_unagreed);
    let right = found.healed.right.expect("the right side");
    let (faded, spread) = (counted(&contour, &healed), counted(&healed, &contour));
    // The drawn line was smoothed and thinned as every trace is.
    assert!((right.faded_mm2 - faded).abs() < 0.05 * faded, "{} against {faded}", right.faded_mm2);
    assert!((right.spread_mm2 - spread).abs() < 0.05 * spread, "{} against {spread}", right.spread_mm2);
    assert!((right.agreed_mm2 - contour.area()).abs() < 1e-6);
    // No point of a moved line is farther from the old one than it was moved.
    assert!(right.farthest_mm < by.hypot() + 0.15 && right.mean_distance_mm < by.hypot());
    for (id, change) in [
        ("front_distance", by.x),
        ("arch_distance", by.x),
        ("tail_out", by.x),
        ("bulb_bottom", by.y),
        ("arch_top", by.y),
        ("tail_up", by.y),
        ("arch_thickness", 0.0),
        ("brow_length", 0.0),
    ] {
        let row = right.measures.iter().find(|row| row.id == id).expect("a measure");
        assert!((row.change.value - change).abs() <= row.change.ci95.min(0.35), "{id}: {:?}", row.change);
        assert!(row.change.ci95 > 0.0 && row.change.ci95 < 3.0, "{id}: {:?}", row.change);
        assert_eq!(row.within_error, row.change.value.abs() <= row.change.ci95, "{id}");
    }
    assert_eq!(open(&to_json(&plan)).expect("it is read again"), plan);
}

/// Hair that grows as it did at first lies outside by what the plan removes.
#[test]
fn regrown_hair_is_the_hair_that_the_plan_removes() {
    let first = agreed();
    let mut plan = laid_over(&first);
    for side in Side::BOTH {
        let points_px = trace(&LATER, side);
        plan = done(&plan, &Edit::TraceTouchUp { line: TouchUpLine::Hair, side, points_px });
    }
    let strips = report(&first).strips;
    let found = report(&plan).touch_up.expect("a touch-up");
    for side in Side::BOTH {
        let removed: f64 = strips.iter().filter(|strip| strip.side == side).map(|strip| strip.area_mm2).sum();
        let hair = found.hair.get(side).as_ref().expect("the hair was drawn");
        let outside: f64 = hair.iter().map(|strip| strip.area_mm2).sum();
        assert!(removed > 1.0, "the case removes some hair");
        assert!((outside - removed).abs() < 0.08 * removed + 0.2, "{side:?}: {outside} against {removed}");
        assert!(hair.iter().all(|strip| strip.side == side && strip.widest_mm >= strip.mean_width_mm));
    }
}

#[test]
fn touch_up_plan_starts_from_the_agreed_pair() {
    let first = agreed();
    // What is in work has moved on since.
    let moved = Edit::SetParam { side: Side::Right, param: "arch_y".into(), value: 30.0, linked: true };
    let mut plan = laid_over(&done(&first, &moved));
    for side in Side::BOTH {
        let points_px = trace(&LATER, side);
        plan = done(&plan, &Edit::TraceTouchUp { line: TouchUpLine::Hair, side, points_px });
    }
    let next = done(&plan, &Edit::StartTouchUpPlan { name: "Agreed".into() });
    assert_eq!(next.planned, first.planned);
    assert_eq!(next.variants[0].planned, first.planned);
    assert!(next.agreements.is_empty() && next.touch_up.is_none() && next.cautions.are_untouched());
    assert_eq!(next.case.date, "2026-11-28");
    let (then, now) = (report(&first), report(&next));
    let scale = now.frame.as_ref().expect("a frame").px_per_mm;
    assert!((scale - LATER.px_per_mm).abs() < 0.05, "{scale}");
    for (then, now) in then.natural.iter().zip(&now.natural) {
        for side in Side::BOTH {
            let (then, now) =
                (then.sides.get(side).expect("measured").value, now.sides.get(side).expect("measured").value);
            assert!((then - now).abs() < 0.02 * then.abs() + 0.25, "{then} against {now}");
        }
    }
}

#[test]
fn what_cannot_be_done_yet_is_refused() {
    let plan = agreed();
    let line = |plan: &Plan| {
        let points_px = drawn(Side::Left, &agreed_contour());
        apply(plan, &Edit::TraceTouchUp { line: TouchUpLine::Healed, side: Side::Left, points_px })
    };
    let start = |plan: &Plan| apply(plan, &Edit::StartTouchUpPlan { name: "Agreed".into() });
    assert_eq!(code(line(&plan)), "photo_first");
    assert_eq!(code(start(&plan)), "photo_first");
    let pointless = done(&plan, &Edit::SetTouchUp { photo: Some(photo("later-1")), date: String::new() });
    assert_eq!(code(line(&pointless)), "pose_first");
    assert_eq!(code(start(&pointless)), "pose_first");
    let waiting = report(&pointless).touch_up.expect("a touch-up");
    assert_eq!(waiting.problem.expect("what is missing").code, "pose_too_few_points");
    let bad_day = Edit::SetTouchUp { photo: Some(photo("later-1")), date: "today".into() };
    assert_eq!(code(apply(&plan, &bad_day)), "bad_date");
    let bad_key = Edit::SetTouchUp { photo: Some(photo("../x")), date: String::new() };
    assert_eq!(code(apply(&plan, &bad_key)), "photo_key");
    let outside =
        Edit::PlacePosePoint { pose: TOUCH_UP.into(), point: "pupil.left".into(), x_px: -9.0, y_px: 0.0 };
    assert_eq!(code(apply(&pointless, &outside)), "outside_photo");
}

#[test]
fn other_pixels_lose_their_lines_and_mirroring_swaps_them() {
    let plan = laid_over(&agreed());
    let points_px = drawn(Side::Left, &agreed_contour());
    let plan = done(&plan, &Edit::TraceTouchUp { line: TouchUpLine::Healed, side: Side::Left, points_px });
    let lines = |plan: &Plan| plan.touch_up.as_ref().map(|found| found.healed.as_ref().map(Option::is_some));
    assert_eq!(lines(&plan), Some(PerSide { right: false, left: true }));
    let mirrored = done(&plan, &Edit::MirrorPose { pose: TOUCH_UP.into(), mirrored: false });
    assert_eq!(lines(&mirrored), Some(PerSide { right: true, left: false }));
    // A ruler typed later leaves them; another photo does not; none takes all.
    let same =
        PosePhoto { ruler_mm: Some(20.0), ..plan.touch_up.as_ref().expect("a touch-up").photo.clone() };
    let ruled = done(&plan, &Edit::SetTouchUp { photo: Some(same), date: String::new() });
    assert_eq!(lines(&ruled), lines(&plan));
    let other = done(&plan, &Edit::SetTouchUp { photo: Some(photo("later-2")), date: String::new() });
    assert_eq!(lines(&other), Some(PerSide { right: false, left: false }));
    assert!(done(&plan, &Edit::SetTouchUp { photo: None, date: String::new() }).touch_up.is_none());
    let off = Edit::TraceTouchUp { line: TouchUpLine::Healed, side: Side::Left, points_px: Vec::new() };
    assert_eq!(lines(&done(&plan, &off)), Some(PerSide { right: false, left: false }));
}
