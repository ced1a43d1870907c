//! Nothing leaves: a whole run asks for nothing elsewhere, and what would leave is stopped, in the page as in the one file.

use counterpoise_tests::browser::{Browser, Keys, Outcome, STEPS, Site, packed_dir, releases_dir};
use counterpoise_tests::{in_both_engines, in_firefox};
use serde_json::json;

in_both_engines!(a_whole_run_asks_for_nothing_elsewhere, what_would_leave_is_stopped);
in_firefox!(a_whole_run_asks_for_nothing_elsewhere);

async fn open(browser: &Browser, address: &str) -> Outcome {
    browser.client.goto(address).await?;
    browser.ready().await?;
    browser.value("performance.setResourceTimingBufferSize(5000); window.stopped = []; addEventListener('securitypolicyviolation', ({ effectiveDirective, blockedURI }) => stopped.push([effectiveDirective, blockedURI]))").await?;
    Ok(())
}

async fn a_whole_run_asks_for_nothing_elsewhere(browser: &Browser) -> Outcome {
    let site = Site::start(releases_dir().join("one"))?;
    open(browser, &site.address()).await?;
    browser.watch_files().await?;
    for step in STEPS {
        browser.step(step).await?;
        browser.settle().await?;
    }
    browser.step("balance").await?;
    browser.until("return document.querySelectorAll('#panel-balance svg path').length > 3").await?;
    browser.step("sheet").await?;
    assert!(browser.file_of("#sheet-pdf").await?.starts_with(b"%PDF"));
    browser.file_of("#save-plan").await?;
    browser.file_of("#export-svg").await?;
    browser.file_of("#export-png").await?;
    browser.step("points").await?;
    browser.click("#find-points").await?;
    browser.until("return document.getElementById('said-points').textContent !== '' || document.querySelectorAll('#drafts-points li').length > 3").await?;
    browser.click("#book-open").await?;
    browser.until("return Boolean(document.getElementById('book-find'))").await?;
    browser.click("#book-close").await?;
    browser.click("#more").await?;
    browser.click("#share").await?;
    browser.until("return Boolean(document.getElementById('share-link')?.value)").await?;
    browser.press(&[Keys::ESCAPE]).await?;
    browser.click("#more").await?;
    browser.click("#teaching").await?;
    browser.until("return document.querySelectorAll('.course-row').length === 6").await?;
    browser.click(".course-row[data-kind=lesson][data-id=low-brow]").await?;
    browser.until("return Boolean(document.getElementById('lesson-next'))").await?;
    browser.click("#lesson-next").await?;

    // What the engine itself noted of every request of the page.
    let elsewhere = "return performance.getEntries().filter(({ entryType }) => entryType === 'resource' || entryType === 'navigation').map(({ name }) => name) \
                     .filter((name) => !name.startsWith(location.origin + '/') && !/^(blob|data):/.test(name))";
    assert_eq!(browser.value(elsewhere).await?, json!([]));
    let count = browser.value("return performance.getEntriesByType('resource').length").await?;
    assert!(count.as_u64() > Some(40), "only {count} requests were noted");
    // It did not try, either: nothing had to be stopped. And its own server was asked for files of the release alone, without a question in the address.
    assert_eq!(browser.value("return stopped").await?, json!([]));
    let files = std::fs::read_to_string(releases_dir().join("one/sw.js"))?;
    for path in site.asked() {
        let known =
            files.contains(&format!("[\"{path}\"")) || ["sw.js", "favicon.ico"].contains(&path.as_str());
        assert!(known, "asked for {path}");
    }
    Ok(())
}

async fn what_would_leave_is_stopped(browser: &Browser) -> Outcome {
    let site = Site::start(releases_dir().join("one"))?;
    let file = Site::start(packed_dir())?;
    let other = Site::start(releases_dir().join("one"))?;
    for address in [site.address(), format!("{}counterpoise.html", file.address())] {
        open(browser, &address).await?;
        let ways = "const [to, done] = arguments; const tried = []; \
            const way = async (name, act) => { try { await act(); tried.push(name); } catch {} }; \
            (async () => { \
              await way('fetch', () => fetch(to + 'fetch', { mode: 'no-cors' })); \
              await way('post', () => fetch(to + 'post', { method: 'POST', mode: 'no-cors', body: counterpoise.planJson() })); \
              await way('image', () => new Promise((yes, no) => { const image = new Image(); image.onload = yes; image.onerror = no; image.src = to + 'image'; })); \
              await way('script', () => new Promise((yes, no) => { const script = document.createElement('script'); script.onload = yes; script.onerror = no; script.src = to + 'script.js'; document.head.append(script); })); \
              await way('style', () => new Promise((yes, no) => { const link = document.createElement('link'); link.rel = 'stylesheet'; link.onload = yes; link.onerror = no; link.href = to + 'style.css'; document.head.append(link); })); \
              await way('frame', () => new Promise((yes, no) => { const frame = document.createElement('iframe'); frame.src = to + 'frame'; frame.onload = () => (frame.contentDocument === null ? no() : no()); document.body.append(frame); setTimeout(no, 500); })); \
              await way('events', () => new Promise((yes, no) => { const events = new EventSource(to + 'events'); events.onopen = yes; events.onerror = no; })); \
              await way('socket', () => new Promise((yes, no) => { const socket = new WebSocket(to.replace('http', 'ws') + 'socket'); socket.onopen = yes; socket.onerror = no; })); \
              try { navigator.sendBeacon(to + 'beacon', 'x'); } catch {} \
              await way('form', () => new Promise((yes, no) => { const form = document.createElement('form'); form.action = to + 'form'; form.method = 'post'; document.body.append(form); form.submit(); setTimeout(no, 300); })); \
              await way('inline', () => { const script = document.createElement('script'); script.textContent = 'window.ranInline = true'; document.head.append(script); if (!window.ranInline) throw 0; }); \
              await way('markup', () => { document.body.insertAdjacentHTML('beforeend', '<p id=slipped></p>'); if (!window.trustedTypes) { document.getElementById('slipped').remove(); throw 0; } }); \
              await way('worker', () => { new Worker(URL.createObjectURL(new Blob(['']))); if (!window.trustedTypes) throw 0; }); \
              done(tried); \
            })()";
        let tried = browser.value_later(ways, vec![json!(other.address())]).await?;
        assert_eq!(tried, json!([]), "{address}");
        browser.pause(300).await;
        assert_eq!(other.asked(), Vec::<String>::new(), "{address}");
        let stopped = browser.value("return stopped.map(([directive]) => directive)").await?;
        for directive in ["connect-src", "img-src", "style-src-elem", "form-action"] {
            let is_told = stopped.as_array().is_some_and(|list| {
                list.iter().any(|each| each.as_str().is_some_and(|told| directive.starts_with(told)))
            });
            assert!(is_told, "{address}: {directive} not among {stopped}");
        }
        // Where the browser has Trusted Types, an address is stopped before it is one of a script.
        let told = stopped.to_string();
        assert!(told.contains("script-src") || told.contains("trusted-types"), "{address}: {told}");
        browser.client.goto("about:blank").await?;
    }
    browser
        .expect_errors(&[
            "Trusted",
            "Content Security Policy",
            "Content-Security-Policy",
            "Refused",
            "violates",
            "favicon",
        ])
        .await
}
