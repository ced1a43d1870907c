//! The timed work as a module of its own, so that the page's module carries nothing that only a benchmark needs.

use wasm_bindgen::prelude::*;

mod work;

/// Report and scene, so many times.
#[wasm_bindgen]
pub fn frames(plan: &str, times: u32) -> Result<f64, String> {
    Ok(work::frames(&work::plan(plan)?, times))
}

/// Report and scene in a drag, so many times.
#[wasm_bindgen]
pub fn drags(plan: &str, times: u32) -> Result<f64, String> {
    work::drags(&work::plan(plan)?, times)
}

/// Two fits, so many times.
#[wasm_bindgen]
pub fn fits(plan: &str, times: u32) -> Result<f64, String> {
    work::fits(&work::plan(plan)?, times)
}
