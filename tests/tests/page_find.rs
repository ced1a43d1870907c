//! First guesses in the page: found on the device, drafts until a person takes them, and hand work in any case.

use std::time::Instant;

use counterpoise_tests::browser::{Browser, Outcome, Tool, shots_dir};
use counterpoise_tests::face::RealFace;
use counterpoise_tests::{in_both_browsers, in_both_engines, in_firefox, pictures};
use serde_json::json;

in_both_browsers!(axe_finds_nothing_on_the_guesses);
in_both_engines!(
    guesses_are_taken_or_dropped_by_hand,
    a_photo_becomes_a_report_in_twelve_taps,
    brows_are_drafts_until_taken,
    engines_without_packed_numbers_find_the_same,
    where_nothing_can_be_guessed_hand_work_goes_on
);
in_firefox!(a_photo_becomes_a_report_in_twelve_taps);

const DRAFTS: &str = "return document.querySelectorAll('#drafts-points li').length";

async fn guesses_are_taken_or_dropped_by_hand(browser: &Browser) -> Outcome {
    let Some(face) = RealFace::numbered("003_03") else { return Ok(()) };
    browser.ready().await?;
    browser.open_photo(&face.photo, 1350, 1350).await?;
    browser.step("points").await?;
    let empty = browser.plan_text().await?;
    let start = Instant::now();
    browser.click("#find-points").await?;
    browser.until("return document.querySelectorAll('#drafts-points li').length === 10").await?;
    println!("{:?}: one tap and {:.1} s to ten guesses", browser.engine, start.elapsed().as_secs_f64());
    browser.settle().await?;
    browser.shot("guessed").await?;
    assert_eq!(browser.plan_text().await?, empty, "a guess is no point");
    assert_eq!(browser.value("return document.querySelectorAll('.draft-mark').length").await?, 10);
    // What has no edge is never guessed for her.
    let seeds = "return [...document.querySelectorAll('[data-draft]')].some((row) => /nostril|bridge|bone/.test(row.dataset.draft))";
    assert_eq!(browser.value(seeds).await?, false);

    browser.click("#drafts-points [data-draft=\"iris_inner.left\"] [data-act=\"find.drop\"]").await?;
    browser.click("#drafts-points [data-draft=\"pupil.right\"] [data-act=\"find.take\"]").await?;
    browser.until("return Boolean(JSON.parse(counterpoise.planJson()).landmarks['pupil.right'])").await?;
    assert_eq!(browser.value(DRAFTS).await?, 8);
    browser.click("#take-points").await?;
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
    browser.until("return document.querySelectorAll('#drafts-points li').length === 1").await?;
    assert_eq!(browser.plan().await?["landmarks"]["inner_corner.right"], kept);
    // Guesses stay with their step.
    browser.step("hair").await?;
    let of_points = "return document.querySelectorAll('.draft-mark[data-draft*=\".\"]').length";
    assert_eq!(browser.value(of_points).await?, 0);
    Ok(())
}

/// From a photo to measured brows: guesses taken, one point corrected, what is never guessed placed by hand. Every touch is counted.
async fn a_photo_becomes_a_report_in_twelve_taps(browser: &Browser) -> Outcome {
    const MOST_TAPS: usize = 12;
    let Some(face) = RealFace::numbered("001_03") else { return Ok(()) };
    browser.ready().await?;
    let start = Instant::now();
    let mut taps = 1;
    browser.open_photo(&face.photo, 1350, 1350).await?;
    browser.step("points").await?;
    browser.click("#find-points").await?;
    browser.until("return document.querySelectorAll('#drafts-points li').length === 10").await?;
    browser.click("#take-points").await?;
    taps += 3;
    for id in ["bridge_upper", "bridge_lower", "nostril.right", "nostril.left"] {
        browser.settle().await?;
        // The points that are needed are asked for by themselves.
        browser.shows("#panel-points .asked", &format!("landmark.{id}")).await?;
        let Some((_, at)) = face.landmarks.iter().find(|(name, _)| *name == id) else { continue };
        browser.tap(Tool::Finger, browser.screen_from_image(at.0, at.1).await?).await?;
        browser
            .until_with(
                "return Boolean(JSON.parse(counterpoise.planJson()).landmarks[arguments[0]])",
                vec![json!(id)],
            )
            .await?;
        taps += 1;
    }
    let corner = browser.plan().await?["landmarks"]["outer_corner.right"].clone();
    let (x, y) = (corner["x_px"].as_f64().unwrap_or_default(), corner["y_px"].as_f64().unwrap_or_default());
    let from = browser.screen_from_image(x, y).await?;
    browser.draw(Tool::Finger, &[from, (from.0 - 6.0, from.1 + 1.0), (from.0 - 12.0, from.1 + 2.0)]).await?;
    browser.until_with("return JSON.stringify(JSON.parse(counterpoise.planJson()).landmarks['outer_corner.right']) !== arguments[0]", vec![json!(corner.to_string())]).await?;
    browser.step("hair").await?;
    // What was found with the eyes is shown at once.
    browser.until("return document.querySelectorAll('#drafts-brows li').length === 2").await?;
    browser.settle().await?;
    browser.shot("brows-guessed").await?;
    assert_eq!(
        browser.plan().await?["natural"],
        json!({ "right": null, "left": null }),
        "a guess is no brow"
    );
    browser.click("#take-brows").await?;
    browser.step("check").await?;
    taps += 4;
    browser
        .until("return /\\d/.test(document.querySelector('[data-live=uneven] dd span').textContent)")
        .await?;
    let seconds = start.elapsed().as_secs_f64();
    println!("{:?}: {taps} taps and {seconds:.1} s from a photo to measured brows", browser.engine);
    assert!(taps <= MOST_TAPS, "{taps} taps");
    for side in ["right", "left"] {
        let traced = browser.plan().await?["natural"][side].clone();
        assert_eq!(traced["by"], "trace", "{side}");
        assert!(traced["points_px"].as_array().is_some_and(|line| line.len() > 50), "{side}");
    }
    Ok(())
}

async fn brows_are_drafts_until_taken(browser: &Browser) -> Outcome {
    // Its right brow is hard: the outline that is found says so.
    let Some(face) = RealFace::numbered("143_03") else { return Ok(()) };
    browser.ready().await?;
    browser.open_photo(&face.photo, 1350, 1350).await?;
    browser.step("hair").await?;
    assert_eq!(
        browser.value("return document.querySelector('#find-brows').disabled").await?,
        true,
        "no millimetres yet"
    );
    browser.place_landmarks(Tool::Mouse, &face.landmarks).await?;
    browser.step("hair").await?;
    browser.click("#find-brows").await?;
    browser.until("return document.querySelectorAll('#drafts-brows li').length === 2").await?;
    browser.settle().await?;
    browser.shot("brows-doubted").await?;
    browser.shows("#drafts-brows [data-draft=\"right\"] .note", "find.please_check").await?;
    assert_eq!(browser.value("return document.querySelectorAll('.draft-brow').length").await?, 2);

    // One is dropped and drawn by hand, the other taken; neither comes back by itself.
    browser.click("#drafts-brows [data-draft=\"right\"] [data-act=\"find.drop\"]").await?;
    browser.click("#zoom-fit").await?;
    browser.trace(Tool::Finger, "right", &face.right_brow).await?;
    browser.click("#drafts-brows [data-draft=\"left\"] [data-act=\"find.take\"]").await?;
    browser.until("return JSON.parse(counterpoise.planJson()).natural.left?.by === 'trace'").await?;
    browser.shows("#said-brows", "find.taken_brows").await?;
    assert_eq!(browser.value("return document.querySelectorAll('.draft-brow').length").await?, 0);
    browser.click("#undo").await?;
    browser.until("return JSON.parse(counterpoise.planJson()).natural.left === null").await?;
    browser.step("points").await?;
    browser.step("hair").await?;
    browser.settle().await?;
    assert_eq!(browser.value("return document.querySelectorAll('.draft-brow').length").await?, 0);
    // Asked for, only what is missing is guessed.
    browser.click("#find-brows").await?;
    browser.until("return document.querySelectorAll('#drafts-brows li').length === 1").await?;
    assert_eq!(
        browser.value("return document.querySelector('#drafts-brows li').dataset.draft").await?,
        "left"
    );
    // Drawn by hand meanwhile, the guess goes.
    browser.click("#zoom-fit").await?;
    browser.trace(Tool::Finger, "left", &face.left_brow).await?;
    browser.until("return document.querySelectorAll('#drafts-brows li').length === 0").await?;
    browser.click("#find-brows").await?;
    browser.shows("#said-brows", "find.nothing_new_brows").await?;
    Ok(())
}

async fn where_nothing_can_be_guessed_hand_work_goes_on(browser: &Browser) -> Outcome {
    browser.ready().await?;
    let file = shots_dir()?.join(format!("no-face-{:?}.png", browser.engine));
    std::fs::write(&file, pictures::png(1000, 800, true))?;
    browser.open_photo(&file, 1000, 800).await?;
    browser.step("points").await?;
    browser.click("#find-points").await?;
    browser.shows("#said-points", "find.not_seen").await?;
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
        let caught = format!(
            "const own = fetch; self.fetch = (from, ...more) => String(from).endsWith('.tflite') ? Promise.resolve({broken}) : own(from, ...more);"
        );
        change_worker(browser, &caught).await?;
        browser.click("#find-points").await?;
        browser.shows("#said-points", key).await?;
    }
    Ok(())
}

/// A worker cannot be reached from here, so it is made from a text that begins with this script.
async fn change_worker(browser: &Browser, script: &str) -> Outcome {
    let change = format!(
        "const done = arguments[0]; import(new URL('js/assets.js', document.baseURI)).then(({{ trusted }}) => {{ \
         const Own = Worker; window.Worker = class {{ constructor(address) {{ \
           const text = `{script} import(${{JSON.stringify(String(address))}})\
             .then(() => self.late?.forEach((event) => self.dispatchEvent(new MessageEvent('message', {{ data: event.data }}))));\
             self.late = []; self.addEventListener('message', (event) => event.isTrusted && self.late.push(event));`; \
           return new Own(trusted(URL.createObjectURL(new Blob([text], {{ type: 'text/javascript' }}))), {{ type: 'module' }}); }} }}; \
         done(true); }})"
    );
    browser.value_later(&change, Vec::new()).await?;
    Ok(())
}

/// Without packed numbers another module is loaded, which finds the same.
async fn engines_without_packed_numbers_find_the_same(browser: &Browser) -> Outcome {
    let Some(face) = RealFace::numbered("001_03") else { return Ok(()) };
    browser.ready().await?;
    browser.open_photo(&face.photo, 1350, 1350).await?;
    let mut found = Vec::new();
    for look in 0..2 {
        browser.step("points").await?;
        browser.click("#find-points").await?;
        browser.until("return document.querySelectorAll('#drafts-points li').length === 10").await?;
        browser.click("#take-points").await?;
        browser
            .until("return Object.keys(JSON.parse(counterpoise.planJson()).landmarks).length === 10")
            .await?;
        found.push(browser.plan().await?["landmarks"].clone());
        browser.click("#undo").await?;
        browser
            .until("return Object.keys(JSON.parse(counterpoise.planJson()).landmarks).length === 0")
            .await?;
        if look == 0 {
            browser.kept().await?;
            browser.go("").await?;
            browser.ready().await?;
            change_worker(browser, "WebAssembly.validate = () => false;").await?;
        }
    }
    let [wide, narrow] = found.as_slice() else { return Err("two looks".into()) };
    for (id, at) in wide.as_object().into_iter().flatten() {
        for axis in ["x_px", "y_px"] {
            let [one, other] = [at, &narrow[id]].map(|at| at[axis].as_f64().unwrap_or(f64::NAN));
            // Sums are rounded in another order, so that the square lies a hair's breadth elsewhere; 0.2 px are 0.06 mm here.
            assert!((one - other).abs() < 0.2, "{id} {axis}: {one} and {other}");
        }
    }
    Ok(())
}

async fn axe_finds_nothing_on_the_guesses(browser: &Browser) -> Outcome {
    let Some(face) = RealFace::numbered("001_03") else { return Ok(()) };
    browser.ready().await?;
    browser.open_photo(&face.photo, 1350, 1350).await?;
    for (step, guesses, count) in [("points", "points", 10), ("hair", "brows", 2)] {
        browser.step(step).await?;
        browser.click(&format!("#find-{guesses}")).await?;
        let shown = format!("return document.querySelectorAll('#drafts-{guesses} li').length === {count}");
        browser.until(&shown).await?;
        for theme in ["light", "dark"] {
            browser.until_theme(theme).await?;
            browser.settle().await?;
            browser.accessible(&format!("guessed {guesses}, {theme}")).await?;
            browser.shot(&format!("guessed-{guesses}-{theme}")).await?;
        }
        browser.click(&format!("#take-{guesses}")).await?;
    }
    Ok(())
}
