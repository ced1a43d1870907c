//! Areas and distances against values that this project's code did not compute: shapely and scipy (the fixture names
//! the versions), a second sweep-line library, closed forms, and real outlines.

use std::f64::consts::{PI, TAU};
use std::fs;
use std::path::Path;

use counterpoise_geometry::{
    Contour, Outline, OutlineParams, PARAM_COUNT, Param, contour_from_trace, count_regions, counted_regions,
    eroded, hausdorff, iou, mean_contour_distance, mean_contour_distance_with_roll, overlap_area,
    patches_area, regions, unevenness,
};
use counterpoise_tests::data_dir;
use kurbo::{Point, Shape, Vec2};
use serde::Deserialize;

/// Gate for areas against shapely, mm².
const AREA_MM2: f64 = 1e-6;
/// Gate for lengths and distances against shapely and scipy, mm.
const LENGTH_MM: f64 = 1e-6;

#[derive(Deserialize)]
struct Fixture {
    erode_mm: f64,
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    name: String,
    a: Vec<(f64, f64)>,
    b: Vec<(f64, f64)>,
    area_a: f64,
    perimeter_a: f64,
    intersection: f64,
    a_minus_b: f64,
    b_minus_a: f64,
    shrunk_a: f64,
    shrunk_a_minus_b: f64,
    hausdorff: f64,
    mean_distance: f64,
    mean_distance_rolled: [f64; 2],
}

fn contour(points: &[(f64, f64)]) -> Contour {
    Contour::try_new(points.iter().map(|&p| p.into()).collect()).expect("a simple polygon")
}

#[test]
fn areas_and_distances_agree_with_shapely_and_scipy() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/shapes.json");
    let text = fs::read_to_string(path).expect("the fixture is committed");
    let fixture: Fixture = serde_json::from_str(&text).expect("the fixture is JSON");
    assert!(fixture.cases.len() >= 45, "{} cases", fixture.cases.len());
    let mut worst = std::collections::BTreeMap::<&str, f64>::new();
    for case in &fixture.cases {
        let (a, b) = (contour(&case.a), contour(&case.b));
        let found = counted_regions(&a, &b, fixture.erode_mm);
        let degree = 1_f64.to_radians();
        for (what, ours, theirs, gate) in [
            ("area", a.area(), case.area_a, AREA_MM2),
            ("perimeter", a.perimeter(), case.perimeter_a, LENGTH_MM),
            ("kept", found.areas.kept, case.intersection, AREA_MM2),
            ("overlap", overlap_area(&a, &b), case.intersection, AREA_MM2),
            ("removed", found.areas.removed, case.a_minus_b, AREA_MM2),
            ("added", found.areas.added, case.b_minus_a, AREA_MM2),
            ("shrunk", patches_area(&eroded(&a, fixture.erode_mm)), case.shrunk_a, AREA_MM2),
            ("removed beyond the tolerance", found.areas.removed_counted, case.shrunk_a_minus_b, AREA_MM2),
            ("hausdorff", hausdorff(&a, &b), case.hausdorff, LENGTH_MM),
            ("mean distance", mean_contour_distance(&a, &b), case.mean_distance, LENGTH_MM),
            (
                "mean distance, less roll",
                mean_contour_distance_with_roll(&a, &b, -degree),
                case.mean_distance_rolled[0],
                LENGTH_MM,
            ),
            (
                "mean distance, more roll",
                mean_contour_distance_with_roll(&a, &b, degree),
                case.mean_distance_rolled[1],
                LENGTH_MM,
            ),
        ] {
            let off = (ours - theirs).abs();
            let entry = worst.entry(what).or_default();
            *entry = entry.max(off);
            assert!(off <= gate, "{}: {what}: ours {ours}, theirs {theirs}, off by {off:e}", case.name);
        }
    }
    for (what, off) in worst {
        println!("{what}: worst difference {off:.1e} over {} pairs", fixture.cases.len());
    }
}

/// A fixed sequence in 0 … 1.
struct Sequence(u64);

impl Sequence {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
}

/// A closed shape that is seen whole from its middle, stretched like a brow.
fn stretched_star(sequence: &mut Sequence) -> Contour {
    let count = sequence.between(8.0, 120.0) as usize;
    let middle = Vec2::new(sequence.between(28.0, 42.0), sequence.between(16.0, 24.0));
    let (long, short) = (sequence.between(15.0, 26.0), sequence.between(2.0, 8.0));
    let rough = sequence.between(0.0, 0.5);
    let points = (0..count).map(|i| {
        let (sin, cos) = (i as f64 / count as f64 * TAU).sin_cos();
        let r = 1.0 - rough * sequence.next();
        Point::new(r * long * cos, r * short * sin) + middle
    });
    Contour::try_new(points.collect()).expect("a star is simple")
}

#[test]
fn overlays_agree_with_a_second_sweep_line_on_random_pairs() {
    use linesweeper::{BinaryOp, FillRule, binary_op_with_eps};
    // The second library moves points by up to its eps; that times the perimeter bounds the area it may be off.
    const EPS: f64 = 1e-9;
    // Ours takes lines that lie closer than this as one, mm; times the edges this bounds the area of its patches.
    const SAME_MM: f64 = 4e-9;
    let mut sequence = Sequence(11);
    let mut worst = 0.0_f64;
    for pair in 0..600 {
        let (a, b) = (stretched_star(&mut sequence), stretched_star(&mut sequence));
        let regions = regions(&a, &b);
        let counted = count_regions(&a, &b, &regions.removed, 0.0);
        let found = counted.areas;
        let same_mm2 = SAME_MM * (a.perimeter() + b.perimeter());
        let theirs = |op| {
            let contours = binary_op_with_eps(&a.to_path(), &b.to_path(), FillRule::NonZero, op, EPS)
                .expect("finite closed paths");
            contours.contours().map(|contour| contour.path.area()).sum::<f64>().abs()
        };
        let (common, apart) = (theirs(BinaryOp::Intersection), theirs(BinaryOp::Difference));
        for (ours, theirs, bound) in [
            (found.kept, common, AREA_MM2),
            (found.removed, apart, AREA_MM2),
            (found.removed + found.added, theirs(BinaryOp::Xor), AREA_MM2),
            (patches_area(&regions.kept), common, same_mm2),
            (patches_area(&regions.removed), apart, same_mm2),
            (patches_area(&counted.removed), apart, same_mm2),
        ] {
            worst = worst.max((ours - theirs).abs());
            assert!((ours - theirs).abs() < bound, "pair {pair}: ours {ours}, theirs {theirs}");
        }
    }
    println!("worst difference over 600 pairs: {worst:.1e} mm2");
}

fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Contour {
    let (xm, ym) = (0.5 * (x0 + x1), 0.5 * (y0 + y1));
    contour(&[(x0, y0), (xm, y0), (x1, y0), (x1, ym), (x1, y1), (xm, y1), (x0, y1), (x0, ym)])
}

/// Many corners, so that the polygon stays within 1e-5 mm of the circle.
fn circle(x: f64, y: f64, r: f64) -> Contour {
    let corners = 4000;
    let points = (0..corners).map(|i| {
        let (sin, cos) = (f64::from(i) / f64::from(corners) * TAU).sin_cos();
        Point::new(x + r * cos, y + r * sin)
    });
    Contour::try_new(points.collect()).expect("a circle is simple")
}

/// A rectangle 50 × 8 mm against itself 1 mm higher: intersection over union 7/9, Hausdorff 1, symmetric difference
/// 100 mm² (two strips of 50 mm²), and in general (T − h)/(T + h).
#[test]
fn shifted_rectangles_have_their_closed_forms() {
    let low = rectangle(10.0, 15.0, 60.0, 23.0);
    let high = rectangle(10.0, 16.0, 60.0, 24.0);
    assert!((iou(&low, &high) - 7.0 / 9.0).abs() < 1e-12);
    assert!((hausdorff(&low, &high) - 1.0).abs() < 1e-12);
    let areas = counted_regions(&low, &high, 0.0).areas;
    assert!((areas.removed - 50.0).abs() < 1e-9 && (areas.added - 50.0).abs() < 1e-9);
    // Shrunk by a quarter, 49.5 mm × 0.75 mm of it still lie below the other.
    assert!((counted_regions(&low, &high, 0.25).areas.removed_counted - 49.5 * 0.75).abs() < AREA_MM2);
    for h in [0.5, 2.0, 5.0, 7.5] {
        let moved = low.translated(Vec2::new(0.0, h));
        assert!((iou(&low, &moved) - (8.0 - h) / (8.0 + h)).abs() < 1e-12);
        let areas = counted_regions(&low, &moved, 0.0).areas;
        assert!((areas.removed - 50.0 * h).abs() < 1e-9 && (areas.added - 50.0 * h).abs() < 1e-9);
    }
}

#[test]
fn concentric_circles_have_their_closed_forms() {
    let (small, large) = (circle(40.0, 20.0, 6.0), circle(40.0, 20.0, 7.5));
    assert!((mean_contour_distance(&small, &large) - 1.5).abs() < 1e-5);
    assert!((hausdorff(&small, &large) - 1.5).abs() < 1e-5);
    assert!((1.0 - iou(&small, &large) - (1.0 - (6.0_f64 / 7.5).powi(2))).abs() < 1e-9);
    let shrunk = patches_area(&eroded(&large, 1.5));
    assert!((shrunk - PI * 36.0).abs() < 1e-3, "{shrunk}");
}

/// Equal circles a distance h apart: Hausdorff h, mean distance (1/2π) ∫ |√(R² + h² + 2Rh cos t) − R| dt.
#[test]
fn shifted_circles_have_their_closed_forms() {
    let (r, h) = (8.0, 1.2);
    let (one, other) = (circle(40.0, 20.0, r), circle(40.0 + h, 20.0, r));
    let steps = 100_000;
    let integral = (0..steps)
        .map(|i| {
            let t = (f64::from(i) + 0.5) / f64::from(steps) * TAU;
            ((r * r + h * h + 2.0 * r * h * t.cos()).sqrt() - r).abs()
        })
        .sum::<f64>()
        / f64::from(steps);
    // 240 points against the integral: the kinks where the circles cross cost a little.
    assert!((mean_contour_distance(&one, &other) - integral).abs() < 1e-4 * h);
    assert!((hausdorff(&one, &other) - h).abs() < 1e-5);
    assert!((integral - 2.0 * h / PI).abs() < 0.01 * h);
}

/// Two equal level brows; one degree of roll puts a point 35 mm out 2 · 35 · sin 1° = 1.22 mm apart.
#[test]
fn a_degree_of_roll_moves_level_brows_apart_by_twice_the_lever() {
    let brow = rectangle(34.9, 20.0, 35.1, 40.0);
    let degree = 1_f64.to_radians();
    let [less, more] = unevenness(&brow, &brow).roll_band_mm;
    assert!((less - more).abs() < 1e-9);
    let turned = |angle: f64| brow.rotated(angle).bounds().y0;
    let apart = turned(degree) - turned(-degree);
    // The lowest corner of one lies at the other end of the 0.2 mm wide bar than that of the other.
    assert!((apart - 2.0 * 35.0 * degree.sin()).abs() < 0.01, "{apart}");
    assert!((2.0 * 35.0 * degree.sin() - 1.22).abs() < 0.005);
}

#[derive(Deserialize)]
struct Outlines {
    outlines: Vec<RealOutline>,
}

#[derive(Deserialize)]
struct RealOutline {
    id: String,
    side: String,
    area_mm2: f64,
    outline_mm: Vec<(f64, f64)>,
}

#[derive(Deserialize)]
struct Fits {
    fits: Vec<Fit>,
}

#[derive(Deserialize)]
struct Fit {
    params: [f64; PARAM_COUNT],
}

fn real_outlines() -> Option<Vec<RealOutline>> {
    let text =
        fs::read_to_string(data_dir()?.join("real-brows/outlines.json")).expect("outlines are readable");
    let outlines: Outlines = serde_json::from_str(&text).expect("outlines are JSON");
    Some(outlines.outlines)
}

fn quantile(values: &mut [f64], share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values[((values.len() - 1) as f64 * share).round() as usize]
}

/// Outlines of real brows (Face Research Lab London Set, DeBruine & Jones 2017, CC BY 4.0).
#[test]
fn real_outlines_survive_cleaning() {
    let Some(outlines) = real_outlines() else { return };
    let (mut moved, mut shrunk, mut farthest) = (Vec::new(), Vec::new(), Vec::new());
    let mut area_off = Vec::new();
    for outline in &outlines {
        let raw = contour(&outline.outline_mm);
        area_off.push((raw.area() - outline.area_mm2).abs());
        let clean = contour_from_trace(raw.points()).expect("a real brow is taken");
        moved.push(mean_contour_distance(&raw, &clean));
        farthest.push(hausdorff(&raw, &clean));
        shrunk.push((clean.area() / raw.area() - 1.0).abs());
    }
    println!(
        "{} outlines: mean move p50 {:.3} max {:.3} mm, farthest p50 {:.3} max {:.3} mm, area p50 {:.2} max {:.2} %",
        outlines.len(),
        quantile(&mut moved, 0.5),
        quantile(&mut moved, 1.0),
        quantile(&mut farthest, 0.5),
        quantile(&mut farthest, 1.0),
        100.0 * quantile(&mut shrunk, 0.5),
        100.0 * quantile(&mut shrunk, 1.0)
    );
    // The file's areas were taken before the outlines were thinned to 160 points, which cuts corners by 0.2 mm².
    assert!(quantile(&mut area_off, 1.0) < 0.3);
    assert!(quantile(&mut moved, 1.0) < 0.03);
    assert!(quantile(&mut farthest, 1.0) < 0.2);
    assert!(quantile(&mut shrunk, 1.0) < 0.005);
}

/// The study found a headline of 0.96 mm (median) and 1.86 mm (90th percentile) over 77 pairs; its half that lies in
/// the data folder must be alike within sampling.
#[test]
fn headline_of_real_pairs_is_that_of_the_study() {
    let Some(outlines) = real_outlines() else { return };
    let side = |id: &str, side: &str| outlines.iter().find(|o| o.id == id && o.side == side);
    let mut headlines: Vec<f64> = outlines
        .iter()
        .filter(|o| o.side == "client_right")
        .filter_map(|right| {
            let left = side(&right.id, "client_left")?;
            Some(mean_contour_distance(&contour(&right.outline_mm), &contour(&left.outline_mm)))
        })
        .collect();
    let (p50, p90) = (quantile(&mut headlines, 0.5), quantile(&mut headlines, 0.9));
    println!("{} pairs: p50 {p50:.2} | study 0.96; p90 {p90:.2} | study 1.86 mm", headlines.len());
    assert_eq!(headlines.len(), 37);
    // Standard errors of these quantiles among 37 are about 0.12 and 0.25 mm.
    assert!((p50 - 0.96).abs() < 3.0 * 0.12 && (p90 - 1.86).abs() < 3.0 * 0.25);
}

/// The band by ±1° of roll, which is worked out on every fourth point, against the headline of the turned pair.
#[test]
fn roll_band_of_real_pairs_is_that_of_the_turned_pair() {
    /// A tenth of the last shown digit of a millimetre.
    const CLOSE_MM: f64 = 0.01;
    let Some(outlines) = real_outlines() else { return };
    let mut worst = 0.0_f64;
    for right in outlines.iter().filter(|o| o.side == "client_right") {
        let Some(left) = outlines.iter().find(|o| o.id == right.id && o.side == "client_left") else {
            continue;
        };
        let (a, b) = (contour(&right.outline_mm), contour(&left.outline_mm));
        let degree = 1_f64.to_radians();
        let exact = [-degree, degree].map(|roll| mean_contour_distance_with_roll(&a, &b, roll));
        for (band, exact) in unevenness(&a, &b).roll_band_mm.iter().zip(exact) {
            worst = worst.max((band - exact).abs());
        }
    }
    println!("worst difference: {worst:.1e} mm");
    assert!(worst < CLOSE_MM, "{worst}");
}

/// Caliper points that are read off a polygon against the exact ones of the outline it was drawn from, on outlines
/// fitted to real brows.
///
/// The exact bulb is the front's corners as if they were sharp. Where the front slants much, the sharp top corner lies
/// millimetres outside of the rounded outline and no polygon has it, so the bulb is compared where the front is nearly
/// upright, as planned fronts are.
#[test]
fn caliper_points_of_polygons_are_those_of_their_outlines() {
    /// A front that slants by less counts as nearly upright, degrees.
    const UPRIGHT: f64 = 8.0;
    let Some(dir) = data_dir() else { return };
    let text = fs::read_to_string(dir.join("real-brows/prototype-fits.json")).expect("fits are readable");
    let fits: Fits = serde_json::from_str(&text).expect("fits are JSON");
    let names = ["front out", "bulb bottom", "bulb top", "arch top", "under the arch", "tail out", "tail up"];
    let mut thickness = Vec::new();
    let mut differences = vec![Vec::new(); names.len()];
    for fit in &fits.fits {
        let Ok(outline) = Outline::try_new(&OutlineParams(fit.params)) else { continue };
        let (exact, read) = (outline.caliper_points(), outline.contour().resampled(160).caliper_points());
        let both = [
            (exact.front.x, read.front.x),
            (exact.bulb_bottom.y, read.bulb_bottom.y),
            (exact.bulb_top.y, read.bulb_top.y),
            (exact.arch_top.y, read.arch_top.y),
            (exact.arch_under.y, read.arch_under.y),
            (exact.tail_end.x, read.tail_end.x),
            (exact.tail_end.y, read.tail_end.y),
        ];
        thickness.push((exact.bulb_top.y - exact.bulb_bottom.y, read.bulb_top.y - read.bulb_bottom.y));
        let upright = outline.params().get(Param::Slant).abs() < UPRIGHT;
        for ((name, list), (exact, read)) in names.iter().zip(&mut differences).zip(both) {
            if upright || !name.starts_with("bulb") {
                list.push((exact - read).abs());
            }
        }
    }
    assert!(differences[0].len() >= 75, "{} fits are valid outlines", differences[0].len());
    for (name, list) in names.iter().zip(&mut differences) {
        println!(
            "{name}: p50 {:.2} p90 {:.2} max {:.2} mm",
            quantile(list, 0.5),
            quantile(list, 0.9),
            quantile(list, 1.0)
        );
    }
    let mean = |of: fn(&(f64, f64)) -> f64| thickness.iter().map(of).sum::<f64>() / thickness.len() as f64;
    println!("bulb thickness: sharp corners {:.1} mm, as read {:.1} mm", mean(|t| t.0), mean(|t| t.1));
    for (name, list) in names.iter().zip(&mut differences) {
        // The bulb is extrapolated past its rounded corners; the underside is read below an arch top whose distance is
        // an average over the flat part of the brow; the others are extremes of the edge itself.
        let (half, most) = match *name {
            "bulb bottom" | "bulb top" => (0.35, 1.0),
            "under the arch" => (0.2, 0.6),
            _ => (0.15, 0.3),
        };
        assert!(quantile(list, 0.5) < half && quantile(list, 0.9) < most, "{name}");
    }
}
