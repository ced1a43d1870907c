//! The page opens in both engines, at both sizes, without a single complaint of the browser.

use counterpoise_tests::browser::{Browser, Outcome};
use counterpoise_tests::in_both_browsers;

in_both_browsers!(page_opens);

async fn page_opens(browser: &Browser) -> Outcome {
    browser.until("return document.readyState === 'complete'").await?;
    assert_eq!(browser.client.title().await?, "Counterpoise");
    browser.shot("open").await?;
    Ok(())
}
