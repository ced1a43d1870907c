//! Files of natural brow outlines: `{"outlines": [{"id", "side", "outline_mm": [[out, up], …]}, …]}`, mm, each brow in
//! its own side's frame; other fields are ignored.

use std::fs;
use std::path::Path;

use counterpoise_geometry::{Contour, Side};
use kurbo::Point;
use serde::Deserialize;

/// Larger files are not read: 81 brows are 0.2 MB.
const MAX_BYTES: u64 = 25_000_000;

/// One natural brow of a file.
pub struct Brow {
    /// Whose, as the file calls it.
    pub id: String,
    /// The client's side.
    pub side: Side,
    /// Its edge, or why it is none.
    pub contour: Result<Contour, String>,
}

#[derive(Deserialize)]
struct File {
    outlines: Vec<Entry>,
}

#[derive(Deserialize)]
struct Entry {
    id: String,
    side: EntrySide,
    outline_mm: Vec<[f64; 2]>,
}

#[derive(Deserialize)]
enum EntrySide {
    #[serde(rename = "client_right")]
    Right,
    #[serde(rename = "client_left")]
    Left,
}

/// The name of a side in such files.
pub fn side_name(side: Side) -> &'static str {
    match side {
        Side::Right => "client_right",
        Side::Left => "client_left",
    }
}

/// Reads a file of outlines. A brow that is no closed simple line is reported in its place, not as a failure.
pub fn read(path: &Path) -> Result<Vec<Brow>, String> {
    let name = path.display();
    let size = fs::metadata(path).map_err(|error| format!("cannot read {name}: {error}"))?.len();
    if size > MAX_BYTES {
        return Err(format!("{name} has {size} bytes; files over {MAX_BYTES} bytes are not read"));
    }
    let text = fs::read_to_string(path).map_err(|error| format!("cannot read {name}: {error}"))?;
    let file: File = serde_json::from_str(&text)
        .map_err(|error| format!("{name} is not a file of brow outlines: {error}"))?;
    Ok(file.outlines.into_iter().map(brow).collect())
}

fn brow(entry: Entry) -> Brow {
    let points = entry.outline_mm.iter().map(|&[out, up]| Point::new(out, up)).collect();
    Brow {
        id: entry.id,
        side: match entry.side {
            EntrySide::Right => Side::Right,
            EntrySide::Left => Side::Left,
        },
        contour: Contour::try_new(points).map_err(|error| error.to_string()),
    }
}
