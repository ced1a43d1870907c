//! What the canvas is to draw, written down as numbers: the page plays it back (`www/js/painter.js`). One passage over the
//! boundary for each drawing, where one for each line took most of the time.
//!
//! A mark is its number, then its arguments; the page knows the same table.

use kurbo::{Affine, BezPath, PathEl, Point, QuadBez};

use crate::palette::Ink;

/// `BEGIN`: a new path.
const BEGIN: f32 = 0.0;
/// `MOVE x y`
const MOVE: f32 = 1.0;
/// `LINES n x y …`: on to n points.
const LINES: f32 = 2.0;
/// `CURVE ax ay bx by x y`
const CURVE: f32 = 3.0;
/// `CLOSE`
const CLOSE: f32 = 4.0;
/// `CIRCLE x y radius`: a closed one of its own.
const CIRCLE: f32 = 5.0;
/// `FILL ink alpha even_odd`: the path, which stays.
const FILL: f32 = 6.0;
/// `STROKE ink alpha width round n dash …`: the path, which stays.
const STROKE: f32 = 7.0;
/// `CLIP`: to the path, even-odd, until `UNCLIP`.
const CLIP: f32 = 8.0;
/// `UNCLIP`
const UNCLIP: f32 = 9.0;
/// `FONT px halo_width`
const FONT: f32 = 10.0;
/// `TEXT ink x y`: the next of the words, about this middle.
const TEXT: f32 = 11.0;

/// A line to draw, CSS px.
#[derive(Clone, Copy, Debug)]
pub struct Pen<'a> {
    /// Its colour.
    pub ink: Ink,
    /// Opacity, 0 to 1.
    pub alpha: f64,
    /// Width.
    pub width: f64,
    /// True for round ends.
    pub round: bool,
    /// Dashes and gaps; none for a solid line.
    pub dash: &'a [f64],
}

impl Pen<'_> {
    /// A solid line, 1 px wide.
    #[must_use]
    pub const fn of(ink: Ink) -> Self {
        Pen { ink, alpha: 1.0, width: 1.0, round: false, dash: &[] }
    }
}

/// Marks and the words that go with them, in the order in which they are drawn. Places are CSS px.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Marks {
    /// Numbers for the page.
    pub numbers: Vec<f32>,
    /// Words for the page.
    pub words: Vec<String>,
}

/// Numbers of a pair with its guides, about.
const USUAL: usize = 4096;

impl Marks {
    /// None yet, with room for a whole drawing.
    #[must_use]
    pub fn with_room() -> Marks {
        Marks { numbers: Vec::with_capacity(USUAL), words: Vec::new() }
    }

    /// Begins a path.
    pub fn begin(&mut self) {
        self.numbers.push(BEGIN);
    }

    /// Begins a path and puts this one into it.
    pub fn path(&mut self, path: &BezPath, map: Affine) {
        self.begin();
        // Where the number of points of the present run of lines is written.
        let mut run = None;
        let mut last = Point::ORIGIN;
        for element in path.elements() {
            if let PathEl::LineTo(to) = *element {
                let count = *run.get_or_insert_with(|| {
                    self.numbers.extend([LINES, 0.0]);
                    self.numbers.len() - 1
                });
                if let Some(count) = self.numbers.get_mut(count) {
                    *count += 1.0;
                }
                self.point(map * to);
                last = to;
                continue;
            }
            run = None;
            match *element {
                PathEl::MoveTo(to) | PathEl::LineTo(to) => {
                    self.numbers.push(MOVE);
                    self.point(map * to);
                }
                PathEl::CurveTo(a, b, to) => self.curve(map, [a, b, to]),
                PathEl::QuadTo(a, to) => {
                    let cubic = QuadBez::new(last, a, to).raise();
                    self.curve(map, [cubic.p1, cubic.p2, to]);
                }
                PathEl::ClosePath => self.numbers.push(CLOSE),
            }
            last = element.end_point().unwrap_or(last);
        }
    }

    /// A line of its own.
    pub fn line(&mut self, from: Point, to: Point) {
        self.numbers.push(MOVE);
        self.point(from);
        self.numbers.extend([LINES, 1.0]);
        self.point(to);
    }

    /// A circle of its own.
    pub fn circle(&mut self, middle: Point, radius: f64) {
        self.numbers.push(CIRCLE);
        self.point(middle);
        self.number(radius);
    }

    /// Fills the path, where parts lie inside each other every other one.
    pub fn fill(&mut self, ink: Ink, alpha: f64) {
        self.numbers.extend([FILL, ink.number()]);
        self.number(alpha);
        self.numbers.push(1.0);
    }

    /// Fills the path with all that lies inside any part of it.
    pub fn fill_whole(&mut self, ink: Ink) {
        self.numbers.extend([FILL, ink.number(), 1.0, 0.0]);
    }

    /// Draws along the path.
    pub fn stroke(&mut self, pen: &Pen) {
        self.numbers.extend([STROKE, pen.ink.number()]);
        self.number(pen.alpha);
        self.number(pen.width);
        self.numbers.push(if pen.round { 1.0 } else { 0.0 });
        self.count(pen.dash.len());
        pen.dash.iter().for_each(|&length| self.number(length));
    }

    /// Draws inside the path only, until [`Marks::unclip`].
    pub fn clip(&mut self) {
        self.numbers.push(CLIP);
    }

    /// Draws everywhere again.
    pub fn unclip(&mut self) {
        self.numbers.push(UNCLIP);
    }

    /// The size of the words that follow, and the width of their halo.
    pub fn font(&mut self, size: f64, halo: f64) {
        self.numbers.push(FONT);
        self.number(size);
        self.number(halo);
    }

    /// Words on a halo about this middle.
    pub fn text(&mut self, words: String, middle: Point, ink: Ink) {
        self.numbers.extend([TEXT, ink.number()]);
        self.point(middle);
        self.words.push(words);
    }

    fn curve(&mut self, map: Affine, points: [Point; 3]) {
        self.numbers.push(CURVE);
        points.into_iter().for_each(|point| self.point(map * point));
    }

    fn point(&mut self, point: Point) {
        self.number(point.x);
        self.number(point.y);
    }

    #[expect(clippy::cast_precision_loss, reason = "a handful")]
    fn count(&mut self, count: usize) {
        self.numbers.push(count as f32);
    }

    #[expect(clippy::cast_possible_truncation, reason = "a place on a screen needs no 53 bits")]
    fn number(&mut self, number: f64) {
        self.numbers.push(number as f32);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn path_is_written_in_runs_of_lines() {
        let path = BezPath::from_svg("M1,2 L3,4 L5,6 C7,8 9,10 11,12 L13,14 Z").unwrap();
        let mut marks = Marks::default();
        marks.path(&path, Affine::scale(2.0));
        let expected: &[&[f32]] = &[
            &[BEGIN],
            &[MOVE, 2.0, 4.0],
            &[LINES, 2.0, 6.0, 8.0, 10.0, 12.0],
            &[CURVE, 14.0, 16.0, 18.0, 20.0, 22.0, 24.0],
            &[LINES, 1.0, 26.0, 28.0],
            &[CLOSE],
        ];
        assert_eq!(marks.numbers, expected.concat());
    }

    #[test]
    fn quadratic_curve_is_drawn_as_the_cubic_one_that_it_is() {
        let mut marks = Marks::default();
        marks.path(&BezPath::from_svg("M0,0 Q3,6 6,0").unwrap(), Affine::IDENTITY);
        assert_eq!(marks.numbers[4..], [CURVE, 2.0, 4.0, 4.0, 4.0, 6.0, 0.0]);
    }

    #[test]
    fn stroke_says_how_many_dashes_follow() {
        let mut marks = Marks::default();
        marks.stroke(&Pen { width: 2.0, dash: &[5.0, 3.0], ..Pen::of(Ink::Left) });
        marks.text("arch".into(), Point::new(1.0, 2.0), Ink::Quiet);
        assert_eq!(marks.numbers, [STROKE, 1.0, 1.0, 2.0, 0.0, 2.0, 5.0, 3.0, TEXT, 2.0, 1.0, 2.0]);
        assert_eq!(marks.words, ["arch"]);
    }
}
