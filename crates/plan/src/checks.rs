//! The checks of a plan: what a careful artist would go over again before the first stroke.

use counterpoise_geometry::{
    FaceFrame, LIMIT_SLACK_PCT, Landmark, Measure, PerSide, ScaleKind, Side, by_number,
};

use crate::codes::{CheckCode, check};
use crate::derive::Derived;
use crate::headline::measuring_error;
use crate::{ArchGuide, Areas, Check, Level, MeasureRow, Plan, Symmetry};

/// How far a tail may end from the line through nostril corner and outer eye corner before it is worth a word, mm.
/// Natural tails end 5.9 mm (SD 3.9) outside it (this project's model study on the Face Research Lab London Set), so
/// the line is a guide and never a fault: one SD.
const TAIL_LINE_MM: f64 = 3.9;
/// How far the arch may lie from its candidate before it is worth a word, mm: one SD of natural arch distances
/// (same study, 3.68), rounded down to what a caliper shows.
const ARCH_NEAR_MM: f64 = 3.5;
/// Spread of the centre-line midpoints, mm: half of all frontal photos of the same study stay below 1.0 …
const SPREAD_NOTE_MM: f64 = 1.5;
/// … and 95 % below this.
const SPREAD_WARN_MM: f64 = 2.5;
/// Disagreement of eye line and bridge line, degrees: median of the same study …
const ROLL_NOTE_DEG: f64 = 1.4;
/// … and its 90th percentile.
const ROLL_WARN_DEG: f64 = 3.5;
/// How much more uneven than before a plan may be before it is worth a word, mm: a fit of a natural brow differs by
/// as much (same study: 95 % of fits change the headline by less than 0.05).
const EVEN_MM: f64 = 0.05;

/// What the checks look at.
pub struct Checked<'a> {
    /// The document.
    pub plan: &'a Plan,
    /// What was derived from it.
    pub derived: &'a Derived,
    /// Measures of the planned outlines.
    pub planned: &'a [MeasureRow],
    /// Areas.
    pub areas: &'a PerSide<Option<Areas>>,
    /// Headlines, natural and planned.
    pub symmetry: (Option<&'a Symmetry>, Option<&'a Symmetry>),
}

/// Every check that can be made, in the order of the table.
pub fn checks(of: &Checked) -> Vec<Check> {
    let mut found = Vec::new();
    let equal = of.plan.limits.equal_mm;
    for (code, measure) in [
        (check::FRONTS_EQUAL, Measure::FrontDistance),
        (check::FRONT_TO_ARCH_EQUAL, Measure::FrontToArch),
        (check::FRONT_TO_TAIL_EQUAL, Measure::FrontToTail),
    ] {
        let row = of.planned.iter().find(|row| row.id == measure.info().id);
        if let Some(difference) = row.and_then(|row| row.difference) {
            let level = if difference.value.abs() <= equal {
                Level::Ok
            } else if difference.value.abs() <= difference.ci95 {
                Level::Note
            } else {
                Level::Warn
            };
            found.push(made(&code, None, level, &[difference.value, difference.ci95, equal]));
        }
    }
    if let (Some(natural), Some(planned)) = of.symmetry {
        let (before, after) = (natural.mean_distance_mm, planned.mean_distance_mm);
        let level = if after <= before {
            Level::Ok
        } else if after <= before + EVEN_MM {
            Level::Note
        } else {
            Level::Warn
        };
        found.push(made(&check::MORE_EVEN, None, level, &[before, after]));
    }
    if let (Some(error), Some(planned)) = (measuring_error(of.symmetry), of.symmetry.1) {
        let headline = planned.mean_distance_mm;
        let level = if headline < error { Level::Note } else { Level::Ok };
        found.push(made(&check::BALANCE_NOISE, None, level, &[headline, error]));
    }
    each_side(&mut found, of, areas_within);
    each_side(&mut found, of, strip_width);
    each_side(&mut found, of, thickness);
    each_side(&mut found, of, tail_on_line);
    each_side(&mut found, of, arch_near);
    if let Some(frame) = of.derived.frame().of_photo() {
        found.extend(frame_checks(frame));
    }
    let place = |made: &Check| check::ALL.iter().position(|code| code.code.code == made.id);
    by_number(found, |made| place(made).map_or(-1.0, |place| place as f64))
}

fn each_side(found: &mut Vec<Check>, of: &Checked, make: impl Fn(&Checked, Side) -> Vec<Check>) {
    for side in Side::BOTH {
        found.extend(make(of, side));
    }
}

/// A check with the values of its table row, in that row's order.
fn made(code: &CheckCode, side: Option<Side>, level: Level, values: &[f64]) -> Check {
    debug_assert_eq!(code.code.values.len(), values.len(), "{}", code.code.code);
    debug_assert!(code.levels.contains(&level), "{}", code.code.code);
    let values = code.code.values.iter().copied().zip(values.iter().copied()).collect();
    Check { id: code.code.code, side, subject: "", level, values }
}

fn areas_within(of: &Checked, side: Side) -> Vec<Check> {
    let Some(areas) = of.areas.get(side) else { return Vec::new() };
    let limits = &of.plan.limits;
    let (removed_limit, added_limit) =
        (limits.removed_pct_of(areas.natural_mm2), limits.added_pct_of(areas.natural_mm2));
    // A balanced pair ends on its limit, a hair to this side of it or to that.
    let level = |value: f64, limit: f64| {
        if value <= limit + LIMIT_SLACK_PCT { Level::Ok } else { Level::Warn }
    };
    vec![
        made(
            &check::REMOVED_WITHIN,
            Some(side),
            level(areas.removed_pct, removed_limit),
            &[areas.removed_pct, areas.pct_ci95, removed_limit],
        ),
        made(
            &check::ADDED_WITHIN,
            Some(side),
            level(areas.added_pct, added_limit),
            &[areas.added_pct, areas.pct_ci95, added_limit],
        ),
    ]
}

fn strip_width(of: &Checked, side: Side) -> Vec<Check> {
    if of.areas.get(side).is_none() {
        return Vec::new();
    }
    let strips = of.derived.on(side).strips();
    let widest = strips.iter().max_by(|a, b| a.widest.total_cmp(&b.widest));
    let (width, place) = widest.map_or((0.0, ""), |strip| (strip.widest, strip.place.id()));
    let limit = of.plan.limits.strip_mm;
    let level = if width <= limit { Level::Ok } else { Level::Warn };
    vec![Check { subject: place, ..made(&check::STRIP_WIDTH, Some(side), level, &[width, limit]) }]
}

fn thickness(of: &Checked, side: Side) -> Vec<Check> {
    let Some(planned) = of.derived.planned(side) else { return Vec::new() };
    let value = |measure: Measure| measure.value(&planned.points, planned.brow().area_mm2());
    let least = value(Measure::BulbThickness).min(value(Measure::ArchThickness));
    let limit = of.plan.limits.min_thickness_mm;
    let level = if least >= limit { Level::Ok } else { Level::Warn };
    vec![made(&check::THICKNESS, Some(side), level, &[least, limit])]
}

fn tail_on_line(of: &Checked, side: Side) -> Vec<Check> {
    if of.derived.planned(side).is_none() {
        return Vec::new();
    }
    let line = of.derived.on(side).guides.end_line;
    let Some(beyond) = line.and_then(|line| line.tail_beyond) else { return Vec::new() };
    let level = if beyond.abs() <= TAIL_LINE_MM { Level::Ok } else { Level::Note };
    vec![made(&check::TAIL_ON_LINE, Some(side), level, &[beyond, TAIL_LINE_MM])]
}

fn arch_near(of: &Checked, side: Side) -> Vec<Check> {
    let Some(planned) = of.derived.planned(side) else { return Vec::new() };
    let candidates = &of.derived.on(side).guides.arch;
    let candidate = match of.plan.guides.arch {
        ArchGuide::Measure => candidates.measure,
        ArchGuide::Natural => candidates.natural,
        ArchGuide::Bone => candidates.bone,
    };
    let Some(candidate) = candidate else { return Vec::new() };
    let arch = planned.points.arch_top.x;
    let off = arch - candidate.x;
    let level = if off.abs() <= ARCH_NEAR_MM { Level::Ok } else { Level::Note };
    vec![made(&check::ARCH_NEAR, Some(side), level, &[off, arch, candidate.x, ARCH_NEAR_MM])]
}

fn frame_checks(frame: &FaceFrame) -> Vec<Check> {
    let graded = |value: f64, note: f64, warn: f64| {
        if value > warn {
            (Level::Warn, warn)
        } else if value > note {
            (Level::Note, note)
        } else {
            (Level::Ok, note)
        }
    };
    let mut found = Vec::new();
    // Turning the head moves the bridge, which lies nearer the camera, against the eyes; without a bridge point the
    // midpoints cannot tell.
    let has_bridge = [Landmark::BridgeUpper, Landmark::BridgeLower]
        .iter()
        .any(|landmark| frame.landmark_in_face(*landmark).is_some());
    if has_bridge {
        let spread = frame.midpoint_spread_mm();
        let (level, limit) = graded(spread, SPREAD_NOTE_MM, SPREAD_WARN_MM);
        found.push(made(&check::HEAD_STRAIGHT, None, level, &[spread, limit]));
    }
    if let (Some(eyes), Some(bridge)) = (frame.roll_of_eyes(), frame.roll_of_bridge()) {
        let difference = (eyes - bridge).to_degrees().abs();
        let (level, limit) = graded(difference, ROLL_NOTE_DEG, ROLL_WARN_DEG);
        found.push(made(&check::ROLL_SOURCES, None, level, &[difference, limit]));
    }
    let sources = frame.scale_sources();
    let ci95_pct = crate::build_report::scale_ci95_pct(frame);
    let is_iris_only = sources.iter().all(|source| source.kind == ScaleKind::Iris);
    let level = if is_iris_only { Level::Note } else { Level::Ok };
    found.push(made(&check::SCALE_SOURCE, None, level, &[ci95_pct]));
    if sources.len() > 1 {
        let residual = sources.iter().map(|source| source.residual_ln.exp_m1().abs()).fold(0.0, f64::max);
        let level = if frame.scales_disagree() { Level::Warn } else { Level::Ok };
        found.push(made(&check::SCALE_SOURCES_AGREE, None, level, &[100.0 * residual]));
    }
    found
}
