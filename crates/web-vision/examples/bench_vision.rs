//! Parts of photo assist to be timed in the browser; never part of the page.

use counterpoise_vision::{Face, Network, OUTPUTS, Picture};
use wasm_bindgen::prelude::wasm_bindgen;

/// A face that is looked at again and again.
#[wasm_bindgen]
pub struct Timed {
    network: Network,
    rgba: Vec<u8>,
    size: [usize; 2],
    /// The whole picture as the network takes it.
    square: Vec<f32>,
}

#[wasm_bindgen]
impl Timed {
    /// The network's file, and a picture as red, green, blue and opacity.
    ///
    /// # Errors
    /// Where either is broken.
    #[wasm_bindgen(constructor)]
    pub fn new(weights: &[u8], rgba: &[u8], width: usize, height: usize) -> Result<Timed, String> {
        let network = Network::read(weights, &OUTPUTS).map_err(|error| error.to_string())?;
        let mut timed = Timed { network, rgba: rgba.to_vec(), size: [width, height], square: Vec::new() };
        let [side, ..] = timed.network.input_shape();
        let scale = width as f64 / side as f64;
        timed.square = timed.picture()?.square(side, kurbo::Affine::scale(scale));
        Ok(timed)
    }

    fn picture(&self) -> Result<Picture<'_>, String> {
        Picture::new(&self.rgba, self.size[0], self.size[1], 4).ok_or_else(|| "no picture".to_owned())
    }

    /// One run of the network.
    ///
    /// # Errors
    /// Where the picture is broken.
    pub fn run(&self) -> Result<f32, String> {
        let values = self.network.run(&self.square).map_err(|error| error.to_string())?;
        Ok(values.iter().flatten().sum())
    }

    /// The hair of both brows, the face being known.
    ///
    /// # Errors
    /// Where there is no face.
    pub fn hair(&self, times: usize) -> Result<Vec<f64>, String> {
        let picture = self.picture()?;
        let no_face = |problem: counterpoise_vision::NoFace| problem.id().to_owned();
        let face = Face::find(&self.network, &picture, None, false).map_err(no_face)?;
        let mut spent = Vec::with_capacity(times);
        for _ in 0..times {
            let start = now();
            let brows = face.brows(&picture);
            spent.push(now() - start);
            if brows.both().is_none() {
                return Err("no hair".to_owned());
            }
        }
        Ok(spent)
    }
}

#[wasm_bindgen]
extern "C" {
    /// Milliseconds of the page's own clock.
    #[wasm_bindgen(js_namespace = performance)]
    fn now() -> f64;
}
