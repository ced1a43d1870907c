//! What stands on a page.

use kurbo::Point;

/// A paper size, upright.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 × 11 inches (ANSI/ASME Y14.1).
    Letter,
}

impl Paper {
    /// Width and height, mm.
    #[must_use]
    pub const fn size_mm(self) -> (f64, f64) {
        match self {
            Paper::A4 => (210.0, 297.0),
            Paper::Letter => (215.9, 279.4),
        }
    }
}

/// A sheet of paper with marks on it, in the order in which they are drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// Width and height, mm.
    pub size_mm: (f64, f64),
    /// mm, x right, y down.
    pub marks: Vec<Mark>,
}

/// What a line is for; its look follows from it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// The outline to draw.
    Outline,
    /// The edge of the natural brow.
    Natural,
    /// Hatching of hair to remove.
    Hatch,
    /// The centre line.
    Centre,
    /// A height line or another construction line.
    Guide,
    /// A bar of known length, to check the printer by.
    Bar,
    /// A rule of a table.
    Rule,
}

impl Ink {
    /// Line width, mm: thin enough to cut along, thick enough to survive a copy.
    #[must_use]
    pub const fn width_mm(self) -> f64 {
        match self {
            Ink::Outline => 0.35,
            Ink::Bar => 0.25,
            Ink::Natural | Ink::Centre => 0.18,
            Ink::Hatch | Ink::Guide | Ink::Rule => 0.12,
        }
    }

    /// 0 is black, 1 is white.
    #[must_use]
    pub const fn grey(self) -> f64 {
        match self {
            Ink::Outline | Ink::Bar => 0.0,
            Ink::Natural | Ink::Centre | Ink::Hatch => 0.35,
            Ink::Guide => 0.45,
            Ink::Rule => 0.7,
        }
    }

    /// Lengths of stroke and gap, mm; nothing where the line runs through.
    #[must_use]
    pub const fn dash_mm(self) -> &'static [f64] {
        match self {
            Ink::Centre => &[4.0, 1.0, 0.6, 1.0],
            Ink::Guide => &[1.6, 1.2],
            Ink::Natural => &[0.8, 0.6],
            Ink::Outline | Ink::Hatch | Ink::Bar | Ink::Rule => &[],
        }
    }
}

/// Which end of a text stands at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// It begins there.
    Start,
    /// It is centred there.
    Middle,
    /// It ends there.
    End,
}

/// How strong letters are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Running text.
    Regular,
    /// Headings.
    Bold,
}

/// One mark.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    /// A line through points.
    Line {
        /// What it is for.
        ink: Ink,
        /// Its corners, mm.
        points: Vec<Point>,
        /// Whether the last point joins the first.
        closed: bool,
    },
    /// A text on one line.
    Text {
        /// Where it stands on its base line, mm.
        at: Point,
        /// Size of the letters (the em), mm.
        size_mm: f64,
        /// Which end is at `at`.
        align: Align,
        /// How strong.
        weight: Weight,
        /// What it says.
        text: String,
    },
}
