//! Photo assist: drafts of landmarks and of the edge of the brow hair, from the pixels of a photo alone.
//!
//! [`Network`] reads and runs one published network (the weights are handed in as bytes); [`face_points`] makes landmarks of what it
//! says. Everything is a draft that a person accepts or not. Nothing here does I/O, reads a clock or keeps a global.
//!
//! Three operators of the network are written from their definition in MediaPipe (Apache License 2.0, The MediaPipe Authors); so is the
//! meaning of its points. See `NOTICE`.

mod attention;
mod face;
mod flatbuffer;
mod flexbuffer;
mod half;
mod network;
mod operators;
mod picture;

pub use face::{FacePoint, FacePoints, NoFace, OUTPUTS, face_points, find_pupils};
pub use network::{Network, NetworkError};
pub use picture::{Picture, PixelMap};
