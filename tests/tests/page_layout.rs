//! Where things stand: in a small window, for the hand that works, in the direction of reading.

use counterpoise_tests::browser::{Browser, Engine, Failure, Keys, Outcome, STEPS, Window};
use counterpoise_tests::{in_both_browsers, in_both_engines, in_chromium, in_firefox};
use serde_json::{Value, json};

in_both_browsers!(nothing_is_lost_at_twice_the_size, the_panel_stands_at_the_hand_that_works);
in_both_engines!(reading_from_the_right_leaves_the_picture, a_step_begins_below_the_picture);
in_chromium!(a_phone_has_everything);
in_firefox!(
    nothing_is_lost_at_twice_the_size,
    the_panel_stands_at_the_hand_that_works,
    reading_from_the_right_leaves_the_picture,
    a_step_begins_below_the_picture
);

/// The window of WebKit's own browser gets no narrower, for its bar, CSS px.
const WEBKIT_NARROWEST: u32 = 450;
/// As narrow as every engine's window gets, and small for the page, CSS px.
const SMALL: u32 = 500;
/// Longer than words and prices come after their curve, ms.
const LATE_MS: u64 = 700;
/// A number of the shape step.
const FRONT: &str = "[data-number=\"front_x\"]";

/// Left edge, top, width and height of an element, CSS px.
async fn place(browser: &Browser, css: &str) -> Result<[f64; 4], Failure> {
    let script = "const { left, top, width, height } = document.querySelector(arguments[0]).getBoundingClientRect(); return [left, top, width, height]";
    let found = browser.value_with(script, vec![json!(css)]).await?;
    let mut numbers = [0.0; 4];
    for (number, value) in numbers.iter_mut().zip(found.as_array().ok_or("no place")?) {
        *number = value.as_f64().ok_or("no number")?;
    }
    Ok(numbers)
}

/// Every screen of the work in a window of this size: nothing is cut off, nothing out of reach, and the picture stays in sight.
async fn every_screen_at(browser: &Browser, width: u32, height: u32) -> Outcome {
    browser.resize_to(width, height).await?;
    browser.ready().await?;
    let screen = |what: &str| format!("{what} at {width} × {height}");
    browser.reachable(".bar", &screen("the bar")).await?;
    for step in STEPS {
        browser.step(step).await?;
        browser.unfold_all().await?;
        // The step that was chosen is seen, and not what stood there before.
        let [_, stage, _, stage_height] = place(browser, ".stage").await?;
        let [_, tabs, _, _] = place(browser, "#steps").await?;
        assert!(
            (tabs - stage - stage_height).abs() < 2.0,
            "{}: the steps are at {tabs}, the stage at {stage} + {stage_height}",
            screen(step)
        );
        browser.shot(&format!("{width}x{height}-{step}")).await?;
        browser.words_fit(&screen(step)).await?;
        browser.reachable(".panel", &screen(step)).await?;
        browser.reachable(".stage", &screen(step)).await?;
        let wide = "return [document.documentElement, ...document.querySelectorAll('body, body *')].filter((part) => part.checkVisibility({ visibilityProperty: true }) \
            && !part.closest('.stage, svg') && part.getBoundingClientRect().right > innerWidth + 1).map((part) => part.outerHTML.slice(0, 120))";
        assert_eq!(browser.value(wide).await?, json!([]), "{} is too wide", screen(step));
        browser.value("scrollTo(0, document.body.scrollHeight)").await?;
        let [left, top, stage_width, stage_height] = place(browser, ".stage").await?;
        assert!(
            left == 0.0 && top == 0.0 && stage_width > f64::from(width) - 20.0 && stage_height >= 180.0,
            "{}: the picture stays: {left} {top} {stage_width} {stage_height}",
            screen(step)
        );
    }
    // A number is typed, a slider is touched, and a point is moved by its pad, all beside the picture.
    browser.step("shape").await?;
    browser.fill(FRONT, "9.4").await?;
    browser.until("return JSON.parse(counterpoise.planJson()).planned.right.front_x === 9.4").await?;
    browser.step("points").await?;
    browser.click("[data-landmark=\"pupil.right\"]").await?;
    browser.until("return !document.getElementById('nudge').hidden").await?;
    browser.reachable(".stage", &screen("the pad")).await?;
    let [_, _, _, pad] = place(browser, "#nudge").await?;
    assert!(pad < 90.0, "{}: the pad is low, {pad}", screen("the pad"));
    browser.shot(&format!("{width}x{height}-pad")).await?;
    browser.click("[data-nudge=\"done\"]").await?;
    for (open, dialog) in [("#more", "more"), ("#book-open", "book")] {
        browser.click(open).await?;
        browser.settle().await?;
        browser.reachable("dialog[open]", &screen(dialog)).await?;
        let wide = "const dialog = document.querySelector('dialog[open]'); return dialog.scrollWidth - dialog.clientWidth";
        assert_eq!(browser.value(wide).await?, 0, "{} is too wide", screen(dialog));
        browser.words_fit(&screen(dialog)).await?;
        browser.shot(&format!("{width}x{height}-{dialog}")).await?;
        browser.press(&[Keys::ESCAPE]).await?;
    }
    browser.step("client").await?;
    browser.turn_to_client().await?;
    browser.reachable("#client", &screen("what she sees")).await?;
    browser.shot(&format!("{width}x{height}-she")).await?;
    browser.hold("#client-back").await?;
    browser.let_go("#client-back", 2500).await
}

/// Text at twice its size is a window of half the size (WCAG 2.2, success criterion 1.4.4).
async fn nothing_is_lost_at_twice_the_size(browser: &Browser) -> Outcome {
    let (width, height) = browser.window.size();
    let narrowest = if browser.engine == Engine::WebKit { WEBKIT_NARROWEST } else { 0 };
    every_screen_at(browser, (width / 2).max(narrowest), height / 2).await
}

/// 320 CSS px is the narrowest that a page has to manage (WCAG 2.2, success criterion 1.4.10).
async fn a_phone_has_everything(browser: &Browser) -> Outcome {
    every_screen_at(browser, 320, 640).await
}

/// In a small window a step is seen from its beginning, and answers that come later, and make it longer, leave it there; a rule that is under
/// the finger stays under it.
async fn a_step_begins_below_the_picture(browser: &Browser) -> Outcome {
    browser.resize_to(SMALL, 820).await?;
    browser.ready().await?;
    let answered = "return document.getElementById('panel-balance').dataset.state === 'ready' && \
        !document.getElementById('balance-range').disabled && document.querySelector('.moves').textContent.includes('mm')";
    for step in STEPS {
        browser.step(step).await?;
        if step == "balance" {
            browser.until(answered).await?;
        }
        browser.pause(LATE_MS).await;
        let ([_, top, _, height], stage) =
            (place(browser, &format!("#step-{step}")).await?, place(browser, ".stage").await?);
        let [low, high] = [stage[1] + stage[3], stage[1] + stage[3] + 3.0 * height];
        assert!(top >= low - 1.0 && top < high, "{step} begins at {top}, the picture ends at {low}");
    }
    browser.step("balance").await?;
    let rule = "label[for=\"lock-right\"]";
    browser
        .value_with(
            "document.querySelector(arguments[0]).scrollIntoView({ block: 'center' })",
            vec![json!(rule)],
        )
        .await?;
    browser.settle().await?;
    let before = place(browser, rule).await?[1];
    browser.click(rule).await?;
    browser.until("return document.getElementById('panel-balance').dataset.state === 'ready'").await?;
    browser.pause(LATE_MS).await;
    let after = place(browser, rule).await?[1];
    assert!((after - before).abs() <= 2.0, "the rule went from {before} to {after}");
    Ok(())
}

async fn the_panel_stands_at_the_hand_that_works(browser: &Browser) -> Outcome {
    browser.ready().await?;
    browser.step("points").await?;
    browser.click("[data-landmark=\"pupil.right\"]").await?;
    let is_lying = browser.window == Window::Lying;
    let (width, _) = browser.window.size();
    for hand in ["right", "left", "right", "left"] {
        browser.click("#more").await?;
        browser.click(&format!("#hand-{hand}")).await?;
        browser.press(&[Keys::ESCAPE]).await?;
        browser.settle().await?;
        let [panel, _, panel_width, _] = place(browser, ".panel").await?;
        let [stage, _, stage_width, _] = place(browser, ".stage").await?;
        let [tools, _, _, _] = place(browser, ".stage-tools").await?;
        let [pad, _, _, _] = place(browser, "#nudge").await?;
        let middle = stage + stage_width / 2.0;
        assert_eq!(tools > middle, hand == "right", "{hand}: tools at {tools}");
        assert_eq!(pad < middle, hand == "right", "{hand}: the pad is seen beside the hand, at {pad}");
        if is_lying {
            assert_eq!(panel > stage, hand == "right", "{hand}: panel at {panel}");
            assert!((panel_width + stage_width - f64::from(width)).abs() < 1.0);
        } else {
            assert_eq!((panel, stage), (0.0, 0.0), "{hand}: the panel stands below");
        }
        browser.shot(&format!("hand-{hand}")).await?;
    }
    browser.accessible("left hand").await?;
    // The choice is kept, and the picture is what it was.
    browser.open_anew("").await?;
    browser.ready().await?;
    assert_eq!(browser.value("return document.documentElement.dataset.hand").await?, "left");
    assert!(place(browser, ".stage-tools").await?[0] < 100.0 + place(browser, ".stage").await?[0]);
    Ok(())
}

async fn reading_from_the_right_leaves_the_picture(browser: &Browser) -> Outcome {
    browser.ready().await?;
    let places = "return Object.fromEntries([...document.querySelectorAll('.twin')].map((twin) => { const { left, top } = twin.getBoundingClientRect(); return [twin.dataset.id, [left, top].map(Math.round)]; }))";
    let columns = "return ['right', 'left'].map((side) => document.querySelector(`#report-planned [data-col=${side}]`).getBoundingClientRect().left)";
    let mut seen: Vec<Value> = Vec::new();
    for language in ["en", "ar"] {
        browser.open_anew(&format!("#language={language}")).await?;
        browser.ready().await?;
        assert_eq!(
            browser.value("return document.documentElement.dir").await?,
            if language == "ar" { "rtl" } else { "ltr" }
        );
        browser.step("shape").await?;
        let [right, _, _, _] = place(browser, "#side-right").await?;
        let [left, _, _, _] = place(browser, "#side-left").await?;
        assert!(right < left, "{language}: her right is chosen where it is seen");
        let stage = place(browser, ".stage").await?;
        assert_eq!(stage[0], 0.0, "{language}: the hand, not the language, says where the panel is");
        browser.pause(400).await;
        seen.push(json!([stage, browser.value(places).await?]));
        browser.step("check").await?;
        let found = browser.value(columns).await?;
        let (right, left) = (found[0].as_f64().ok_or("no column")?, found[1].as_f64().ok_or("no column")?);
        assert!(right < left, "{language}: her right stands at {right}, her left at {left}");
        let name = "const row = document.querySelector('#report-planned tbody tr'); return row.querySelector('th').getBoundingClientRect().left > row.querySelector('td').getBoundingClientRect().left";
        assert_eq!(browser.value(name).await?, language == "ar", "{language}: where a row begins");
    }
    assert!(seen[0][1].as_object().is_some_and(|twins| twins.len() > 20), "handles are on the stage");
    assert_eq!(seen[0], seen[1], "every handle is where it was");
    Ok(())
}
