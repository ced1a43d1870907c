//! `mark`: how near plans come to the goals of an exercise.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use counterpoise_plan::{shown, shown_signed};
use counterpoise_teaching::{Item, Mark, Marker, TeachingError, read_exercise, read_submission};
use serde::Serialize;

use crate::input::{read_text, within_size};
use crate::messages::{printable, refusal, text};
use crate::{Failure, folder};

/// One submission's result, as a line of JSON.
#[derive(Serialize)]
struct Line<'a> {
    file: &'a str,
    #[serde(flatten)]
    mark: Option<&'a Mark>,
    /// Why it was not marked.
    problem: Option<String>,
}

/// Marks a file, as a table, or every JSON file of a folder, as CSV.
///
/// # Errors
/// Where the exercise or the only submission cannot be read.
pub fn run(exercise: &Path, handed_in: &Path, json: bool) -> Result<String, Failure> {
    let name = exercise.display();
    let marker = Marker::new(
        read_exercise(&read_text(exercise)?).map_err(|error| format!("{name}: {}", sentence(&error)))?,
    );
    if !handed_in.is_dir() {
        let mark = marked(&marker, handed_in)?;
        return if json { line(handed_in, &Ok(mark)) } else { Ok(table(&mark)) };
    }
    let marks = folder::each(handed_in, &["json"], "JSON file", |file| marked(&marker, file))?;
    if json {
        return marks.iter().map(|(file, mark)| line(file, mark)).collect();
    }
    csv(marker.exercise().goals.len(), &marks)
}

fn marked(marker: &Marker, file: &Path) -> Result<Mark, Failure> {
    within_size(file)?;
    let handed_in = read_submission(&read_text(file)?);
    let mark = handed_in.and_then(|handed_in| marker.mark(&handed_in));
    mark.map_err(|error| format!("{}: {}", file.display(), sentence(&error)))
}

fn line(file: &Path, mark: &Result<Mark, Failure>) -> Result<String, Failure> {
    let name = file.display().to_string();
    let line = Line { file: &name, mark: mark.as_ref().ok(), problem: mark.as_ref().err().cloned() };
    serde_json::to_string(&line).map(|line| line + "\n").map_err(|error| error.to_string())
}

/// `file`, `score`, the marks of each goal, `problem`: RFC 4180.
fn csv(goals: usize, marks: &[(PathBuf, Result<Mark, Failure>)]) -> Result<String, Failure> {
    let failed = |error: csv::Error| error.to_string();
    let mut out = csv::Writer::from_writer(Vec::new());
    let numbered = (1..=goals).map(|goal| format!("goal_{goal}"));
    let head: Vec<String> = ["file", "score"]
        .map(str::to_owned)
        .into_iter()
        .chain(numbered)
        .chain(["problem".to_owned()])
        .collect();
    out.write_record(&head).map_err(failed)?;
    for (file, mark) in marks {
        let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let earned = |goal: usize| match mark {
            Ok(mark) => {
                let earned: f64 =
                    mark.items.iter().filter(|item| item.goal == goal).map(|item| item.earned).sum();
                format!("{earned:.2}")
            }
            Err(_) => String::new(),
        };
        let score = mark.as_ref().map_or(String::new(), |mark| format!("{:.2}", mark.score));
        let problem = mark.as_ref().err().cloned().unwrap_or_default();
        let row: Vec<String> =
            [name, score].into_iter().chain((1..=goals).map(earned)).chain([problem]).collect();
        out.write_record(&row).map_err(failed)?;
    }
    let bytes = out.into_inner().map_err(|error| error.to_string())?;
    String::from_utf8(bytes).map_err(|error| error.to_string())
}

fn table(mark: &Mark) -> String {
    let mut out = String::new();
    // A string takes every write.
    let _ = writeln!(out, "{}: {:.2} of 100", mark.exercise, mark.score);
    for item in &mark.items {
        let _ = writeln!(out, "  {:>6.2} of {:>6.2}  {}", item.earned, item.worth, said(item));
    }
    out
}

/// What one thing was, and what is off.
fn said(item: &Item) -> String {
    let key = match item.subject.as_str() {
        subject @ ("asymmetry" | "removed" | "added" | "failing_pose") => format!("mark.{subject}"),
        subject if counterpoise_geometry::Landmark::from_id(subject).is_some() => {
            format!("landmark.{subject}")
        }
        subject => format!("measure.{subject}"),
    };
    let mut line = text(&key).to_owned();
    if let Some(side) = item.side.filter(|_| !item.subject.contains('.')) {
        let _ = write!(line, ", {}", text(&format!("side.{}", side.name())));
    }
    let _ = write!(line, ": {}", text(&format!("mark.outcome.{}", item.outcome)));
    let unit = if matches!(item.subject.as_str(), "removed" | "added") { "pct" } else { "mm" };
    if let (Some(value), Some(limit)) = (item.value, item.limit) {
        let _ = write!(line, " ({} / {})", shown(unit, value), shown(unit, limit));
    }
    if let Some([out, up]) = item.from_key_mm.filter(|_| item.outcome == "off") {
        let aside = text(if item.side.is_some() { "mark.out" } else { "mark.to_left" });
        let [out, up] = [out, up].map(|mm| shown_signed("mm", mm));
        let _ = write!(line, "; {aside} {out} mm, {} {up} mm", text("mark.up"));
    }
    line
}

fn sentence(error: &TeachingError) -> String {
    let mut line = text(&format!("teaching.{}", error.code)).to_owned();
    if error.part > 0 {
        line = format!("{} {}: {line}", text("teaching.part"), error.part);
    }
    if !error.subject.is_empty() {
        let _ = write!(line, " ({})", printable(&error.subject));
    }
    if let Some(plan) = &error.plan {
        let _ = write!(line, " {}", refusal(plan));
    }
    line
}
