//! The page at 1:1.

use counterpoise_geometry::Side;
use counterpoise_plan::{Kind, Measured};
use kurbo::{BezPath, PathEl, Point};

use crate::hatch::hatch;
use crate::page::{Align, Ink, Mark, Page, Weight};
use crate::sheet::{BAR_MM, Source};

/// Nothing is printed nearer to the edge, mm: what office printers leave white.
pub const MARGIN_MM: f64 = 12.0;
/// Height of the line through the inner eye corners below the upper edge, mm.
const EYES_MM: f64 = 120.0;
/// Curves are drawn with corners no farther off than this, mm.
const FLAT_MM: f64 = 0.005;
/// Height lines reach so far beyond the tails, mm.
const REACH_MM: f64 = 5.0;
/// The measures that have a height line, with the text at its end.
const HEIGHTS: [&str; 3] = ["bulb_bottom", "bulb_top", "arch_top"];

/// Both outlines with their construction. `turned`: the other way round, for transfer paper.
pub fn drawing(source: &Source, turned: bool) -> Page {
    let size_mm = source.options.paper.size_mm();
    let mut page = Drawing { source, turned, size_mm, marks: Vec::new() };
    page.head();
    page.areas();
    page.lines();
    page.heights();
    page.bars();
    page.legend();
    Page { size_mm, marks: page.marks }
}

struct Drawing<'a> {
    source: &'a Source<'a>,
    turned: bool,
    size_mm: (f64, f64),
    marks: Vec<Mark>,
}

impl Drawing<'_> {
    /// A point of the face (x towards the client's left, y up) on the paper: as one looks at her, or turned.
    fn place(&self, at: Point) -> Point {
        let x = if self.turned { -at.x } else { at.x };
        Point::new(0.5 * self.size_mm.0 + x * self.source.scale, EYES_MM - at.y * self.source.scale)
    }

    fn line(&mut self, ink: Ink, points: Vec<Point>, closed: bool) {
        self.marks.push(Mark::Line { ink, points, closed });
    }

    fn text(&mut self, at: Point, size_mm: f64, align: Align, weight: Weight, text: String) {
        if !text.is_empty() {
            self.marks.push(Mark::Text { at, size_mm, align, weight, text });
        }
    }

    fn head(&mut self) {
        let (width, height) = self.size_mm;
        let source = self.source;
        let (left, right) = (MARGIN_MM, width - MARGIN_MM);
        let ((start, at_start), (end, at_end)) = (source.line_start(0.0), source.line_end());
        self.text(Point::new(start, 22.0), 6.0, at_start, Weight::Bold, source.plan.case.label.clone());
        let date = source.options.date;
        self.text(Point::new(end, 22.0), 4.0, at_end, Weight::Regular, date.to_owned());
        let pose = match source.pose {
            Some(pose) => {
                source.filled("sheet.in_pose", &[("pose", &source.text(&format!("pose.{}", pose.id)))])
            }
            None => source.text("sheet.upright"),
        };
        self.text(Point::new(start, 30.0), 4.0, at_start, Weight::Regular, pose);
        let view = source.text(if self.turned { "sheet.turned" } else { "sheet.true_view" });
        self.text(Point::new(start, 36.0), 4.0, at_start, Weight::Regular, view);
        self.text(Point::new(start, 42.0), 4.0, at_start, Weight::Regular, source.text("sheet.full_size"));
        let (on_left, on_right) =
            if self.turned { (Side::Left, Side::Right) } else { (Side::Right, Side::Left) };
        let side = |side: Side| source.text(&format!("side.{}", side.name()));
        self.text(Point::new(left, 62.0), 7.5, Align::Start, Weight::Bold, side(on_left));
        self.text(Point::new(right, 62.0), 7.5, Align::End, Weight::Bold, side(on_right));
        let again = source.text("sheet.check_again");
        self.text(Point::new(0.5 * width, height - MARGIN_MM), 3.4, Align::Middle, Weight::Regular, again);
    }

    fn areas(&mut self) {
        let source = self.source;
        for item in source.scene.items.iter().filter(|item| item.kind == Kind::Removed) {
            let rings: Vec<Vec<Point>> = pieces(&item.path)
                .into_iter()
                .map(|(points, _)| points.into_iter().map(|at| self.place(at)).collect())
                .collect();
            for stretch in hatch(&rings) {
                self.line(Ink::Hatch, stretch.to_vec(), false);
            }
        }
    }

    fn lines(&mut self) {
        let source = self.source;
        for item in &source.scene.items {
            let ink = match item.kind {
                Kind::Natural => Ink::Natural,
                Kind::Planned => Ink::Outline,
                Kind::CentreLine => Ink::Centre,
                Kind::FrontLine
                | Kind::EndLine
                | Kind::ArchMeasure
                | Kind::ArchNatural
                | Kind::ArchBone
                | Kind::Thread => Ink::Guide,
                // Heights are drawn from the numbers, areas are hatched, and a ruler is no part of a plan.
                Kind::HeightLine | Kind::Kept | Kind::Removed | Kind::Added | Kind::Ruler => continue,
            };
            for (points, closed) in pieces(&item.path) {
                let points = points.into_iter().map(|at| self.place(at)).collect();
                self.line(ink, points, closed);
            }
        }
    }

    fn heights(&mut self) {
        let source = self.source;
        for side in Side::BOTH {
            let value = |id: &str| -> Option<f64> {
                let row = source.rows.iter().find(|row| row.measure == id)?;
                let found: Option<Measured> = *row.couch.as_ref().unwrap_or(&row.upright).get(side);
                Some(found?.value)
            };
            let Some(reach) = value("tail_out").map(|out| out + REACH_MM) else { continue };
            for id in HEIGHTS {
                let Some(up) = value(id) else { continue };
                let ends = [0.0, reach].map(|out| self.place(Point::new(side.sign() * out, up)));
                self.line(Ink::Guide, ends.to_vec(), false);
                let on_left = (side == Side::Right) != self.turned;
                let align = if on_left { Align::End } else { Align::Start };
                let [_, end] = ends;
                let at = Point::new(end.x + if on_left { -1.0 } else { 1.0 }, end.y + 0.9);
                self.text(at, 2.6, align, Weight::Regular, source.shown("mm", up));
            }
        }
    }

    /// What each kind of line means.
    fn legend(&mut self) {
        let entries = [
            (Ink::Outline, "sheet.legend.outline"),
            (Ink::Natural, "sheet.legend.natural"),
            (Ink::Hatch, "sheet.legend.hatch"),
            (Ink::Centre, "sheet.legend.centre"),
            (Ink::Guide, "sheet.legend.guide"),
        ];
        let (x, mut y) = (0.5 * self.size_mm.0 - 12.0, self.size_mm.1 - 110.0);
        for (ink, key) in entries {
            let (from, to) = (Point::new(x, y - 1.2), Point::new(x + 16.0, y - 1.2));
            if ink == Ink::Hatch {
                let ring =
                    [(0.0, -1.6), (16.0, -1.6), (16.0, 1.6), (0.0, 1.6)].map(|(dx, dy)| from + (dx, dy));
                for stretch in hatch(&[ring.to_vec()]) {
                    self.line(ink, stretch.to_vec(), false);
                }
            } else {
                self.line(ink, vec![from, to], false);
            }
            let words = self.source.text(key);
            self.text(Point::new(to.x + 4.0, y), 3.4, Align::Start, Weight::Regular, words);
            y += 7.0;
        }
    }

    /// The two bars, with a stroke at every 10 mm.
    fn bars(&mut self) {
        let (width, height) = self.size_mm;
        let length = BAR_MM * self.source.scale;
        let tick = |part: u32| f64::from(part) * length / 10.0;
        let (x0, y) = (0.5 * (width - length), height - 26.0);
        self.line(Ink::Bar, vec![Point::new(x0, y), Point::new(x0 + length, y)], false);
        let (x, y1) = (MARGIN_MM + 8.0, height - 34.0);
        self.line(Ink::Bar, vec![Point::new(x, y1), Point::new(x, y1 - length)], false);
        for part in 0..=10 {
            let long = if part % 5 == 0 { 2.6 } else { 1.6 };
            let at = x0 + tick(part);
            self.line(Ink::Bar, vec![Point::new(at, y), Point::new(at, y - long)], false);
            let at = y1 - tick(part);
            self.line(Ink::Bar, vec![Point::new(x, at), Point::new(x + long, at)], false);
        }
        let words = self.source.text("sheet.bar");
        self.text(Point::new(0.5 * width, y + 5.0), 3.4, Align::Middle, Weight::Regular, words.clone());
        self.text(Point::new(x + 5.0, y1 - 0.5 * length + 1.2), 3.4, Align::Start, Weight::Regular, words);
    }
}

/// The pieces of a path as corners, and whether each is closed.
fn pieces(path: &BezPath) -> Vec<(Vec<Point>, bool)> {
    let mut found: Vec<(Vec<Point>, bool)> = Vec::new();
    kurbo::flatten(path, FLAT_MM, |element| match element {
        PathEl::MoveTo(at) => found.push((vec![at], false)),
        PathEl::ClosePath => {
            if let Some(last) = found.last_mut() {
                last.1 = true;
            }
        }
        PathEl::LineTo(at) | PathEl::QuadTo(_, at) | PathEl::CurveTo(_, _, at) => {
            if let Some(last) = found.last_mut() {
                last.0.push(at);
            }
        }
    });
    found
}
