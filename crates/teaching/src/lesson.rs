//! A case shown step by step.

use counterpoise_plan::notation::Read;
use counterpoise_plan::{Edit, Plan, apply, field::FILE_BYTES, validate};
use serde::{Deserialize, Serialize};

use crate::document::{check_names, cut, read_as, text_of};
use crate::{Construction, TeachingError};

/// The value of [`Lesson::format`].
const FORMAT: &str = "counterpoise-lesson";
/// A lesson holds a plan and what is done to it, bytes.
const MOST_BYTES: usize = 2 * FILE_BYTES;
/// Steps of one lesson.
const MOST_STEPS: usize = 40;

/// A case with a text, and what is shown of it one after the other.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Lesson {
    /// Always `counterpoise-lesson`.
    pub format: String,
    /// The version of this document, 1 or more.
    pub version: u32,
    /// A name in file names and links: letters, digits and hyphens.
    pub id: String,
    /// What it is called.
    #[serde(default)]
    pub title: String,
    /// What it is about, before the first step.
    #[serde(default)]
    pub text: String,
    /// The name of the picture file that lies beside this one, or empty: the photo of the plan.
    #[serde(default)]
    pub picture: String,
    /// The case as it is before the first step.
    pub plan: Plan,
    /// What is shown, in this order.
    pub steps: Vec<Step>,
}

/// One thing that is shown.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Step {
    /// `centre_line`, `heights`, `fronts`, `ends`, `arches`, `threads`, `shaping`, `balance`, `movement` or `sheet`.
    pub show: String,
    /// What there is to see, in the teacher's words.
    #[serde(default)]
    pub text: String,
    /// Why it is done so. Without it the planner's own words.
    #[serde(default)]
    pub why: String,
    /// For `movement`: the id of a recorded pose.
    #[serde(default)]
    pub pose: String,
    /// What is done to the plan before this is shown; it stays done for the steps that follow.
    #[serde(default)]
    pub edits: Vec<Edit>,
}

/// A lesson whose every step was tried.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// As it was written.
    pub lesson: Lesson,
    /// What each step shows of the plan as it is then.
    pub scenes: Vec<(&'static Construction, Plan)>,
}

/// Reads a lesson, and does what its steps do.
///
/// # Errors
/// What is wrong with it, and with which step.
pub fn read_lesson(text: &str) -> Result<Told, TeachingError> {
    let lesson: Lesson = read_as(text_of(text, MOST_BYTES)?, FORMAT, "not_a_lesson")?;
    check_names(&lesson.id, &lesson.picture)?;
    validate(&lesson.plan).map_err(|error| TeachingError::of_plan("plan_refused", error))?;
    if lesson.steps.is_empty() || lesson.steps.len() > MOST_STEPS {
        return Err(TeachingError::new("no_steps"));
    }
    let mut plan = lesson.plan.clone();
    let mut scenes = Vec::with_capacity(lesson.steps.len());
    for (index, step) in lesson.steps.iter().enumerate() {
        let part = index + 1;
        let construction = Construction::from_id(&step.show)
            .ok_or_else(|| TeachingError::new("unknown_step").about(cut(&step.show)).of_part(part))?;
        for edit in &step.edits {
            plan = apply(&plan, edit)
                .map_err(|error| TeachingError::of_plan("edit_refused", error).of_part(part))?;
        }
        if construction.in_pose && !plan.poses.contains_key(&step.pose) {
            return Err(TeachingError::new("given_lacks").about(cut(&step.pose)).of_part(part));
        }
        scenes.push((construction, plan.clone()));
    }
    Ok(Told { lesson, scenes })
}
