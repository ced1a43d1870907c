//! Any plan and any edit: what the laws are tried on by chance (`laws_plan`) and by a fuzzer that learns (`fuzz/`).

use counterpoise_geometry::{Landmark, OUTLINE_HANDLES, Param, PerSide, Pose, Side};
use counterpoise_plan::{
    ArchGuide, Balance, BrowCalipers, CaliperDistance, Case, ClientLimits, Edit, FrameSettings, Guides,
    Limits, Noise, Outline, Photo, Plan, PointPx, PoseHeights, PosePhoto, PosePoint, PoseRecord, Prefer,
    Pull, PullTo, RollFrom, SideBalance, TOUCH_UP, TouchUpLine, Wishes,
};
use proptest::prelude::*;

use crate::cases::{Camera, face_landmark, natural_params, photo_plan, trace, whole_plan, written};

/// Numbers as they come from sliders, and numbers that should never come.
pub fn number() -> impl Strategy<Value = f64> {
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
        1 => proptest::collection::btree_map(param_id(), number(), 0..20).prop_map(|params| Outline(params.into_iter().collect())),
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

/// What a balance prefers.
pub fn prefer() -> impl Strategy<Value = Prefer> {
    proptest::sample::select(vec![Prefer::Even, Prefer::Filling, Prefer::Trimming])
}

/// Rules of the balance for one side.
pub fn side_balance() -> impl Strategy<Value = SideBalance> {
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

/// Any edit, sensible or not.
pub fn edit() -> impl Strategy<Value = Edit> {
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

/// The name of a pose, mostly one that there is.
pub fn pose_id() -> impl Strategy<Value = String> {
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

/// A pose as it may be set.
pub fn pose_record() -> impl Strategy<Value = PoseRecord> {
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
            PosePhoto { key: "second".into(), photo, points: points.into_iter().collect(), ruler_mm }
        },
    );
    (heights(), heights(), proptest::option::of(photo))
        .prop_map(|(right, left, photo)| PoseRecord { heights: PerSide { right, left }, photo })
}

/// A plan that edits begin with: nothing, a photo with its points, or all of the invented case.
///
/// # Panics
/// Never: the invented case can be built.
pub fn start() -> impl Strategy<Value = Plan> {
    prop_oneof![
        Just(Plan::default()),
        any::<bool>().prop_map(|mirrored| {
            photo_plan(&Camera { mirrored, ..Camera::default() }).expect("the invented case can be built")
        }),
        Just(whole_plan(&Camera::default()).expect("the invented case can be built")),
    ]
}
