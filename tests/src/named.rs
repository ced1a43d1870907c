//! Files that `cargo xtask test` names in the environment.

use std::path::PathBuf;

/// The file that this variable names; `None` where it names none, so that a test can be skipped.
///
/// # Panics
/// Where it names none although `CI=true`.
pub(crate) fn named_file(variable: &str, what: &str) -> Option<PathBuf> {
    let named = std::env::var_os(variable).map(PathBuf::from);
    let ci = std::env::var("CI").is_ok_and(|value| value == "true");
    assert!(named.is_some() || !ci, "the {what} is absent: set {variable}");
    if named.is_none() {
        eprintln!("skipped: no {what} ({variable}; `cargo xtask test` sets it)");
    }
    named
}

/// The command-line program: `$COUNTERPOISE_CLI`; `None` where it is not said.
///
/// # Panics
/// Where it is not said although `CI=true`.
#[must_use]
pub fn command_line() -> Option<PathBuf> {
    named_file("COUNTERPOISE_CLI", "command-line program")
}
