//! Reports and drawings of invented plans whose millimetres are known.

use counterpoise_geometry::{PerSide, Side};
use counterpoise_plan::{
    BrowCalipers, Edit, Kind, Level, Plan, Report, SvgOptions, apply, frame, report, scene, shown, svg,
};
use counterpoise_tests::cases::{Camera, natural_params, photo_plan, trace, whole_plan, written};
use expect_test::{expect, expect_file};

/// The report as text that a person can check. Values only: how far they can be trusted is held to simulated faces
/// elsewhere, and may be refined there without any value here moving.
fn summary(report: &Report) -> String {
    let mut lines = Vec::new();
    if let Some(frame) = &report.frame {
        lines.push(format!("roll {:.3} deg, {:.3} px/mm", frame.roll_deg, frame.px_per_mm));
    }
    for (title, rows) in [("natural", &report.natural), ("planned", &report.planned)] {
        for row in rows {
            let text = |found: Option<counterpoise_plan::Measured>| {
                found.map_or("-".into(), |found| shown(row.unit, found.value))
            };
            let (side, difference) = (|side| text(*row.sides.get(side)), text(row.difference));
            lines.push(format!(
                "{title} {}: {} | {difference} | {}{}",
                row.id,
                side(Side::Right),
                side(Side::Left),
                if row.within_error { " (within error)" } else { "" }
            ));
        }
    }
    for side in Side::BOTH {
        if let Some(areas) = report.areas.get(side) {
            lines.push(format!(
                "{} kept {:.1} removed {:.1} ({:.2} %) added {:.1} ({:.2} %)",
                side.name(),
                areas.kept_mm2,
                areas.removed_mm2,
                areas.removed_pct,
                areas.added_mm2,
                areas.added_pct
            ));
        }
    }
    for (title, symmetry) in [("natural", &report.natural_symmetry), ("planned", &report.planned_symmetry)] {
        if let Some(symmetry) = symmetry {
            lines.push(format!("{title} unevenness {:.2} {}", symmetry.mean_distance_mm, symmetry.band));
        }
    }
    for check in &report.checks {
        let side = check.side.map_or("", Side::name);
        lines.push(format!("{} {side} {:?}", check.id, check.level));
    }
    for problem in &report.problems {
        let side = problem.side.map_or("", Side::name);
        lines.push(format!("problem {} {side} {}", problem.code, problem.subject));
    }
    lines.join("\n") + "\n"
}

fn plan() -> Plan {
    whole_plan(&Camera::default()).expect("the invented case can be built")
}

#[test]
fn whole_case_reports_the_known_millimetres() {
    let report = report(&plan());
    let value = |id: &str, side: Side| {
        let row = report.natural.iter().find(|row| row.id == id).expect("every measure has a row");
        row.sides.get(side).expect("both sides were traced").value
    };
    for side in Side::BOTH {
        let truth = natural_params(side);
        let shape = counterpoise_geometry::Outline::try_new(&truth).expect("valid");
        let points = shape.caliper_points();
        // Tracing, cleaning and storing at 160 points may move the edge by a few hundredths.
        let near = |id: &str, truth: f64, bound: f64| {
            let found = value(id, side);
            assert!((found - truth).abs() <= bound, "{} {id}: {found} is not {truth}", side.name());
        };
        near("front_distance", points.front.x, 0.3);
        near("arch_top", points.arch_top.y, 0.1);
        near("tail_out", points.tail_end.x, 0.3);
        near("area", shape.area(), 6.0);
    }
    let frame = report.frame.expect("all landmarks are placed");
    assert!((frame.roll_deg - 1.0).abs() < 1e-9, "{}", frame.roll_deg);
    assert!((frame.px_per_mm - 12.0).abs() < 1e-9, "{}", frame.px_per_mm);
    assert!(report.problems.is_empty(), "{:?}", report.problems);
}

#[test]
fn whole_case_report_is_as_approved() {
    expect_file!["../fixtures/plans/whole_report.txt"].assert_eq(&summary(&report(&plan())));
}

#[test]
fn mirrored_selfie_gives_the_same_report() {
    let mirrored = Camera { mirrored: true, ..Camera::default() };
    let plain = summary(&report(&plan()));
    assert_eq!(summary(&report(&whole_plan(&mirrored).expect("can be built"))), plain);
}

#[test]
fn mirrored_switch_set_late_puts_everything_on_the_right_side() {
    // The photo is a selfie, but the switch was off while she worked: sides were named from the picture.
    let camera = Camera { mirrored: true, ..Camera::default() };
    let mut plan = whole_plan(&camera).expect("can be built");
    let approved = summary(&report(&plan));
    // As if taken for a plain photo: every name on the other side.
    plan = apply(&plan, &Edit::SetMirrored { mirrored: false }).expect("there is a photo");
    let (right, left) = (plan.natural.right.clone(), plan.natural.left.clone());
    assert_ne!(right, left);
    assert_ne!(
        summary(&report(&plan)),
        approved,
        "the uneven case must read differently from the wrong side"
    );
    let frame_before = report(&plan).frame.expect("still a frame");
    plan = apply(&plan, &Edit::SetMirrored { mirrored: true }).expect("there is a photo");
    assert_eq!(summary(&report(&plan)), approved);
    let frame_after = report(&plan).frame.expect("still a frame");
    assert!(
        (frame_before.roll_deg + frame_after.roll_deg).abs() < 1e-9,
        "roll changes its sign with the side"
    );
}

#[test]
fn shape_on_the_hair_stays_there_when_the_mirrored_switch_is_set_late() {
    let camera = Camera::default();
    let plan = photo_plan(&camera).expect("can be built");
    let outline = written(&natural_params(Side::Right));
    let plan = apply(&plan, &Edit::ShapeNatural { side: Side::Right, outline }).expect("valid");
    let before = scene(&plan);
    let plan = apply(&plan, &Edit::SetMirrored { mirrored: true }).expect("there is a photo");
    let after = scene(&plan);
    let pixels = |scene: &counterpoise_plan::Scene, side: Side| {
        let item = scene.items.iter().find(|item| item.kind == Kind::Natural).expect("one natural brow");
        assert_eq!(item.side, Some(side));
        let affine = kurbo::Affine::new(scene.image_from_face.expect("a frame"));
        let mut points: Vec<_> = (affine * item.path.clone())
            .elements()
            .iter()
            .filter_map(kurbo::PathEl::end_point)
            .map(|point| [point.x, point.y].map(|v| (v * 1000.0).round()))
            .collect();
        points.sort_by(|a, b| a.partial_cmp(b).expect("finite"));
        points.dedup();
        points
    };
    assert_eq!(pixels(&before, Side::Right), pixels(&after, Side::Left));
}

#[test]
fn no_photo_mode_reports_from_calipers_alone() {
    let calipers = |front_out_mm: f64, arch_top_mm: f64| BrowCalipers {
        front_out_mm,
        bulb_bottom_mm: 15.5,
        bulb_top_mm: 21.5,
        arch_out_mm: 38.5,
        arch_top_mm,
        arch_thickness_mm: 7.0,
        tail_out_mm: 55.5,
        tail_up_mm: 15.5,
        tail_thickness_mm: 3.0,
    };
    let edits = vec![
        Edit::TypeNatural { side: Side::Right, calipers: calipers(13.5, 27.5) },
        Edit::TypeNatural { side: Side::Left, calipers: calipers(15.0, 26.0) },
        Edit::StartFromMean,
    ];
    let plan = apply(&Plan::default(), &Edit::Many { edits }).expect("plain numbers");
    let (scene, report) = frame(&plan);
    assert!(report.frame.is_none());
    assert!(report.problems.is_empty(), "{:?}", report.problems);
    assert!(scene.image_from_face.is_none());
    let row = |id: &str| report.natural.iter().find(|row| row.id == id).expect("a row");
    let front = row("front_distance").difference.expect("both sides");
    assert!((front.value + 1.5).abs() < 0.05, "{}", front.value);
    // Two numbers with 0.5 mm each: 1.96 · √2 · 0.5.
    assert!((front.ci95 - 1.386).abs() < 0.05, "{}", front.ci95);
    let even = report.planned_symmetry.expect("both planned");
    assert!(even.mean_distance_mm < 1e-9);
}

#[test]
fn missing_pieces_are_problems_and_never_stop_the_rest() {
    let found = |plan: &Plan| {
        report(plan).problems.iter().map(|p| format!("{} {}", p.code, p.subject)).collect::<Vec<_>>()
    };
    expect![[r#"
        [
            "natural_missing ",
            "planned_missing ",
            "natural_missing ",
            "planned_missing ",
        ]
    "#]]
    .assert_debug_eq(&found(&Plan::default()));
    let full = plan();
    // Every landmark that can be taken away leaves a report without a panic, and the outlines are still measured.
    for id in full.landmarks.keys() {
        let less = apply(&full, &Edit::RemoveLandmark { landmark: id.clone() }).expect("known");
        let report = report(&less);
        assert_eq!(report.planned.len(), 14, "{id}");
    }
    let less = apply(&full, &Edit::RemoveLandmark { landmark: "inner_corner.right".into() }).expect("known");
    assert!(found(&less).contains(&"place_landmark inner_corner.right".to_owned()), "{:?}", found(&less));
    assert!(scene(&less).handles.iter().all(|handle| handle.in_image));
}

#[test]
fn badly_placed_points_are_taken_and_reported() {
    let full = plan();
    let place = |plan: &Plan, id: &str, at: [f64; 2]| {
        let [x_px, y_px] = at;
        apply(plan, &Edit::PlaceLandmark { landmark: id.into(), x_px, y_px }).expect("inside the photo")
    };
    let at = |id: &str| full.landmarks.get(id).map(|p| [p.x_px, p.y_px]).expect("placed");
    let codes = |plan: &Plan| report(plan).problems.iter().map(|p| p.code).collect::<Vec<_>>();

    let same = place(&full, "pupil.right", at("inner_corner.right"));
    assert!(codes(&same).contains(&"points_coincide"), "{:?}", codes(&same));

    let swapped = place(&full, "pupil.right", at("pupil.left"));
    let swapped = place(&swapped, "pupil.left", at("pupil.right"));
    let found = codes(&swapped);
    assert!(found.contains(&"sides_swapped") || found.contains(&"points_out_of_order"), "{found:?}");

    let mut none = full.clone();
    none.frame.ruler_mm = None;
    none.frame.use_iris = false;
    assert!(codes(&none).contains(&"scale_missing"), "{:?}", codes(&none));

    let mut wrong = full.clone();
    wrong.frame.ruler_mm = Some(200.0);
    let found = codes(&wrong);
    assert!(found.contains(&"scale_contradicts"), "{found:?}");
}

#[test]
fn checks_warn_where_limits_are_passed() {
    let mut plan = plan();
    let level = |plan: &Plan, id: &str, side: Option<Side>| {
        report(plan).checks.iter().find(|check| check.id == id && check.side == side).map(|check| check.level)
    };
    assert_eq!(level(&plan, "fronts_equal", None), Some(Level::Ok));
    let set = |plan: &Plan, param: &str, value: f64| {
        apply(plan, &Edit::SetParam { side: Side::Right, param: param.into(), value, linked: false })
            .expect("valid")
    };
    let uneven = set(&plan, "front_x", plan_value(&plan, "front_x") + 3.0);
    assert_eq!(level(&uneven, "fronts_equal", None), Some(Level::Warn));
    let wide = set(&plan, "arch_t", 12.0);
    assert_eq!(level(&wide, "added_within", Some(Side::Right)), Some(Level::Warn));
    plan.limits.min_thickness_mm = 6.0;
    assert_eq!(level(&plan, "thickness", Some(Side::Left)), Some(Level::Warn));
}

fn plan_value(plan: &Plan, param: &str) -> f64 {
    *plan.planned.right.as_ref().and_then(|outline| outline.0.get(param)).expect("planned")
}

#[test]
fn linked_changes_reach_both_sides_and_unlinked_ones_only_one() {
    let plan = plan();
    let both = |plan: &Plan, param: &str| {
        PerSide::from_fn(|side| plan.planned.get(side).as_ref().and_then(|o| o.0.get(param)).copied())
    };
    let edit = |linked| Edit::SetParam { side: Side::Left, param: "arch_y".into(), value: 28.0, linked };
    let one = apply(&plan, &edit(false)).expect("valid");
    assert_eq!(both(&one, "arch_y").left, Some(28.0));
    assert_ne!(both(&one, "arch_y").right, Some(28.0));
    let two = apply(&plan, &edit(true)).expect("valid");
    assert_eq!(both(&two, "arch_y"), PerSide { right: Some(28.0), left: Some(28.0) });
    let handle = Edit::MoveHandle {
        side: Side::Right,
        handle: "arch_top".into(),
        out_mm: 39.5,
        up_mm: 27.75,
        linked: true,
    };
    let dragged = apply(&plan, &handle).expect("valid");
    assert_eq!(both(&dragged, "arch_x"), PerSide { right: Some(39.5), left: Some(39.5) });
    assert_eq!(both(&dragged, "arch_y"), PerSide { right: Some(27.75), left: Some(27.75) });
}

#[test]
fn retrace_changes_the_stretch_and_leaves_the_rest() {
    let camera = Camera::default();
    let plan = plan();
    let Some(counterpoise_plan::NaturalBrow::Trace { points_px }) = plan.natural.right.clone() else {
        panic!("traced");
    };
    // A stroke 1 mm above a stretch of the old line, which begins and ends on it.
    let old = trace(&camera, Side::Right);
    let top: Vec<[f64; 2]> = old.iter().copied().filter(|p| p[1] < camera.origin[1] - 12.0 * 26.0).collect();
    assert!(top.len() > 4, "{}", top.len());
    let last = top.len() - 1;
    let stroke: Vec<[f64; 2]> = top
        .iter()
        .enumerate()
        .map(|(i, p)| if i == 0 || i == last { *p } else { [p[0], p[1] - 12.0] })
        .collect();
    let next =
        apply(&plan, &Edit::RetraceNatural { side: Side::Right, points_px: stroke }).expect("on the trace");
    let area = |plan: &Plan| {
        report(plan).natural.iter().find(|r| r.id == "area").and_then(|r| r.sides.right).map(|m| m.value)
    };
    assert!(area(&next) > area(&plan), "{:?} {:?}", area(&next), area(&plan));
    assert!(area(&next) < area(&plan).map(|a| a + 40.0), "{:?} {:?}", area(&next), area(&plan));
    let Some(counterpoise_plan::NaturalBrow::Trace { points_px: after }) = next.natural.right else {
        panic!("traced")
    };
    assert!(after.len() <= 160 && points_px.len() <= 160);
}

#[test]
fn scene_has_every_layer_and_its_handles() {
    let scene = scene(&plan());
    for kind in Kind::ALL {
        assert!(scene.items.iter().any(|item| item.kind == kind), "no {kind:?}");
    }
    // 18 landmarks and 14 handles on either side.
    assert_eq!(scene.handles.len(), 18 + 2 * 14);
    let [x0, y0, x1, y1] = scene.bounds_mm;
    assert!(x0 < -57.0 && x1 > 57.0 && y0 < 0.0 && y1 > 28.0, "{:?}", scene.bounds_mm);
}

#[test]
fn client_right_is_on_the_negative_side_of_the_scene() {
    let scene = scene(&plan());
    for item in scene.items.iter().filter(|item| matches!(item.kind, Kind::Natural | Kind::Planned)) {
        let side = item.side.expect("a brow has a side");
        let x = kurbo::Shape::bounding_box(&item.path).center().x;
        assert_eq!(x.signum(), side.sign(), "{:?} {side:?}", item.kind);
    }
}

#[test]
fn drawing_is_as_approved_and_safe() {
    let mut plan = plan();
    plan.case.label = "<script>alert('x')</script> & \"co\"".into();
    let options =
        SvgOptions { photo_href: Some("https://example.invalid/x.png".into()), ..SvgOptions::default() };
    let drawing = svg(&plan, &options);
    assert!(!drawing.contains("<script"), "markup in a label must be escaped");
    assert!(!drawing.contains("example.invalid"), "a drawing never names another address");
    assert!(drawing.contains("mm\" viewBox="), "sizes are in millimetres");
    let [x0, y0, x1, y1] = scene(&plan).bounds_mm;
    let head = drawing.lines().next().expect("a first line");
    let attribute =
        |name: &str| head.split(&format!("{name}=\"")).nth(1).and_then(|rest| rest.split('"').next());
    let millimetres = |name| attribute(name).and_then(|size| size.strip_suffix("mm")?.parse::<f64>().ok());
    let near = |found: Option<f64>, truth: f64| found.is_some_and(|found| (found - truth).abs() <= 1e-3);
    assert!(near(millimetres("width"), x1 - x0) && near(millimetres("height"), y1 - y0), "{head}");
    let view: Vec<f64> =
        attribute("viewBox").expect("a view box").split(' ').filter_map(|part| part.parse().ok()).collect();
    for (found, truth) in view.iter().zip([x0, -y1, x1 - x0, y1 - y0]) {
        assert!(near(Some(*found), truth), "{head}");
    }
    assert_eq!(view.len(), 4);
    plan.case.label = "An invented case".into();
    expect_file!["../fixtures/plans/whole_drawing.svg"].assert_eq(&svg(&plan, &SvgOptions::default()));
}

#[test]
fn schemas_in_the_page_are_current() {
    expect_file!["../../www/schema/plan.schema.json"].assert_eq(&counterpoise_plan::schema_json());
    for kind in ["exercise", "lesson", "set"] {
        let schema = counterpoise_teaching::schema_json(kind).expect("a schema");
        expect_file![format!("../../www/schema/{kind}.schema.json")].assert_eq(&schema);
    }
}

#[test]
fn shape_with_a_senseless_stamp_is_a_problem_and_never_a_panic() {
    let camera = Camera::default();
    for image_from_face in [[0.0; 6], [1e300; 6], [f64::MAX, 0.0, 0.0, f64::MAX, 0.0, 0.0]] {
        let mut plan = photo_plan(&camera).expect("can be built");
        plan.natural.left = Some(counterpoise_plan::NaturalBrow::Shape {
            outline: written(&natural_params(Side::Left)),
            at: Some(counterpoise_plan::FrameStamp { image_from_face }),
        });
        assert!(counterpoise_plan::validate(&plan).is_ok(), "finite numbers may be stored");
        let (_, report) = frame(&plan);
        assert!(
            report.problems.iter().any(|problem| problem.code == "natural_unusable"),
            "{image_from_face:?}"
        );
    }
}

#[test]
fn headline_is_within_error_for_equal_brows_and_not_for_a_visible_shift() {
    let camera = Camera::default();
    let plan = photo_plan(&camera).expect("can be built");
    let with = |up: f64| {
        let mut plan = plan.clone();
        for side in Side::BOTH {
            let raise = if side == Side::Right { up } else { 0.0 };
            // The same brow on both sides, one of them raised.
            let points_px = trace(&camera, Side::Right)
                .into_iter()
                .map(|[x, y]| {
                    let face = camera.face(x, y);
                    camera.side_pixel(side, -face[0], face[1] + raise)
                })
                .collect();
            plan = apply(&plan, &Edit::TraceNatural { side, points_px }).expect("a plain trace");
        }
        report(&plan).natural_symmetry.expect("both sides")
    };
    let (equal, shifted) = (with(0.0), with(3.0));
    assert!(equal.mean_distance_mm < 0.01 && equal.within_error, "{equal:?}");
    assert!(shifted.mean_distance_mm > 2.0 && !shifted.within_error, "{shifted:?}");
    assert!(shifted.ci95_mm > 0.2 && shifted.ci95_mm < 1.5, "{shifted:?}");
}

#[test]
fn natural_handle_goes_where_it_is_dragged_even_after_a_landmark_moved() {
    let plan = photo_plan(&Camera::default()).expect("can be built");
    let side = Side::Left;
    let shaped = Edit::ShapeNatural { side, outline: written(&natural_params(side)) };
    let plan = apply(&plan, &shaped).expect("a valid outline");
    let pupil = plan.landmarks["pupil.left"];
    let moved =
        Edit::PlaceLandmark { landmark: "pupil.left".into(), x_px: pupil.x_px + 4.0, y_px: pupil.y_px - 9.0 };
    let plan = apply(&plan, &moved).expect("inside the photo");
    let place = |plan: &Plan| {
        let scene = scene(plan);
        let handle = scene.handles.iter().find(|handle| handle.id == "natural:left:arch_top");
        handle.map(|handle| handle.at).expect("a natural outline has handles")
    };
    let before = place(&plan);
    // The client's left: out is the face frame's x.
    let target = before + (1.5, -1.0);
    let drag = Edit::MoveNaturalHandle { side, handle: "arch_top".into(), out_mm: target.x, up_mm: target.y };
    let after = place(&apply(&plan, &drag).expect("still a valid outline"));
    assert!(after.distance(target) < 1e-6, "{after:?} {target:?}");
}
