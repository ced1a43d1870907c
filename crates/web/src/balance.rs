//! What JavaScript calls while a pair is balanced. The solver is a module of its own, `counterpoise-web-balance`.

use counterpoise_geometry::PerSide;
use counterpoise_plan::Outline;
use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

use crate::boundary::{from_json, refusal, to_js};
use crate::memo;

/// What moves from the present outlines to these, and the price: `{moves, areas, strips}`. The outlines are JSON text,
/// `{right: {…}, left: {…}}` with every parameter by its id.
///
/// # Errors
/// Throws `{code, subject, other, values}` where plan or outlines cannot be used.
#[wasm_bindgen(js_name = explainMove)]
pub fn explain_move(plan: &[u8], outlines: &str) -> Result<JsValue, JsValue> {
    let known = memo::read(plan).map_err(refusal)?;
    let outlines: PerSide<Outline> = from_json(outlines)?;
    to_js(
        &memo::on_last(|last| counterpoise_plan::explain_move_after(last, &known.plan, &outlines))
            .map_err(refusal)?,
    )
}
