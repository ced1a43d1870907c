//! What `cargo xtask test page` tells the tests.

use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

use super::Failure;

/// The page's address, with a slash at its end.
#[must_use]
pub fn page_address() -> String {
    named("COUNTERPOISE_PAGE")
}

/// The address of another site, with a slash at its end: `tests/fixtures/site`, with the page as it is handed on below `packed/` and `planner/`.
#[must_use]
pub fn site_address() -> String {
    named("COUNTERPOISE_SITE")
}

/// The folder of the page as it is handed on: one file, and packages for courses.
#[must_use]
pub fn packed_dir() -> PathBuf {
    named("COUNTERPOISE_PACKED").into()
}

/// The folder of two releases, `one` and `two`.
#[must_use]
pub fn releases_dir() -> PathBuf {
    named("COUNTERPOISE_RELEASES").into()
}

/// The accessibility checker's script.
pub(super) fn axe_script() -> Result<String, Failure> {
    Ok(std::fs::read_to_string(named("COUNTERPOISE_AXE"))?)
}

/// Where screenshots go: `target/shots`.
///
/// # Errors
/// Where it cannot be made.
pub fn shots_dir() -> Result<PathBuf, Failure> {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("../target/shots");
    std::fs::create_dir_all(&dir)?;
    Ok(dir)
}

/// What the command-line program reports of a plan, as data.
///
/// # Errors
/// Where it refuses the plan, in its own words.
pub fn cli_report(plan: &str, name: &str) -> Result<Value, Failure> {
    Ok(serde_json::from_str(&cli(plan, name, &["--json"])?)?)
}

/// What the command-line program prints of a plan.
///
/// # Errors
/// Where it refuses the plan, in its own words.
pub fn cli_text(plan: &str, name: &str) -> Result<String, Failure> {
    cli(plan, name, &[])
}

/// A file that the command-line program makes of a plan's sheet: `way` is `--pdf`, `--svg` or `--csv`.
///
/// # Errors
/// Where it refuses the plan, in its own words.
pub fn cli_sheet(plan: &str, name: &str, way: &str, options: &[&str]) -> Result<Vec<u8>, Failure> {
    let file = shots_dir()?.join(format!("{name}{way}"));
    let path = file.to_string_lossy().into_owned();
    let options: Vec<&str> = [way, path.as_str()].into_iter().chain(options.iter().copied()).collect();
    run_cli("sheet", plan, name, &options)?;
    Ok(std::fs::read(&file)?)
}

/// What the command-line program makes of what was handed in for an exercise, which is named from the top of the project.
///
/// # Errors
/// Where it refuses one of them, in its own words.
pub fn cli_mark(exercise: &str, handed_in: &str, name: &str) -> Result<Value, Failure> {
    let file = shots_dir()?.join(format!("{name}.submission.json"));
    std::fs::write(&file, handed_in)?;
    let exercise = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(exercise);
    let output = Command::new(named("COUNTERPOISE_CLI"))
        .arg("mark")
        .arg(exercise)
        .arg(&file)
        .arg("--json")
        .output()?;
    if output.status.success() {
        Ok(as_javascript(serde_json::from_slice(&output.stdout)?))
    } else {
        Err(String::from_utf8_lossy(&output.stderr).into_owned().into())
    }
}

/// JSON as JavaScript tells it to the driver: numbers without a fraction are whole.
fn as_javascript(value: Value) -> Value {
    match value {
        Value::Number(number) => match number.as_f64() {
            Some(float) if float.fract() == 0.0 && float.abs() < 1e15 => Value::from(float as i64),
            _ => Value::Number(number),
        },
        Value::Array(list) => list.into_iter().map(as_javascript).collect(),
        Value::Object(map) => map.into_iter().map(|(key, value)| (key, as_javascript(value))).collect(),
        other => other,
    }
}

fn cli(plan: &str, name: &str, options: &[&str]) -> Result<String, Failure> {
    run_cli("report", plan, name, options)
}

fn run_cli(command: &str, plan: &str, name: &str, options: &[&str]) -> Result<String, Failure> {
    let file = shots_dir()?.join(format!("{name}.counterpoise.json"));
    std::fs::write(&file, plan)?;
    let output = Command::new(named("COUNTERPOISE_CLI")).arg(command).arg(&file).args(options).output()?;
    if output.status.success() {
        Ok(String::from_utf8(output.stdout)?)
    } else {
        Err(String::from_utf8_lossy(&output.stderr).into_owned().into())
    }
}

fn named(variable: &str) -> String {
    std::env::var(variable).unwrap_or_else(|_| panic!("{variable} is not set: run `cargo xtask test page`"))
}

/// Bytes of a base64 text.
///
/// # Errors
/// Where it is none.
pub fn from_base64(text: &str) -> Result<Vec<u8>, Failure> {
    Ok(base64::Engine::decode(&base64::engine::general_purpose::STANDARD, text)?)
}
