//! The weights of the face network, which photo assist runs.
//!
//! They are fetched and not committed: 2.5 MB of numbers under the Apache License 2.0, inside a package of the Python registry.

use std::path::PathBuf;
use std::process::Command;

use crate::command::{run, target_dir};
use crate::{Problem, pinned};

const PACKAGE: &str = "mediapipe";
const VERSION: &str = "0.10.14";
/// Where the package has them.
const MEMBER: &str = "mediapipe/modules/face_landmark/face_landmark_with_attention.tflite";
/// Of the file itself, so that the same network runs everywhere.
const SHA256: &str = "e06a804e0144f9929eda782122916b35d60c697c3c9344013ca2bbe76a6ce2b4";
/// One of the package's builds; the weights are the same in each.
const BUILD: [&str; 4] = ["--platform", "manylinux2014_x86_64", "--python-version", "3.11"];

/// The file's path, fetched once into the target folder.
///
/// # Errors
/// Where it cannot be fetched or is not what was pinned.
pub fn fetch() -> Result<PathBuf, Problem> {
    let folder = target_dir().join("face-network").join(VERSION);
    let file = folder.join("face.tflite");
    if !file.is_file() {
        std::fs::create_dir_all(&folder)
            .map_err(|error| format!("cannot make {}: {error}", folder.display()))?;
        run(Command::new("python3")
            .current_dir(&folder)
            .args(["-m", "pip", "download", "--quiet", "--disable-pip-version-check", "--no-deps"])
            .args(["--only-binary=:all:", "--dest", "."])
            .args(BUILD)
            .arg(format!("{PACKAGE}=={VERSION}")))?;
        let package = std::fs::read_dir(&folder)
            .map_err(|error| format!("cannot list {}: {error}", folder.display()))?
            .filter_map(Result::ok)
            .map(|entry| entry.path())
            .find(|path| path.extension().is_some_and(|ending| ending == "whl"))
            .ok_or("the package with the face network did not arrive")?;
        run(Command::new("python3")
            .current_dir(&folder)
            .args(["-m", "zipfile", "-e"])
            .arg(&package)
            .arg("all"))?;
        std::fs::rename(folder.join("all").join(MEMBER), &file)
            .map_err(|error| format!("the package has no {MEMBER}: {error}"))?;
        // The rest of the package is a hundred times larger than what is wanted of it.
        let _ = std::fs::remove_dir_all(folder.join("all"));
        let _ = std::fs::remove_file(&package);
    }
    pinned::check(&file, SHA256)?;
    Ok(file)
}
