//! The whole page as one HTML file: for a disk, a frame without an origin, or a course's server.

use std::io::Write;
use std::path::Path;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use flate2::Compression;
use flate2::write::DeflateEncoder;
use serde_json::{Map, Value};
use sha2::{Digest, Sha256};

use crate::link::linked;
use crate::shrink::classic_script;
use crate::{Problem, release};

/// What the script begins with: the page, and the workers that it starts from its own text.
const ENTRIES: [&str; 2] = ["js/main.js", "js/balance_worker.js"];
/// Photo assist stays out: its network would make the file twice as large. The page says that it is not there.
const LEFT_OUT: [&str; 1] = ["js/face_worker.js"];
/// Folder of the style sheets, of which the page loads some later.
const STYLES: &str = "css";
/// What the page reads when it wants it, below its folder.
const FILES: [&str; 5] = [
    "pkg/licences.json",
    "pkg/counterpoise_web_bg.wasm",
    "pkg/balance/counterpoise_web_balance_bg.wasm",
    "pkg/sheet/counterpoise_web_sheet_bg.wasm",
    "pkg/teaching/counterpoise_web_teaching_bg.wasm",
];
/// Folders whose files it reads, by ending.
const FOLDERS: [(&str, &[&str]); 2] = [("messages", &["json"]), ("demo", &["json", "svg"])];

/// One file of a page that was written with [`release::write`] into a folder. `more` are files beside those of the folder: path and text.
///
/// # Errors
/// Where the page has something that cannot be put into one file.
pub fn single(site: &Path, more: &[(&str, &str)]) -> Result<String, Problem> {
    let read = |path: &str| std::fs::read(site.join(path)).map_err(|error| format!("{path}: {error}"));
    let text_of = |path: &str| {
        read(path).and_then(|bytes| String::from_utf8(bytes).map_err(|error| format!("{path}: {error}")))
    };
    let script = classic_script(&linked(site, &ENTRIES, &LEFT_OUT)?)?;
    for closing in ["</script", "<!--"] {
        if script.contains(closing) {
            return Err(format!("the script has {closing} in it, which would end it"));
        }
    }

    let markup = text_of("index.html")?;
    let mut styles = String::new();
    let mut named = Vec::new();
    let mut head = Vec::new();
    for line in markup.lines() {
        if let Some(path) = release::style_sheet(line) {
            styles.push_str(&text_of(path)?);
            named.push(path.to_owned());
            continue;
        }
        match line.trim_start() {
            // The policy of files that lie beside the page is no policy for one file.
            tag if ["<link", "<script", "<meta http-equiv"].iter().any(|start| tag.starts_with(start)) => {}
            _ => head.push(line),
        }
    }
    let mut later = Vec::new();
    release::collect(&site.join(STYLES), &mut later).map_err(|error| format!("{STYLES}: {error}"))?;
    later.sort();
    for path in later {
        let path = path.strip_prefix(site).unwrap_or(&path).to_string_lossy().replace('\\', "/");
        if !named.contains(&path) {
            styles.push_str(&text_of(&path)?);
        }
    }
    if styles.contains("url(") || styles.contains("</style") {
        return Err("a style sheet names another file".into());
    }
    let markup = head.join("\n");

    let mut files = Map::new();
    for path in FILES {
        files.insert(path.into(), packed(&read(path)?)?);
    }
    for (folder, endings) in FOLDERS {
        let mut found = Vec::new();
        release::collect(&site.join(folder), &mut found).map_err(|error| format!("{folder}: {error}"))?;
        found.sort();
        for path in found {
            let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default();
            let name = path.strip_prefix(site).unwrap_or(&path).to_string_lossy().replace('\\', "/");
            if endings.contains(&ending) {
                files.insert(name.clone(), packed(&read(&name)?)?);
            }
        }
    }
    for (path, text) in more {
        files.insert((*path).into(), packed(text.as_bytes())?);
    }
    let files = Value::Object(files).to_string();

    let sum = |text: &str| format!("'sha256-{}'", STANDARD.encode(Sha256::digest(text.as_bytes())));
    let policy = format!(
        "default-src 'none'; script-src {} 'wasm-unsafe-eval'; style-src {}; img-src blob: data:; worker-src blob:; base-uri 'none'; form-action 'none'; require-trusted-types-for 'script'; trusted-types counterpoise",
        sum(&script),
        sum(&styles)
    );
    let (before, after) =
        markup.split_once("<meta charset=\"utf-8\">").ok_or("the page does not say its encoding")?;
    let page = format!(
        "{before}<meta charset=\"utf-8\">\n  <meta http-equiv=\"Content-Security-Policy\" content=\"{policy}\">\n  <link rel=\"icon\" href=\"data:,\">\n  <style>{styles}</style>{after}"
    );
    let (body, end) = page.rsplit_once("</body>").ok_or("the page has no end")?;
    Ok(format!(
        "{body}<script type=\"application/json\" id=\"counterpoise-files\">{files}</script>\n<script>{script}</script>\n</body>{end}\n"
    ))
}

/// Bytes deflated (RFC 1951), as letters: a third of what they are. Nothing in that is markup.
fn packed(bytes: &[u8]) -> Result<Value, Problem> {
    let mut encoder = DeflateEncoder::new(Vec::new(), Compression::best());
    let deflated = encoder.write_all(bytes).and_then(|()| encoder.finish());
    deflated.map(|bytes| STANDARD.encode(bytes).into()).map_err(|error| error.to_string())
}
