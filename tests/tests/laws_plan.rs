//! Laws of the plan: edits never panic and never leave a plan that may not exist, files round-trip exactly, and every
//! bad input has its own code.

use counterpoise_geometry::{Landmark, OUTLINE_HANDLES, Param, PerSide, Pose, Side};
use counterpoise_plan::{
    ArchGuide, Balance, BrowCalipers, CaliperDistance, Case, ClientLimits, EDITS, Edit, FrameSettings,
    GroundMemo, Guides, Limits, NaturalBrow, Noise, Outline, Photo, Plan, PointPx, PoseHeights, PosePhoto,
    PosePoint, PoseRecord, Prefer, Pull, PullTo, RollFrom, SideBalance, TOUCH_UP, TouchUpLine, Wishes, apply,
    drawn_after, field, frame, open, read_edit, report_after, to_json, validate,
};
use counterpoise_sheet::{Mark, Paper, Sheet, SheetOptions, csv, pdf, svg};
use counterpoise_tests::cases::{
    Camera, face_landmark, natural_params, photo_plan, trace, whole_plan, written,
};
use proptest::prelude::*;

/// Numbers as they come from sliders, and numbers that should never come.
fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => -50.0..80.0_f64,
        2 => -3000.0..5000.0_f64,
        1 => proptest::num::f64::ANY,
        1 => Just(f64::NAN),
        1 => Just(f64::INFINITY),
        1 => Just(0.0),
        1 => Just(-0.0),
        1 => Just(1e300),
    ]
}

fn side() -> impl Strategy<Value = Side> {
    prop_oneof![Just(Side::Right), Just(Side::Left)]
}

fn landmark_id() -> impl Strategy<Value = String> {
    prop_oneof![
        12 => proptest::sample::select(Landmark::ALL.map(Landmark::id).to_vec()).prop_map(str::to_owned),
        1 => ".{0,80}",
    ]
}

fn pose_point() -> impl Strategy<Value = String> {
    let of_baseline_and_couch = [Pose::BASELINE, Pose::COUCH].map(PosePoint::of).concat();
    prop_oneof![
        12 => proptest::sample::select(of_baseline_and_couch).prop_map(PosePoint::id),
        1 => ".{0,80}",
    ]
}

fn name() -> impl Strategy<Value = String> {
    prop_oneof![6 => proptest::sample::select(vec!["a", "b", "c"]).prop_map(str::to_owned), 1 => ".{0,50}"]
}

fn wishes() -> impl Strategy<Value = Wishes> {
    let one = || prop_oneof![6 => -1.0..1.0_f64, 1 => number()];
    (one(), one(), one(), one(), prop_oneof![6 => 0.0..1.0_f64, 1 => number()]).prop_map(
        |(fullness, arch, length, softness, evenness)| Wishes { fullness, arch, length, softness, evenness },
    )
}

fn param_id() -> impl Strategy<Value = String> {
    prop_oneof![
        12 => proptest::sample::select(Param::ALL.map(|info| info.id).to_vec()).prop_map(str::to_owned),
        1 => ".{0,80}",
    ]
}

fn points() -> impl Strategy<Value = Vec<[f64; 2]>> {
    let camera = Camera::default();
    prop_oneof![
        3 => proptest::collection::vec([number(), number()], 0..40),
        3 => proptest::collection::vec([0.0..2000.0, 0.0..1800.0_f64], 0..60),
        3 => side().prop_map(move |side| trace(&camera, side)),
        // A piece of a trace, as in redrawing a stretch.
        2 => (side(), 0_usize..90, 2_usize..30, -20.0..20.0_f64).prop_map(move |(side, from, count, by)| {
            trace(&camera, side).into_iter().skip(from).take(count).map(|[x, y]| [x, y + by]).collect()
        }),
    ]
}

fn outline() -> impl Strategy<Value = Outline> {
    let in_range = Param::ALL.iter().map(|info| (info.range.0..=info.range.1).boxed()).collect::<Vec<_>>();
    prop_oneof![
        2 => in_range.prop_map(|values| {
            Outline(Param::ALL.iter().map(|info| info.id.to_owned()).zip(values).collect())
        }),
        3 => side().prop_map(|side| written(&natural_params(side))),
        1 => proptest::collection::btree_map(param_id(), number(), 0..20).prop_map(Outline),
    ]
}

fn calipers() -> impl Strategy<Value = BrowCalipers> {
    let plain = (5.0..20.0, 10.0..20.0, 3.0..9.0, 32.0..46.0_f64)
        .prop_map(|(front, bottom, thick, arch)| (front, bottom, bottom + thick, arch, bottom + 2.0 + thick));
    prop_oneof![
        plain.prop_map(|(front_out_mm, bulb_bottom_mm, bulb_top_mm, arch_out_mm, arch_top_mm)| {
            BrowCalipers {
                front_out_mm,
                bulb_bottom_mm,
                bulb_top_mm,
                arch_out_mm,
                arch_top_mm,
                arch_thickness_mm: 6.0,
                tail_out_mm: 56.0,
                tail_up_mm: 15.0,
                tail_thickness_mm: 3.0,
            }
        }),
        proptest::array::uniform9(number()).prop_map(|n| BrowCalipers {
            front_out_mm: n[0],
            bulb_bottom_mm: n[1],
            bulb_top_mm: n[2],
            arch_out_mm: n[3],
            arch_top_mm: n[4],
            arch_thickness_mm: n[5],
            tail_out_mm: n[6],
            tail_up_mm: n[7],
            tail_thickness_mm: n[8],
        }),
    ]
}

fn caliper() -> impl Strategy<Value = CaliperDistance> {
    (landmark_id(), landmark_id(), number()).prop_map(|(from, to, mm)| CaliperDistance { from, to, mm })
}

fn settings() -> impl Strategy<Value = FrameSettings> {
    (
        prop_oneof![Just(RollFrom::Eyes), Just(RollFrom::Bridge)],
        prop_oneof![3 => -15.0..15.0, 1 => number()],
        proptest::option::of(prop_oneof![3 => 5.0..60.0, 1 => number()]),
        proptest::collection::vec(caliper(), 0..3),
        any::<bool>(),
    )
        .prop_map(|(roll_from, roll_nudge_deg, ruler_mm, calipers, use_iris)| FrameSettings {
            roll_from,
            roll_nudge_deg,
            ruler_mm,
            calipers,
            use_iris,
        })
}

fn prefer() -> impl Strategy<Value = Prefer> {
    proptest::sample::select(vec![Prefer::Even, Prefer::Filling, Prefer::Trimming])
}

fn side_balance() -> impl Strategy<Value = SideBalance> {
    let mm = || prop_oneof![5 => 0.0..6.0_f64, 1 => number()];
    let pull = (proptest::sample::select(PullTo::ALL.to_vec()), mm())
        .prop_map(|(guide, weight)| Pull { guide, weight });
    (
        any::<bool>(),
        proptest::collection::vec(param_id(), 0..3),
        mm(),
        mm(),
        proptest::collection::vec(pull, 0..3),
    )
        .prop_map(|(locked, locked_params, lift_mm, lower_mm, pulls)| SideBalance {
            locked,
            locked_params,
            lift_mm,
            lower_mm,
            pulls,
        })
}

fn edit() -> impl Strategy<Value = Edit> {
    let text = ".{0,140}";
    let one = prop_oneof![
        (text, text, "([0-9]{4}-[0-9]{2}-[0-9]{2})?")
            .prop_map(|(label, note, date)| Edit::SetCase { case: Case { label, note, date } }),
        proptest::option::of((0_u32..4000, 0_u32..200_000, any::<bool>())).prop_map(|photo| Edit::SetPhoto {
            photo: photo.map(|(width_px, height_px, mirrored)| Photo { width_px, height_px, mirrored })
        }),
        any::<bool>().prop_map(|mirrored| Edit::SetMirrored { mirrored }),
        (landmark_id(), 0.0..2000.0, 0.0..1800.0_f64)
            .prop_map(|(landmark, x_px, y_px)| Edit::PlaceLandmark { landmark, x_px, y_px }),
        (landmark_id(), number(), number()).prop_map(|(landmark, x_px, y_px)| Edit::PlaceLandmark {
            landmark,
            x_px,
            y_px
        }),
        landmark_id().prop_map(|landmark| Edit::RemoveLandmark { landmark }),
        settings().prop_map(|frame| Edit::SetFrame { frame }),
        caliper().prop_map(|caliper| Edit::SetCaliper { caliper }),
        (landmark_id(), landmark_id()).prop_map(|(from, to)| Edit::RemoveCaliper { from, to }),
        (number(), number(), number(), number()).prop_map(|(landmark_mm, edge_mm, caliper_mm, yaw_deg)| {
            Edit::SetNoise { noise: Noise { landmark_mm, edge_mm, caliper_mm, yaw_deg } }
        }),
        (side(), points()).prop_map(|(side, points_px)| Edit::TraceNatural { side, points_px }),
        (side(), points()).prop_map(|(side, points_px)| Edit::RetraceNatural { side, points_px }),
        (side(), calipers()).prop_map(|(side, calipers)| Edit::TypeNatural { side, calipers }),
        (side(), outline()).prop_map(|(side, outline)| Edit::ShapeNatural { side, outline }),
        side().prop_map(|side| Edit::ClearNatural { side }),
        (side(), param_id(), number(), any::<bool>())
            .prop_map(|(side, param, value, linked)| Edit::SetParam { side, param, value, linked }),
        (
            side(),
            proptest::sample::select(OUTLINE_HANDLES.map(|info| info.id).to_vec()),
            number(),
            number(),
            any::<bool>()
        )
            .prop_map(|(side, handle, out_mm, up_mm, linked)| Edit::MoveHandle {
                side,
                handle: handle.to_owned(),
                out_mm,
                up_mm,
                linked,
            }),
        (
            side(),
            proptest::sample::select(OUTLINE_HANDLES.iter().map(|info| info.id).collect::<Vec<_>>()),
            number(),
            number()
        )
            .prop_map(|(side, handle, out_mm, up_mm)| Edit::MoveNaturalHandle {
                side,
                handle: handle.to_owned(),
                out_mm,
                up_mm,
            }),
        (proptest::option::of(outline()), proptest::option::of(outline()))
            .prop_map(|(right, left)| Edit::SetOutlines { outlines: PerSide { right, left } }),
        side().prop_map(|side| Edit::CopyFromOther { side }),
        side().prop_map(|side| Edit::ClearOutline { side }),
        (number(), prop_oneof![Just(ArchGuide::Measure), Just(ArchGuide::Natural), Just(ArchGuide::Bone)])
            .prop_map(|(arch_measure_mm, arch)| Edit::SetGuides { guides: Guides { arch_measure_mm, arch } }),
        proptest::array::uniform8(prop_oneof![3 => 0.0..3.0_f64, 1 => number()]).prop_map(|n| {
            Edit::SetLimits {
                limits: Limits {
                    removed_pct: n[0],
                    removed_mm2: Some(n[1]),
                    added_pct: n[2],
                    added_mm2: (n[3] < 1.5).then_some(n[3]),
                    min_thickness_mm: n[4],
                    strip_mm: n[5],
                    edge_tolerance_mm: n[6],
                    equal_mm: n[7],
                },
            }
        }),
        (side_balance(), side_balance(), prefer(), prop_oneof![3 => 0.0..=1.0_f64, 1 => number()]).prop_map(
            |(right, left, prefer, relaxed_weight)| Edit::SetBalance {
                balance: Balance { sides: PerSide { right, left }, prefer, relaxed_weight },
            }
        ),
        (pose_id(), pose_record()).prop_map(|(pose, record)| Edit::SetPose { pose, record }),
        pose_id().prop_map(|pose| Edit::RemovePose { pose }),
        (
            proptest::sample::select(vec!["pregnancy", "droop", "nothing"]),
            proptest::option::of(any::<bool>())
        )
            .prop_map(|(caution, yes)| Edit::AnswerCaution { caution: caution.into(), yes }),
        ".{0,40}".prop_map(|note| Edit::NoteCautions { note }),
        ".{0,40}".prop_map(|note| Edit::NoteUpkeep { note }),
        name().prop_map(|name| Edit::KeepVariant { name }),
        name().prop_map(|name| Edit::TakeVariant { name }),
        name().prop_map(|name| Edit::RemoveVariant { name }),
        (name(), name()).prop_map(|(name, to)| Edit::DuplicateVariant { name, to }),
        (name(), name()).prop_map(|(name, to)| Edit::RenameVariant { name, to }),
        (number(), number(), number(), number(), number()).prop_map(
            |(fullness_mm, arch_mm, length_mm, softness, evenness)| {
                Edit::SetClient {
                    client: ClientLimits {
                        fullness_mm,
                        arch_mm,
                        length_mm,
                        softness,
                        evenness,
                        hair_pct: arch_mm,
                        skin_pct: length_mm,
                    },
                }
            }
        ),
        (proptest::option::of(outline()), proptest::option::of(outline()), wishes(), wishes()).prop_map(
            |(right, left, before, wishes)| { Edit::Wish { base: PerSide { right, left }, before, wishes } }
        ),
        (pose_id(), pose_point(), number(), number())
            .prop_map(|(pose, point, x_px, y_px)| Edit::PlacePosePoint { pose, point, x_px, y_px }),
        (pose_id(), pose_point()).prop_map(|(pose, point)| Edit::RemovePosePoint { pose, point }),
        (pose_id(), any::<bool>()).prop_map(|(pose, mirrored)| Edit::MirrorPose { pose, mirrored }),
        (moment(), name(), proptest::collection::vec(points(), 0..3))
            .prop_map(|(at, initials, strokes)| Edit::Agree { at, initials, strokes }),
        (proptest::option::of(pose_photo()), "([0-9]{4}-[0-9]{2}-[0-9]{2})?")
            .prop_map(|(photo, date)| Edit::SetTouchUp { photo, date }),
        (any::<bool>(), side(), points()).prop_map(|(is_hair, side, points_px)| Edit::TraceTouchUp {
            line: if is_hair { TouchUpLine::Hair } else { TouchUpLine::Healed },
            side,
            points_px,
        }),
        name().prop_map(|name| Edit::StartTouchUpPlan { name }),
    ];
    // Fits take milliseconds, so they are drawn less often than the rest.
    let fitting = prop_oneof![
        proptest::collection::vec(side(), 0..3).prop_map(|sides| Edit::StartFromNatural { sides }),
        Just(Edit::StartFromMean),
    ];
    prop_oneof![40 => one, 1 => fitting].prop_recursive(2, 8, 4, |inner| {
        proptest::collection::vec(inner, 0..4).prop_map(|edits| Edit::Many { edits })
    })
}

fn moment() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => "20[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|1[0-9]|2[0-8])T(0[0-9]|1[0-9]):[0-5][0-9]:[0-5][0-9][+-]0[0-9]:30",
        1 => ".{0,30}",
    ]
}

fn pose_id() -> impl Strategy<Value = String> {
    prop_oneof![
        2 => Just(TOUCH_UP.to_owned()),
        12 => proptest::sample::select(Pose::OTHERS.map(Pose::id).to_vec()).prop_map(str::to_owned),
        1 => ".{0,80}",
    ]
}

/// A photo beside the plan's own, as some pose has it.
fn pose_photo() -> impl Strategy<Value = PosePhoto> {
    pose_record().prop_filter_map("a photo", |record| record.photo)
}

fn pose_record() -> impl Strategy<Value = PoseRecord> {
    let height = || prop_oneof![4 => 10.0..30.0_f64, 1 => number()];
    let heights = || {
        proptest::option::of(
            (height(), height(), height()).prop_map(|(front_mm, arch_mm, tail_mm)| PoseHeights {
                front_mm,
                arch_mm,
                tail_mm,
            }),
        )
    };
    let point = || {
        prop_oneof![4 => 200.0..1700.0_f64, 1 => number()]
            .prop_flat_map(|x_px| (400.0..1500.0_f64).prop_map(move |y_px| PointPx { x_px, y_px }))
    };
    // Landmarks anywhere, or where the camera sees them.
    let camera = Camera::default();
    let landmarks = prop_oneof![
        proptest::collection::btree_map(pose_point(), point(), 0..8),
        Just(Landmark::ALL.map(|landmark| {
            let [x, y] = face_landmark(landmark);
            let [x_px, y_px] = camera.pixel(x, y);
            (landmark.id().to_owned(), PointPx { x_px, y_px })
        }))
        .prop_map(|all| all.into_iter().collect()),
    ];
    let brows = proptest::collection::btree_map(pose_point(), point(), 0..10);
    let photo = (any::<bool>(), landmarks, proptest::option::of(number()), brows).prop_map(
        |(mirrored, mut points, ruler_mm, brows)| {
            points.extend(brows);
            let photo = Photo { width_px: 2000, height_px: 1800, mirrored };
            PosePhoto { key: "second".into(), photo, points, ruler_mm }
        },
    );
    (heights(), heights(), proptest::option::of(photo))
        .prop_map(|(right, left, photo)| PoseRecord { heights: PerSide { right, left }, photo })
}

fn start() -> impl Strategy<Value = Plan> {
    prop_oneof![
        Just(Plan::default()),
        any::<bool>().prop_map(|mirrored| {
            photo_plan(&Camera { mirrored, ..Camera::default() }).expect("the invented case can be built")
        }),
        Just(whole_plan(&Camera::default()).expect("the invented case can be built")),
    ]
}

fn known_refusals() -> Vec<&'static str> {
    counterpoise_plan::codes::refused::ALL.iter().map(|code| code.code).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn edits_never_panic_and_leave_a_plan_that_may_exist(
        start in start(),
        edits in proptest::collection::vec(edit(), 1..12),
    ) {
        let known = known_refusals();
        let mut plan = start;
        for edit in &edits {
            let before = plan.clone();
            match apply(&plan, edit) {
                Ok(next) => {
                    prop_assert!(validate(&next).is_ok(), "{edit:?} left {:?}", validate(&next));
                    // What a page does after every edit: draw it, and write it down.
                    let (scene, report) = frame(&next);
                    prop_assert!(scene.bounds_mm.iter().all(|edge| edge.is_finite()));
                    prop_assert!(report.problems.iter().all(|p| !p.code.is_empty()));
                    let text = to_json(&next);
                    let read = open(&text);
                    prop_assert_eq!(read.as_ref(), Ok(&next), "{}", text);
                    prop_assert_eq!(to_json(&next), text);
                    prop_assert_eq!(&plan, &before, "the old plan is never changed");
                    plan = next;
                }
                Err(refusal) => {
                    prop_assert!(known.contains(&refusal.code), "{}", refusal.code);
                    prop_assert!(refusal.values.values().all(|v| v.is_finite()) || refusal.code == "outline_invalid");
                    prop_assert_eq!(&plan, &before, "a refused edit changes nothing");
                }
            }
        }
    }

    /// A sheet is made of any plan, or refused with a reason; every mark lies at a finite place.
    #[test]
    fn sheet_of_any_plan_is_made_or_refused(
        start in start(),
        edits in proptest::collection::vec(edit(), 0..8),
        printed_bar_mm in proptest::option::of(number()),
        pose in proptest::option::of(pose_id()),
        mirrored in any::<bool>(),
        words in proptest::collection::btree_map("sheet\\.[a-z_]{3,9}|side\\.right", ".{0,40}", 0..6),
    ) {
        let plan = edits.iter().fold(start, |plan, edit| apply(&plan, edit).unwrap_or(plan));
        let options = SheetOptions {
            paper: Paper::A4, mirrored, date: "today", printed_bar_mm, pose: pose.as_deref(), words: &words,
        };
        match Sheet::of(&plan, &options) {
            Err(refusal) => {
                let expected = ["planned_first", "pose_first", "out_of_range", "not_finite"];
                prop_assert!(expected.contains(&refusal.code), "{}", refusal.code);
            }
            Ok(sheet) => {
                for mark in sheet.pages.iter().flat_map(|page| &page.marks) {
                    let is_placed = match mark {
                        Mark::Line { points, .. } => points.iter().all(|at| at.is_finite()),
                        Mark::Text { at, size_mm, .. } => at.is_finite() && *size_mm > 0.0,
                    };
                    prop_assert!(is_placed, "{mark:?}");
                }
                prop_assert!(pdf(&sheet).starts_with(b"%PDF"));
                prop_assert!(sheet.pages.iter().all(|page| svg(page).ends_with("</svg>\n")));
                let rows = csv(&sheet).lines().count();
                prop_assert!(rows > sheet.rows.len());
            }
        }
    }

    #[test]
    fn what_was_derived_before_changes_nothing(start in start(), edits in proptest::collection::vec(edit(), 1..12)) {
        let mut memo = GroundMemo::default();
        let mut plan = start;
        for edit in edits {
            plan = apply(&plan, &edit).unwrap_or(plan);
            let (scene, report) = frame(&plan);
            let (drawn, glance) = drawn_after(&mut memo, &plan);
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
        let known = known_refusals();
        match open(&text) {
            Ok(plan) => prop_assert!(validate(&plan).is_ok()),
            Err(refusal) => prop_assert!(known.contains(&refusal.code)),
        }
    }

    #[test]
    fn opening_a_damaged_plan_never_panics(at in 0_usize..4000, byte in 32_u8..127) {
        let mut bytes = to_json(&whole_plan(&Camera::default()).expect("can be built")).into_bytes();
        let at = at % bytes.len();
        bytes[at] = byte;
        if let Ok(text) = String::from_utf8(bytes)
            && let Ok(plan) = open(&text)
        {
            prop_assert!(validate(&plan).is_ok());
            let _ = frame(&plan);
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
