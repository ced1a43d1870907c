//! One browser with the page open, and the few things a person does with it.

use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::Path;
use std::time::Duration;

use base64::Engine as _;
use fantoccini::elements::Element;
use fantoccini::wd::WebDriverCompatibleCommand;
use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};

use super::driver::Driver;
use super::surroundings::page_address;
use super::{Engine, Failure, Outcome, shots_dir};

/// The size of the page's window, CSS px: a tablet held one way or the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Window {
    /// 1180 × 820.
    Lying,
    /// 820 × 1180.
    Standing,
}

impl Window {
    /// Width and height, CSS px.
    #[must_use]
    pub fn size(self) -> (u32, u32) {
        match self {
            Window::Lying => (1180, 820),
            Window::Standing => (820, 1180),
        }
    }
}

/// Keys that have no letter, as WebDriver writes them (WebDriver §17.4.2, private use area).
pub struct Keys;

#[expect(missing_docs, reason = "named as on the keyboard")]
impl Keys {
    pub const TAB: &str = "\u{E004}";
    pub const ENTER: &str = "\u{E007}";
    pub const SHIFT: &str = "\u{E008}";
    pub const CONTROL: &str = "\u{E009}";
    pub const ESCAPE: &str = "\u{E00C}";
    pub const SPACE: &str = " ";
    pub const END: &str = "\u{E010}";
    pub const HOME: &str = "\u{E011}";
    pub const LEFT: &str = "\u{E012}";
    pub const UP: &str = "\u{E013}";
    pub const RIGHT: &str = "\u{E014}";
    pub const DOWN: &str = "\u{E015}";
    pub const DELETE: &str = "\u{E017}";
}

/// How long anything may take that the page does on its own; ample, since a check must not depend on speed.
const PATIENCE: Duration = Duration::from_secs(30);

/// How often an element is looked for that was put anew in that moment, and a browser is started: nothing is without an end.
const TIMES: usize = 5;

/// A driver that takes longer for a whole test than any test takes has stopped answering, as WebKit's does now and then where its browser is gone.
const LONGEST: Duration = Duration::from_secs(600);

/// A browser with the page open.
pub struct Browser {
    /// The plain WebDriver client, for what has no helper here.
    pub client: Client,
    /// Which engine this is.
    pub engine: Engine,
    /// Which size it has.
    pub window: Window,
    name: String,
    driver: u32,
}

/// A browser that is up. One that does not come up is given up, and another one tried.
fn begin(
    runtime: &tokio::runtime::Runtime,
    engine: Engine,
    window: Window,
    name: &str,
) -> Result<(Driver, Browser), Failure> {
    let mut last: Failure = "no browser was tried".into();
    for _ in 0..TIMES {
        let mut driver = Driver::start(engine)?;
        let opening = Browser::open(&mut driver, engine, window, name);
        match runtime.block_on(async { tokio::time::timeout(PATIENCE, opening).await }) {
            Ok(Ok(browser)) => return Ok((driver, browser)),
            Ok(Err(problem)) => last = problem,
            Err(_) => last = "the browser does not come up".into(),
        }
        eprintln!("{name}: {last}; once more");
    }
    Err(last)
}

/// Opens the page in a fresh browser, runs `test`, and closes everything again. A failure leaves a screenshot.
///
/// # Panics
/// Where the test fails.
pub fn run<Test>(engine: Engine, window: Window, name: &str, test: Test)
where
    Test: AsyncFnOnce(&Browser) -> Outcome,
{
    let name = format!("{name}.{engine:?}.{window:?}").to_lowercase();
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("an executor");
    let (driver, browser) = begin(&runtime, engine, window, &name).expect("a session");
    let outcome = catch_unwind(AssertUnwindSafe(|| {
        let whole = async {
            browser.go("").await?;
            test(&browser).await?;
            browser.no_errors_logged().await
        };
        let in_time = runtime.block_on(async { tokio::time::timeout(LONGEST, whole).await });
        in_time.unwrap_or_else(|_| Err("the browser's driver has stopped answering".into()))
    }));
    if !matches!(outcome, Ok(Ok(()))) {
        let shot = runtime.block_on(browser.shot("failed"));
        eprintln!("{name}: screenshot {shot:?}");
        if let Ok(log) = runtime.block_on(browser.log()) {
            eprintln!("{name}: the browser's log: {log:#?}");
        }
    }
    drop(driver);
    match outcome {
        Ok(Ok(())) => {}
        Ok(Err(failure)) => panic!("{name}: {failure}"),
        Err(panic) => resume_unwind(panic),
    }
}

impl Browser {
    async fn open(
        driver: &mut Driver,
        engine: Engine,
        window: Window,
        name: &str,
    ) -> Result<Browser, Failure> {
        let client = ClientBuilder::new(HttpConnector::new())
            .capabilities(engine.capabilities()?)
            .connect(&driver.address())
            .await?;
        driver.session = client.session_id().await?;
        let browser = Browser { client, engine, window, name: name.to_owned(), driver: driver.process() };
        browser.resize().await?;
        Ok(browser)
    }

    /// Gives the page's area, not the window with its bars, the wanted size.
    ///
    /// # Errors
    /// Where the window does not take it.
    pub async fn resize(&self) -> Outcome {
        let (width, height) = self.window.size();
        self.resize_to(width, height).await
    }

    /// Gives the page's area another size, CSS px: half the window's is what a page has that is shown at twice its size.
    ///
    /// # Errors
    /// Where the window does not take it.
    pub async fn resize_to(&self, width: u32, height: u32) -> Outcome {
        if self.engine == Engine::Chromium {
            let metrics =
                json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false });
            self.devtools("Emulation.setDeviceMetricsOverride", metrics).await?;
            return Ok(());
        }
        let mut outer = (width, height);
        for _ in 0..10 {
            self.client.set_window_rect(0, 0, outer.0, outer.1).await?;
            self.pause(100).await;
            let inner = self.value("return [innerWidth, innerHeight]").await?;
            let (w, h) = (whole(&inner[0])?, whole(&inner[1])?);
            if (w, h) == (width, height) {
                return Ok(());
            }
            outer = ((outer.0 + width).saturating_sub(w), (outer.1 + height).saturating_sub(h));
        }
        let has = self.value("return [innerWidth, innerHeight]").await?;
        Err(format!("the window has {has} and does not take the size {width} × {height}").into())
    }

    /// Opens an address below the page's own.
    ///
    /// # Errors
    /// The driver's.
    pub async fn go(&self, below: &str) -> Outcome {
        Ok(self.client.goto(&format!("{}{below}", page_address())).await?)
    }

    /// The processes that run a page.
    #[must_use]
    pub fn processes(&self) -> Vec<u32> {
        self.engine.processes(self.driver)
    }

    /// Ends processes at once, as the system does when memory is short: nothing in the page is told.
    pub fn kill(&self, processes: &[u32]) {
        super::driver::kill(processes);
    }

    /// Opens an address below the page's own as a new visit, also where it differs in its fragment alone.
    ///
    /// # Errors
    /// The driver's.
    pub async fn open_anew(&self, below: &str) -> Outcome {
        self.client.goto("about:blank").await?;
        self.go(below).await
    }

    /// Runs a script in the page and gives what it returns.
    ///
    /// # Errors
    /// The script's.
    pub async fn value(&self, script: &str) -> Result<Value, Failure> {
        Ok(self.client.execute(script, Vec::new()).await?)
    }

    /// Like [`Browser::value`], with `arguments`.
    ///
    /// # Errors
    /// The script's.
    pub async fn value_with(&self, script: &str, arguments: Vec<Value>) -> Result<Value, Failure> {
        Ok(self.client.execute(script, arguments).await?)
    }

    /// Runs a script that calls its last argument when it is done.
    ///
    /// # Errors
    /// The script's.
    pub async fn value_later(&self, script: &str, arguments: Vec<Value>) -> Result<Value, Failure> {
        Ok(self.client.execute_async(script, arguments).await?)
    }

    /// Waits until a script returns something true.
    ///
    /// # Errors
    /// Where that takes too long: names the script.
    pub async fn until(&self, script: &str) -> Outcome {
        self.until_with(script, Vec::new()).await
    }

    /// Like [`Browser::until`], with `arguments`.
    ///
    /// # Errors
    /// Where that takes too long: names the script.
    pub async fn until_with(&self, script: &str, arguments: Vec<Value>) -> Outcome {
        let start = std::time::Instant::now();
        loop {
            // A script may fail while the page is still being put together.
            let last = self.value_with(script, arguments.clone()).await;
            match &last {
                Ok(Value::Null | Value::Bool(false)) | Err(_) => {}
                Ok(_) => return Ok(()),
            }
            if start.elapsed() > PATIENCE {
                return Err(format!("waited in vain for `{script}` {arguments:?} (last: {last:?})").into());
            }
            self.pause(50).await;
        }
    }

    /// Waits a little, ms: only between looks, never instead of one.
    pub async fn pause(&self, ms: u64) {
        tokio::time::sleep(Duration::from_millis(ms)).await;
    }

    /// Waits until the page has painted twice, so that what a gesture set off has been drawn.
    ///
    /// # Errors
    /// The driver's.
    pub async fn settle(&self) -> Outcome {
        self.value_later(
            "const done = arguments[0]; requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(() => done(true))))",
            Vec::new(),
        )
        .await?;
        Ok(())
    }

    /// The element a selector names, once it is there.
    ///
    /// # Errors
    /// Where it does not appear.
    pub async fn element(&self, css: &str) -> Result<Element, Failure> {
        let mut tries = 1;
        loop {
            match self.client.wait().at_most(PATIENCE).for_element(Locator::Css(css)).await {
                // Put anew between being found and being named.
                Err(error) if tries < TIMES && error.is_stale_element_reference() => tries += 1,
                found => return found.map_err(|error| format!("no {css}: {error}").into()),
            }
        }
    }

    /// The element a selector names, scrolled into view, once it has stayed in its place over two frames: what was done last
    /// may still move what lies below it.
    ///
    /// # Errors
    /// Where it does not appear.
    pub async fn element_at_rest(&self, css: &str) -> Result<Element, Failure> {
        let script = "const [css, done] = arguments; let last = ''; \
            document.querySelector(css)?.scrollIntoView({ block: 'nearest', inline: 'nearest' }); \
            const look = () => { \
              const place = document.querySelector(css)?.getBoundingClientRect(); \
              const now = place ? [place.x, place.y, place.width, place.height].join() : ''; \
              if (now === last) return done(true); \
              last = now; \
              requestAnimationFrame(() => requestAnimationFrame(look)); \
            }; \
            look();";
        self.element(css).await?;
        self.value_later(script, vec![json!(css)]).await?;
        self.element(css).await
    }

    /// Clicks the element a selector names.
    ///
    /// # Errors
    /// Where it is absent or covered.
    pub async fn click(&self, css: &str) -> Outcome {
        let done = self.with_element(css, async |element| element.click().await).await;
        done.map_err(|error| format!("cannot click {css}: {error}").into())
    }

    /// Does something with an element; once more where it was put anew in that moment, as lists are when their content changes.
    async fn with_element<T>(
        &self,
        css: &str,
        act: impl AsyncFn(&Element) -> Result<T, fantoccini::error::CmdError>,
    ) -> Result<T, Failure> {
        let mut tries = 1;
        loop {
            let element = self.element_at_rest(css).await?;
            match act(&element).await {
                Err(error)
                    if tries < TIMES
                        && (error.is_stale_element_reference() || error.is_no_such_element()) =>
                {
                    tries += 1;
                }
                done => return Ok(done?),
            }
        }
    }

    /// The visible text of the element a selector names.
    ///
    /// # Errors
    /// Where it does not appear.
    pub async fn text(&self, css: &str) -> Result<String, Failure> {
        self.with_element(css, async |element| element.text().await).await
    }

    /// Replaces what stands in an input and leaves it, as by typing and Tab.
    ///
    /// # Errors
    /// Where it does not appear.
    pub async fn fill(&self, css: &str, text: &str) -> Outcome {
        let input = self.element_at_rest(css).await?;
        input.click().await.map_err(|error| format!("cannot click {css}: {error}"))?;
        // Selecting all works where `clear` would send a change of its own.
        self.value_with("arguments[0].select()", vec![serde_json::to_value(&input)?]).await?;
        input.send_keys(&format!("{text}{}", Keys::TAB)).await?;
        Ok(())
    }

    /// Chooses a file in an `<input type=file>`.
    ///
    /// # Errors
    /// Where the input does not appear.
    pub async fn choose_file(&self, css: &str, file: &Path) -> Outcome {
        let file = file.canonicalize()?;
        self.element(css).await?.send_keys(&file.to_string_lossy()).await?;
        Ok(())
    }

    /// Presses keys one after the other, wherever the focus is.
    ///
    /// # Errors
    /// The driver's.
    pub async fn press(&self, keys: &[&str]) -> Outcome {
        let strokes: Vec<Value> = keys
            .iter()
            .flat_map(|key| {
                [json!({ "type": "keyDown", "value": key }), json!({ "type": "keyUp", "value": key })]
            })
            .collect();
        self.actions(json!([{ "type": "key", "id": "keys", "actions": strokes }])).await
    }

    /// Presses a key while another is held.
    ///
    /// # Errors
    /// The driver's.
    pub async fn press_with(&self, held: &str, key: &str) -> Outcome {
        let strokes = [("keyDown", held), ("keyDown", key), ("keyUp", key), ("keyUp", held)]
            .map(|(kind, key)| json!({ "type": kind, "value": key }));
        self.actions(json!([{ "type": "key", "id": "keys", "actions": strokes }])).await
    }

    /// Performs input actions (WebDriver §17.5).
    ///
    /// # Errors
    /// The driver's.
    pub async fn actions(&self, actions: Value) -> Outcome {
        self.command("actions", json!({ "actions": actions })).await.map(|_| ())
    }

    /// Runs a script in every page that this window opens from now on, before the page's own (Chromium only). Gives its name.
    ///
    /// # Errors
    /// The driver's.
    pub async fn before_page(&self, script: &str) -> Result<Value, Failure> {
        let made =
            self.devtools("Page.addScriptToEvaluateOnNewDocument", json!({ "source": script })).await?;
        Ok(made["identifier"].clone())
    }

    /// A command of Chromium's own developer protocol.
    ///
    /// # Errors
    /// The driver's; always in WebKit.
    pub async fn devtools(&self, method: &str, parameters: Value) -> Result<Value, Failure> {
        self.command("goog/cdp/execute", json!({ "cmd": method, "params": parameters })).await
    }

    async fn command(&self, path: &'static str, body: Value) -> Result<Value, Failure> {
        Ok(self.client.issue_cmd(Post { path, body: body.to_string() }).await?)
    }

    /// Writes a picture of the page to `target/shots` and says where.
    ///
    /// # Errors
    /// The driver's, and of writing.
    pub async fn shot(&self, label: &str) -> Result<std::path::PathBuf, Failure> {
        let Value::String(text) = self.command_get("screenshot").await? else {
            return Err("a screenshot is text".into());
        };
        let file = shots_dir()?.join(format!("{}.{label}.png", self.name));
        std::fs::write(&file, base64::engine::general_purpose::STANDARD.decode(text)?)?;
        Ok(file)
    }

    async fn command_get(&self, path: &'static str) -> Result<Value, Failure> {
        Ok(self.client.issue_cmd(Get { path }).await?)
    }

    /// What Chromium wrote to its console since the last look; empty in WebKit, whose driver has no such command.
    ///
    /// # Errors
    /// The driver's.
    pub async fn log(&self) -> Result<Vec<String>, Failure> {
        if self.engine != Engine::Chromium {
            return Ok(Vec::new());
        }
        let entries = self.command("se/log", json!({ "type": "browser" })).await?;
        let line = |entry: &Value| {
            format!("{} {}", entry["level"].as_str().unwrap_or("?"), entry["message"].as_str().unwrap_or("?"))
        };
        Ok(entries.as_array().into_iter().flatten().map(line).collect())
    }

    /// Fails where the console shows an error: a script that threw, a file that is missing, a breach of the policy.
    async fn no_errors_logged(&self) -> Outcome {
        let errors: Vec<String> =
            self.log().await?.into_iter().filter(|line| line.starts_with("SEVERE")).collect();
        if errors.is_empty() { Ok(()) } else { Err(format!("the console shows {errors:#?}").into()) }
    }

    /// Looks at the log and expects errors in it, each naming one of these words, so that they do not fail the test.
    ///
    /// # Errors
    /// Where there is another error.
    pub async fn expect_errors(&self, words: &[&str]) -> Outcome {
        let unexpected: Vec<String> = self
            .log()
            .await?
            .into_iter()
            .filter(|line| line.starts_with("SEVERE") && !words.iter().any(|word| line.contains(word)))
            .collect();
        if unexpected.is_empty() { Ok(()) } else { Err(format!("the console shows {unexpected:#?}").into()) }
    }

    /// The plan as the page holds it.
    ///
    /// # Errors
    /// Where the page has none yet.
    pub async fn plan_text(&self) -> Result<String, Failure> {
        let text = self.value("return window.counterpoise.planJson()").await?;
        text.as_str().map(str::to_owned).ok_or_else(|| "the page has no plan".into())
    }

    /// The plan as the page holds it, read.
    ///
    /// # Errors
    /// Where the page has none yet.
    pub async fn plan(&self) -> Result<Value, Failure> {
        Ok(serde_json::from_str(&self.plan_text().await?)?)
    }
}

fn whole(value: &Value) -> Result<u32, Failure> {
    let number = value.as_u64().and_then(|number| u32::try_from(number).ok());
    number.ok_or_else(|| format!("{value} is no size").into())
}

#[derive(Debug)]
struct Post {
    path: &'static str,
    body: String,
}

impl WebDriverCompatibleCommand for Post {
    fn endpoint(&self, base: &url::Url, session: Option<&str>) -> Result<url::Url, url::ParseError> {
        base.join(&format!("session/{}/{}", session.unwrap_or_default(), self.path))
    }
    fn method_and_body(&self, _: &url::Url) -> (http::Method, Option<String>) {
        (http::Method::POST, Some(self.body.clone()))
    }
}

#[derive(Debug)]
struct Get {
    path: &'static str,
}

impl WebDriverCompatibleCommand for Get {
    fn endpoint(&self, base: &url::Url, session: Option<&str>) -> Result<url::Url, url::ParseError> {
        base.join(&format!("session/{}/{}", session.unwrap_or_default(), self.path))
    }
    fn method_and_body(&self, _: &url::Url) -> (http::Method, Option<String>) {
        (http::Method::GET, None)
    }
}
