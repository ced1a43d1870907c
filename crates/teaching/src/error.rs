//! Why a file is no exercise, or no submission to one.

use std::fmt;

use counterpoise_plan::PlanError;

/// What is wrong with a file, for a sentence in the reader's language: `exercise.CODE` of the catalogue.
#[derive(Clone, Debug, PartialEq)]
pub struct ExerciseError {
    /// `too_large`, `not_an_exercise`, `not_a_submission`, `newer_version`, `unreadable`, `no_goals`, `bad_points`, `bad_limit`, `unknown`, `key_lacks`,
    /// `given_lacks`, `given_refused`, `key_refused`, `plan_refused` or `other_exercise`.
    pub code: &'static str,
    /// Which goal, counted from 1; 0 where it is none.
    pub goal: usize,
    /// What it is about: an id, or line and column.
    pub subject: String,
    /// Why a plan in the file is refused.
    pub plan: Option<Box<PlanError>>,
}

impl ExerciseError {
    pub(crate) fn new(code: &'static str) -> ExerciseError {
        ExerciseError { code, goal: 0, subject: String::new(), plan: None }
    }

    pub(crate) fn about(mut self, subject: impl Into<String>) -> ExerciseError {
        self.subject = subject.into();
        self
    }

    pub(crate) fn of_plan(code: &'static str, plan: PlanError) -> ExerciseError {
        ExerciseError { plan: Some(Box::new(plan)), ..ExerciseError::new(code) }
    }
}

impl fmt::Display for ExerciseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.code)?;
        if self.goal > 0 {
            write!(f, ", goal {}", self.goal)?;
        }
        if !self.subject.is_empty() {
            write!(f, ": {}", self.subject)?;
        }
        self.plan.as_ref().map_or(Ok(()), |plan| write!(f, " ({})", plan.code))
    }
}

impl std::error::Error for ExerciseError {}
