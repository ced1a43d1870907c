//! Laws of the plan: edits never panic and never leave a plan that may not exist, files round-trip exactly, and every
//! bad input has its own code.

use counterpoise_geometry::{PerSide, Side};
use counterpoise_plan::{
    CaliperDistance, Case, DeriveMemo, EDITS, Edit, FrameSettings, Guides, Limits, NaturalBrow, Photo, Plan,
    Report, Scene, apply, field, frame, glance_after, open, read_edit, report_after, scene_after, to_json,
};
use counterpoise_sheet::{Paper, SheetOptions};
use counterpoise_tests::any_plan::{edit, number, pose_id, start};
use counterpoise_tests::cases::{Camera, photo_plan, trace, whole_plan};
use counterpoise_tests::laws;
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn edits_never_panic_and_leave_a_plan_that_may_exist(
        start in start(),
        edits in proptest::collection::vec(edit(), 1..12),
    ) {
        let _ = laws::edits_keep_the_plan_usable(start, &edits);
    }

    /// A sheet is made of any plan, or refused with a reason; every mark lies at a finite place.
    #[test]
    fn sheet_of_any_plan_is_made_or_refused(
        start in start(),
        edits in proptest::collection::vec(edit(), 0..8),
        printed_bar_mm in proptest::option::of(number()),
        pose in proptest::option::of(pose_id()),
        mirrored in any::<bool>(),
        words in proptest::collection::btree_map("sheet\\.[a-z_]{3,9}|side\\.right", ".{0,40}", 0..6).prop_map(|words| words.into_iter().collect()),
    ) {
        let plan = edits.iter().fold(start, |plan, edit| apply(&plan, edit).unwrap_or(plan));
        let options = SheetOptions {
            paper: Paper::A4, mirrored, date: "today", printed_bar_mm, pose: pose.as_deref(), words: &words,
        };
        laws::sheet_is_made_or_refused(&plan, &options);
    }

    #[test]
    fn what_was_derived_before_changes_nothing(start in start(), edits in proptest::collection::vec(edit(), 1..12)) {
        let mut memo = DeriveMemo::default();
        let mut plan = start;
        for edit in edits {
            plan = apply(&plan, &edit).unwrap_or(plan);
            let (scene, report) = frame(&plan);
            let (drawn, glance) = (scene_after(&mut memo, &plan), glance_after(&mut memo, &plan));
            prop_assert_eq!(format!("{scene:?}"), format!("{drawn:?}"));
            prop_assert_eq!(format!("{report:?}"), format!("{:?}", report_after(&mut memo, &plan)));
            // What is shown at a glance is a part of the report.
            let [report, glance] = [serde_json::to_value(&report), serde_json::to_value(&glance)].map(|value| value.expect("plain data"));
            for (name, part) in glance.as_object().expect("an object") {
                prop_assert_eq!(part, &report[name], "{}", name);
            }
        }
    }

    #[test]
    fn every_edit_can_be_written_and_read(edit in edit()) {
        let text = serde_json::to_string(&edit).expect("an edit is plain data");
        // A number that is not finite becomes null, which is refused on reading or is the absence of a number; every
        // other edit comes back exactly.
        match read_edit(&text) {
            Ok(read) => prop_assert_eq!(serde_json::to_string(&read).expect("plain data"), text),
            Err(error) => {
                prop_assert_eq!(error.code, "edit_unreadable");
                prop_assert!(text.contains("null"), "{}", text);
            }
        }
    }

    /// What may be passed on is a plan, too, and passing it on again changes nothing.
    #[test]
    fn shareable_plan_opens_again(start in start(), edits in proptest::collection::vec(edit(), 0..12)) {
        let plan = edits.iter().fold(start, |plan, edit| apply(&plan, edit).unwrap_or(plan));
        let passed_on = plan.shareable();
        prop_assert_eq!(&open(&to_json(&passed_on)).expect("it opens"), &passed_on);
        prop_assert_eq!(&passed_on.shareable(), &passed_on);
        prop_assert_eq!(passed_on.frame, plan.frame);
    }

    #[test]
    fn swapping_the_mirrored_switch_twice_is_the_same_plan(start in start(), edits in proptest::collection::vec(edit(), 0..6)) {
        let plan = edits.iter().fold(start, |plan, edit| apply(&plan, edit).unwrap_or(plan));
        if let Some(photo) = &plan.photo {
            let there = apply(&plan, &Edit::SetMirrored { mirrored: !photo.mirrored });
            let back = there.and_then(|there| apply(&there, &Edit::SetMirrored { mirrored: photo.mirrored }));
            prop_assert_eq!(back, Ok(plan));
        }
    }

    #[test]
    fn opening_any_text_never_panics(text in ".{0,200}") {
        laws::plan_file_opens_or_is_refused(&text);
    }

    #[test]
    fn opening_a_damaged_plan_never_panics(at in 0_usize..4000, byte in 32_u8..127) {
        let mut bytes = to_json(&whole_plan(&Camera::default()).expect("can be built")).into_bytes();
        let at = at % bytes.len();
        bytes[at] = byte;
        if let Ok(text) = String::from_utf8(bytes) {
            laws::plan_file_opens_or_is_refused(&text);
        }
    }
}

/// A whole plan as JSON with one place changed.
fn changed(change: impl FnOnce(&mut serde_json::Value)) -> String {
    let plan = whole_plan(&Camera::default()).expect("can be built");
    let mut value = serde_json::from_str(&to_json(&plan)).expect("our own JSON");
    change(&mut value);
    value.to_string()
}

#[test]
fn bad_files_have_their_codes() {
    let plain = changed(|_| {});
    assert!(open(&plain).is_ok(), "{:?}", open(&plain));
    let cases: Vec<(&str, String, &str)> = vec![
        ("empty", String::new(), "not_a_plan"),
        ("text", "hello".into(), "not_a_plan"),
        ("another JSON", r#"{"a": 1}"#.into(), "not_a_plan"),
        ("an array", "[1, 2, 3]".into(), "not_a_plan"),
        ("another format", changed(|plan| plan["format"] = "other".into()), "not_a_plan"),
        ("version 0", changed(|plan| plan["version"] = 0.into()), "not_a_plan"),
        ("no version", changed(|plan| plan["version"] = serde_json::Value::Null), "not_a_plan"),
        ("newer", changed(|plan| plan["version"] = 2.into()), "newer_version"),
        ("much newer", changed(|plan| plan["version"] = u64::MAX.into()), "newer_version"),
        ("unknown field", changed(|plan| plan["extra"] = 1.into()), "unreadable"),
        ("unknown inner field", changed(|plan| plan["limits"]["extra"] = 1.into()), "unreadable"),
        ("cut off", plain.chars().take(plain.chars().count() / 2).collect(), "unreadable"),
        (
            "null for a number",
            changed(|plan| plan["noise"]["edge_mm"] = serde_json::Value::Null),
            "unreadable",
        ),
        ("out of range", changed(|plan| plan["noise"]["edge_mm"] = 99.0.into()), "out_of_range"),
        ("huge", changed(|plan| plan["limits"]["removed_pct"] = 1e300.into()), "out_of_range"),
        ("zero scale", changed(|plan| plan["frame"]["ruler_mm"] = 0.0.into()), "out_of_range"),
        ("tiny photo", changed(|plan| plan["photo"]["width_px"] = 1.into()), "out_of_range"),
        (
            "unknown landmark",
            changed(|plan| plan["landmarks"]["chin"] = plan["landmarks"]["pupil.left"].clone()),
            "unknown_landmark",
        ),
        ("unknown parameter", changed(|plan| plan["planned"]["left"]["curl"] = 1.0.into()), "unknown_param"),
        (
            "missing parameter",
            changed(|plan| {
                if let Some(outline) = plan["planned"]["left"].as_object_mut() {
                    outline.remove("arch_y");
                }
            }),
            "missing_param",
        ),
        ("long label", changed(|plan| plan["case"]["label"] = "é".repeat(121).into()), "text_too_long"),
        ("long note", changed(|plan| plan["case"]["note"] = "n".repeat(4001).into()), "text_too_long"),
        ("no such day", changed(|plan| plan["case"]["date"] = "2026-02-30".into()), "bad_date"),
        (
            "too many points",
            changed(|plan| {
                plan["natural"]["left"]["points_px"] = vec![vec![1.0, 2.0]; 2001].into();
            }),
            "too_many_points",
        ),
        (
            "too many calipers",
            changed(|plan| {
                let one = serde_json::json!({"from": "pupil.left", "to": "pupil.right", "mm": 63.0});
                plan["frame"]["calipers"] = vec![one; 13].into();
            }),
            "too_many_calipers",
        ),
        (
            "caliper to itself",
            changed(|plan| {
                plan["frame"]["calipers"] =
                    serde_json::json!([{"from": "pupil.left", "to": "pupil.left", "mm": 63.0}]);
            }),
            "same_landmark",
        ),
        (
            "the same pair twice",
            changed(|plan| {
                plan["frame"]["calipers"] = serde_json::json!([
                    {"from": "pupil.left", "to": "pupil.right", "mm": 63.0},
                    {"from": "pupil.right", "to": "pupil.left", "mm": 62.0},
                ]);
            }),
            "same_landmark",
        ),
    ];
    for (name, text, code) in cases {
        assert_eq!(open(&text).map(|_| ()).map_err(|error| error.code), Err(code), "{name}");
    }
    let mut long = plain.clone();
    long.push_str(&" ".repeat(field::FILE_BYTES));
    assert_eq!(open(&long).map(|_| ()).map_err(|error| error.code), Err("too_large"));
    let line =
        open(&changed(|plan| plan["extra"] = 1.into())).map_err(|error| error.values.get("line").copied());
    assert_eq!(line.map(|_| ()), Err(Some(1.0)));
    assert!(open(&format!("\u{feff}{plain}")).is_ok(), "a byte-order mark does no harm");
}

#[test]
fn bad_edits_have_their_codes_and_change_nothing() {
    let camera = Camera::default();
    let full = whole_plan(&camera).expect("can be built");
    let photo = photo_plan(&camera).expect("can be built");
    let blank = Plan::default();
    let right = Side::Right;
    let shifted =
        |points: Vec<[f64; 2]>, by: f64| points.into_iter().map(|[x, y]| [x + by, y]).collect::<Vec<_>>();
    let figure_eight: Vec<[f64; 2]> = {
        let mut points = trace(&camera, right);
        let half = points.len() / 2;
        // The second half mirrored across the middle, so that the two loops cross once at large.
        let middle = points.iter().map(|p| p[1]).sum::<f64>() / points.len() as f64;
        for point in points.iter_mut().take(half / 2) {
            point[1] = 2.0 * middle - point[1] + 60.0;
        }
        points.iter_mut().skip(half / 2).take(half).for_each(|point| point[1] = 2.0 * middle - point[1]);
        points
    };
    let place = |id: &str, x_px, y_px| Edit::PlaceLandmark { landmark: id.into(), x_px, y_px };
    let param =
        |param: &str, value| Edit::SetParam { side: right, param: param.into(), value, linked: false };
    let handle = |handle: &str, out_mm, up_mm| Edit::MoveHandle {
        side: right,
        handle: handle.into(),
        out_mm,
        up_mm,
        linked: false,
    };
    let nested = (0..20).fold(Edit::StartFromMean, |inner, _| Edit::Many { edits: vec![inner] });
    let cases: Vec<(&str, &Plan, Edit, &str)> = vec![
        ("no photo", &blank, place("pupil.left", 1.0, 1.0), "photo_first"),
        ("beside the photo", &photo, place("pupil.left", -1.0, 10.0), "outside_photo"),
        ("NaN", &photo, place("pupil.left", f64::NAN, 10.0), "not_finite"),
        ("infinite", &photo, place("pupil.left", 1.0, f64::INFINITY), "not_finite"),
        ("huge", &photo, place("pupil.left", 1e300, 10.0), "out_of_range"),
        ("unknown landmark", &photo, place("chin", 1.0, 1.0), "unknown_landmark"),
        ("mirrored without photo", &blank, Edit::SetMirrored { mirrored: true }, "photo_first"),
        (
            "trace without photo",
            &blank,
            Edit::TraceNatural { side: right, points_px: trace(&camera, right) },
            "photo_first",
        ),
        (
            "two points",
            &photo,
            Edit::TraceNatural { side: right, points_px: vec![[1.0, 1.0], [2.0, 2.0]] },
            "trace_too_short",
        ),
        ("no points", &photo, Edit::TraceNatural { side: right, points_px: vec![] }, "trace_too_short"),
        (
            "NaN trace",
            &photo,
            Edit::TraceNatural { side: right, points_px: vec![[f64::NAN, 0.0]; 50] },
            "not_finite",
        ),
        (
            "huge trace",
            &photo,
            Edit::TraceNatural { side: right, points_px: vec![[1e12, 0.0]; 50] },
            "out_of_range",
        ),
        (
            "far too many points",
            &photo,
            Edit::TraceNatural { side: right, points_px: vec![[1.0, 1.0]; 30_001] },
            "too_many_points",
        ),
        (
            "across the centre line",
            &photo,
            Edit::TraceNatural { side: right, points_px: shifted(trace(&camera, right), 400.0) },
            "trace_crosses_centre",
        ),
        (
            "on the other side",
            &photo,
            Edit::TraceNatural { side: right, points_px: trace(&camera, Side::Left) },
            "trace_crosses_centre",
        ),
        (
            "figure of eight",
            &photo,
            Edit::TraceNatural { side: right, points_px: figure_eight },
            "trace_crosses_itself",
        ),
        (
            "redraw without trace",
            &photo,
            Edit::RetraceNatural { side: right, points_px: trace(&camera, right) },
            "trace_first",
        ),
        (
            "natural handle without natural outline",
            &photo,
            Edit::MoveNaturalHandle { side: right, handle: "tail_end".into(), out_mm: 50.0, up_mm: 15.0 },
            "shape_first",
        ),
        (
            "zero ruler",
            &photo,
            Edit::SetFrame { frame: FrameSettings { ruler_mm: Some(0.0), ..FrameSettings::default() } },
            "out_of_range",
        ),
        (
            "caliper to itself",
            &photo,
            Edit::SetCaliper {
                caliper: CaliperDistance { from: "pupil.left".into(), to: "pupil.left".into(), mm: 60.0 },
            },
            "same_landmark",
        ),
        ("no natural brow", &photo, Edit::StartFromNatural { sides: vec![right] }, "natural_first"),
        ("no natural brows", &photo, Edit::StartFromMean, "natural_first"),
        ("nothing to copy", &photo, Edit::CopyFromOther { side: right }, "planned_first"),
        ("nothing to change", &photo, param("arch_y", 27.0), "planned_first"),
        ("unknown parameter", &full, param("curl", 1.0), "unknown_param"),
        ("NaN parameter", &full, param("arch_y", f64::NAN), "not_finite"),
        ("beyond the range", &full, param("arch_y", 100.0), "out_of_range"),
        ("crosses itself", &full, param("tail_x", 37.0), "outline_invalid"),
        ("unknown handle", &full, handle("ear", 1.0, 1.0), "unknown_handle"),
        ("NaN handle", &full, handle("arch_top", f64::NAN, 1.0), "not_finite"),
        ("edits too deep", &full, nested, "too_many_edits"),
        (
            "too many edits",
            &full,
            Edit::Many { edits: vec![Edit::ClearNatural { side: right }; 1001] },
            "too_many_edits",
        ),
        (
            "bad date",
            &full,
            Edit::SetCase { case: Case { date: "2026-13-01".into(), ..Case::default() } },
            "bad_date",
        ),
    ];
    for (name, plan, edit, code) in cases {
        let before = plan.clone();
        assert_eq!(apply(plan, &edit).map(|_| ()).map_err(|error| error.code), Err(code), "{name}");
        assert_eq!(plan, &before, "{name}");
    }
    // Without the inner corners nothing can be traced, and the refusal says which point to place.
    let less = apply(&photo, &Edit::RemoveLandmark { landmark: "inner_corner.left".into() }).expect("known");
    let refusal = apply(&less, &Edit::TraceNatural { side: right, points_px: trace(&camera, right) });
    let refusal = refusal.expect_err("no frame");
    assert_eq!((refusal.code, refusal.subject.as_str()), ("frame_first", "inner_corner.left"));
}

/// Each thing that a drawing or number depends on, changed by itself, is derived anew.
#[test]
fn nothing_that_changed_is_taken_from_memory() {
    let plan = whole_plan(&Camera::default()).expect("can be built");
    let set = |side, value| Edit::SetParam { side, param: "arch_y".into(), value, linked: false };
    let corner = plan.landmarks["inner_corner.left"];
    let changes = [
        set(Side::Right, 27.5),
        set(Side::Left, 26.5),
        Edit::SetGuides {
            guides: Guides { arch_measure_mm: plan.guides.arch_measure_mm + 2.0, ..plan.guides.clone() },
        },
        Edit::SetLimits { limits: Limits { edge_tolerance_mm: 0.5, ..plan.limits.clone() } },
        Edit::PlaceLandmark {
            landmark: "inner_corner.left".into(),
            x_px: corner.x_px + 9.0,
            y_px: corner.y_px,
        },
        Edit::ClearNatural { side: Side::Left },
    ];
    let both = |scene: &Scene, report: &Report| format!("{scene:?} {report:?}");
    let mut memo = DeriveMemo::default();
    for change in changes {
        let told =
            |memo: &mut DeriveMemo, plan: &Plan| both(&scene_after(memo, plan), &report_after(memo, plan));
        let before = told(&mut memo, &plan);
        let next = apply(&plan, &change).expect("it can be done");
        let after = told(&mut memo, &next);
        assert_ne!(before, after, "{change:?}");
        let (scene, report) = frame(&next);
        assert_eq!(after, both(&scene, &report), "{change:?}");
    }
}

#[test]
fn many_is_all_or_nothing() {
    let plan = whole_plan(&Camera::default()).expect("can be built");
    let good = Edit::SetParam { side: Side::Right, param: "arch_y".into(), value: 27.5, linked: true };
    let bad = Edit::ClearNatural { side: Side::Left };
    let worse = Edit::StartFromMean;
    let many = Edit::Many { edits: vec![good.clone(), bad.clone(), worse] };
    assert_eq!(apply(&plan, &many).map_err(|error| error.code), Err("natural_first"));
    let some =
        apply(&plan, &Edit::Many { edits: vec![good.clone(), bad.clone()] }).expect("both can be done");
    let one_by_one = apply(&plan, &good).and_then(|plan| apply(&plan, &bad)).expect("both can be done");
    assert_eq!(some, one_by_one);
}

#[test]
fn another_photo_drops_what_belongs_to_the_old_pixels() {
    let plan = whole_plan(&Camera::default()).expect("can be built");
    let typed = plan.natural.left.clone();
    assert!(matches!(typed, Some(NaturalBrow::Trace { .. })));
    let photo = Photo { width_px: 640, height_px: 480, mirrored: false };
    let next = apply(&plan, &Edit::SetPhoto { photo: Some(photo) }).expect("a plain photo");
    assert!(next.landmarks.is_empty());
    assert_eq!(next.natural, PerSide::default());
    assert_eq!(next.planned, plan.planned, "the plan is in millimetres and stays");
}

#[test]
fn list_of_edits_names_every_edit() {
    for name in EDITS {
        // An edit that is known by name fails for want of fields, not for its name; unit edits read as they are.
        let text = format!(r#"{{"do": "{name}"}}"#);
        let error =
            serde_json::from_str::<Edit>(&text).err().map(|error| error.to_string()).unwrap_or_default();
        assert!(!error.contains("unknown variant"), "{name}: {error}");
    }
    let error = serde_json::from_str::<Edit>(r#"{"do": "?"}"#).err().map(|error| error.to_string());
    let known = error.unwrap_or_default().matches('`').count() / 2 - 1;
    assert_eq!(known, EDITS.len(), "an edit is missing in the list");
}
