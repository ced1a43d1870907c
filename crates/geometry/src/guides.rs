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

#[cfg(test)]
mod tests {
    use super::*;

    const PLANNED: CaliperPoints = CaliperPoints {
        front: Point::new(13.0, 18.0),
        bulb_bottom: Point::new(13.0, 16.0),
        bulb_top: Point::new(13.0, 22.0),
        arch_top: Point::new(38.0, 27.0),
        arch_under: Point::new(38.0, 20.0),
        tail_end: Point::new(56.0, 15.0),
    };

    #[test]
    fn empty_input_draws_nothing() {
        let none = guides(&GuideInput { arch_measure_mm: 45.0, ..GuideInput::default() });
        assert_eq!(none, SideGuides::default());
    }

    #[test]
    fn end_line_passes_nostril_and_eye_corner() {
        // Up two for every one outward: at the tail's height of 15 the line is 17.5 + 25 out.
        let input = GuideInput {
            nostril: Some(Point::new(17.5, -35.0)),
            outer_corner: Some(Point::new(35.0, 0.0)),
            planned: Some(PLANNED),
            arch_measure_mm: 45.0,
            ..GuideInput::default()
        };
        let line = guides(&input).end_line.expect("both points are there");
        let at_tail = line.at_tail.expect("a plan is there");
        assert!(at_tail.distance(Point::new(42.5, 15.0)) < 1e-12);
        // 13.5 mm too far out, seen at right angles to the line.
        let beyond = line.tail_beyond.expect("a plan is there");
        assert!((beyond - 13.5 * 2.0 / 5.0_f64.sqrt()).abs() < 1e-12);
        let shorter = CaliperPoints { tail_end: Point::new(42.5, 15.0), ..PLANNED };
        let on_line = guides(&GuideInput { planned: Some(shorter), ..input }).end_line.expect("as before");
        assert!(on_line.tail_beyond.expect("a plan is there").abs() < 1e-12);
        assert_eq!(guides(&input).front_line_out, Some(17.5));
    }

    #[test]
    fn swapped_nostril_and_eye_corner_make_no_line() {
        let input = GuideInput {
            nostril: Some(Point::new(45.0, 0.0)),
            outer_corner: Some(Point::new(17.5, -35.0)),
            ..GuideInput::default()
        };
        assert_eq!(guides(&input).end_line, None);
    }

    #[test]
    fn plan_goes_before_nature_and_nature_keeps_its_arch() {
        let natural = CaliperPoints { arch_top: Point::new(36.0, 25.0), ..PLANNED };
        let input = GuideInput {
            natural: Some(natural),
            planned: Some(PLANNED),
            bone: Some(Point::new(41.0, 24.0)),
            arch_measure_mm: 45.0,
            ..GuideInput::default()
        };
        let both = guides(&input);
        let heights = both.heights.expect("brows are there");
        assert_eq!((heights.bulb_bottom, heights.bulb_top, heights.arch_top), (16.0, 22.0, 27.0));
        assert_eq!(both.arch.measure, Some(Point::new(45.0, 27.0)));
        assert_eq!(both.arch.natural, Some(Point::new(36.0, 25.0)));
        assert_eq!(both.arch.bone, input.bone);
        assert_eq!(both.thread, Some([PLANNED.bulb_top, PLANNED.arch_top, PLANNED.tail_end]));
        // 12 mm down over 18 mm out.
        assert!((both.tail_angle.expect("brows are there") - (12.0_f64 / 18.0).atan()).abs() < 1e-12);
        let only_natural = guides(&GuideInput { planned: None, ..input });
        assert_eq!(only_natural.heights.map(|h| h.arch_top), Some(25.0));
    }
}
