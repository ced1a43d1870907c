//! Why an edit or a file was refused. The plan stays as it was.

use std::fmt;

use counterpoise_geometry::SortedMap;
use serde::Serialize;

use crate::codes::Code;

/// A refusal with a stable code. The page's text is catalogue key `refused.CODE` with `values`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlanError {
    /// Stable code, such as `out_of_range`.
    pub code: &'static str,
    /// The field, landmark, parameter or side it is about, or empty.
    pub subject: String,
    /// A second one, where two things clash, or empty.
    pub other: String,
    /// Numbers for the sentence.
    pub values: SortedMap<&'static str, f64>,
}

impl PlanError {
    /// A refusal about this subject.
    #[must_use]
    pub fn new(code: &'static str, subject: impl Into<String>) -> Self {
        PlanError { code, subject: subject.into(), other: String::new(), values: SortedMap::new() }
    }

    /// A refusal with a code of the table, about this subject.
    #[must_use]
    pub fn refused(code: Code, subject: impl Into<String>) -> Self {
        PlanError::new(code.code, subject)
    }

    /// Names the second thing of a clash.
    #[must_use]
    pub fn against(mut self, other: impl Into<String>) -> Self {
        self.other = other.into();
        self
    }

    /// Adds a number for the sentence.
    #[must_use]
    pub fn with(mut self, name: &'static str, value: f64) -> Self {
        self.values.insert(name, value);
        self
    }
}

impl fmt::Display for PlanError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.code)?;
        if !self.subject.is_empty() {
            write!(f, " ({})", self.subject)?;
        }
        for (name, value) in &self.values {
            write!(f, " {name}={value}")?;
        }
        Ok(())
    }
}

impl std::error::Error for PlanError {}
