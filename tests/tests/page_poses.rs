//! Poses in the page: heights typed from calipers, what they tell in words, and the drawing of the pair in a pose.

use std::path::Path;

use counterpoise_tests::browser::{Browser, Failure, Outcome, Tool, cli_sheet};
use counterpoise_tests::face::RealFace;
use counterpoise_tests::{in_both_browsers, in_both_engines, in_firefox};
use serde_json::{Value, json};

in_both_browsers!(axe_finds_nothing_on_the_poses);
in_both_engines!(heights_tell_muscle_from_seat, photo_tells_what_moves, what_cannot_be_a_pose_is_said);
in_firefox!(photo_tells_what_moves);

const DEMO_FACE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../demo/face.svg");
/// A pose of which the demo knows nothing.
const CLOSED: &str = "upright_closed_resting";
const PLACES: [(&str, &str); 3] = [("front", "bulb_bottom"), ("arch", "arch_top"), ("tail", "tail_up")];
/// How far her brows drop when she closes her eyes, mm: right, left.
const LIFTS: [(f64, f64); 3] = [(-1.0, -0.2), (-2.6, -0.2), (-0.6, 0.0)];

async fn heights_tell_muscle_from_seat(browser: &Browser) -> Outcome {
    browser.ready().await?;
    browser.step("poses").await?;
    // What is recorded is shown first.
    let shown = browser.value("return document.getElementById('pose').value").await?;
    assert_eq!(shown, "reclined_closed_resting");
    browser.choose_option("#pose", CLOSED).await?;
    let before = browser.plan_text().await?;
    type_heights(browser).await?;
    let plan = browser.plan().await?;
    let heights = &plan["poses"]["upright_closed_resting"]["heights"];
    assert!(heights["right"]["arch_mm"].is_number() && heights["left"]["tail_mm"].is_number(), "{heights}");

    // The sentence says what the core says, with its uncertainty.
    let report = browser.value("return counterpoise.report()").await?;
    let split = &closed(&report)?["places"][1]["split"];
    assert_eq!(split["within_error"], false, "{split}");
    let shown =
        |part: &str| format!("{:.1} ± {:.1} mm", number(&split[part]["value"]), number(&split[part]["ci95"]));
    let sentence = browser.text("#pose-said [data-place=\"arch\"]").await?;
    for part in ["difference", "muscle", "sits"] {
        assert!(sentence.contains(&shown(part)), "{part}: {} is not in “{sentence}”", shown(part));
    }
    assert!(sentence.contains("when her eyes close"), "{sentence}");
    browser.shows("#pose-said [data-place=\"tail\"]", "poses.split_within").await?;
    let lift = browser.text("#pose-lifts [data-place=\"arch\"] td").await?;
    assert!(lift.contains("-2.") || lift.contains("−2."), "{lift}");

    // The pair is shown where it lies then, and stays the plan that it was.
    let kept = browser.plan_text().await?;
    let upright = browser.shot("upright").await?;
    browser.value("document.getElementById('pose-preview').click()").await?;
    browser.settle().await?;
    browser.shows("#stage-note", "poses.note").await?;
    let posed = browser.shot("posed").await?;
    assert_ne!(std::fs::read(upright)?, std::fs::read(posed)?, "the stage shows the pose");
    assert_eq!(browser.plan_text().await?, kept);
    browser.step("shape").await?;
    browser.until("return document.getElementById('stage-note').hidden").await?;
    browser.step("poses").await?;

    // Relaxed brows get a weight; it is one step of undo, and comes back with the plan.
    browser.tab_to("input[type=range][data-weight]").await?;
    browser.press(&["\u{E014}", "\u{E014}"]).await?;
    browser.until("return JSON.parse(counterpoise.planJson()).balance.relaxed_weight > 0").await?;
    browser.shows("#pose-states", "poses.states_are").await?;
    let weighed = browser.plan_text().await?;
    browser.kept().await?;
    browser.go("").await?;
    browser.ready().await?;
    assert_eq!(browser.plan_text().await?, weighed, "the plan after reopening the page");
    browser.step("poses").await?;
    browser.choose_option("#pose", CLOSED).await?;
    assert_eq!(browser.text("#pose-said [data-place=\"arch\"]").await?, sentence);

    browser.click("#pose-forget").await?;
    browser.until("return !JSON.parse(counterpoise.planJson()).poses.upright_closed_resting").await?;
    browser.click("#undo").await?;
    assert_eq!(browser.plan_text().await?, weighed, "a pose is forgotten in one step of undo");
    assert_ne!(weighed, before);
    Ok(())
}

/// The same photo as that of the pose: nothing moves but the point that is put lower.
async fn photo_tells_what_moves(browser: &Browser) -> Outcome {
    const LOWERED_MM: f64 = 3.0;
    let Some(face) = RealFace::numbered("001_03") else { return Ok(()) };
    browser.ready().await?;
    browser.measure_face(Tool::Mouse, &face).await?;
    browser.start_outlines().await?;
    let report = browser.value("return counterpoise.report()").await?;
    let px_per_mm = report["frame"]["px_per_mm"].as_f64().ok_or("no scale")?;
    let mut brow_points = Vec::new();
    for side in ["right", "left"] {
        for (place, out, up) in [
            ("front", "front_distance", "bulb_bottom"),
            ("arch", "arch_distance", "arch_top"),
            ("tail", "tail_out", "tail_up"),
        ] {
            let at = browser
                .screen_from_side(side, upright(&report, out, side)?, upright(&report, up, side)?)
                .await?;
            let (x, mut y) = image_from_screen(browser, at).await?;
            if (side, place) == ("right", "arch") {
                y += LOWERED_MM * px_per_mm;
            }
            brow_points.push((format!("brow_{place}.{side}"), (x, y)));
        }
    }

    browser.step("poses").await?;
    browser.click("#pose-by-photo").await?;
    browser.choose_file("#open-pose-photo", &face.photo).await?;
    browser
        .until_with(
            "return Boolean(JSON.parse(counterpoise.planJson()).poses?.[arguments[0]]?.photo)",
            vec![json!(CLOSED)],
        )
        .await?;
    browser.settle().await?;
    let stable = ["inner_corner", "outer_corner", "nostril", "bridge"];
    let still = face.landmarks.iter().filter(|(id, _)| stable.iter().any(|name| id.starts_with(name)));
    let points = still.map(|(id, at)| ((*id).to_owned(), *at)).chain(brow_points);
    for (id, at) in points {
        browser.click(&format!("#panel-poses [data-landmark=\"{id}\"]")).await?;
        browser.settle().await?;
        let screen = browser.screen_from_image(at.0, at.1).await?;
        browser.tap(Tool::Mouse, screen).await?;
        let script = "return Boolean(JSON.parse(counterpoise.planJson()).poses[arguments[0]].photo.points[arguments[1]])";
        browser
            .until_with(script, vec![json!(CLOSED), json!(id)])
            .await
            .map_err(|error| format!("{id}: {error}"))?;
    }
    browser.settle().await?;
    browser.shot("pose-photo").await?;

    let report = browser.value("return counterpoise.report()").await?;
    let pose = closed(&report)?;
    assert!(pose["problem"].is_null(), "{pose}");
    // Taps fall on whole CSS px, twice.
    assert!(number(&pose["fit"]["rms_mm"]) < 0.5, "{}", pose["fit"]);
    for (k, (place, _)) in PLACES.into_iter().enumerate() {
        for side in ["right", "left"] {
            let lift = &pose["places"][k]["lift"][side];
            let known = if (side, place) == ("right", "arch") { -LOWERED_MM } else { 0.0 };
            let (value, ci95) = (lift["value"].as_f64().ok_or("no lift")?, number(&lift["ci95"]));
            assert!(
                (value - known).abs() < ci95.min(0.9),
                "{place} {side}: {value} ± {ci95}, {known} is true"
            );
        }
    }
    let split = &pose["places"][1]["split"];
    assert_eq!(split["within_error"], false, "{split}");
    let sentence = browser.text("#pose-said [data-place=\"arch\"]").await?;
    // Her left arch is the higher one, so with the right one lowered there is more between them, and all of that is muscle.
    for part in ["difference", "muscle"] {
        let shown = format!("{:.1} ± {:.1} mm", number(&split[part]["value"]), number(&split[part]["ci95"]));
        assert!(sentence.contains(&shown), "{part}: {shown} is not in “{sentence}”");
    }
    assert!(browser.text("#pose-fit").await?.contains(&format!("{:.1} mm", number(&pose["fit"]["rms_mm"]))));

    // The sheet in this pose is the command line's.
    let plan = browser.plan_text().await?;
    let name = format!("pose-photo-{:?}", browser.engine);
    browser.step("sheet").await?;
    browser.choose_option("#sheet-pose", CLOSED).await?;
    browser.watch_files().await?;
    let date = browser.value("return new Date().toLocaleDateString()").await?;
    let wishes = ["--paper", "a4", "--pose", CLOSED, "--date", date.as_str().unwrap_or_default()];
    let made = browser.file_of("#sheet-csv").await?;
    assert!(made == cli_sheet(&plan, &name, "--csv", &wishes)?, "{}", String::from_utf8_lossy(&made));

    // Photo and points come back with the page; taken off, they go in one step of undo.
    browser.kept().await?;
    browser.go("").await?;
    browser.ready().await?;
    assert_eq!(browser.plan_text().await?, plan, "the plan after reopening the page");
    browser.step("poses").await?;
    browser.settle().await?;
    let is_missing = "return document.querySelector('#open-pose-photo').closest('[hidden]') === null";
    assert_eq!(browser.value(is_missing).await?, false, "the photo is asked for no more");
    browser.click("#forget-pose-photo").await?;
    browser.until("return !JSON.parse(counterpoise.planJson()).poses").await?;
    browser.click("#undo").await?;
    assert_eq!(browser.plan_text().await?, plan);
    Ok(())
}

/// The px of the photo that lie at a place of the screen.
async fn image_from_screen(browser: &Browser, at: (f64, f64)) -> Result<(f64, f64), Failure> {
    let origin = browser.screen_from_image(0.0, 0.0).await?;
    let per_css = browser.image_px_per_css_px().await?;
    Ok(((at.0 - origin.0) * per_css, (at.1 - origin.1) * per_css))
}

/// What the report says of [`CLOSED`].
fn closed(report: &Value) -> Result<&Value, Failure> {
    let poses = report["poses"].as_array().ok_or("no poses")?;
    poses.iter().find(|pose| pose["id"] == CLOSED).ok_or_else(|| "not recorded".into())
}

async fn what_cannot_be_a_pose_is_said(browser: &Browser) -> Outcome {
    browser.ready().await?;
    browser.step("poses").await?;
    browser.choose_option("#pose", CLOSED).await?;
    let start = browser.plan_text().await?;
    browser.fill("#pose-right-arch", "soft").await?;
    browser.message_is("number.not_a_number").await?;
    browser.fill("#pose-right-arch", "95").await?;
    browser.message_is("number.out_of_range").await?;
    assert_eq!(browser.plan_text().await?, start);
    // Possible as a number, impossible as this brow's height; the number stays to be mended.
    browser.fill("#pose-right-front", "15").await?;
    browser.fill("#pose-right-arch", "55").await?;
    browser.fill("#pose-right-tail", "14").await?;
    browser.message_is("refused.pose_too_far").await?;
    assert_eq!(browser.plan_text().await?, start);
    browser.fill("#pose-right-arch", "25").await?;
    browser.until("return Boolean(JSON.parse(counterpoise.planJson()).poses.upright_closed_resting)").await?;
    // One side alone has lifts and no difference.
    let report = browser.value("return counterpoise.report()").await?;
    assert!(closed(&report)?["places"][1]["split"].is_null());

    // Without natural brows there is nothing to compare with.
    browser.step("photo").await?;
    browser.click("#no-photo").await?;
    browser.until("return JSON.parse(counterpoise.planJson()).photo === null").await?;
    browser
        .value("['right', 'left'].forEach((side) => document.getElementById('clear-' + side).click())")
        .await?;
    browser.step("poses").await?;
    browser.shows("#panel-poses", "poses.brows_first").await?;
    let disabled = browser.value("return document.getElementById('pose-right-arch').disabled").await?;
    assert_eq!(disabled, true);
    Ok(())
}

async fn axe_finds_nothing_on_the_poses(browser: &Browser) -> Outcome {
    browser.ready().await?;
    for theme in ["light", "dark"] {
        browser.until_theme(theme).await?;
        browser.step("poses").await?;
        if theme == "light" {
            browser.choose_option("#pose", CLOSED).await?;
            browser.accessible("poses, empty").await?;
            type_heights(browser).await?;
        }
        browser.settle().await?;
        browser.accessible(&format!("poses, {theme}")).await?;
        browser.shot(&format!("poses-{theme}")).await?;
        browser.click("#pose-by-photo").await?;
        if theme == "light" {
            browser.choose_file("#open-pose-photo", Path::new(DEMO_FACE)).await?;
        }
        browser
            .until_with(
                "return Boolean(JSON.parse(counterpoise.planJson()).poses[arguments[0]].photo)",
                vec![json!(CLOSED)],
            )
            .await?;
        if theme == "light" {
            browser.click("#place-pose-point").await?;
            // The point that was put down can be moved by the keys alone.
            let x = "return JSON.parse(counterpoise.planJson()).poses[arguments[0]].photo.points['inner_corner.right'].x_px";
            let before = browser.value_with(x, vec![json!(CLOSED)]).await?;
            let twin = "document.querySelector('#twins [data-id=\"pose:inner_corner.right\"]')";
            browser.until(&format!("return {twin} !== null")).await?;
            browser.value(&format!("{twin}.focus()")).await?;
            browser.press(&["\u{E014}"]).await?;
            let after = browser.value_with(x, vec![json!(CLOSED)]).await?;
            assert!(after.as_f64() > before.as_f64(), "{before} {after}");
        }
        browser.settle().await?;
        browser.accessible(&format!("poses by photo, {theme}")).await?;
        browser.shot(&format!("poses-photo-{theme}")).await?;
    }
    Ok(())
}

/// Types what calipers would read with eyes closed.
async fn type_heights(browser: &Browser) -> Outcome {
    let report = browser.value("return counterpoise.report()").await?;
    for ((place, row), (right, left)) in PLACES.into_iter().zip(LIFTS) {
        for (side, lift) in [("right", right), ("left", left)] {
            let height = upright(&report, row, side)? + lift;
            browser.fill(&format!("#pose-{side}-{place}"), &format!("{height:.1}")).await?;
        }
    }
    let script = "return document.querySelectorAll('#pose-said [data-place]').length === 3";
    browser.until_with(script, vec![json!(null)]).await
}

fn upright(report: &Value, id: &str, side: &str) -> Result<f64, Failure> {
    let rows = report["natural"].as_array().ok_or("no rows")?;
    let row = rows.iter().find(|row| row["id"] == id).ok_or("no such row")?;
    row["sides"][side]["value"].as_f64().ok_or_else(|| "no value".into())
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN).abs()
}
