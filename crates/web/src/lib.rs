//! The wasm boundary.
