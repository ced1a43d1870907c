//! The command-line program.

use std::path::PathBuf;

/// Where it was built: `$COUNTERPOISE_CLI`; `None` where it is not said, so that a test can be skipped.
///
/// # Panics
/// Where it is not said although `CI=true`.
#[must_use]
pub fn command_line() -> Option<PathBuf> {
    let named = std::env::var_os("COUNTERPOISE_CLI").map(PathBuf::from);
    let ci = std::env::var("CI").is_ok_and(|value| value == "true");
    assert!(named.is_some() || !ci, "the command-line program is absent: set COUNTERPOISE_CLI");
    if named.is_none() {
        eprintln!("skipped: no command-line program (COUNTERPOISE_CLI; `cargo xtask test` builds it)");
    }
    named
}
