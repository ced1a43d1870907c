//! What a learner hands in.

use counterpoise_plan::notation::Read;
use counterpoise_plan::{FORMAT as PLAN_FORMAT, Plan, SortedMap, field::FILE_BYTES, open, validate};
use serde::{Deserialize, Serialize};

use crate::TeachingError;
use crate::document::{format_of, read_as, text_of};

/// The value of the file's `format`.
const FORMAT: &str = "counterpoise-submission";
/// Answers in words are ids and no longer than this, bytes.
const MOST_ANSWER: usize = 100;

/// A plan and answers, as a file of their own.
#[derive(Clone, Debug, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
struct File {
    format: String,
    version: u32,
    /// The exercise's id.
    exercise: String,
    plan: Plan,
    /// By what is asked: `failing_pose`.
    #[serde(default)]
    answers: SortedMap<String, String>,
}

/// What is marked.
#[derive(Clone, Debug, PartialEq)]
pub struct Submission {
    /// The exercise it says it belongs to; a bare plan says nothing.
    pub exercise: Option<String>,
    /// The learner's plan.
    pub plan: Plan,
    /// Answers by what is asked: `failing_pose`.
    pub answers: SortedMap<String, String>,
}

/// Reads a submission, or a bare plan.
///
/// # Errors
/// Where it is neither, or its plan is refused.
pub fn read_submission(text: &str) -> Result<Submission, TeachingError> {
    let text = text_of(text, 2 * FILE_BYTES)?;
    if format_of(text).is_some_and(|format| format == PLAN_FORMAT) {
        let plan = open(text).map_err(|error| TeachingError::of_plan("plan_refused", error))?;
        return Ok(Submission { exercise: None, plan, answers: SortedMap::new() });
    }
    let file: File = read_as(text, FORMAT, "not_a_submission")?;
    validate(&file.plan).map_err(|error| TeachingError::of_plan("plan_refused", error))?;
    if let Some((asked, _)) = file.answers.iter().find(|(_, answer)| answer.len() > MOST_ANSWER) {
        return Err(TeachingError::new("unknown").about(asked.clone()));
    }
    Ok(Submission { exercise: Some(file.exercise), plan: file.plan, answers: file.answers })
}
