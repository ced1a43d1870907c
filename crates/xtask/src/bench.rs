//! `cargo xtask bench`: speed and size against their limits, all from one run on one machine.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Component, Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::Value;

use crate::command::{cargo, root, run as run_command, target_dir};
use crate::{Problem, browsers, page, ready, release, server};

/// Report and scene of a pair in wasm, µs: a small part of a frame, so that a drag never waits for it.
const FRAME_US: f64 = 500.0;
/// How much slower wasm may be than the same work natively.
const WASM_TO_NATIVE: f64 = 1.35;
/// The fit of one brow in wasm, µs: below what a tap is felt to take.
const FIT_US: f64 = 20_000.0;
/// Script for one move of a slider with a processor four times slower, ms: half of a frame at 60 Hz.
const SLIDER_MS: f64 = 8.0;
/// One balance curve and a family of them in wasm, ms: what a new rule may take to answer.
const CURVE_MS: f64 = 50.0;
const FAMILY_MS: f64 = 250.0;
/// Photo assist: one run of the network and the hair of both brows, wasm, ms: so that the whole takes about a second on a slow tablet …
const NETWORK_MS: f64 = 30.0;
const HAIR_MS: f64 = 250.0;
/// … which is the limit for a photo of 12 megapixels with a processor four times slower, ms.
const ASSIST_MS: f64 = 1000.0;
/// What photo assist loads when it is first used, compressed, bytes.
const ASSIST_BYTES: f64 = 2_600_000.0;
/// Everything a first visit loads before it works, compressed, bytes.
const SIZE_BYTES: f64 = 250_000.0;

/// From an empty cache to a page that can be worked with, CPU four times slower, ms.
const START_MS: f64 = 3000.0;
/// How much memory may be held after a long visit that was not held before, MB: two hundred steps of undo are about two.
const GROWTH_MB: f64 = 4.0;
/// How far the areas of all pairs of the fixtures may be from those of another library, mm²: 1e-6 for each of a hundred and forty areas.
const AREAS_MM2: f64 = 1.4e-4;
/// How much worse a balance may be than the other library's by its own measure, %: the bound of the reference tests.
const WISH_PCT: f64 = 2.0;
/// What other libraries compute as well, below `tests/fixtures`.
const FIXTURES: [&str; 3] = ["shapes.json", "fit-scipy.json", "balance-slsqp.json"];
/// Those libraries, as they made the fixtures.
const PYTHON_LIBRARIES: [&str; 3] = ["numpy==2.4.6", "scipy==1.17.1", "shapely==2.2.0"];
/// What `--check` holds the table to: generous, so that another machine passes and a mishap does not.
const LIMITS: &str = include_str!("../bench-limits.json");

/// Prints one table.
///
/// # Errors
/// Where something cannot be built or run; for being slow only where that is to be checked.
pub fn run(wants_check: bool) -> Result<(), Problem> {
    browsers::ensure_installed()?;
    page::build()?;
    let folder = target_dir().join("bench-page");
    page::build_example("bench_wasm", &folder)?;
    let plan = root().join("demo/first.counterpoise.json");
    let native = measured(
        cargo()
            .args(["run", "--quiet", "--package", "counterpoise-web", "--example", "bench_native"])
            .args(["--profile", page::PROFILE, "--"])
            .arg(&plan)
            .args(FIXTURES.map(|name| root().join("tests/fixtures").join(name))),
    )?;
    let vision = target_dir().join("bench-vision");
    page::build_vision_example("bench_vision", &vision)?;
    let fixtures = root().join("tests/fixtures");
    let mut mounts = vec![("bench/", folder), ("bench-vision/", vision), ("bench-fixtures/", fixtures)];
    let data = root().join("../shared/data");
    if data.is_dir() {
        mounts.push(("bench-data/", data));
    }
    let server = server::Server::of_page(Some(0), mounts)?;
    let in_page = measured(
        cargo()
            .args([
                "run",
                "--quiet",
                "--package",
                "counterpoise-tests",
                "--features",
                "page",
                "--bin",
                "bench_page",
            ])
            .env("COUNTERPOISE_PAGE", server.address()),
    )?;
    let core = &in_page["core"];
    if let Some(error) = core["error"].as_str() {
        return Err(format!("the page could not be timed: {error}"));
    }
    let independent = independent([&native, core]).unwrap_or_else(|problem| {
        println!("other libraries were not timed: {problem}");
        Value::Null
    });
    let rows = table(&native, &in_page, &independent, sizes()?);
    print_table(&rows);
    if wants_check { check(&rows) } else { Ok(()) }
}

/// The JSON on the last line that a program prints.
fn measured(command: &mut Command) -> Result<Value, Problem> {
    let output = command.stderr(Stdio::inherit()).output().map_err(|error| format!("cannot run: {error}"))?;
    let text = String::from_utf8_lossy(&output.stdout);
    let line = text.lines().last().unwrap_or_default();
    if !output.status.success() {
        return Err(format!("a benchmark failed ({}): {text}", output.status));
    }
    serde_json::from_str(line).map_err(|error| format!("a benchmark printed {line}: {error}"))
}

/// A line of the table.
struct Row {
    what: String,
    value: f64,
    unit: &'static str,
    /// What it should not exceed: the goal, which a slow machine may miss.
    goal: Option<f64>,
}

fn print_table(rows: &[Row]) {
    println!("| what | measured | limit | measured/limit |");
    println!("|---|---:|---:|---:|");
    for Row { what, value, unit, goal } in rows {
        match goal {
            Some(goal) => println!("| {what} | {value:.2} {unit} | {goal} {unit} | {:.2} |", value / goal),
            None => println!("| {what} | {value:.2} {unit} | | |"),
        }
    }
}

/// Holds the table to `bench-limits.json`, whose names are those of its lines.
fn check(rows: &[Row]) -> Result<(), Problem> {
    let limits: BTreeMap<String, f64> =
        serde_json::from_str(LIMITS).map_err(|error| format!("bench-limits.json: {error}"))?;
    let gone: Vec<&str> =
        limits.keys().filter(|name| !rows.iter().any(|row| row.what == **name)).map(String::as_str).collect();
    if !gone.is_empty() {
        return Err(format!("bench-limits.json has what is not measured: {}", gone.join("; ")));
    }
    let over: Vec<String> = rows
        .iter()
        .filter_map(|row| {
            let limit = limits.get(&row.what)?;
            // What could not be measured is no number, and not within a limit.
            let is_within = row.value <= *limit;
            (!is_within).then(|| format!("{}: {:.2} {}, at most {limit}", row.what, row.value, row.unit))
        })
        .collect();
    println!("{} lines are held to limits.", limits.len());
    if over.is_empty() { Ok(()) } else { Err(format!("beyond the limits:\n{}", over.join("\n"))) }
}

/// The same work by libraries that share nothing with the core, in a Python of its own; and how good they find the core's balances.
fn independent(balanced: [&Value; 2]) -> Result<Value, Problem> {
    let home = target_dir().join("oracle");
    let python = home.join("bin/python");
    if !python.is_file() {
        run_command(Command::new("python3").args(["-m", "venv"]).arg(&home))?;
    }
    // Quick where they are there already.
    run_command(Command::new(&python).args(["-m", "pip", "install", "--quiet"]).args(PYTHON_LIBRARIES))?;
    let balances = balanced.map(|found| found["balance"].to_string());
    measured(Command::new(&python).arg(root().join("tests/oracle/bench.py")).args(balances))
}

fn table(
    native: &Value,
    in_page: &Value,
    independent: &Value,
    sizes: Vec<(&'static str, Sizes)>,
) -> Vec<Row> {
    let number = |value: &Value| value.as_f64().unwrap_or(f64::NAN);
    let core = &in_page["core"];
    let (frame, frame_native) = (number(&core["frame_us"]), number(&native["frame_us"]));
    let (fit, fit_native) = (number(&core["fit_us"]), number(&native["fit_us"]));
    let mut rows = Vec::new();
    let mut row = |what: &str, value: f64, unit: &'static str, goal: Option<f64>| {
        rows.push(Row { what: what.to_owned(), value, unit, goal });
    };
    row("report + scene of a pair, native", frame_native, "µs", None);
    row("report + scene of a pair, wasm", frame, "µs", Some(FRAME_US));
    row("the same, wasm to native", frame / frame_native, "×", Some(WASM_TO_NATIVE));
    row("the same with one pose recorded, native", number(&native["posed_us"]), "µs", None);
    row("the same with one pose recorded, wasm", number(&core["posed_us"]), "µs", None);
    let (drag, drag_native) = (number(&core["drag_us"]), number(&native["drag_us"]));
    row("what a drag of an outline draws and shows, native", drag_native, "µs", None);
    row("what a drag of an outline draws and shows, wasm", drag, "µs", Some(FRAME_US));
    row("report through the page's boundary", number(&core["boundary_us"]), "µs", None);
    row("fit of one brow, native", fit_native, "µs", None);
    row("fit of one brow, wasm", fit, "µs", Some(FIT_US));
    row("the same, wasm to native", fit / fit_native, "×", None);
    row(
        "slider to painted frame, script, CPU 4 × slower, median",
        number(&in_page["slider_ms"]["median"]),
        "ms",
        None,
    );
    row(
        "slider to painted frame, script, CPU 4 × slower, 95th",
        number(&in_page["slider_ms"]["p95"]),
        "ms",
        Some(SLIDER_MS),
    );
    let with_numbers = &in_page["slider_numbers_ms"];
    row("the same with the numbers behind that frame, median", number(&with_numbers["median"]), "ms", None);
    row("the same with the numbers behind that frame, 95th", number(&with_numbers["p95"]), "ms", None);
    for (id, what, limit) in [
        ("curve_ms", "balance curve of a real pair, wasm", CURVE_MS),
        ("family_ms", "family of balance curves of a real pair, wasm", FAMILY_MS),
    ] {
        let found = &core[id];
        row(&format!("{what}, median of {}", found["pairs"]), number(&found["median"]), "ms", Some(limit));
        row(&format!("{what}, worst"), number(&found["worst"]), "ms", None);
    }
    let assist = &in_page["assist"];
    if let Some(error) = assist["error"].as_str() {
        println!("| photo assist was not timed: {error} | | | |");
    }
    for (id, what, limit) in [
        ("network_ms", "photo assist, one run of the network", NETWORK_MS),
        ("hair_ms", "photo assist, hair of both brows", HAIR_MS),
        ("slow_hair_ms", "the same, CPU 4 × slower", HAIR_MS),
        ("whole_ms", "photo assist, 12 megapixels to all guesses, CPU 4 × slower", ASSIST_MS),
    ] {
        row(&format!("{what}, median"), number(&assist[id]), "ms", Some(limit));
    }
    let kilobytes = |bytes: usize| bytes as f64 / 1000.0;
    for (kind, Sizes { ready, .. }) in &sizes {
        let limit = (*kind == VISION).then_some(ASSIST_BYTES / 1000.0);
        row(&format!("{kind}, gzip"), kilobytes(*ready), "kB", limit);
    }
    let first = || sizes.iter().filter(|(kind, _)| FIRST_VISIT.contains(kind)).map(|(_, sizes)| sizes);
    let ready = first().map(|sizes| sizes.ready).sum();
    row("first visit: wasm + js + css + html, gzip", kilobytes(ready), "kB", Some(SIZE_BYTES / 1000.0));
    let on_the_way = first().map(|sizes| sizes.on_the_way).sum();
    row("the same from a host that compresses on the way", kilobytes(on_the_way), "kB", None);
    for (what, id, theirs, by) in [
        ("kept, removed and added of a pair", "areas_us", "areas_us", "GEOS"),
        ("fit of the invented brow", "common_fit_us", "fit_us", "scipy"),
        ("balance of an invented pair at 5 and 10 %", "balance_us", "balance_us", "scipy"),
    ] {
        let [here, wasm, other] = [number(&native[id]), number(&core[id]), number(&independent[theirs])];
        row(&format!("{what}, native"), here, "µs", None);
        row(&format!("{what}, wasm"), wasm, "µs", None);
        row(&format!("{what}, {by}"), other, "µs", None);
        row(&format!("{what}, {by} to wasm"), other / wasm, "×", None);
    }
    let areas = [&native["areas_mm2"], &core["areas_mm2"]]
        .map(|ours| (number(ours) - number(&independent["areas_mm2"])).abs());
    row("areas of all pairs, native against GEOS", areas[0], "mm²", Some(AREAS_MM2));
    row("areas of all pairs, wasm against GEOS", areas[1], "mm²", Some(AREAS_MM2));
    for (which, what) in ["native", "wasm"].into_iter().enumerate() {
        let more = number(&independent["wishes_mm2"][which]) / number(&independent["wish_mm2"]) - 1.0;
        row(&format!("what that leaves to wish for, {what} beyond scipy"), 100.0 * more, "%", Some(WISH_PCT));
    }
    let starts = &in_page["starts_ms"];
    row("nothing to working page, CPU 4 × slower, median", number(&starts["median"]), "ms", Some(START_MS));
    let memory = &in_page["memory"];
    for (id, what) in [("heap_mb", "JavaScript"), ("wasm_mb", "wasm")] {
        let what = format!("more memory after 200 edits and 20 photos, {what}");
        row(&what, number(&memory[id]), "MB", Some(GROWTH_MB));
    }
    row("more nodes after 200 edits and 20 photos", number(&memory["nodes"]), "nodes", None);
    rows
}

/// Kinds of files that a first visit loads; the texts are one more, of which each language has its own.
const FIRST_VISIT: [&str; 4] = ["wasm", "js", "css", "html"];
/// What is loaded when a lesson or an exercise is first opened; its scripts are counted with those of the other steps.
const TEACHING: &str = "lessons on first use: wasm + bindings";
/// What is loaded when a sheet is first printed.
const SHEET: &str = "sheet on first use: wasm + js";
/// What is loaded when points are first looked for on a photo.
const VISION: &str = "photo assist on first use: wasm + js + weights";
/// Panels and views that are fetched when they are first shown, or a second after the start.
const LATER: &str = "js of other steps";
/// What is loaded when a pair is first balanced.
const BALANCE: &str = "balance on first use: wasm + js";

/// How much files are by gzip, bytes.
#[derive(Clone, Copy, Default)]
struct Sizes {
    /// As a release carries them.
    ready: usize,
    /// As a host makes them that does not hand those out.
    on_the_way: usize,
}

/// Compressed sizes of the released files by kind; each file by itself, as a server sends it.
fn sizes() -> Result<Vec<(&'static str, Sizes)>, Problem> {
    let mut kinds: Vec<_> = FIRST_VISIT
        .into_iter()
        .chain([LATER, BALANCE, SHEET, TEACHING, VISION, "texts"])
        .map(|kind| (kind, Sizes::default()))
        .collect();
    let folder = target_dir().join("bench-dist");
    release::write(&folder)?;
    release::join(&folder)?;
    let mut files = Vec::new();
    release::collect(&folder, &mut files)
        .map_err(|error| format!("cannot list {}: {error}", folder.display()))?;
    let solver = Path::new("pkg").join(page::BALANCE);
    let begins_with = imported_at_once(&folder);
    let linked = std::fs::read_to_string(folder.join("index.html")).unwrap_or_default();
    for file in files {
        let place = file.strip_prefix(&folder).unwrap_or(&file);
        let is_of_balance = place.starts_with(&solver)
            || ["js/balance_solver.js", "js/balance_worker.js"].iter().any(|name| place == Path::new(name));
        let is_of_sheet =
            place.starts_with(Path::new("pkg").join(page::SHEET)) || place == Path::new("js/sheet_maker.js");
        let is_of_vision =
            place.starts_with(Path::new("pkg").join(page::VISION)) || place == Path::new("js/face_worker.js");
        let kind = match place.extension().and_then(|ending| ending.to_str()) {
            Some("wasm" | "js") if is_of_balance => BALANCE,
            Some("wasm" | "js") if is_of_sheet => SHEET,
            Some("wasm" | "js") if place.starts_with(Path::new("pkg").join(page::TEACHING)) => TEACHING,
            // Either module is loaded, never both; the wide one is the larger.
            Some("wasm" | "js" | "tflite") if is_of_vision && !is_narrow(place) => VISION,
            _ if is_of_vision => continue,
            Some("wasm") => "wasm",
            Some("js") if begins_with.contains(place) => "js",
            Some("js") => LATER,
            Some("css") if linked.contains(&*place.to_string_lossy()) => "css",
            Some("css") => LATER,
            Some("html") => "html",
            Some("json") if place.starts_with("messages") => "texts",
            _ => continue,
        };
        let content =
            std::fs::read(&file).map_err(|error| format!("cannot read {}: {error}", file.display()))?;
        let (ready, on_the_way) = (ready::packed(&content)?.len(), ready::packed_at_once(&content)?.len());
        for (_, sum) in kinds.iter_mut().filter(|(each, _)| *each == kind) {
            sum.ready += ready;
            sum.on_the_way += on_the_way;
        }
    }
    Ok(kinds)
}

/// Whether a file is of the module of photo assist for engines that do not compute four numbers at once.
fn is_narrow(place: &Path) -> bool {
    place.parent() == Some(&Path::new("pkg").join(page::VISION))
        && place.extension().is_none_or(|ending| ending != "tflite")
}

/// Scripts that the page cannot start without: what `js/main.js` imports, and what that imports, `import()` apart.
fn imported_at_once(folder: &Path) -> BTreeSet<PathBuf> {
    let mut found = BTreeSet::new();
    let mut waiting = vec![PathBuf::from("js/main.js")];
    while let Some(place) = waiting.pop() {
        let Ok(text) = std::fs::read_to_string(folder.join(&place)) else { continue };
        if !found.insert(place.clone()) {
            continue;
        }
        // Released scripts are shrunk, but a name in an import stays a text in quotation marks behind `from` or `import`.
        for (at, _) in text.match_indices(['"', '\'']) {
            let before = text.get(..at).unwrap_or_default().trim_end();
            let Some(named) = text.get(at + 1..).and_then(|rest| rest.split(['"', '\'']).next()) else {
                continue;
            };
            if (before.ends_with("from") || before.ends_with("import")) && named.starts_with('.') {
                let mut path = place.parent().unwrap_or(Path::new("")).to_path_buf();
                for part in Path::new(named).components() {
                    match part {
                        Component::ParentDir => {
                            path.pop();
                        }
                        Component::Normal(name) => path.push(name),
                        _ => {}
                    }
                }
                waiting.push(path);
            }
        }
    }
    found
}
