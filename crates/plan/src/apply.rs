//! Doing an edit.

use counterpoise_geometry::{
    Contour, FaceFrame, ImagePoint, Landmark, OUTLINE_HANDLES, Outline as Shape, OutlineParams, Param,
    PerSide, Side, contour_from_calipers, contour_from_trace, estimate_frame, fit_outline,
    outline_from_calipers, params_with_handle_at, retrace, side_from_image_by,
};

use crate::agreement::agree;
use crate::build_poses::lifted;
use crate::cautions;
use crate::codes::{problem, refused};
use crate::convert;
use crate::derive::{derive, natural_contour};
use crate::field;
use crate::touch_up::{self, TOUCH_UP};
use crate::validate::{self, short};
use crate::variants;
use crate::wishes::wished;
use crate::{CaliperDistance, Edit, FrameStamp, NaturalBrow, Outline, Photo, Plan, PlanError};
use crate::{PosePhoto, PosePoint, PoseRecord};

/// The next plan. The given one is never changed, and the next one always passes [`validate`](crate::validate).
///
/// # Errors
/// Why the edit was refused; see `codes::refused`.
pub fn apply(plan: &Plan, edit: &Edit) -> Result<Plan, PlanError> {
    let mut next = plan.clone();
    let mut budget = field::EDITS;
    change(&mut next, edit, field::EDIT_DEPTH, &mut budget)?;
    validate::validate(&next)?;
    Ok(next)
}

/// Changes the plan in place; what it leaves behind after a refusal is thrown away by [`apply`].
fn change(plan: &mut Plan, edit: &Edit, depth: usize, budget: &mut usize) -> Result<(), PlanError> {
    let too_many = || {
        #[expect(clippy::cast_precision_loss, reason = "a count, shown")]
        PlanError::refused(refused::TOO_MANY_EDITS, "").with("limit", field::EDITS as f64)
    };
    *budget = budget.checked_sub(1).ok_or_else(too_many)?;
    match edit {
        Edit::SetCase { case } => {
            validate::case(case)?;
            plan.case = case.clone();
        }
        Edit::SetPhoto { photo } => set_photo(plan, photo.clone()),
        Edit::SetMirrored { mirrored } => set_mirrored(plan, *mirrored)?,
        Edit::PlaceLandmark { landmark, x_px, y_px } => place_landmark(plan, landmark, *x_px, *y_px)?,
        Edit::RemoveLandmark { landmark } => {
            let landmark = validate::landmark(landmark)?;
            plan.landmarks.remove(landmark.id());
        }
        Edit::SetFrame { frame } => {
            validate::frame(frame)?;
            plan.frame = frame.clone();
        }
        Edit::SetCaliper { caliper } => set_caliper(plan, caliper)?,
        Edit::RemoveCaliper { from, to } => {
            validate::landmark(from)?;
            validate::landmark(to)?;
            plan.frame.calipers.retain(|caliper| !validate::is_same_pair(caliper, from, to));
        }
        Edit::SetNoise { noise } => plan.noise = noise.clone(),
        Edit::TraceNatural { side, points_px } => {
            validate::points(*side, points_px, field::STROKE_POINTS)?;
            set_trace(plan, *side, points_px)?;
        }
        Edit::RetraceNatural { side, points_px } => retrace_natural(plan, *side, points_px)?,
        Edit::TypeNatural { side, calipers } => {
            validate::calipers(calipers)?;
            contour_from_calipers(&convert::caliper_numbers(calipers))
                .map_err(|error| convert::caliper_error(&error))?;
            *plan.natural.get_mut(*side) = Some(NaturalBrow::Calipers(*calipers));
        }
        Edit::ShapeNatural { side, outline } => {
            checked_outline(outline)?;
            let at = match plan.natural.get(*side) {
                Some(NaturalBrow::Shape { at, .. }) => *at,
                _ => frame_of(plan)?.map(|frame| FrameStamp { image_from_face: frame.image_from_face() }),
            };
            *plan.natural.get_mut(*side) = Some(NaturalBrow::Shape { outline: outline.clone(), at });
        }
        Edit::MoveNaturalHandle { side, handle, out_mm, up_mm } => {
            let at = handle_place(handle, *out_mm, *up_mm)?;
            move_natural_handle(plan, *side, handle, at)?;
        }
        Edit::ClearNatural { side } => *plan.natural.get_mut(*side) = None,
        Edit::SetParam { side, param, value, linked } => {
            let param = validate::param(param)?;
            validate::param_value(param, *value)?;
            each_planned(plan, *side, *linked, |params| Ok(params.with(param, *value)))?;
        }
        Edit::MoveHandle { side, handle, out_mm, up_mm, linked } => {
            let at = handle_place(handle, *out_mm, *up_mm)?;
            move_handle(plan, *side, handle, at, *linked)?;
        }
        Edit::SetOutlines { outlines } => {
            for side in Side::BOTH {
                if let Some(outline) = outlines.get(side) {
                    checked_outline(outline)?;
                    *plan.planned.get_mut(side) = Some(outline.clone());
                }
            }
        }
        Edit::StartFromNatural { sides } => {
            for side in Side::BOTH.into_iter().filter(|side| sides.contains(side)) {
                let params = fitted(plan, side)?;
                *plan.planned.get_mut(side) = Some(convert::outline(&params));
            }
        }
        Edit::StartFromMean => {
            let mean = fitted(plan, Side::Right)?.mean(&fitted(plan, Side::Left)?);
            let outline = checked_params(&mean)?;
            plan.planned = PerSide { right: Some(outline.clone()), left: Some(outline) };
        }
        Edit::CopyFromOther { side } => {
            let other = planned(plan, side.other())?.clone();
            *plan.planned.get_mut(*side) = Some(other);
        }
        Edit::ClearOutline { side } => *plan.planned.get_mut(*side) = None,
        Edit::SetGuides { guides } => plan.guides = guides.clone(),
        Edit::SetLimits { limits } => plan.limits = limits.clone(),
        Edit::SetBalance { balance } => plan.balance = balance.clone(),
        Edit::SetPose { pose, record } => set_pose(plan, pose, record)?,
        Edit::PlacePosePoint { pose, point, x_px, y_px } => {
            place_pose_point(plan, pose, point, *x_px, *y_px)?;
        }
        Edit::RemovePosePoint { pose, point } => {
            let point = validate::pose_point(point)?;
            pose_photo(plan, pose)?.points.remove(&point.id());
        }
        Edit::MirrorPose { pose, mirrored } => mirror_pose(plan, pose, *mirrored)?,
        Edit::SetClient { client } => plan.client = client.clone(),
        Edit::Wish { base, before, wishes } => plan.planned = wished(plan, base, before, wishes)?,
        Edit::AnswerCaution { caution, yes } => cautions::answer(plan, caution, *yes)?,
        Edit::NoteCautions { note } => plan.cautions.note.clone_from(note),
        Edit::NoteUpkeep { note } => plan.upkeep.clone_from(note),
        Edit::KeepVariant { name } => variants::keep(plan, name),
        Edit::TakeVariant { name } => variants::take(plan, name)?,
        Edit::DuplicateVariant { name, to } => variants::duplicate(plan, name, to)?,
        Edit::RenameVariant { name, to } => variants::rename(plan, name, to)?,
        Edit::RemoveVariant { name } => variants::remove(plan, name)?,
        Edit::Agree { at, initials, strokes } => agree(plan, at, initials, strokes)?,
        Edit::SetTouchUp { photo, date } => touch_up::set_photo(plan, photo.clone(), date),
        Edit::TraceTouchUp { line, side, points_px } => touch_up::trace(plan, *line, *side, points_px)?,
        Edit::StartTouchUpPlan { name } => *plan = touch_up::start_plan(plan, name)?,
        Edit::RemovePose { pose } => {
            validate::pose(pose)?;
            plan.poses.remove(pose);
        }
        Edit::Many { edits } => {
            let depth = depth.checked_sub(1).ok_or_else(too_many)?;
            edits.iter().try_for_each(|edit| change(plan, edit, depth, budget))?;
        }
    }
    Ok(())
}

/// The same photo at another size would move every point, so everything in pixels goes. A natural brow taken with
/// calipers or pulled up without a photo belongs to the face and stays.
fn set_photo(plan: &mut Plan, photo: Option<Photo>) {
    plan.photo = photo;
    plan.landmarks.clear();
    for side in Side::BOTH {
        let natural = plan.natural.get_mut(side);
        if natural.as_ref().is_some_and(is_of_photo) {
            *natural = None;
        }
    }
}

const fn is_of_photo(natural: &NaturalBrow) -> bool {
    match natural {
        NaturalBrow::Trace { .. } => true,
        NaturalBrow::Shape { at, .. } => at.is_some(),
        NaturalBrow::Calipers(_) => false,
    }
}

/// The same pixels now belong to the client's other side: landmarks, natural brows, the outlines planned on them and the
/// rules for these change sides. Brows that were both measured on the face itself stay with their plans, since her right is her right
/// whatever the photo shows. A nudge by hand keeps the same line on the photo, so its sign turns.
fn set_mirrored(plan: &mut Plan, mirrored: bool) -> Result<(), PlanError> {
    let photo = plan.photo.as_mut().ok_or_else(|| PlanError::refused(refused::PHOTO_FIRST, ""))?;
    if photo.mirrored == mirrored {
        return Ok(());
    }
    photo.mirrored = mirrored;
    let landmarks = std::mem::take(&mut plan.landmarks);
    plan.landmarks = landmarks
        .into_iter()
        .map(|(id, at)| {
            let other = Landmark::from_id(&id).map(|landmark| landmark.on_other_side());
            (other.map_or(id, |landmark| landmark.id().to_owned()), at)
        })
        .collect();
    plan.frame.roll_nudge_deg = -plan.frame.roll_nudge_deg;
    let naturals: Vec<&NaturalBrow> =
        Side::BOTH.iter().filter_map(|&side| plan.natural.get(side).as_ref()).collect();
    if !naturals.is_empty() && !naturals.iter().any(|natural| is_of_photo(natural)) {
        return Ok(());
    }
    plan.natural = std::mem::take(&mut plan.natural).swapped().map(|natural| natural.map(stamp_mirrored));
    plan.planned = std::mem::take(&mut plan.planned).swapped();
    for variant in &mut plan.variants {
        variant.planned = std::mem::take(&mut variant.planned).swapped();
    }
    plan.balance.sides = std::mem::take(&mut plan.balance.sides).swapped();
    Ok(())
}

/// The stamp of a shape that has changed sides: the face's x runs the other way, the pixels stay.
fn stamp_mirrored(natural: NaturalBrow) -> NaturalBrow {
    match natural {
        NaturalBrow::Shape { outline, at: Some(stamp) } => {
            let [a, b, c, d, e, f] = stamp.image_from_face;
            NaturalBrow::Shape { outline, at: Some(FrameStamp { image_from_face: [-a, -b, c, d, e, f] }) }
        }
        other => other,
    }
}

fn place_landmark(plan: &mut Plan, id: &str, x_px: f64, y_px: f64) -> Result<(), PlanError> {
    let landmark = validate::landmark(id)?;
    let photo = plan.photo.as_ref().ok_or_else(|| PlanError::refused(refused::PHOTO_FIRST, landmark.id()))?;
    let at = validate::on_photo(landmark.id(), photo, x_px, y_px)?;
    // Points on one spot or on the wrong side are taken all the same: she may be half-way through placing them, and
    // the report says what is wrong.
    plan.landmarks.insert(landmark.id().to_owned(), at);
    Ok(())
}

fn set_caliper(plan: &mut Plan, caliper: &CaliperDistance) -> Result<(), PlanError> {
    validate::caliper_distance(caliper)?;
    let known = plan
        .frame
        .calipers
        .iter_mut()
        .find(|known| validate::is_same_pair(known, &caliper.from, &caliper.to));
    match known {
        Some(known) => known.mm = caliper.mm,
        None => plan.frame.calipers.push(caliper.clone()),
    }
    validate::frame(&plan.frame)
}

/// The photo of a pose, which must be there.
fn pose_photo<'a>(plan: &'a mut Plan, pose: &str) -> Result<&'a mut PosePhoto, PlanError> {
    if pose == TOUCH_UP {
        return touch_up::photo(plan);
    }
    validate::pose(pose)?;
    let photo = plan.poses.get_mut(pose).and_then(|record| record.photo.as_mut());
    photo.ok_or_else(|| PlanError::refused(refused::PHOTO_FIRST, short(pose)))
}

/// As with landmarks, what is wrong with the points is for the report to say: she may be half-way through placing them.
fn place_pose_point(plan: &mut Plan, pose: &str, id: &str, x_px: f64, y_px: f64) -> Result<(), PlanError> {
    let point = validate::pose_point(id)?;
    let photo = pose_photo(plan, pose)?;
    let at = validate::on_photo(id, &photo.photo, x_px, y_px)?;
    photo.points.insert(point.id(), at);
    Ok(())
}

/// The same pixels now belong to the client's other side.
fn mirror_pose(plan: &mut Plan, pose: &str, mirrored: bool) -> Result<(), PlanError> {
    let photo = pose_photo(plan, pose)?;
    if photo.photo.mirrored == mirrored {
        return Ok(());
    }
    photo.photo.mirrored = mirrored;
    let points = std::mem::take(&mut photo.points);
    let swapped = |id: String| PosePoint::from_id(&id).map_or(id, |point| point.on_other_side().id());
    photo.points = points.into_iter().map(|(id, at)| (swapped(id), at)).collect();
    if let Some(touch_up) = plan.touch_up.as_mut().filter(|_| pose == TOUCH_UP) {
        touch_up::swap_sides(touch_up);
    }
    Ok(())
}

/// A pose is taken where there are natural brows to compare it with; heights also have to move none of them farther than
/// faces do. What a photo's points do is told in the report.
fn set_pose(plan: &mut Plan, pose: &str, record: &PoseRecord) -> Result<(), PlanError> {
    validate::pose_record(pose, record)?;
    let derived = derive(plan);
    let missing = Side::BOTH.into_iter().find(|&side| derived.natural(side).is_none());
    if let Some(side) = missing.filter(|side| derived.natural(side.other()).is_none()) {
        return Err(PlanError::refused(refused::NATURAL_FIRST, side.name()));
    }
    if record.photo.is_none()
        && let Err(found) = lifted(plan, &derived, pose, record)
        && found.code == problem::POSE_TOO_FAR.code
    {
        let mut refusal = PlanError::refused(refused::POSE_TOO_FAR, found.subject)
            .against(found.side.map_or("", Side::name));
        refusal.values = found.values;
        return Err(refusal);
    }
    plan.poses.insert(pose.to_owned(), record.clone());
    Ok(())
}

/// The frame of the photo, or `None` where there is no photo.
pub fn frame_of(plan: &Plan) -> Result<Option<FaceFrame>, PlanError> {
    if plan.photo.is_none() {
        return Ok(None);
    }
    estimate_frame(&convert::frame_input(plan)).map(Some).map_err(|error| convert::frame_first(&error))
}

/// Cleans a closed stroke in millimetres and stores it in pixels. Millimetres, because how much a hand shakes and how
/// fine an edge is are known in millimetres; pixels, because the hair stays where it is on the photo when a landmark
/// is moved later.
fn set_trace(plan: &mut Plan, side: Side, points_px: &[[f64; 2]]) -> Result<(), PlanError> {
    let frame = frame_of(plan)?.ok_or_else(|| PlanError::refused(refused::PHOTO_FIRST, side.name()))?;
    let points: Vec<_> =
        points_px.iter().map(|[x, y]| frame.side_from_image(side, ImagePoint::new(*x, *y))).collect();
    let contour = contour_from_trace(&points).map_err(|error| convert::contour_error(side, &error))?;
    let points_px = thinned_px(&contour, |at| frame.image_from_side(side, at));
    *plan.natural.get_mut(side) = Some(NaturalBrow::Trace { points_px });
    Ok(())
}

/// A cleaned contour as it is stored: few points, px by this map.
pub fn thinned_px(contour: &Contour, image_from_side: impl Fn(kurbo::Point) -> ImagePoint) -> Vec<[f64; 2]> {
    let thin = (contour.points().len() > field::CLEANED_POINTS).then(|| thinned(contour));
    let points = thin.as_ref().unwrap_or(contour).points();
    let pixel = |point: &kurbo::Point| image_from_side(*point);
    points.iter().map(pixel).map(|at| [thousandth(at.x_px), thousandth(at.y_px)]).collect()
}

/// At most [`field::CLEANED_POINTS`] points; where even spacing would make the line cross itself the contour stays as
/// it is.
fn thinned(contour: &Contour) -> Contour {
    let thin = contour.resampled(field::CLEANED_POINTS);
    Contour::try_new(thin.points().to_vec()).unwrap_or_else(|_| contour.clone())
}

/// A thousandth of a pixel is far below any error and keeps files small.
fn thousandth(px: f64) -> f64 {
    (px * 1000.0).round() / 1000.0
}

fn retrace_natural(plan: &mut Plan, side: Side, stroke: &[[f64; 2]]) -> Result<(), PlanError> {
    validate::points(side, stroke, field::STROKE_POINTS)?;
    let Some(NaturalBrow::Trace { points_px }) = plan.natural.get(side) else {
        return Err(PlanError::refused(refused::TRACE_FIRST, side.name()));
    };
    let point = |[x, y]: &[f64; 2]| kurbo::Point::new(*x, *y);
    let closed: Vec<_> = points_px.iter().map(point).collect();
    let stroke: Vec<_> = stroke.iter().map(point).collect();
    let joined = retrace(&closed, &stroke).map_err(|error| convert::contour_error(side, &error))?;
    let joined: Vec<[f64; 2]> = joined.iter().map(|point| [point.x, point.y]).collect();
    set_trace(plan, side, &joined)
}

/// Checks that these numbers make an outline.
pub fn checked_outline(outline: &Outline) -> Result<OutlineParams, PlanError> {
    validate::outline(outline)?;
    let params = convert::params(outline)?;
    Shape::try_new(&params).map_err(|error| convert::outline_error(&error))?;
    Ok(params)
}

fn checked_params(params: &OutlineParams) -> Result<Outline, PlanError> {
    Shape::try_new(params).map_err(|error| convert::outline_error(&error))?;
    Ok(convert::outline(params))
}

fn planned(plan: &Plan, side: Side) -> Result<&Outline, PlanError> {
    plan.planned.get(side).as_ref().ok_or_else(|| PlanError::refused(refused::PLANNED_FIRST, side.name()))
}

/// Changes the planned outline of one side, and with `linked` the other's as well where it has one.
fn each_planned(
    plan: &mut Plan,
    side: Side,
    linked: bool,
    change: impl Fn(&OutlineParams) -> Result<OutlineParams, PlanError>,
) -> Result<(), PlanError> {
    planned(plan, side)?;
    for at in [side, side.other()] {
        let Some(outline) = plan.planned.get(at).as_ref().filter(|_| at == side || linked) else { continue };
        let next = change(&convert::params(outline)?)?;
        *plan.planned.get_mut(at) = Some(checked_params(&next)?);
    }
    Ok(())
}

/// Where a known handle is to go.
fn handle_place(handle: &str, out_mm: f64, up_mm: f64) -> Result<kurbo::Point, PlanError> {
    if !OUTLINE_HANDLES.iter().any(|info| info.id == handle) {
        return Err(PlanError::refused(refused::UNKNOWN_HANDLE, short(handle)));
    }
    let at = kurbo::Point::new(out_mm, up_mm);
    if at.is_finite() { Ok(at) } else { Err(PlanError::refused(refused::NOT_FINITE, short(handle))) }
}

fn moved(params: &OutlineParams, handle: &str, at: kurbo::Point) -> Result<OutlineParams, PlanError> {
    params_with_handle_at(params, handle, at)
        .ok_or_else(|| PlanError::refused(refused::OUTLINE_INVALID, short(handle)))
}

/// The outline keeps the frame it is pinned to, so the place is carried over by way of the photo.
fn move_natural_handle(plan: &mut Plan, side: Side, handle: &str, at: kurbo::Point) -> Result<(), PlanError> {
    let frame = frame_of(plan)?;
    let Some(NaturalBrow::Shape { outline, at: stamp }) = plan.natural.get(side) else {
        return Err(PlanError::refused(refused::SHAPE_FIRST, side.name()));
    };
    let stamp = *stamp;
    let at = match (stamp, &frame) {
        (Some(stamp), Some(frame)) => {
            side_from_image_by(stamp.image_from_face, side, frame.image_from_side(side, at))
                .ok_or_else(|| PlanError::refused(refused::NOT_FINITE, short(handle)))?
        }
        _ => at,
    };
    let outline = checked_params(&moved(&convert::params(outline)?, handle, at)?)?;
    *plan.natural.get_mut(side) = Some(NaturalBrow::Shape { outline, at: stamp });
    Ok(())
}

/// With `linked`, the numbers that this handle moves are set to the same values on the other side; the rest of the
/// other outline stays.
fn move_handle(
    plan: &mut Plan,
    side: Side,
    handle: &str,
    at: kurbo::Point,
    linked: bool,
) -> Result<(), PlanError> {
    let before = convert::params(planned(plan, side)?)?;
    let after = moved(&before, handle, at)?;
    let changed: Vec<_> = Param::ALL
        .iter()
        .map(|info| info.param)
        .filter(|param| before.get(*param) != after.get(*param))
        .collect();
    each_planned(plan, side, linked, |params| {
        Ok(changed.iter().fold(*params, |params, param| params.with(*param, after.get(*param))))
    })
}

/// The outline fitted to the natural brow of one side. A shape that is already an outline in the present frame is its
/// own best fit, and so is the one that typed caliper numbers make.
pub fn fitted(plan: &Plan, side: Side) -> Result<OutlineParams, PlanError> {
    let natural = plan
        .natural
        .get(side)
        .as_ref()
        .ok_or_else(|| PlanError::refused(refused::NATURAL_FIRST, side.name()))?;
    let frame = frame_of(plan)?;
    if let NaturalBrow::Shape { outline, at } = natural
        && at.is_none_or(|stamp| {
            frame.as_ref().is_some_and(|frame| frame.image_from_face() == stamp.image_from_face)
        })
    {
        return checked_outline(outline);
    }
    if let NaturalBrow::Calipers(numbers) = natural {
        let shape = outline_from_calipers(&convert::caliper_numbers(numbers))
            .map_err(|error| convert::caliper_error(&error))?;
        return Ok(*shape.params());
    }
    let contour = natural_contour(side, natural, frame.as_ref())?;
    let fit = fit_outline(&contour).map_err(|_| PlanError::refused(refused::NO_FIT, side.name()))?;
    Ok(*fit.outline.params())
}
