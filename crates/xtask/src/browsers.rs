//! The browsers of the acceptance tests: that they are there, and a screen for the one that needs it.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};

use crate::Problem;
use crate::command::{find, output, run};

/// What the acceptance tests run, and the Debian package it comes in.
const NEEDED: [(&str, &str); 7] = [
    ("chromium", "chromium"),
    ("chromedriver", "chromium-driver"),
    ("WebKitWebDriver", "webkit2gtk-driver"),
    ("firefox", "firefox-esr"),
    ("Xvfb", "xvfb"),
    ("npm", "npm"),
    // Without any font a page has no text, and nothing on it can be measured.
    ("fc-list", "fontconfig"),
];
/// Firefox' driver is in no package of Debian's: its crate, and the version that is used.
pub const FIREFOX_DRIVER: (&str, &str) = ("geckodriver", "0.37.1");
/// Installed along with any of the others.
const FONTS: &str = "fonts-dejavu-core";

/// Checks that the browsers and their drivers are there, all but Firefox' driver, which is in no package; installs them on Debian as root.
///
/// # Errors
/// Names exactly what is missing.
pub fn ensure_installed() -> Result<(), Problem> {
    let missing = missing();
    if missing.is_empty() {
        return Ok(());
    }
    let packages = missing.iter().map(|(_, package)| *package).chain([FONTS]).collect::<Vec<_>>();
    let programs = missing.iter().map(|(program, _)| *program).collect::<Vec<_>>().join(", ");
    let root = output(Command::new("id").arg("-u")).as_deref() == Some("0");
    let debian = Path::new("/etc/debian_version").exists() && find("apt-get").is_some();
    if !(root && debian) {
        return Err(format!(
            "the browser tests need {programs}; on Debian, as root: apt-get install {}",
            packages.join(" ")
        ));
    }
    println!("Installing for the browser tests: {}", packages.join(" "));
    run(Command::new("apt-get").arg("update"))?;
    run(Command::new("apt-get")
        .env("DEBIAN_FRONTEND", "noninteractive")
        .args(["install", "--yes", "--no-install-recommends"])
        .args(&packages))?;
    match self::missing().first() {
        None => Ok(()),
        Some((program, package)) => Err(format!("{program} is still missing after installing {package}")),
    }
}

fn missing() -> Vec<(&'static str, &'static str)> {
    NEEDED.into_iter().filter(|(program, _)| find(program).is_none()).collect()
}

/// A virtual screen: WebKit has no headless mode.
pub struct Screen {
    server: Child,
    number: String,
}

impl Screen {
    /// Starts one, large enough for a tablet held upright and the browser's own bars.
    ///
    /// # Errors
    /// Where it cannot be started.
    pub fn start() -> Result<Screen, Problem> {
        // With -displayfd the server itself finds a free number and writes it to its standard output.
        let mut server = Command::new("Xvfb")
            .args(["-displayfd", "1", "-screen", "0", "1400x1400x24", "-nolisten", "tcp"])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|error| format!("cannot start Xvfb: {error}"))?;
        let mut number = String::new();
        if let Some(pipe) = server.stdout.take() {
            // The reader is dropped with the first line; the server writes no second one.
            let _ = BufReader::new(pipe).read_line(&mut number);
        }
        let number = number.trim().to_owned();
        if number.is_empty() {
            let _ = server.kill();
            let _ = server.wait();
            return Err("Xvfb did not start".into());
        }
        Ok(Screen { server, number })
    }

    /// What `DISPLAY` must be.
    pub fn display(&self) -> String {
        format!(":{}", self.number)
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}
