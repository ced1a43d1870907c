//! The driver programs, one process for each session: WebKit's serves no second one.

use std::ffi::OsString;
use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Map, Value, json};

use super::Failure;

/// A browser engine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Engine {
    /// Chromium, without a window, through chromedriver.
    Chromium,
    /// WebKitGTK's MiniBrowser through WebKitWebDriver. A stand-in for Safari's engine, not for its touch and pen.
    WebKit,
    /// Firefox, without a window, through geckodriver.
    Firefox,
}

impl Engine {
    /// The driver's program. Firefox' own is in no package of Debian's, so that the test command says where it is.
    fn program(self) -> OsString {
        match self {
            Engine::Chromium => "chromedriver".into(),
            Engine::WebKit => "WebKitWebDriver".into(),
            Engine::Firefox => {
                std::env::var_os("COUNTERPOISE_GECKODRIVER").unwrap_or_else(|| "geckodriver".into())
            }
        }
    }

    /// What is asked of the driver for a new session.
    pub(super) fn capabilities(self) -> Result<Map<String, Value>, Failure> {
        let wanted = match self {
            Engine::Chromium => json!({
                "browserName": "chrome",
                "goog:chromeOptions": {
                    "binary": on_the_path(&["chromium", "chromium-browser", "google-chrome"])?,
                    // Without a sandbox, since the checks may run as root; without anything that calls home.
                    "args": [
                        "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
                        "--disable-background-networking", "--disable-component-update", "--disable-sync",
                        "--disable-dev-shm-usage", "--force-prefers-reduced-motion",
                        // A process in reserve would be taken for that of a page.
                        "--disable-features=SpareRendererForSitePerProcess",
                    ],
                },
                "goog:loggingPrefs": { "browser": "ALL" },
            }),
            Engine::WebKit => json!({
                "browserName": "MiniBrowser",
                "webkitgtk:browserOptions": { "binary": mini_browser()?, "args": ["--automation"] },
            }),
            Engine::Firefox => json!({
                "browserName": "firefox",
                "moz:firefoxOptions": {
                    "binary": on_the_path(&["firefox", "firefox-esr"])?,
                    "args": ["-headless"],
                    "prefs": {
                        "ui.prefersReducedMotion": 1,
                        // A file that was saved is not opened as well: another tab in front would leave the page without frames.
                        "pdfjs.disabled": true,
                        // Nor does the list of them take the keys away.
                        "browser.download.alwaysOpenPanel": false,
                        "browser.download.folderList": 2,
                        "browser.download.dir": std::env::temp_dir(),
                        // Nothing calls home.
                        "app.normandy.enabled": false,
                        "datareporting.policy.dataSubmissionEnabled": false,
                    },
                },
            }),
        };
        match wanted {
            Value::Object(map) => Ok(map),
            _ => Err("capabilities are a map".into()),
        }
    }
}

/// The first program on the search path that has one of these names.
fn on_the_path(names: &[&str]) -> Result<PathBuf, Failure> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path)
        .flat_map(|dir| names.iter().map(move |name| dir.join(name)))
        .find(|file| file.is_file())
        .ok_or_else(|| format!("none of {names:?} on the search path").into())
}

/// MiniBrowser lies in the library folder of its version and architecture, not on the search path.
fn mini_browser() -> Result<PathBuf, Failure> {
    let roots = ["/usr/lib", "/usr/lib64", "/usr/libexec"].map(PathBuf::from);
    let below = roots.iter().filter_map(|root| std::fs::read_dir(root).ok()).flatten().flatten();
    let folders = roots.iter().cloned().chain(below.map(|entry| entry.path()));
    folders
        .flat_map(|dir| {
            ["webkit2gtk-4.1", "webkitgtk-6.0", "webkit2gtk-4.0"].map(|v| dir.join(v).join("MiniBrowser"))
        })
        .find(|file| file.is_file())
        .ok_or_else(|| "no MiniBrowser in the library folders".into())
}

/// A running driver and, through it, a running browser. Both end with this value.
pub(super) struct Driver {
    process: Child,
    port: u16,
    /// Set once a session is open, so that the browser is asked to leave before the driver is ended.
    pub(super) session: Option<String>,
}

impl Driver {
    pub(super) fn start(engine: Engine) -> Result<Driver, Failure> {
        // The port is free now and might be taken a moment later; then the driver ends at once and another is tried.
        for _ in 0..5 {
            let port = TcpListener::bind("127.0.0.1:0")?.local_addr()?.port();
            let mut command = Command::new(engine.program());
            match engine {
                Engine::Chromium => command.arg(format!("--port={port}")),
                Engine::WebKit => command.arg("-p").arg(port.to_string()),
                // A free port of its own for what it speaks with the browser.
                Engine::Firefox => command.arg(format!("--port={port}")).arg("--websocket-port=0"),
            };
            let process = command
                .stdin(Stdio::null())
                .stdout(Stdio::null())
                .stderr(Stdio::null())
                .spawn()
                .map_err(|error| format!("cannot start {}: {error}", engine.program().display()))?;
            let mut driver = Driver { process, port, session: None };
            if driver.listens()? {
                return Ok(driver);
            }
        }
        Err(format!("{} does not come up", engine.program().display()).into())
    }

    /// The process of the driver.
    pub(super) fn process(&self) -> u32 {
        self.process.id()
    }

    pub(super) fn address(&self) -> String {
        format!("http://127.0.0.1:{}", self.port)
    }

    /// Waits until it answers; false where it has ended instead.
    fn listens(&mut self) -> Result<bool, Failure> {
        let start = Instant::now();
        while start.elapsed() < Duration::from_secs(20) {
            if TcpStream::connect(("127.0.0.1", self.port)).is_ok() {
                return Ok(true);
            }
            if self.process.try_wait()?.is_some() {
                return Ok(false);
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        Ok(false)
    }

    /// `DELETE /session/…`, by hand, because a test that panicked has no running executor to do it with.
    fn end_session(&self) -> std::io::Result<()> {
        let Some(session) = &self.session else { return Ok(()) };
        let mut stream = TcpStream::connect(("127.0.0.1", self.port))?;
        stream.set_read_timeout(Some(Duration::from_secs(5)))?;
        write!(
            stream,
            "DELETE /session/{session} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Length: 0\r\nConnection: close\r\n\r\n",
            self.port
        )?;
        stream.read(&mut [0; 64]).map(|_| ())
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        let started = descendants(self.process.id());
        let _ = self.end_session();
        let _ = self.process.kill();
        let _ = self.process.wait();
        // Only what this very driver started, and only where asking did not end it.
        for process in started.into_iter().filter(|process| Path::new(&format!("/proc/{process}")).exists()) {
            let _ = Command::new("kill").arg(process.to_string()).stderr(Stdio::null()).status();
        }
    }
}

impl Engine {
    /// The processes below the driver that run a page.
    pub(super) fn processes(self, driver: u32) -> Vec<u32> {
        let runs_a_page = |process: &u32| {
            let line = std::fs::read(format!("/proc/{process}/cmdline")).unwrap_or_default();
            let line = String::from_utf8_lossy(&line);
            match self {
                Engine::Chromium => line.contains("--type=renderer"),
                Engine::WebKit => line.contains("WebKitWebProcess"),
                Engine::Firefox => line.contains("-contentproc") && line.ends_with("tab\0"),
            }
        };
        descendants(driver).into_iter().filter(runs_a_page).collect()
    }
}

/// Ends processes without asking them.
pub(super) fn kill(processes: &[u32]) {
    let names = processes.iter().map(u32::to_string);
    let _ = Command::new("kill").arg("-KILL").args(names).stderr(Stdio::null()).status();
}

/// Every process below this one, as Linux tells; none on other systems. A process is listed with the thread that started it.
fn descendants(process: u32) -> Vec<u32> {
    let threads = std::fs::read_dir(format!("/proc/{process}/task")).into_iter().flatten().flatten();
    let children = threads.flat_map(|thread| {
        let list = std::fs::read_to_string(thread.path().join("children")).unwrap_or_default();
        list.split_whitespace().filter_map(|word| word.parse().ok()).collect::<Vec<u32>>()
    });
    children.flat_map(|child| descendants(child).into_iter().chain([child])).collect()
}
