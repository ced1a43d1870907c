//! The printed sheet, measured: rendered by an independent PDF renderer at 600 dpi, read by an independent PDF reader.

use std::path::Path;

use counterpoise_geometry::{PerSide, Side, SortedMap};
use counterpoise_plan::{Edit, Plan, PoseHeights, PoseRecord, apply, report, scene_in_pose, shown};
use counterpoise_sheet::{Align, Fonts, Mark, Paper, Sheet, SheetOptions, csv, pdf, svg};
use counterpoise_tests::cases::{Camera, planned_params, whole_plan};
use counterpoise_tests::read_json;
use hayro::hayro_interpret::InterpreterSettings;
use hayro::hayro_syntax::Pdf;
use hayro::vello_cpu::Pixmap;
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::{PixmapSettings, RenderCache, RenderSettings, render};
use kurbo::{Point, Vec2};

const DPI: f64 = 600.0;
const MM_PER_INCH: f64 = 25.4;

fn words() -> SortedMap<String, String> {
    words_in("en")
}

fn words_in(language: &str) -> SortedMap<String, String> {
    let path = format!("../www/messages/{language}.json");
    read_json(&Path::new(env!("CARGO_MANIFEST_DIR")).join(path))
}

fn options(words: &SortedMap<String, String>) -> SheetOptions<'_> {
    SheetOptions {
        paper: Paper::A4,
        mirrored: false,
        date: "2026-11-26",
        printed_bar_mm: None,
        pose: None,
        words,
    }
}

fn plan() -> Plan {
    let mut plan = whole_plan(&Camera::default()).expect("the invented case");
    plan.case.label = "Δήμητρα Œuvré, Јелена Ñandú".into();
    plan
}

/// A page as it comes out of a printer of 600 dpi.
struct Print {
    pixels: Pixmap,
}

impl Print {
    fn of(pdf_bytes: Vec<u8>, page: usize) -> Print {
        let pdf = Pdf::new(pdf_bytes).expect("a PDF");
        let scale = (DPI / 72.0) as f32;
        let settings = PixmapSettings { x_scale: scale, y_scale: scale, bg_color: WHITE };
        let cache = RenderCache::new();
        let page = &pdf.pages()[page];
        let pixels =
            render(page, &cache, &InterpreterSettings::default(), &RenderSettings::default(), &settings);
        Print { pixels }
    }

    fn size_mm(&self) -> (f64, f64) {
        let mm = |px: u16| f64::from(px) * MM_PER_INCH / DPI;
        (mm(self.pixels.width()), mm(self.pixels.height()))
    }

    /// How dark it is at a place of the page (mm), 0 to 1.
    fn ink(&self, at: Point) -> f64 {
        let px = |mm: f64| (mm * DPI / MM_PER_INCH) as u16;
        let (x, y) = (px(at.x), px(at.y));
        if x >= self.pixels.width() || y >= self.pixels.height() {
            return 0.0;
        }
        let sample = self.pixels.sample(x, y);
        1.0 - f64::from(sample.r) / 255.0
    }

    /// Middles of the dark stretches along a straight way of the page, mm from its start.
    fn strokes(&self, from: Point, to: Point) -> Vec<(f64, f64)> {
        const STEP_MM: f64 = 0.01;
        let length = from.distance(to);
        let steps = (length / STEP_MM) as usize;
        let mut found: Vec<(f64, f64)> = Vec::new();
        let mut start = None;
        for step in 0..=steps {
            let along = step as f64 * STEP_MM;
            let is_dark = self.ink(from.lerp(to, along / length)) > 0.5;
            match (is_dark, start) {
                (true, None) => start = Some(along),
                (false, Some(began)) => {
                    found.push((0.5 * (began + along), along - began));
                    start = None;
                }
                _ => {}
            }
        }
        found
    }
}

/// Strokes of the check bars lie 10 mm apart: the first and the last 100 mm, in both directions.
fn bars(print: &Print, height: f64, width: f64, scale: f64) -> [f64; 2] {
    let y = height - 26.0 - 1.0;
    let across = print.strokes(Point::new(0.5 * width - 75.0, y), Point::new(0.5 * width + 75.0, y));
    assert_eq!(across.len(), 11, "{across:?}");
    let x = 12.0 + 8.0 + 1.0;
    let upright =
        print.strokes(Point::new(x, height - 34.0 - 100.0 * scale - 4.0), Point::new(x, height - 30.0));
    assert_eq!(upright.len(), 11, "{upright:?}");
    [across, upright].map(|strokes| strokes[10].0 - strokes[0].0)
}

#[test]
fn bars_measure_what_they_say() {
    let words = words();
    for (paper, size) in [(Paper::A4, (210.0, 297.0)), (Paper::Letter, (215.9, 279.4))] {
        let sheet = Sheet::of(&plan(), &SheetOptions { paper, ..options(&words) }).expect("a sheet");
        let print = Print::of(pdf(&sheet), 0);
        let (width, height) = print.size_mm();
        assert!((width - size.0).abs() < 0.1 && (height - size.1).abs() < 0.1, "{width} × {height}");
        let measured = bars(&print, size.1, size.0, 1.0);
        println!("{paper:?}: bars {measured:.3?} mm");
        assert!(measured.iter().all(|mm| (mm - 100.0).abs() < 0.1), "{measured:?}");
    }
    // A printer that makes 98 mm of 100 is given 102.04 to print.
    let corrected = SheetOptions { printed_bar_mm: Some(98.0), ..options(&words) };
    let sheet = Sheet::of(&plan(), &corrected).expect("a sheet");
    let measured = bars(&Print::of(pdf(&sheet), 0), 297.0, 210.0, 100.0 / 98.0);
    assert!(measured.iter().all(|mm| (mm - 102.041).abs() < 0.1), "{measured:?}");
    for mm in [79.9, 120.1, f64::NAN] {
        let refused = Sheet::of(&plan(), &SheetOptions { printed_bar_mm: Some(mm), ..options(&words) });
        assert!(["out_of_range", "not_finite"].contains(&refused.expect_err("beyond the range").code));
    }
}

/// Where the outline is printed against where the plan has it: along the normal of every point of its contour.
fn outline_errors(print: &Print, place: impl Fn(Side, Point) -> Point) -> (usize, f64) {
    let contour =
        counterpoise_geometry::Outline::try_new(&planned_params()).expect("valid").contour().resampled(400);
    let points = contour.points();
    let (mut measured, mut worst) = (0, 0.0_f64);
    for side in Side::BOTH {
        for index in 0..points.len() {
            let at = place(side, points[index]);
            let ahead = place(side, points[(index + 1) % points.len()]);
            let normal: Vec2 = (ahead - at).turn_90().normalize();
            let strokes = print.strokes(at - normal * 0.5, at + normal * 0.5);
            // Where another line runs along or across, the stroke is not the outline's own width.
            let own = strokes.iter().filter(|(_, wide)| (0.28..0.42).contains(wide));
            if let Some(off) = own.map(|(middle, _)| (middle - 0.5).abs()).min_by(f64::total_cmp) {
                measured += 1;
                worst = worst.max(off);
            }
        }
    }
    (measured, worst)
}

#[test]
fn outlines_are_printed_where_the_plan_has_them() {
    let words = words();
    let sheet = Sheet::of(&plan(), &SheetOptions { mirrored: true, ..options(&words) }).expect("a sheet");
    let bytes = pdf(&sheet);
    for (page, turned) in [(0, 1.0), (1, -1.0)] {
        let print = Print::of(bytes.clone(), page);
        let place = |side: Side, at: Point| Point::new(105.0 + turned * side.sign() * at.x, 120.0 - at.y);
        let (measured, worst) = outline_errors(&print, place);
        println!("page {}: {measured} of 800 places measured, worst {worst:.3} mm", page + 1);
        assert!(measured > 500 && worst < 0.1, "{measured} {worst}");
    }
}

/// The numbers on paper are those of the report, and a name in any European script can be read again.
#[test]
fn numbers_can_be_read_from_the_paper() {
    let words = words();
    let plan = with_couch(&plan());
    let kept = apply(&plan, &Edit::KeepVariant { name: "soft arch".into() }).expect("there is a pair");
    let upkeep = "Weekly: pluck under the front.\nNo sauna for a fortnight.";
    let kept = apply(&kept, &Edit::NoteUpkeep { note: upkeep.into() }).expect("a short note");
    let pose = Some("reclined_closed_resting");
    let of = |plan: &Plan| Sheet::of(plan, &SheetOptions { pose, ..options(&words) }).expect("a sheet");
    // Where the pair in work is one that was kept, its name stands on the sheet.
    let kept_text = pdf_extract::extract_text_from_mem(&pdf(&of(&kept))).expect("text");
    assert!(kept_text.contains("soft arch"), "{kept_text}");
    assert!(upkeep.lines().all(|line| kept_text.contains(line)), "{kept_text}");
    // Healing of 7 to 14 days, touch-up at about 6 weeks: usual practice, and said to be that.
    assert!(kept_text.contains("7 to 14 days") && kept_text.contains("common practice"), "{kept_text}");
    let sheet = of(&plan);
    assert!(sheet.missing.is_empty(), "{:?}", sheet.missing);
    let text = pdf_extract::extract_text_from_mem(&pdf(&sheet)).expect("text");
    let plain: String = text.chars().filter(|letter| !letter.is_whitespace()).collect();
    let says = |wanted: &str| plain.contains(&wanted.replace(' ', ""));
    assert!(says(&plan.case.label), "{text}");
    assert!(says("2026-11-26") && says("Client's right") && says("Client's left"), "{text}");
    let report = report(&plan);
    let carried = &report.poses[0].carried;
    for id in [
        "front_distance",
        "bulb_bottom",
        "bulb_top",
        "arch_top",
        "tail_out",
        "tail_up",
        "front_to_arch",
        "tail_angle",
    ] {
        let row = report.planned.iter().find(|row| row.id == id).expect("a row");
        let here = carried.iter().find(|row| row.id == id).expect("a row");
        for found in [row.sides.right, row.sides.left, here.here.right, here.here.left].into_iter().flatten()
        {
            let wanted = format!("{} ± {}", shown(row.unit, found.value), shown(row.unit, found.ci95));
            assert!(says(&wanted), "{id}: {wanted} is not on the paper:\n{text}");
        }
    }
    // The same in the table.
    let table = csv(&sheet);
    let arch = table.lines().find(|line| line.starts_with("heights,arch_top,mm,")).expect("a line");
    let couch = carried.iter().find(|row| row.id == "arch_top").expect("a row").here.right.expect("right");
    assert!(arch.contains(&shown("mm", couch.value)), "{arch}");
    assert!(table.lines().all(|line| line.split(',').count() == 11), "{table}");
    // Letters that no font here has are shown as such and named.
    let mut far = plan.clone();
    far.case.label = "眉 Ana".into();
    let sheet = Sheet::of(&far, &options(&words)).expect("a sheet");
    assert_eq!(sheet.missing, vec!['眉']);
    let shown = |mark: &Mark| matches!(mark, Mark::Text { text, .. } if text == "\u{FFFD} Ana");
    assert!(sheet.pages[0].marks.iter().any(shown));
}

/// The drawing of the couch is the plan's outline moved by the lift: carried there and back within 0.05 mm.
#[test]
fn couch_drawing_comes_back_to_the_plan() {
    let words = words();
    let plan = with_couch(&plan());
    let pose = "reclined_closed_resting";
    let sheet = Sheet::of(&plan, &SheetOptions { pose: Some(pose), ..options(&words) }).expect("a sheet");
    let scene = scene_in_pose(&mut counterpoise_plan::DeriveMemo::default(), &plan, pose).expect("recorded");
    let planned: Vec<Vec<Point>> = scene
        .items
        .iter()
        .filter(|item| item.kind == counterpoise_plan::Kind::Planned)
        .map(|item| item.path.elements().iter().filter_map(kurbo::PathEl::end_point).collect())
        .collect();
    let drawn: Vec<&Vec<Point>> = sheet.pages[0]
        .marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::Line { ink: counterpoise_sheet::Ink::Outline, points, closed: true } => Some(points),
            _ => None,
        })
        .collect();
    assert_eq!((planned.len(), drawn.len()), (2, 2));
    let lift = report(&plan).poses[0].places.clone();
    for (k, (face, paper)) in planned.iter().zip(drawn).enumerate() {
        for at in face {
            let wanted = Point::new(105.0 + at.x, 120.0 - at.y);
            assert!(paper.iter().any(|on| on.distance(wanted) < 0.01), "{at:?}");
        }
        // Back by the lifts, straight between front, arch and tail.
        let side = Side::BOTH[k];
        let natural = report(&plan).natural;
        let out = |id: &str| natural.iter().find(|row| row.id == id).unwrap().sides.get(side).unwrap().value;
        let at: [f64; 3] = ["front_distance", "arch_distance", "tail_out"].map(out);
        let by: [f64; 3] = [0, 1, 2].map(|place: usize| lift[place].lift.get(side).unwrap().value);
        let shape = counterpoise_geometry::Outline::try_new(&planned_params()).expect("valid").contour();
        for point in shape.points() {
            let x = point.x;
            let between = |i: usize, j: usize| {
                by[i] + (by[j] - by[i]) * ((x - at[i]) / (at[j] - at[i])).clamp(0.0, 1.0)
            };
            let lift = if x < at[1] { between(0, 1) } else { between(1, 2) };
            let wanted = Point::new(side.sign() * x, point.y + lift);
            let nearest = face.iter().map(|on| on.distance(wanted)).fold(f64::INFINITY, f64::min);
            assert!(nearest < 0.05, "{point:?}: {nearest}");
        }
    }
}

#[test]
fn svg_is_in_millimetres() {
    let words = words();
    let sheet = Sheet::of(&plan(), &options(&words)).expect("a sheet");
    let text = svg(&sheet.pages[0]);
    assert!(text.contains("width=\"210mm\" height=\"297mm\" viewBox=\"0 0 210 297\""));
    let bar = text.lines().find(|line| line.contains("class=\"bar\"")).expect("a bar");
    assert!(bar.contains("M55.0000 271.0000L155.0000 271.0000"), "{bar}");
    let mut evil = plan();
    evil.case.label = "<script>&\u{1}".into();
    let text = svg(&Sheet::of(&evil, &options(&words)).expect("a sheet").pages[0]);
    assert!(text.contains("&lt;script&gt;&amp;") && !text.contains("<script"));
}

#[test]
fn what_cannot_be_printed_is_said() {
    let words = words();
    let code = |plan: &Plan, pose| {
        Sheet::of(plan, &SheetOptions { pose, ..options(&words) }).expect_err("refused").code
    };
    assert_eq!(code(&Plan::default(), None), "planned_first");
    assert_eq!(code(&plan(), Some("reclined_closed_resting")), "pose_first");
    assert_eq!(code(&plan(), Some("sideways")), "pose_first");
}

fn with_couch(plan: &Plan) -> Plan {
    let rows = report(plan).natural;
    let height = |id: &str, side: Side| {
        rows.iter().find(|row| row.id == id).expect("a number").sides.get(side).expect("a number").value
    };
    let heights = PerSide::from_fn(|side| {
        Some(PoseHeights {
            front_mm: height("bulb_bottom", side) - 0.8,
            arch_mm: height("arch_top", side) - if side == Side::Right { 2.0 } else { 0.4 },
            tail_mm: height("tail_up", side) - 0.5,
        })
    });
    let record = PoseRecord { heights, photo: None };
    apply(plan, &Edit::SetPose { pose: "reclined_closed_resting".into(), record }).expect("a pose")
}

/// The languages that there is a catalogue for.
fn languages() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../www/messages");
    let files = std::fs::read_dir(folder).expect("the catalogues");
    files
        .map(|file| file.expect("a file").path().file_stem().expect("a name").to_string_lossy().into_owned())
        .collect()
}

/// Where a text stands, mm, and which end of it.
fn placed(page: &counterpoise_sheet::Page, wanted: &str) -> Vec<(f64, Align)> {
    let found = page.marks.iter().filter_map(|mark| match mark {
        Mark::Text { at, align, text, .. } if text == wanted => Some((at.x, *align)),
        _ => None,
    });
    found.collect()
}

/// Texts on one line that run into each other.
fn overlapping(page: &counterpoise_sheet::Page, fonts: &Fonts) -> Vec<String> {
    let mut spans = Vec::new();
    for mark in &page.marks {
        if let Mark::Text { at, size_mm, align, weight, text } = mark {
            let start = at.x - fonts.offset_mm(text, *size_mm, *weight, *align);
            spans.push((at.y, start, start + fonts.width_mm(text, *size_mm, *weight), text));
        }
    }
    let mut found = Vec::new();
    for (i, (y, start, end, text)) in spans.iter().enumerate() {
        let same_line = spans[i + 1..].iter().filter(|other| (other.0 - y).abs() < 1.0);
        found.extend(
            same_line
                .filter(|other| other.1 < *end && *start < other.2)
                .map(|other| format!("{text} | {}", other.3)),
        );
    }
    found
}

/// A sheet is written whole in every language and keeps its margins; read from the right, lines begin there, but the drawing is the same and
/// her right stays left of her left.
#[test]
fn every_language_is_written_whole_and_the_drawing_stays() {
    const EDGE_MM: f64 = 8.0;
    let mut plan = with_couch(&plan());
    plan.case.label = "ليلى, Leyla (2)".into();
    let couch = Some("reclined_closed_resting");
    let sheet = |words: &SortedMap<String, String>| {
        Sheet::of(&plan, &SheetOptions { pose: couch, ..options(words) }).expect("a sheet")
    };
    let lines = |sheet: &Sheet| -> Vec<Mark> {
        sheet.pages[0].marks.iter().filter(|mark| matches!(mark, Mark::Line { .. })).cloned().collect()
    };
    let fonts = Fonts::new().expect("the built-in fonts");
    let drawn = lines(&sheet(&words()));
    let mut from_the_right = 0;
    for language in languages() {
        let words = words_in(&language);
        let sheet = sheet(&words);
        assert!(sheet.missing.is_empty(), "{language}: no letters for {:?}", sheet.missing);
        assert_eq!(lines(&sheet), drawn, "{language}: the drawing is the same");
        let (width, height) = sheet.pages[0].size_mm;
        let (start, align) = match words["text.direction"].as_str() {
            "rtl" => (width - 12.0, Align::End),
            _ => (12.0, Align::Start),
        };
        from_the_right += usize::from(align == Align::End);
        let numbers = &sheet.pages[1];
        assert_eq!(placed(numbers, &words["sheet.numbers"]), [(start, align)], "{language}");
        let [rights, lefts] =
            ["right", "left"].map(|side| placed(numbers, &words[&format!("side_short.{side}")]));
        assert_eq!((rights.len(), lefts.len()), (2, 2), "{language}");
        for ((right, _), (left, _)) in rights.into_iter().zip(lefts) {
            assert!(right < left, "{language}: her right at {right}, her left at {left}");
        }
        for page in &sheet.pages {
            assert_eq!(overlapping(page, &fonts), [""; 0], "{language}");
        }
        let bytes = pdf(&sheet);
        for page in 0..sheet.pages.len() {
            let print = Print::of(bytes.clone(), page);
            for x in [EDGE_MM, width - EDGE_MM] {
                let strokes = print.strokes(Point::new(x, 0.0), Point::new(x, height));
                assert_eq!(strokes, [], "{language}, page {page}: ink at {x} mm");
            }
        }
        if let Some(folder) = std::env::var_os("COUNTERPOISE_SHOTS") {
            std::fs::write(Path::new(&folder).join(format!("sheet.{language}.pdf")), bytes).expect("written");
        }
    }
    assert!(from_the_right > 0, "no language is read from the right");
}
