//! Packages for courses: SCORM 1.2 with one SCO for each set of lessons and exercises, which is the whole page in one file.
//!
//! The manifest is that of ADL's *Content Aggregation Model* 1.2 (IMS Content Packaging 1.1.2 with ADL's own names).

use std::io::{Cursor, Write};
use std::path::Path;

use serde_json::{Value, json};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use crate::command::root;
use crate::single::single;
use crate::{Problem, release};

/// How the names of sets end.
const SET: &str = ".set.json";
/// Beside the page: which set it is handed out for (`www/js/main.js`).
const HANDED_OUT: &str = "course.json";

/// Every set of a written page as a package: file name and bytes.
///
/// # Errors
/// Where a set cannot be read, or the page does not go into one file.
pub fn packages(site: &Path) -> Result<Vec<(String, Vec<u8>)>, Problem> {
    let mut files = Vec::new();
    release::collect(&site.join("demo"), &mut files).map_err(|error| error.to_string())?;
    files.sort();
    let sets = files.into_iter().filter(|file| file.to_string_lossy().ends_with(SET));
    sets.map(|file| {
        let text = std::fs::read_to_string(&file).map_err(|error| format!("{}: {error}", file.display()))?;
        let set: Value =
            serde_json::from_str(&text).map_err(|error| format!("{}: {error}", file.display()))?;
        let id = set["id"].as_str().filter(|id| file.ends_with(format!("demo/{id}{SET}")));
        let id = id.ok_or_else(|| format!("{}: the id is not the file's name", file.display()))?;
        let page = single(site, &[(HANDED_OUT, &json!({ "set": id }).to_string())])?;
        let manifest = manifest(id, set["title"].as_str().unwrap_or(id), set["pass"].as_f64());
        Ok((format!("{id}.scorm12.zip"), packed(&manifest, &page)?))
    })
    .collect()
}

fn packed(manifest: &str, page: &str) -> Result<Vec<u8>, Problem> {
    let failed = |error: &dyn std::fmt::Display| format!("cannot pack: {error}");
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    // The same bytes on every day and every machine.
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(DateTime::default());
    let mut add = |name: &str, bytes: &[u8]| {
        zip.start_file(name, options).map_err(|error| failed(&error))?;
        zip.write_all(bytes).map_err(|error| failed(&error))
    };
    add("imsmanifest.xml", manifest.as_bytes())?;
    add("index.html", page.as_bytes())?;
    for (folder, name) in release::LICENCES {
        let text = std::fs::read(root().join(folder).join(name)).map_err(|error| failed(&error))?;
        add(name, &text)?;
    }
    Ok(zip.finish().map_err(|error| failed(&error))?.into_inner())
}

fn manifest(id: &str, title: &str, pass: Option<f64>) -> String {
    let title = escaped(title);
    let mastery = pass
        .map_or(String::new(), |pass| format!("\n        <adlcp:masteryscore>{pass}</adlcp:masteryscore>"));
    let licences: String =
        release::LICENCES.iter().map(|(_, name)| format!("\n      <file href=\"{name}\"/>")).collect();
    format!(
        r#"<?xml version="1.0" encoding="UTF-8"?>
<manifest identifier="counterpoise-{id}" version="1.0"
    xmlns="http://www.imsproject.org/xsd/imscp_rootv1p1p2"
    xmlns:adlcp="http://www.adlnet.org/xsd/adlcp_rootv1p2"
    xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"
    xsi:schemaLocation="http://www.imsproject.org/xsd/imscp_rootv1p1p2 imscp_rootv1p1p2.xsd http://www.adlnet.org/xsd/adlcp_rootv1p2 adlcp_rootv1p2.xsd">
  <metadata>
    <schema>ADL SCORM</schema>
    <schemaversion>1.2</schemaversion>
  </metadata>
  <organizations default="organization">
    <organization identifier="organization">
      <title>{title}</title>
      <item identifier="item" identifierref="page" isvisible="true">
        <title>{title}</title>{mastery}
      </item>
    </organization>
  </organizations>
  <resources>
    <resource identifier="page" type="webcontent" adlcp:scormtype="sco" href="index.html">
      <file href="index.html"/>{licences}
    </resource>
  </resources>
</manifest>
"#
    )
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
