//! Finger, pen and mirrored selfies.

use counterpoise_tests::browser::{Browser, Outcome, Pointer, Tool};
use counterpoise_tests::face::RealFace;
use counterpoise_tests::{in_both_engines, in_chromium};
use serde_json::json;

// Only Chromium's driver sends touches as touches and knows a pen from a mouse in all they carry.
in_chromium!(
    finger_does_the_whole_job,
    pen_does_the_whole_job,
    two_fingers_zoom_and_change_nothing,
    resting_palm_draws_nothing,
    cancelled_drag_changes_nothing
);
in_both_engines!(mirrored_selfie_swaps_the_sides, numbers_in_a_drag_are_those_of_the_drawing);

async fn finger_does_the_whole_job(browser: &Browser) -> Outcome {
    whole_job(browser, Tool::Finger).await
}

async fn pen_does_the_whole_job(browser: &Browser) -> Outcome {
    whole_job(browser, Tool::Pen).await
}

async fn whole_job(browser: &Browser, tool: Tool) -> Outcome {
    let Some(face) = RealFace::numbered("003_03") else { return Ok(()) };
    browser.ready().await?;
    browser.measure_face(tool, &face).await?;
    browser.start_outlines().await?;
    browser.click("#side-left").await?;
    let before = browser.plan_text().await?;
    let from = browser.handle_on_screen("left", "arch_top").await?;
    browser.draw(tool, &[from, (from.0, from.1 - 4.0), (from.0 + 1.0, from.1 - 8.0)]).await?;
    browser.until_with("return counterpoise.planJson() !== arguments[0]", vec![json!(before)]).await?;
    browser.step("check").await?;
    let table = browser.shown_table("planned").await?;
    assert!(table.len() >= 10, "the report has {} rows", table.len());
    browser.shot("report").await?;
    Ok(())
}

async fn two_fingers_zoom_and_change_nothing(browser: &Browser) -> Outcome {
    browser.ready().await?;
    browser.step("shape").await?;
    let plan = browser.plan_text().await?;
    let (x, y) = browser.middle_of("#stage").await?;
    let before = browser.image_px_per_css_px().await?;
    let finger = |id: &str, side: f64| {
        Pointer::new(Tool::Finger, id)
            .to((x + side * 30.0, y), 0)
            .down()
            .to((x + side * 70.0, y), 120)
            .to((x + side * 120.0, y), 120)
            .up()
    };
    browser.point(vec![finger("one", -1.0), finger("two", 1.0)]).await?;
    browser.settle().await?;
    let after = browser.image_px_per_css_px().await?;
    assert!(
        after < before / 1.5,
        "spreading two fingers zooms in: {before} to {after} px of the photo a CSS px"
    );
    assert_eq!(browser.plan_text().await?, plan, "two fingers change no plan");
    Ok(())
}

async fn resting_palm_draws_nothing(browser: &Browser) -> Outcome {
    let Some(face) = RealFace::numbered("005_03") else { return Ok(()) };
    browser.ready().await?;
    browser.open_photo(&face.photo, 1350, 1350).await?;
    browser.zoom_in(2).await?;
    browser.place_landmarks(Tool::Pen, &face.landmarks).await?;
    browser.trace(Tool::Pen, "right", &face.right_brow).await?;
    let plan = browser.plan_text().await?;
    // After the pen has touched, a hand on the screen moves the picture at most.
    let mut stroke = Vec::new();
    for &(x, y) in &face.left_brow {
        stroke.push(browser.screen_from_image(x, y).await?);
    }
    browser.draw(Tool::Finger, &stroke).await?;
    browser.settle().await?;
    assert_eq!(browser.plan_text().await?, plan, "a palm drew");
    assert!(browser.element("#pen-exit").await?.is_displayed().await?, "a way out of pen mode is shown");
    // And the way out works.
    browser.click("#pen-exit").await?;
    browser.trace(Tool::Finger, "left", &face.left_brow).await
}

async fn cancelled_drag_changes_nothing(browser: &Browser) -> Outcome {
    browser.ready().await?;
    browser.step("shape").await?;
    browser.click("#side-right").await?;
    let plan = browser.plan_text().await?;
    let from = browser.handle_on_screen("right", "arch_top").await?;
    let at = (from.0, from.1 - 10.0);
    // Escape in the middle of a drag, while the pointer is still down.
    browser.point(vec![Pointer::new(Tool::Mouse, "mouse").to(from, 0).down().to(at, 60)]).await?;
    browser.press(&[counterpoise_tests::browser::Keys::ESCAPE]).await?;
    browser.point(vec![Pointer::new(Tool::Mouse, "mouse").to((at.0, at.1 - 5.0), 60).up()]).await?;
    browser.settle().await?;
    assert_eq!(browser.plan_text().await?, plan, "a drag given up with Escape changed the plan");
    Ok(())
}

async fn mirrored_selfie_swaps_the_sides(browser: &Browser) -> Outcome {
    let Some(face) = RealFace::numbered("001_03") else { return Ok(()) };
    browser.ready().await?;
    browser.measure_face(Tool::Mouse, &face).await?;
    browser.step("check").await?;
    let straight = browser.shown_table("natural").await?;

    // The same pixels as a selfie: what was hers on the right is now hers on the left, with the same numbers.
    browser.step("photo").await?;
    browser.click("label[for=mirrored]").await?;
    browser.until("return JSON.parse(counterpoise.planJson()).photo.mirrored").await?;
    browser.shows("#panel-photo", "photo.right_is_right").await?;
    browser.step("check").await?;
    let mirrored = browser.shown_table("natural").await?;
    for (id, row) in &straight {
        assert_eq!(mirrored[id]["right"]["value"], row["left"]["value"], "{id}");
        assert_eq!(mirrored[id]["left"]["value"], row["right"]["value"], "{id}");
    }

    // Points are then asked for and placed on her own sides: her right pupil is on the right of the picture.
    let plan = browser.plan().await?;
    let x = |id: &str| plan["landmarks"][id]["x_px"].as_f64().ok_or("not placed");
    assert!(x("pupil.right")? > x("pupil.left")?, "in a mirrored photo her right is on the picture's right");
    let (right, left) = (
        browser.screen_from_side("right", 30.0, 25.0).await?,
        browser.screen_from_side("left", 30.0, 25.0).await?,
    );
    assert!(right.0 > left.0, "and so is everything drawn for her right: {right:?}, {left:?}");
    Ok(())
}

/// In a drag numbers and panel come behind the frame that shows it; they are those of what is shown, and of what was when it is given up.
async fn numbers_in_a_drag_are_those_of_the_drawing(browser: &Browser) -> Outcome {
    browser.ready().await?;
    browser.step("shape").await?;
    browser.click("#side-right").await?;
    browser.settle().await?;
    let shown = "const live = (name) => document.querySelector(`[data-live=${name}] dd`).textContent; \
        return [live('uneven'), live('removed'), live('added'), \
            document.querySelector('#panel-shape [data-number=arch_y]').value, \
            document.getElementById('shape-areas').textContent]";
    let before = browser.value(shown).await?;
    let kept = browser.plan_text().await?;
    let mut last = before.clone();
    for by in [8, -6, 5] {
        let script = "const range = document.querySelector('input[type=range][data-param=arch_y]'); \
            range.value = String(Number(range.value) + arguments[0] * Number(range.step)); \
            range.dispatchEvent(new Event('input', { bubbles: true })); return range.value";
        let wanted: f64 =
            browser.value_with(script, vec![json!(by)]).await?.as_str().ok_or("no value")?.parse()?;
        browser.settle().await?;
        let now = browser.value(shown).await?;
        assert_ne!(now, last, "by {by}");
        last = now.clone();
        assert_eq!(
            now[3].as_str().and_then(|typed| typed.parse().ok()),
            Some(wanted),
            "the number beside the slider"
        );
        let told = browser
            .value("return counterpoise.report().planned_symmetry.mean_distance_mm.toFixed(1)")
            .await?;
        let told = told.as_str().ok_or("no number")?;
        assert!(now[0].as_str().is_some_and(|uneven| uneven.contains(&format!("→{told}"))), "{now}: {told}");
    }
    browser
        .value(
            "document.querySelector('input[type=range][data-param=arch_y]') \
                .dispatchEvent(new KeyboardEvent('keydown', { key: 'Escape', bubbles: true }))",
        )
        .await?;
    browser.settle().await?;
    assert_eq!(browser.plan_text().await?, kept);
    assert_eq!(browser.value(shown).await?, before);
    Ok(())
}
