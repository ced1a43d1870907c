//! The numbers of the sheet, in the order in which they are drawn.

use counterpoise_geometry::PerSide;
use counterpoise_plan::{Measured, PoseReport, Report};

/// One step of drawing, with the measures that belong to it.
#[derive(Clone, Copy, Debug)]
pub struct Step {
    /// Text `sheet.step.ID`.
    pub id: &'static str,
    /// Ids of measures.
    pub measures: &'static [&'static str],
}

/// The steps in trade order: centre line, fronts, height lines, ends, arches, caliper checks, thread lines (common practice, no
/// source).
pub const STEPS: [Step; 7] = [
    Step { id: "centre", measures: &[] },
    Step { id: "fronts", measures: &["front_distance"] },
    Step { id: "heights", measures: &["bulb_bottom", "bulb_top", "arch_top"] },
    Step { id: "ends", measures: &["tail_out", "tail_up"] },
    Step { id: "arches", measures: &["arch_distance", "arch_thickness"] },
    Step { id: "checks", measures: &["front_to_arch", "front_to_tail", "brow_length"] },
    Step { id: "threads", measures: &["tail_angle"] },
];

/// One number of both sides.
#[derive(Clone, Debug)]
pub struct Row {
    /// Step id.
    pub step: &'static str,
    /// Measure id.
    pub measure: &'static str,
    /// Unit id.
    pub unit: &'static str,
    /// Upright, eyes open.
    pub upright: PerSide<Option<Measured>>,
    /// In the pose that she is drawn on in, where one is recorded and chosen.
    pub couch: Option<PerSide<Option<Measured>>>,
}

/// The rows of the planned outlines.
pub fn rows(report: &Report, pose: Option<&PoseReport>) -> Vec<Row> {
    let mut found = Vec::new();
    for step in STEPS {
        for &measure in step.measures {
            let Some(row) = report.planned.iter().find(|row| row.id == measure) else { continue };
            let carried = pose.and_then(|pose| pose.carried.iter().find(|row| row.id == measure));
            found.push(Row {
                step: step.id,
                measure,
                unit: row.unit,
                upright: row.sides,
                couch: carried.map(|row| row.here),
            });
        }
    }
    found
}
