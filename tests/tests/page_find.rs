//! First guesses in the page: found on the device, drafts until a person takes them, and hand work in any case.

use std::time::Instant;

use counterpoise_tests::browser::{Browser, Outcome, Tool, shots_dir};
use counterpoise_tests::face::RealFace;
use counterpoise_tests::{in_both_browsers, in_both_engines, pictures};
use serde_json::json;

in_both_browsers!(axe_finds_nothing_on_the_guesses);
in_both_engines!(guesses_are_taken_or_dropped_by_hand, where_nothing_can_be_guessed_hand_work_goes_on);

const DRAFTS: &str = "return document.querySelectorAll('#drafts li').length";

async fn guesses_are_taken_or_dropped_by_hand(browser: &Browser) -> Outcome {
    let Some(face) = RealFace::numbered("003_03") else { return Ok(()) };
    browser.ready().await?;
    browser.open_photo(&face.photo, 1350, 1350).await?;
    browser.step("points").await?;
    let empty = browser.plan_text().await?;
    let start = Instant::now();
    browser.click("#find-points").await?;
    browser.until("return document.querySelectorAll('#drafts li').length === 10").await?;
    println!("{:?}: one tap and {:.1} s to ten guesses", browser.engine, start.elapsed().as_secs_f64());
    browser.settle().await?;
    browser.shot("guessed").await?;
    assert_eq!(browser.plan_text().await?, empty, "a guess is no point");
    assert_eq!(browser.value("return document.querySelectorAll('.draft-mark').length").await?, 10);
    // What has no edge is never guessed for her.
    let seeds = "return [...document.querySelectorAll('[data-draft]')].some((row) => /nostril|bridge|bone/.test(row.dataset.draft))";
    assert_eq!(browser.value(seeds).await?, false);

    browser.click("#drafts [data-draft=\"iris_inner.left\"] [data-act=\"find.drop\"]").await?;
    browser.click("#drafts [data-draft=\"pupil.right\"] [data-act=\"find.take\"]").await?;
    browser.until("return Boolean(JSON.parse(counterpoise.planJson()).landmarks['pupil.right'])").await?;
    assert_eq!(browser.value(DRAFTS).await?, 8);
    browser.click("#take-drafts").await?;
    browser.until("return Object.keys(JSON.parse(counterpoise.planJson()).landmarks).length === 9").await?;
    assert_eq!(browser.value(DRAFTS).await?, 0);
    assert_eq!(browser.value("return document.querySelectorAll('.draft-mark').length").await?, 0);
    let plan = browser.plan().await?;
    for (id, at) in &face.landmarks {
        let found = &plan["landmarks"][*id];
        if let (Some(x), Some(y)) = (found["x_px"].as_f64(), found["y_px"].as_f64()) {
            // 3.3 px are about a millimetre on this photo.
            assert!((x - at.0).hypot(y - at.1) < 10.0, "{id}: {x} {y} against {at:?}");
        }
    }
    // The next that is asked for is what was not guessed; all that was taken at once goes at once.
    browser.shows("#panel-points .asked", "points.ask").await?;
    browser.click("#undo").await?;
    browser.until("return Object.keys(JSON.parse(counterpoise.planJson()).landmarks).length === 1").await?;
    browser.click("#redo").await?;

    // One is corrected by hand; looking again leaves it alone.
    browser.choose_landmark("inner_corner.right").await?;
    let corrected = browser.plan().await?["landmarks"]["inner_corner.right"].clone();
    let (x, y) =
        (corrected["x_px"].as_f64().unwrap_or_default(), corrected["y_px"].as_f64().unwrap_or_default());
    let from = browser.screen_from_image(x, y).await?;
    browser.draw(Tool::Finger, &[from, (from.0 + 6.0, from.1 + 2.0), (from.0 + 12.0, from.1 + 4.0)]).await?;
    browser.until_with("return JSON.stringify(JSON.parse(counterpoise.planJson()).landmarks['inner_corner.right']) !== arguments[0]", vec![json!(corrected.to_string())]).await?;
    let kept = browser.plan().await?["landmarks"]["inner_corner.right"].clone();
    browser.click("#find-points").await?;
    browser.until("return document.querySelectorAll('#drafts li').length === 1").await?;
    assert_eq!(browser.plan().await?["landmarks"]["inner_corner.right"], kept);
    // Guesses stay with their step.
    browser.step("hair").await?;
    assert_eq!(browser.value("return document.querySelectorAll('.draft-mark').length").await?, 0);
    Ok(())
}

async fn where_nothing_can_be_guessed_hand_work_goes_on(browser: &Browser) -> Outcome {
    browser.ready().await?;
    let file = shots_dir()?.join(format!("no-face-{:?}.png", browser.engine));
    std::fs::write(&file, pictures::png(1000, 800, true))?;
    browser.open_photo(&file, 1000, 800).await?;
    browser.step("points").await?;
    browser.click("#find-points").await?;
    browser.shows("#find-said", "find.not_seen").await?;
    assert_eq!(browser.value(DRAFTS).await?, 0);
    browser.place_landmarks(Tool::Mouse, &[("pupil.right", (300.0, 300.0))]).await?;

    // The network's file is not there, or is not what it should be.
    for (broken, key) in [
        ("new Response('', { status: 404 })", "find.missing"),
        ("new Response('these are no weights')", "find.damaged"),
    ] {
        browser.go("").await?;
        browser.ready().await?;
        browser.step("points").await?;
        // A worker's own requests cannot be caught from here, so it is made from a text that begins by catching them.
        let script = format!(
            "const Own = Worker; window.Worker = class {{ constructor(address) {{ \
               const text = `const own = fetch; self.fetch = (from, ...more) => String(from).endsWith('.tflite') \
                 ? Promise.resolve({broken}) : own(from, ...more); import(${{JSON.stringify(String(address))}})\
                 .then(() => self.late?.forEach((event) => self.dispatchEvent(new MessageEvent('message', {{ data: event.data }}))));\
                 self.late = []; self.addEventListener('message', (event) => event.isTrusted && self.late.push(event));`; \
               return new Own(URL.createObjectURL(new Blob([text], {{ type: 'text/javascript' }})), {{ type: 'module' }}); }} }}"
        );
        browser.value(&script).await?;
        browser.click("#find-points").await?;
        browser.shows("#find-said", key).await?;
    }
    Ok(())
}

async fn axe_finds_nothing_on_the_guesses(browser: &Browser) -> Outcome {
    let Some(face) = RealFace::numbered("001_03") else { return Ok(()) };
    browser.ready().await?;
    browser.open_photo(&face.photo, 1350, 1350).await?;
    for theme in ["light", "dark"] {
        browser.until_theme(theme).await?;
        browser.step("points").await?;
        browser.click("#find-points").await?;
        browser.until("return document.querySelectorAll('#drafts li').length === 10").await?;
        browser.settle().await?;
        browser.accessible(&format!("guesses, {theme}")).await?;
        browser.shot(&format!("guesses-{theme}")).await?;
        browser.click("#drop-drafts").await?;
    }
    Ok(())
}
