//! What is asked before anything is agreed. The tool only keeps the answers: it clears nobody.

use counterpoise_geometry::SortedMap;
use serde::{Deserialize, Serialize};

use crate::codes::refused;
use crate::field;
use crate::notation::Read;
use crate::validate::{short, text};
use crate::{Plan, PlanError};

/// The questions by id, in the order in which they are asked; texts `caution.ID`.
///
/// *Sources:* what public-health consent forms ask (CIEH tattooing toolkit 2013; the list itself from memory); isotretinoin
/// doi 10.4103/JCAS.JCAS_110_17. None of it is medical advice.
pub const CAUTIONS: [&str; 15] = [
    "pregnancy",
    "bleeding",
    "diabetes",
    "immune",
    "skin_disease",
    "allergy",
    "isotretinoin",
    "toxin",
    "surgery",
    "old_tattoo",
    "skin_today",
    "lump",
    "fever",
    "age",
    "droop",
];

/// What was asked and answered.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields, default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Cautions {
    /// True for a yes, false for a no, by the id of the question; what was not asked is not there.
    pub answers: SortedMap<String, bool>,
    /// The artist's own words on them, at most 2,000 characters.
    pub note: String,
}

impl Cautions {
    /// True where nothing was asked or noted.
    #[must_use]
    pub fn are_untouched(&self) -> bool {
        *self == Cautions::default()
    }
}

/// Checks what was asked.
///
/// # Errors
/// A question that is none of [`CAUTIONS`], or a note that is too long.
pub fn check(cautions: &Cautions) -> Result<(), PlanError> {
    text("cautions.note", &cautions.note, field::CAUTION_CHARS)?;
    cautions.answers.keys().try_for_each(|id| known(id))
}

/// Keeps an answer, or takes it back.
///
/// # Errors
/// Where there is no such question.
pub fn answer(plan: &mut Plan, id: &str, yes: Option<bool>) -> Result<(), PlanError> {
    known(id)?;
    match yes {
        Some(yes) => plan.cautions.answers.insert(id.to_owned(), yes),
        None => plan.cautions.answers.remove(id),
    };
    Ok(())
}

fn known(id: &str) -> Result<(), PlanError> {
    if CAUTIONS.contains(&id) { Ok(()) } else { Err(PlanError::refused(refused::UNKNOWN_CAUTION, short(id))) }
}
