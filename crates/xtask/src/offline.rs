//! What the page keeps for days without a network: a release's list of files with their sums, written into its service worker.

use std::path::Path;

use serde_json::{Value, json};

use crate::pinned::sum_of;
use crate::{Problem, release};

/// Where the worker has its list.
const EMPTY: &str = "const RELEASE={version:``,files:[]};";
/// Files and folders of a release that the page itself never reads.
const ASIDE: [&str; 4] = ["sw.js", "embed.js", "schema/", "demo/pictures/"];
/// So many digits of a sum tell two releases apart.
const VERSION_DIGITS: usize = 16;

/// Writes the list into the worker of a page that [`release::write`] wrote, and the release's version into the page, which registers the worker by it.
///
/// # Errors
/// Where the page or its worker is not as expected.
pub fn keep(site: &Path) -> Result<(), Problem> {
    let failed = |path: &str, error: &dyn std::fmt::Display| format!("{path}: {error}");
    let mut found = Vec::new();
    release::collect(site, &mut found).map_err(|error| failed("release", &error))?;
    let mut names: Vec<String> = found
        .iter()
        .filter_map(|path| Some(path.strip_prefix(site).ok()?.to_string_lossy().replace('\\', "/")))
        .filter(|name| !ASIDE.iter().any(|aside| name.starts_with(aside)))
        .collect();
    names.sort();
    let read = |name: &str| std::fs::read(site.join(name)).map_err(|error| failed(name, &error));
    let read_text = |name: &str| {
        read(name).and_then(|bytes| String::from_utf8(bytes).map_err(|error| failed(name, &error)))
    };

    // The version is in the page, whose own sum comes after.
    let mut sums = String::new();
    for name in &names {
        sums.push_str(&format!("{} {name}\n", sum_of(&read(name)?)));
    }
    sums.push_str(&sum_of(&read("sw.js")?));
    let version: String = sum_of(sums.as_bytes()).chars().take(VERSION_DIGITS).collect();
    let page = read_text("index.html")?;
    let stamped = page.replacen("<html ", &format!("<html data-release=\"{version}\" "), 1);
    if stamped == page {
        return Err("the page has no beginning".into());
    }
    std::fs::write(site.join("index.html"), stamped).map_err(|error| failed("index.html", &error))?;

    let mut files = Vec::new();
    for name in &names {
        let bytes = read(name)?;
        files.push(json!([name, bytes.len(), sum_of(&bytes)]));
    }
    let release = json!({ "version": version, "files": Value::Array(files) });
    let worker = read_text("sw.js")?;
    if !worker.contains(EMPTY) {
        return Err(format!("sw.js has no {EMPTY}"));
    }
    std::fs::write(site.join("sw.js"), worker.replacen(EMPTY, &format!("const RELEASE={release};"), 1))
        .map_err(|error| failed("sw.js", &error))
}
