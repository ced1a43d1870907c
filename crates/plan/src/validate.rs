//! Whether a plan may exist: every number finite and in its range, every id known, every text within its cap.

use counterpoise_geometry::{Landmark, Param, Pose, Side};

use crate::agreement;
use crate::cautions;
use crate::codes::refused;
use crate::field::{self, FieldInfo};
use crate::touch_up;
use crate::variants;
use crate::wishes::check_limits;
use crate::{
    BrowCalipers, CaliperDistance, Case, FrameSettings, NaturalBrow, Outline, Photo, Plan, PlanError,
    PointPx, PosePhoto, PosePoint, PoseRecord, SideBalance,
};

/// Checks the whole document.
///
/// # Errors
/// The first thing that is wrong, with the field as subject.
pub fn validate(plan: &Plan) -> Result<(), PlanError> {
    if plan.format != crate::FORMAT || plan.version != crate::VERSION {
        return Err(PlanError::refused(refused::NOT_A_PLAN, ""));
    }
    case(&plan.case)?;
    if let Some(photo) = &plan.photo {
        in_range(&field::PHOTO_WIDTH, f64::from(photo.width_px))?;
        in_range(&field::PHOTO_HEIGHT, f64::from(photo.height_px))?;
    }
    for (id, point) in &plan.landmarks {
        landmark(id)?;
        pixel(id, point.x_px, point.y_px)?;
    }
    frame(&plan.frame)?;
    in_range(&field::NOISE_LANDMARK, plan.noise.landmark_mm)?;
    in_range(&field::NOISE_EDGE, plan.noise.edge_mm)?;
    in_range(&field::NOISE_CALIPER, plan.noise.caliper_mm)?;
    in_range(&field::NOISE_YAW, plan.noise.yaw_deg)?;
    for side in Side::BOTH {
        if let Some(brow) = plan.natural.get(side) {
            natural(side, brow)?;
        }
        if let Some(planned) = plan.planned.get(side) {
            outline(planned)?;
        }
    }
    in_range(&field::ARCH_MEASURE, plan.guides.arch_measure_mm)?;
    in_range(&field::REMOVED, plan.limits.removed_pct)?;
    in_range(&field::ADDED, plan.limits.added_pct)?;
    if let Some(mm2) = plan.limits.removed_mm2 {
        in_range(&field::REMOVED_MM2, mm2)?;
    }
    if let Some(mm2) = plan.limits.added_mm2 {
        in_range(&field::ADDED_MM2, mm2)?;
    }
    in_range(&field::MIN_THICKNESS, plan.limits.min_thickness_mm)?;
    in_range(&field::STRIP, plan.limits.strip_mm)?;
    in_range(&field::EDGE_TOLERANCE, plan.limits.edge_tolerance_mm)?;
    in_range(&field::EQUAL, plan.limits.equal_mm)?;
    in_range(&field::RELAXED_WEIGHT, plan.balance.relaxed_weight)?;
    check_limits(&plan.client)?;
    variants::check(&plan.variants)?;
    agreement::check(&plan.agreements)?;
    plan.touch_up.as_ref().map_or(Ok(()), touch_up::check)?;
    cautions::check(&plan.cautions)?;
    text("upkeep", &plan.upkeep, field::UPKEEP_CHARS)?;
    plan.poses.iter().try_for_each(|(id, record)| pose_record(id, record))?;
    Side::BOTH.into_iter().try_for_each(|side| side_balance(plan.balance.sides.get(side)))
}

/// The id of a pose that can be recorded.
pub fn pose(id: &str) -> Result<Pose, PlanError> {
    Pose::from_id(id)
        .filter(|pose| *pose != Pose::BASELINE)
        .ok_or_else(|| PlanError::refused(refused::UNKNOWN_POSE, short(id)))
}

/// What is recorded of a pose.
pub fn pose_record(id: &str, record: &PoseRecord) -> Result<(), PlanError> {
    pose(id)?;
    for heights in Side::BOTH.iter().filter_map(|&side| record.heights.get(side).as_ref()) {
        for height in [heights.front_mm, heights.arch_mm, heights.tail_mm] {
            in_range(&field::POSE_HEIGHT, height)?;
        }
    }
    record.photo.as_ref().map_or(Ok(()), pose_photo)
}

/// A photo beside the plan's own.
pub fn pose_photo(photo: &PosePhoto) -> Result<(), PlanError> {
    in_range(&field::PHOTO_WIDTH, f64::from(photo.photo.width_px))?;
    in_range(&field::PHOTO_HEIGHT, f64::from(photo.photo.height_px))?;
    let is_plain = |letter: char| letter.is_ascii_alphanumeric() || letter == '-';
    if photo.key.len() > field::PHOTO_KEY || !photo.key.chars().all(is_plain) {
        return Err(PlanError::refused(refused::PHOTO_KEY, short(&photo.key)));
    }
    for (id, point) in &photo.points {
        pose_point(id)?;
        pixel(id, point.x_px, point.y_px)?;
    }
    if let Some(mm) = photo.ruler_mm {
        in_range(&field::POSE_RULER, mm)?;
    }
    Ok(())
}

/// A point of a pose's photo.
pub fn pose_point(id: &str) -> Result<PosePoint, PlanError> {
    PosePoint::from_id(id).ok_or_else(|| PlanError::refused(refused::UNKNOWN_LANDMARK, short(id)))
}

/// A place on a photo of this size, px.
pub fn on_photo(subject: &str, photo: &Photo, x_px: f64, y_px: f64) -> Result<PointPx, PlanError> {
    pixel(subject, x_px, y_px)?;
    let is_inside = (0.0..=f64::from(photo.width_px)).contains(&x_px)
        && (0.0..=f64::from(photo.height_px)).contains(&y_px);
    if is_inside {
        Ok(PointPx { x_px, y_px })
    } else {
        Err(PlanError::refused(refused::OUTSIDE_PHOTO, subject))
    }
}

/// The rules for balancing one side.
fn side_balance(rules: &SideBalance) -> Result<(), PlanError> {
    in_range(&field::LIFT, rules.lift_mm)?;
    in_range(&field::LOWER, rules.lower_mm)?;
    // Nothing may be named twice, so a list is never longer than what there is to name.
    for (index, id) in rules.locked_params.iter().enumerate() {
        param(id)?;
        if rules.locked_params.iter().take(index).any(|earlier| earlier == id) {
            return Err(PlanError::refused(refused::NAMED_TWICE, short(id)));
        }
    }
    for (index, pull) in rules.pulls.iter().enumerate() {
        in_range(&field::PULL_WEIGHT, pull.weight)?;
        if rules.pulls.iter().take(index).any(|earlier| earlier.guide == pull.guide) {
            return Err(PlanError::refused(refused::NAMED_TWICE, pull.guide.id()));
        }
    }
    Ok(())
}

/// Refuses a number that is not finite or outside its field's range.
///
/// # Errors
/// `not_finite` or `out_of_range`.
pub fn in_range(field: &FieldInfo, value: f64) -> Result<(), PlanError> {
    number(field.id, field.range, value)
}

/// The same for any range.
pub fn number(subject: &str, range: (f64, f64), value: f64) -> Result<(), PlanError> {
    if !value.is_finite() {
        return Err(PlanError::refused(refused::NOT_FINITE, subject));
    }
    if !(range.0..=range.1).contains(&value) {
        return Err(PlanError::refused(refused::OUT_OF_RANGE, subject)
            .with("value", value)
            .with("min", range.0)
            .with("max", range.1));
    }
    Ok(())
}

/// The landmark with this id.
pub fn landmark(id: &str) -> Result<Landmark, PlanError> {
    Landmark::from_id(id).ok_or_else(|| PlanError::refused(refused::UNKNOWN_LANDMARK, short(id)))
}

/// The parameter with this id.
pub fn param(id: &str) -> Result<Param, PlanError> {
    Param::from_id(id).ok_or_else(|| PlanError::refused(refused::UNKNOWN_PARAM, short(id)))
}

/// A text from outside, cut to a length that a message can carry.
pub fn short(text: &str) -> String {
    /// Longer than any id of this project.
    const CHARS: usize = 60;
    text.chars().take(CHARS).collect()
}

/// A point of the photo, about this subject.
pub fn pixel(subject: &str, x_px: f64, y_px: f64) -> Result<(), PlanError> {
    number(subject, field::POINT.range, x_px)?;
    number(subject, field::POINT.range, y_px)
}

/// A text within its cap.
pub fn text(subject: &str, text: &str, limit: usize) -> Result<(), PlanError> {
    // Bytes are at least characters, so a short text is settled without counting.
    let length = if text.len() <= limit { text.len() } else { text.chars().count() };
    if length > limit {
        #[expect(clippy::cast_precision_loss, reason = "a text length, shown")]
        return Err(PlanError::refused(refused::TEXT_TOO_LONG, subject)
            .with("length", length as f64)
            .with("limit", limit as f64));
    }
    Ok(())
}

/// Label, note and date.
pub fn case(case: &Case) -> Result<(), PlanError> {
    text("case.label", &case.label, field::LABEL_CHARS)?;
    text("case.note", &case.note, field::NOTE_CHARS)?;
    day("case.date", &case.date)
}

/// A day, or none.
pub fn day(subject: &str, date: &str) -> Result<(), PlanError> {
    if date.is_empty() || is_date(date) {
        Ok(())
    } else {
        Err(PlanError::refused(refused::BAD_DATE, subject))
    }
}

/// `YYYY-MM-DD` with a month of 1-12 and a day that the month has (ISO 8601 calendar date).
pub fn is_date(text: &str) -> bool {
    let bytes = text.as_bytes();
    let [y1, y2, y3, y4, b'-', m1, m2, b'-', d1, d2] = bytes else { return false };
    if ![y1, y2, y3, y4, m1, m2, d1, d2].iter().all(|digit| digit.is_ascii_digit()) {
        return false;
    }
    let value = |digits: &[&u8]| digits.iter().fold(0_u32, |sum, digit| sum * 10 + u32::from(**digit - b'0'));
    let (year, month, day) = (value(&[y1, y2, y3, y4]), value(&[m1, m2]), value(&[d1, d2]));
    let is_leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days = match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 if is_leap => 29,
        2 => 28,
        _ => 0,
    };
    (1..=days).contains(&day)
}

/// Roll and scale settings.
pub fn frame(frame: &FrameSettings) -> Result<(), PlanError> {
    in_range(&field::ROLL_NUDGE, frame.roll_nudge_deg)?;
    if let Some(mm) = frame.ruler_mm {
        in_range(&field::RULER, mm)?;
    }
    if frame.calipers.len() > field::CALIPERS {
        #[expect(clippy::cast_precision_loss, reason = "a count, shown")]
        return Err(PlanError::refused(refused::TOO_MANY_CALIPERS, "frame.calipers")
            .with("count", frame.calipers.len() as f64)
            .with("limit", field::CALIPERS as f64));
    }
    for (index, caliper) in frame.calipers.iter().enumerate() {
        caliper_distance(caliper)?;
        if frame.calipers.iter().take(index).any(|earlier| is_same_pair(earlier, &caliper.from, &caliper.to))
        {
            return Err(PlanError::refused(refused::SAME_LANDMARK, short(&caliper.from)));
        }
    }
    Ok(())
}

/// True where this distance is between these two landmarks, whichever comes first.
pub fn is_same_pair(caliper: &CaliperDistance, from: &str, to: &str) -> bool {
    (caliper.from == from && caliper.to == to) || (caliper.from == to && caliper.to == from)
}

/// One caliper distance.
pub fn caliper_distance(caliper: &CaliperDistance) -> Result<(), PlanError> {
    let from = landmark(&caliper.from)?;
    let to = landmark(&caliper.to)?;
    if from == to {
        return Err(PlanError::refused(refused::SAME_LANDMARK, from.id()));
    }
    in_range(&field::CALIPER, caliper.mm)
}

fn natural(side: Side, brow: &NaturalBrow) -> Result<(), PlanError> {
    match brow {
        NaturalBrow::Trace { points_px } => points(side, points_px, field::TRACE_POINTS),
        NaturalBrow::Shape { outline: shape, at } => {
            outline(shape)?;
            match at {
                Some(stamp) if !stamp.image_from_face.iter().all(|number| number.is_finite()) => {
                    Err(PlanError::refused(refused::NOT_FINITE, "natural.at"))
                }
                _ => Ok(()),
            }
        }
        NaturalBrow::Calipers(numbers) => calipers(numbers),
    }
}

/// Points of a trace or a stroke.
pub fn points(side: Side, points: &[[f64; 2]], limit: usize) -> Result<(), PlanError> {
    let subject = side.name();
    if points.len() > limit {
        #[expect(clippy::cast_precision_loss, reason = "a count, shown")]
        return Err(PlanError::refused(refused::TOO_MANY_POINTS, subject)
            .with("count", points.len() as f64)
            .with("limit", limit as f64));
    }
    points.iter().try_for_each(|[x_px, y_px]| pixel(subject, *x_px, *y_px))
}

/// Caliper numbers of a natural brow, each by itself.
pub fn calipers(numbers: &BrowCalipers) -> Result<(), PlanError> {
    [
        (field::FRONT_OUT, numbers.front_out_mm),
        (field::BULB_BOTTOM, numbers.bulb_bottom_mm),
        (field::BULB_TOP, numbers.bulb_top_mm),
        (field::ARCH_OUT, numbers.arch_out_mm),
        (field::ARCH_TOP, numbers.arch_top_mm),
        (field::ARCH_THICKNESS, numbers.arch_thickness_mm),
        (field::TAIL_OUT, numbers.tail_out_mm),
        (field::TAIL_UP, numbers.tail_up_mm),
        (field::TAIL_THICKNESS, numbers.tail_thickness_mm),
    ]
    .iter()
    .try_for_each(|(field, value)| in_range(field, *value))
}

/// The numbers of an outline: all there, none unknown, each in its range. Whether they make a simple shape is asked
/// of the geometry, since a file may hold a shape that a later version forbids.
pub fn outline(outline: &Outline) -> Result<(), PlanError> {
    for id in outline.0.keys() {
        param(id)?;
    }
    for info in &Param::ALL {
        let value =
            outline.0.get(info.id).ok_or_else(|| PlanError::refused(refused::MISSING_PARAM, info.id))?;
        number(info.id, info.range, *value)?;
    }
    Ok(())
}

/// One outline parameter.
pub fn param_value(param: Param, value: f64) -> Result<(), PlanError> {
    let info = param.info();
    number(info.id, info.range, value)
}
