//! The page of numbers.

use counterpoise_geometry::Side;
use counterpoise_plan::Measured;
use kurbo::Point;

use crate::drawing::MARGIN_MM;
use crate::page::{Align, Ink, Mark, Page, Weight};
use crate::sheet::Source;
use crate::table::STEPS;

/// Sizes of letters, mm.
const TITLE_MM: f64 = 6.0;
const HEADING_MM: f64 = 3.8;
const TEXT_MM: f64 = 3.2;
/// Lines are this far apart, of the size of their letters.
const LEADING: f64 = 1.4;
/// The cautions, in the order in which they are said; texts `sheet.caution.ID`.
const CAUTIONS: [&str; 5] = ["device", "advice", "today", "hygiene", "skin"];

/// The numbers on as many pages as they need.
pub fn numbers(source: &Source) -> Vec<Page> {
    let mut writer = Writer::new(source);
    let case = [source.plan.case.label.as_str(), source.options.date].map(str::trim);
    let case: Vec<&str> = case.into_iter().filter(|part| !part.is_empty()).collect();
    writer.paragraph(&case.join(", "));
    writer.line(TITLE_MM, Weight::Bold, &source.text("sheet.numbers"));
    writer.paragraph(&source.text("sheet.numbers_how"));
    writer.table();
    writer.price();
    writer.upkeep();
    writer.line(HEADING_MM, Weight::Bold, &source.text("sheet.cautions"));
    for caution in CAUTIONS {
        writer.paragraph(&source.text(&format!("sheet.caution.{caution}")));
    }
    writer.pages
}

/// Width of two columns of numbers where two poses stand beside each other, mm.
const PAIR_MM: f64 = 54.0;

struct Writer<'a> {
    source: &'a Source<'a>,
    size_mm: (f64, f64),
    pages: Vec<Page>,
    y: f64,
}

impl<'a> Writer<'a> {
    fn new(source: &'a Source<'a>) -> Self {
        let size_mm = source.options.paper.size_mm();
        let page = Page { size_mm, marks: Vec::new() };
        Writer { source, size_mm, pages: vec![page], y: MARGIN_MM }
    }

    /// Room for so many mm: goes to another page where there is none.
    fn room(&mut self, mm: f64) {
        if self.y + mm > self.size_mm.1 - MARGIN_MM {
            self.pages.push(Page { size_mm: self.size_mm, marks: Vec::new() });
            self.y = MARGIN_MM;
        }
        self.y += mm;
    }

    fn put(&mut self, mark: Mark) {
        if let Some(page) = self.pages.last_mut() {
            page.marks.push(mark);
        }
    }

    fn text(&mut self, x: f64, size_mm: f64, align: Align, weight: Weight, text: &str) {
        let at = Point::new(x, self.y);
        self.put(Mark::Text { at, size_mm, align, weight, text: text.to_owned() });
    }

    fn rule(&mut self) {
        let y = self.y + 1.4;
        let points = vec![Point::new(MARGIN_MM, y), Point::new(self.size_mm.0 - MARGIN_MM, y)];
        self.put(Mark::Line { ink: Ink::Rule, points, closed: false });
    }

    fn line(&mut self, size_mm: f64, weight: Weight, text: &str) {
        self.room(size_mm * LEADING + 1.6);
        let (x, align) = self.source.line_start(0.0);
        self.text(x, size_mm, align, weight, text);
    }

    fn paragraph(&mut self, text: &str) {
        let width = self.size_mm.0 - 2.0 * MARGIN_MM;
        for line in self.source.fonts.lines(text, TEXT_MM, Weight::Regular, width) {
            self.room(TEXT_MM * LEADING);
            let (x, align) = self.source.line_start(0.0);
            self.text(x, TEXT_MM, align, Weight::Regular, &line);
        }
        self.y += 0.8;
    }

    /// Where the columns of numbers end, mm: right and left upright, then in the pose. Read from the right, the pairs change places and
    /// the sides within them do not: her right stays left of her left, as on the drawing.
    fn columns(&self) -> Vec<f64> {
        let pairs = if self.source.pose.is_some() { 2 } else { 1 };
        let wide = if pairs == 2 { 0.5 * PAIR_MM } else { 36.0 };
        let is_mirrored = self.source.is_right_to_left();
        let mut ends = Vec::new();
        for pair in 0..pairs {
            for side in 0..2 {
                // Columns to the right of this one.
                let after = 2 * (pairs - 1 - pair) + 1 - side;
                ends.push(if is_mirrored {
                    MARGIN_MM + wide * f64::from(2 * (pairs - 1 - pair) + side + 1)
                } else {
                    self.size_mm.0 - MARGIN_MM - wide * f64::from(after)
                });
            }
        }
        ends
    }

    fn table(&mut self) {
        let source = self.source;
        let columns = self.columns();
        let side = |side: Side| source.text(&format!("side_short.{}", side.name()));
        if let Some(pose) = source.pose {
            // A pose's name has the width of its pair of columns, and as many lines as it needs.
            let names = [source.text("sheet.upright_short"), source.text(&format!("pose.{}", pose.id))];
            let names = names.map(|name| source.fonts.lines(&name, TEXT_MM, Weight::Bold, PAIR_MM - 4.0));
            let most = names.iter().map(Vec::len).max().unwrap_or_default();
            self.y += 2.0;
            for line in 0..most {
                self.room(TEXT_MM * LEADING);
                for (name, pair) in names.iter().zip(columns.chunks_exact(2)) {
                    // Names of fewer lines stand on the numbers, not in the air.
                    let Some(words) = (line + name.len()).checked_sub(most).and_then(|at| name.get(at))
                    else {
                        continue;
                    };
                    let end = pair.iter().copied().fold(f64::MIN, f64::max);
                    self.text(end, TEXT_MM, Align::End, Weight::Bold, words);
                }
            }
        }
        self.room(TEXT_MM * LEADING + 0.6);
        for (column, x) in columns.iter().enumerate() {
            self.text(*x, TEXT_MM, Align::End, Weight::Regular, &side(Side::BOTH[column % 2]));
        }
        self.rule();
        for (number, step) in STEPS.into_iter().enumerate() {
            let heading = format!("{}  {}", number + 1, source.text(&format!("sheet.step.{}", step.id)));
            self.line(HEADING_MM, Weight::Bold, &heading);
            for row in source.rows.iter().filter(|row| row.step == step.id) {
                self.room(TEXT_MM * LEADING + 0.8);
                let name = source.text(&format!("measure.{}", row.measure));
                let unit = source.text(&format!("unit.{}", row.unit));
                let (x, align) = source.line_start(5.0);
                let named = source.filled("sheet.measure", &[("name", &name), ("unit", &unit)]);
                self.text(x, TEXT_MM, align, Weight::Regular, &named);
                let couch = row.couch.unwrap_or_default();
                let found = [row.upright.right, row.upright.left, couch.right, couch.left];
                for (x, found) in columns.iter().zip(found) {
                    let text = found.map_or_else(
                        || "–".to_owned(),
                        |Measured { value, ci95 }| {
                            format!(
                                "{} ± {}",
                                self.source.shown(row.unit, value),
                                self.source.shown(row.unit, ci95)
                            )
                        },
                    );
                    self.text(*x, TEXT_MM, Align::End, Weight::Regular, &text);
                }
                self.rule();
            }
        }
        self.y += 2.0;
    }

    /// Her own words first, then what is usual.
    fn upkeep(&mut self) {
        let source = self.source;
        self.line(HEADING_MM, Weight::Bold, &source.text("sheet.upkeep"));
        for words in source.plan.upkeep.lines().filter(|words| !words.trim().is_empty()) {
            self.paragraph(words);
        }
        self.paragraph(&source.text("sheet.usual_times"));
        self.y += 2.0;
    }

    fn price(&mut self) {
        let source = self.source;
        self.line(HEADING_MM, Weight::Bold, &source.text("sheet.price"));
        for side in Side::BOTH {
            let Some(areas) = source.report.areas.get(side) else { continue };
            let text = source.filled(
                "balance.price_one",
                &[
                    ("side", &source.text(&format!("side.{}", side.name()))),
                    ("removed", &source.with_unit("mm2", areas.removed_mm2)),
                    ("removed_pct", &source.shown("pct", areas.removed_pct)),
                    ("added", &source.with_unit("mm2", areas.added_mm2)),
                    ("added_pct", &source.shown("pct", areas.added_pct)),
                ],
            );
            self.paragraph(&text);
        }
        for side in Side::BOTH {
            let strips: Vec<String> = source
                .report
                .strips
                .iter()
                .filter(|strip| strip.side == side)
                .map(|strip| {
                    let place = source.text(&format!("strip.{}", strip.place));
                    let (area, widest) =
                        (source.shown("mm2", strip.area_mm2), source.shown("mm", strip.widest_mm));
                    source.filled("sheet.strip", &[("place", &place), ("area", &area), ("widest", &widest)])
                })
                .collect();
            if !strips.is_empty() {
                let name = source.text(&format!("side.{}", side.name()));
                self.paragraph(
                    &source.filled("sheet.strips", &[("side", &name), ("list", &strips.join("; "))]),
                );
            }
        }
        let plan = source.plan;
        if let Some(variant) = plan.variants.iter().find(|variant| variant.planned == plan.planned) {
            self.paragraph(&source.filled("sheet.variant", &[("name", &variant.name)]));
        }
        if let Some(agreement) = &source.report.agreement {
            let key = if agreement.seal == "whole" { "sheet.agreed" } else { "sheet.seal_broken" };
            // As far as the minute; the offset says nothing to who reads it.
            let at = agreement.at.get(..16).unwrap_or_default().replace('T', " ");
            self.paragraph(&source.filled(key, &[("initials", &agreement.initials), ("at", &at)]));
        }
        let limits = &plan.limits;
        self.paragraph(&source.filled(
            "sheet.limits",
            &[
                ("removed", &source.shown("pct", limits.removed_pct)),
                ("added", &source.shown("pct", limits.added_pct)),
            ],
        ));
        if let (Some(natural), Some(planned)) =
            (&source.report.natural_symmetry, &source.report.planned_symmetry)
        {
            self.paragraph(&source.filled(
                "sheet.uneven",
                &[
                    ("natural", &source.shown("mm", natural.mean_distance_mm)),
                    ("planned", &source.shown("mm", planned.mean_distance_mm)),
                    ("ci", &source.shown("mm", planned.ci95_mm)),
                ],
            ));
        }
        self.y += 2.0;
    }
}
