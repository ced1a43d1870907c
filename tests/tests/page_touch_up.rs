//! The touch-up in the page: a new photo over the first one, lines around colour and hair, and a plan from the agreed pair.

use std::path::Path;

use counterpoise_tests::browser::{Browser, Failure, Outcome, Tool};
use counterpoise_tests::face::{ImageXy, RealFace};
use counterpoise_tests::{in_both_browsers, in_both_engines};
use serde_json::json;

in_both_browsers!(axe_finds_nothing_on_the_touch_up);
in_both_engines!(healed_pair_is_compared_with_the_agreed_one);

const DEMO_FACE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../demo/face.svg");

/// The first photo again, weeks later: what is drawn around is what was traced at first.
async fn healed_pair_is_compared_with_the_agreed_one(browser: &Browser) -> Outcome {
    let Some(face) = RealFace::numbered("001_03") else { return Ok(()) };
    browser.ready().await?;
    browser.measure_face(Tool::Mouse, &face).await?;
    browser.start_outlines().await?;
    browser.step("client").await?;
    browser.click("#signature-cross").await?;
    browser.fill("#agree-initials", "RT").await?;
    browser.click("#agree-sign").await?;
    browser.shows("#agree-seal", "seal.whole").await?;
    let agreed = browser.plan().await?;

    browser.step("later").await?;
    browser.choose_file("#open-later-photo", &face.photo).await?;
    browser.until("return Boolean(JSON.parse(counterpoise.planJson()).touch_up)").await?;
    browser.settle().await?;
    let stable = ["pupil", "inner_corner", "outer_corner", "nostril", "bridge"];
    let still = face.landmarks.iter().filter(|(id, _)| stable.iter().any(|name| id.starts_with(name)));
    for &(id, at) in still {
        browser.click(&format!("#panel-later [data-landmark=\"{id}\"]")).await?;
        browser.settle().await?;
        browser.tap(Tool::Mouse, browser.screen_from_image(at.0, at.1).await?).await?;
        let script =
            "return Boolean(JSON.parse(counterpoise.planJson()).touch_up.photo.points[arguments[0]])";
        browser.until_with(script, vec![json!(id)]).await.map_err(|error| format!("{id}: {error}"))?;
    }
    browser.until("return Boolean(counterpoise.report().touch_up.fit)").await?;
    for (side, brow) in [("right", &face.right_brow), ("left", &face.left_brow)] {
        for line in ["healed", "hair"] {
            draw_around(browser, line, side, brow).await?;
        }
    }
    // While a line is drawn the agreed outline is out of the way; then it is there again.
    let drawing = browser.shot("drawn").await?;
    browser.click("#later-look").await?;
    browser.settle().await?;
    let looking = browser.shot("looking").await?;
    assert_ne!(std::fs::read(drawing)?, std::fs::read(looking)?);
    assert_eq!(browser.value("return document.getElementById('stage-note').hidden").await?, true);
    browser.shows("#later-said", "later.within_error").await?;
    browser.accessible("touch-up with all lines").await?;
    let report = browser.value("return counterpoise.report()").await?;
    let found = &report["touch_up"];
    for side in ["right", "left"] {
        let healed = &found["healed"][side];
        let mean = healed["mean_distance_mm"].as_f64().ok_or("nothing healed")?;
        // The agreed outline was fitted to the very line that is drawn again, by a hand that taps whole CSS px.
        assert!(mean < 0.8, "{side}: {healed}");
        let arch = healed["measures"]
            .as_array()
            .into_iter()
            .flatten()
            .find(|row| row["id"] == "arch_top")
            .ok_or("no arch")?;
        assert_eq!(arch["within_error"], true, "{side}: {arch}");
        assert!(found["hair"][side].is_array(), "{found}");
    }
    assert_eq!(browser.value("return document.querySelectorAll('#later-said p').length").await?, 2);
    browser.shows("#agreed", "live.seal_whole").await?;

    // One step of undo for each line; all of it comes back after a reload.
    let drawn = browser.plan_text().await?;
    browser.click("#undo").await?;
    browser.until("return JSON.parse(counterpoise.planJson()).touch_up.hair.left === null").await?;
    browser.click("#redo").await?;
    assert_eq!(browser.plan_text().await?, drawn);
    browser.kept().await?;
    browser.go("").await?;
    browser.ready().await?;
    assert_eq!(browser.plan_text().await?, drawn);
    browser.step("later").await?;
    browser.until("return document.querySelectorAll('#later-measures tbody tr').length > 8").await?;
    browser.shot("reopened").await?;

    // The touch-up's plan is a case of its own, and the agreed one stays.
    browser.click("#later-start").await?;
    browser.until("return !JSON.parse(counterpoise.planJson()).touch_up").await?;
    let next = browser.plan().await?;
    assert_eq!(next["planned"], agreed["agreements"][0]["planned"]);
    assert_eq!(next["natural"]["right"]["by"], "trace");
    assert!(next.get("agreements").is_none());
    browser.until("return Boolean(counterpoise.report().frame)").await?;
    let scale = |report: &serde_json::Value| report["frame"]["px_per_mm"].as_f64().unwrap_or(f64::NAN);
    let now = browser.value("return counterpoise.report()").await?;
    assert!((scale(&now) / scale(&report) - 1.0).abs() < 0.02, "{} {}", scale(&now), scale(&report));
    browser.kept().await?;
    browser.click("#book-open").await?;
    browser.until("return document.querySelectorAll('[data-case]').length === 2").await?;
    browser.shot("both").await?;
    browser.click("[data-case] [data-act=\"open\"]").await?;
    browser.until_with("return counterpoise.planJson() === arguments[0]", vec![json!(drawn)]).await
}

async fn draw_around(browser: &Browser, line: &str, side: &str, around: &[ImageXy]) -> Outcome {
    browser.click(&format!("#later-{line}-{side}")).await?;
    browser.settle().await?;
    let mut stroke = Vec::with_capacity(around.len() + 1);
    for &(x, y) in around.iter().chain(around.first()) {
        stroke.push(browser.screen_from_image(x, y).await?);
    }
    browser.draw(Tool::Mouse, &stroke).await?;
    let script = "return JSON.parse(counterpoise.planJson()).touch_up[arguments[0]][arguments[1]] !== null";
    let drawn = browser.until_with(script, vec![json!(line), json!(side)]).await;
    drawn.map_err(|error| -> Failure { format!("{line} {side}: {error}").into() })
}

async fn axe_finds_nothing_on_the_touch_up(browser: &Browser) -> Outcome {
    browser.ready().await?;
    for theme in ["light", "dark"] {
        browser.until_theme(theme).await?;
        browser.step("later").await?;
        browser.accessible(&format!("touch-up, {theme}")).await?;
        if theme == "light" {
            browser.choose_file("#open-later-photo", Path::new(DEMO_FACE)).await?;
            browser.until("return Boolean(JSON.parse(counterpoise.planJson()).touch_up)").await?;
            browser.accessible("touch-up with a photo").await?;
        }
        browser.shot(&format!("touch-up-{theme}")).await?;
        browser.step("client").await?;
        browser.accessible(&format!("agreement, {theme}")).await?;
        if theme == "light" {
            browser.click("#signature-cross").await?;
            browser.fill("#agree-initials", "AB").await?;
            browser.click("#agree-sign").await?;
        }
    }
    Ok(())
}
