//! What a learner did of an exercise, small enough to be kept by a course's own server.

use counterpoise_geometry::PerSide;
use counterpoise_plan::notation::Read;
use counterpoise_plan::{Outline, Plan, PointPx, SortedMap, validate};
use serde::{Deserialize, Serialize};

use crate::document::{read_as, text_of};
use crate::{Exercise, TeachingError};

/// The value of the text's `format`.
const FORMAT: &str = "counterpoise-work";
/// Some tens of numbers, bytes.
const MOST_BYTES: usize = 20_000;
/// Places on photos are rounded to one of so many parts of a px.
const PARTS: f64 = 10.0;

/// What was placed and planned; all else is the exercise's own.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
pub struct Work {
    format: String,
    version: u32,
    /// The exercise's id.
    exercise: String,
    #[serde(default, skip_serializing_if = "SortedMap::is_empty")]
    landmarks: SortedMap<String, [f64; 2]>,
    #[serde(default)]
    planned: PerSide<Option<Outline>>,
    /// Answers by what is asked.
    #[serde(default, skip_serializing_if = "SortedMap::is_empty")]
    pub answers: SortedMap<String, String>,
}

impl Work {
    /// What was done of an exercise. Places are rounded to 0.1 px.
    #[must_use]
    pub fn of(exercise: &Exercise, plan: &Plan, answers: SortedMap<String, String>) -> Work {
        let round = |px: f64| (px * PARTS).round() / PARTS;
        let landmarks = &plan.landmarks;
        Work {
            format: FORMAT.into(),
            version: crate::document::VERSION,
            exercise: exercise.id.clone(),
            landmarks: landmarks
                .iter()
                .map(|(id, at)| (id.clone(), [round(at.x_px), round(at.y_px)]))
                .collect(),
            planned: plan.planned.clone(),
            answers,
        }
    }

    /// The exercise's plan with that in it.
    ///
    /// # Errors
    /// `other_exercise`, or `plan_refused` where it does not fit.
    pub fn resumed(&self, exercise: &Exercise) -> Result<Plan, TeachingError> {
        if self.exercise != exercise.id {
            return Err(TeachingError::new("other_exercise").about(crate::document::cut(&self.exercise)));
        }
        let landmarks =
            self.landmarks.iter().map(|(id, &[x_px, y_px])| (id.clone(), PointPx { x_px, y_px })).collect();
        let plan = Plan { landmarks, planned: self.planned.clone(), ..exercise.given.clone() };
        validate(&plan).map_err(|error| TeachingError::of_plan("plan_refused", error))?;
        Ok(plan)
    }
}

/// Reads what was kept.
///
/// # Errors
/// Where it is something else, or damaged.
pub fn read_work(text: &str) -> Result<Work, TeachingError> {
    read_as(text_of(text, MOST_BYTES)?, FORMAT, "not_a_submission")
}
