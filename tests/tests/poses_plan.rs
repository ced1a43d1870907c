//! Poses in the plan: recorded by edits, reported with their parts, weighed in the balance.

use counterpoise_geometry::Landmark;
use counterpoise_geometry::{LiftPlace, PerSide, Pose, Side, SortedMap};
use counterpoise_plan::{
    DeriveMemo, Edit, Kind, Photo, Plan, PlanError, PointPx, PoseHeights, PosePhoto, PosePoint, PoseRecord,
    Scene, apply, balance_curve, open, report, same_frame, scene, scene_in_pose, to_json,
};
use counterpoise_sheet::{Paper, Sheet, SheetOptions};
use counterpoise_tests::cases::{Camera, face_landmark, whole_plan};

const COUCH: &str = "reclined_closed_resting";
const CLOSED: &str = "upright_closed_resting";

fn heights(plan: &Plan, lifts: PerSide<[f64; 3]>) -> PoseRecord {
    let rows = report(plan).natural;
    let height = |id: &str, side: Side| {
        let row = rows.iter().find(|row| row.id == id).expect("a row");
        row.sides.get(side).expect("a brow").value
    };
    let of = |side: Side| {
        let [front, arch, tail] = *lifts.get(side);
        Some(PoseHeights {
            front_mm: height("bulb_bottom", side) + front,
            arch_mm: height("arch_top", side) + arch,
            tail_mm: height("tail_up", side) + tail,
        })
    };
    PoseRecord { heights: PerSide::from_fn(of), photo: None }
}

fn set(plan: &Plan, pose: &str, record: PoseRecord) -> Result<Plan, PlanError> {
    apply(plan, &Edit::SetPose { pose: pose.into(), record })
}

const LIFTS: PerSide<[f64; 3]> = PerSide { right: [-1.0, -2.0, -0.5], left: [0.0, -0.2, 0.0] };

#[test]
fn muscle_is_told_from_where_brows_sit() {
    let plan = whole_plan(&Camera::default()).unwrap();
    let plan = set(&plan, COUCH, heights(&plan, LIFTS)).unwrap();
    let report = report(&plan);
    let pose = &report.poses[0];
    assert_eq!((pose.id.as_str(), &pose.problem), (COUCH, &None));
    for (k, place) in LiftPlace::ALL.into_iter().enumerate() {
        let row = &pose.places[k];
        assert_eq!(row.place, place.id());
        for side in Side::BOTH {
            assert!((row.lift.get(side).unwrap().value - LIFTS.get(side)[k]).abs() < 1e-9);
        }
        let split = row.split.unwrap();
        assert!((split.muscle.value - (LIFTS.left[k] - LIFTS.right[k])).abs() < 1e-9);
        assert!((split.muscle.value + split.sits.value - split.difference.value).abs() < 1e-9);
    }
    // Her right arch sits 2 mm higher; 1.8 mm of that goes when she closes her eyes.
    let arch = pose.places[1].split.unwrap();
    assert!((arch.difference.value - 2.0).abs() < 0.1 && !arch.within_error, "{arch:?}");
    assert!(pose.places[2].split.unwrap().within_error);
    // The even pair is not even lying down: there the right one drops.
    let planned = report.planned_symmetry.unwrap().mean_distance_mm;
    assert!(planned < 0.01 && pose.planned_mm.unwrap() > 0.5, "{:?}", pose.planned_mm);
    let states = report.states.unwrap();
    assert_eq!((states.pose.as_str(), states.relaxed_weight), (COUCH, 0.0));
    assert!(
        states.never_mm > 0.5
            && states.open_mm.unwrap() + states.relaxed_mm.unwrap() > states.never_mm - 0.05
    );
}

/// The drawing of a pose holds the same brows, moved by the lift.
#[test]
fn drawing_of_a_pose_is_the_plan_moved() {
    let plan = whole_plan(&Camera::default()).unwrap();
    let even = PerSide { right: [-1.5; 3], left: [-0.5; 3] };
    let plan = set(&plan, COUCH, heights(&plan, even)).unwrap();
    let mut memo = DeriveMemo::default();
    assert!(scene_in_pose(&mut memo, &plan, CLOSED).is_none(), "nothing is recorded of it");
    let posed = scene_in_pose(&mut memo, &plan, COUCH).unwrap();
    let upright = scene(&plan);
    // With the same lift all along, all that hangs on a brow moves by it, and what hangs on eyes and nose stays.
    let kinds =
        [Kind::Natural, Kind::Planned, Kind::Thread, Kind::ArchMeasure, Kind::FrontLine, Kind::EndLine];
    for kind in kinds {
        for side in Side::BOTH {
            let bounds = |scene: &Scene| {
                let item =
                    scene.items.iter().find(|item| item.kind == kind && item.side == Some(side)).unwrap();
                kurbo::Shape::bounding_box(&item.path)
            };
            let (here, there) = (bounds(&posed), bounds(&upright));
            let goes = !matches!(kind, Kind::FrontLine | Kind::EndLine);
            let lift = if goes { even.get(side)[0] } else { 0.0 };
            assert!((here.y1 - there.y1 - lift).abs() < 0.02 && (here.y0 - there.y0 - lift).abs() < 0.02);
            assert!((here.x0 - there.x0).abs() < 0.02 && (here.x1 - there.x1).abs() < 0.02);
        }
    }
    assert!(posed.handles.is_empty() && posed.items.iter().all(|item| item.kind != Kind::HeightLine));
}

/// What is drawn lying down is right upright: carried there and back every height is what it was.
#[test]
fn couch_numbers_are_the_upright_ones_moved_by_the_lift() {
    let plan = whole_plan(&Camera::default()).unwrap();
    let plan = set(&plan, COUCH, heights(&plan, LIFTS)).unwrap();
    let pose = &report(&plan).poses[0];
    let row = |id: &str| pose.carried.iter().find(|row| row.id == id).expect("a row");
    for id in ["front_distance", "arch_distance", "tail_out", "brow_length"] {
        for side in Side::BOTH {
            let (upright, here) = (row(id).upright.get(side).unwrap(), row(id).here.get(side).unwrap());
            assert!((upright.value - here.value).abs() < 1e-9, "{id}");
        }
    }
    for side in Side::BOTH {
        for (id, k) in [("bulb_bottom", 0), ("tail_up", 2)] {
            let (upright, here) = (row(id).upright.get(side).unwrap(), row(id).here.get(side).unwrap());
            // The planned front and end lie near the natural ones, within a quarter of the way to the arch.
            assert!((here.value - upright.value - LIFTS.get(side)[k]).abs() < 0.5, "{id}");
            assert!(here.ci95 > upright.ci95);
        }
    }
}

#[test]
fn pose_by_photo_gives_what_its_calipers_give() {
    let upright = Camera::default();
    let lying = Camera { px_per_mm: 9.0, roll: -0.04, origin: [900.0, 1000.0], ..upright };
    let plan = whole_plan(&upright).unwrap();
    let of_heights = heights(&plan, LIFTS);
    let landmarks: SortedMap<String, PointPx> = Landmark::ALL
        .into_iter()
        .filter(|landmark| !matches!(landmark, Landmark::Pupil(_)))
        .map(|landmark| {
            let [x, y] = face_landmark(landmark);
            let [x_px, y_px] = lying.pixel(x, y);
            (landmark.id().to_owned(), PointPx { x_px, y_px })
        })
        .collect();
    let rows = report(&plan).natural;
    let out =
        |id: &str, side: Side| rows.iter().find(|row| row.id == id).unwrap().sides.get(side).unwrap().value;
    let mut brows = SortedMap::new();
    for side in Side::BOTH {
        let heights = of_heights.heights.get(side).unwrap();
        for (place, id, up) in [
            (LiftPlace::Front, "front_distance", heights.front_mm),
            (LiftPlace::Arch, "arch_distance", heights.arch_mm),
            (LiftPlace::Tail, "tail_out", heights.tail_mm),
        ] {
            let [x_px, y_px] = lying.side_pixel(side, out(id, side), up);
            brows.insert(PosePoint::Brow(side, place).id(), PointPx { x_px, y_px });
        }
    }
    let photo = Photo { width_px: 2000, height_px: 1800, mirrored: false };
    let by_photo = |mut points: SortedMap<String, PointPx>, photo: Photo| {
        points.extend(brows.clone());
        let photo = PosePhoto { key: "lying-1".into(), photo, points, ruler_mm: Some(20.0) };
        PoseRecord { photo: Some(photo), ..PoseRecord::default() }
    };
    let with = set(&plan, COUCH, by_photo(landmarks.clone(), photo.clone())).unwrap();
    let pose = &report(&with).poses[0];
    let fit = pose.fit.as_ref().unwrap();
    assert!(fit.rms_mm < 1e-6 && fit.outlier.is_none() && !fit.is_turned, "{fit:?}");
    for (k, row) in pose.places.iter().enumerate() {
        for side in Side::BOTH {
            // The baseline's scale comes from its picks too, so a millimetre is a millimetre on both.
            assert!((row.lift.get(side).unwrap().value - LIFTS.get(side)[k]).abs() < 0.02, "{row:?}");
        }
    }
    // Over the pose's own photo the brows lie where its points say, and the points can be dragged.
    let drawn = scene_in_pose(&mut DeriveMemo::default(), &with, COUCH).unwrap();
    let image_from_face = kurbo::Affine::new(drawn.image_from_face.unwrap());
    for landmark in [Landmark::InnerCorner(Side::Right), Landmark::OuterCorner(Side::Left)] {
        let [x, y] = face_landmark(landmark);
        let handle =
            drawn.handles.iter().find(|handle| handle.id == format!("pose:{}", landmark.id())).unwrap();
        let [x_px, y_px] = lying.pixel(x, y);
        assert!(handle.in_image && handle.at.distance((x_px, y_px).into()) < 1e-9);
        // Face mm of the camera are those of the frame but for where its origin lies, which the sheet does not tell.
        let there = image_from_face * upright_face(&plan, landmark);
        assert!(there.distance(handle.at) < 0.05, "{there:?} {:?}", handle.at);
    }
    assert_eq!(drawn.handles.len(), PosePoint::of(Pose::COUCH).len());

    // Lying down both brows are drawn, or there is no sheet.
    let words = SortedMap::new();
    let sheet = |plan: &Plan| {
        let options = SheetOptions {
            paper: Paper::A4,
            mirrored: false,
            date: "",
            printed_bar_mm: None,
            pose: Some(COUCH),
            words: &words,
        };
        Sheet::of(plan, &options).map(|sheet| sheet.pages.len()).map_err(|refusal| refusal.code)
    };
    assert!(sheet(&with).is_ok_and(|pages| pages > 1));
    for point in ["brow_tail.left", "inner_corner.right"] {
        let off = |plan: &Plan, point: &str| {
            apply(plan, &Edit::RemovePosePoint { pose: COUCH.into(), point: point.into() }).unwrap()
        };
        let less = if point.starts_with("brow") {
            off(&with, point)
        } else {
            Landmark::ALL.iter().fold(with.clone(), |plan, landmark| off(&plan, landmark.id()))
        };
        assert_eq!(sheet(&less), Err("pose_first"), "{point}");
    }

    // What does not fit says why, and the plan's own numbers stay.
    let problem = |record: PoseRecord| {
        let report = report(&set(&plan, COUCH, record).unwrap());
        assert!(report.planned_symmetry.is_some());
        report.poses[0].problem.as_ref().map(|problem| problem.code)
    };
    assert_eq!(problem(by_photo(SortedMap::new(), photo.clone())), Some("pose_too_few_points"));
    let wild = Edit::PlacePosePoint {
        pose: COUCH.into(),
        point: "brow_arch.right".into(),
        x_px: brows["brow_arch.right"].x_px,
        y_px: brows["brow_arch.right"].y_px - 250.0,
    };
    let report_of_wild = report(&apply(&with, &wild).unwrap());
    assert_eq!(report_of_wild.poses[0].problem.as_ref().map(|problem| problem.code), Some("pose_too_far"));
    let mirrored = Photo { mirrored: true, ..photo.clone() };
    assert_eq!(problem(by_photo(landmarks.clone(), mirrored)), Some("pose_mirrored"));
    let mut other = landmarks.clone();
    for side in ["right", "left"] {
        other.get_mut(&format!("nostril.{side}")).unwrap().y_px += 200.0;
    }
    assert_eq!(problem(by_photo(other, photo)), Some("pose_other_face"));
}

/// A landmark of the plan's photo in the face frame that its points make, mm.
fn upright_face(plan: &Plan, landmark: Landmark) -> kurbo::Point {
    let image_from_face = kurbo::Affine::new(scene(plan).image_from_face.expect("a photo"));
    let at = plan.landmarks[landmark.id()];
    image_from_face.inverse() * kurbo::Point::new(at.x_px, at.y_px)
}

/// Points go on one by one; the switch for selfies gives each to the other side; what has no photo takes none.
#[test]
fn points_of_a_pose_are_placed_taken_off_and_mirrored() {
    let plan = whole_plan(&Camera::default()).unwrap();
    let code = |result: Result<Plan, PlanError>| result.unwrap_err().code;
    let place = |plan: &Plan, point: &str, x_px: f64| {
        apply(plan, &Edit::PlacePosePoint { pose: CLOSED.into(), point: point.into(), x_px, y_px: 50.0 })
    };
    assert_eq!(code(place(&plan, "brow_arch.right", 10.0)), "photo_first");
    let photo = Photo { width_px: 400, height_px: 300, mirrored: false };
    let photo = PosePhoto { key: "1764-2".into(), photo, points: SortedMap::new(), ruler_mm: None };
    let record = |photo| PoseRecord { photo: Some(photo), ..PoseRecord::default() };
    let empty = set(&plan, CLOSED, record(photo.clone())).unwrap();
    assert_eq!(code(place(&empty, "brow_arch.right", 401.0)), "outside_photo");
    assert_eq!(code(place(&empty, "brow_arch.up", 1.0)), "unknown_landmark");
    let one = place(&place(&empty, "brow_arch.right", 10.0).unwrap(), "bridge_upper", 20.0).unwrap();
    let mirror =
        |plan: &Plan, mirrored| apply(plan, &Edit::MirrorPose { pose: CLOSED.into(), mirrored }).unwrap();
    let turned = mirror(&one, true);
    let ids =
        |plan: &Plan| plan.poses[CLOSED].photo.as_ref().unwrap().points.keys().cloned().collect::<Vec<_>>();
    assert_eq!(ids(&turned), ["bridge_upper", "brow_arch.left"]);
    assert_eq!(mirror(&turned, false), one);
    let off = |point: &str| {
        apply(&one, &Edit::RemovePosePoint { pose: CLOSED.into(), point: point.into() }).unwrap()
    };
    assert_eq!(ids(&off("brow_arch.right")), ["bridge_upper"]);
    assert_eq!(open(&to_json(&one)).unwrap(), one);
    for key in ["<script>", "a b", &"k".repeat(65)] {
        assert_eq!(
            code(set(&plan, CLOSED, record(PosePhoto { key: key.into(), ..photo.clone() }))),
            "photo_key"
        );
    }
}

#[test]
fn what_cannot_be_recorded_changes_nothing() {
    let plan = whole_plan(&Camera::default()).unwrap();
    let record = heights(&plan, LIFTS);
    let code = |result: Result<Plan, PlanError>| result.unwrap_err().code;
    assert_eq!(code(set(&plan, "sideways", record.clone())), "unknown_pose");
    assert_eq!(code(set(&plan, Pose::BASELINE.id(), record.clone())), "unknown_pose");
    assert_eq!(code(set(&Plan::default(), COUCH, record.clone())), "natural_first");
    let far = heights(&plan, PerSide { right: [0.0, 25.0, 0.0], left: [0.0; 3] });
    let refused = set(&plan, COUCH, far).unwrap_err();
    assert_eq!(
        (refused.code, refused.subject.as_str(), refused.other.as_str()),
        ("pose_too_far", "lift_place.arch", "right")
    );
    let mut bad = record.clone();
    bad.heights.right = Some(PoseHeights { front_mm: f64::NAN, arch_mm: 20.0, tail_mm: 15.0 });
    assert_eq!(code(set(&plan, COUCH, bad)), "not_finite");
    // Kept, written, read again, and forgotten.
    let with = set(&plan, COUCH, record).unwrap();
    assert!(!same_frame(&plan, &with));
    assert_eq!(open(&to_json(&with)).unwrap(), with);
    let without = apply(&with, &Edit::RemovePose { pose: COUCH.into() }).unwrap();
    assert_eq!(without, plan);
    assert!(!to_json(&plan).contains("poses"), "a plan without poses is written as ever");
}

/// The more relaxed brows count, the evener the plan is then, and the less even with open eyes.
#[test]
fn weight_moves_evenness_from_open_to_relaxed() {
    let plan = whole_plan(&Camera::default()).unwrap();
    let mut plan = set(&plan, CLOSED, heights(&plan, LIFTS)).unwrap();
    let mut seen = Vec::new();
    for weight in [0.0, 0.5, 1.0] {
        plan.balance.relaxed_weight = weight;
        let curve = balance_curve(&plan, 40.0).unwrap();
        let loosest = curve.points.last().unwrap();
        let mut balanced = plan.clone();
        balanced.planned = loosest.outlines.clone().map(Some);
        let states = report(&balanced).states.unwrap();
        seen.push((states.open_mm.unwrap(), states.relaxed_mm.unwrap(), states.never_mm));
    }
    println!("open, relaxed, never both below: {seen:.2?}");
    let [(open0, closed0, never), (open5, closed5, _), (open1, closed1, _)] = seen[..] else { panic!() };
    assert!(open0 < open5 && open5 < open1, "{seen:?}");
    assert!(closed0 > closed5 && closed5 > closed1, "{seen:?}");
    assert!(open0 < 0.1 && closed1 < 0.15, "{seen:?}");
    for (open, closed) in [(open0, closed0), (open5, closed5), (open1, closed1)] {
        assert!(open + closed > never - 0.1, "{seen:?}");
    }
}
