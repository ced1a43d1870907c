//! Pairs kept by name in the page: kept, compared, taken up again, forgotten and brought back.

use counterpoise_tests::browser::{Browser, Outcome};
use counterpoise_tests::{in_both_browsers, in_both_engines};

in_both_browsers!(axe_finds_nothing_on_the_variants);
in_both_engines!(variants_are_kept_and_compared);

async fn variants_are_kept_and_compared(browser: &Browser) -> Outcome {
    browser.ready().await?;
    keep_two(browser).await?;
    let two = browser.plan_text().await?;

    // Compared by a held button and by a wipe; the plan stays as it is.
    browser.choose_option("#variant-other", "as measured").await?;
    let alone = browser.shot("alone").await?;
    browser.hold("#variant-flick").await?;
    let other = browser.shot("other").await?;
    browser.let_go("#variant-flick", 0).await?;
    assert_ne!(std::fs::read(&alone)?, std::fs::read(&other)?);
    browser.value("document.getElementById('variant-wipe').focus()").await?;
    browser.press(&["\u{E012}"; 50]).await?;
    browser.settle().await?;
    let half = browser.shot("half").await?;
    assert_ne!(std::fs::read(&half)?, std::fs::read(&other)?);
    browser.click("#variant-wipe-off").await?;
    browser.settle().await?;
    assert_eq!(browser.plan_text().await?, two, "comparing changes nothing");

    // Taken up, copied, renamed, forgotten; and each is one step of undo.
    let before = browser.plan().await?["planned"].clone();
    browser.click("[data-variant=\"as measured\"] [data-act=\"take\"]").await?;
    browser.until("return counterpoise.planJson() !== ''").await?;
    assert_ne!(browser.plan().await?["planned"], before);
    browser.shows("[data-variant=\"as measured\"]", "variants.taken").await?;
    browser.click("[data-variant=\"as measured\"] [data-act=\"copy\"]").await?;
    let names =
        "return [...document.querySelectorAll('[data-variant]')].map((row) => row.dataset.variant).join('|')";
    browser
        .until(&format!("{names} === 'as measured|as measured, copy|Variant 1'"))
        .await
        .or(Err("no copy"))?;
    browser.fill("[data-variant=\"Variant 1\"] input", "higher").await?;
    browser.until("return document.querySelector('[data-variant=\"higher\"]') !== null").await?;
    browser.click("[data-variant=\"as measured, copy\"] [data-act=\"forget\"]").await?;
    browser.until("return document.querySelectorAll('[data-variant]').length === 2").await?;
    browser.click("#undo").await?;
    browser.until("return document.querySelectorAll('[data-variant]').length === 3").await?;

    // A name that is there already is refused, and the field goes back.
    browser.fill("[data-variant=\"higher\"] input", "as measured").await?;
    browser.message_is("refused.name_taken").await?;

    let plan = browser.plan_text().await?;
    browser.kept().await?;
    browser.go("").await?;
    browser.ready().await?;
    assert_eq!(browser.plan_text().await?, plan, "the variants after reopening the page");
    Ok(())
}

async fn axe_finds_nothing_on_the_variants(browser: &Browser) -> Outcome {
    browser.ready().await?;
    for theme in ["light", "dark"] {
        browser.until_theme(theme).await?;
        browser.step("client").await?;
        if theme == "light" {
            keep_two(browser).await?;
        }
        browser.value("document.getElementById('variants').scrollIntoView({ block: 'center' })").await?;
        browser.accessible(&format!("variants, {theme}")).await?;
        browser.shot(&format!("variants-{theme}")).await?;
    }
    Ok(())
}

/// Keeps the demo's pair, and one with higher arches that is then in work.
async fn keep_two(browser: &Browser) -> Outcome {
    browser.step("client").await?;
    browser.fill("#variant-name", "as measured").await?;
    browser.click("#variant-keep").await?;
    browser.until("return document.querySelectorAll('[data-variant]').length === 1").await?;
    browser.step("shape").await?;
    browser.tab_to("input[type=range][data-param=\"arch_y\"]").await?;
    browser.press(&["\u{E014}"; 6]).await?;
    browser.step("client").await?;
    browser.click("#variant-keep").await?;
    browser.until("return document.querySelectorAll('[data-variant]').length === 2").await
}
