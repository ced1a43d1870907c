//! `counterpoise sheet`.

use std::fs;
use std::path::{Path, PathBuf};

use counterpoise_geometry::Pose;
use counterpoise_sheet::{Paper, Sheet, SheetOptions, csv, pdf, svg};

use crate::Failure;
use crate::input::read_plan;
use crate::messages::{self, refusal};

/// Where the sheet goes; nothing is written for a way that is absent.
pub struct Ways<'a> {
    /// The whole sheet.
    pub pdf: Option<&'a Path>,
    /// The page at 1:1; further pages get a number before the ending.
    pub svg: Option<&'a Path>,
    /// The numbers.
    pub csv: Option<&'a Path>,
}

/// How it is to be.
pub struct Wishes<'a> {
    pub paper: Paper,
    pub mirrored: bool,
    /// `couch`, or the id of a pose.
    pub pose: Option<&'a str>,
    pub date: &'a str,
    pub printed_bar_mm: Option<f64>,
}

/// Lays the plan out and writes it down.
pub fn run(plan: &Path, ways: &Ways, wishes: &Wishes) -> Result<(), Failure> {
    if ways.pdf.is_none() && ways.svg.is_none() && ways.csv.is_none() {
        return Err("name a file to write: --pdf, --svg or --csv".into());
    }
    let plan = read_plan(plan)?;
    let sheet = Sheet::of(
        &plan,
        &SheetOptions {
            paper: wishes.paper,
            mirrored: wishes.mirrored,
            date: wishes.date,
            printed_bar_mm: wishes.printed_bar_mm,
            pose: wishes.pose.map(|pose| if pose == "couch" { Pose::COUCH.id() } else { pose }),
            words: messages::all(),
        },
    )
    .map_err(|error| refusal(&error))?;
    if !sheet.missing.is_empty() {
        let letters: String = sheet.missing.iter().collect();
        eprintln!("counterpoise: the font has no letters for: {letters}");
    }
    let write = |path: &Path, bytes: &[u8]| {
        fs::write(path, bytes).map_err(|error| format!("{}: {error}", path.display()))
    };
    if let Some(path) = ways.pdf {
        write(path, &pdf(&sheet))?;
    }
    if let Some(path) = ways.svg {
        for (index, page) in sheet.pages.iter().enumerate() {
            write(&numbered(path, index), svg(page).as_bytes())?;
        }
    }
    if let Some(path) = ways.csv {
        write(path, csv(&sheet).as_bytes())?;
    }
    Ok(())
}

/// `sheet.svg`, `sheet-2.svg`, …
fn numbered(path: &Path, index: usize) -> PathBuf {
    if index == 0 {
        return path.to_owned();
    }
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let ending = path.extension().map(|ending| format!(".{}", ending.to_string_lossy())).unwrap_or_default();
    path.with_file_name(format!("{stem}-{}{ending}", index + 1))
}
