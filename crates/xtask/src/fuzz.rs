//! `cargo xtask fuzz`: the laws of `tests/src/laws.rs`, tried by a fuzzer on everything that reads what others wrote.

use std::path::PathBuf;
use std::process::{Command, Stdio};

use crate::command::{root, run, target_dir};
use crate::{Problem, tool, weights};

/// The tool and the version that is used.
const TOOL: (&str, &str) = ("cargo-fuzz", "0.13.2");
/// Longest a single input may take, s: a balance in a build with all checks takes a tenth of it.
const SLOWEST_S: u32 = 20;
/// Seeds of generators have so many bytes (`tests/fuzz/lib.rs`).
const SEED_BYTES: usize = 32;
/// Longest text that is tried: five times the longest file of the demo.
const TEXT_BYTES: usize = 80_000;
/// The face network has 2.5 MB.
const NETWORK_BYTES: usize = 3_000_000;

/// What is fuzzed: name, longest input in bytes, and folders whose files it begins with beside its own corpus.
const TARGETS: [(&str, usize, &[&str]); 10] = [
    ("plan_file", TEXT_BYTES, &["demo"]),
    ("edit_text", TEXT_BYTES, &[]),
    ("edits", SEED_BYTES, &[]),
    ("motion", SEED_BYTES, &[]),
    ("balance", SEED_BYTES, &[]),
    ("sheet", SEED_BYTES, &[]),
    ("teaching_file", TEXT_BYTES, &["demo"]),
    ("kept_work", TEXT_BYTES, &["demo"]),
    ("network_file", NETWORK_BYTES, &[]),
    ("picture", SEED_BYTES, &[]),
];

/// Fuzzes each target for its share of the time, two at once, and says how often each was run.
///
/// # Errors
/// Where the fuzzer cannot be built, or an input broke a law: the input's file is named.
pub fn run_all(minutes: f64, only: Option<&str>) -> Result<(), Problem> {
    let wanted: Vec<_> =
        TARGETS.into_iter().filter(|(name, ..)| only.is_none_or(|only| only == *name)).collect();
    if wanted.is_empty() {
        return Err(format!(
            "there is no {}; there are {}",
            only.unwrap_or_default(),
            TARGETS.map(|(name, ..)| name).join(", ")
        ));
    }
    let programs = build()?;
    let kept = target_dir().join("fuzz-found");
    let seconds = (minutes * 60.0 * 2.0 / wanted.len() as f64).ceil().max(1.0);
    let mut executions = 0;
    let mut broken = Vec::new();
    for pair in wanted.chunks(2) {
        let mut running = Vec::new();
        for (name, longest, seeds) in pair {
            // What is found stays beside the build; the small corpus of the project is only read.
            let found = kept.join(name);
            std::fs::create_dir_all(&found)
                .map_err(|error| format!("cannot make {}: {error}", found.display()))?;
            let mut command = Command::new(programs.join(name));
            command
                .arg(format!("-max_total_time={seconds}"))
                .arg(format!("-timeout={SLOWEST_S}"))
                .arg(format!("-max_len={longest}"))
                .arg(format!("-artifact_prefix={}/broken-{name}-", kept.display()))
                .args(["-print_final_stats=1", "-verbosity=1"])
                .arg(&found)
                .args(seeds.iter().map(|seeds| root().join(seeds)))
                .stdin(Stdio::null())
                .stdout(Stdio::null())
                .stderr(Stdio::piped());
            let own = root().join("tests/fuzz/corpus").join(name);
            if own.is_dir() {
                command.arg(own);
            }
            if let ("network_file", Ok(file)) = (*name, weights::fetch()) {
                command.args(file.parent());
            }
            running.push((name, command.spawn().map_err(|error| format!("cannot run {name}: {error}"))?));
        }
        // Each writes into a pipe of its own, which must not fill while the other is waited for.
        let told: Vec<_> = running
            .into_iter()
            .map(|(name, child)| (name, std::thread::spawn(move || child.wait_with_output())))
            .collect();
        for (name, thread) in told {
            let output = thread
                .join()
                .map_err(|_| format!("{name}: lost"))?
                .map_err(|error| format!("{name}: {error}"))?;
            let text = String::from_utf8_lossy(&output.stderr).into_owned();
            let number = |words: &str| {
                let rest = text.rsplit_once(words).map(|(_, rest)| rest).unwrap_or_default();
                rest.trim_start()
                    .split(|c: char| !c.is_ascii_digit())
                    .next()
                    .unwrap_or_default()
                    .parse::<u64>()
                    .unwrap_or(0)
            };
            let times = number("stat::number_of_executed_units:");
            executions += times;
            println!("{name:<14} {times:>12} executions {:>7} edges reached", number("cov:"));
            if !output.status.success() {
                let log = kept.join(format!("broken-{name}.log"));
                std::fs::write(&log, &text)
                    .map_err(|error| format!("cannot write {}: {error}", log.display()))?;
                broken.push(format!("{name} ({})", log.display()));
            }
        }
    }
    println!("{:<14} {executions:>12} executions", "all");
    if broken.is_empty() { Ok(()) } else { Err(format!("broken: {}", broken.join(", "))) }
}

/// Builds the fuzzers; the folder of their programs.
fn build() -> Result<PathBuf, Problem> {
    let program = tool::installed(TOOL.0, TOOL.1)?;
    // The same versions of everything as the project has, beside the fuzzer's own library.
    let folder = root().join("tests/fuzz");
    let copied = std::fs::copy(root().join("Cargo.lock"), folder.join("Cargo.lock"));
    copied.map_err(|error| format!("cannot write the fuzzer's lock file: {error}"))?;
    let to = target_dir().join("fuzz");
    // Nothing here is unsafe, so the sanitizers, which need another compiler, would find nothing.
    run(Command::new(&program)
        .current_dir(&folder)
        .args(["build", "--sanitizer", "none", "--fuzz-dir", ".", "--target-dir"])
        .arg(&to))?;
    let triples = std::fs::read_dir(&to).map_err(|error| format!("{}: {error}", to.display()))?;
    let mut folders = triples.flatten().map(|entry| entry.path().join("release"));
    folders
        .find(|folder| folder.join(TARGETS[0].0).is_file())
        .ok_or_else(|| "the fuzzers were not built".into())
}
