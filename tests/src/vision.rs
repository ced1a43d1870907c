//! The face network and pictures for it.

use std::path::{Path, PathBuf};

use counterpoise_vision::{Network, OUTPUTS};

/// The network's file: `$COUNTERPOISE_WEIGHTS`; `None` where it is not said, so that a test can be skipped.
///
/// # Panics
/// Where it is not said although `CI=true`.
#[must_use]
pub fn weights() -> Option<PathBuf> {
    let named = std::env::var_os("COUNTERPOISE_WEIGHTS").map(PathBuf::from);
    let ci = std::env::var("CI").is_ok_and(|value| value == "true");
    assert!(named.is_some() || !ci, "the face network is absent: set COUNTERPOISE_WEIGHTS");
    if named.is_none() {
        eprintln!("skipped: no face network (COUNTERPOISE_WEIGHTS; `cargo xtask test` fetches it)");
    }
    named
}

/// The network.
///
/// # Panics
/// Where its file cannot be read.
#[must_use]
pub fn network() -> Option<Network> {
    let bytes = std::fs::read(weights()?).expect("the network's file");
    Some(Network::read(&bytes, &OUTPUTS).expect("the network"))
}

/// A photo as red, green and blue, with its width and height.
///
/// # Panics
/// Where it cannot be read.
#[must_use]
pub fn pixels(file: &Path) -> (Vec<u8>, usize, usize) {
    let picture = image::open(file).unwrap_or_else(|error| panic!("{}: {error}", file.display())).to_rgb8();
    let (width, height) = picture.dimensions();
    (picture.into_raw(), width as usize, height as usize)
}
