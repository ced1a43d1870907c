//! A plan passed on as a link: made, opened elsewhere, cut, changed, too new, too large.

use std::io::Write;

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use counterpoise_plan::{open, to_json};
use counterpoise_tests::browser::{Browser, Outcome};
use counterpoise_tests::{in_both_browsers, in_both_engines, in_firefox};
use flate2::Compression;
use flate2::write::{DeflateDecoder, DeflateEncoder};
use serde_json::json;

in_both_browsers!(axe_finds_nothing_on_the_link);
in_both_engines!(a_link_opens_the_same_plan, links_that_are_not_whole_change_nothing);
in_firefox!(a_link_opens_the_same_plan);

const LINK: &str = "return document.getElementById('share-link').value";
const FROM_LINK: &str = "return /#plan=/.test(location.href) === false";

async fn show_link(browser: &Browser) -> Result<String, counterpoise_tests::browser::Failure> {
    browser.click("#more").await?;
    browser.click("#share").await?;
    browser.until("return Boolean(document.getElementById('share-link')?.value)").await?;
    Ok(browser.value(LINK).await?.as_str().unwrap_or_default().to_owned())
}

fn fragment(text: &str) -> String {
    let mut encoder = DeflateEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(text.as_bytes()).expect("memory");
    format!("#plan=1.{}", URL_SAFE_NO_PAD.encode(encoder.finish().expect("memory")))
}

/// What another implementation of RFC 1951 and RFC 4648 reads out of a link.
fn text_in(link: &str) -> String {
    let letters = link.split("#plan=1.").nth(1).expect("a link of this version");
    let deflated = URL_SAFE_NO_PAD.decode(letters).expect("base64url");
    let mut decoder = DeflateDecoder::new(Vec::new());
    decoder.write_all(&deflated).expect("deflated");
    String::from_utf8(decoder.finish().expect("whole")).expect("UTF-8")
}

async fn a_link_opens_the_same_plan(browser: &Browser) -> Outcome {
    browser.ready().await?;
    let own = open(&browser.plan_text().await?).map_err(|error| format!("{error:?}"))?;
    assert_ne!(own.case.label, "", "the demo has a name to leave out");
    let link = show_link(browser).await?;
    println!("{:?}: a link of {} letters for the demo", browser.engine, link.len());
    assert!(link.len() < 8000, "{} letters", link.len());
    assert_eq!(open(&text_in(&link)).map_err(|error| format!("{error:?}"))?, own.shareable());
    browser.click("#share-copy").await?;
    browser.until("return document.getElementById('share-said').textContent !== ''").await?;
    browser.shot("link").await?;

    // Opened elsewhere: beside what is there, without name and photo, and gone from the address.
    browser.go("").await?;
    browser.ready().await?;
    browser.click("#more").await?;
    browser.click("#new-case").await?;
    browser.until("return Object.keys(JSON.parse(counterpoise.planJson()).landmarks).length === 0").await?;
    browser
        .value_with("location.hash = arguments[0]", vec![json!(fragment(&to_json(&own.shareable())))])
        .await?;
    browser.message_is("share.opened").await?;
    browser.until(FROM_LINK).await?;
    browser.settle().await?;
    browser.shot("opened").await?;
    assert_eq!(open(&browser.plan_text().await?).map_err(|error| format!("{error:?}"))?, own.shareable());
    browser.kept().await?;
    browser.go("").await?;
    browser.ready().await?;
    assert_eq!(open(&browser.plan_text().await?).map_err(|error| format!("{error:?}"))?, own.shareable());

    // As the address that the page begins with.
    let (_, after) = link.split_once('#').ok_or("a fragment")?;
    browser.go(&format!("?from=elsewhere#{after}")).await?;
    browser.ready().await?;
    browser.message_is("share.opened").await?;
    Ok(())
}

async fn links_that_are_not_whole_change_nothing(browser: &Browser) -> Outcome {
    browser.ready().await?;
    let before = browser.plan_text().await?;
    let own = open(&before).map_err(|error| format!("{error:?}"))?;
    let whole = fragment(&to_json(&own.shareable()));
    let half = &whole[..whole.len() / 2];
    let changed = whole.replace(&whole[40..44], "AAAA");
    let large = fragment(&format!("{{\"note\": \"{}\"}}", "a".repeat(30_000_000)));
    let proto = fragment(r#"{"__proto__": {"planned": 1}, "format": "counterpoise-plan", "version": 1}"#);
    for (name, link, key) in [
        ("half", half.to_owned(), "share.cut"),
        ("one letter", "#plan=1.A".to_owned(), "share.cut"),
        ("nothing", "#plan=".to_owned(), "share.cut"),
        ("no version", whole.replace("=1.", "="), "share.cut"),
        ("no base64", "#plan=1.%00%ff\u{2665}".to_owned(), "share.cut"),
        ("two parts", format!("{whole}.more"), "share.cut"),
        ("changed", changed, "share.cut"),
        ("newer", whole.replace("=1.", "=2."), "share.newer"),
        ("deflated to nothing much", large, "share.long"),
        ("endless", format!("#plan=1.{}", "A".repeat(300_000)), "share.long"),
    ] {
        browser.value("document.getElementById('message-close').click()").await?;
        browser.value_with("location.hash = arguments[0]", vec![json!(link)]).await?;
        browser.message_is(key).await.map_err(|error| format!("{name}: {error}"))?;
        assert_eq!(browser.plan_text().await?, before, "{name}");
        browser.until(FROM_LINK).await?;
    }
    for link in [proto, fragment("no plan"), fragment(r#"{"format": "counterpoise-plan", "version": 99}"#)] {
        browser.value("document.getElementById('message-close').click()").await?;
        browser.value_with("location.hash = arguments[0]", vec![json!(link)]).await?;
        browser.until("return !document.getElementById('message').hidden && document.getElementById('message').dataset.level === 'problem'").await?;
        assert_eq!(browser.plan_text().await?, before, "{link}");
    }
    assert_eq!(browser.value("return ({}).planned === undefined").await?, true);
    Ok(())
}

async fn axe_finds_nothing_on_the_link(browser: &Browser) -> Outcome {
    browser.ready().await?;
    for theme in ["light", "dark"] {
        browser.until_theme(theme).await?;
        show_link(browser).await?;
        browser.settle().await?;
        browser.accessible(&format!("link, {theme}")).await?;
        browser.shot(&format!("link-{theme}")).await?;
        browser.press(&["\u{E00C}"]).await?;
        browser.until("return !document.getElementById('dialog').open").await?;
    }
    Ok(())
}
