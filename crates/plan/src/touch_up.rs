//! Weeks later: the healed pair on a new photo, beside what was agreed.

use counterpoise_geometry::{
    Contour, FaceFrame, ImagePoint, Landmark, PerSide, Pose, Registration, Side, contour_from_trace,
    image_from_side_by,
};
use serde::{Deserialize, Serialize};

use crate::apply::thinned_px;
use crate::build_touch_up::{agreed_pair, frames};
use crate::codes::refused;
use crate::derive::derive;
use crate::document::{CaliperDistance, NaturalBrow};
use crate::notation::Read;
use crate::poses::{PosePhoto, PosePoint};
use crate::validate::{self, short};
use crate::variants::Variant;
use crate::{Case, Outline, Plan, PlanError, convert, field};

/// The id that stands for the touch-up's photo where poses are named.
pub const TOUCH_UP: &str = "touch_up";

/// The healed pair.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TouchUp {
    /// The day of the photo as `YYYY-MM-DD`, or empty.
    #[serde(default)]
    pub date: String,
    /// The new photo with its points that hold still.
    pub photo: PosePhoto,
    /// Closed lines around the healed colour, px of the new photo.
    #[serde(default)]
    pub healed: PerSide<Option<Trace>>,
    /// Closed lines around all hair as it stands now, px of the new photo.
    #[serde(default)]
    pub hair: PerSide<Option<Trace>>,
}

/// A closed line, `[x, y]` px; the last point joins the first.
pub type Trace = Vec<[f64; 2]>;

/// What is drawn around on the new photo.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, Read)]
#[serde(rename_all = "lowercase")]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum TouchUpLine {
    /// The healed colour.
    Healed,
    /// The hair.
    Hair,
}

impl TouchUp {
    /// The line of one side.
    #[must_use]
    pub fn line(&self, line: TouchUpLine, side: Side) -> Option<&Trace> {
        match line {
            TouchUpLine::Healed => self.healed.get(side).as_ref(),
            TouchUpLine::Hair => self.hair.get(side).as_ref(),
        }
    }
}

/// What a new photo is asked for: what holds still with open eyes, then a ruler.
#[must_use]
pub fn touch_up_points() -> Vec<PosePoint> {
    let all = PosePoint::of(Pose::BASELINE);
    all.into_iter().filter(|point| matches!(point, PosePoint::Landmark(_))).collect()
}

/// Checks a touch-up.
///
/// # Errors
/// The first thing that is wrong.
pub fn check(touch_up: &TouchUp) -> Result<(), PlanError> {
    validate::day("touch_up.date", &touch_up.date)?;
    validate::pose_photo(&touch_up.photo)?;
    for side in Side::BOTH {
        for line in [TouchUpLine::Healed, TouchUpLine::Hair] {
            if let Some(points) = touch_up.line(line, side) {
                validate::points(side, points, field::TRACE_POINTS)?;
            }
        }
    }
    Ok(())
}

fn there(plan: &mut Plan) -> Result<&mut TouchUp, PlanError> {
    plan.touch_up.as_mut().ok_or_else(|| PlanError::refused(refused::PHOTO_FIRST, TOUCH_UP))
}

/// The photo of the touch-up, which must be there.
///
/// # Errors
/// Where it is not.
pub fn photo(plan: &mut Plan) -> Result<&mut PosePhoto, PlanError> {
    there(plan).map(|touch_up| &mut touch_up.photo)
}

/// Another photo, or none. Lines belong to the pixels of the old one, so they go with it; what is said anew of the same pixels leaves them.
pub fn set_photo(plan: &mut Plan, photo: Option<PosePhoto>, date: &str) {
    if let (Some(touch_up), Some(photo)) = (&mut plan.touch_up, &photo)
        && touch_up.photo.key == photo.key
    {
        touch_up.photo = photo.clone();
        return;
    }
    plan.touch_up = photo.map(|photo| TouchUp {
        date: date.to_owned(),
        photo,
        healed: PerSide::default(),
        hair: PerSide::default(),
    });
}

/// Keeps a closed stroke around colour or hair, cleaned in millimetres as a trace of the natural brow is; without points the line
/// goes.
///
/// # Errors
/// Where the photo does not lie over the first one yet, or the stroke is no line around a brow.
pub fn trace(
    plan: &mut Plan,
    line: TouchUpLine,
    side: Side,
    points_px: &[[f64; 2]],
) -> Result<(), PlanError> {
    validate::points(side, points_px, field::STROKE_POINTS)?;
    let cleaned = if points_px.is_empty() {
        None
    } else {
        let derived = derive(plan);
        there(plan)?;
        let fit = frames(plan, &derived).ok_or_else(|| PlanError::refused(refused::PHOTO_FIRST, TOUCH_UP))?;
        let fit = fit.map_err(|problem| PlanError::refused(refused::POSE_FIRST, short(problem.code)))?;
        let points: Vec<_> =
            points_px.iter().map(|[x, y]| fit.side_from_image(side, ImagePoint::new(*x, *y))).collect();
        let contour = contour_from_trace(&points).map_err(|error| convert::contour_error(side, &error))?;
        let image_from_face = fit.image_from_face();
        Some(thinned_px(&contour, |at| image_from_side_by(image_from_face, side, at)))
    };
    let touch_up = there(plan)?;
    let lines = match line {
        TouchUpLine::Healed => &mut touch_up.healed,
        TouchUpLine::Hair => &mut touch_up.hair,
    };
    *lines.get_mut(side) = cleaned;
    Ok(())
}

/// The sides of points and lines, swapped with those of the photo.
pub fn swap_sides(touch_up: &mut TouchUp) {
    std::mem::swap(&mut touch_up.healed.right, &mut touch_up.healed.left);
    std::mem::swap(&mut touch_up.hair.right, &mut touch_up.hair.left);
}

/// The plan of the touch-up: a plan of its own on the new photo, which starts from the agreed pair. Distances taken on her face stay true;
/// where none was taken, that between the outer eye corners is handed on as the first photo gave it. What she was asked,
/// what she agreed to and what belongs to the first photo stays behind.
///
/// # Errors
/// Where the new photo does not lie over the first one yet, or there is no pair.
pub fn start_plan(plan: &Plan, agreed_name: &str) -> Result<Plan, PlanError> {
    let derived = derive(plan);
    let touch_up =
        plan.touch_up.as_ref().ok_or_else(|| PlanError::refused(refused::PHOTO_FIRST, TOUCH_UP))?;
    if let Some(Err(problem)) = frames(plan, &derived) {
        return Err(PlanError::refused(refused::POSE_FIRST, short(problem.code)));
    }
    let agreed: PerSide<Option<Outline>> = agreed_pair(plan).clone();
    if agreed.right.is_none() && agreed.left.is_none() {
        return Err(PlanError::refused(refused::PLANNED_FIRST, Side::Right.name()));
    }
    let photo = &touch_up.photo;
    let landmarks = photo.points.iter().filter(|(id, _)| Landmark::from_id(id).is_some());
    let landmarks = landmarks.map(|(id, at)| (id.clone(), *at)).collect();
    let mut frame = crate::FrameSettings { ruler_mm: photo.ruler_mm, ..plan.frame.clone() };
    if let Some(handed_on) =
        derived.frame().of_photo().filter(|_| frame.calipers.is_empty()).and_then(eyes_apart)
    {
        frame.calipers.push(handed_on);
    }
    let natural = PerSide::from_fn(|side| {
        let line = touch_up.hair.get(side).as_ref()?;
        Some(NaturalBrow::Trace { points_px: line.clone() })
    });
    let heights_only = plan.poses.iter().filter(|(_, record)| record.photo.is_none());
    Ok(Plan {
        case: Case { date: touch_up.date.clone(), ..plan.case.clone() },
        photo: Some(photo.photo.clone()),
        landmarks,
        frame,
        noise: plan.noise.clone(),
        natural,
        planned: agreed.clone(),
        guides: plan.guides.clone(),
        limits: plan.limits.clone(),
        balance: plan.balance.clone(),
        client: plan.client.clone(),
        upkeep: plan.upkeep.clone(),
        variants: vec![Variant { name: agreed_name.to_owned(), planned: agreed }],
        poses: heights_only.map(|(id, record)| (id.clone(), record.clone())).collect(),
        ..Plan::default()
    })
}

/// The distance between the outer eye corners as the first photo gave it, rounded as calipers are read.
fn eyes_apart(frame: &FaceFrame) -> Option<CaliperDistance> {
    let [from, to] = Side::BOTH.map(Landmark::OuterCorner);
    let apart = (frame.landmark_in_face(from)? - frame.landmark_in_face(to)?).hypot();
    Some(CaliperDistance {
        from: from.id().to_owned(),
        to: to.id().to_owned(),
        mm: (apart * 10.0).round() / 10.0,
    })
}

/// The contour of a line of the new photo, mm in its side's frame.
///
/// # Errors
/// Why it is none.
pub fn contour(line: &Trace, side: Side, fit: &Registration) -> Result<Contour, PlanError> {
    let points = line.iter().map(|[x, y]| fit.side_from_image(side, ImagePoint::new(*x, *y)));
    Contour::try_new(points.collect()).map_err(|error| convert::contour_error(side, &error))
}
