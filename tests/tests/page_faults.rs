//! What can go wrong while she works: the page is killed, storage fails, another window has the case, the core stops, the clock jumps.

use counterpoise_tests::Chance;
use counterpoise_tests::browser::{Browser, Failure, Outcome};
use counterpoise_tests::{in_both_engines, in_chromium};
use serde_json::{Value, json};

in_chromium!(
    page_that_is_killed_loses_the_last_edit_at_most,
    window_that_does_not_answer_is_not_waited_for,
    two_windows_without_locks_lose_nothing,
    storage_that_answers_late_still_brings_the_work,
);
in_both_engines!(
    page_that_is_torn_down_untold_loses_the_last_edit_at_most,
    second_window_only_shows_the_case_until_it_takes_it,
    storage_emptied_behind_the_page_is_filled_again,
    core_that_stops_at_any_call_changes_nothing,
    clock_that_jumps_changes_nothing_but_dates,
    photo_without_memory_is_told,
);

/// Chromium's page processes that are killed.
const KILLS: usize = 200;
/// WebKit's driver ends its session with the page's process: there the page is taken down without being told.
const TEARS: usize = 30;
/// Most edits between two kills, and the longest time after one of them, ms.
const EDITS: f64 = 6.0;
const PAUSE_MS: f64 = 40.0;
/// Edits while the core is stopped at calls that chance chooses.
const TRAPS: usize = 60;

/// Has the page note which plan it saw stored last.
const WATCH_STORE: &str = "const put = IDBObjectStore.prototype.put; window.planStored = null; \
    IDBObjectStore.prototype.put = function (value, ...more) { \
    if (this.name === 'plans') this.transaction.addEventListener('complete', () => { window.planStored = value }); \
    return put.call(this, value, ...more); };";

/// One edit by one of the page's own controls, chosen by a number below 1. Gives the plan that was stored by then, and the plan after it.
const EDIT: &str = "const [chance] = arguments; const stored = window.planStored; \
    const steps = [...document.querySelectorAll('#panel-shape [data-step][data-param]:not(:disabled)')]; \
    const ways = ['undo', 'redo', ...steps, ...steps]; \
    const way = ways[Math.floor(chance * ways.length)]; \
    (typeof way === 'string' ? document.getElementById(way) : way).click(); \
    return [stored, counterpoise.planJson()];";

async fn edit(browser: &Browser, chance: f64) -> Result<(Option<String>, String), Failure> {
    let answer = browser.value_with(EDIT, vec![json!(chance)]).await?;
    let text = |of: usize| answer[of].as_str().map(str::to_owned);
    Ok((text(0), text(1).ok_or("no plan")?))
}

/// What one life of a page did.
struct Life {
    /// The plans before and after each edit; one that changed nothing is none.
    plans: Vec<String>,
    /// How many edits were not stored yet when the last one was made: a slow machine may still write when the next edit comes, as no
    /// person's does.
    waiting: usize,
}

/// An edit is stored at once: seldom does more than one wait when the next comes, however quickly they follow each other.
fn are_stored_at_once(lives: &[Life]) {
    let late = lives.iter().filter(|life| life.waiting > 1).count();
    assert!(late * 4 < lives.len(), "in {late} of {} lives edits waited to be stored", lives.len());
}

/// Edits for one life of a page, with pauses between them. In every other life the last edit waits until those before it are stored.
async fn live(browser: &Browser, chance: &mut Chance, number: usize) -> Result<Life, Failure> {
    browser.value(WATCH_STORE).await?;
    let mut life = Life { plans: vec![browser.plan_text().await?], waiting: 0 };
    let edits = (1.0 + chance.uniform() * EDITS) as usize;
    for i in 1..=edits {
        if i == edits && number.is_multiple_of(2) {
            browser.kept().await?;
        }
        let (stored, plan) = edit(browser, chance.uniform()).await?;
        // Before the first is stored, the store has what this life began with.
        let stored = stored.as_ref().unwrap_or(&life.plans[0]);
        if life.plans.last() != Some(&plan) {
            let waiting = life.plans.iter().rev().position(|plan| plan == stored);
            life.waiting = waiting.ok_or("a plan was stored that never was")?;
            life.plans.push(plan);
        }
        browser.pause((chance.uniform() * PAUSE_MS) as u64).await;
    }
    Ok(life)
}

/// What was kept is whole, and is the last plan or the one before: nothing that was stored when the last edit was made is lost.
async fn last_but_one_is_kept(browser: &Browser, number: usize, life: &Life) -> Outcome {
    browser.ready().await?;
    let kept = browser.plan_text().await?;
    let lost = life.plans.iter().rev().position(|plan| *plan == kept).ok_or("a plan that never was")?;
    let (edits, waiting) = (life.plans.len() - 1, life.waiting);
    assert!(
        lost <= 1 + waiting,
        "life {number} lost {lost} edits of {edits}, {waiting} of them not stored before the last"
    );
    whole(&browser.stored().await?);
    Ok(())
}

/// Every head has its plan, which can be read, and the demo has its picture.
fn whole(stored: &Value) {
    let count = |name: &str| stored[name].as_array().map_or(0, Vec::len);
    assert_eq!((count("heads"), count("plans"), count("photos")), (1, 1, 1), "{stored}");
    let plan = stored["plans"][0].as_str().unwrap_or_default();
    assert!(serde_json::from_str::<Value>(plan).is_ok(), "half a plan: {plan}");
}

async fn page_that_is_killed_loses_the_last_edit_at_most(browser: &Browser) -> Outcome {
    let mut chance = Chance::new(20_261_128);
    browser.ready().await?;
    browser.kept().await?;
    let watcher = browser.client.window().await?;
    browser.go("icons/icon.svg").await?;
    let spared = browser.processes();
    let mut lives: Vec<Life> = Vec::new();
    for number in 0..=KILLS {
        let window = browser.client.new_window(true).await?;
        browser.client.switch_to_window(window.handle).await?;
        browser.go("").await?;
        if let Some(life) = lives.last() {
            last_but_one_is_kept(browser, number, life).await?;
        }
        browser.ready().await?;
        if number == 0 {
            browser.step("shape").await?;
        }
        lives.push(live(browser, &mut chance, number).await?);
        let page: Vec<u32> = browser.processes().into_iter().filter(|page| !spared.contains(page)).collect();
        assert!(!page.is_empty(), "no process to kill");
        // Its own window would take the session with it.
        browser.client.switch_to_window(watcher.clone()).await?;
        browser.kill(&page);
    }
    are_stored_at_once(&lives);
    // A browser that is sent to a bare file asks for an icon.
    browser.expect_errors(&["favicon"]).await
}

async fn page_that_is_torn_down_untold_loses_the_last_edit_at_most(browser: &Browser) -> Outcome {
    let mut chance = Chance::new(28_112_026);
    browser.ready().await?;
    browser.kept().await?;
    browser.step("shape").await?;
    let mut lives = Vec::new();
    for number in 0..TEARS {
        browser
            .value(
                "for (const type of ['pagehide', 'visibilitychange', 'beforeunload', 'unload']) \
                 addEventListener(type, (event) => event.stopImmediatePropagation(), true)",
            )
            .await?;
        let life = live(browser, &mut chance, number).await?;
        browser.go("").await?;
        last_but_one_is_kept(browser, number, &life).await?;
        lives.push(life);
    }
    are_stored_at_once(&lives);
    Ok(())
}

/// Opens the page once more beside the present window, in which the driver stays.
async fn another_window(browser: &Browser) -> Result<fantoccini::wd::WindowHandle, Failure> {
    let window = browser.client.new_window(false).await?.handle;
    browser.client.switch_to_window(window.clone()).await?;
    browser.resize().await?;
    browser.go("").await?;
    browser.ready().await?;
    Ok(window)
}

async fn is_shown_only(browser: &Browser, wanted: bool) -> Outcome {
    browser
        .until_with(
            "return document.getElementById('elsewhere').hidden !== arguments[0]",
            vec![json!(wanted)],
        )
        .await
}

async fn second_window_only_shows_the_case_until_it_takes_it(browser: &Browser) -> Outcome {
    browser.begin_case("Nadia").await?;
    let one = browser.client.window().await?;
    let plan = browser.plan_text().await?;
    let two = another_window(browser).await?;
    // The same case, which takes nothing here: neither typed nor tapped, nor by a photo of a pose.
    is_shown_only(browser, true).await?;
    assert_eq!(browser.plan_text().await?, plan);
    browser.fill("#case-label", "Nadia two").await?;
    browser.message_is("refused.shown_only").await?;
    assert_eq!(browser.plan_text().await?, plan);
    assert_eq!(browser.value("return document.getElementById('case-label').value").await?, "Nadia");
    browser.shot("shown-only").await?;
    browser.accessible("another window has the case").await?;
    // The list says so, and deletes nothing of what another window works on.
    browser.click("#book-open").await?;
    browser.until("return document.querySelectorAll('[data-case]').length === 1").await?;
    assert_eq!(browser.value("return document.querySelectorAll('[data-act=delete]').length").await?, 0);
    assert_eq!(browser.value("return document.getElementById('book-delete').disabled").await?, true);
    browser.click("#book-close").await?;

    // Taken: the other window stores what it has and only shows it from then on.
    browser.client.switch_to_window(one.clone()).await?;
    browser.fill("#case-label", "Nadia one").await?;
    browser.client.switch_to_window(two.clone()).await?;
    browser.click("#elsewhere-take").await?;
    is_shown_only(browser, false).await?;
    browser.until("return JSON.parse(counterpoise.planJson()).case.label === 'Nadia one'").await?;
    browser.fill("#case-label", "Nadia both").await?;
    browser.kept().await?;
    browser.client.switch_to_window(one.clone()).await?;
    is_shown_only(browser, true).await?;
    browser.click("#elsewhere-take").await?;
    browser.until("return JSON.parse(counterpoise.planJson()).case.label === 'Nadia both'").await?;
    is_shown_only(browser, false).await?;

    // Another case in the second window: each works on its own.
    browser.client.switch_to_window(two.clone()).await?;
    is_shown_only(browser, true).await?;
    browser.begin_case("Olga").await?;
    is_shown_only(browser, false).await?;
    browser.client.switch_to_window(one.clone()).await?;
    browser.fill("#case-label", "Nadia three").await?;
    browser.kept().await?;
    // A window that is closed lets go.
    browser.client.switch_to_window(two).await?;
    browser.client.close_window().await?;
    browser.client.switch_to_window(one).await?;
    browser.click("#book-open").await?;
    browser.until("return document.querySelectorAll('[data-case]').length === 2").await?;
    browser.click("[data-case] [data-act=open]").await?;
    browser.until("return JSON.parse(counterpoise.planJson()).case.label === 'Olga'").await?;
    is_shown_only(browser, false).await?;
    browser.fill("#case-label", "Olga two").await?;
    browser.kept().await
}

async fn window_that_does_not_answer_is_not_waited_for(browser: &Browser) -> Outcome {
    let deaf = "const add = BroadcastChannel.prototype.addEventListener; \
        if (!sessionStorage.heard) BroadcastChannel.prototype.addEventListener = () => {}; sessionStorage.heard = 1;";
    let script = browser.before_page(deaf).await?;
    browser.go("").await?;
    browser.begin_case("Petra").await?;
    browser.devtools("Page.removeScriptToEvaluateOnNewDocument", json!({ "identifier": script })).await?;
    let one = browser.client.window().await?;
    another_window(browser).await?;
    is_shown_only(browser, true).await?;
    browser.click("#elsewhere-take").await?;
    is_shown_only(browser, false).await?;
    browser.fill("#case-label", "Petra two").await?;
    browser.kept().await?;
    browser.client.switch_to_window(one).await?;
    is_shown_only(browser, true).await
}

async fn two_windows_without_locks_lose_nothing(browser: &Browser) -> Outcome {
    browser.before_page("Object.defineProperty(Navigator.prototype, 'locks', { value: undefined })").await?;
    browser.go("").await?;
    browser.begin_case("Rosa").await?;
    let one = browser.client.window().await?;
    let window = browser.client.new_window(false).await?.handle;
    browser.client.switch_to_window(window).await?;
    browser.before_page("Object.defineProperty(Navigator.prototype, 'locks', { value: undefined })").await?;
    browser.go("").await?;
    browser.ready().await?;
    browser.fill("#case-label", "Rosa two").await?;
    browser.kept().await?;
    browser.client.switch_to_window(one).await?;
    browser.fill("#case-label", "Rosa one").await?;
    browser.message_is("elsewhere.two_kept").await?;
    browser.kept().await?;
    let stored = browser.stored().await?.to_string();
    assert!(stored.contains("Rosa one") && stored.contains("Rosa two"), "{stored}");
    // From now on they are two cases.
    browser.fill("#case-label", "Rosa three").await?;
    browser.kept().await?;
    assert_eq!(browser.stored().await?["plans"].as_array().map(Vec::len), Some(2));
    Ok(())
}

async fn storage_that_answers_late_still_brings_the_work(browser: &Browser) -> Outcome {
    browser.begin_case("Sonja").await?;
    let slow = "const open = IDBFactory.prototype.open; let times = 0; \
        IDBFactory.prototype.open = function (...given) { \
          const made = open.apply(this, given); \
          if (++times > 1) return made; \
          const late = { set onsuccess(act) { made.onsuccess = () => setTimeout(act, 6000) }, get result() { return made.result } }; \
          return late; }";
    browser.before_page(slow).await?;
    browser.go("").await?;
    browser.ready().await?;
    browser.message_is("storage.TimeoutError").await?;
    assert_eq!(browser.plan().await?["case"]["label"], "Demo: Marisol");
    browser.until("return JSON.parse(counterpoise.planJson()).case.label === 'Sonja'").await?;
    browser.step("photo").await?;
    browser.fill("#case-label", "Sonja two").await?;
    browser.kept().await
}

async fn storage_emptied_behind_the_page_is_filled_again(browser: &Browser) -> Outcome {
    browser.ready().await?;
    browser.kept().await?;
    browser.step("shape").await?;
    let empty = "const [names, done] = arguments; const open = indexedDB.open('counterpoise'); \
        open.onsuccess = () => { const all = open.result.transaction(names, 'readwrite'); \
        names.forEach((name) => all.objectStore(name).clear()); \
        all.oncomplete = () => { open.result.close(); done(true) } }";
    let whole_book = ["heads", "plans", "photos", "thumbs", "state"].as_slice();
    for stores in [whole_book, ["photos"].as_slice(), ["plans"].as_slice()] {
        browser.value_later(empty, vec![json!(stores)]).await?;
        edit(browser, 0.9).await?;
        browser.kept().await?;
        whole(&browser.stored().await?);
    }
    // The database itself is gone.
    let gone = "const [done] = arguments; const request = indexedDB.deleteDatabase('counterpoise'); \
        request.onsuccess = () => done(true); request.onblocked = () => done(false)";
    assert_eq!(browser.value_later(gone, Vec::new()).await?, true);
    let (_, plan) = edit(browser, 0.9).await?;
    browser.kept().await?;
    whole(&browser.stored().await?);
    browser.go("").await?;
    browser.ready().await?;
    assert_eq!(browser.plan_text().await?, plan);
    browser.until("return counterpoise.stage.bounds?.() !== null").await
}

async fn core_that_stops_at_any_call_changes_nothing(browser: &Browser) -> Outcome {
    browser.open_anew("#test").await?;
    browser.ready().await?;
    browser.step("shape").await?;
    let start = browser.plan_text().await?;
    // The same edits, undisturbed and disturbed; undo brings the plan back between them.
    let mut ends = Vec::new();
    for disturbed in [false, true] {
        let mut chance = Chance::new(7);
        let mut stops = Chance::new(11);
        browser.open_anew("#test").await?;
        browser.ready().await?;
        browser.click("#more").await?;
        browser.click("#demo-case").await?;
        browser.until_with("return counterpoise.planJson() === arguments[0]", vec![json!(start)]).await?;
        browser.step("shape").await?;
        for _ in 0..TRAPS {
            if disturbed {
                let calls = 1 + (stops.uniform() * 6.0) as u64;
                browser.value_with("counterpoise.test.trapAt(arguments[0])", vec![json!(calls)]).await?;
            }
            edit(browser, chance.uniform()).await?;
            browser.settle().await?;
        }
        let shown = browser
            .value("return [counterpoise.planJson(), document.getElementById('live-numbers').textContent]")
            .await?;
        ends.push(shown);
    }
    assert_ne!(ends[0][0], json!(start), "the edits change something");
    assert_eq!(ends[0], ends[1]);
    let log = browser.log().await?;
    let stopped = log.iter().filter(|line| line.contains("the core stopped")).count();
    if browser.engine == counterpoise_tests::browser::Engine::Chromium {
        assert!(stopped > TRAPS / 3, "the core stopped {stopped} times");
    }
    browser.expect_errors(&["unreachable", "RuntimeError", "panicked", "the core stopped"]).await
}

async fn clock_that_jumps_changes_nothing_but_dates(browser: &Browser) -> Outcome {
    browser.begin_case("Tilda").await?;
    // Two years back, then eighty ahead.
    for (label, years) in [("Tilda past", -2), ("Tilda future", 80)] {
        browser
            .value_with(
                "const [years] = arguments; const Real = window.RealDate ??= Date; const ahead = years * 31557600000; \
                 window.Date = class extends Real { constructor(...given) { given.length ? super(...given) : super(Real.now() + ahead); } \
                 static now() { return Real.now() + ahead; } }",
                vec![json!(years)],
            )
            .await?;
        browser.fill("#case-label", label).await?;
        browser.kept().await?;
        browser.begin_case(&format!("{label}, another")).await?;
        browser.click("#book-open").await?;
        browser.until("return document.querySelectorAll('[data-case]').length > 0").await?;
        let named =
            browser.value("return document.querySelector('.case-label').textContent").await?.to_string();
        assert!(named.contains("Tilda"), "{named}");
        browser
            .click(&format!(
                "[data-case]:has([aria-label*=\"{label}\"]:not([aria-label*=another])) [data-act=open]"
            ))
            .await?;
        browser
            .until_with(
                "return JSON.parse(counterpoise.planJson()).case.label === arguments[0]",
                vec![json!(label)],
            )
            .await?;
    }
    browser.go("").await?;
    browser.ready().await?;
    assert_eq!(browser.plan().await?["case"]["label"], "Tilda future");
    browser.fill("#case-label", "Tilda now").await?;
    browser.kept().await
}

async fn photo_without_memory_is_told(browser: &Browser) -> Outcome {
    browser.begin_case("Ursula").await?;
    let plan = browser.plan_text().await?;
    let fine = counterpoise_tests::pictures::png(1600, 1200, true);
    let file = counterpoise_tests::browser::shots_dir()?.join(format!("memory-{:?}.png", browser.engine));
    std::fs::write(&file, fine)?;
    let faults = [
        (
            "createImageBitmap = () => Promise.reject(new DOMException('', 'InvalidStateError')); \
          HTMLImageElement.prototype.decode = () => Promise.reject(new DOMException('', 'EncodingError'))",
            "photo.no_memory",
        ),
        ("HTMLCanvasElement.prototype.getContext = () => null", "photo.no_memory"),
    ];
    for (fault, key) in faults {
        browser.go("").await?;
        browser.ready().await?;
        browser.step("photo").await?;
        browser.value(fault).await?;
        browser.choose_file("#open-photo", &file).await?;
        browser.message_is(key).await?;
        assert_eq!(browser.plan_text().await?, plan);
    }
    // The photo is shown but cannot be packed: the plan is kept nowhere, and that is said.
    browser.go("").await?;
    browser.ready().await?;
    browser.step("photo").await?;
    browser.value("HTMLCanvasElement.prototype.toBlob = (done) => done(null)").await?;
    browser.choose_file("#open-photo", &file).await?;
    browser.message_is("storage.PhotoError").await?;
    assert_eq!(browser.plan().await?["photo"]["width_px"], 1600);
    Ok(())
}
