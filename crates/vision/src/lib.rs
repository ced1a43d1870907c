//! Photo assist: drafts of landmarks and of the edge of the brow hair, from the pixels of a photo alone.
//!
//! [`Network`] reads and runs one published network (the weights are handed in as bytes); [`Face`] makes landmarks and the hair of brows of what it
//! says. Everything is a draft that a person accepts or not. Nothing here does I/O, reads a clock or keeps a global.
//!
//! Three operators of the network are written from their definition in MediaPipe (Apache License 2.0, The MediaPipe Authors); so is the
//! meaning of its points. See `NOTICE`.

mod attention;
mod distance;
mod face;
mod flatbuffer;
mod flexbuffer;
mod grid;
mod guess;
mod hair;
mod half;
mod lab;
mod network;
mod operators;
mod picture;
mod seed;
mod seed_table;
mod split;

pub use face::{Face, NoFace, OUTPUTS, find_pupils};
pub use guess::{BrowHair, FacePoint, Guess};
pub use hair::HairDoubt;
pub use network::{Network, NetworkError};
pub use picture::{Picture, PixelMap};
