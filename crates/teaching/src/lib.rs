//! Exercises for who learns to map brows: a case, a teacher's solution (the key), and goals as data; and how near another plan comes to them.
//!
//! [`read_exercise`] reads and checks a teacher's file, [`Marker`] marks submissions. The same submission gets the same marks everywhere, since all
//! that is compared is a plan's report. Nothing here does I/O, reads a clock, draws a random number or holds a global.

mod document;
mod error;
mod exercise;
mod mark;
mod submission;

pub use error::ExerciseError;
pub use exercise::{Exercise, Goal, read_exercise};
pub use mark::{Item, Mark, Marker};
pub use submission::{Submission, read_submission};

/// The JSON Schema of an exercise.
#[cfg(feature = "schema")]
#[must_use]
pub fn schema_json() -> String {
    let schema = schemars::schema_for!(Exercise);
    serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n"
}
