//! Running other programs.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::Problem;

/// The top of the project.
pub fn root() -> PathBuf {
    // Two levels above this crate, always.
    Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).unwrap_or(Path::new(".")).to_path_buf()
}

/// Where cargo puts what it builds.
pub fn target_dir() -> PathBuf {
    match std::env::var_os("CARGO_TARGET_DIR") {
        Some(dir) => root().join(dir),
        None => root().join("target"),
    }
}

/// Cargo itself, to be run at the top of the project.
pub fn cargo() -> Command {
    let mut command = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command.current_dir(root());
    command
}

/// Prints and runs a command.
///
/// # Errors
/// Where it cannot be started or does not end well.
pub fn run(command: &mut Command) -> Result<(), Problem> {
    let line = shown(command);
    println!("$ {line}");
    let status = command.status().map_err(|error| format!("cannot run `{line}`: {error}"))?;
    if status.success() { Ok(()) } else { Err(format!("`{line}` failed ({status})")) }
}

/// True where a command ends well; prints nothing.
pub fn succeeds(command: &mut Command) -> bool {
    command
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|status| status.success())
}

/// What a command prints, without the white space at its ends; `None` where it fails.
pub fn output(command: &mut Command) -> Option<String> {
    let output = command.stderr(Stdio::null()).output().ok()?;
    output.status.success().then(|| String::from_utf8_lossy(&output.stdout).trim().to_owned())
}

/// Where a program lies on the search path.
pub fn find(program: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path).map(|dir| dir.join(program)).find(|file| file.is_file())
}

fn shown(command: &Command) -> String {
    let words = std::iter::once(command.get_program()).chain(command.get_args());
    let program_name = |word: &std::ffi::OsStr| {
        let name = Path::new(word).file_name().unwrap_or(word);
        name.to_string_lossy().into_owned()
    };
    words
        .enumerate()
        .map(
            |(index, word)| if index == 0 { program_name(word) } else { word.to_string_lossy().into_owned() },
        )
        .collect::<Vec<_>>()
        .join(" ")
}
