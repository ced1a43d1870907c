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
    let not_decodable = {
        let mut damaged = fine.clone();
        let middle = damaged.len() / 2;
        if let Some(bytes) = damaged.get_mut(middle..middle + 8) {
            bytes.fill(0x55);
        }
        damaged
    };
    let heic =
        if browser.engine == counterpoise_tests::browser::Engine::Chromium { "photo.heic" } else { "photo." };
    let cases: [(&str, Vec<u8>, &str); 8] = [
        ("empty.jpg", Vec::new(), "photo.empty"),
        ("words.jpg", b"these are words and no picture".to_vec(), "photo.not_image"),
        ("phone.heic", pictures::heic(), heic),
        ("half.png", half.to_vec(), "photo.cut_off"),
        ("damaged.png", not_decodable, "photo.undecodable"),
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
        ("words.json", b"no plan at all".to_vec(), "refused.unreadable"),
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
    browser.place_landmarks(Tool::Mouse, &face.landmarks).await?;

    // Swapped: the client's right pupil on the left one and the other way round.
    let place = |id: &str| {
        face.landmarks.iter().find(|(each, _)| *each == id).map(|(_, at)| *at).ok_or("no such point")
    };
    let (right, left) = (place("pupil.right")?, place("pupil.left")?);
    browser.place_landmarks(Tool::Mouse, &[("pupil.right", left), ("pupil.left", right)]).await?;
    browser.until("return document.querySelectorAll('#panel-points .problems li').length > 0").await?;
    let swapped = browser.text("#panel-points .problems").await?;
    assert!(!swapped.trim().is_empty(), "swapped points are not named");
    browser.shot("swapped").await?;
    browser.place_landmarks(Tool::Mouse, &[("pupil.right", right), ("pupil.left", left)]).await?;
    browser.until("return document.querySelectorAll('#panel-points .problems li').length === 0").await?;

    // A scale of nothing, and one that contradicts the others.
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
    browser.until("return document.querySelectorAll('#panel-points .problems li').length > 0").await?;
    let contradiction = browser.text("#panel-points .problems").await?;
    assert!(!contradiction.trim().is_empty(), "contradictory scales are not named");
    Ok(())
}

async fn bad_traces_are_refused(browser: &Browser) -> Outcome {
    let Some(face) = RealFace::numbered("001_03") else { return Ok(()) };
    browser.ready().await?;
    browser.open_photo(&face.photo, 1350, 1350).await?;
    browser.place_landmarks(Tool::Mouse, &face.landmarks).await?;
    browser.trace(Tool::Mouse, "right", &face.right_brow).await?;
    let plan = browser.plan_text().await?;

    // Figure of eight: along the upper edge out, along the lower edge back, but crossed in the middle.
    let n = face.right_brow.len();
    let crossed: Vec<_> =
        (0..n).map(|i| face.right_brow[if i < n / 4 || i >= n - n / 4 { i } else { n - 1 - i }]).collect();
    // Around the brow and the other one in one stroke: over the centre line.
    let over: Vec<_> = face.right_brow.iter().map(|&(x, y)| (2.0 * x - 480.0 + 330.0, y)).collect();
    let two = vec![face.right_brow[0], face.right_brow[n / 2]];
    for (name, line, keys) in [
        ("crossed", crossed, ["refused.trace_crosses_itself"].as_slice()),
        ("over the centre", over, &["refused.trace_crosses_centre", "refused.trace_too_large"]),
        ("two points", two, &["refused.trace_too_short", "refused.trace_too_small"]),
    ] {
        browser.step("hair").await?;
        if browser.value("return document.getElementById('trace-right').getAttribute('aria-pressed')").await?
            != "true"
        {
            browser.click("#trace-right").await?;
        }
        let mut stroke = Vec::new();
        for (x, y) in line {
            stroke.push(browser.screen_from_image(x, y).await?);
        }
        browser.draw(Tool::Mouse, &stroke).await?;
        let mut told = Err("".into());
        for key in keys {
            told = browser.message_is(key).await;
            if told.is_ok() {
                break;
            }
        }
        told.map_err(|error: Failure| format!("{name}: {error}"))?;
        assert_eq!(browser.plan_text().await?, plan, "{name} changed the plan");
        browser.click("#message-close").await?;
    }
    Ok(())
}

async fn refused_and_full_storage_are_told(browser: &Browser) -> Outcome {
    browser.ready().await?;
    browser.step("photo").await?;
    let breaks = [
        ("SecurityError", "indexedDB.open = () => { throw new DOMException('', 'SecurityError') }"),
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
        browser.value(&script.replace("indexedDB.open =", "IDBFactory.prototype.open =")).await?;
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
    browser.value("counterpoise.test.trap()").await?;
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
    browser.expect_errors(&["unreachable", "RuntimeError", "panicked", "trap"]).await
}
