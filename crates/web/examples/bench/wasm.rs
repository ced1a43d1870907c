//! The timed work as a module of its own, so that the page's module carries nothing that only a benchmark needs.

use counterpoise_geometry::{BalanceProblem, Contour, NaturalSide, PerSide, fit_outline};
use counterpoise_plan::REMOVED_LIMITS_PCT;
use kurbo::Point;
use wasm_bindgen::prelude::*;

mod work;

/// As in the page's module.
#[cfg(target_family = "wasm")]
#[global_allocator]
static MEMORY: talc::wasm::WasmDynamicTalc = talc::wasm::new_wasm_dynamic_allocator();

/// Report and scene, so many times.
#[wasm_bindgen]
pub fn frames(plan: &str, times: u32) -> Result<f64, String> {
    Ok(work::frames(&work::upright(&work::plan(plan)?), times))
}

/// The same with what is recorded of other poses.
#[wasm_bindgen]
pub fn posed_frames(plan: &str, times: u32) -> Result<f64, String> {
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

/// What an independent library computes as well.
#[wasm_bindgen]
pub struct Common(work::Common);

#[wasm_bindgen]
impl Common {
    /// From the texts of `shapes.json`, `fit-scipy.json` and `balance-slsqp.json`.
    #[wasm_bindgen(constructor)]
    pub fn new(shapes: &str, brow: &str, balance: &str) -> Result<Common, String> {
        work::Common::read(shapes, brow, balance).map(Common)
    }

    /// How many pairs there are.
    pub fn pairs(&self) -> u32 {
        self.0.pairs()
    }

    /// Areas of every pair, so many times.
    pub fn areas(&self, times: u32) -> f64 {
        self.0.areas(times)
    }

    /// One fit, so many times.
    pub fn fit(&self, times: u32) -> Result<f64, String> {
        self.0.fit(times)
    }

    /// One balance, so many times: the numbers of both outlines.
    pub fn balance(&self, times: u32) -> Result<Vec<f64>, String> {
        self.0.balance(times)
    }
}

/// The balance curves of two natural brows for these limits of added skin, %, with both fits. Each brow is `out, up,
/// out, up, …`, mm. Gives the sum of all asymmetries.
#[wasm_bindgen]
pub fn curves(right: &[f64], left: &[f64], added_pct: &[f64]) -> Result<f64, String> {
    let natural = |flat: &[f64]| {
        let points = flat.as_chunks().0.iter().map(|&[out, up]| Point::new(out, up)).collect();
        let contour = Contour::try_new(points).map_err(|error| error.to_string())?;
        let outline = *fit_outline(&contour).map_err(|error| error.to_string())?.outline.params();
        Ok::<_, String>(NaturalSide { contour, outline })
    };
    let problem = BalanceProblem::new(PerSide { right: natural(right)?, left: natural(left)? });
    let curves = problem.curves(added_pct, &REMOVED_LIMITS_PCT).map_err(|error| error.to_string())?;
    Ok(curves.iter().flatten().map(|point| point.balanced.asymmetry_mm).sum())
}
