//! Every file of a kind in a folder, one after the other.

use std::path::{Path, PathBuf};

use indicatif::{ProgressBar, ProgressStyle};

use crate::Failure;

/// What is made of each file in the folder whose name ends in one of these, in the order of their names. `what` says what kind of file is looked for.
///
/// # Errors
/// Where the folder cannot be listed, or has no such file.
pub fn each<T>(
    folder: &Path,
    endings: &[&str],
    what: &str,
    mut act: impl FnMut(&Path) -> T,
) -> Result<Vec<(PathBuf, T)>, Failure> {
    let name = folder.display();
    let list = std::fs::read_dir(folder).map_err(|error| format!("{name}: {error}"))?;
    let is_one = |path: &PathBuf| {
        let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
        ending.is_some_and(|ending| endings.contains(&ending.as_str()))
    };
    let mut files: Vec<PathBuf> =
        list.filter_map(Result::ok).map(|entry| entry.path()).filter(is_one).collect();
    files.sort();
    if files.is_empty() {
        return Err(format!("{name}: no {what} in this folder"));
    }
    // On the error channel, so that the answer can be piped; silent where that is no terminal.
    let bar = ProgressBar::new(files.len() as u64);
    if let Ok(style) = ProgressStyle::with_template("{bar:40} {pos}/{len} {wide_msg}") {
        bar.set_style(style);
    }
    let made = files
        .into_iter()
        .map(|file| {
            bar.set_message(file.file_name().unwrap_or_default().to_string_lossy().into_owned());
            let made = act(&file);
            bar.inc(1);
            (file, made)
        })
        .collect();
    bar.finish_and_clear();
    Ok(made)
}
