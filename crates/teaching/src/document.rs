//! What every file of this crate begins with: what it is, of which version, and how it is called.

use counterpoise_plan::notation::{Read, read};

use crate::TeachingError;

/// The newest version this build reads, and the one it writes.
pub(crate) const VERSION: u32 = 1;

/// Only the two fields that say whether the rest is ours.
#[derive(Read)]
struct Head {
    format: String,
    version: u32,
}

/// The text without the byte-order mark that some editors leave at its start.
///
/// # Errors
/// `too_large`, where it is longer than `most` bytes.
pub(crate) fn text_of(text: &str, most: usize) -> Result<&str, TeachingError> {
    if text.len() > most {
        return Err(TeachingError::new("too_large"));
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
pub(crate) fn read_as<T: Read>(text: &str, format: &str, another: &'static str) -> Result<T, TeachingError> {
    let head = read::<Head>(text).map_err(|_| TeachingError::new(another))?;
    if head.format != format || head.version == 0 {
        return Err(TeachingError::new(another));
    }
    if head.version > VERSION {
        return Err(TeachingError::new("newer_version").about(head.version.to_string()));
    }
    read(text)
        .map_err(|error| TeachingError::new("unreadable").about(format!("{}:{}", error.line, error.column)))
}

/// Characters of an id or a file's name.
const MOST_NAME: usize = 64;

/// Checks an id (letters, digits and hyphens) and the name of a picture beside the file, which may be empty.
///
/// # Errors
/// `unknown` or `bad_picture`.
pub(crate) fn check_names(id: &str, picture: &str) -> Result<(), TeachingError> {
    if !is_id(id) {
        return Err(TeachingError::new("unknown").about(cut(id)));
    }
    let is_plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
    if picture.len() > MOST_NAME || !picture.chars().all(is_plain) || picture.starts_with('.') {
        return Err(TeachingError::new("bad_picture").about(cut(picture)));
    }
    Ok(())
}

/// Whether this may be an id.
pub(crate) fn is_id(id: &str) -> bool {
    !id.is_empty() && id.len() <= MOST_NAME && id.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
}

/// So much of a name as is worth repeating.
pub(crate) fn cut(name: &str) -> String {
    name.chars().take(MOST_NAME).collect()
}
