//! The page in another language: chosen in it, all of it, with its numbers, and the same plan as before.

use std::collections::BTreeMap;
use std::path::Path;

use counterpoise_tests::browser::{Browser, Failure, Outcome, STEPS, words_of};
use counterpoise_tests::{in_both_browsers, in_both_engines, in_firefox};
use serde_json::json;

in_both_browsers!(every_step_is_in_the_language_and_fits);
in_both_engines!(language_is_chosen_kept_and_asked_for, language_waits_where_work_cannot_be_stored);
in_firefox!(every_step_is_in_the_language_and_fits, language_is_chosen_kept_and_asked_for);

/// The languages besides English.
const OTHERS: [&str; 4] = ["de", "es", "pl", "ar"];
/// The choice under More.
const CHOICE: &str = "[data-setting=\"language\"]";
/// A number of the shape step.
const FRONT: &str = "[data-number=\"front_x\"]";

/// English texts by key that are said in other words in this language.
fn english_that_differs(language: &str) -> Result<Vec<String>, Failure> {
    let texts = |name: &str| -> Result<BTreeMap<String, String>, Failure> {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../www/messages/{name}.json"));
        Ok(serde_json::from_str(&std::fs::read_to_string(path)?)?)
    };
    let other = texts(language)?;
    // A text of one language may be another text's translation: "Balance" is not.
    let said: std::collections::BTreeSet<&String> = other.values().collect();
    Ok(texts("en")?
        .into_values()
        .filter(|text| !said.contains(text) && !text.contains('{') && text.chars().any(char::is_alphabetic))
        .collect())
}

/// The sign before the decimals, in a language's own way.
fn decimal_sign(language: &str) -> &'static str {
    if language == "ar" { "." } else { "," }
}

/// A shown number without the marks of direction around it (Unicode UAX 9).
fn bare(shown: &str) -> String {
    shown.replace(['\u{2066}', '\u{2068}', '\u{2069}', '\u{200e}'], "")
}

async fn is_in(browser: &Browser, language: &str) -> Outcome {
    let script = "return document.documentElement.lang === arguments[0] && document.documentElement.dataset.ready === 'true'";
    browser.until_with(script, vec![json!(language)]).await
}

async fn choose(browser: &Browser, language: &str) -> Outcome {
    browser.click("#more").await?;
    browser.choose_option(CHOICE, language).await
}

async fn every_step_is_in_the_language_and_fits(browser: &Browser) -> Outcome {
    browser.ready().await?;
    browser.step("check").await?;
    let before = browser.shown_table("planned").await?;
    for language in OTHERS {
        choose(browser, language).await?;
        is_in(browser, language).await?;
        let english = json!(english_that_differs(language)?);
        for step in STEPS {
            browser.step(step).await?;
            browser.unfold_all().await?;
            // What is read, and what is said: names, titles and hints of every element.
            let left = "const english = new Set(arguments[0]); const found = new Set(); \
                const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT | NodeFilter.SHOW_ELEMENT); \
                for (let node = walk.nextNode(); node; node = walk.nextNode()) { \
                  const said = node.nodeType === 3 ? [node.data] : ['aria-label', 'title', 'placeholder', 'aria-valuetext'].map((name) => node.getAttribute(name) ?? ''); \
                  for (const text of said) if (english.has(text.trim())) found.add(text.trim()); } \
                return [...found]";
            let left = browser.value_with(left, vec![english.clone()]).await?;
            assert_eq!(left, json!([]), "{language}: {step} is left in English");
            // No word is cut off: buttons, tabs, names of controls.
            browser.words_fit(&format!("{language}: {step}")).await?;
            let wide = "const panel = document.getElementById('panel'); const body = panel.querySelector('.panel-body:not([hidden])'); \
                return panel.scrollWidth <= panel.clientWidth && body.scrollWidth <= body.clientWidth && document.getElementById('steps').scrollWidth <= panel.clientWidth";
            assert_eq!(browser.value(wide).await?, true, "{language}: {step} is too wide");
            browser.shot(&format!("{language}-{step}")).await?;
        }
        browser.accessible(language).await?;
        // The same numbers, digit for digit, in the language's signs.
        browser.step("check").await?;
        let after = browser.shown_table("planned").await?;
        assert_eq!(before.len(), after.len());
        let mut with_decimals = 0;
        for (measure, columns) in &before {
            for (column, cell) in columns.as_object().ok_or("no columns")? {
                let (plain, shown) = (cell["value"].as_str(), after[measure][column]["value"].as_str());
                let (plain, shown) = (plain.ok_or("no value")?, shown.ok_or("no value")?);
                with_decimals += usize::from(plain.contains('.'));
                assert_eq!(bare(shown), plain.replace('.', decimal_sign(language)), "{measure} {column}");
            }
        }
        assert!(with_decimals > 20, "{with_decimals} numbers have decimals");
        choose(browser, "en").await?;
        is_in(browser, "en").await?;
    }
    Ok(())
}

async fn language_is_chosen_kept_and_asked_for(browser: &Browser) -> Outcome {
    browser.begin_case("Birke").await?;
    let plan = browser.plan_text().await?;
    choose(browser, "de").await?;
    is_in(browser, "de").await?;
    assert_eq!(browser.plan_text().await?, plan, "the case is there as it was");
    assert_eq!(browser.text("#undo").await?, "Zurück");
    // Kept for the next visit; an address may ask for another one, and what is chosen then counts more.
    browser.open_anew("").await?;
    is_in(browser, "de").await?;
    browser.open_anew("#language=en").await?;
    is_in(browser, "en").await?;
    choose(browser, "de").await?;
    is_in(browser, "de").await?;

    // A comma, a point and the digits of other keyboards are one number, and it comes back in the page's own signs.
    browser.click("#more").await?;
    browser.click("#demo-case").await?;
    browser.step("shape").await?;
    let front = "return JSON.parse(counterpoise.planJson()).planned.right.front_x";
    for (typed, value, shown) in
        [("9,4", 9.4, "9,4"), ("9.2", 9.2, "9,2"), ("٩٫٥", 9.5, "9,5"), ("۹٫۳", 9.3, "9,3")]
    {
        browser.fill(FRONT, typed).await?;
        browser.until(&format!("{front} === {value}")).await?;
        let field = browser.value(&format!("return document.querySelector('{FRONT}').value")).await?;
        assert_eq!(field, shown, "{typed}");
    }
    let spoken = "return document.querySelector('input[type=range][data-param=\"front_x\"]').getAttribute('aria-valuetext')";
    assert_eq!(browser.value(spoken).await?, "9,3\u{a0}mm");
    browser.fill(FRONT, "9,3,1").await?;
    browser.message_says("bitte eine Zahl eingeben").await?;
    Ok(())
}

async fn language_waits_where_work_cannot_be_stored(browser: &Browser) -> Outcome {
    browser.begin_case("Erle").await?;
    browser
        .value("IDBObjectStore.prototype.put = () => { throw new DOMException('', 'QuotaExceededError'); }")
        .await?;
    browser.fill("#case-label", "Esche").await?;
    browser.message_says(&words_of("storage.QuotaExceededError")?).await?;
    choose(browser, "de").await?;
    browser.message_is("more.language_waits").await?;
    assert_eq!(browser.value("return document.documentElement.lang").await?, "en");
    browser.open_anew("").await?;
    is_in(browser, "de").await?;
    Ok(())
}
