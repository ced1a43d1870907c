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

/// 3 kB compressed smaller than the one that comes with the compiler, and a frame 2 % quicker.
#[cfg(target_family = "wasm")]
#[global_allocator]
static MEMORY: talc::wasm::WasmDynamicTalc = talc::wasm::new_wasm_dynamic_allocator();

pub use balance::*;
pub use boundary::*;
