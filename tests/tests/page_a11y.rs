//! Nothing for axe-core to find on any screen, and the whole job by keyboard alone.

use counterpoise_tests::browser::{Browser, Keys, Outcome};
use counterpoise_tests::face::RealFace;
use counterpoise_tests::{in_both_browsers, in_both_engines};
use serde_json::json;

in_both_browsers!(axe_finds_nothing_on_any_screen);
in_both_engines!(keyboard_alone_does_the_whole_job);

async fn axe_finds_nothing_on_any_screen(browser: &Browser) -> Outcome {
    browser.ready().await?;
    for theme in ["light", "dark"] {
        browser.until_theme(theme).await?;
        for step in ["photo", "points", "hair", "poses", "shape", "check", "client", "sheet", "later"] {
            browser.step(step).await?;
            // Everything that is folded away is a screen too.
            browser.value("document.querySelectorAll('details').forEach((d) => { d.open = true })").await?;
            browser.settle().await?;
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
