//! Photo assist for the page, as a module of its own: who places every point by hand never loads it.
//!
//! Stateless like `counterpoise-web`: each call gets the network's file and the pixels.

use counterpoise_plan::notation::write;
use counterpoise_vision::{Face, Network, NoFace, OUTPUTS, Picture};
use kurbo::Point;
use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

/// Panics reach the console with their place in the source.
#[wasm_bindgen(start)]
pub fn start() {
    console_error_panic_hook::set_once();
}

/// Channels of a canvas's pixels: red, green, blue and opacity.
const CHANNELS: usize = 4;

/// What is guessed of the face on a picture, as JSON text: `{"points": [{"id", "x_px", "y_px", "sd_px", "is_seed"}], "score", "brows": {"right":
/// {"outline_px", "sd_px", "front_px", "arch_px", "tail_px", "doubts", "skin_lightness"}, "left"}}`, a brow null where its hair was not found. `pupils` are the client's right and left
/// one as `x, y, x, y` in px, or empty where they are to be found as well.
///
/// # Errors
/// Throws why there is nothing, as a text: `damaged` where the network's file is, `no_picture`, or the id of a [`NoFace`].
#[wasm_bindgen(js_name = findFace)]
pub fn find_face(
    weights: &[u8],
    rgba: &[u8],
    width: usize,
    height: usize,
    pupils: &[f64],
    mirrored: bool,
) -> Result<String, JsValue> {
    let network = Network::read(weights, &OUTPUTS).map_err(|_| JsValue::from_str("damaged"))?;
    let picture =
        Picture::new(rgba, width, height, CHANNELS).ok_or_else(|| JsValue::from_str("no_picture"))?;
    let no_face = |problem: NoFace| JsValue::from_str(problem.id());
    let pupils = match *pupils {
        [right_x, right_y, left_x, left_y] => {
            Some([Point::new(right_x, right_y), Point::new(left_x, left_y)])
        }
        _ => None,
    };
    let face = Face::find(&network, &picture, pupils, mirrored).map_err(no_face)?;
    Ok(write(&face.guess(&picture)))
}
