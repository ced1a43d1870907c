//! `counterpoise fit`: outlines fitted to the natural brows of a file.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::Path;

use counterpoise_geometry::{Contour, OutlineFit, Param, fit_outline};
use serde::Serialize;

use crate::outlines::{self, Brow};

/// One line of the JSON output.
#[derive(Serialize)]
struct Line<'a> {
    id: &'a str,
    side: &'static str,
    /// By the id of the parameter; mm, degrees and bare numbers as in a plan file.
    params: Option<BTreeMap<&'static str, f64>>,
    mean_mm: Option<f64>,
    hausdorff_mm: Option<f64>,
    valid: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    error: Option<String>,
}

/// Fits every brow of the file: one JSON line each, or a table. Brows that have no outline are reported in their
/// line; only a file that cannot be read is a failure.
pub fn run(path: &Path, json: bool) -> Result<String, String> {
    let brows = outlines::read(path)?;
    let mut text = String::new();
    if !json {
        text.push_str("id        side          mean mm  Hausdorff mm\n");
    }
    for brow in &brows {
        let fit = brow.contour.as_ref().map_err(Clone::clone).and_then(fit);
        let row = if json { json_line(brow, &fit)? } else { table_line(brow, &fit) };
        text.push_str(&row);
        text.push('\n');
    }
    Ok(text)
}

fn fit(contour: &Contour) -> Result<OutlineFit, String> {
    fit_outline(contour).map_err(|error| error.to_string())
}

fn json_line(brow: &Brow, fit: &Result<OutlineFit, String>) -> Result<String, String> {
    let good = fit.as_ref().ok();
    let line = Line {
        id: &brow.id,
        side: outlines::side_name(brow.side),
        params: good.map(|fit| {
            Param::ALL.iter().map(|info| (info.id, fit.outline.params().get(info.param))).collect()
        }),
        mean_mm: good.map(|fit| fit.mean_mm),
        hausdorff_mm: good.map(|fit| fit.hausdorff_mm),
        // An outline exists only where it was proved valid; its polygon is tested once more, by other means.
        valid: good.is_some_and(|fit| Contour::try_new(fit.outline.contour().points().to_vec()).is_ok()),
        error: fit.as_ref().err().cloned(),
    };
    serde_json::to_string(&line).map_err(|error| format!("cannot write {}: {error}", brow.id))
}

fn table_line(brow: &Brow, fit: &Result<OutlineFit, String>) -> String {
    let mut line = format!("{:<8}  {:<12}", brow.id, outlines::side_name(brow.side));
    // Writing to a String cannot fail.
    let _ = match fit {
        Ok(fit) => write!(line, "  {:>7.3}  {:>12.3}", fit.mean_mm, fit.hausdorff_mm),
        Err(error) => write!(line, "  {error}"),
    };
    line
}
