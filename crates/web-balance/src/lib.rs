//! The balance solver for the page, as a module of its own: who only measures and draws never loads it.
//!
//! Stateless like `counterpoise-web`, whose rules hold here too. It depends on the core alone, since whatever that crate
//! exports would be part of this module as well.

use counterpoise_plan::PlanError;
use counterpoise_plan::notation::write;
use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

/// Panics reach the console with their place in the source.
#[wasm_bindgen(start)]
pub fn start() {
    console_error_panic_hook::set_once();
}

/// Unevenness left against natural brow removed, under a limit of added skin in % of the natural area:
/// `{added_limit_pct, natural_mm, measuring_error_mm, points, knee, recipes, current}`. A point's `outlines` are what the
/// edit `set_outlines` takes. Takes tens of milliseconds: call it in a worker.
///
/// # Errors
/// Throws `{code, subject, other, values}` where the plan is unreadable or cannot be balanced.
#[wasm_bindgen(js_name = balanceCurve)]
pub fn balance_curve(plan: &str, added_pct: f64) -> Result<JsValue, JsValue> {
    let plan = counterpoise_plan::open(plan).map_err(refusal)?;
    js_sys::JSON::parse(&write(&counterpoise_plan::balance_curve(&plan, added_pct).map_err(refusal)?))
}

fn refusal(error: PlanError) -> JsValue {
    js_sys::JSON::parse(&write(&error)).unwrap_or_else(|_| JsValue::from_str(&error.to_string()))
}
