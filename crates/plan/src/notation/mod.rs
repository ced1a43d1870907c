//! JSON text, read by code that `derive(Read)` makes for each type, and written through serde.
//!
//! One reader and one writer that know no type of their own: the code for each type meets them once. That keeps the page's
//! module small; a general JSON library would be a fifth of it, its tables for numbers another tenth, and serde's code for reading a fifth again.
//! Both are checked against `serde_json`, and every `f64` that is written comes back as exactly the same.

mod big;
mod canonical;
mod digits;
mod number;
mod read;
mod reader;
#[cfg(test)]
mod tests;
mod writer;

use std::fmt;

use serde::Serialize;

pub use canonical::canonical_text;
pub(crate) use digits::fixed;
pub use read::Read;
pub use reader::{Failed, Fields, Outcome, ReadNext, Reader};
pub(crate) use writer::write_document;

pub use counterpoise_plan_derive::Read;

/// Why a text could not be read, and where.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Misread {
    /// What is wrong, in a few English words for a developer.
    pub what: &'static str,
    /// The line it was found in, from 1.
    pub line: usize,
    /// The character of the line, from 1.
    pub column: usize,
    /// True where the text is no JSON at all; false where it is, but not of what was asked for.
    pub is_broken: bool,
}

impl fmt::Display for Misread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, line {} column {}", self.what, self.line, self.column)
    }
}

impl std::error::Error for Misread {}

/// Reads a value from JSON text (RFC 8259). A field, name or length that the type does not know is refused as the type says.
///
/// # Errors
/// Where the text is no JSON, goes on after the value, nests deeper than 128, or is not of this type.
pub fn read<T: Read>(text: &str) -> Result<T, Misread> {
    let mut reader = Reader::new(text);
    match T::next(&mut reader).and_then(|value| reader.end().map(|()| value)) {
        Ok(value) => Ok(value),
        Err(Failed) => Err(reader.misread()),
    }
}

/// Writes a value as JSON on one line. A number that is not finite becomes `null`; so does a value that JSON has no form
/// for, which no type of this project has.
#[must_use]
pub fn write<T: Serialize + ?Sized>(value: &T) -> String {
    writer::write_line(value)
}
