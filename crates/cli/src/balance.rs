//! `counterpoise balance`: how even a pair can be, and what it costs.

use std::fmt::Write as _;
use std::path::Path;

use counterpoise_geometry::{BalanceProblem, Contour, CurvePoint, NaturalSide, PerSide, Side, fit_outline};
use counterpoise_plan::{BalanceCurve, Limits, REMOVED_LIMITS_PCT, balance_curve, shown};
use serde::Serialize;

use crate::Failure;
use crate::input::read_plan;
use crate::messages::{refusal, text};
use crate::outlines::{self, Brow};

// Writing into a String cannot fail, so the results of `writeln!` are dropped in this file.

/// The curve of a plan as JSON or as a table. Without a limit of added skin the plan's own holds.
pub fn of_plan(path: &Path, added_pct: Option<f64>, json: bool) -> Result<String, Failure> {
    let plan = read_plan(path)?;
    let curve = balance_curve(&plan, added_pct.unwrap_or(plan.limits.added_pct))
        .map_err(|error| format!("{}: {}", path.display(), refusal(&error)))?;
    if json {
        let mut text = serde_json::to_string_pretty(&curve).map_err(|error| error.to_string())?;
        text.push('\n');
        return Ok(text);
    }
    Ok(table(&curve))
}

fn table(curve: &BalanceCurve) -> String {
    let mut out = String::new();
    let _ = writeln!(
        out,
        "Unevenness of the natural brows {} mm, measuring error {} mm; skin added at most {} %\n",
        hundredths(curve.natural_mm),
        hundredths(curve.measuring_error_mm),
        shown("pct", curve.added_limit_pct)
    );
    out.push_str(HEADING);
    for (index, point) in curve.points.iter().enumerate() {
        let mut notes = Vec::new();
        if curve.knee == Some(index) {
            notes.push("knee");
        }
        if point.asymmetry_mm < curve.measuring_error_mm {
            notes.push("within measuring error");
        }
        if !point.keeps_limits {
            notes.push("limits not kept");
        }
        let name = shown("pct", point.removed_limit_pct);
        row(&mut out, &name, point.asymmetry_mm, &point.removed_pct, &point.added_pct, &notes.join(", "));
    }
    out.push('\n');
    for recipe in &curve.recipes {
        let key = format!("recipe.{}", recipe.id);
        row(&mut out, text(&key), recipe.asymmetry_mm, &recipe.removed_pct, &recipe.added_pct, "");
    }
    if let Some(current) = &curve.current {
        row(&mut out, "The present plan", current.asymmetry_mm, &current.removed_pct, &current.added_pct, "");
    }
    out
}

const HEADING: &str =
    "removed at most, %          left, mm   removed right   left, %   added right   left, %\n";

/// Unevenness with a second decimal: along a curve it is compared with itself, not with a measurement.
fn hundredths(mm: f64) -> String {
    format!("{mm:.2}")
}

fn row(
    out: &mut String,
    name: &str,
    asymmetry_mm: f64,
    removed: &PerSide<f64>,
    added: &PerSide<f64>,
    note: &str,
) {
    let line = format!(
        "{name:<24}{:>12}{:>16}{:>10}{:>14}{:>10}  {note}",
        hundredths(asymmetry_mm),
        shown("pct", removed.right),
        shown("pct", removed.left),
        shown("pct", added.right),
        shown("pct", added.left)
    );
    let _ = writeln!(out, "{}", line.trim_end());
}

/// One line of the JSON output of a file of outlines.
#[derive(Serialize)]
struct PairLine<'a> {
    id: &'a str,
    natural_mm: Option<f64>,
    points: Vec<PointLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    error: Option<String>,
}

#[derive(Serialize)]
struct PointLine {
    removed_limit_pct: f64,
    asymmetry_mm: f64,
    removed_pct_right: f64,
    removed_pct_left: f64,
    added_pct_right: f64,
    added_pct_left: f64,
    keeps_limits: bool,
}

/// The curves of every complete pair in a file of natural outlines, with the usual rules: one JSON line each, or one
/// table each. A pair that cannot be balanced is reported in its place; only a file that cannot be read is a failure.
pub fn of_outlines(path: &Path, added_pct: Option<f64>, json: bool) -> Result<String, Failure> {
    let added_pct = added_pct.unwrap_or(Limits::default().added_pct);
    let brows = outlines::read(path)?;
    let mut text = String::new();
    for (id, pair) in pairs(&brows) {
        let found = pair_curve(pair, added_pct);
        if json {
            let line = pair_line(id, &found);
            text.push_str(
                &serde_json::to_string(&line).map_err(|error| format!("cannot write {id}: {error}"))?,
            );
        } else {
            pair_table(&mut text, id, &found);
        }
        text.push('\n');
    }
    Ok(text)
}

/// Brows of the same id with both sides there, in the order in which the file completes them. Of a side that is there
/// more than once the first one counts.
fn pairs(brows: &[Brow]) -> Vec<(&str, PerSide<&Brow>)> {
    let mut found: Vec<(&str, PerSide<Option<&Brow>>)> = Vec::new();
    for brow in brows {
        let index = found.iter().position(|(id, _)| *id == brow.id).unwrap_or_else(|| {
            found.push((&brow.id, PerSide::default()));
            found.len() - 1
        });
        if let Some((_, sides)) = found.get_mut(index) {
            sides.get_mut(brow.side).get_or_insert(brow);
        }
    }
    found.into_iter().filter_map(|(id, sides)| Some((id, sides.both()?))).collect()
}

/// Unevenness of the natural pair, mm, and its curve.
fn pair_curve(pair: PerSide<&Brow>, added_pct: f64) -> Result<(f64, Vec<CurvePoint>), String> {
    let natural = |side: Side| -> Result<NaturalSide, String> {
        let name = outlines::side_name(side);
        let contour: &Contour =
            pair.get(side).contour.as_ref().map_err(|error| format!("{name}: {error}"))?;
        let fit = fit_outline(contour).map_err(|error| format!("{name}: {error}"))?;
        Ok(NaturalSide { contour: contour.clone(), outline: *fit.outline.params() })
    };
    let problem = BalanceProblem::new(PerSide { right: natural(Side::Right)?, left: natural(Side::Left)? });
    let mut curves = problem.curves(&[added_pct], &REMOVED_LIMITS_PCT).map_err(|error| error.to_string())?;
    Ok((problem.natural_asymmetry_mm(), curves.pop().unwrap_or_default()))
}

fn pair_line<'a>(id: &'a str, found: &Result<(f64, Vec<CurvePoint>), String>) -> PairLine<'a> {
    let points = found.as_ref().map_or(&[][..], |(_, points)| points);
    PairLine {
        id,
        natural_mm: found.as_ref().ok().map(|(natural_mm, _)| *natural_mm),
        points: points
            .iter()
            .map(|point| {
                let prices = &point.balanced.prices;
                PointLine {
                    removed_limit_pct: point.removed_limit_pct,
                    asymmetry_mm: point.balanced.asymmetry_mm,
                    removed_pct_right: prices.right.removed_pct(),
                    removed_pct_left: prices.left.removed_pct(),
                    added_pct_right: prices.right.added_pct(),
                    added_pct_left: prices.left.added_pct(),
                    keeps_limits: point.balanced.keeps_limits,
                }
            })
            .collect(),
        error: found.as_ref().err().cloned(),
    }
}

fn pair_table(out: &mut String, id: &str, found: &Result<(f64, Vec<CurvePoint>), String>) {
    let (natural_mm, points) = match found {
        Ok(found) => found,
        Err(error) => {
            let _ = writeln!(out, "{id}: {error}");
            return;
        }
    };
    let _ = writeln!(out, "{id}: unevenness of the natural brows {} mm", hundredths(*natural_mm));
    out.push_str(HEADING);
    for point in points {
        let prices = point.balanced.prices.as_ref();
        row(
            out,
            &shown("pct", point.removed_limit_pct),
            point.balanced.asymmetry_mm,
            &prices.map(counterpoise_geometry::SidePrice::removed_pct),
            &prices.map(counterpoise_geometry::SidePrice::added_pct),
            if point.balanced.keeps_limits { "" } else { "limits not kept" },
        );
    }
}
