//! What the page is made of that others wrote, with their licences: a file that the page shows, and a bill of materials for a release.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::{Value, json};

use crate::command::{cargo, output, root, run};
use crate::page::{WASM_TARGET, module_packages};
use crate::{Problem, tool};

/// Where the page finds the list, below its package folder.
pub const FILE: &str = "licences.json";
/// How the names of licence files begin, in capitals.
const BEGINNINGS: [&str; 5] = ["LICENSE", "LICENCE", "COPYING", "NOTICE", "UNLICENSE"];
/// The tool that writes the bill of materials (CycloneDX, ECMA-424) and the version that is used.
const BILL_TOOL: (&str, &str) = ("cargo-cyclonedx", "0.5.9");
/// The same moment for every run: a bill says what is in a release, not when it was made.
const MOMENT: &str = "1970-01-01T00:00:00.000000000Z";

/// Parts of the page that are no crate: name, licence (SPDX), and the file of its text below the project.
const OTHERS: [(&str, &str, &str); 3] = [
    ("The Rust standard library", "MIT OR Apache-2.0", "LICENSE-APACHE"),
    ("DejaVu Sans", "Bitstream-Vera", "crates/sheet/LICENSE-DEJAVU"),
    ("Face mesh with attention, network weights", "Apache-2.0", "LICENSE-APACHE"),
];

/// Writes the list of parts into a folder: `{"parts": [{"name", "version", "licence", "texts"}], "texts": [..]}`, `texts` of a part being
/// places in the list of texts, as many parts have the same.
///
/// # Errors
/// Where cargo cannot tell the parts, or a text cannot be read.
pub fn write(folder: &Path) -> Result<(), Problem> {
    let mut texts: Vec<String> = Vec::new();
    let mut place_of = |text: String| match texts.iter().position(|known| *known == text) {
        Some(place) => place,
        None => {
            texts.push(text);
            texts.len() - 1
        }
    };
    let mut parts = Vec::new();
    for (name, licence, file) in OTHERS {
        let text = read(&root().join(file))?;
        parts.push(json!({ "name": name, "version": "", "licence": licence, "texts": [place_of(text)] }));
    }
    for part in crates()? {
        let mut places = Vec::new();
        for file in licence_files(&part.folder)? {
            places.push(place_of(read(&file)?));
        }
        parts.push(
            json!({ "name": part.name, "version": part.version, "licence": part.licence, "texts": places }),
        );
    }
    let list = json!({ "parts": parts, "texts": texts });
    let to = folder.join(FILE);
    std::fs::write(&to, list.to_string()).map_err(|error| format!("cannot write {}: {error}", to.display()))
}

/// A crate that others wrote and that is in one of the page's modules.
struct Part {
    name: String,
    version: String,
    licence: String,
    folder: PathBuf,
}

/// Every crate of others that is compiled into the page's modules, by name: neither what only builds them nor what only writes code of theirs.
fn crates() -> Result<Vec<Part>, Problem> {
    let mut tree = cargo();
    tree.args(["tree", "--locked", "--target", WASM_TARGET, "--edges", "normal,no-proc-macro"])
        .args(["--prefix", "none", "--no-dedupe", "--format", "{p}"])
        .args(module_packages().iter().flat_map(|package| ["--package", package]));
    let tree = output(&mut tree).ok_or("cargo tree fails")?;
    let compiled: BTreeSet<&str> = tree.lines().collect();
    // Only this says where a crate's files are.
    let known = output(cargo().args(["metadata", "--format-version", "1", "--locked"]))
        .ok_or("cargo metadata fails")?;
    let known: Value = serde_json::from_str(&known).map_err(|error| format!("cargo metadata: {error}"))?;
    let word = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let mut parts: Vec<Part> = known["packages"]
        .as_array()
        .into_iter()
        .flatten()
        // What has no source is the project's own.
        .filter(|package| !package["source"].is_null())
        .map(|package| Part {
            name: word(&package["name"]),
            version: word(&package["version"]),
            licence: word(&package["license"]),
            folder: PathBuf::from(word(&package["manifest_path"]))
                .parent()
                .map(Path::to_path_buf)
                .unwrap_or_default(),
        })
        .filter(|part| compiled.contains(format!("{} v{}", part.name, part.version).as_str()))
        .collect();
    parts.sort_by(|one, other| (&one.name, &one.version).cmp(&(&other.name, &other.version)));
    if parts.is_empty() { Err("cargo tree names no crate of the page".into()) } else { Ok(parts) }
}

fn licence_files(folder: &Path) -> Result<Vec<PathBuf>, Problem> {
    let entries =
        std::fs::read_dir(folder).map_err(|error| format!("cannot list {}: {error}", folder.display()))?;
    let mut files: Vec<PathBuf> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| {
            let name = path.file_name().unwrap_or_default().to_string_lossy().to_uppercase();
            path.is_file() && BEGINNINGS.iter().any(|beginning| name.starts_with(beginning))
        })
        .collect();
    files.sort();
    Ok(files)
}

/// A text with the ends of lines of one system.
fn read(file: &Path) -> Result<String, Problem> {
    let bytes = std::fs::read(file).map_err(|error| format!("cannot read {}: {error}", file.display()))?;
    Ok(String::from_utf8_lossy(&bytes).replace("\r\n", "\n").trim().to_owned())
}

/// Writes the bill of materials of each of the page's modules into a folder, with nothing in it that differs from run to run or from machine to machine.
///
/// # Errors
/// Where the tool cannot be installed or fails.
pub fn write_bills(folder: &Path) -> Result<(), Problem> {
    let program = tool::installed(BILL_TOOL.0, BILL_TOOL.1)?;
    std::fs::create_dir_all(folder).map_err(|error| format!("cannot make {}: {error}", folder.display()))?;
    let name = "bill-of-materials";
    let mut command = Command::new(&program);
    command.current_dir(root()).args([
        "cyclonedx",
        "--format",
        "json",
        "--spec-version",
        "1.5",
        "--target",
        WASM_TARGET,
        "--override-filename",
        name,
    ]);
    run(&mut command)?;
    // The tool writes one beside every manifest of the workspace.
    let manifests = [root().join("tests")];
    let crates =
        std::fs::read_dir(root().join("crates")).into_iter().flatten().flatten().map(|entry| entry.path());
    for package in crates.chain(manifests) {
        let made = package.join(format!("{name}.json"));
        let Ok(text) = std::fs::read_to_string(&made) else { continue };
        let _ = std::fs::remove_file(&made);
        let of = package.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if !module_packages().contains(&format!("counterpoise-{of}").as_str()) {
            continue;
        }
        let to = folder.join(format!("{of}.cdx.json"));
        std::fs::write(&to, same_everywhere(&text)?)
            .map_err(|error| format!("cannot write {}: {error}", to.display()))?;
    }
    Ok(())
}

/// A bill without its number and moment, and without the folders of this machine.
fn same_everywhere(text: &str) -> Result<String, Problem> {
    let mut bill: Value =
        serde_json::from_str(text).map_err(|error| format!("bill of materials: {error}"))?;
    if let Some(members) = bill.as_object_mut() {
        members.remove("serialNumber");
    }
    if let Some(head) = bill["metadata"].as_object_mut() {
        head.insert("timestamp".into(), json!(MOMENT));
    }
    let text = serde_json::to_string_pretty(&bill).map_err(|error| format!("bill of materials: {error}"))?;
    Ok(text.replace(&root().to_string_lossy().into_owned(), ".") + "\n")
}
