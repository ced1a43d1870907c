//! Where the photographs and outlines lie that are never committed.

use std::path::{Path, PathBuf};

/// The data folder: `$COUNTERPOISE_DATA`, else `shared/data` beside the workspace; `None` where there is none.
///
/// A test that gets `None` says that it was skipped and returns.
///
/// # Panics
/// Where the folder is absent although `CI=true`: a continuous check must not pass by skipping.
#[must_use]
pub fn data_dir() -> Option<PathBuf> {
    let named = std::env::var_os("COUNTERPOISE_DATA").map(PathBuf::from);
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data");
    let found = named.into_iter().chain([beside]).find(|dir| dir.is_dir());
    let ci = std::env::var("CI").is_ok_and(|value| value == "true");
    assert!(
        found.is_some() || !ci,
        "the data folder is absent: set COUNTERPOISE_DATA, or put it at ../shared/data beside the project"
    );
    if found.is_none() {
        eprintln!("skipped: no data folder (COUNTERPOISE_DATA or ../shared/data)");
    }
    found
}
