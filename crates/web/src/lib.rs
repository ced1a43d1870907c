//! The wasm boundary.

pub mod gesture;
