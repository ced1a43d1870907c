//! axe-core, the accessibility checker that the acceptance tests inject into the page.
//!
//! It is fetched and not committed: 650 kB under another licence (MPL-2.0), used by tests only.

use std::path::PathBuf;
use std::process::Command;

use crate::command::{run, target_dir};
use crate::{Problem, pinned};

const VERSION: &str = "4.14.1";
/// Of the package file, so that the same rules run everywhere and nothing else runs at all.
const SHA256: &str = "e6b0ce02b84d892e2e33e403485e7f3d6c29e2be6df65daf44d89ba564139745";

/// The script's path, fetched once into the target folder.
///
/// # Errors
/// Where it cannot be fetched or is not what was pinned.
pub fn fetch() -> Result<PathBuf, Problem> {
    let folder = target_dir().join("axe-core").join(VERSION);
    let package = folder.join(format!("axe-core-{VERSION}.tgz"));
    std::fs::create_dir_all(&folder).map_err(|error| format!("cannot make {}: {error}", folder.display()))?;
    if !package.is_file() {
        run(Command::new("npm").current_dir(&folder).args([
            "pack",
            "--silent",
            &format!("axe-core@{VERSION}"),
        ]))?;
    }
    pinned::check(&package, SHA256)?;
    run(Command::new("tar").current_dir(&folder).args(["-xzf"]).arg(&package).arg("package/axe.min.js"))?;
    Ok(folder.join("package/axe.min.js"))
}
