//! `cargo xtask demo`: writes the demo case anew, or says whether it is what the generator draws.

use std::fs;

use crate::{Problem, command, demo};

/// Writes every file of the demo; with `check` only compares.
pub fn run(check: bool) -> Result<(), Problem> {
    let folder = command::root().join("demo");
    fs::create_dir_all(&folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    for (name, content) in demo::files() {
        let path = folder.join(name);
        if fs::read(&path).is_ok_and(|old| old == content.as_bytes()) {
            println!("demo/{name} is up to date ({} bytes)", content.len());
        } else if check {
            return Err(format!("demo/{name} differs from what is drawn: run `cargo xtask demo`"));
        } else {
            fs::write(&path, &content).map_err(|e| format!("{}: {e}", path.display()))?;
            println!("demo/{name} written ({} bytes)", content.len());
        }
    }
    Ok(())
}
