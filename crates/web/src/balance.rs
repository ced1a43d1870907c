//! What JavaScript calls to balance a pair.

use counterpoise_geometry::PerSide;
use counterpoise_plan::Outline;
use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

use crate::boundary::{from_json, refusal, to_js};

/// Unevenness left against natural brow removed, under a limit of added skin in % of the natural area:
/// `{added_limit_pct, natural_mm, measuring_error_mm, points, knee, recipes, current}`. A point's `outlines` are what the
/// edit `set_outlines` takes. Takes tens of milliseconds: call it in a worker.
///
/// # Errors
/// Throws `{code, subject, other, values}` where the plan is unreadable or cannot be balanced.
#[wasm_bindgen(js_name = balanceCurve)]
pub fn balance_curve(plan: &str, added_pct: f64) -> Result<JsValue, JsValue> {
    let plan = counterpoise_plan::open(plan).map_err(refusal)?;
    to_js(&counterpoise_plan::balance_curve(&plan, added_pct).map_err(refusal)?)
}

/// What moves from the present outlines to these, and the price: `{moves, areas, strips}`. The outlines are JSON text,
/// `{right: {…}, left: {…}}` with every parameter by its id.
///
/// # Errors
/// Throws `{code, subject, other, values}` where plan or outlines cannot be used.
#[wasm_bindgen(js_name = explainMove)]
pub fn explain_move(plan: &str, outlines: &str) -> Result<JsValue, JsValue> {
    let plan = counterpoise_plan::open(plan).map_err(refusal)?;
    let outlines: PerSide<Outline> = from_json(outlines)?;
    to_js(&counterpoise_plan::explain_move(&plan, &outlines).map_err(refusal)?)
}
