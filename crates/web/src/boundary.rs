//! What JavaScript calls. Stateless but for a memo of what was read last: each call gets the plan as text and gives back all
//! there is to know, so after a trap a fresh instance goes on with the last good text. What is shown without being kept comes as
//! the kept text and the edit of it, which is empty where the kept plan is shown: in a drag no text is written for each frame.
//!
//! What comes in structured comes as JSON text, like plans and edits: one reader serves them all, which keeps the module
//! small. A plan's text comes as UTF-8 bytes, which is the quickest way over. What goes out structured are plain JavaScript
//! objects, which the browser makes of JSON text.

use counterpoise_geometry::Side;
use counterpoise_plan::notation::{Misread, Read, read, write};
use counterpoise_plan::{PlanError, SvgOptions};
use serde::Serialize;
use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

use crate::gesture::{Command, Context, Event, GestureState};
use crate::memo;
use crate::paint::paint;
use crate::palette::Palette;
use crate::stroke::stroke_edit as edit_of_stroke;
use crate::view::{PlacedHandle, View};

// The crate that names all of the browser's own would bring its closures into the module: 2 kB compressed for two calls.
#[wasm_bindgen]
extern "C" {
    #[wasm_bindgen(js_namespace = JSON, js_name = parse, catch)]
    fn parse_json(text: &str) -> Result<JsValue, JsValue>;
    type Float32Array;
    /// A copy in one go, where `Float32Array.from` would go from number to number.
    #[wasm_bindgen(constructor)]
    fn new(numbers: &[f32]) -> Float32Array;
    type Float64Array;
    #[wasm_bindgen(constructor)]
    fn new(numbers: &[f64]) -> Float64Array;
}

/// Panics reach the console with their place in the source.
#[wasm_bindgen(start)]
pub fn start() {
    console_error_panic_hook::set_once();
}

/// Every parameter, measure, landmark, handle, edit and code with its id, unit, range and step.
///
/// # Errors
/// None that data could cause.
#[wasm_bindgen]
pub fn describe() -> Result<JsValue, JsValue> {
    to_js(&counterpoise_plan::describe())
}

/// A new plan's text.
#[wasm_bindgen]
#[must_use]
pub fn blank() -> String {
    counterpoise_plan::to_json(&counterpoise_plan::Plan::default())
}

/// Reads a plan file and writes it again in canonical form.
///
/// # Errors
/// Throws `{code, subject, values}`; so does everything below that reads a plan.
#[wasm_bindgen]
pub fn open(text: &[u8]) -> Result<String, JsValue> {
    Ok(counterpoise_plan::to_json(&memo::read(text).map_err(refusal)?.plan))
}

/// The text of a plan that may be passed on: without name, notes, answers, signatures and the keys of photos.
///
/// # Errors
/// As [`open`].
#[wasm_bindgen]
pub fn shareable(plan: &[u8]) -> Result<String, JsValue> {
    Ok(counterpoise_plan::to_json(&memo::read(plan).map_err(refusal)?.plan.shareable()))
}

/// The next plan's text. The edit is JSON text.
///
/// # Errors
/// Where the edit is refused; the plan stays as it was.
#[wasm_bindgen]
pub fn apply(plan: &[u8], edit: &str) -> Result<String, JsValue> {
    Ok(memo::edited(plan, edit).map_err(refusal)?.text().as_ref().to_owned())
}

/// Whether a plan takes an edit, which is JSON text. What is asked of the two next is quick.
///
/// # Errors
/// As [`apply`].
#[wasm_bindgen]
pub fn attempt(plan: &[u8], edit: &str) -> Result<(), JsValue> {
    memo::edited(plan, edit).map_err(refusal)?;
    Ok(())
}

/// Whether two plans, each with an edit, have the same drawing and numbers, told without making either.
///
/// # Errors
/// Where one of them is unreadable.
#[wasm_bindgen(js_name = sameFrame)]
pub fn same_frame(one: &[u8], one_edit: &str, other: &[u8], other_edit: &str) -> Result<bool, JsValue> {
    let one = memo::edited(one, one_edit).map_err(refusal)?;
    let other = memo::edited(other, other_edit).map_err(refusal)?;
    Ok(counterpoise_plan::same_frame(&one.plan, &other.plan))
}

/// The numbers of a plan.
///
/// # Errors
/// Where the plan is unreadable.
#[wasm_bindgen]
pub fn report(plan: &[u8]) -> Result<JsValue, JsValue> {
    to_js(&memo::read(plan).map_err(refusal)?.report())
}

/// The numbers that are shown beside a drawing at every frame: a part of the report. The plan is read with an edit.
///
/// # Errors
/// Where plan or edit are unreadable.
#[wasm_bindgen]
pub fn glance(plan: &[u8], edit: &str) -> Result<JsValue, JsValue> {
    to_js(memo::edited(plan, edit).map_err(refusal)?.glance())
}

/// What a drawing gives back.
#[derive(Serialize)]
struct Drawn<'a> {
    /// Their ids.
    handles: Vec<&'a str>,
    image_from_face: Option<[f64; 6]>,
    screen_from_face: Option<[f64; 6]>,
    bounds: Option<[f64; 4]>,
    inks: [&'static str; 9],
    words: Vec<String>,
}

/// How a plan with an edit is drawn, one call for each animation frame: `[{handles, image_from_face, screen_from_face, bounds, inks,
/// words}, marks, places]`. The page's painter plays the marks with inks and words; `bounds` is in the view's base frame. `handles` are ids, and for
/// each of them `places` has four numbers: CSS px from the left and top edge, mm outward and up (`NaN` without a frame).
///
/// # Errors
/// Where plan, edit or view are unreadable.
#[wasm_bindgen]
pub fn draw(plan: &[u8], edit: &str, view: &str) -> Result<Vec<JsValue>, JsValue> {
    let known = memo::edited(plan, edit).map_err(refusal)?;
    let view = View::of(view).map_err(|error| unreadable(&error))?;
    let scene = known.scene();
    let posed = view
        .pose
        .as_ref()
        .and_then(|pose| memo::on_last(|last| counterpoise_plan::scene_in_pose(last, &known.plan, pose)));
    let scene = posed.as_ref().unwrap_or(scene);
    let handles = view.placed_handles(scene);
    let marks = paint(scene, &view, &handles);
    let places: Vec<f64> = handles.iter().flat_map(PlacedHandle::place).collect();
    let drawn = to_js(&Drawn {
        handles: handles.iter().map(|handle| handle.id.as_str()).collect(),
        image_from_face: scene.image_from_face,
        screen_from_face: view.screen_from_face(scene).map(kurbo::Affine::as_coeffs),
        bounds: view.bounds(scene),
        inks: Palette::of(view.theme).inks(),
        words: marks.words,
    })?;
    Ok(vec![drawn, Float32Array::new(&marks.numbers).into(), Float64Array::new(&places).into()])
}

/// The plan as SVG text, true to the millimetre.
///
/// # Errors
/// Where plan or options are unreadable.
#[wasm_bindgen]
pub fn svg(plan: &[u8], options: &str) -> Result<String, JsValue> {
    let known = memo::read(plan).map_err(refusal)?;
    let options: SvgOptions = from_json(options)?;
    Ok(counterpoise_plan::svg(&known.plan, &options))
}

/// How far a client's wishes go: `edit` is a `wish` as JSON text. Gives the wishes at which the sliders come to rest.
///
/// # Errors
/// As for the edit itself.
#[wasm_bindgen(js_name = wishesHeld)]
pub fn wishes_held(plan: &[u8], edit: &str) -> Result<JsValue, JsValue> {
    let known = memo::read(plan).map_err(refusal)?;
    let edit = counterpoise_plan::read_edit(edit).map_err(refusal)?;
    let counterpoise_plan::Edit::Wish { base, before, wishes } = edit else {
        return Err(JsValue::from_str("no wish"));
    };
    to_js(&counterpoise_plan::wishes_held(&known.plan, &base, &before, &wishes).map_err(refusal)?)
}

/// A number as it is shown everywhere, without its unit.
#[wasm_bindgen]
#[must_use]
pub fn shown(unit: &str, value: f64) -> String {
    counterpoise_plan::shown(unit, value)
}

/// A difference as it is shown everywhere, with its sign, without its unit.
#[wasm_bindgen]
#[must_use]
pub fn shown_signed(unit: &str, value: f64) -> String {
    counterpoise_plan::shown_signed(unit, value)
}

/// The state of the gesture reducer after these events, and what the stage is to do: `{is_editing, state, commands}`.
/// `state` is the text that the last call gave, or empty at first; `events` and `context` are JSON text.
///
/// # Errors
/// Where an event or the context is unreadable.
#[wasm_bindgen]
pub fn gesture(state: &str, events: &str, context: &str) -> Result<JsValue, JsValue> {
    #[derive(Serialize)]
    struct Next {
        is_editing: bool,
        state: String,
        commands: Vec<Command>,
    }
    let state: GestureState = if state.is_empty() { GestureState::default() } else { from_json(state)? };
    let events: Vec<Event> = from_json(events)?;
    let context: Context = from_json(context)?;
    let (state, commands) = crate::gesture::gesture(state, &events, &context);
    to_js(&Next { is_editing: state.is_editing(), state: write(&state), commands })
}

/// The edit that a stroke over the photo asks for: a new trace or a stretch of the old one. `side` is `right` or `left`;
/// the points are `x, y, x, y, …`.
///
/// # Errors
/// Where the plan or the side is unreadable.
#[wasm_bindgen]
pub fn stroke_edit(plan: &[u8], side: &str, points_px: &[f64], reach_px: f64) -> Result<JsValue, JsValue> {
    let known = memo::read(plan).map_err(refusal)?;
    let Some(side) = Side::BOTH.into_iter().find(|each| each.name() == side) else {
        return Err(JsValue::from_str("no such side"));
    };
    to_js(&edit_of_stroke(&known.plan, side, points_px.as_chunks().0, reach_px))
}

/// Panics on purpose, so that the way back from a trap can be tested. Nothing else calls it.
#[wasm_bindgen]
pub fn trap_for_test() {
    #[expect(clippy::panic, reason = "the purpose")]
    {
        panic!("a trap on purpose");
    }
}

/// The error of the core as the object that JavaScript catches.
pub(crate) fn refusal(error: PlanError) -> JsValue {
    to_js(&error).unwrap_or_else(|_| JsValue::from_str(error.code))
}

/// What the page itself got wrong; no user can cause it.
fn unreadable(error: &Misread) -> JsValue {
    JsValue::from_str(&error.to_string())
}

pub(crate) fn from_json<T: Read>(text: &str) -> Result<T, JsValue> {
    read(text).map_err(|error| unreadable(&error))
}

/// Plain objects, arrays and `null`. One call for the whole value costs the browser less than one for each part.
pub(crate) fn to_js<T: Serialize + ?Sized>(value: &T) -> Result<JsValue, JsValue> {
    parse_json(&write(value))
}
