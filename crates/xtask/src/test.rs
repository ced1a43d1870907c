//! `cargo xtask test [AREA]`.

use std::process::Command;

use clap::ValueEnum;

use crate::command::{cargo, root, run, target_dir};
use crate::{Problem, axe, browsers, page, release, server, tool, weights};

/// A part of the checks.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Area {
    /// Format, lints, and the tests beside the code.
    Core,
    /// Laws, oracles and real brows.
    Reference,
    /// The page in Chromium and WebKit.
    Page,
}

/// What `proptest` takes its cases from.
const SEED: &str = "PROPTEST_RNG_SEED";

/// Runs one area, or all of them; all are run even where one fails, so that one look shows everything.
///
/// # Errors
/// Names the areas that failed.
pub fn run_areas(area: Option<Area>, rest: &[String]) -> Result<(), Problem> {
    let areas = match &area {
        Some(area) => std::slice::from_ref(area),
        None => &[Area::Core, Area::Reference, Area::Page],
    };
    let mut failed = Vec::new();
    for area in areas {
        let (name, done) = match area {
            Area::Core => ("core", core(rest)),
            Area::Reference => ("reference", reference(rest)),
            Area::Page => ("page", page(rest)),
        };
        match done {
            Ok(()) => println!("== {name}: passed"),
            Err(problem) => {
                println!("== {name}: FAILED: {problem}");
                failed.push(name);
            }
        }
    }
    if failed.is_empty() { Ok(()) } else { Err(format!("failed: {}", failed.join(", "))) }
}

fn core(rest: &[String]) -> Result<(), Problem> {
    page::ensure_components()?;
    page::ensure_target()?;
    run(cargo().args(["fmt", "--all", "--check"]))?;
    run(cargo().args(["clippy", "--workspace", "--all-targets", "--all-features", "--", "-D", "warnings"]))?;
    run(cargo()
        .args([
            "clippy",
            "--package",
            "counterpoise-web",
            "--package",
            "counterpoise-web-teaching",
            "--package",
            "counterpoise-web-vision",
            "--target",
            "wasm32-unknown-unknown",
        ])
        .args(["--", "-D", "warnings"]))?;
    let crates = [
        "counterpoise-geometry",
        "counterpoise-plan",
        "counterpoise-sheet",
        "counterpoise-teaching",
        "counterpoise-vision",
        "counterpoise-web",
        "counterpoise-cli",
        "xtask",
    ];
    let mut test = cargo();
    seeded(&mut test).arg("test").args(crates.iter().flat_map(|name| ["--package", name]));
    run(test.arg("--no-fail-fast").arg("--").args(rest))
}

fn reference(rest: &[String]) -> Result<(), Problem> {
    let weights = weights::fetch()?;
    run(cargo().args(["build", "--package", "counterpoise-cli"]))?;
    let mut test = cargo();
    seeded(&mut test).args(["test", "--package", "counterpoise-tests", "--no-fail-fast", "--"]).args(rest);
    run(with_surroundings(test.env("COUNTERPOISE_WEIGHTS", weights)))
}

fn page(rest: &[String]) -> Result<(), Problem> {
    browsers::ensure_installed()?;
    let geckodriver = tool::installed(browsers::FIREFOX_DRIVER.0, browsers::FIREFOX_DRIVER.1)?;
    let axe = axe::fetch()?;
    page::build()?;
    run(cargo().args(["build", "--package", "counterpoise-cli"]))?;
    let server = server::Server::of_page(Some(0), Vec::new())?;
    // What is handed on: the page in one file, packages for courses; and a site that shows the page in a frame.
    let (site, packed) = (target_dir().join("page-site"), target_dir().join("page-packed"));
    release::write(&site)?;
    release::write_packed(&site, &packed)?;
    release::join(&site)?;
    // Two releases that differ in nothing that is seen, for the way from one to the next.
    let releases = target_dir().join("page-releases");
    for name in ["one", "two"] {
        let folder = releases.join(name);
        release::write(&folder)?;
        if name == "two" {
            let texts = folder.join("messages/en.json");
            let longer = std::fs::read_to_string(&texts).map(|text| text + "\n");
            longer
                .and_then(|text| std::fs::write(&texts, text))
                .map_err(|error| format!("{}: {error}", texts.display()))?;
        }
        release::finish(&folder)?;
    }
    let other = server::Server::of_another_site(vec![
        ("packed/", packed.clone()),
        ("planner/", site),
        ("", root().join("tests/fixtures/site")),
    ])?;
    let screen = browsers::Screen::start()?;
    let mut test = cargo();
    test.args(["test", "--package", "counterpoise-tests", "--features", "page", "--no-fail-fast"])
        .args(["--test", "page_*"])
        .env("COUNTERPOISE_PAGE", server.address())
        .env("COUNTERPOISE_SITE", other.address())
        .env("COUNTERPOISE_PACKED", packed)
        .env("COUNTERPOISE_RELEASES", releases)
        .env("COUNTERPOISE_AXE", axe)
        .env("COUNTERPOISE_GECKODRIVER", geckodriver)
        .env("DISPLAY", screen.display());
    // One browser at a time: two on two cores would measure each other's waiting.
    run(with_surroundings(&mut test).arg("--").arg("--test-threads=1").args(rest))
}

/// Gives tests by chance the same cases every time where they judge a change: the same text gets the same verdict. Anywhere else each run
/// tries new ones, as the fuzzer does.
fn seeded(test: &mut Command) -> &mut Command {
    if std::env::var_os("CI").is_some() && std::env::var_os(SEED).is_none() {
        test.env(SEED, "1");
    }
    test
}

/// Tells the tests where the command-line program and the data lie.
fn with_surroundings(test: &mut Command) -> &mut Command {
    test.env(
        "COUNTERPOISE_CLI",
        target_dir().join("debug").join(format!("counterpoise{}", std::env::consts::EXE_SUFFIX)),
    );
    let data = root().join("../shared/data");
    if std::env::var_os("COUNTERPOISE_DATA").is_none() && data.is_dir() {
        test.env("COUNTERPOISE_DATA", data);
    }
    test
}
