//! Where the photographs and outlines lie that are never committed.

use std::fs;
use std::path::{Path, PathBuf};

use serde::Deserialize;
use serde::de::DeserializeOwned;

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

/// A natural brow of the real faces: its edge in its own side's `(out, up)`, mm.
#[derive(Deserialize)]
pub struct RealBrow {
    /// Which face.
    pub id: String,
    /// `client_right` or `client_left`.
    pub side: String,
    /// The edge, mm.
    pub outline_mm: Vec<[f64; 2]>,
}

/// The outlines of the real brows; `None` where the data are absent.
#[must_use]
pub fn real_brows() -> Option<Vec<RealBrow>> {
    #[derive(Deserialize)]
    struct File {
        outlines: Vec<RealBrow>,
    }
    let file: File = read_json(&data_dir()?.join("real-brows/outlines.json"));
    Some(file.outlines)
}

/// What a JSON file holds.
///
/// # Panics
/// Where it cannot be read, naming the file.
#[must_use]
pub fn read_json<T: DeserializeOwned>(path: &Path) -> T {
    let text = fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    serde_json::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}
