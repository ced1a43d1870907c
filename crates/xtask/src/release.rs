//! `cargo xtask release`: the page as plain files.

use std::path::{Path, PathBuf};

use crate::command::{root, target_dir};
use crate::pinned::sum_of;
use crate::shrink::shrunk;
use crate::{Problem, licences, link, offline, page, ready, scorm, single};

/// The whole page as one file.
const ONE_FILE: &str = "counterpoise.html";
/// The scripts that the page begins with, in one.
const FIRST_SCRIPT: &str = "js/first.js";
/// Its style sheets likewise, by the name of the first.
const FIRST_STYLE: &str = "style.css";
/// How the page names a style sheet, and asks for its first script before it is run.
const STYLE: &str = r#"<link rel="stylesheet" href=""#;
const PRELOAD: &str = r#"<link rel="modulepreload" href="js/main.js">"#;
/// Folder of the bills of materials, one for each of the page's modules.
const BILLS: &str = "bills-of-materials";
/// Folder and name of each licence that goes wherever the page goes; the last is that of the sheet's font.
pub const LICENCES: [(&str, &str); 3] =
    [("", "LICENSE-APACHE"), ("", "LICENSE-MIT"), ("crates/sheet", "LICENSE-DEJAVU")];

/// Builds `dist/` anew and lists what is in it, with sizes and sums, in `dist/files.txt` and on the screen.
///
/// # Errors
/// Where the build or the copying fails.
pub fn run(twice: bool) -> Result<(), Problem> {
    let list = make()?;
    print!("{list}");
    if twice {
        same_again(&list)?;
    }
    println!("The page is in dist/; put it on any static host, or hand on {ONE_FILE} alone.");
    println!("For a course's server: each *.scorm12.zip.");
    Ok(())
}

/// Builds all of it again with nothing left of the first build, and compares.
fn same_again(list: &str) -> Result<(), Problem> {
    page::forget()?;
    let again = make()?;
    let differing: Vec<&str> =
        list.lines().filter(|line| !again.lines().any(|other| other == *line)).collect();
    if differing.is_empty() && list.len() == again.len() {
        println!("Built twice from nothing: {} files, all the same.", list.lines().count());
        return Ok(());
    }
    Err(format!("built twice, these came out another way:\n{}", differing.join("\n")))
}

/// Builds `dist/` anew; the list of what is in it.
fn make() -> Result<String, Problem> {
    page::build()?;
    let dist = root().join("dist");
    write(&dist)?;
    // Beside the page only after its list is made: neither is for a visitor to keep.
    let packed = target_dir().join("packed");
    if packed.exists() {
        std::fs::remove_dir_all(&packed)
            .map_err(|error| format!("cannot empty {}: {error}", packed.display()))?;
    }
    write_packed(&dist, &packed)?;
    finish(&dist)?;
    ready::beside(&dist)?;
    copy(&packed, &dist)?;
    licences::write_bills(&dist.join(BILLS))?;
    let failed = |error: std::io::Error| format!("cannot write {}: {error}", dist.display());
    for (folder, name) in LICENCES {
        std::fs::copy(root().join(folder).join(name), dist.join(name)).map_err(failed)?;
    }
    let list = listing(&dist).map_err(failed)?;
    std::fs::write(dist.join("files.txt"), &list).map_err(failed)?;
    Ok(list)
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

/// Makes a page that [`write`] wrote ready for a host: what it begins with in few files, and kept without a network.
///
/// # Errors
/// Where the page is not as expected, or the folder cannot be written.
pub fn finish(site: &Path) -> Result<(), Problem> {
    join(site)?;
    offline::keep(site)
}

/// The style sheet that this line of the page names.
#[must_use]
pub fn style_sheet(line: &str) -> Option<&str> {
    line.trim_start().strip_prefix(STYLE)?.split('"').next()
}

/// Puts the scripts that a page begins with into one, and its style sheets: fewer ways to the host, and a fifth less to load.
///
/// # Errors
/// As [`finish`].
pub fn join(site: &Path) -> Result<(), Problem> {
    link::join(site, "js/main.js", FIRST_SCRIPT)?;
    let failed = |path: &str, error: std::io::Error| format!("{path}: {error}");
    let read = |path: &str| std::fs::read_to_string(site.join(path)).map_err(|error| failed(path, error));
    let mut styles = String::new();
    let mut page = String::new();
    for line in read("index.html")?.lines() {
        if let Some(path) = style_sheet(line) {
            styles.push_str(&read(path)?);
            std::fs::remove_file(site.join(path)).map_err(|error| failed(path, error))?;
            if path == FIRST_STYLE {
                page.push_str(&format!("{line}\n"));
            }
        } else {
            page.push_str(
                &line.replace(
                    PRELOAD,
                    &format!("{PRELOAD}\n  {}", PRELOAD.replace("js/main.js", FIRST_SCRIPT)),
                ),
            );
            page.push('\n');
        }
    }
    if styles.is_empty() || !page.contains(FIRST_SCRIPT) || !page.contains(FIRST_STYLE) {
        return Err("index.html does not begin as it did".into());
    }
    std::fs::write(site.join(FIRST_STYLE), styles).map_err(|error| failed(FIRST_STYLE, error))?;
    std::fs::write(site.join("index.html"), page).map_err(|error| failed("index.html", error))
}

/// Writes a page that [`write`] wrote as one file, and as a package for each set of lessons, into a folder.
///
/// # Errors
/// Where it cannot be put into one file, or the folder not be written.
pub fn write_packed(site: &Path, folder: &Path) -> Result<(), Problem> {
    let failed = |error: std::io::Error| format!("cannot write {}: {error}", folder.display());
    let (one, packages) = (single::single(site, &[])?, scorm::packages(site)?);
    std::fs::create_dir_all(folder).map_err(failed)?;
    std::fs::write(folder.join(ONE_FILE), one).map_err(failed)?;
    packages
        .into_iter()
        .try_for_each(|(name, bytes)| std::fs::write(folder.join(name), bytes).map_err(failed))
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
