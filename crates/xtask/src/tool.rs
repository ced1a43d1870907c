//! Tools of cargo's that are no part of the project: installed into the target folder when they are first wanted, always the same version.

use std::path::PathBuf;

use crate::Problem;
use crate::command::{cargo, run, target_dir};

/// The program of a tool, by the name of its crate.
///
/// # Errors
/// Where it cannot be installed.
pub fn installed(name: &str, version: &str) -> Result<PathBuf, Problem> {
    let home = target_dir().join("tools").join(format!("{name}-{version}"));
    let program = home.join("bin").join(format!("{name}{}", std::env::consts::EXE_SUFFIX));
    if !program.is_file() {
        let mut install = cargo();
        // Its build is no part of the project's.
        install.env("CARGO_TARGET_DIR", home.join("build"));
        run(install.args(["install", name, "--version", version, "--locked", "--root"]).arg(&home))?;
        let _ = std::fs::remove_dir_all(home.join("build"));
    }
    Ok(program)
}
