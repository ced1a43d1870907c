//! The balance in the page: along the curve by hand and by key, rules, one step of undo, and back after reopening.

use counterpoise_tests::browser::{Browser, Engine, Failure, Keys, Outcome, Tool};
use counterpoise_tests::{in_both_browsers, in_both_engines, in_firefox};
use serde_json::{Value, json};

in_both_browsers!(along_the_curve_and_back, axe_finds_nothing_on_the_balance);
in_both_engines!(keys_and_rules, what_cannot_be_balanced_is_said);
in_firefox!(along_the_curve_and_back, keys_and_rules);

/// WebKit's driver knows no touch.
fn hand(browser: &Browser) -> Tool {
    match browser.engine {
        Engine::Chromium => Tool::Finger,
        Engine::WebKit | Engine::Firefox => Tool::Mouse,
    }
}

async fn along_the_curve_and_back(browser: &Browser) -> Outcome {
    browser.ready().await?;
    to_balance(browser).await?;
    // Under a tight limit of added skin the line goes on falling to the right.
    browser.click("[data-added=\"10\"]").await?;
    computed(browser).await?;
    let natural = browser.plan().await?["natural"].clone();
    let start = browser.plan_text().await?;

    // While the finger is down both outlines follow and nothing is kept; Escape gives up, and lifting then is nothing.
    let knob = browser.middle_of("#balance-knob").await?;
    let far = place_of(browser, 10.0).await?;
    browser
        .value(
            "window.seen = null; document.getElementById('balance-plot').addEventListener('pointermove', \
             () => { window.seen = JSON.parse(counterpoise.planJson()).planned })",
        )
        .await?;
    browser.actions(escaped_drag(hand(browser), knob, far)).await?;
    browser.settle().await?;
    let seen = browser.value("return window.seen").await?;
    let before: Value = serde_json::from_str(&start)?;
    for side in ["right", "left"] {
        assert_ne!(seen[side], before["planned"][side], "the {side} outline follows");
    }
    assert_eq!(browser.plan_text().await?, start, "a drag that Escape ended changes nothing");

    // Letting go keeps one step of undo.
    drag_to(browser, 10.0).await?;
    browser.until_with("return counterpoise.planJson() !== arguments[0]", vec![json!(start)]).await?;
    let balanced = browser.plan_text().await?;
    assert_eq!(browser.plan().await?["natural"], natural, "the natural brows stay as they are");
    let evener = uneven(browser).await?;
    // Further along the curve the pair is at least as even.
    drag_to(browser, 16.0).await?;
    let evenest = uneven(browser).await?;
    assert!(evenest <= evener + 1e-9, "from {evener} mm at 10 % to {evenest} mm at 16 %");
    browser.shot("dragged").await?;
    browser.click("#undo").await?;
    assert_eq!(browser.plan_text().await?, balanced, "one drag is one step of undo");

    // A brow that is left alone stays exactly where it is, however far the other one goes.
    toggle(browser, "#lock-right").await?;
    computed(browser).await?;
    let locked = browser.plan().await?;
    assert_eq!(locked["balance"]["sides"]["right"]["locked"], true);
    drag_to(browser, 12.0).await?;
    drag_to(browser, 26.0).await?;
    let after = browser.plan().await?;
    assert_eq!(after["planned"]["right"], locked["planned"]["right"], "the locked side");
    assert_ne!(after["planned"]["left"], locked["planned"]["left"], "the free side");

    browser.click("#undo").await?;
    browser.click("#redo").await?;
    assert_eq!(browser.plan().await?, after, "undone and done again");
    let plan = browser.plan_text().await?;
    browser.kept().await?;
    browser.go("").await?;
    browser.ready().await?;
    assert_eq!(browser.plan_text().await?, plan, "the plan after reopening the page");
    browser.step("balance").await?;
    computed(browser).await?;
    assert!(checked(browser, "#lock-right").await?, "the lock after reopening the page");
    assert_eq!(browser.plan_text().await?, plan, "opening the balance changes nothing");
    Ok(())
}

async fn keys_and_rules(browser: &Browser) -> Outcome {
    browser.ready().await?;
    to_balance(browser).await?;
    let start = browser.plan_text().await?;

    // The slider below the chart does what the knob does, and says it in words.
    browser.tab_to("#balance-range").await?;
    browser.press(&[Keys::RIGHT]).await?;
    browser.until_with("return counterpoise.planJson() !== arguments[0]", vec![json!(start)]).await?;
    let spoken = browser
        .value("return document.getElementById('balance-range').getAttribute('aria-valuetext')")
        .await?;
    let spoken = spoken.as_str().unwrap_or_default().to_owned();
    assert!(spoken.starts_with("removed at most 6 %: ") && spoken.ends_with(" mm left"), "{spoken}");
    let shown = browser.text("#balance-readout").await?;
    assert_eq!(shown.to_lowercase(), spoken.to_lowercase());
    browser.press_with(Keys::CONTROL, "z").await?;
    browser.until_with("return counterpoise.planJson() === arguments[0]", vec![json!(start)]).await?;

    browser.settle().await?;
    // What it would change stands beside it, on both sides, before anything is changed.
    for side in ["right", "left"] {
        let moves = format!(".moves [data-side=\"{side}\"]");
        assert!(browser.text(&moves).await?.contains("mm"), "no moves on the {side}");
    }
    browser.click("#take-balance").await?;
    browser.until_with("return counterpoise.planJson() !== arguments[0]", vec![json!(start)]).await?;

    // A value that is kept stays as it is on that side.
    let arch = browser.planned("left", "arch_y").await?;
    browser.unfold("[data-keep=\"arch_y\"]").await?;
    browser.click("[data-keep=\"arch_y\"][data-side=\"left\"]").await?;
    computed(browser).await?;
    let locked = browser.plan_text().await?;
    drag_to(browser, 24.0).await?;
    browser.until_with("return counterpoise.planJson() !== arguments[0]", vec![json!(locked)]).await?;
    assert_eq!(browser.planned("left", "arch_y").await?, arch, "the kept value");

    // Limits, preference, bounds and pulls are rules of the plan.
    browser.click("[data-added=\"10\"]").await?;
    computed(browser).await?;
    browser.click("#prefer-filling").await?;
    computed(browser).await?;
    browser.fill("#lift_mm-left", "1,5").await?;
    browser.fill("#balance-removed_mm2", "12").await?;
    browser.unfold("#pull-end-right").await?;
    browser.fill("#pull-end-right", "0,5").await?;
    browser
        .until("return JSON.parse(counterpoise.planJson()).balance.sides.right.pulls.length === 1")
        .await?;
    let plan = browser.plan().await?;
    assert_eq!(plan["limits"]["added_pct"], 10.0);
    assert_eq!(plan["limits"]["removed_mm2"], 12.0);
    assert_eq!(plan["balance"]["prefer"], "filling");
    assert_eq!(plan["balance"]["sides"]["left"]["lift_mm"], 1.5);
    assert_eq!(plan["balance"]["sides"]["right"]["pulls"], json!([{ "guide": "end", "weight": 0.5 }]));
    computed(browser).await
}

async fn what_cannot_be_balanced_is_said(browser: &Browser) -> Outcome {
    browser.ready().await?;
    to_balance(browser).await?;
    toggle(browser, "#lock-right").await?;
    computed(browser).await?;
    toggle(browser, "#lock-left").await?;
    browser.shows("#balance-refused", "refused.everything_locked").await?;
    let plan = browser.plan_text().await?;
    browser.settle().await?;
    assert_eq!(browser.plan_text().await?, plan, "a refusal changes nothing");
    toggle(browser, "#lock-left").await?;
    computed(browser).await?;
    browser.until("return document.getElementById('balance-refused').hidden").await?;

    // Without natural brows there is nothing to balance.
    browser.click("#more").await?;
    browser.click("#new-case").await?;
    browser.until("return JSON.parse(counterpoise.planJson()).photo === null").await?;
    browser.step("balance").await?;
    browser.shows("#balance-refused", "refused.natural_first").await?;
    browser.accessible("a refused balance").await
}

async fn axe_finds_nothing_on_the_balance(browser: &Browser) -> Outcome {
    browser.ready().await?;
    to_balance(browser).await?;
    for theme in ["light", "dark"] {
        browser.until_theme(theme).await?;
        browser
            .value("document.querySelectorAll('#panel-balance details').forEach((d) => { d.open = true })")
            .await?;
        browser.settle().await?;
        browser.accessible(&format!("balance, {theme}")).await?;
        browser.value("document.getElementById('panel-balance').scrollTop = 0").await?;
        browser.settle().await?;
        browser.shot(&format!("balance-{theme}")).await?;
    }
    Ok(())
}

/// A drag to the side, with Escape before the finger lifts: the driver's steps of finger and keyboard run side by side.
fn escaped_drag(tool: Tool, from: (f64, f64), to_x: f64) -> Value {
    let (name, kind) = if tool == Tool::Finger { ("touch", "touch") } else { ("mouse", "mouse") };
    let to = |x: f64| json!({ "type": "pointerMove", "duration": 30, "origin": "viewport", "x": x.round() as i64, "y": from.1.round() as i64 });
    let rest = json!({ "type": "pause", "duration": 20 });
    let fingers = json!([
        to(from.0), { "type": "pointerDown", "button": 0 }, to(from.0 + 12.0), to(to_x - 4.0), to(to_x), rest, rest,
        { "type": "pointerUp", "button": 0 },
    ]);
    let keys = json!([
        rest, rest, rest, rest, rest, { "type": "keyDown", "value": Keys::ESCAPE },
        { "type": "keyUp", "value": Keys::ESCAPE }, rest,
    ]);
    json!([
        { "type": "pointer", "id": name, "parameters": { "pointerType": kind }, "actions": fingers },
        { "type": "key", "id": "keys", "actions": keys },
    ])
}

/// To the step, and until its curve is there.
async fn to_balance(browser: &Browser) -> Outcome {
    browser.step("balance").await?;
    computed(browser).await
}

/// Waits until the curve belongs to the present plan.
async fn computed(browser: &Browser) -> Outcome {
    browser.settle().await?;
    browser
        .until("return document.getElementById('panel-balance').dataset.state === 'ready' && !document.getElementById('balance-range').disabled")
        .await?;
    browser.settle().await
}

/// Drags the knob to a place of the axis of removed hair, %, and lets go.
async fn drag_to(browser: &Browser, pct: f64) -> Outcome {
    browser.value("document.getElementById('balance-plot').scrollIntoView({ block: 'center' })").await?;
    browser.settle().await?;
    let knob = browser.middle_of("#balance-knob").await?;
    let x = place_of(browser, pct).await?;
    let way =
        [knob, (knob.0 + (x - knob.0).signum() * 8.0, knob.1), ((knob.0 + x) / 2.0, knob.1), (x, knob.1)];
    browser.draw(hand(browser), &way).await?;
    browser.settle().await?;
    let at = browser.value("return Number(document.getElementById('balance-range').value)").await?;
    // A finger stands on whole pixels, a stop may be two per cent from the next.
    let off = at.as_f64().map_or(f64::INFINITY, |at| (at - pct).abs());
    if off <= 1.0 { Ok(()) } else { Err(format!("dragged to {pct} %, the slider stands at {at}").into()) }
}

/// Where a share of removed hair lies across the screen: the knob's own place and the slider's give the scale.
async fn place_of(browser: &Browser, pct: f64) -> Result<f64, Failure> {
    let script = "const r = document.getElementById('balance-range').getBoundingClientRect(); return [r.left, r.width]";
    let range = browser.value(script).await?;
    let (left, width) = range[0].as_f64().zip(range[1].as_f64()).ok_or("the slider has no place")?;
    // The thumb is 32 px wide: its middle runs that much less than the slider's width.
    const THUMB: f64 = 32.0;
    Ok(left + THUMB / 2.0 + (width - THUMB) * pct / 30.0)
}

/// The headline of the pair that is shown, mm.
async fn uneven(browser: &Browser) -> Result<f64, Failure> {
    browser.settle().await?;
    let value = browser.value("return counterpoise.report().planned_symmetry.mean_distance_mm").await?;
    value.as_f64().ok_or_else(|| "no headline".into())
}

/// Presses a switch.
async fn toggle(browser: &Browser, css: &str) -> Outcome {
    let before = checked(browser, css).await?;
    // The drawn track lies over the checkbox; its label takes the click.
    browser.click(&format!("label[for=\"{}\"]", css.trim_start_matches('#'))).await?;
    browser
        .until_with(
            "return document.querySelector(arguments[0]).checked === arguments[1]",
            vec![json!(css), json!(!before)],
        )
        .await
}

async fn checked(browser: &Browser, css: &str) -> Result<bool, Failure> {
    let value =
        browser.value_with("return document.querySelector(arguments[0]).checked", vec![json!(css)]).await?;
    value.as_bool().ok_or_else(|| format!("{css} is no switch").into())
}
