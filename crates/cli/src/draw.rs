//! `counterpoise draw`.

use std::fs;
use std::path::Path;

use counterpoise_plan::{SvgOptions, Theme, svg};

use crate::Failure;
use crate::input::read_plan;
use crate::messages;

/// Draws the plan into the SVG file.
pub fn run(plan: &Path, out: &Path, theme: Theme) -> Result<(), Failure> {
    let plan = read_plan(plan)?;
    let options = SvgOptions { theme, texts: messages::all().clone(), ..SvgOptions::default() };
    fs::write(out, svg(&plan, &options)).map_err(|error| format!("{}: {error}", out.display()))
}
