//! Reading plan files.

use std::fs;
use std::path::Path;

use counterpoise_plan::{Plan, PlanError, codes::refused, field::FILE_BYTES, open};

use crate::Failure;
use crate::messages::refusal;

/// The plan in this file.
///
/// # Errors
/// What keeps it from being read, with the file's name. A file that is too large is not read at all.
pub fn read_plan(path: &Path) -> Result<Plan, Failure> {
    within_size(path)?;
    open(&read_text(path)?).map_err(|error| format!("{}: {}", path.display(), refusal(&error)))
}

/// Refuses a file that is larger than any plan, before it is read.
///
/// # Errors
/// Where it is, or is not there.
pub fn within_size(path: &Path) -> Result<(), Failure> {
    let name = path.display();
    let size = fs::metadata(path).map_err(|error| format!("{name}: {error}"))?.len();
    if size > FILE_BYTES as u64 {
        const BYTES_PER_MB: f64 = 1024.0 * 1024.0;
        #[expect(clippy::cast_precision_loss, reason = "a file size in MB needs no 53 bits")]
        let error = PlanError::refused(refused::TOO_LARGE, "")
            .with("size_mb", size as f64 / BYTES_PER_MB)
            .with("limit_mb", FILE_BYTES as f64 / BYTES_PER_MB);
        return Err(format!("{name}: {}", refusal(&error)));
    }
    Ok(())
}

/// The text of a file.
///
/// # Errors
/// Where it cannot be read, or is no text.
pub fn read_text(path: &Path) -> Result<String, Failure> {
    let name = path.display();
    let bytes = fs::read(path).map_err(|error| format!("{name}: {error}"))?;
    String::from_utf8(bytes)
        .map_err(|_| format!("{name}: {}", refusal(&PlanError::refused(refused::NOT_A_PLAN, ""))))
}
