//! Files of a release that are compressed beforehand, for hosts that hand those out as they lie there. What a host compresses
//! while somebody waits for it is a twentieth more.

use std::io::Write;
use std::path::Path;

use flate2::Compression;
use flate2::write::GzEncoder;

use crate::{Problem, release};

/// What such a host puts behind the name of a file to find it.
const ENDING: &str = "gz";
/// Kinds that gain by it. Pictures and packages are compressed already, and what is fetched by programs of a host's own is no page.
const KINDS: [&str; 8] = ["css", "html", "js", "json", "svg", "tflite", "wasm", "webmanifest"];

/// A file by gzip (RFC 1952) as small as is known to be possible in a few seconds.
///
/// # Errors
/// None that data could cause.
pub fn packed(content: &[u8]) -> Result<Vec<u8>, Problem> {
    let mut made = Vec::new();
    zopfli::compress(zopfli::Options::default(), zopfli::Format::Gzip, content, &mut made)
        .map_err(|error| format!("cannot compress: {error}"))?;
    Ok(made)
}

/// The same as a host does it on the way, at its best.
///
/// # Errors
/// None that data could cause.
pub fn packed_at_once(content: &[u8]) -> Result<Vec<u8>, Problem> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder
        .write_all(content)
        .and_then(|()| encoder.finish())
        .map_err(|error| format!("cannot compress: {error}"))
}

/// Writes each file of a site a second time, compressed, where that is less.
///
/// # Errors
/// Where a file cannot be read or written.
pub fn beside(site: &Path) -> Result<(), Problem> {
    let failed = |path: &Path, error: std::io::Error| format!("{}: {error}", path.display());
    let mut files = Vec::new();
    release::collect(site, &mut files).map_err(|error| failed(site, error))?;
    for file in files {
        let Some(ending) = file.extension().and_then(|ending| ending.to_str()) else { continue };
        if !KINDS.contains(&ending) {
            continue;
        }
        let content = std::fs::read(&file).map_err(|error| failed(&file, error))?;
        let made = packed(&content)?;
        if made.len() < content.len() {
            let to = file.with_extension(format!("{ending}.{ENDING}"));
            std::fs::write(&to, made).map_err(|error| failed(&to, error))?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::io::Read;

    use flate2::read::GzDecoder;

    use super::*;

    #[test]
    fn file_beside_is_the_same_and_less_than_on_the_way() {
        let folder = std::env::temp_dir().join(format!("counterpoise-ready-{}", std::process::id()));
        std::fs::create_dir_all(folder.join("js")).unwrap();
        let text: String =
            (0..3000).map(|n| format!("const a{n} = b({}, \"{}\");\n", n * n % 97, n % 13)).collect();
        std::fs::write(folder.join("js/main.js"), &text).unwrap();
        std::fs::write(folder.join("js/short.js"), "a").unwrap();
        std::fs::write(folder.join("face.png"), &text).unwrap();
        beside(&folder).unwrap();
        let made = std::fs::read(folder.join("js/main.js.gz")).unwrap();
        let is_there = ["js/short.js.gz", "face.png.gz", "js/main.gz"].map(|name| folder.join(name).exists());
        std::fs::remove_dir_all(&folder).unwrap();
        assert_eq!(is_there, [false; 3]);
        let mut back = String::new();
        GzDecoder::new(made.as_slice()).read_to_string(&mut back).unwrap();
        assert_eq!(back, text);
        assert!(made.len() < packed_at_once(text.as_bytes()).unwrap().len());
    }
}
