//! What the client agreed to, sealed: a later change shows.
//!
//! A record holds what was shown to her when she signed, the agreed pair among it, and two SHA-256 sums (FIPS 180-4) of
//! canonical JSON (RFC 8785): one of what she agreed to in the plan, one of the record itself. Neither is a lock: whoever writes the
//! file can make both anew. They tell a record that fits its plan from one that no longer does.

use counterpoise_geometry::{PerSide, Side, SortedMap};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::build_report::{areas, planned_symmetry, strips};
use crate::codes::refused;
use crate::derive::derive;
use crate::moment::Moment;
use crate::notation::{Read, canonical_text, write};
use crate::signature::{self, Strokes};
use crate::validate::{self, short};
use crate::{Areas, Cautions, Outline, Plan, PlanError, Strip, field};

/// One agreement.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Agreement {
    /// When, by the device's clock: `YYYY-MM-DDThh:mm:ss+hh:mm`.
    pub at: String,
    /// Who agreed, by initials; at most 12 characters.
    pub initials: String,
    /// The name of the variant that she agreed to; empty where the pair had none.
    pub variant: String,
    /// The pair that she agreed to.
    pub planned: PerSide<Option<Outline>>,
    /// What she was shown.
    pub shown: AgreedNumbers,
    /// Questions answered with no, answered with yes, and left open.
    pub asked: [usize; 3],
    /// The words on aftercare and upkeep that stood on the sheet.
    pub upkeep: String,
    /// Her signature: strokes of `[x, y]` in thousandths of the field's height, x right, y down.
    pub signature: Strokes,
    /// SHA-256 of the canonical form of what she agreed to in the plan, hexadecimal.
    pub plan_sha256: String,
    /// SHA-256 of the canonical form of this record without this field, hexadecimal.
    pub seal_sha256: String,
}

/// The numbers as they were shown.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AgreedNumbers {
    /// How uneven her own brows are, mm, one decimal; `None` without two.
    pub natural_mm: Option<f64>,
    /// How uneven the agreed pair is, mm, one decimal.
    pub planned_mm: Option<f64>,
    /// The price on each side.
    pub sides: PerSide<Option<AgreedSide>>,
}

/// The price on one side.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AgreedSide {
    /// Hair to remove and keep removed, % of the natural brow, one decimal.
    pub removed_pct: f64,
    /// The same in mm², whole.
    pub removed_mm2: f64,
    /// Skin to tattoo outside the natural brow, % of it, one decimal.
    pub added_pct: f64,
    /// The same in mm², whole.
    pub added_mm2: f64,
    /// The widest strip of hair to remove, mm, one decimal; 0 without one.
    pub widest_strip_mm: f64,
}

/// How the last agreement stands to the plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AgreementReport {
    /// When.
    pub at: String,
    /// By whom.
    pub initials: String,
    /// The variant's name, or empty.
    pub variant: String,
    /// Whether the seal is whole: `whole`; `pair_changed` where the pair in work is another one; `plan_changed` where measuring,
    /// answers or upkeep are; `record_changed` where the record itself is not what was sealed.
    pub seal: &'static str,
    /// True where the device's clock stood earlier than at the agreement before, or than the day of the measuring.
    pub clock_back: bool,
}

/// What she agrees to in the plan, in the order of the document. What is not here may change later without breaking a seal: name and
/// notes, other variants, poses, limits and rules, which move no agreed outline.
#[derive(Serialize)]
struct Agreed<'a> {
    format: &'a str,
    version: u32,
    photo: &'a Option<crate::Photo>,
    landmarks: &'a SortedMap<String, crate::PointPx>,
    frame: &'a crate::FrameSettings,
    noise: &'a crate::Noise,
    natural: &'a PerSide<Option<crate::NaturalBrow>>,
    planned: &'a PerSide<Option<Outline>>,
    cautions: &'a Cautions,
    upkeep: &'a str,
}

/// Bytes of a sum in hexadecimal digits.
const SUM_CHARS: usize = 64;

/// `None` where there is no canonical form, which no plan that was read lacks.
fn sum_of<T: Serialize>(value: &T) -> Option<String> {
    let canonical = canonical_text(&write(value))?;
    let sum = Sha256::digest(canonical.as_bytes()).iter().fold(
        String::with_capacity(SUM_CHARS),
        |mut text, byte| {
            for half in [byte >> 4, byte & 15] {
                text.push(char::from_digit(u32::from(half), 16).unwrap_or_default());
            }
            text
        },
    );
    Some(sum)
}

fn plan_sum(plan: &Plan) -> Option<String> {
    sum_of(&Agreed {
        format: &plan.format,
        version: plan.version,
        photo: &plan.photo,
        landmarks: &plan.landmarks,
        frame: &plan.frame,
        noise: &plan.noise,
        natural: &plan.natural,
        planned: &plan.planned,
        cautions: &plan.cautions,
        upkeep: &plan.upkeep,
    })
}

fn seal_of(agreement: &Agreement) -> Option<String> {
    sum_of(&Agreement { seal_sha256: String::new(), ..agreement.clone() })
}

/// Records that she agrees to the pair in work, now.
///
/// # Errors
/// Without a pair, a moment, initials or a signature, or with too many agreements.
pub fn agree(plan: &mut Plan, at: &str, initials: &str, strokes: &[Vec<[f64; 2]>]) -> Result<(), PlanError> {
    if plan.planned.right.is_none() && plan.planned.left.is_none() {
        return Err(PlanError::refused(refused::PLANNED_FIRST, Side::Right.name()));
    }
    let derived = derive(plan);
    if let Some(side) = Side::BOTH.into_iter().find(|side| matches!(derived.on(*side).planned, Some(Err(_))))
    {
        return Err(PlanError::refused(refused::PLANNED_FIRST, side.name()));
    }
    let asked = {
        let yes = plan.cautions.answers.values().filter(|yes| **yes).count();
        let answered = plan.cautions.answers.len();
        [answered - yes, yes, crate::CAUTIONS.len().saturating_sub(answered)]
    };
    let strips = strips(&derived);
    let areas = areas(&derived);
    let variant = plan.variants.iter().find(|variant| variant.planned == plan.planned);
    let mut agreement = Agreement {
        at: at.to_owned(),
        initials: initials.trim().to_owned(),
        variant: variant.map(|variant| variant.name.clone()).unwrap_or_default(),
        planned: plan.planned.clone(),
        shown: AgreedNumbers {
            natural_mm: derived.ground.symmetry.map(|found| tenths(found.mean_distance_mm)),
            planned_mm: planned_symmetry(&derived, derived.frame().measuring())
                .map(|found| tenths(found.mean_distance_mm)),
            sides: PerSide::from_fn(|side| areas.get(side).map(|areas| price(side, &areas, &strips))),
        },
        asked,
        upkeep: plan.upkeep.clone(),
        signature: signature::cleaned(strokes)?,
        plan_sha256: plan_sum(plan).unwrap_or_default(),
        seal_sha256: String::new(),
    };
    agreement.seal_sha256 = seal_of(&agreement).unwrap_or_default();
    plan.agreements.push(agreement);
    Ok(())
}

fn tenths(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

fn price(side: Side, areas: &Areas, strips: &[Strip]) -> AgreedSide {
    let widest =
        strips.iter().filter(|strip| strip.side == side).map(|strip| strip.widest_mm).fold(0.0, f64::max);
    AgreedSide {
        removed_pct: tenths(areas.removed_pct),
        removed_mm2: areas.removed_counted_mm2.round(),
        added_pct: tenths(areas.added_pct),
        added_mm2: areas.added_mm2.round(),
        widest_strip_mm: tenths(widest),
    }
}

/// How the last agreement stands to the plan; `None` without one.
pub fn report(plan: &Plan) -> Option<AgreementReport> {
    let last = plan.agreements.last()?;
    // What costs least is asked first: this is worked out at every frame of a drag.
    let seal = if last.planned != plan.planned {
        "pair_changed"
    } else if seal_of(last).is_none_or(|sum| sum != last.seal_sha256) {
        "record_changed"
    } else if plan_sum(plan).is_none_or(|sum| sum != last.plan_sha256) {
        "plan_changed"
    } else {
        "whole"
    };
    let at = Moment::read(&last.at);
    let earlier = plan.agreements.iter().rev().nth(1).and_then(|before| Moment::read(&before.at));
    let is_before_measuring =
        !plan.case.date.is_empty() && last.at.get(..plan.case.date.len()) < Some(&plan.case.date);
    Some(AgreementReport {
        at: last.at.clone(),
        initials: last.initials.clone(),
        variant: last.variant.clone(),
        seal,
        clock_back: earlier.zip(at).is_some_and(|(earlier, at)| at < earlier) || is_before_measuring,
    })
}

/// Checks the agreements of a plan.
///
/// # Errors
/// The first thing that is wrong.
pub fn check(agreements: &[Agreement]) -> Result<(), PlanError> {
    if agreements.len() > field::AGREEMENTS {
        #[expect(clippy::cast_precision_loss, reason = "a count, shown")]
        let limit = field::AGREEMENTS as f64;
        return Err(PlanError::refused(refused::TOO_MANY_AGREEMENTS, "agreements").with("limit", limit));
    }
    agreements.iter().try_for_each(check_one)
}

fn check_one(agreement: &Agreement) -> Result<(), PlanError> {
    if Moment::read(&agreement.at).is_none() {
        return Err(PlanError::refused(refused::BAD_MOMENT, short(&agreement.at)));
    }
    validate::text("agreements.initials", &agreement.initials, field::INITIAL_CHARS)?;
    if agreement.initials.trim().is_empty() {
        return Err(PlanError::refused(refused::INITIALS_FIRST, "agreements.initials"));
    }
    validate::text("agreements.variant", &agreement.variant, field::VARIANT_CHARS)?;
    validate::text("agreements.upkeep", &agreement.upkeep, field::UPKEEP_CHARS)?;
    for side in Side::BOTH {
        agreement.planned.get(side).iter().try_for_each(validate::outline)?;
    }
    let of_side = |side: &AgreedSide| {
        [side.removed_pct, side.removed_mm2, side.added_pct, side.added_mm2, side.widest_strip_mm]
    };
    let sides =
        Side::BOTH.into_iter().filter_map(|side| agreement.shown.sides.get(side).as_ref()).flat_map(of_side);
    let mut numbers = sides.chain(agreement.shown.natural_mm).chain(agreement.shown.planned_mm);
    if numbers.any(|number| !number.is_finite()) {
        return Err(PlanError::refused(refused::NOT_FINITE, "agreements.shown"));
    }
    for sum in [&agreement.plan_sha256, &agreement.seal_sha256] {
        validate::text("agreements.sha256", sum, SUM_CHARS)?;
    }
    signature::check(&agreement.signature)
}
