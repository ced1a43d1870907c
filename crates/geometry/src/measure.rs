//! The measures of a brow: the one table, and their values from caliper points and area.

use crate::caliper_points::CaliperPoints;
use crate::param::Unit;

/// A number that is reported of every brow. Client's own side; mm unless the table says otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Measure {
    /// Centre line to the front.
    FrontDistance,
    /// Height of the bottom of the bulb.
    BulbBottom,
    /// Height of the top of the bulb.
    BulbTop,
    /// Top of the bulb − bottom of the bulb, upright.
    BulbThickness,
    /// Centre line to the top of the arch.
    ArchDistance,
    /// Height of the top of the arch.
    ArchTop,
    /// Thickness straight below the top of the arch.
    ArchThickness,
    /// Centre line to the end point.
    TailOut,
    /// Height of the end point.
    TailUp,
    /// Slope of the thread from arch top to end point, degrees below the level; positive where the tail falls.
    TailAngle,
    /// How far the brow reaches outward: end point − front, level. (Along the curve it would depend on the arch;
    /// calipers lie straight.)
    BrowLength,
    /// Straight caliper distance from the top of the bulb to the top of the arch.
    FrontToArch,
    /// Straight caliper distance from the top of the bulb to the end point.
    FrontToTail,
    /// Area inside the outline, mm².
    Area,
}

/// What there is to know of a measure.
#[derive(Clone, Copy, Debug)]
pub struct MeasureInfo {
    /// Which one.
    pub measure: Measure,
    /// Name in files and messages.
    pub id: &'static str,
    /// Unit of the value.
    pub unit: Unit,
}

/// Number of measures.
pub const MEASURE_COUNT: usize = 14;

const fn info(measure: Measure, id: &'static str, unit: Unit) -> MeasureInfo {
    MeasureInfo { measure, id, unit }
}

impl Measure {
    /// Every measure, in the order of every table. A new measure is added here, in [`Measure::value`], in
    /// `uncertainty.rs` (its gradient) and, if adults were measured, in `norms.rs`.
    pub const ALL: [MeasureInfo; MEASURE_COUNT] = [
        info(Measure::FrontDistance, "front_distance", Unit::Mm),
        info(Measure::BulbBottom, "bulb_bottom", Unit::Mm),
        info(Measure::BulbTop, "bulb_top", Unit::Mm),
        info(Measure::BulbThickness, "bulb_thickness", Unit::Mm),
        info(Measure::ArchDistance, "arch_distance", Unit::Mm),
        info(Measure::ArchTop, "arch_top", Unit::Mm),
        info(Measure::ArchThickness, "arch_thickness", Unit::Mm),
        info(Measure::TailOut, "tail_out", Unit::Mm),
        info(Measure::TailUp, "tail_up", Unit::Mm),
        info(Measure::TailAngle, "tail_angle", Unit::Degree),
        info(Measure::BrowLength, "brow_length", Unit::Mm),
        info(Measure::FrontToArch, "front_to_arch", Unit::Mm),
        info(Measure::FrontToTail, "front_to_tail", Unit::Mm),
        info(Measure::Area, "area", Unit::Mm2),
    ];

    /// What there is to know of this measure.
    #[must_use]
    pub const fn info(self) -> &'static MeasureInfo {
        &Measure::ALL[self as usize]
    }

    /// The measure with this name.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Measure> {
        Measure::ALL.iter().find(|info| info.id == id).map(|info| info.measure)
    }

    /// Its value for a brow with these caliper points (mm) and this area (mm²).
    #[must_use]
    pub fn value(self, points: &CaliperPoints, area_mm2: f64) -> f64 {
        match self {
            Measure::FrontDistance => points.front.x,
            Measure::BulbBottom => points.bulb_bottom.y,
            Measure::BulbTop => points.bulb_top.y,
            Measure::BulbThickness => points.bulb_top.y - points.bulb_bottom.y,
            Measure::ArchDistance => points.arch_top.x,
            Measure::ArchTop => points.arch_top.y,
            Measure::ArchThickness => points.arch_top.y - points.arch_under.y,
            Measure::TailOut => points.tail_end.x,
            Measure::TailUp => points.tail_end.y,
            Measure::TailAngle => {
                let thread = points.tail_end - points.arch_top;
                (-thread.y).atan2(thread.x).to_degrees()
            }
            Measure::BrowLength => points.tail_end.x - points.front.x,
            Measure::FrontToArch => (points.arch_top - points.bulb_top).hypot(),
            Measure::FrontToTail => (points.tail_end - points.bulb_top).hypot(),
            Measure::Area => area_mm2,
        }
    }
}
