//! Teaching who learns to map brows: lessons, which show a case step by step; exercises, which are a case, a teacher's solution (the key) and goals as
//! data; and how near another plan comes to them.
//!
//! [`read_lesson`], [`read_exercise`] and [`read_set`] read and check a teacher's files, [`Marker`] marks submissions. The same submission gets the same
//! marks everywhere, since all that is compared is a plan's report. Nothing here does I/O, reads a clock, draws a random number or holds a global.

mod construction;
mod document;
mod error;
mod exercise;
mod lesson;
mod mark;
mod set;
mod submission;
mod work;

pub use construction::{Brows, CONSTRUCTIONS, Construction};
pub use error::TeachingError;
pub use exercise::{Exercise, Goal, read_exercise};
pub use lesson::{Lesson, Step, Told, read_lesson};
pub use mark::{Item, Mark, Marker};
pub use set::{Set, SetItem, read_set};
pub use submission::{Submission, read_submission};
pub use work::{Work, read_work};

/// The JSON Schema of a teacher's file: `exercise`, `lesson` or `set`; `None` for other names.
#[cfg(feature = "schema")]
#[must_use]
pub fn schema_json(of: &str) -> Option<String> {
    let schema = match of {
        "exercise" => schemars::schema_for!(Exercise),
        "lesson" => schemars::schema_for!(Lesson),
        "set" => schemars::schema_for!(Set),
        _ => return None,
    };
    Some(serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n")
}
