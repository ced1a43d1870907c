//! The face network and pictures for it.

use std::path::{Path, PathBuf};

use counterpoise_vision::{Network, OUTPUTS, Picture};
use kurbo::{Affine, Point};

use crate::named_file;

/// The network's file: `$COUNTERPOISE_WEIGHTS`; `None` where it is not said, so that a test can be skipped.
///
/// # Panics
/// Where it is not said although `CI=true`.
#[must_use]
pub fn weights() -> Option<PathBuf> {
    named_file("COUNTERPOISE_WEIGHTS", "face network")
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

/// A photo to which something has happened.
pub struct ChangedPhoto {
    /// What has happened.
    pub name: &'static str,
    /// Red, green and blue of a square of `side` px.
    pub bytes: Vec<u8>,
    /// px.
    pub side: usize,
    /// From the photo to the changed one, px.
    pub map: Affine,
    /// Whether it shows her as in a mirror.
    pub is_mirrored: bool,
    /// The pupils on it, that on its left first, px.
    pub pupils: [Point; 2],
}

/// The photo turned, halved, brighter, darker and mirrored.
#[must_use]
pub fn changed_photos(picture: &Picture, pupils: [Point; 2]) -> Vec<ChangedPhoto> {
    let [width, height] = picture.size();
    let centre = Point::new(width as f64 / 2.0, height as f64 / 2.0);
    let turned = |degrees: f64| Affine::rotate_about(degrees.to_radians(), centre);
    let flip = Affine::new([-1.0, 0.0, 0.0, 1.0, width as f64, 0.0]);
    let changes: [(&str, Affine, f32, usize, bool); 6] = [
        ("turned by 10°", turned(10.0), 1.0, 1, false),
        ("turned by −10°", turned(-10.0), 1.0, 1, false),
        ("halved", Affine::scale(0.5), 1.0, 2, false),
        ("brighter", Affine::IDENTITY, 1.3, 1, false),
        ("darker", Affine::IDENTITY, 0.7, 1, false),
        ("mirrored", flip, 1.0, 1, true),
    ];
    let change = |(name, map, light, smaller, is_mirrored): (&'static str, Affine, f32, usize, bool)| {
        let side = width.max(height) / smaller;
        let lit = |value: &f32| (value * light * 255.0).round().clamp(0.0, 255.0) as u8;
        let bytes = picture.square(side, map.inverse()).iter().map(lit).collect();
        let mut pupils = pupils.map(|at| map * at);
        if is_mirrored {
            pupils.swap(0, 1);
        }
        ChangedPhoto { name, bytes, side, map, is_mirrored, pupils }
    };
    changes.map(change).into()
}
