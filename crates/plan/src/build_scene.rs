//! Putting the drawing together.

use counterpoise_geometry::{
    FaceFrame, Landmark, Pose, Side, SideGuides, bounds_of, image_from_side_by, patches_path, regions,
};
use kurbo::{Affine, BezPath, Line, PathEl, Point, Rect, Shape as _};

use crate::build_poses::{Lifted, carried_contour, lifted};
use crate::build_touch_up::{agreed_contour, frames};
use crate::derive::{Derived, FrameState, shape};
use crate::touch_up::{TOUCH_UP, TouchUpLine, contour, touch_up_points};
use crate::{Align, Handle, Item, Kind, Label, NaturalBrow, Plan, PosePhoto, PosePoint, Scene};

/// Room around what is drawn, mm.
const MARGIN_MM: f64 = 8.0;
/// In view before anything is drawn, mm: where brows lie (this project's model study on the Face Research Lab London
/// Set: tails end 57 mm out, arches 27 mm up), `[x0, y0, x1, y1]`.
const BROWS_MM: Rect = Rect::new(-62.0, -4.0, 62.0, 36.0);
/// How far guides reach beyond the brows, mm.
const GUIDE_REACH_MM: f64 = 4.0;
/// How far down the centre line reaches, mm below the inner eye corners: down the bridge.
const CENTRE_LINE_DOWN_MM: f64 = 12.0;
/// Half length of an arch candidate's mark, mm.
const CANDIDATE_MM: f64 = 4.0;
/// A label stands this far above what it names, mm.
const LABEL_LIFT_MM: f64 = 0.6;
/// Rows of labels are this far apart, mm.
const LABEL_ROW_MM: f64 = 2.8;

/// The drawing of a plan.
pub fn build_scene(plan: &Plan, derived: &Derived) -> Scene {
    if let FrameState::Missing(..) = derived.frame() {
        return landmarks_only(plan);
    }
    let mut scene = Scene::default();
    areas(&mut scene, derived);
    guides(&mut scene, derived);
    edges(&mut scene, derived);
    scene.bounds_mm = bounds(&scene, derived.frame().of_photo());
    handles(&mut scene, plan, derived);
    scene.image_from_face = derived.frame().of_photo().map(FaceFrame::image_from_face);
    scene
}

/// The brows as they lie in a recorded pose: edges, hair to remove and guides, over the pose's own photo with its points where it
/// has one, else on the baseline's face. `None` where the pose is not recorded, or without a photo cannot be used.
pub fn posed_scene(plan: &Plan, derived: &Derived, pose: &str) -> Option<Scene> {
    if pose == TOUCH_UP {
        return touch_up_scene(plan, derived);
    }
    let record = plan.poses.get(pose)?;
    let lifted = lifted(plan, derived, pose, record);
    let Some(photo) = &record.photo else { return Some(moved_scene(plan, derived, &lifted.ok()?)) };
    let mut scene = match &lifted {
        Ok(lifted) => moved_scene(plan, derived, lifted),
        Err(_) => Scene { bounds_mm: as_array(BROWS_MM), ..Scene::default() },
    };
    scene.image_from_face = lifted.ok().and_then(|lifted| lifted.image_from_face());
    scene.handles = photo_handles(photo, PosePoint::of(Pose::from_id(pose)?));
    Some(scene)
}

/// The placed ones of these points of a photo.
fn photo_handles(photo: &PosePhoto, points: Vec<PosePoint>) -> Vec<Handle> {
    let handle = |point: PosePoint| {
        let at = photo.point(point)?;
        Some(Handle {
            id: format!("pose:{}", point.id()),
            side: point.side(),
            at: Point::new(at.x_px, at.y_px),
            in_image: true,
        })
    };
    points.into_iter().filter_map(handle).collect()
}

/// The touch-up's photo with the agreed outlines over it, the healed colour as it was drawn around, and hair outside.
fn touch_up_scene(plan: &Plan, derived: &Derived) -> Option<Scene> {
    let touch_up = plan.touch_up.as_ref()?;
    let mut scene = Scene { bounds_mm: as_array(BROWS_MM), ..Scene::default() };
    if let Ok(fit) = frames(plan, derived)? {
        for side in Side::BOTH {
            let face = face_from_side(side);
            let agreed = agreed_contour(plan, side);
            let hair = touch_up.line(TouchUpLine::Hair, side).and_then(|line| contour(line, side, &fit).ok());
            if let Some((hair, (_, agreed))) = hair.as_ref().zip(agreed.as_ref()) {
                let outside = regions(hair, agreed).removed;
                push(&mut scene, Kind::Removed, Some(side), face * patches_path(&outside));
            }
            if let Some(healed) = touch_up.line(TouchUpLine::Healed, side)
                && let Ok(healed) = contour(healed, side, &fit)
            {
                push(&mut scene, Kind::Natural, Some(side), face * healed.to_path());
            }
            if let Some((shape, _)) = agreed {
                push(&mut scene, Kind::Planned, Some(side), face * shape.path().clone());
            }
        }
        scene.bounds_mm = bounds(&scene, derived.frame().of_photo());
        scene.image_from_face = Some(fit.image_from_face());
    }
    scene.handles = photo_handles(&touch_up.photo, touch_up_points());
    Some(scene)
}

/// The brows moved by a lift.
fn moved_scene(plan: &Plan, derived: &Derived, lifted: &Lifted) -> Scene {
    // What hangs on eyes, nose and centre line stays, what hangs on a brow goes with it; heights are told by their numbers.
    let stays = |kind| matches!(kind, Kind::CentreLine | Kind::FrontLine | Kind::EndLine);
    let goes = |kind| {
        matches!(kind, Kind::Removed | Kind::Thread | Kind::ArchMeasure | Kind::ArchNatural | Kind::ArchBone)
    };
    let mut scene = build_scene(plan, derived);
    scene.items.retain(|item| stays(item.kind) || goes(item.kind));
    for item in scene.items.iter_mut().filter(|item| goes(item.kind)) {
        let Some(side) = item.side else { continue };
        let Some(profile) = lifted.profiles.get(side) else { continue };
        let (face, out) = (face_from_side(side), face_from_side(side).inverse());
        // All of these are straight from corner to corner, areas in short steps: moving the corners moves the edge.
        let carry = |at: Point| face * profile.carried(out * at);
        item.path = item.path.iter().map(|element| carried_element(element, carry)).collect();
    }
    scene.labels.clear();
    scene.handles.clear();
    for kind in [Kind::Natural, Kind::Planned] {
        for side in Side::BOTH {
            let contour = match kind {
                Kind::Natural => derived.natural(side).map(|natural| &natural.contour),
                _ => derived.planned(side).map(|planned| &planned.contour),
            };
            let carried = contour.zip(lifted.profiles.get(side).as_ref());
            if let Some(carried) = carried.and_then(|(contour, profile)| carried_contour(contour, profile)) {
                push(&mut scene, kind, Some(side), face_from_side(side) * carried.to_path());
            }
        }
    }
    scene
}

fn carried_element(element: PathEl, carry: impl Fn(Point) -> Point) -> PathEl {
    match element {
        PathEl::MoveTo(at) => PathEl::MoveTo(carry(at)),
        PathEl::LineTo(at) => PathEl::LineTo(carry(at)),
        PathEl::QuadTo(a, at) => PathEl::QuadTo(carry(a), carry(at)),
        PathEl::CurveTo(a, b, at) => PathEl::CurveTo(carry(a), carry(b), carry(at)),
        PathEl::ClosePath => PathEl::ClosePath,
    }
}

/// Before a frame exists there is only the photo with its points.
fn landmarks_only(plan: &Plan) -> Scene {
    let handles = placed(plan).map(|(landmark, x_px, y_px)| Handle {
        id: format!("landmark:{}", landmark.id()),
        side: landmark.side(),
        at: Point::new(x_px, y_px),
        in_image: true,
    });
    Scene { handles: handles.collect(), bounds_mm: as_array(BROWS_MM), ..Scene::default() }
}

fn placed(plan: &Plan) -> impl Iterator<Item = (Landmark, f64, f64)> {
    Landmark::ALL
        .into_iter()
        .filter_map(|landmark| plan.landmarks.get(landmark.id()).map(|at| (landmark, at.x_px, at.y_px)))
}

/// From the side's `(out, up)` to the face frame.
const fn face_from_side(side: Side) -> Affine {
    Affine::new([side.sign(), 0.0, 0.0, 1.0, 0.0, 0.0])
}

fn areas(scene: &mut Scene, derived: &Derived) {
    for kind in [Kind::Kept, Kind::Removed, Kind::Added] {
        for side in Side::BOTH {
            let Some(regions) = &derived.on(side).regions else { continue };
            let patches = match kind {
                Kind::Removed => &regions.removed,
                Kind::Added => &regions.added,
                _ => &regions.kept,
            };
            if !patches.is_empty() {
                push(scene, kind, Some(side), face_from_side(side) * patches_path(patches));
            }
        }
    }
}

fn push(scene: &mut Scene, kind: Kind, side: Option<Side>, path: BezPath) {
    scene.items.push(Item { kind, side, path });
}

fn push_line(scene: &mut Scene, kind: Kind, side: Option<Side>, from: Point, to: Point) {
    push(scene, kind, side, Line::new(from, to).to_path(0.0));
}

fn edges(scene: &mut Scene, derived: &Derived) {
    for side in Side::BOTH {
        if let Some(natural) = derived.natural(side) {
            push(scene, Kind::Natural, Some(side), face_from_side(side) * natural.contour.to_path());
        }
    }
    for side in Side::BOTH {
        if let Some(planned) = derived.planned(side) {
            push(scene, Kind::Planned, Some(side), face_from_side(side) * planned.shape.path().clone());
        }
    }
}

fn guides(scene: &mut Scene, derived: &Derived) {
    let brows = Side::BOTH.iter().fold(BROWS_MM, |brows, &side| {
        let contours = [
            derived.natural(side).map(|natural| &natural.contour),
            derived.planned(side).map(|planned| &planned.contour),
        ];
        contours.into_iter().flatten().fold(brows, |brows, contour| {
            brows.union(face_from_side(side).transform_rect_bbox(contour.bounds()))
        })
    });
    let top = brows.y1 + GUIDE_REACH_MM;
    push_line(scene, Kind::CentreLine, None, Point::new(0.0, -CENTRE_LINE_DOWN_MM), Point::new(0.0, top));
    for side in Side::BOTH {
        let reach = brows.x1.max(-brows.x0);
        side_guides(scene, side, &derived.on(side).guides, top, reach);
    }
    if let Some(frame) = derived.frame().of_photo() {
        let ends = [Landmark::RulerStart, Landmark::RulerEnd].map(|end| frame.landmark_in_face(end));
        if let [Some(start), Some(end)] = ends {
            push_line(scene, Kind::Ruler, None, start, end);
        }
    }
}

fn side_guides(scene: &mut Scene, side: Side, guides: &SideGuides, top: f64, reach: f64) {
    let face = face_from_side(side);
    let at = |out: f64, up: f64| face * Point::new(out, up);
    let side = Some(side);
    if let Some(heights) = &guides.heights {
        for (key, up) in [
            ("measure.bulb_bottom", heights.bulb_bottom),
            ("measure.bulb_top", heights.bulb_top),
            ("measure.arch_top", heights.arch_top),
        ] {
            push_line(scene, Kind::HeightLine, side, at(0.0, up), at(reach + GUIDE_REACH_MM, up));
            // On the line's outer end and reading inward, so that it never runs out of the drawing.
            let place = at(reach + GUIDE_REACH_MM, up + LABEL_LIFT_MM);
            let align = if place.x < 0.0 { Align::Start } else { Align::End };
            scene.labels.push(Label { key: key.into(), value: Some(up), side, at: place, align });
        }
    }
    if let Some(out) = guides.front_line_out {
        push_line(scene, Kind::FrontLine, side, at(out, -CENTRE_LINE_DOWN_MM), at(out, top));
        let (place, align) = (at(out, top + LABEL_LIFT_MM), Align::Middle);
        scene.labels.push(Label { key: "kind.front_line".into(), value: Some(out), side, at: place, align });
    }
    if let Some(line) = &guides.end_line {
        // From the nostril through the eye corner to the height of the tail, or as far again without a tail.
        let beyond = line.at_tail.unwrap_or(line.through + (line.through - line.from) * 0.5);
        let end = beyond + (line.through - line.from).normalize() * GUIDE_REACH_MM;
        push_line(scene, Kind::EndLine, side, face * line.from, face * end);
    }
    let candidates = [
        (Kind::ArchMeasure, "kind.arch_measure", guides.arch.measure),
        (Kind::ArchNatural, "kind.arch_natural", guides.arch.natural),
        (Kind::ArchBone, "kind.arch_bone", guides.arch.bone),
    ];
    // Candidates lie near each other, so their texts stand in rows above the highest.
    let mut row = candidates.iter().filter_map(|(_, _, at)| at.map(|at| at.y)).fold(0.0, f64::max)
        + CANDIDATE_MM
        + LABEL_LIFT_MM;
    for (kind, key, candidate) in candidates {
        let Some(point) = candidate else { continue };
        push_line(scene, kind, side, at(point.x, point.y - CANDIDATE_MM), at(point.x, row - LABEL_LIFT_MM));
        let (place, align) = (at(point.x, row), Align::Middle);
        scene.labels.push(Label { key: key.into(), value: Some(point.x), side, at: place, align });
        row += LABEL_ROW_MM;
    }
    if let Some(thread) = guides.thread {
        let mut path = BezPath::new();
        let [first, rest @ ..] = thread;
        path.move_to(face * first);
        rest.iter().for_each(|point| path.line_to(face * *point));
        push(scene, Kind::Thread, side, path);
    }
}

fn handles(scene: &mut Scene, plan: &Plan, derived: &Derived) {
    if let Some(frame) = derived.frame().of_photo() {
        for (landmark, ..) in placed(plan) {
            if let Some(at) = frame.landmark_in_face(landmark) {
                let id = format!("landmark:{}", landmark.id());
                scene.handles.push(Handle { id, side: landmark.side(), at, in_image: false });
            }
        }
    }
    for side in Side::BOTH {
        natural_handles(scene, plan, derived, side);
        let Some(planned) = derived.planned(side) else { continue };
        for handle in planned.shape.handles() {
            scene.handles.push(Handle {
                id: format!("planned:{}:{}", side.name(), handle.id),
                side: Some(side),
                at: face_from_side(side) * handle.at,
                in_image: false,
            });
        }
    }
}

/// Handles of a natural brow that is an outline, where the photo has them now.
fn natural_handles(scene: &mut Scene, plan: &Plan, derived: &Derived, side: Side) {
    let Some(NaturalBrow::Shape { outline, at }) = plan.natural.get(side) else { return };
    if derived.natural(side).is_none() {
        return;
    }
    let Ok(shape) = shape(outline) else { return };
    for handle in shape.handles() {
        let place = match (at, derived.frame().of_photo()) {
            (Some(stamp), Some(frame)) => {
                frame.side_from_image(side, image_from_side_by(stamp.image_from_face, side, handle.at))
            }
            _ => handle.at,
        };
        scene.handles.push(Handle {
            id: format!("natural:{}:{}", side.name(), handle.id),
            side: Some(side),
            at: face_from_side(side) * place,
            in_image: false,
        });
    }
}

/// What should be in view: everything drawn and the eyes, with room around it.
fn bounds(scene: &Scene, frame: Option<&FaceFrame>) -> [f64; 4] {
    let drawn = scene
        .items
        .iter()
        // The ruler may lie anywhere and the end line starts down at the nose; neither should shrink the brows.
        .filter(|item| !matches!(item.kind, Kind::Ruler | Kind::EndLine))
        .filter_map(|item| bounds_of(&item.path))
        .fold(BROWS_MM, |bounds, around| bounds.union(around));
    let eyes = Landmark::ALL
        .iter()
        .filter(|landmark| matches!(landmark, Landmark::OuterCorner(_) | Landmark::Pupil(_)))
        .filter_map(|landmark| frame?.landmark_in_face(*landmark));
    as_array(eyes.fold(drawn, |bounds, at| bounds.union_pt(at)).inflate(MARGIN_MM, MARGIN_MM))
}

const fn as_array(rect: Rect) -> [f64; 4] {
    [rect.x0, rect.y0, rect.x1, rect.y1]
}
