//! The plan file: reading with every guard, and writing in one canonical form.

use crate::codes::refused;
use crate::field::FILE_BYTES;
use crate::migrate::migrate;
use crate::notation::{Misread, Read, read, write_document};
use crate::validate::validate;
use crate::{FORMAT, Plan, PlanError, VERSION};

/// Bytes of a megabyte, as file managers count them on the page.
const BYTES_PER_MB: f64 = 1024.0 * 1024.0;

/// Only the two fields that say whether the rest is ours.
#[derive(Read)]
struct Head {
    format: String,
    version: u64,
}

/// Reads a plan file.
///
/// # Errors
/// `too_large` before anything is parsed; `not_a_plan`; `newer_version`; `unreadable` with line and column; or what
/// `validate` finds: every number is finite and in its range, every id known.
pub fn open(json: &str) -> Result<Plan, PlanError> {
    if json.len() > FILE_BYTES {
        #[expect(clippy::cast_precision_loss, reason = "a file size in MB needs no 53 bits")]
        return Err(PlanError::refused(refused::TOO_LARGE, "")
            .with("size_mb", json.len() as f64 / BYTES_PER_MB)
            .with("limit_mb", FILE_BYTES as f64 / BYTES_PER_MB));
    }
    // A byte-order mark is what some editors leave at the start of a saved file.
    let json = json.strip_prefix('\u{feff}').unwrap_or(json);
    // Nearly every plan is one of this version, which the page reads many times a second: one pass is enough then.
    let plan = match read::<Plan>(json) {
        Ok(plan) if plan.format == FORMAT && plan.version == VERSION => plan,
        _ => read_by_head(json)?,
    };
    validate(&plan)?;
    Ok(plan)
}

/// Reads the head first, to tell another file, a newer plan, an older one and a damaged one apart.
fn read_by_head(json: &str) -> Result<Plan, PlanError> {
    let head: Head = read(json).map_err(|error| {
        // A plan that was cut off in copying still says what it is.
        let names = |part: &[u8]| part == FORMAT.as_bytes();
        if error.is_broken && json.as_bytes().windows(FORMAT.len()).any(names) {
            unreadable(refused::UNREADABLE, &error)
        } else {
            PlanError::refused(refused::NOT_A_PLAN, "")
        }
    })?;
    if head.format != FORMAT || head.version == 0 {
        return Err(PlanError::refused(refused::NOT_A_PLAN, ""));
    }
    if head.version > u64::from(VERSION) {
        #[expect(clippy::cast_precision_loss, reason = "shown, not computed with")]
        return Err(PlanError::refused(refused::NEWER_VERSION, "")
            .with("version", head.version as f64)
            .with("newest", f64::from(VERSION)));
    }
    migrate(json, head.version).map_err(|error| unreadable(refused::UNREADABLE, &error))
}

/// Reads an edit.
///
/// # Errors
/// `too_large`, or `edit_unreadable` with line and column. The edit's numbers are checked by
/// [`apply`](crate::apply).
pub fn read_edit(json: &str) -> Result<crate::Edit, PlanError> {
    if json.len() > FILE_BYTES {
        #[expect(clippy::cast_precision_loss, reason = "a file size in MB needs no 53 bits")]
        return Err(PlanError::refused(refused::TOO_LARGE, "")
            .with("size_mb", json.len() as f64 / BYTES_PER_MB)
            .with("limit_mb", FILE_BYTES as f64 / BYTES_PER_MB));
    }
    read(json).map_err(|error| unreadable(refused::EDIT_UNREADABLE, &error))
}

#[expect(clippy::cast_precision_loss, reason = "a line number, shown")]
fn unreadable(code: crate::codes::Code, error: &Misread) -> PlanError {
    PlanError::refused(code, "").with("line", error.line as f64).with("column", error.column as f64)
}

/// Writes a plan: fields in the document's order, ids sorted, one field a line, lists of numbers on one line. Equal
/// plans give equal text, and [`open`] gives back exactly the same numbers.
#[must_use]
pub fn to_json(plan: &Plan) -> String {
    // Plans hold finite numbers only; one that is not would be written as null and refused by `open`.
    write_document(plan)
}
