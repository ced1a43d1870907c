//! Pairs of outlines kept by name beside the one that is worked on.

use counterpoise_geometry::{PerSide, Side};
use serde::{Deserialize, Serialize};

use crate::codes::refused;
use crate::field;
use crate::notation::Read;
use crate::validate::{self, short};
use crate::{Outline, Plan, PlanError};

/// A pair kept by name.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Variant {
    /// Its name, at most 40 characters; no other variant of the plan has it.
    pub name: String,
    /// Its outlines; at least one side has one.
    pub planned: PerSide<Option<Outline>>,
}

/// Checks the variants of a plan.
///
/// # Errors
/// Too many, a name that is empty, too long or there twice, or an outline that cannot be used.
pub fn check(variants: &[Variant]) -> Result<(), PlanError> {
    if variants.len() > field::VARIANTS {
        #[expect(clippy::cast_precision_loss, reason = "a count, shown")]
        return Err(
            PlanError::refused(refused::TOO_MANY_VARIANTS, "variants").with("limit", field::VARIANTS as f64)
        );
    }
    for (index, variant) in variants.iter().enumerate() {
        validate::text("variants.name", &variant.name, field::VARIANT_CHARS)?;
        if variant.name.trim().is_empty() {
            return Err(PlanError::refused(refused::NAME_EMPTY, "variants.name"));
        }
        if variants.iter().take(index).any(|earlier| earlier.name == variant.name) {
            return Err(PlanError::refused(refused::NAME_TAKEN, short(&variant.name)));
        }
        for side in Side::BOTH {
            variant.planned.get(side).iter().try_for_each(validate::outline)?;
        }
        if variant.planned.right.is_none() && variant.planned.left.is_none() {
            return Err(PlanError::refused(refused::PLANNED_FIRST, Side::Right.name()));
        }
    }
    Ok(())
}

/// Keeps the present pair under a name; in place of the variant that has it already.
pub fn keep(plan: &mut Plan, name: &str) {
    let planned = plan.planned.clone();
    match plan.variants.iter_mut().find(|variant| variant.name == name) {
        Some(known) => known.planned = planned,
        None => plan.variants.push(Variant { name: name.to_owned(), planned }),
    }
}

/// Makes a variant the pair that is worked on.
///
/// # Errors
/// Where there is none of this name.
pub fn take(plan: &mut Plan, name: &str) -> Result<(), PlanError> {
    plan.planned = plan.variants[place(plan, name)?].planned.clone();
    Ok(())
}

/// A copy of a variant under another name, behind it.
///
/// # Errors
/// Where there is none of this name.
pub fn duplicate(plan: &mut Plan, name: &str, to: &str) -> Result<(), PlanError> {
    let at = place(plan, name)?;
    let copy = Variant { name: to.to_owned(), planned: plan.variants[at].planned.clone() };
    plan.variants.insert(at + 1, copy);
    Ok(())
}

/// Gives a variant another name.
///
/// # Errors
/// Where there is none of this name.
pub fn rename(plan: &mut Plan, name: &str, to: &str) -> Result<(), PlanError> {
    let at = place(plan, name)?;
    to.clone_into(&mut plan.variants[at].name);
    Ok(())
}

/// Forgets a variant.
///
/// # Errors
/// Where there is none of this name.
pub fn remove(plan: &mut Plan, name: &str) -> Result<(), PlanError> {
    let at = place(plan, name)?;
    plan.variants.remove(at);
    Ok(())
}

fn place(plan: &Plan, name: &str) -> Result<usize, PlanError> {
    let found = plan.variants.iter().position(|variant| variant.name == name);
    found.ok_or_else(|| PlanError::refused(refused::UNKNOWN_VARIANT, short(name)))
}
