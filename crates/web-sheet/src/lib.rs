//! The printed sheet for the page, as a module of its own: it carries two fonts, and who prints nothing never loads it.
//!
//! Stateless like `counterpoise-web`, whose rules hold here too.

use counterpoise_plan::notation::{Misread, Read, read, write};
use counterpoise_plan::{PlanError, SortedMap, open};
use counterpoise_sheet::{Paper, Sheet, SheetOptions, csv, pdf, svg};
use js_sys::{Array, Uint8Array};
use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

/// Panics reach the console with their place in the source.
#[wasm_bindgen(start)]
pub fn start() {
    console_error_panic_hook::set_once();
}

/// What the page asks for.
#[derive(Read)]
#[serde(deny_unknown_fields)]
struct Wishes {
    /// `a4` or `letter`.
    paper: String,
    mirrored: bool,
    date: String,
    printed_bar_mm: Option<f64>,
    pose: Option<String>,
}

/// The sheet of a plan: `[pdf, svg, csv, missing]`; the file's bytes, the page at full size, the numbers, and the letters that
/// the font has not got. `wishes` (`{paper, mirrored, date, printed_bar_mm, pose}`) and `words` (texts by key) are JSON text.
///
/// # Errors
/// Throws `{code, subject, other, values}` where the plan is unreadable or cannot be printed so.
#[wasm_bindgen]
pub fn sheet(plan: &str, wishes: &str, words: &str) -> Result<Array, JsValue> {
    let plan = open(plan).map_err(|error| refusal(&error))?;
    let wishes: Wishes = read(wishes).map_err(|error| misread(&error))?;
    let words: SortedMap<String, String> = read(words).map_err(|error| misread(&error))?;
    let options = SheetOptions {
        paper: if wishes.paper == "letter" { Paper::Letter } else { Paper::A4 },
        mirrored: wishes.mirrored,
        date: &wishes.date,
        printed_bar_mm: wishes.printed_bar_mm,
        pose: wishes.pose.as_deref(),
        words: &words,
    };
    let sheet = Sheet::of(&plan, &options).map_err(|error| refusal(&error))?;
    let first = sheet.pages.first().map(svg).unwrap_or_default();
    let missing: String = sheet.missing.iter().collect();
    Ok(Array::of4(
        &Uint8Array::from(pdf(&sheet).as_slice()),
        &first.into(),
        &csv(&sheet).into(),
        &missing.into(),
    ))
}

fn refusal(error: &PlanError) -> JsValue {
    js_sys::JSON::parse(&write(error)).unwrap_or_else(|_| JsValue::from_str(&error.to_string()))
}

fn misread(error: &Misread) -> JsValue {
    JsValue::from_str(&error.to_string())
}
