//! `counterpoise report`.

use std::fmt::Write as _;
use std::path::Path;

use counterpoise_geometry::PerSide;
use counterpoise_plan::{
    Areas, Check, FrameReport, Level, MeasureRow, Measured, Plan, Report, Symmetry, report, shown,
    shown_signed,
};

use crate::Failure;
use crate::input::read_plan;
use crate::messages::{check, printable, problem, text};

/// The report as JSON or as a table.
pub fn run(plan: &Path, json: bool) -> Result<String, Failure> {
    let plan = read_plan(plan)?;
    let report = report(&plan);
    if json {
        let mut text = serde_json::to_string_pretty(&report).map_err(|error| error.to_string())?;
        text.push('\n');
        return Ok(text);
    }
    Ok(table(&plan, &report))
}

// Writing into a String cannot fail, so the results of `writeln!` are dropped in this file.

fn table(plan: &Plan, report: &Report) -> String {
    let mut out = String::new();
    let heading = [plan.case.label.as_str(), plan.case.date.as_str()];
    let heading = heading.iter().filter(|part| !part.is_empty()).map(|part| printable(part));
    let heading = heading.collect::<Vec<_>>().join(", ");
    if !heading.is_empty() {
        let _ = writeln!(out, "{heading}\n");
    }
    if let Some(frame) = &report.frame {
        frame_lines(&mut out, frame);
    }
    measures(&mut out, "Natural brows", &report.natural, report.natural_symmetry.as_ref());
    measures(&mut out, "Planned outlines", &report.planned, report.planned_symmetry.as_ref());
    areas(&mut out, report);
    poses(&mut out, report);
    checks(&mut out, &report.checks);
    if !report.problems.is_empty() {
        out.push_str("To do\n");
        for found in &report.problems {
            let _ = writeln!(out, "  {}", problem(found));
        }
    }
    out
}

fn frame_lines(out: &mut String, frame: &FrameReport) {
    /// Standard deviations in half a 95 % interval.
    const CI95: f64 = counterpoise_geometry::CI95_SD;
    let _ = writeln!(
        out,
        "Scale {:.2} px/mm ± {} %   roll {}° ± {}°\n",
        frame.px_per_mm,
        shown("pct", CI95 * frame.scale_sd_pct),
        shown("deg", frame.roll_deg),
        shown("deg", CI95 * frame.roll_sd_deg)
    );
}

/// Widths of the table's columns: name, right, difference, left.
const NAME: usize = 34;
const CELL: usize = 18;

fn measures(out: &mut String, title: &str, rows: &[MeasureRow], symmetry: Option<&Symmetry>) {
    if rows.is_empty() {
        return;
    }
    let _ = writeln!(out, "{title:NAME$}{:>CELL$}{:>CELL$}{:>CELL$}", "right", "difference", "left");
    for row in rows {
        let name =
            format!("{} ({})", text(&format!("measure.{}", row.id)), text(&format!("unit.{}", row.unit)));
        let cell = |value: Option<Measured>| {
            value.map_or_else(
                || "–".into(),
                |found| format!("{} ± {}", shown(row.unit, found.value), shown(row.unit, found.ci95)),
            )
        };
        let difference = row.difference.map_or_else(
            || "–".into(),
            |found| format!("{} ± {}", shown_signed(row.unit, found.value), shown(row.unit, found.ci95)),
        );
        let note = if row.difference.is_some() && row.within_error { "  within measuring error" } else { "" };
        let _ = writeln!(
            out,
            "  {name:width$}{:>CELL$}{difference:>CELL$}{:>CELL$}{note}",
            cell(row.sides.right),
            cell(row.sides.left),
            width = NAME - 2
        );
    }
    if let Some(symmetry) = symmetry {
        let note = if symmetry.within_error { ", within measuring error" } else { "" };
        let _ = writeln!(
            out,
            "  Unevenness {} ± {} mm{note} (with one degree of roll less or more: {} / {} mm)",
            shown("mm", symmetry.mean_distance_mm),
            shown("mm", symmetry.ci95_mm),
            shown("mm", symmetry.roll_band_mm[0]),
            shown("mm", symmetry.roll_band_mm[1])
        );
    }
    out.push('\n');
}

fn areas(out: &mut String, report: &Report) {
    let PerSide { right, left } = &report.areas;
    if right.is_none() && left.is_none() {
        return;
    }
    let _ = writeln!(out, "{:NAME$}{:>CELL$}{:>CELL$}{:>CELL$}", "Areas", "right", "", "left");
    let mut line = |name: &str, unit: &str, value: fn(&Areas) -> f64| {
        let cell = |areas: &Option<Areas>| {
            areas.as_ref().map_or_else(
                || "–".into(),
                |areas| format!("{} {}", shown(unit, value(areas)), text_unit(unit)),
            )
        };
        let _ = writeln!(
            out,
            "  {name:width$}{:>CELL$}{:>CELL$}{:>CELL$}",
            cell(right),
            "",
            cell(left),
            width = NAME - 2
        );
    };
    line("Kept", "mm2", |areas| areas.kept_mm2);
    line("Removed", "mm2", |areas| areas.removed_mm2);
    line("Removed beyond the edge's own error", "mm2", |areas| areas.removed_counted_mm2);
    line("Removed", "pct", |areas| areas.removed_pct);
    line("Added", "mm2", |areas| areas.added_mm2);
    line("Added", "pct", |areas| areas.added_pct);
    for strip in &report.strips {
        let _ = writeln!(
            out,
            "  {}, {}: {} mm², widest {} mm",
            text(&format!("side.{}", strip.side.name())),
            text(&format!("strip.{}", strip.place)),
            shown("mm2", strip.area_mm2),
            shown("mm", strip.widest_mm)
        );
    }
    out.push('\n');
}

fn poses(out: &mut String, report: &Report) {
    for pose in &report.poses {
        let key = format!("pose.{}", pose.id);
        let title = text(&key);
        let _ = writeln!(out, "{title:NAME$}{:>CELL$}{:>CELL$}{:>CELL$}", "right", "difference goes", "left");
        if let Some(found) = &pose.problem {
            let _ = writeln!(out, "  {}\n", problem(found));
            continue;
        }
        for row in &pose.places {
            let name = format!("{} (mm)", text(&format!("lift_place.{}", row.place)));
            let cell = |value: Option<Measured>| {
                value.map_or_else(
                    || "–".into(),
                    |found| format!("{} ± {}", shown_signed("mm", found.value), shown("mm", found.ci95)),
                )
            };
            let goes = row.split.map(|split| split.muscle);
            let note = if row.split.is_some_and(|split| split.within_error) {
                "  within measuring error"
            } else {
                ""
            };
            let _ = writeln!(
                out,
                "  {name:width$}{:>CELL$}{:>CELL$}{:>CELL$}{note}",
                cell(row.lift.right),
                cell(goes),
                cell(row.lift.left),
                width = NAME - 2
            );
        }
        if let Some(fit) = &pose.fit {
            let _ = writeln!(out, "  Photo laid over the first one: {} mm left", shown("mm", fit.rms_mm));
            if let Some(landmark) = fit.outlier {
                let _ =
                    writeln!(out, "  Look at this point again: {}", text(&format!("landmark.{landmark}")));
            }
            if let (true, Some(yaw), Some(pitch)) = (fit.is_turned, fit.yaw_deg, fit.pitch_deg) {
                let _ = writeln!(
                    out,
                    "  Head turned against the first photo: {}° ± {}° aside, {}° ± {}° up",
                    shown_signed("deg", yaw.value),
                    shown("deg", yaw.ci95),
                    shown_signed("deg", pitch.value),
                    shown("deg", pitch.ci95)
                );
            }
        }
        if let Some(planned) = pose.planned_mm {
            let _ = writeln!(out, "  Plan in this pose: {} mm uneven", shown("mm", planned));
        }
        out.push('\n');
    }
}

fn text_unit(unit: &str) -> &'static str {
    if unit == "pct" { "%" } else { "mm²" }
}

fn checks(out: &mut String, checks: &[Check]) {
    if checks.is_empty() {
        return;
    }
    out.push_str("Checks\n");
    for found in checks {
        let mark = match found.level {
            Level::Ok => "ok   ",
            Level::Note => "note ",
            Level::Warn => "WARN ",
        };
        let _ = writeln!(out, "  {mark}{}", check(found));
    }
    out.push('\n');
}
