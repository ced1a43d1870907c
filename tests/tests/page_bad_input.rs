//! Bad files, points, traces and storage: each gets a plain message, and the plan stays as it was.

use counterpoise_tests::browser::{Browser, Failure, Outcome, Tool, shots_dir};
use counterpoise_tests::face::RealFace;
use counterpoise_tests::{in_both_engines, pictures};
use serde_json::{Value, json};

in_both_engines!(
    bad_photos_are_refused,
    photo_turned_by_exif_is_turned_once,
    bad_plans_are_refused,
    bad_points_and_scales_are_named,
    bad_traces_are_refused,
    refused_and_full_storage_are_told,
    trap_in_mid_drag_loses_nothing,
);

fn file(name: &str, content: &[u8]) -> Result<std::path::PathBuf, Failure> {
    let file = shots_dir()?.join(name);
    std::fs::write(&file, content)?;
    Ok(file)
}

async fn bad_photos_are_refused(browser: &Browser) -> Outcome {
    browser.ready().await?;
    browser.step("photo").await?;
    let plan = browser.plan_text().await?;
    let fine = pictures::png(1000, 800, true);
    let half = fine.get(..fine.len() / 2).ok_or("a half")?;
    // Begins and ends as a JPEG does, with nothing in between that could be decoded.
    let hollow = [&[0xff, 0xd8, 0xff, 0xe0, 0, 4, 0, 0], [0x55; 2000].as_slice(), &[0xff, 0xd9]].concat();
    let heic =
        if browser.engine == counterpoise_tests::browser::Engine::Chromium { "photo.heic" } else { "photo." };
    let cases: [(&str, Vec<u8>, &str); 8] = [
        ("empty.jpg", Vec::new(), "photo.empty"),
        ("words.jpg", b"these are words and no picture".to_vec(), "photo.not_image"),
        ("phone.heic", pictures::heic(), heic),
        ("half.png", half.to_vec(), "photo.cut_off"),
        ("hollow.jpg", hollow, "photo.undecodable"),
        ("hundred-megapixels.png", pictures::png(10_000, 10_000, true), "photo.too_many_pixels"),
        ("blank.png", pictures::png(1000, 800, false), "photo.blank"),
        ("tiny.png", pictures::png(40, 30, true), "photo.too_small"),
    ];
    for (name, content, key) in cases {
        browser.choose_file("#open-photo", &file(name, &content)?).await?;
        if key == "photo." {
            // WebKit may have a HEIC decoder; these bytes are only a head and cannot be decoded by any.
            browser
                .until("return document.getElementById('message').getAttribute('role') === 'alert'")
                .await?;
        } else {
            browser.message_is(key).await.map_err(|error| format!("{name}: {error}"))?;
        }
        assert_eq!(browser.plan_text().await?, plan, "{name} changed the plan");
        browser.click("#message-close").await?;
    }
    // A photo cut off in the middle by a bad cable: a real one, where there is one.
    if let Some(face) = RealFace::numbered("001_03") {
        let whole = std::fs::read(&face.photo)?;
        let half = whole.get(..whole.len() / 2).ok_or("a half")?;
        browser.choose_file("#open-photo", &file("half.jpg", half)?).await?;
        browser.message_is("photo.cut_off").await?;
        assert_eq!(browser.plan_text().await?, plan, "half a photo changed the plan");
    }
    // After all that a good one still opens.
    browser.open_photo(&file("fine.png", &fine)?, 1000, 800).await
}

async fn photo_turned_by_exif_is_turned_once(browser: &Browser) -> Outcome {
    browser.ready().await?;
    // A lying picture, made by the browser itself, marked as to be turned by a quarter.
    let script = "const done = arguments[0]; const c = document.createElement('canvas'); c.width = 400; c.height = 300; \
        const x = c.getContext('2d'); x.fillStyle = '#fff'; x.fillRect(0, 0, 400, 300); x.fillStyle = '#c00'; \
        x.fillRect(0, 0, 200, 300); done(c.toDataURL('image/jpeg', 0.9).split(',')[1])";
    let text = browser.value_later(script, Vec::new()).await?;
    let jpeg = counterpoise_tests::browser::from_base64(text.as_str().ok_or("no picture")?)?;
    browser.open_photo(&file("lying.jpg", &jpeg)?, 400, 300).await?;
    browser.open_photo(&file("turned.jpg", &pictures::with_orientation(&jpeg, 6))?, 300, 400).await
}

async fn bad_plans_are_refused(browser: &Browser) -> Outcome {
    browser.ready().await?;
    let plan = browser.plan_text().await?;
    let own: Value = serde_json::from_str(&plan)?;
    let changed = |change: &dyn Fn(&mut Value)| {
        let mut other = own.clone();
        change(&mut other);
        other.to_string().into_bytes()
    };
    let huge = plan.replacen('{', "{\"limits\":{\"removed_pct\":1e999},", 1).into_bytes();
    let cases: [(&str, Vec<u8>, &str); 8] = [
        ("words.json", b"no plan at all".to_vec(), "refused.not_a_plan"),
        ("other.json", b"{\"type\":\"FeatureCollection\",\"features\":[]}".to_vec(), "refused.not_a_plan"),
        ("newer.json", changed(&|plan| plan["version"] = json!(99)), "refused.newer_version"),
        ("unknown-field.json", changed(&|plan| plan["surprise"] = json!(1)), "refused.unreadable"),
        ("huge.json", huge, "refused.unreadable"),
        (
            "out-of-range.json",
            changed(&|plan| plan["limits"]["removed_pct"] = json!(1e300)),
            "refused.out_of_range",
        ),
        (
            "cut-off.json",
            plan.as_bytes().get(..plan.len() / 2).ok_or("a half")?.to_vec(),
            "refused.unreadable",
        ),
        ("25-megabytes.json", vec![b' '; 26 * 1024 * 1024], "refused.too_large"),
    ];
    for (name, content, key) in cases {
        browser.choose_file("#open-plan", &file(name, &content)?).await?;
        browser.message_is(key).await.map_err(|error| format!("{name}: {error}"))?;
        assert_eq!(browser.plan_text().await?, plan, "{name} changed the plan");
        browser.click("#message-close").await?;
    }
    Ok(())
}

async fn bad_points_and_scales_are_named(browser: &Browser) -> Outcome {
    let Some(face) = RealFace::numbered("001_03") else { return Ok(()) };
    browser.ready().await?;
    browser.open_photo(&face.photo, 1350, 1350).await?;

    // Swapped: each of the client's pupils tapped where the other one is.
    let swapped: Vec<_> = face
        .landmarks
        .iter()
        .map(|&(id, at)| match id {
            "pupil.right" => ("pupil.left", at),
            "pupil.left" => ("pupil.right", at),
            _ => (id, at),
        })
        .collect();
    browser.place_landmarks(Tool::Mouse, &swapped).await?;
    problem_is_named(browser, "swapped points").await?;
    browser.shot("swapped").await?;

    // Coincident: one point lying on another, as a file from elsewhere might have it.
    let mut plan = browser.plan().await?;
    plan["landmarks"]["inner_corner.left"] = plan["landmarks"]["inner_corner.right"].clone();
    browser.choose_file("#open-plan", &file("coincident.json", plan.to_string().as_bytes())?).await?;
    let is_open = "const l = JSON.parse(counterpoise.planJson()).landmarks; \
                   return l['inner_corner.left'].x_px === l['inner_corner.right'].x_px";
    browser.until(is_open).await?;
    browser.step("points").await?;
    problem_is_named(browser, "coincident points").await?;

    // A good face again, then a scale of nothing, and one that contradicts the others.
    browser.click("#more").await?;
    browser.click("#new-case").await?;
    browser.open_photo(&face.photo, 1350, 1350).await?;
    browser.place_landmarks(Tool::Mouse, &face.landmarks).await?;
    browser.until("return document.querySelectorAll('#panel-points .problems li').length === 0").await?;
    let plan = browser.plan_text().await?;
    for nothing in ["0", "-5", "NaN", "1e999", "ten", "99999999999999999999"] {
        browser.unfold("#ruler-mm").await?;
        browser.fill("#ruler-mm", nothing).await?;
        browser
            .until("return !document.getElementById('message').hidden")
            .await
            .map_err(|error| format!("{nothing}: {error}"))?;
        assert_eq!(browser.plan_text().await?, plan, "a ruler of {nothing} mm changed the plan");
        browser.click("#message-close").await?;
    }
    browser.fill("#ruler-mm", "").await?;
    browser.add_caliper("pupil.right", "pupil.left", "120").await?;
    problem_is_named(browser, "contradictory scales").await
}

/// Waits until the step of the points names a problem.
async fn problem_is_named(browser: &Browser, what: &str) -> Outcome {
    browser
        .until(
            "return [...document.querySelectorAll('#panel-points .problems li')].some((p) => p.textContent.trim())",
        )
        .await
        .map_err(|error| format!("{what}: {error}").into())
}

async fn bad_traces_are_refused(browser: &Browser) -> Outcome {
    let Some(face) = RealFace::numbered("001_03") else { return Ok(()) };
    browser.ready().await?;
    browser.open_photo(&face.photo, 1350, 1350).await?;
    browser.place_landmarks(Tool::Mouse, &face.landmarks).await?;
    browser.trace(Tool::Mouse, "right", &face.right_brow).await?;
    let plan = browser.plan_text().await?;

    let brow = &face.right_brow;
    let n = brow.len();
    let point = |index: usize| brow.get(index % n).copied().unwrap_or_default();
    // A figure of eight: the middle half of the way round is walked backwards.
    let crossed = (0..n).map(|i| point(if i < n / 4 || i >= n - n / 4 { i } else { n - 1 - i })).collect();
    // So wide that it reaches over to the other brow.
    let end = brow.iter().map(|&(x, _)| x).fold(f64::INFINITY, f64::min);
    let over = brow.iter().map(|&(x, y)| (end + 2.5 * (x - end), y)).collect();
    let two = vec![point(0), point(n / 2)];
    let there_and_back = vec![point(0), point(n / 2), point(0)];
    let cases: [(&str, Vec<_>, &[&str]); 4] = [
        ("crossed", crossed, &["refused.trace_crosses_itself"]),
        ("over the centre", over, &["refused.trace_crosses_centre"]),
        (
            "two points",
            two,
            &["refused.trace_too_short", "refused.trace_too_small", "refused.trace_crosses_itself"],
        ),
        (
            "there and back",
            there_and_back,
            &["refused.trace_too_short", "refused.trace_too_small", "refused.trace_crosses_itself"],
        ),
    ];
    for (name, line, keys) in cases {
        browser.step("hair").await?;
        let pressed = "return document.getElementById('trace-right').getAttribute('aria-pressed')";
        if browser.value(pressed).await? != "true" {
            browser.click("#trace-right").await?;
        }
        let mut stroke = Vec::new();
        for (x, y) in line {
            stroke.push(browser.screen_from_image(x, y).await?);
        }
        browser.draw(Tool::Mouse, &stroke).await?;
        browser.message_is_one_of(keys).await.map_err(|error| format!("{name}: {error}"))?;
        assert_eq!(browser.plan_text().await?, plan, "{name} changed the plan");
        browser.click("#message-close").await?;
    }
    Ok(())
}

async fn refused_and_full_storage_are_told(browser: &Browser) -> Outcome {
    browser.ready().await?;
    browser.step("photo").await?;
    let breaks = [
        (
            "SecurityError",
            "IDBFactory.prototype.open = () => { throw new DOMException('', 'SecurityError') }",
        ),
        (
            "QuotaExceededError",
            "IDBObjectStore.prototype.put = () => { throw new DOMException('', 'QuotaExceededError') }",
        ),
    ];
    for (name, script) in breaks {
        browser.go("").await?;
        browser.ready().await?;
        browser.step("photo").await?;
        // Storage fails from here on, as in a private window or on a full tablet.
        browser.value(script).await?;
        browser.fill("#case-label", name).await?;
        browser.message_is(&format!("storage.{name}")).await?;
        assert_eq!(browser.plan().await?["case"]["label"], name, "the work goes on without storage");
        assert_eq!(browser.value("return document.getElementById('saved').dataset.state").await?, "failed");
    }
    Ok(())
}

async fn trap_in_mid_drag_loses_nothing(browser: &Browser) -> Outcome {
    browser.go("#test").await?;
    browser.client.refresh().await?;
    browser.ready().await?;
    browser.step("shape").await?;
    browser.click("#side-right").await?;
    let plan = browser.plan_text().await?;
    let from = browser.handle_on_screen("right", "arch_top").await?;
    // The pointer is down on a handle and has moved when the module breaks.
    let pointer = |steps: Value| json!([{ "type": "pointer", "id": "mouse", "parameters": { "pointerType": "mouse" }, "actions": steps }]);
    let to = |dy: f64, ms: u64| json!({ "type": "pointerMove", "origin": "viewport", "duration": ms, "x": from.0.round() as i64, "y": (from.1 + dy).round() as i64 });
    browser
        .actions(pointer(json!([to(0.0, 0), { "type": "pointerDown", "button": 0 }, to(-3.0, 40)])))
        .await?;
    browser.value("counterpoise.test.trapAt(1, 2)").await?;
    browser.message_is("work.restarted").await?;
    browser.actions(pointer(json!([to(-6.0, 40), { "type": "pointerUp", "button": 0 }]))).await?;
    browser.settle().await?;
    let after = browser.plan().await?;
    let before: Value = serde_json::from_str(&plan)?;
    assert_eq!(after["landmarks"], before["landmarks"]);
    assert_eq!(after["natural"], before["natural"]);
    // And it still works.
    let raised = browser.planned("right", "arch_y").await?;
    browser.click("[data-step=\"1\"][data-param=\"arch_y\"]").await?;
    browser.settle().await?;
    assert!(browser.planned("right", "arch_y").await? > raised, "the page still works");
    browser.expect_errors(&["unreachable", "RuntimeError", "panicked", "trap", "js/engine.js"]).await
}
