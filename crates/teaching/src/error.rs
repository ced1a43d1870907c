//! Why a teacher's file or a submission cannot be used.

use std::fmt;

use counterpoise_plan::PlanError;
use serde::Serialize;

/// What is wrong with a file, for a sentence in the reader's language: `teaching.CODE` of the catalogue.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TeachingError {
    /// `too_large`, `not_an_exercise`, `not_a_lesson`, `not_a_set`, `not_a_submission`, `newer_version`, `unreadable`, `no_goals`, `no_steps`, `no_items`,
    /// `twice`, `bad_points`, `bad_limit`, `bad_picture`, `unknown`, `unknown_step`, `edit_refused`, `key_lacks`,
    /// `given_lacks`, `given_refused`, `key_refused`, `plan_refused` or `other_exercise`.
    pub code: &'static str,
    /// Which goal, step or item, counted from 1; 0 where it is none.
    pub part: usize,
    /// What it is about: an id, or line and column.
    pub subject: String,
    /// Why a plan in the file is refused.
    pub plan: Option<Box<PlanError>>,
}

impl TeachingError {
    pub(crate) fn new(code: &'static str) -> TeachingError {
        TeachingError { code, part: 0, subject: String::new(), plan: None }
    }

    pub(crate) fn about(mut self, subject: impl Into<String>) -> TeachingError {
        self.subject = subject.into();
        self
    }

    pub(crate) fn of_part(mut self, part: usize) -> TeachingError {
        self.part = part;
        self
    }

    pub(crate) fn of_plan(code: &'static str, plan: PlanError) -> TeachingError {
        TeachingError { plan: Some(Box::new(plan)), ..TeachingError::new(code) }
    }
}

impl fmt::Display for TeachingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.code)?;
        if self.part > 0 {
            write!(f, ", part {}", self.part)?;
        }
        if !self.subject.is_empty() {
            write!(f, ": {}", self.subject)?;
        }
        self.plan.as_ref().map_or(Ok(()), |plan| write!(f, " ({})", plan.code))
    }
}

impl std::error::Error for TeachingError {}
