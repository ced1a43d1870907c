//! The page opens in both engines, at both sizes, without a single complaint of the browser.

use counterpoise_tests::browser::{Browser, Outcome};
use counterpoise_tests::{in_both_browsers, in_both_engines, in_firefox};
use serde_json::json;

in_both_browsers!(page_opens);
in_both_engines!(licences_of_others_are_shown);
in_firefox!(page_opens, licences_of_others_are_shown);

async fn page_opens(browser: &Browser) -> Outcome {
    browser.until("return document.readyState === 'complete'").await?;
    assert_eq!(browser.client.title().await?, "Counterpoise");
    browser.shot("open").await?;
    Ok(())
}

/// Each part has its licence and a text to read; the crates that draw and read are among them.
async fn licences_of_others_are_shown(browser: &Browser) -> Outcome {
    browser.ready().await?;
    browser.click("#more").await?;
    browser.click("#licences").await?;
    browser.until("return document.querySelectorAll('.licence').length > 20").await?;
    let script = "const parts = [...document.querySelectorAll('.licence')]; \
        return [parts.map((part) => part.dataset.part), \
          parts.filter((part) => !part.querySelector('.hint').textContent || ![...part.querySelectorAll('pre')].some((text) => text.textContent.length > 200)) \
            .map((part) => part.dataset.part)]";
    let told = browser.value(script).await?;
    assert_eq!(told[1], json!([]), "parts without a licence");
    let names = told[0].to_string();
    for name in ["kurbo", "glam", "serde", "wasm-bindgen", "pdf-writer", "DejaVu Sans", "standard library"] {
        assert!(names.contains(name), "{name} is missing: {names}");
    }
    browser.click("[data-part=kurbo] summary").await?;
    browser.shot("licences").await?;
    browser.accessible("licences").await
}
