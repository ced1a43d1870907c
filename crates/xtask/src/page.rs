//! Building the page: the wasm modules and the JavaScript around them, into `www/pkg/`.

use std::path::{Path, PathBuf};
use std::process::Command;

use wasm_bindgen_cli_support::Bindgen;

use crate::command::{cargo, find, output, root, run, succeeds, target_dir};
use crate::{Problem, licences, likeness, weights};

/// The compiler's name for what browsers run.
pub const WASM_TARGET: &str = "wasm32-unknown-unknown";
/// The cargo profile of the page's module (see the workspace's `Cargo.toml`).
pub const PROFILE: &str = "wasm";

/// The page's modules: package, name and folder. The last is built a second time (see [`VISION_WIDE`]). The first comes first: the others lie in its folder, which is emptied.
const MODULES: [(&str, &str, &str); 5] = [
    ("counterpoise-web", "counterpoise_web.wasm", ""),
    ("counterpoise-web-balance", "counterpoise_web_balance.wasm", BALANCE),
    ("counterpoise-web-sheet", "counterpoise_web_sheet.wasm", SHEET),
    ("counterpoise-web-teaching", "counterpoise_web_teaching.wasm", TEACHING),
    (VISION_PACKAGE, VISION_MODULE, VISION),
];
const VISION_PACKAGE: &str = "counterpoise-web-vision";
const VISION_MODULE: &str = "counterpoise_web_vision.wasm";
/// Folder of the balance solver's module below [`package_dir`].
pub const BALANCE: &str = "balance";
/// Folder of the printed sheet's module below [`package_dir`].
pub const SHEET: &str = "sheet";
/// Folder of the module of lessons and exercises below [`package_dir`].
pub const TEACHING: &str = "teaching";
/// Folder of photo assist's module and weights below [`package_dir`].
pub const VISION: &str = "vision";
/// Folder below that of the same module for engines that compute four numbers at once.
const VISION_WIDE: &str = "vision/wide";
/// Where it is built.
const ASIDE: &str = "wide";
/// What such an engine understands: WebAssembly's 128-bit packed instructions.
const WIDE: &str = "-Ctarget-feature=+simd128";

/// A plan is summed when it is agreed to or opened: a loop does, and eight kilobytes of the same written out do not load.
const SMALL_SUMS: &str = r#"--cfg=sha2_backend_soft="compact""#;

/// The packages of the page's modules.
#[must_use]
pub fn module_packages() -> Vec<&'static str> {
    MODULES.map(|(package, ..)| package).to_vec()
}

/// Compiles the web crates and writes the modules and their bindings, and whose work is in them.
///
/// # Errors
/// Where the compiler's target is missing and cannot be added, or the build fails.
pub fn build() -> Result<(), Problem> {
    ensure_target()?;
    let mut command = compiler(&[]);
    command.arg("--lib");
    for (package, ..) in MODULES {
        command.args(["--package", package]);
    }
    run(&mut command)?;
    MODULES.iter().try_for_each(|(_, module, folder)| {
        bind(&built(&target_dir()).join(module), &package_dir().join(folder))
    })?;
    // Other flags are another build of everything below, so it keeps a folder of its own.
    let aside = target_dir().join(ASIDE);
    run(compiler(&[WIDE]).args(["--lib", "--package", VISION_PACKAGE, "--target-dir"]).arg(&aside))?;
    bind(&built(&aside).join(VISION_MODULE), &package_dir().join(VISION_WIDE))?;
    licences::write(&package_dir())?;
    // All the rest works without; the page says so where it is asked to find points.
    match weights::fetch() {
        Ok(file) => {
            let to = package_dir().join(VISION).join("face.tflite");
            std::fs::copy(&file, &to)
                .map(|_| ())
                .map_err(|error| format!("cannot write {}: {error}", to.display()))
        }
        Err(problem) => {
            eprintln!("the page is built without the face network: {problem}");
            Ok(())
        }
    }
}

/// Takes away what [`build`] made, so that the next one begins from nothing.
///
/// # Errors
/// Where it cannot be taken away.
pub fn forget() -> Result<(), Problem> {
    for folder in [target_dir().join(WASM_TARGET), target_dir().join(ASIDE).join(WASM_TARGET), package_dir()]
    {
        if folder.exists() {
            std::fs::remove_dir_all(&folder)
                .map_err(|error| format!("cannot empty {}: {error}", folder.display()))?;
        }
    }
    Ok(())
}

/// Compiles an example of the web crate as a module of its own, with its bindings, into a folder.
///
/// # Errors
/// As [`build`].
pub fn build_example(name: &str, into: &Path) -> Result<(), Problem> {
    ensure_target()?;
    run(compiler(&[]).args(["--package", "counterpoise-web", "--example", name]))?;
    bind(&built(&target_dir()).join("examples").join(format!("{name}.wasm")), into)
}

/// The same for an example of photo assist, for engines that compute four numbers at once.
///
/// # Errors
/// As [`build`].
pub fn build_vision_example(name: &str, into: &Path) -> Result<(), Problem> {
    ensure_target()?;
    let aside = target_dir().join(ASIDE);
    run(compiler(&[WIDE])
        .args(["--package", VISION_PACKAGE, "--example", name, "--target-dir"])
        .arg(&aside))?;
    bind(&built(&aside).join("examples").join(format!("{name}.wasm")), into)
}

/// The build of a module with more flags, without the folders of this machine in what a panic would say.
fn compiler(more: &[&str]) -> Command {
    let mut command = cargo();
    command.args(["build", "--profile", PROFILE, "--target", WASM_TARGET]);
    let home = std::env::var_os("CARGO_HOME").map(PathBuf::from);
    let home = home.or_else(|| std::env::home_dir().map(|home| home.join(".cargo")));
    let flags: Vec<String> = home
        .into_iter()
        .chain([root()])
        .map(|folder| format!("--remap-path-prefix={}=.", folder.display()))
        .chain([SMALL_SUMS].into_iter().chain(more.iter().copied()).map(str::to_owned))
        .collect();
    command.env("CARGO_ENCODED_RUSTFLAGS", flags.join("\u{1f}"));
    command
}

fn built(target: &Path) -> PathBuf {
    target.join(WASM_TARGET).join(PROFILE)
}

/// Writes a module and its bindings into a folder, emptied first, so that nothing of an older build stays.
fn bind(module: &Path, into: &Path) -> Result<(), Problem> {
    if into.exists() {
        std::fs::remove_dir_all(into).map_err(|error| format!("cannot empty {}: {error}", into.display()))?;
    }
    let bindings = || {
        let mut bindgen = Bindgen::new();
        bindgen.web(true)?.input_path(module).typescript(false);
        // Without an address given the bindings look for the module beside themselves.
        bindgen.omit_default_module_path(false);
        // After a trap the page makes a fresh instance in place, without fetching anything again.
        bindgen.reset_state_function(true);
        bindgen.remove_name_section(true).remove_producers_section(true).generate(into)
    };
    bindings().map_err(|error| format!("cannot write the bindings of {}: {error:#}", module.display()))?;
    let bound = module.file_stem().unwrap_or_default().to_string_lossy();
    let bound = into.join(format!("{bound}_bg.wasm"));
    let failed = |error: &dyn std::fmt::Display| format!("{}: {error}", bound.display());
    let content = std::fs::read(&bound).map_err(|error| failed(&error))?;
    let arranged = likeness::arranged(&content).map_err(|error| failed(&error))?;
    std::fs::write(&bound, arranged).map_err(|error| failed(&error))
}

/// Where the built modules lie.
pub fn package_dir() -> PathBuf {
    root().join("www/pkg")
}

/// The compiler's target for the page, added where it is missing.
///
/// # Errors
/// Where it is missing and there is no rustup to add it.
pub fn ensure_target() -> Result<(), Problem> {
    let installed = output(Command::new("rustc").current_dir(root()).args([
        "--print",
        "target-libdir",
        "--target",
        WASM_TARGET,
    ]))
    .is_some_and(|dir| PathBuf::from(dir).is_dir());
    if installed {
        return Ok(());
    }
    if find("rustup").is_none() {
        return Err(format!("the compiler's target {WASM_TARGET} is missing; install it, or rustup"));
    }
    run(Command::new("rustup").current_dir(root()).args(["target", "add", WASM_TARGET]))
}

/// rustfmt and clippy, added where a minimal tool chain has none.
///
/// # Errors
/// Where one is missing and there is no rustup to add it.
pub fn ensure_components() -> Result<(), Problem> {
    for (subcommand, component) in [("fmt", "rustfmt"), ("clippy", "clippy")] {
        if succeeds(cargo().args([subcommand, "--version"])) {
            continue;
        }
        if find("rustup").is_none() {
            return Err(format!("{component} is missing; install it, or rustup"));
        }
        run(Command::new("rustup").current_dir(root()).args(["component", "add", component]))?;
    }
    Ok(())
}
