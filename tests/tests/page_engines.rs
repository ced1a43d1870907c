//! The same case looks the same in every engine: their pictures of the stage, pixel by pixel.

use std::sync::Mutex;

use counterpoise_tests::browser::{Browser, Engine, Failure, Outcome, Window, from_base64, run, shots_dir};
use image::RgbImage;
use image::imageops::{FilterType, resize};

/// Steps whose drawings differ.
const STEPS: [&str; 4] = ["points", "hair", "shape", "check"];
/// Edges are smoothed and letters set in each engine's own way, so pictures are compared at half their size.
const SMALLER: u32 = 2;
/// Largest mean difference of a channel, of 255. Measured: 0.9 to 1.3 (2026-11).
const MEAN: f64 = 2.0;
/// A pixel differs where a channel does by this, of 255; and so many may: the texts. Measured: up to 0.3 % (2026-11).
const APART: u8 = 48;
const SHARE: f64 = 0.01;

#[test]
fn stage_looks_the_same_in_every_engine() {
    let pictures: Mutex<Vec<(Engine, Vec<RgbImage>)>> = Mutex::new(Vec::new());
    for engine in [Engine::Chromium, Engine::WebKit, Engine::Firefox] {
        run(engine, Window::Lying, "stage_looks_the_same", async |browser: &Browser| -> Outcome {
            let seen = stages(browser).await?;
            pictures.lock().map_err(|_| "lost")?.push((engine, seen));
            Ok(())
        });
    }
    let pictures = pictures.into_inner().expect("nobody else has it");
    let [(_, one), others @ ..] = pictures.as_slice() else { panic!("three engines") };
    for (engine, other) in others {
        for ((one, other), step) in one.iter().zip(other).zip(STEPS) {
            assert_eq!(one.dimensions(), other.dimensions(), "{engine:?}, {step}");
            let (mean, share) = difference(one, other);
            println!("{engine:?}, {step}: mean {mean:.2} of 255, apart {:.2} %", 100.0 * share);
            assert!(mean <= MEAN && share <= SHARE, "{engine:?}, {step}: mean {mean:.2}, apart {share:.4}");
        }
    }
    // The comparison can fail: another step is another picture.
    let (mean, share) = difference(&one[0], &one[2]);
    assert!(mean > MEAN || share > SHARE, "points and shape look the same: {mean:.2}, {share:.4}");
}

/// The stage at each of the steps.
async fn stages(browser: &Browser) -> Result<Vec<RgbImage>, Failure> {
    browser.ready().await?;
    let mut seen = Vec::new();
    for step in STEPS {
        browser.step(step).await?;
        browser.settle().await?;
        let text = browser
            .value("return document.getElementById('stage').toDataURL('image/png').split(',')[1]")
            .await?;
        let png = from_base64(text.as_str().ok_or("no picture")?)?;
        std::fs::write(shots_dir()?.join(format!("stage-{step}-{:?}.png", browser.engine)), &png)?;
        let whole = image::load_from_memory(&png)?.to_rgb8();
        let (width, height) = whole.dimensions();
        seen.push(resize(&whole, width / SMALLER, height / SMALLER, FilterType::Triangle));
    }
    Ok(seen)
}

/// The mean difference of a channel, of 255, and the share of pixels that are apart.
fn difference(one: &RgbImage, other: &RgbImage) -> (f64, f64) {
    let (mut sum, mut apart) = (0_u64, 0_u64);
    for (a, b) in one.pixels().zip(other.pixels()) {
        let differences = [0, 1, 2].map(|k| a.0[k].abs_diff(b.0[k]));
        sum += differences.iter().map(|d| u64::from(*d)).sum::<u64>();
        apart += u64::from(differences.iter().any(|d| *d > APART));
    }
    let count = f64::from(one.width() * one.height());
    (sum as f64 / (3.0 * count), apart as f64 / count)
}
