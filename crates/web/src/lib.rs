//! The wasm boundary: beside the module of the balance solver the only crate that names wasm-bindgen and web-sys.
//!
//! [`boundary`] is what JavaScript calls; [`paint`] draws a scene on a canvas; [`gesture`] makes commands of fingers, pens
//! and mice; [`stroke`] says what a stroke means. All of them are pure functions of their arguments: this crate holds no
//! state between calls.

mod balance;
mod boundary;
pub mod gesture;
mod paint;
pub mod palette;
pub mod stroke;
pub mod view;

pub use balance::*;
pub use boundary::*;
