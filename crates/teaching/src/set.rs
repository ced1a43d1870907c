//! Lessons and exercises that belong together: what a course hands on as one.

use std::collections::BTreeSet;

use counterpoise_plan::notation::Read;
use serde::{Deserialize, Serialize};

use crate::TeachingError;
use crate::document::{check_names, cut, is_id, read_as, text_of};

/// The value of [`Set::format`].
const FORMAT: &str = "counterpoise-set";
/// A list of names, bytes.
const MOST_BYTES: usize = 100_000;
/// Parts of one set.
const MOST_ITEMS: usize = 50;

/// Lessons and exercises in the order in which they are worked through; each lies beside this file as `ID.lesson.json` or `ID.exercise.json`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Set {
    /// Always `counterpoise-set`.
    pub format: String,
    /// The version of this document, 1 or more.
    pub version: u32,
    /// A name in file names: letters, digits and hyphens.
    pub id: String,
    /// What it is called.
    #[serde(default)]
    pub title: String,
    /// The mean score from which on it is passed, 0 to 100; without it, whoever did all of it has completed it.
    #[serde(default)]
    pub pass: Option<f64>,
    /// What is worked through.
    pub items: Vec<SetItem>,
}

/// One part of a set.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, Read)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum SetItem {
    /// The id of a lesson.
    Lesson(String),
    /// The id of an exercise.
    Exercise(String),
}

/// Reads a set.
///
/// # Errors
/// What is wrong with it, and with which item.
pub fn read_set(text: &str) -> Result<Set, TeachingError> {
    let set: Set = read_as(text_of(text, MOST_BYTES)?, FORMAT, "not_a_set")?;
    check_names(&set.id, "")?;
    if set.items.is_empty() || set.items.len() > MOST_ITEMS {
        return Err(TeachingError::new("no_items"));
    }
    if set.pass.is_some_and(|pass| !(0.0..=100.0).contains(&pass)) {
        return Err(TeachingError::new("bad_limit"));
    }
    let mut known = BTreeSet::new();
    for (index, item) in set.items.iter().enumerate() {
        let (SetItem::Lesson(id) | SetItem::Exercise(id)) = item;
        if !is_id(id) {
            return Err(TeachingError::new("unknown").about(cut(id)).of_part(index + 1));
        }
        if !known.insert(item) {
            return Err(TeachingError::new("twice").about(id.clone()).of_part(index + 1));
        }
    }
    Ok(set)
}
