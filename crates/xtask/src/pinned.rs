//! What is fetched is the very thing that was meant: its sum is pinned.

use std::path::Path;

use sha2::{Digest, Sha256};

use crate::Problem;

/// SHA-256 of some bytes, hexadecimal.
#[must_use]
pub fn sum_of(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Makes sure that a fetched file is what was pinned.
///
/// # Errors
/// Where it cannot be read, or has another sum; then it is removed, so that a download cut short does not stay in the way for ever.
pub fn check(file: &Path, sha256: &str) -> Result<(), Problem> {
    let bytes = std::fs::read(file).map_err(|error| format!("cannot read {}: {error}", file.display()))?;
    let sum = sum_of(&bytes);
    if sum == sha256 {
        return Ok(());
    }
    let _ = std::fs::remove_file(file);
    Err(format!("{} has the sum {sum}, not the pinned {sha256}", file.display()))
}
