//! Every text that the page asks for is in its catalogue, and the page's sources hold no text of their own.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

fn www() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../www")
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn catalogue() -> BTreeMap<String, String> {
    serde_json::from_str(&read(&www().join("messages/en.json"))).expect("one flat object of texts")
}

/// The page's own modules with their names.
fn modules() -> Vec<(String, String)> {
    let mut found = Vec::new();
    for folder in ["js", "js/panels"] {
        for entry in std::fs::read_dir(www().join(folder)).expect("the page's modules") {
            let path = entry.expect("a module").path();
            if path.extension().is_some_and(|ending| ending == "js") {
                found.push((path.display().to_string(), read(&path)));
            }
        }
    }
    assert!(found.len() > 20, "only {} modules", found.len());
    found
}

/// What stands between each `open` and the next `close`.
fn between<'a>(text: &'a str, open: &str, close: char) -> impl Iterator<Item = &'a str> {
    let open = open.to_owned();
    let starts: Vec<usize> = text.match_indices(&open).map(|(at, found)| at + found.len()).collect();
    starts.into_iter().filter_map(move |start| text[start..].split(close).next())
}

/// Keys that stand in full in a call of `text(…)` or `firstText([…])`, and the fixed beginnings of composed ones.
fn asked_for(source: &str) -> (BTreeSet<String>, BTreeSet<String>) {
    let (mut full, mut composed) = (BTreeSet::new(), BTreeSet::new());
    // A key in full, alone or as one of two answers: `text("a.b"`, `text(is ? "a.b" : "c.d"`.
    for call in ["text(", "firstText(["] {
        for argument in between(source, call, ',') {
            for quoted in argument.split('"').skip(1).step_by(2) {
                if is_key(quoted) {
                    full.insert(quoted.to_owned());
                }
            }
        }
        for beginning in between(source, &format!("{call}`"), '`') {
            if let Some((fixed, _)) = beginning.split_once("${") {
                composed.insert(fixed.to_owned());
            }
        }
    }
    (full, composed)
}

fn is_key(text: &str) -> bool {
    text.contains('.') && text.chars().all(|letter| letter.is_ascii_alphanumeric() || "._".contains(letter))
}

#[test]
fn every_text_of_the_markup_is_in_the_catalogue() {
    let (catalogue, markup) = (catalogue(), read(&www().join("index.html")));
    let mut count = 0;
    for name in ["data-text", "data-label", "data-title", "data-placeholder"] {
        for key in between(&markup, &format!("{name}=\""), '"') {
            assert!(catalogue.contains_key(key), "index.html asks for {key}");
            count += 1;
        }
    }
    assert!(count > 40, "only {count} texts found");
}

#[test]
fn every_text_of_the_modules_is_in_the_catalogue() {
    let catalogue = catalogue();
    let mut count = 0;
    for (name, source) in modules() {
        let (full, composed) = asked_for(&source);
        for key in &full {
            assert!(catalogue.contains_key(key), "{name} asks for {key}");
        }
        for beginning in composed.iter().filter(|beginning| !beginning.is_empty()) {
            assert!(
                catalogue.keys().any(|key| key.starts_with(beginning.as_str())),
                "{name} asks for {beginning}…, and no text begins so"
            );
        }
        count += full.len() + composed.len();
    }
    assert!(count > 150, "only {count} texts found");
}

#[test]
fn every_text_of_the_catalogue_is_asked_for() {
    let sources = modules();
    let markup = read(&www().join("index.html"));
    let mut beginnings = BTreeSet::new();
    for (_, source) in &sources {
        beginnings.extend(asked_for(source).1.into_iter().filter(|beginning| beginning.contains('.')));
    }
    // The printed sheet and the command line ask in Rust, by whole keys or by the beginning of one.
    let printed: String = ["../crates/sheet/src", "../crates/cli/src"]
        .into_iter()
        .flat_map(|folder| std::fs::read_dir(www().join(folder)).expect("the sources"))
        .map(|entry| read(&entry.expect("an entry").path()))
        .collect();
    for quoted in printed.split('"').skip(1).step_by(2) {
        beginnings.extend(quoted.split_once(".{").map(|(beginning, _)| format!("{beginning}.")));
    }
    // The panels take a few texts by name from a list.
    let everything: String = sources
        .iter()
        .map(|(_, source)| source.as_str())
        .chain([markup.as_str(), printed.as_str()])
        .collect();
    let idle: Vec<_> = catalogue()
        .into_keys()
        .filter(|key| !everything.contains(&format!("\"{key}\"")))
        .filter(|key| !beginnings.iter().any(|beginning| key.starts_with(beginning.as_str())))
        .collect();
    assert!(idle.is_empty(), "texts that nothing asks for: {idle:#?}");
}

#[test]
fn the_policy_holds_without_inline_code_or_styles() {
    let markup = read(&www().join("index.html"));
    assert!(!markup.contains("style=") && !markup.contains("<style"), "inline style");
    let is_handler = |word: &str| word.starts_with("on") && word.contains("=\"");
    assert!(!markup.contains("<script>") && !markup.split_whitespace().any(is_handler), "inline code");
    for (name, source) in modules() {
        for forbidden in
            ["innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "new Function"]
        {
            assert!(!source.contains(forbidden), "{name} uses {forbidden}");
        }
        assert!(!source.contains("https://") && !source.contains("//cdn"), "{name} names another origin");
    }
}
