//! Outlines against the same formulas in numpy, and fits against scipy and on real brows.
//!
//! Brows: 81 dense outlines from the Face Research Lab London Set (DeBruine & Jones 2017, CC BY 4.0). Yardstick: the
//! 14-parameter fits of this project's model study on that set. Fixture: tests/oracle/fit_scipy.py.

use std::path::Path;

use counterpoise_geometry::{Contour, Outline, OutlineParams, PARAM_COUNT, Param, fit_outline};
use counterpoise_tests::{data_dir, read_json, real_brows};
use kurbo::Point;
use serde::Deserialize;

#[derive(Deserialize)]
struct Prototype {
    fits: Vec<PrototypeFit>,
}

#[derive(Deserialize)]
struct PrototypeFit {
    mean_mm: f64,
}

#[derive(Deserialize)]
struct Fixture {
    outlines: Vec<NumpyOutline>,
    brow_mm: Vec<[f64; 2]>,
    fit: ScipyFit,
}

#[derive(Deserialize)]
struct NumpyOutline {
    params: [f64; PARAM_COUNT],
    points: Vec<[f64; 2]>,
    area_mm2: f64,
}

#[derive(Deserialize)]
struct ScipyFit {
    params: [f64; PARAM_COUNT],
    mean_mm: f64,
    hausdorff_mm: f64,
}

fn fixture() -> Fixture {
    read_json(&Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/fit-scipy.json"))
}

fn contour(points: &[[f64; 2]]) -> Contour {
    Contour::try_new(points.iter().map(|&[out, up]| Point::new(out, up)).collect()).expect("a simple outline")
}

fn quantile(sorted: &[f64], share: f64) -> f64 {
    let at = share * (sorted.len() - 1) as f64;
    let (low, high) = (sorted[at.floor() as usize], sorted[at.ceil() as usize]);
    low + (high - low) * at.fract()
}

fn describe(name: &str, mut values: Vec<f64>) -> [f64; 4] {
    values.sort_by(f64::total_cmp);
    let stats = [0.5, 0.9, 0.95, 1.0].map(|share| quantile(&values, share));
    println!("{name}: median {:.3}, p90 {:.3}, p95 {:.3}, max {:.3}", stats[0], stats[1], stats[2], stats[3]);
    stats
}

#[test]
fn outline_has_the_points_and_area_of_the_formulas() {
    let fixture = fixture();
    assert_eq!(fixture.outlines.len(), 12);
    let mut compared = 0;
    for theirs in &fixture.outlines {
        // The validity test may refuse what shapely finds simple; enough must be left to compare.
        let Ok(outline) = Outline::try_new(&OutlineParams(theirs.params)) else { continue };
        compared += 1;
        let ours = outline.contour();
        if theirs.params[Param::Soft as usize] >= 0.02 {
            assert_eq!(ours.points().len(), theirs.points.len());
            for (a, &[out, up]) in ours.points().iter().zip(&theirs.points) {
                assert!(a.distance(Point::new(out, up)) < 1e-9, "{a:?} {out} {up}");
            }
        }
        assert!((outline.area() - theirs.area_mm2).abs() < 1e-6, "{} {}", outline.area(), theirs.area_mm2);
    }
    assert!(compared >= 8, "only {compared} of 12 are accepted");
}

#[test]
fn fit_is_as_close_as_scipys() {
    let fixture = fixture();
    let natural = contour(&fixture.brow_mm);
    let ours = fit_outline(&natural).unwrap();
    let theirs = &fixture.fit;
    println!(
        "ours {:.4} / {:.4} mm, scipy {:.4} / {:.4} mm",
        ours.mean_mm, ours.hausdorff_mm, theirs.mean_mm, theirs.hausdorff_mm
    );
    // Both minimise the same sum of squares; the mean distance is not quite that, so 2 % are left.
    assert!(ours.mean_mm <= 1.02 * theirs.mean_mm, "{} {}", ours.mean_mm, theirs.mean_mm);
    assert!(ours.hausdorff_mm <= 1.1 * theirs.hausdorff_mm, "{} {}", ours.hausdorff_mm, theirs.hausdorff_mm);
    for info in &Param::ALL {
        let difference = (ours.outline.params().get(info.param) - theirs.params[info.param as usize]).abs();
        assert!(difference < 0.1 * info.scale, "{} differs by {difference}", info.id);
    }
}

#[test]
fn real_brows_are_followed() {
    let (Some(data), Some(brows)) = (data_dir(), real_brows()) else { return };
    let prototype: Prototype = read_json(&data.join("real-brows/prototype-fits.json"));
    assert_eq!(brows.len(), 81);
    let (mut means, mut hausdorffs) = (Vec::new(), Vec::new());
    for brow in &brows {
        let fit = fit_outline(&contour(&brow.outline_mm))
            .unwrap_or_else(|error| panic!("{} {}: {error}", brow.id, brow.side));
        // Contour::try_new refuses what crosses itself, Outline::try_new what it cannot prove valid.
        assert!(Outline::try_new(fit.outline.params()).is_ok(), "{} {}", brow.id, brow.side);
        assert!(
            Contour::try_new(fit.outline.contour().points().to_vec()).is_ok(),
            "{} {}",
            brow.id,
            brow.side
        );
        means.push(fit.mean_mm);
        hausdorffs.push(fit.hausdorff_mm);
    }
    let mean = describe("mean distance, mm", means);
    describe("Hausdorff distance, mm", hausdorffs);
    describe(
        "14-parameter prototype's mean distance, mm",
        prototype.fits.iter().map(|fit| fit.mean_mm).collect(),
    );
    assert!(mean[0] <= 0.14, "median {}", mean[0]);
    assert!(mean[2] <= 0.26, "95th percentile {}", mean[2]);
}
