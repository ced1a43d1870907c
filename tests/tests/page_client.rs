//! The tablet in the client's hands: what she can move, what she cannot reach, and the way back.

use counterpoise_tests::browser::{Browser, Failure, Outcome};
use counterpoise_tests::{in_both_browsers, in_both_engines, in_firefox};

in_both_browsers!(axe_finds_nothing_in_the_clients_view);
in_both_engines!(client_moves_what_the_artist_lets_her, yes_asks_for_advice_and_clears_nobody);
in_firefox!(client_moves_what_the_artist_lets_her);

/// Longer than the way back has to be held, ms.
const HELD_MS: u64 = 1700;
const LENGTH_LIMIT: &str = "input[data-client=\"client-length_mm\"]";
const RIGHT: &str = "\u{E014}";

async fn client_moves_what_the_artist_lets_her(browser: &Browser) -> Outcome {
    browser.ready().await?;
    let arch = |plan: &serde_json::Value| plan["planned"]["right"]["arch_y"].as_f64().unwrap_or(f64::NAN);
    let own = arch(&browser.plan().await?);
    browser.step("client").await?;
    // The length is not hers to change.
    browser.unfold(LENGTH_LIMIT).await?;
    let limit = format!(
        "const range = document.querySelector('{LENGTH_LIMIT}'); range.value = 0; \
                         for (const type of ['input', 'change']) range.dispatchEvent(new Event(type, {{ bubbles: true }}));"
    );
    browser.value(&limit).await?;
    browser.until("return JSON.parse(counterpoise.planJson()).client.length_mm === 0").await?;
    let start = browser.plan_text().await?;
    open(browser).await?;
    assert_eq!(browser.plan_text().await?, start, "looking changes nothing");
    let sliders =
        "return [...document.querySelectorAll('[data-wish]')].map((range) => range.dataset.wish).join(' ')";
    assert_eq!(browser.value(sliders).await?, "fullness arch softness evenness");

    // Nothing else is in reach: neither by finger nor by key.
    let locked = "return ['.bar', '#panel', '#live'].every((css) => { const node = document.querySelector(css); \
                  return node.inert && node.getClientRects().length === 0; })";
    assert_eq!(browser.value(locked).await?, true);
    let mirrored = browser.value("return document.getElementById('view-mirror').ariaPressed").await?;
    assert_eq!(mirrored, "true", "as in a mirror");

    // A drag is one change, within the artist's limit of 1 mm.
    browser.value("document.getElementById('wish-arch').focus()").await?;
    browser.press(&[RIGHT; 10]).await?;
    browser.settle().await?;
    let raised = arch(&browser.plan().await?) - own;
    assert!(raised > 0.1 && raised <= 1.0 + 1e-9, "{raised}");
    let price = browser.text("#client-price").await?;
    let report = browser.value("return counterpoise.report()").await?;
    for side in ["right", "left"] {
        let pct = report["areas"][side]["removed_pct"].as_f64().ok_or("no areas")?;
        assert!(price.contains(&format!("{side} {pct:.1} %")), "{price}: {pct}");
    }
    let raised_plan = browser.plan_text().await?;
    browser.press_with("\u{E009}", "z").await?;
    assert_eq!(browser.plan_text().await?, raised_plan, "undo is the artist's");

    // The far end of a slider: it comes to rest where the outlines are, and says so.
    browser.press(&["\u{E010}"]).await?;
    browser.settle().await?;
    let (plan, at) = (
        browser.plan().await?,
        browser.value("return Number(document.getElementById('wish-arch').value)").await?,
    );
    let at = at.as_f64().ok_or("no value")?;
    assert!((arch(&plan) - own - at).abs() < 0.021, "{at} for {}", arch(&plan) - own);
    if at < 0.95 {
        browser.shows("#client-as-far", "client.as_far").await?;
    }

    // Held, the button shows her brows as they are; let go, the preview is there again.
    let with = browser.shot("with").await?;
    browser.hold("#client-before").await?;
    let without = browser.shot("without").await?;
    browser.let_go("#client-before", 0).await?;
    assert_ne!(std::fs::read(&with)?, std::fs::read(without)?);
    browser.click("#client-healed").await?;
    browser.settle().await?;
    browser.shot("healed").await?;

    // Back to the start is her own undo; the way back has to be held.
    browser.click("#client-reset").await?;
    browser
        .until(&format!("return JSON.parse(counterpoise.planJson()).planned.right.arch_y === {own}"))
        .await?;
    browser.click("#client-back").await?;
    assert_eq!(
        browser.value("return document.documentElement.dataset.view").await?,
        "client",
        "a tap does not lead back"
    );
    close(browser).await?;
    let open_again = "return ['.bar', '#panel'].every((css) => !document.querySelector(css).inert) \
                      && document.getElementById('client').hidden";
    assert_eq!(browser.value(open_again).await?, true);
    let mirrored = browser.value("return document.getElementById('view-mirror').ariaPressed").await?;
    assert_eq!(mirrored, "false", "the artist's view is as it was");
    Ok(())
}

async fn yes_asks_for_advice_and_clears_nobody(browser: &Browser) -> Outcome {
    browser.ready().await?;
    browser.step("client").await?;
    let all = browser.value("return document.querySelectorAll('[data-caution]').length").await?;
    assert!(all.as_u64() >= Some(15), "{all}");
    let advice = "return !document.querySelector('[data-caution=\"bleeding\"] .warn').hidden";
    assert_eq!(browser.value(advice).await?, false);
    browser.click("#asked-pregnancy-no").await?;
    browser.click("#asked-bleeding-yes").await?;
    browser.until(advice).await?;
    let count = browser.text("#asked-count").await?;
    assert!(count.contains(&format!("2 of {all} asked")) && count.contains("1 answered yes"), "{count}");
    browser.fill("#asked-note", "She asks her doctor on Monday.").await?;
    browser.until("return JSON.parse(counterpoise.planJson()).cautions.note.length > 0").await?;
    let kept = browser.plan_text().await?;
    browser.click("#asked-bleeding-open").await?;
    browser.until(&format!("return !({})", advice.trim_start_matches("return "))).await?;
    browser.click("#undo").await?;
    assert_eq!(browser.plan_text().await?, kept, "an answer is one step of undo");
    browser.kept().await?;
    browser.go("").await?;
    browser.ready().await?;
    assert_eq!(browser.plan_text().await?, kept, "the answers after reopening the page");
    Ok(())
}

async fn axe_finds_nothing_in_the_clients_view(browser: &Browser) -> Outcome {
    browser.ready().await?;
    for theme in ["light", "dark"] {
        browser.until_theme(theme).await?;
        browser.step("client").await?;
        browser.accessible(&format!("check with the client's limits, {theme}")).await?;
        open(browser).await?;
        browser.click("#client-healed").await?;
        browser.settle().await?;
        browser.accessible(&format!("client, {theme}")).await?;
        browser.shot(&format!("client-{theme}")).await?;
        close(browser).await?;
    }
    Ok(())
}

async fn open(browser: &Browser) -> Outcome {
    browser.turn_to_client().await
}

/// Holds the way back long enough.
async fn close(browser: &Browser) -> Result<(), Failure> {
    browser.hold("#client-back").await?;
    browser.pause(HELD_MS).await;
    browser.until("return document.documentElement.dataset.view !== 'client'").await?;
    browser.let_go("#stage", 0).await?;
    browser.settle().await
}
