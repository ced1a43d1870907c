//! Nothing for axe-core to find on any screen, and the whole job by keyboard alone.

use counterpoise_tests::browser::{Browser, Failure, Keys, Outcome};
use counterpoise_tests::face::RealFace;
use counterpoise_tests::{in_both_browsers, in_both_engines, in_chromium, in_firefox};
use image::RgbImage;
use serde_json::json;

in_both_browsers!(axe_finds_nothing_on_any_screen);
in_both_engines!(keyboard_alone_does_the_whole_job, every_slider_says_its_value_with_its_unit);
in_chromium!(forced_colours_hide_nothing, what_moves_stands_still_where_that_is_asked);
in_firefox!(
    axe_finds_nothing_on_any_screen,
    keyboard_alone_does_the_whole_job,
    every_slider_says_its_value_with_its_unit
);

/// Least contrast of what tells the state of a control (WCAG 2.2, success criterion 1.4.11).
const CONTRAST: f64 = 3.0;

async fn axe_finds_nothing_on_any_screen(browser: &Browser) -> Outcome {
    browser.ready().await?;
    for theme in ["light", "dark"] {
        browser.until_theme(theme).await?;
        for step in ["photo", "points", "hair", "poses", "shape", "check", "client", "sheet", "later"] {
            browser.step(step).await?;
            // Everything that is folded away is a screen too.
            browser.unfold_all().await?;
            browser.accessible(&format!("{step}, {theme}")).await?;
            browser.shot(&format!("{step}-{theme}")).await?;
        }
        for way in ["way-trace", "way-shape", "way-calipers"] {
            browser.step("hair").await?;
            browser.value_with("document.getElementById(arguments[0]).click()", vec![json!(way)]).await?;
            browser.settle().await?;
            browser.accessible(&format!("{way}, {theme}")).await?;
        }
        browser.click("#more").await?;
        browser.accessible(&format!("more, {theme}")).await?;
        browser.press(&[Keys::ESCAPE]).await?;
    }
    // Without a photo, and with a problem shown.
    browser.step("photo").await?;
    browser.click("#no-photo").await?;
    browser.until("return JSON.parse(counterpoise.planJson()).photo === null").await?;
    for step in ["photo", "points", "hair", "poses", "shape", "check", "client", "sheet", "later"] {
        browser.step(step).await?;
        browser.accessible(&format!("{step} without a photo")).await?;
    }
    let file = counterpoise_tests::browser::shots_dir()?.join("words.json");
    std::fs::write(&file, "no plan at all")?;
    browser.choose_file("#open-plan", &file).await?;
    browser.message_is("refused.not_a_plan").await?;
    browser.accessible("a problem").await
}

async fn keyboard_alone_does_the_whole_job(browser: &Browser) -> Outcome {
    let Some(face) = RealFace::numbered("001_03") else { return Ok(()) };
    browser.ready().await?;
    // The file dialog is the system's; that its button is reached by Tab is ours.
    key_to_step(browser, "photo").await?;
    browser.tab_to("#open-photo").await?;
    browser.choose_file("#open-photo", &face.photo).await?;
    browser.until("return JSON.parse(counterpoise.planJson()).photo?.width_px === 1350").await?;

    key_to_step(browser, "points").await?;
    for (id, at) in face.landmarks.iter().take(8) {
        browser.tab_to(&format!("[data-landmark=\"{id}\"]")).await?;
        browser.press(&[Keys::ENTER]).await?;
        browser.tab_to("#place-point").await?;
        browser.press(&[Keys::ENTER]).await?;
        // What was placed can be moved at once.
        let focused = browser.value("return document.activeElement.dataset.id").await?;
        assert!(
            focused.as_str().is_some_and(|name| name.ends_with(id)),
            "{id} is placed, the focus on {focused}"
        );
        browser.move_landmark_by_keys(id, *at).await?;
    }
    browser.tab_to("#caliper-mm").await?;
    browser.type_text("61.5").await?;
    browser.tab_to("#add-caliper").await?;
    browser.press(&[Keys::ENTER]).await?;
    browser.until("return JSON.parse(counterpoise.planJson()).frame.calipers.length === 1").await?;

    key_to_step(browser, "hair").await?;
    browser.tab_to("#way-calipers").await?;
    browser.press(&[Keys::ENTER]).await?;
    let numbers = [
        ("front_out_mm", ["12.5", "13.5"]),
        ("bulb_bottom_mm", ["14", "14.5"]),
        ("bulb_top_mm", ["20.5", "20"]),
        ("arch_out_mm", ["37", "37.5"]),
        ("arch_top_mm", ["27.5", "25.5"]),
        ("arch_thickness_mm", ["7.5", "7"]),
        ("tail_out_mm", ["57", "56"]),
        ("tail_up_mm", ["13", "12"]),
        ("tail_thickness_mm", ["3", "3"]),
    ];
    for (index, side) in ["right", "left"].into_iter().enumerate() {
        for (name, values) in &numbers {
            browser.tab_to(&format!("[data-caliper=\"{name}\"][data-side=\"{side}\"]")).await?;
            browser.type_text(values[index]).await?;
            browser.press(&[Keys::ENTER]).await?;
        }
        browser
            .until_with(
                "return JSON.parse(counterpoise.planJson()).natural[arguments[0]]?.by === 'calipers'",
                vec![json!(side)],
            )
            .await?;
    }

    key_to_step(browser, "shape").await?;
    browser.tab_to("#start-mean").await?;
    browser.press(&[Keys::ENTER]).await?;
    browser
        .until("const p = JSON.parse(counterpoise.planJson()).planned; return Boolean(p.right && p.left)")
        .await?;
    let arch = browser.planned("left", "arch_y").await?;
    browser.tab_to("input[type=range][data-param=\"arch_y\"]").await?;
    browser.press(&[Keys::RIGHT, Keys::RIGHT, Keys::RIGHT]).await?;
    browser.settle().await?;
    assert!(browser.planned("left", "arch_y").await? > arch, "arrow keys move the slider");
    browser.press_with(Keys::CONTROL, "z").await?;
    browser.settle().await?;

    // A handle on the stage by its twin.
    let plan = browser.plan_text().await?;
    browser.tab_to("#twins [data-id*=\"arch_top\"]").await?;
    browser.press(&[Keys::UP, Keys::UP]).await?;
    browser.until_with("return counterpoise.planJson() !== arguments[0]", vec![json!(plan)]).await?;
    // The focus is seen where the handle is.
    let focused = browser.value("return document.activeElement.dataset.id").await?;
    let [_, side, handle] = focused.as_str().ok_or("a name")?.split(':').collect::<Vec<_>>()[..] else {
        return Err(format!("{focused} is no handle").into());
    };
    let (x, y) = browser.handle_on_screen(side, handle).await?;
    let (at_x, at_y) = browser.middle_of("#twins :focus").await?;
    assert!((x - at_x).hypot(y - at_y) < 1.0, "the focus is at {at_x}, {at_y}, {focused} at {x}, {y}");

    key_to_step(browser, "check").await?;
    let table = browser.shown_table("planned").await?;
    assert!(table.len() >= 10, "the report has {} rows", table.len());
    browser.tab_to("#save-plan").await?;
    browser.press(&[Keys::ENTER]).await?;
    browser.message_is("files.downloaded").await
}

/// To a step with arrow keys on the row of steps.
async fn key_to_step(browser: &Browser, step: &str) -> Outcome {
    browser.tab_to("[role=tab]").await?;
    browser.press(&[Keys::HOME]).await?;
    for _ in 0..7 {
        let at = browser.value("return document.activeElement.id").await?;
        if at == format!("step-{step}").as_str() {
            return browser.settle().await;
        }
        browser.press(&[Keys::RIGHT]).await?;
    }
    Err(format!("no step {step} by arrow keys").into())
}

/// Relative luminance of an sRGB colour (WCAG 2.2, definition of relative luminance).
fn luminance(colour: [u8; 3]) -> f64 {
    let linear = |part: u8| {
        let part = f64::from(part) / 255.0;
        if part <= 0.040_45 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
    };
    let [red, green, blue] = colour.map(linear);
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

/// Contrast ratio of two colours (WCAG 2.2, definition of contrast ratio).
fn contrast(one: [u8; 3], other: [u8; 3]) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

#[test]
fn contrast_is_that_of_the_standard() {
    assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-12);
    assert!(
        (contrast([0x77; 3], [255; 3]) - 4.48).abs() < 0.005,
        "#777 on white is known to fall short of 4.5"
    );
}

/// What is seen at a place of an element, from its left upper corner or (where negative) its right lower one, CSS px.
async fn seen(browser: &Browser, css: &str, dx: f64, dy: f64) -> Result<[u8; 3], Failure> {
    browser
        .value_with(
            "document.querySelector(arguments[0]).scrollIntoView({ block: 'center' })",
            vec![json!(css)],
        )
        .await?;
    browser.settle().await?;
    let place = "const { left, right, top, bottom } = document.querySelector(arguments[0]).getBoundingClientRect(); \
        return [arguments[1] < 0 ? right + arguments[1] : left + arguments[1], arguments[2] < 0 ? bottom + arguments[2] : top + arguments[2]]";
    let place = browser.value_with(place, vec![json!(css), json!(dx), json!(dy)]).await?;
    let picture: RgbImage = image::open(browser.shot("forced").await?)?.to_rgb8();
    let at = |value: &serde_json::Value| value.as_f64().map(|px| px.round() as u32).ok_or("no place");
    Ok(picture.get_pixel(at(&place[0])?, at(&place[1])?).0)
}

async fn forced_colours_hide_nothing(browser: &Browser) -> Outcome {
    browser.ready().await?;
    browser.step("points").await?;
    browser.click("[data-landmark=\"pupil.right\"]").await?;
    browser.click("#remove-point").await?;
    browser.until("return document.querySelector('.point[data-state=missing]') !== null").await?;
    for scheme in ["light", "dark"] {
        let features = json!({ "features": [
            { "name": "forced-colors", "value": "active" },
            { "name": "prefers-color-scheme", "value": scheme },
        ] });
        browser.devtools("Emulation.setEmulatedMedia", features).await?;
        browser.step("shape").await?;
        let slider = "input[type=range][data-param=\"front_x\"]";
        let pairs = [
            (
                "a slider's way",
                seen(browser, slider, 3.0, 22.0).await?,
                seen(browser, slider, 3.0, 8.0).await?,
            ),
            (
                "what is chosen",
                seen(browser, "#side-both", 8.0, 8.0).await?,
                seen(browser, "#side-right", 8.0, 8.0).await?,
            ),
        ];
        browser.step("points").await?;
        browser.click("[data-landmark=\"pupil.left\"]").await?;
        let placed =
            seen(browser, ".point[data-state=placed][aria-pressed=false] .point-mark", 7.0, 7.0).await?;
        let missing = seen(browser, ".point[data-state=missing] .point-mark", 7.0, 7.0).await?;
        browser.step("photo").await?;
        let on = seen(browser, "input:checked + .track", 6.0, 6.0).await?;
        let off = seen(browser, "input:not(:checked) + .track", -8.0, 6.0).await?;
        let knob = seen(browser, "input:checked + .track", -10.0, 14.0).await?;
        let more = [
            ("a point that is there", placed, missing),
            ("a switch", on, off),
            ("a switch's knob", on, knob),
        ];
        for (what, one, other) in pairs.into_iter().chain(more) {
            let ratio = contrast(one, other);
            assert!(ratio >= CONTRAST, "{scheme}: {what} is {one:?} beside {other:?}, {ratio:.2} : 1");
        }
        for step in ["photo", "points", "hair", "shape", "balance", "check", "client", "sheet"] {
            browser.step(step).await?;
            browser.shot(&format!("forced-{scheme}-{step}")).await?;
        }
    }
    Ok(())
}

async fn what_moves_stands_still_where_that_is_asked(browser: &Browser) -> Outcome {
    let motion = |wish: &str| json!({ "features": [{ "name": "prefers-reduced-motion", "value": wish }] });
    browser.devtools("Emulation.setEmulatedMedia", motion("no-preference")).await?;
    browser.ready().await?;
    // What moves when a message comes, a dialog, a step, a fold.
    let moving = "const seen = new Set(); const look = () => document.getAnimations().forEach((each) => seen.add(each.animationName ?? each.transitionProperty)); \
        const frame = () => new Promise((done) => requestAnimationFrame(done)); const done = arguments[0]; (async () => { \
        const number = document.querySelector('[data-number=\"front_x\"]'); number.value = 'x'; number.dispatchEvent(new Event('change')); \
        for (const css of ['#message-close', '#step-photo', '#step-shape', 'summary', '#more', '#dialog .message-close', '#zoom-in', '#zoom-fit']) { \
          for (let i = 0; i < 2; i += 1) { await frame(); look(); } document.querySelector(css)?.click(); for (let i = 0; i < 4; i += 1) { await frame(); look(); } } done([...seen]); })()";
    browser.step("shape").await?;
    let usual = browser.value_later(moving, Vec::new()).await?;
    assert!(
        usual.as_array().is_some_and(|names| names.contains(&json!("rise"))),
        "a message moves in: {usual}"
    );
    browser.devtools("Emulation.setEmulatedMedia", motion("reduce")).await?;
    browser.open_anew("").await?;
    browser.ready().await?;
    browser.step("shape").await?;
    assert_eq!(browser.value_later(moving, Vec::new()).await?, json!([]), "nothing moves");
    Ok(())
}

async fn every_slider_says_its_value_with_its_unit(browser: &Browser) -> Outcome {
    browser.ready().await?;
    let mut sliders = 0;
    for step in ["photo", "poses", "shape", "balance", "client", "sheet"] {
        browser.step(step).await?;
        browser.unfold_all().await?;
        let said = "return [...document.querySelectorAll('.panel input[type=range]')].filter((slider) => slider.checkVisibility()).map((slider) => [ \
            slider.labels?.[0]?.textContent || slider.getAttribute('aria-label'), slider.getAttribute('aria-valuetext'), \
            slider.closest('.slider')?.querySelector('.number input')?.value ?? null, slider.closest('.slider')?.querySelector('.number .unit')?.textContent ?? ''])";
        for slider in browser.value(said).await?.as_array().ok_or("no sliders")? {
            sliders += 1;
            let (name, said) =
                (slider[0].as_str().unwrap_or_default(), slider[1].as_str().unwrap_or_default());
            assert!(!name.trim().is_empty(), "{step}: {slider} has no name");
            assert!(said.chars().any(|sign| sign.is_ascii_digit()), "{step}: {slider} says no value");
            if let Some(shown) = slider[2].as_str() {
                let unit = slider[3].as_str().unwrap_or_default();
                assert!(
                    said.starts_with(shown) && said.ends_with(unit),
                    "{step}: {slider} says something else"
                );
            }
        }
    }
    assert!(sliders > 20, "{sliders} sliders");
    // What she drags says which way and how far.
    browser.step("client").await?;
    browser.turn_to_client().await?;
    browser.value("document.getElementById('wish-arch').focus()").await?;
    let said =
        "return document.getElementById('wish-arch').getAttribute('aria-valuetext').replace('\u{a0}', ' ')";
    assert_eq!(browser.value(said).await?, "0 %");
    browser.press(&[Keys::RIGHT; 5]).await?;
    assert_eq!(browser.value(said).await?, "higher: 10 %");
    browser.press(&[Keys::LEFT; 10]).await?;
    assert_eq!(browser.value(said).await?, "flatter: 10 %");
    Ok(())
}
