//! What every file of this crate begins with: what it is, and of which version.

use counterpoise_plan::notation::read;
use serde::Deserialize;
use serde::de::DeserializeOwned;

use crate::ExerciseError;

/// The newest version this build reads, and the one it writes.
pub(crate) const VERSION: u32 = 1;

/// Only the two fields that say whether the rest is ours.
#[derive(Deserialize)]
struct Head {
    format: String,
    version: u32,
}

/// The text without the byte-order mark that some editors leave at its start.
///
/// # Errors
/// `too_large`, where it is longer than `most` bytes.
pub(crate) fn text_of(text: &str, most: usize) -> Result<&str, ExerciseError> {
    if text.len() > most {
        return Err(ExerciseError::new("too_large"));
    }
    Ok(text.strip_prefix('\u{feff}').unwrap_or(text))
}

/// What a file says that it is.
pub(crate) fn format_of(text: &str) -> Option<String> {
    read::<Head>(text).ok().map(|head| head.format)
}

/// A file of this format.
///
/// # Errors
/// `another` where it is something else, `newer_version`, or `unreadable` with line and column.
pub(crate) fn read_as<T: DeserializeOwned>(
    text: &str,
    format: &str,
    another: &'static str,
) -> Result<T, ExerciseError> {
    let head = read::<Head>(text).map_err(|_| ExerciseError::new(another))?;
    if head.format != format || head.version == 0 {
        return Err(ExerciseError::new(another));
    }
    if head.version > VERSION {
        return Err(ExerciseError::new("newer_version").about(head.version.to_string()));
    }
    read(text)
        .map_err(|error| ExerciseError::new("unreadable").about(format!("{}:{}", error.line, error.column)))
}
