//! The construction lines of the mapping, one side at a time, mm in the side's own frame.

use kurbo::Point;

use crate::CaliperPoints;

/// What the guides of one side are made from.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct GuideInput {
    /// The nostril corner, if it was placed.
    pub nostril: Option<Point>,
    /// The outer eye corner, if it was placed.
    pub outer_corner: Option<Point>,
    /// The corner of the brow bone, if it was felt and placed.
    pub bone: Option<Point>,
    /// Caliper points of the natural brow.
    pub natural: Option<CaliperPoints>,
    /// Caliper points of the planned outline.
    pub planned: Option<CaliperPoints>,
    /// Centre line to the measured arch candidate, mm.
    pub arch_measure_mm: f64,
}

/// The guides of one side. What cannot be drawn for want of a point is `None`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SideGuides {
    /// Heights of the three horizontal lines: of the planned outline, or of the natural brow where there is no plan.
    pub heights: Option<HeightLines>,
    /// Distance from the centre line of the vertical through the nostril corner, mm.
    pub front_line_out: Option<f64>,
    /// The line from the nostril corner through the outer eye corner.
    pub end_line: Option<EndLine>,
    /// Where the arch might sit.
    pub arch: ArchCandidates,
    /// Top of bulb, top of arch, tail end: the two thread lines of the planned outline, or of the natural brow.
    pub thread: Option<[Point; 3]>,
    /// How steeply the thread from arch to tail end falls outward, radians; positive where it falls.
    pub tail_angle: Option<f64>,
}

/// Heights above the inner eye corners, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeightLines {
    /// Bottom of the bulb.
    pub bulb_bottom: f64,
    /// Top of the bulb.
    pub bulb_top: f64,
    /// Top of the arch.
    pub arch_top: f64,
}

/// The end line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EndLine {
    /// Where it starts: the nostril corner.
    pub from: Point,
    /// Where it passes: the outer eye corner.
    pub through: Point,
    /// Where it reaches the height of the tail's end: a tail that ends there follows the guide.
    pub at_tail: Option<Point>,
    /// Distance of the tail's end from the line, mm; positive where the tail reaches beyond it.
    pub tail_beyond: Option<f64>,
}

/// The three arch candidates; mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ArchCandidates {
    /// At the measured distance from the centre line, at the height of the arch.
    pub measure: Option<Point>,
    /// The highest point of the natural brow.
    pub natural: Option<Point>,
    /// The corner of the brow bone.
    pub bone: Option<Point>,
}

/// The guides of one side.
#[must_use]
pub fn guides(input: &GuideInput) -> SideGuides {
    let of = input.planned.or(input.natural);
    let end_line =
        input.nostril.zip(input.outer_corner).and_then(|(from, through)| end_line(from, through, of));
    SideGuides {
        heights: of.map(|points| HeightLines {
            bulb_bottom: points.bulb_bottom.y,
            bulb_top: points.bulb_top.y,
            arch_top: points.arch_top.y,
        }),
        front_line_out: input.nostril.map(|nostril| nostril.x),
        end_line,
        arch: ArchCandidates {
            measure: of.map(|points| Point::new(input.arch_measure_mm, points.arch_top.y)),
            natural: input.natural.map(|points| points.arch_top),
            bone: input.bone,
        },
        thread: of.map(|points| [points.bulb_top, points.arch_top, points.tail_end]),
        tail_angle: of.map(|points| {
            let run = points.tail_end - points.arch_top;
            (-run.y).atan2(run.x)
        }),
    }
}

fn end_line(from: Point, through: Point, of: Option<CaliperPoints>) -> Option<EndLine> {
    let along = through - from;
    // The eye corner lies above the nostril and not inside it; else the points are swapped and there is no line.
    if along.y <= 0.0 {
        return None;
    }
    let tail = of.map(|points| points.tail_end);
    Some(EndLine {
        from,
        through,
        at_tail: tail.map(|tail| from + along * ((tail.y - from.y) / along.y)),
        tail_beyond: tail.map(|tail| (tail - from).cross(along) / along.hypot()),
    })
}
