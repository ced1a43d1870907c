//! `cargo xtask release`: the page as plain files.

use std::path::{Path, PathBuf};

use crate::command::root;
use crate::pinned::sum_of;
use crate::shrink::shrunk;
use crate::{Problem, page, single};

/// The whole page as one file.
pub const ONE_FILE: &str = "counterpoise.html";

/// Builds `dist/` anew and lists what is in it, with sizes and sums, in `dist/files.txt` and on the screen.
///
/// # Errors
/// Where the build or the copying fails.
pub fn run() -> Result<(), Problem> {
    page::build()?;
    let dist = root().join("dist");
    write(&dist)?;
    let failed = |error: std::io::Error| format!("cannot write {}: {error}", dist.display());
    // The sheet's module carries a font, whose licence goes wherever it goes.
    for (folder, name) in [("", "LICENSE-APACHE"), ("", "LICENSE-MIT"), ("crates/sheet", "LICENSE-DEJAVU")] {
        std::fs::copy(root().join(folder).join(name), dist.join(name)).map_err(failed)?;
    }
    std::fs::write(dist.join(ONE_FILE), single::single(&dist, &[])?).map_err(failed)?;
    let list = listing(&dist).map_err(failed)?;
    std::fs::write(dist.join("files.txt"), &list).map_err(failed)?;
    print!("{list}");
    println!("The page is in dist/; put it on any static host, or hand on {ONE_FILE} alone.");
    Ok(())
}

/// Writes the built page with its demo into a folder, emptied first, as visitors get it.
///
/// # Errors
/// Where the copying fails, or a script cannot be read.
pub fn write(folder: &Path) -> Result<(), Problem> {
    if folder.exists() {
        std::fs::remove_dir_all(folder)
            .map_err(|error| format!("cannot empty {}: {error}", folder.display()))?;
    }
    copy(&root().join("www"), folder)?;
    copy(&root().join("demo"), &folder.join("demo"))
}

/// One line a file: sum, bytes, path; sorted, so that two builds of the same sources can be compared.
fn listing(dist: &Path) -> std::io::Result<String> {
    let mut files = Vec::new();
    collect(dist, &mut files)?;
    let mut lines = Vec::new();
    for file in files {
        let bytes = std::fs::read(&file)?;
        let sum = sum_of(&bytes);
        let path = file.strip_prefix(dist).unwrap_or(&file).to_string_lossy().replace('\\', "/");
        lines.push((path.clone(), format!("{sum} {:>9} {path}\n", bytes.len())));
    }
    lines.sort();
    Ok(lines.into_iter().map(|(_, line)| line).collect())
}

/// Every file below a folder.
///
/// # Errors
/// Where a folder cannot be listed.
pub fn collect(dir: &Path, files: &mut Vec<PathBuf>) -> std::io::Result<()> {
    for entry in std::fs::read_dir(dir)? {
        let path = entry?.path();
        if path.is_dir() { collect(&path, files)? } else { files.push(path) }
    }
    Ok(())
}

fn copy(from: &Path, to: &Path) -> Result<(), Problem> {
    let failed = |path: &Path, error: std::io::Error| format!("cannot copy {}: {error}", path.display());
    std::fs::create_dir_all(to).map_err(|error| failed(to, error))?;
    if !from.is_dir() {
        return Ok(());
    }
    for entry in std::fs::read_dir(from).map_err(|error| failed(from, error))? {
        let path = entry.map_err(|error| failed(from, error))?.path();
        let Some(name) = path.file_name() else { continue };
        if path.is_dir() {
            copy(&path, &to.join(name))?;
        } else {
            let content = std::fs::read(&path).map_err(|error| failed(&path, error))?;
            std::fs::write(to.join(name), shrunk(&path, content)?).map_err(|error| failed(&path, error))?;
        }
    }
    Ok(())
}
