//! Without a network: the page is kept whole, mends itself, and takes a newer release when a person says so, after her work is saved.

use counterpoise_tests::browser::{Browser, Engine, Failure, Keys, Outcome, Site, releases_dir};
use counterpoise_tests::{in_both_engines, in_firefox};
use serde_json::{Value, json};

in_both_engines!(
    a_whole_job_is_done_with_the_server_gone,
    a_newer_release_waits_for_a_tap_and_the_work_stays,
    lost_and_changed_files_mend_themselves_or_say_what_to_do,
    a_release_can_be_installed
);
in_firefox!(a_whole_job_is_done_with_the_server_gone, a_newer_release_waits_for_a_tap_and_the_work_stays);

async fn open(browser: &Browser, site: &Site, below: &str) -> Outcome {
    browser.client.goto("about:blank").await?;
    browser.client.goto(&format!("{}{below}", site.address())).await?;
    browser.ready().await
}

async fn kept(browser: &Browser) -> Outcome {
    browser.until("return counterpoise.offline() === 'ready'").await?;
    browser.until("return navigator.serviceWorker.controller !== null").await
}

async fn release(browser: &Browser) -> Result<String, Failure> {
    let found = browser.value("return document.documentElement.dataset.release").await?;
    Ok(found.as_str().unwrap_or_default().to_owned())
}

/// What a promise comes to.
async fn later(browser: &Browser, body: &str) -> Result<Value, Failure> {
    let script = format!(
        "const done = arguments[arguments.length - 1]; (async () => {{ {body} }})().then(done, (error) => done(String(error)))"
    );
    browser.value_later(&script, Vec::new()).await
}

/// The driver's page of errors where there is no server.
const WITHOUT_SERVER: [&str; 5] =
    ["sw.js", "ERR_CONNECTION_REFUSED", "Failed to load resource", "MIME", "ServiceWorker"];

async fn a_whole_job_is_done_with_the_server_gone(browser: &Browser) -> Outcome {
    let mut site = Site::start(releases_dir().join("one"))?;
    // Hosts that tell the wrong type of WebAssembly are no hindrance.
    site.tell_of_wasm("text/plain");
    open(browser, &site, "").await?;
    kept(browser).await?;
    browser.click("#more").await?;
    browser.shows("#offline-state", "offline.ready").await?;
    browser.press(&[Keys::ESCAPE]).await?;
    // Every file of the list is kept.
    let list = std::fs::read_to_string(releases_dir().join("one/sw.js"))?;
    let wanted = list.split("[\"").count() - 1;
    let count = later(
        browser,
        "const [name] = await caches.keys(); return (await (await caches.open(name)).keys()).length",
    );
    assert_eq!(count.await?, json!(wanted));
    assert!(wanted > 90, "{wanted}");

    site.end();
    for below in ["", "index.html", "?from=elsewhere"] {
        open(browser, &site, below).await?;
    }
    // The parts that come later, too: a curve, a sheet, the book, photo assist, a lesson.
    browser.step("balance").await?;
    browser.until("return document.querySelectorAll('#panel-balance svg path').length > 3").await?;
    browser.watch_files().await?;
    browser.step("sheet").await?;
    assert!(browser.file_of("#sheet-pdf").await?.starts_with(b"%PDF"));
    browser.click("#book-open").await?;
    browser.until("return Boolean(document.getElementById('book-find'))").await?;
    browser.click("#book-close").await?;
    browser.step("points").await?;
    browser.click("#find-points").await?;
    let said = "return document.querySelectorAll('#drafts-points li').length > 3 || document.getElementById('said-points').textContent";
    browser.until(&format!("{said} !== ''")).await?;
    browser.shot("offline-points").await?;
    let missing = counterpoise_tests::browser::words_of("find.missing")?;
    assert_ne!(browser.text("#said-points").await?, missing, "the face network is not kept");
    open(browser, &site, "#case=low-brow&mode=demonstration").await?;
    browser.until("return Boolean(document.getElementById('lesson-next'))").await?;
    browser.click("#lesson-next").await?;
    browser.shot("offline-lesson").await?;
    browser.click("#course-leave").await?;

    // And what is done without it is there afterwards.
    browser.click("#more").await?;
    browser.click("#new-case").await?;
    browser.step("photo").await?;
    browser.fill("#case-label", "Away").await?;
    browser.kept().await?;
    open(browser, &site, "").await?;
    assert_eq!(browser.plan().await?["case"]["label"], "Away");
    browser.expect_errors(&WITHOUT_SERVER).await
}

async fn a_newer_release_waits_for_a_tap_and_the_work_stays(browser: &Browser) -> Outcome {
    let site = Site::start(releases_dir().join("one"))?;
    open(browser, &site, "").await?;
    kept(browser).await?;
    let first = release(browser).await?;
    site.hand(releases_dir().join("two"));
    // Opened again it is the same release still, which has found the newer one.
    open(browser, &site, "").await?;
    assert_eq!(release(browser).await?, first);
    browser.message_is("offline.newer").await?;
    browser.shot("newer").await?;
    // Putting it off loses nothing: it waits behind the button of the dialog.
    browser.click("#message-close").await?;
    browser.click("#more").await?;
    browser.click("#new-case").await?;
    browser.step("photo").await?;
    browser.fill("#case-label", "Just now").await?;
    browser.value("window.isOld = true").await?;
    browser.click("#more").await?;
    browser.click("#offline-take").await?;
    browser
        .until("return window.isOld === undefined && document.documentElement.dataset.ready === 'true'")
        .await?;
    let second = release(browser).await?;
    assert_ne!(second, first);
    assert_eq!(browser.plan().await?["case"]["label"], "Just now");
    let only = "return (await caches.keys()).join()";
    assert_eq!(later(browser, only).await?, json!(format!("counterpoise-{second}")));

    // A release that is not whole on the server is never taken: the present one goes on.
    site.hand(releases_dir().join("one"));
    site.lose("messages/en.json");
    open(browser, &site, "").await?;
    let gone = "const found = await navigator.serviceWorker.getRegistration(); await found.update().catch(() => {}); return !found.waiting && !found.installing";
    for _ in 0..40 {
        if later(browser, gone).await? == json!(true) {
            break;
        }
        browser.pause(100).await;
    }
    open(browser, &site, "").await?;
    assert_eq!(release(browser).await?, second);
    browser
        .expect_errors(&["sw.js", "Failed to load resource", "404", "of this release", "ServiceWorker"])
        .await
}

async fn lost_and_changed_files_mend_themselves_or_say_what_to_do(browser: &Browser) -> Outcome {
    let mut site = Site::start(releases_dir().join("one"))?;
    open(browser, &site, "").await?;
    kept(browser).await?;
    let first = release(browser).await?;
    let cache = format!("const cache = await caches.open('counterpoise-{first}');");
    let state = async || {
        later(browser, &format!("{cache} const list = await cache.keys(); let lost = 0; for (const request of list) if ((await (await cache.match(request)).text()).startsWith('damaged')) lost += 1; return `${{list.length}} kept, ${{lost}} damaged`")).await
    };
    let before = state().await?;
    assert!(before.as_str().is_some_and(|words| words.ends_with(" 0 damaged")), "{before}");

    // Files lost, with the server there: fetched again.
    later(browser, &format!("{cache} for (const name of ['js/main.js', 'js/first.js', 'pkg/counterpoise_web_bg.wasm']) await cache.delete(new URL(name, location.origin).href)")).await?;
    assert_ne!(state().await?, before);
    open(browser, &site, "").await?;
    assert_eq!(state().await?, before);
    // Files changed: a worker looks at each once in its life, and a new one looks again.
    later(browser, &format!("{cache} for (const name of ['js/first.js', 'style.css']) await cache.put(new URL(name, location.origin).href, new Response('damaged', {{ headers: {{ 'Content-Type': name.endsWith('js') ? 'text/javascript' : 'text/css' }} }}))")).await?;
    assert!(state().await?.as_str().is_some_and(|words| words.ends_with(" 2 damaged")));
    let again = "const found = await navigator.serviceWorker.getRegistration(); await found.unregister(); return true";
    later(browser, again).await?;
    open(browser, &site, "").await?;
    kept(browser).await?;
    assert_eq!(state().await?, before);

    // All of it lost, and no server: it says what to do, and the cases are still there.
    let clear = format!("{cache} for (const request of await cache.keys()) await cache.delete(request)");
    later(browser, &clear).await?;
    site.end();
    browser.client.goto("about:blank").await?;
    browser.client.goto(&site.address()).await?;
    browser.until("return document.body.textContent.includes('Connect to the network once')").await?;
    browser.shot("lost").await?;
    if browser.engine == Engine::Chromium {
        let names = "return (await indexedDB.databases()).map(({ name }) => name)";
        assert_eq!(later(browser, names).await?, json!(["counterpoise"]));
    }
    // With the server back it is as before.
    site.again()?;
    open(browser, &site, "").await?;
    assert_eq!(release(browser).await?, first);
    assert_eq!(state().await?, before);

    // All of it lost, and the server has a newer release: that one is opened.
    later(browser, &clear).await?;
    site.hand(releases_dir().join("two"));
    open(browser, &site, "").await?;
    assert_ne!(release(browser).await?, first);
    browser
        .expect_errors(&[
            "sw.js",
            "Failed to load resource",
            "404",
            "503",
            "ERR_CONNECTION_REFUSED",
            "of this release",
            "ServiceWorker",
        ])
        .await
}

/// What browsers ask of a page before they offer to install it (W3C Web Application Manifest; from memory: an icon of 192 and one of 512 px, a name, a
/// start within the scope, a display of its own).
async fn a_release_can_be_installed(browser: &Browser) -> Outcome {
    let site = Site::start(releases_dir().join("one"))?;
    open(browser, &site, "").await?;
    kept(browser).await?;
    let manifest =
        later(browser, "return (await fetch(document.querySelector('link[rel=manifest]').href)).json()")
            .await?;
    assert!(manifest["name"].is_string() && manifest["display"] == "standalone");
    let icons = later(
        browser,
        "const { icons } = await (await fetch(document.querySelector('link[rel=manifest]').href)).json(); const found = []; \
         for (const { src, sizes, purpose } of icons) { const image = new Image(); image.src = src; await image.decode(); found.push([sizes, `${image.naturalWidth}x${image.naturalHeight}`, purpose ?? 'any']); } \
         return found",
    )
    .await?;
    let icons = icons.as_array().ok_or("icons")?;
    for (size, purpose) in [("192x192", "any"), ("512x512", "any"), ("512x512", "maskable")] {
        let fits = |icon: &&Value| icon[0] == size && icon[1] == size && icon[2] == purpose;
        assert!(icons.iter().any(|icon| fits(&icon)), "{size} {purpose}: {icons:#?}");
    }
    let updates = later(browser, "return (await navigator.serviceWorker.getRegistration()).updateViaCache");
    assert_eq!(updates.await?, "none");
    Ok(())
}
