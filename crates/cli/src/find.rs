//! `find`: landmarks of a face and the hair of its brows from a photo, as a first guess.

use std::fmt::Write;
use std::path::Path;

use counterpoise_geometry::{PerSide, Side};
use counterpoise_vision::{BrowHair, Face, Guess, Network, NoFace, OUTPUTS, Picture};
use image::{DynamicImage, ImageDecoder, ImageReader};
use kurbo::Point;
use serde::Serialize;

use crate::messages::{printable, text};
use crate::{Failure, folder};

/// What is looked at in a folder.
const ENDINGS: [&str; 3] = ["jpg", "jpeg", "png"];

/// How photos are to be looked at.
pub struct Wishes<'a> {
    /// The network's file.
    pub weights: &'a Path,
    /// The client's right and left pupil, px, where they were tapped.
    pub pupils: Option<[f64; 4]>,
    /// The photos show her as in a mirror.
    pub mirrored: bool,
    /// JSON in place of a table; a line for each photo of a folder.
    pub json: bool,
}

/// What was found on one photo.
#[derive(Serialize)]
struct Found<'a> {
    photo: &'a str,
    #[serde(flatten)]
    seen: Option<Seen>,
    /// Why there is nothing: `pupils`, `not_seen`, `eyes_closed`, `turned`, `two_faces`, `other_network` or `unreadable`.
    problem: Option<&'static str>,
}

/// What is on a photo of a face.
#[derive(Serialize)]
struct Seen {
    #[serde(flatten)]
    guess: Guess,
    /// What the network says of each brow, px: an upper and a lower row from the tail to the front, from which its hair is looked for.
    brow_rows_px: PerSide<[[[f64; 2]; 5]; 2]>,
}

/// Looks at a photo, or at every photo of a folder; writes what it found.
///
/// # Errors
/// Where the network or the only photo cannot be used.
pub fn run(photo: &Path, wishes: &Wishes) -> Result<String, Failure> {
    let file = wishes.weights.display();
    let bytes = std::fs::read(wishes.weights).map_err(|error| {
        format!(
            "{file}: {error}. The face network is fetched by `cargo xtask weights`, which says where it is."
        )
    })?;
    let network = Network::read(&bytes, &OUTPUTS).map_err(|error| format!("{file}: {error}"))?;
    if !photo.is_dir() {
        let found = look(&network, photo, wishes).map_err(|problem| sentence(photo, problem))?;
        return Ok(written(photo, Ok(found), wishes.json));
    }
    let lines = folder::each(photo, &ENDINGS, "photo", |path| {
        written(path, look(&network, path, wishes), wishes.json)
    })?;
    Ok(lines.into_iter().map(|(_, line)| line).collect())
}

/// Red, green and blue of a photo, turned as its EXIF part says.
fn read(photo: &Path) -> Option<DynamicImage> {
    let mut decoder = ImageReader::open(photo).ok()?.with_guessed_format().ok()?.into_decoder().ok()?;
    let orientation = decoder.orientation().ok()?;
    let mut picture = DynamicImage::from_decoder(decoder).ok()?;
    picture.apply_orientation(orientation);
    Some(picture)
}

/// The code of a photo that cannot be read.
const UNREADABLE: &str = "unreadable";

fn look(network: &Network, photo: &Path, wishes: &Wishes) -> Result<Seen, &'static str> {
    let pixels = read(photo).ok_or(UNREADABLE)?.to_rgb8();
    let (width, height) = (pixels.width() as usize, pixels.height() as usize);
    let picture = Picture::new(pixels.as_raw(), width, height, 3).ok_or(UNREADABLE)?;
    let pupils = wishes
        .pupils
        .map(|[right_x, right_y, left_x, left_y]| [Point::new(right_x, right_y), Point::new(left_x, left_y)]);
    let face = Face::find(network, &picture, pupils, wishes.mirrored).map_err(NoFace::id)?;
    Ok(Seen {
        guess: face.guess(&picture),
        brow_rows_px: PerSide::from_fn(|side| face.brow_rows(side).map(|row| row.map(|at| [at.x, at.y]))),
    })
}

/// What the page says of it, too.
fn sentence(photo: &Path, problem: &str) -> String {
    let key = if problem == UNREADABLE { "photo.undecodable".to_owned() } else { format!("find.{problem}") };
    format!("{}: {}", printable(&photo.display().to_string()), text(&key))
}

fn written(photo: &Path, found: Result<Seen, &'static str>, json: bool) -> String {
    let name = photo.display().to_string();
    if json {
        let problem = found.as_ref().err().copied();
        let line = serde_json::to_string(&Found { photo: &name, seen: found.ok(), problem });
        return line.unwrap_or_default() + "\n";
    }
    let mut out = String::new();
    // A string takes every write.
    match found {
        Err(problem) => {
            let _ = writeln!(out, "{}", sentence(photo, problem));
        }
        Ok(Seen { guess: found, .. }) => {
            let _ = writeln!(out, "{name}: a face, {:.0} % sure", 100.0 * found.score);
            for point in &found.points {
                let place = if point.is_seed { "  (place it yourself)" } else { "" };
                let _ = writeln!(
                    out,
                    "  {:<20} {:>8.1} {:>8.1} ± {:.1} px{place}",
                    point.id, point.x_px, point.y_px, point.sd_px
                );
            }
            for side in Side::BOTH {
                let _ = writeln!(out, "  {}", brow_line(side, found.brows.get(side).as_ref()));
            }
        }
    }
    out
}

/// One brow in a line: where its hair ends, and what speaks against it.
fn brow_line(side: Side, hair: Option<&BrowHair>) -> String {
    let key = format!("side.{}", side.name());
    let brow = text(&key);
    let Some(hair) = hair else { return format!("{brow}: {}", text("find.no_hair")) };
    let xs = hair.outline_px.iter().map(|at| at[0]);
    let (from, to) = (xs.clone().fold(f64::INFINITY, f64::min), xs.fold(f64::NEG_INFINITY, f64::max));
    let mut line = format!("{brow}: {} ({from:.0} … {to:.0} ± {:.1} px)", text("find.hair"), hair.sd_px);
    for doubt in &hair.doubts {
        line.push_str("; ");
        line.push_str(text(&format!("find.doubt.{}", doubt.id())));
    }
    line
}
