//! Laying a plan out.

use std::collections::BTreeSet;

use counterpoise_geometry::Side;
use counterpoise_plan::codes::refused;
use counterpoise_plan::{
    DeriveMemo, Plan, PlanError, PoseReport, Report, Scene, SortedMap, field, in_range, is_right_to_left,
    report, scene, scene_in_pose, shown_in,
};

use crate::drawing::{MARGIN_MM, drawing};
use crate::font::Fonts;
use crate::numbers::numbers;
use crate::page::{Align, Mark, Page, Paper};
use crate::table::{Row, rows};

/// What the sheet is to be.
#[derive(Clone, Copy, Debug)]
pub struct SheetOptions<'a> {
    /// Paper.
    pub paper: Paper,
    /// Whether a page for transfer paper follows the first one: the same drawing the other way round.
    pub mirrored: bool,
    /// The day of printing, as it is to be written; empty for none.
    pub date: &'a str,
    /// What a printed bar of 100 mm measured, mm; the drawing is then made so much larger or smaller.
    pub printed_bar_mm: Option<f64>,
    /// The recorded pose that she is drawn on in; `None`: upright with open eyes.
    pub pose: Option<&'a str>,
    /// The texts of the catalogue by key.
    pub words: &'a SortedMap<String, String>,
}

/// A plan laid out.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The drawing, the same mirrored where it was asked for, and the numbers.
    pub pages: Vec<Page>,
    /// The numbers by themselves.
    pub rows: Vec<Row>,
    /// Title of the document: the label of the case.
    pub title: String,
    /// Letters of the case's texts that the font has not got; U+FFFD stands for each.
    pub missing: Vec<char>,
}

/// All that the pages are made from.
pub struct Source<'a> {
    pub plan: &'a Plan,
    pub options: &'a SheetOptions<'a>,
    pub report: &'a Report,
    pub pose: Option<&'a PoseReport>,
    pub scene: &'a Scene,
    pub rows: &'a [Row],
    pub fonts: &'a Fonts,
    /// Millimetres of the page for each of the face.
    pub scale: f64,
}

impl Source<'_> {
    /// The text of this key, or the key.
    pub fn text(&self, key: &str) -> String {
        self.options.words.get(key).cloned().unwrap_or_else(|| key.to_owned())
    }

    /// A number with the decimal sign of the sheet's language.
    pub fn shown(&self, unit: &str, value: f64) -> String {
        shown_in(self.options.words, unit, value)
    }

    /// A number with its unit.
    pub fn with_unit(&self, unit: &str, value: f64) -> String {
        self.filled(&format!("number.{unit}"), &[("value", &self.shown(unit, value))])
    }

    /// The text of this key with values put in; within words from right to left each keeps its own direction (Unicode UAX 9, FSI and PDI).
    pub fn filled(&self, key: &str, values: &[(&str, &str)]) -> String {
        let is_isolated = self.is_right_to_left();
        values.iter().fold(self.text(key), |text, (name, value)| {
            let value = if is_isolated { format!("\u{2068}{value}\u{2069}") } else { (*value).to_owned() };
            text.replace(&format!("{{{name}}}"), &value)
        })
    }

    /// Whether the sheet is read from right to left. The drawing never is: her right stays where it is.
    pub fn is_right_to_left(&self) -> bool {
        is_right_to_left(self.options.words)
    }

    /// Where a line of text starts that is so far in from the margin, mm, and which end of it stands there.
    pub fn line_start(&self, inset_mm: f64) -> (f64, Align) {
        let left = MARGIN_MM + inset_mm;
        if self.is_right_to_left() {
            (self.options.paper.size_mm().0 - left, Align::End)
        } else {
            (left, Align::Start)
        }
    }

    /// Where a line of text ends, mm, and which end of it stands there.
    pub fn line_end(&self) -> (f64, Align) {
        let right = self.options.paper.size_mm().0 - MARGIN_MM;
        if self.is_right_to_left() { (MARGIN_MM, Align::Start) } else { (right, Align::End) }
    }
}

/// Length of the bars that the printer is checked by, mm.
pub const BAR_MM: f64 = 100.0;

impl Sheet {
    /// Lays a plan out.
    ///
    /// # Errors
    /// `planned_first` where no outline is planned; `pose_first` where the pose is not recorded, or cannot be
    /// used for every brow that is planned;
    /// `out_of_range` for a bar outside 80 to 120 mm.
    pub fn of(plan: &Plan, options: &SheetOptions) -> Result<Sheet, PlanError> {
        if let Some(mm) = options.printed_bar_mm {
            in_range(&field::PRINTED_BAR, mm)?;
        }
        let found = report(plan);
        if found.planned.is_empty() {
            return Err(PlanError::refused(refused::PLANNED_FIRST, Side::Right.name()));
        }
        let pose_first = |id: &str| PlanError::refused(refused::POSE_FIRST, id);
        let (drawn, pose) = match options.pose {
            None => (scene(plan), None),
            Some(id) => {
                let pose = found.poses.iter().find(|pose| pose.id == id);
                let pose = pose.filter(|pose| moves_all(pose, plan)).ok_or_else(|| pose_first(id))?;
                let scene =
                    scene_in_pose(&mut DeriveMemo::default(), plan, id).ok_or_else(|| pose_first(id))?;
                (scene, Some(pose))
            }
        };
        let fonts = Fonts::new().ok_or_else(|| PlanError::refused(refused::NO_START, ""))?;
        let rows = rows(&found, pose);
        let source = Source {
            plan,
            options,
            report: &found,
            pose,
            scene: &drawn,
            rows: &rows,
            fonts: &fonts,
            scale: BAR_MM / options.printed_bar_mm.unwrap_or(BAR_MM),
        };
        let mut pages = vec![drawing(&source, false)];
        if options.mirrored {
            pages.push(drawing(&source, true));
        }
        pages.extend(numbers(&source));
        let missing = replace_missing(&mut pages, &fonts);
        Ok(Sheet { pages, rows, title: plan.case.label.clone(), missing })
    }
}

/// Whether a pose can be used, and for every brow that is planned.
fn moves_all(pose: &PoseReport, plan: &Plan) -> bool {
    let moves = |side: Side| {
        !pose.places.is_empty() && pose.places.iter().all(|place| place.lift.get(side).is_some())
    };
    pose.problem.is_none()
        && Side::BOTH.into_iter().all(|side| plan.planned.get(side).is_none() || moves(side))
}

/// Puts U+FFFD for letters that the font has not got.
fn replace_missing(pages: &mut [Page], fonts: &Fonts) -> Vec<char> {
    let mut missing = BTreeSet::new();
    for mark in pages.iter_mut().flat_map(|page| &mut page.marks) {
        if let Mark::Text { text, .. } = mark {
            let (written, lacking) = fonts.written(text);
            if !lacking.is_empty() {
                *text = written;
                missing.extend(lacking);
            }
        }
    }
    missing.into_iter().collect()
}
