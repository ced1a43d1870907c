//! The planner in a frame of another site: heard and answered by its protocol alone, quiet on load, deaf to everybody else.

use std::path::Path;

use counterpoise_tests::browser::{Browser, Engine, Failure, Outcome, page_address, site_address};
use counterpoise_tests::in_both_engines;
use jsonschema::Validator;
use serde_json::{Value, json};

in_both_engines!(
    frames_of_four_sandboxes_load_drag_and_report,
    hostile_messages_do_nothing_and_are_counted,
    a_frame_lets_the_page_around_scroll_until_it_is_tapped,
    the_element_talks_for_its_page
);

/// The published schema of one direction.
fn schema(of: &str) -> Validator {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../www/schema/embedding.schema.json");
    let mut schema: Value =
        serde_json::from_str(&std::fs::read_to_string(path).expect("the schema")).expect("JSON");
    schema["allOf"] = json!([{ "$ref": format!("#/$defs/{of}") }]);
    jsonschema::validator_for(&schema).expect("a schema")
}

/// The frame's own origin, as a fragment names it, and what the driver needs to percent-encode.
fn encoded(text: &str) -> String {
    url::form_urlencoded::byte_serialize(text.as_bytes()).collect()
}

fn origin() -> String {
    site_address().trim_end_matches('/').to_owned()
}

async fn host(browser: &Browser, frame: &str, sandbox: Option<&str>) -> Outcome {
    let sandbox = sandbox.map_or(String::new(), |sandbox| format!("&sandbox={}", encoded(sandbox)));
    browser.client.goto(&format!("{}host.html?frame={}{sandbox}", site_address(), encoded(frame))).await?;
    Ok(())
}

async fn ask(browser: &Browser, kind: &str, id: &str, payload: Value) -> Result<Value, Failure> {
    let message = json!({ "counterpoise": 1, "type": kind, "id": id, "payload": payload });
    assert!(schema("question").is_valid(&message), "the schema does not know {message}");
    browser.value_with("send(arguments[0])", vec![message]).await?;
    browser.until_with("return answer(arguments[0]) !== null", vec![json!(id)]).await?;
    browser.value_with("return answer(arguments[0])", vec![json!(id)]).await
}

async fn in_frame(browser: &Browser) -> Outcome {
    Ok(browser.client.enter_frame(0).await?)
}

async fn out_of_frame(browser: &Browser) -> Outcome {
    Ok(browser.client.enter_parent_frame().await?)
}

async fn frames_of_four_sandboxes_load_drag_and_report(browser: &Browser) -> Outcome {
    let page = page_address();
    let one_file = format!("{}packed/counterpoise.html", site_address());
    let sandboxes = [
        (page.as_str(), None),
        (page.as_str(), Some("allow-scripts allow-same-origin")),
        (page.as_str(), Some("allow-scripts allow-same-origin allow-downloads allow-modals allow-popups")),
        // Without an origin no second file can be loaded: the page in one file can do without.
        (one_file.as_str(), Some("allow-scripts")),
    ];
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo/calipers.counterpoise.json");
    let plan = std::fs::read_to_string(demo)?;
    // What the page kept when it stood alone is out of the way.
    browser.client.goto(&format!("{page}icons/icon.svg")).await?;
    browser.value_later("const done = arguments[0]; const gone = indexedDB.deleteDatabase('counterpoise'); gone.onsuccess = () => done(true); gone.onerror = () => done(false)", Vec::new()).await?;
    for (frame, sandbox) in sandboxes {
        host(browser, &format!("{frame}#host={}", encoded(&origin())), sandbox).await?;
        browser.until("return heard.some(({ data }) => data.type === 'ready')").await?;
        // Neither the page nor the frame took the focus.
        assert_eq!(browser.value("return document.activeElement.id").await?, "own", "{sandbox:?}");
        // A plan from outside: its name and notes stay outside when it is asked for again.
        let state = ask(browser, "load", "load-1", json!({ "plan": plan })).await?;
        assert_eq!(state["type"], "state", "{sandbox:?}: {state}");
        let given: Value = serde_json::from_str(state["payload"]["plan"].as_str().ok_or("a plan")?)?;
        assert_eq!(given["case"]["label"], "", "{given}");
        assert!(given["natural"]["right"].is_object());
        ask(browser, "report", "report-1", json!({ "follow": true })).await?;
        ask(browser, "height", "height-1", json!({ "follow": true })).await?;
        let none = ask(browser, "result", "result-1", json!({})).await?;
        assert_eq!(none["payload"]["result"], Value::Null);
        let refused = ask(browser, "load", "load-2", json!({ "plan": "no plan" })).await?;
        assert_eq!(refused["type"], "refused", "{refused}");

        // A drag, after the tap: every kept change is told, by its number.
        in_frame(browser).await?;
        browser.ready().await?;
        browser.click("#embed-wake").await?;
        browser.click("#step-shape").await?;
        browser.click("#start-mean").await?;
        browser.until("return Boolean(JSON.parse(counterpoise.planJson()).planned.right)").await?;
        browser.value("const r = document.querySelector('input[type=range][data-param=arch_y]'); r.value = Number(r.value) + 1; for (const type of ['input', 'change']) r.dispatchEvent(new Event(type, { bubbles: true }))").await?;
        browser.settle().await?;
        let shown = browser.value("return counterpoise.report().planned_symmetry.mean_distance_mm").await?;
        // Storage, where it is allowed at all, holds nothing of it.
        let stored = browser.value_later("const done = arguments[0]; (async () => { try { return (await indexedDB.databases()).map(({ name }) => name).join(); } catch { return ''; } })().then(done)", Vec::new()).await?;
        assert_eq!(stored, "", "{sandbox:?}");
        browser.shot(&format!("embedded-{}", sandbox.map_or(0, str::len))).await?;
        out_of_frame(browser).await?;
        browser
            .until_with("return heard.some(({ data }) => data.type === 'report' && data.payload.planned_mm === arguments[0])", vec![shown])
            .await
            .map_err(|error| format!("{sandbox:?}: {error}"))?;
        // Everything that was heard is in the published schema, and from the frame's origin.
        let heard = browser.value("return heard").await?;
        let (answers, list) = (schema("answer"), heard.as_array().ok_or("a list")?);
        assert!(list.len() >= 7, "{list:#?}");
        let from = if sandbox == Some("allow-scripts") { "null" } else { page.trim_end_matches('/') };
        for message in list {
            let faults: Vec<String> =
                answers.iter_errors(&message["data"]).map(|fault| fault.to_string()).collect();
            assert!(faults.is_empty(), "{message:#}: {faults:?}");
            assert_eq!(message["origin"], from);
        }
    }
    // Without storage the browser says so in its log, and so it should.
    browser.expect_errors(&["favicon", "sandbox", "storage", "denied", "insecure"]).await
}

async fn hostile_messages_do_nothing_and_are_counted(browser: &Browser) -> Outcome {
    let page = page_address();
    // A page that the address does not name is not heard, and is told nothing.
    host(browser, &format!("{page}#host={}", encoded("https://course.example")), None).await?;
    in_frame(browser).await?;
    browser.ready().await?;
    let before = browser.plan_text().await?;
    out_of_frame(browser).await?;
    for _ in 0..3 {
        browser.value("send({ counterpoise: 1, type: 'state', id: 'x', payload: {} })").await?;
    }
    in_frame(browser).await?;
    browser.until("return counterpoise.messages().stranger >= 3").await?;
    assert_eq!(browser.value("return counterpoise.messages().taken").await?, 0);
    out_of_frame(browser).await?;
    assert_eq!(browser.value("return heard.length").await?, 0);

    // One that it names is heard where it speaks the protocol.
    host(browser, &format!("{page}#host={},{}", encoded("https://course.example"), encoded(&origin())), None)
        .await?;
    browser.until("return heard.some(({ data }) => data.type === 'ready')").await?;
    let hostile = [
        ("shape", "null"),
        ("shape", "[1, 2, 3]"),
        ("shape", "'load'"),
        ("shape", "{ counterpoise: 1 }"),
        ("shape", "{ counterpoise: 1, type: 'explode', payload: {} }"),
        ("shape", "{ counterpoise: 1, type: 'constructor', payload: {} }"),
        ("shape", "{ counterpoise: 1, type: '__proto__', payload: {} }"),
        ("shape", "{ counterpoise: 1, type: 'state', payload: { pixels: true } }"),
        ("shape", "{ counterpoise: 1, type: 'state', id: { toString: null }, payload: {} }"),
        ("shape", "{ counterpoise: 1, type: 'load', payload: { case: 'first', mode: 'constructor' } }"),
        ("shape", "{ counterpoise: 1, type: 'load', payload: {} }"),
        ("shape", "{ counterpoise: 1, type: 'load', payload: { plan: '{}', case: 'first' } }"),
        ("shape", "{ counterpoise: 1, type: 'load', payload: { plan: { planned: 1 } } }"),
        (
            "shape",
            "JSON.parse('{ \"counterpoise\": 1, \"type\": \"load\", \"payload\": { \"__proto__\": { \"plan\": \"x\" } } }')",
        ),
        (
            "shape",
            "JSON.parse('{ \"counterpoise\": 1, \"type\": \"state\", \"__proto__\": { \"type\": \"load\" } }')",
        ),
        ("version", "{ counterpoise: 2, type: 'state', payload: {} }"),
        ("version", "{ counterpoise: '1', type: 'state', payload: {} }"),
        ("size", "{ counterpoise: 1, type: 'load', payload: { plan: 'x'.repeat(1_000_001) } }"),
        ("size", "{ counterpoise: 1, type: 'load', payload: { plan: 'x'.repeat(60_000_000) } }"),
    ];
    let questions = schema("question");
    for (_, script) in hostile {
        let message = browser
            .value_with(
                "const message = eval(`(${arguments[0]})`); send(message); return message",
                vec![json!(script)],
            )
            .await?;
        // What the page refuses, the schema refuses, but for what only the page can see.
        let only_page = script.contains("__proto__") || script.contains("toString");
        assert!(only_page || !questions.is_valid(&message), "the schema knows {script}");
        // A conversation, not a flood.
        browser.pause(40).await;
    }
    in_frame(browser).await?;
    let counts = |kind: &'static str| hostile.iter().filter(move |(fault, _)| *fault == kind).count();
    browser
        .until_with(
            "const c = counterpoise.messages(); return c.shape === arguments[0] && c.version === arguments[1] && c.size === arguments[2]",
            vec![json!(counts("shape")), json!(counts("version")), json!(counts("size"))],
        )
        .await?;
    assert_eq!(browser.value("return counterpoise.messages().taken").await?, 0);
    assert_eq!(browser.plan_text().await?, before);
    assert_eq!(browser.value("return ({}).plan === undefined && ({}).type === undefined").await?, true);
    out_of_frame(browser).await?;

    // A flood is cut off, and the page answers again afterwards.
    browser.value("for (let i = 0; i < 500; i += 1) send({ counterpoise: 1, type: 'state', id: `flood-${i}`, payload: {} })").await?;
    in_frame(browser).await?;
    browser
        .until("const c = counterpoise.messages(); return c.taken + c.rate === 500 && c.rate >= 400")
        .await?;
    out_of_frame(browser).await?;
    browser.pause(1100).await;
    let state = ask(browser, "state", "after", json!({})).await?;
    assert_eq!(state["type"], "state");
    Ok(())
}

async fn a_frame_lets_the_page_around_scroll_until_it_is_tapped(browser: &Browser) -> Outcome {
    host(browser, &page_address(), None).await?;
    in_frame(browser).await?;
    browser.ready().await?;
    let touch = "return getComputedStyle(document.getElementById('stage')).touchAction";
    assert_eq!(browser.value(touch).await?, "auto");
    let before = browser.plan_text().await?;
    out_of_frame(browser).await?;
    // A wheel over the stage scrolls the page around it, asleep and awake.
    let scrolled = async |browser: &Browser| -> Result<f64, Failure> {
        browser.value("scrollTo(0, 0)").await?;
        let wheel = json!([{ "type": "wheel", "id": "wheel", "actions": [{ "type": "scroll", "x": 300, "y": 400, "deltaX": 0, "deltaY": 300, "duration": 0, "origin": "viewport" }] }]);
        browser.actions(wheel).await?;
        browser.until("return scrollY > 50").await?;
        Ok(browser.value("return scrollY").await?.as_f64().unwrap_or_default())
    };
    // WebKit's driver has no wheel.
    if browser.engine == Engine::Chromium {
        assert!(scrolled(browser).await? > 50.0);
    }
    browser.value("scrollTo(0, 0)").await?;
    in_frame(browser).await?;
    browser.click("#embed-wake").await?;
    browser.until("return document.documentElement.dataset.embedded === 'awake'").await?;
    assert_eq!(browser.value(touch).await?, "none");
    out_of_frame(browser).await?;
    if browser.engine == Engine::Chromium {
        assert!(scrolled(browser).await? > 50.0);
    }
    browser.value("scrollTo(0, 0)").await?;
    // Touching the page around puts it to rest again; nothing was changed by any of it.
    browser.click("#own").await?;
    in_frame(browser).await?;
    browser.until("return document.documentElement.dataset.embedded === 'resting'").await?;
    assert_eq!(browser.plan_text().await?, before);
    out_of_frame(browser).await
}

async fn the_element_talks_for_its_page(browser: &Browser) -> Outcome {
    let address = format!(
        "{}element.html?page={}&case=low-brow&mode=exercise&label=Planner",
        site_address(),
        encoded(&page_address())
    );
    browser.client.goto(&address).await?;
    browser
        .until(
            "return told.some(({ type }) => type === 'ready') && told.some(({ type }) => type === 'height')",
        )
        .await?;
    let height = browser
        .value("return planner.shadowRoot.querySelector('iframe').getBoundingClientRect().height")
        .await?;
    let told = browser.value("return told.find(({ type }) => type === 'height').detail.px").await?;
    assert_eq!(height.as_f64(), told.as_f64());
    // The height depends on the width alone: it is told once and does not grow by itself.
    browser.pause(600).await;
    assert_eq!(browser.value("return told.filter(({ type }) => type === 'height').length").await?, 1);

    let state =
        browser.value_later("const done = arguments[0]; planner.state().then(done)", Vec::new()).await?;
    assert_eq!(state["step"], "shape");
    let report =
        browser.value_later("const done = arguments[0]; planner.report().then(done)", Vec::new()).await?;
    assert!(report["natural_mm"].as_f64() > Some(1.0), "{report}");
    let why = browser.value_later("const done = arguments[0]; planner.load({ plan: '{}' }).then(() => done('taken'), (error) => done(error.message))", Vec::new()).await?;
    assert!(why.as_str().is_some_and(|why| why.len() > 10 && why != "taken"), "{why}");
    // What was refused changed nothing: the exercise is still there.

    // Marks reach the page.
    let element =
        browser.client.execute("return planner.shadowRoot.querySelector('iframe')", Vec::new()).await?;
    let frame: fantoccini::elements::Element = fantoccini::elements::Element::from_element_id(
        browser.client.clone(),
        element
            .as_object()
            .and_then(|map| map.values().next())
            .and_then(Value::as_str)
            .ok_or("a frame")?
            .to_owned()
            .into(),
    );
    frame.enter_frame().await?;
    browser.ready().await?;
    browser.click("#start-mean").await?;
    browser.click("#exercise-mark").await?;
    browser.until("return document.querySelectorAll('#exercise-marks li').length === 5").await?;
    let score = browser.value("return counterpoise.result().score").await?;
    out_of_frame(browser).await?;
    browser.until_with("return told.some(({ type, detail }) => type === 'result' && detail.result?.score === arguments[0])", vec![score]).await?;
    // Another case by an attribute.
    browser
        .value("planner.setAttribute('case', 'calipers'); planner.setAttribute('mode', 'explore')")
        .await?;
    browser.until("return told.filter(({ type }) => type === 'ready').length === 2").await?;
    let state =
        browser.value_later("const done = arguments[0]; planner.state().then(done)", Vec::new()).await?;
    assert!(state["plan"].as_str().is_some_and(|plan| plan.contains("calipers")), "{state}");
    Ok(())
}
