//! The wasm boundary: beside the modules that are loaded later the only crate that names wasm-bindgen.
//!
//! [`boundary`] is what JavaScript calls; [`paint`] writes down how a canvas draws a scene; [`gesture`] makes commands of
//! fingers, pens and mice; [`stroke`] says what a stroke means. All of them are pure functions of their arguments: this crate
//! keeps nothing between calls but a memo of what was read last.

mod balance;
mod boundary;
pub mod gesture;
mod marks;
mod memo;
mod paint;
pub mod palette;
pub mod stroke;
pub mod view;

pub use balance::*;
pub use boundary::*;
