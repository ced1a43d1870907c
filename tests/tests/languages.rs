//! Every language has every text of the English catalogue, with the same values in it, in its own words and numbers.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

type Texts = BTreeMap<String, String>;

fn www() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../www")
}

fn texts(language: &str) -> (String, Texts) {
    let path = www().join(format!("messages/{language}.json"));
    let raw = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let texts = serde_json::from_str(&raw).expect("one flat object of texts");
    (raw, texts)
}

/// The languages that there is a file for.
fn languages() -> BTreeSet<String> {
    let files = std::fs::read_dir(www().join("messages")).expect("the folder of the catalogues");
    files
        .map(|file| file.expect("a file").path().file_stem().expect("a name").to_string_lossy().into_owned())
        .collect()
}

fn translations() -> Vec<(String, Texts)> {
    let others: Vec<_> = languages()
        .into_iter()
        .filter(|name| name != "en")
        .map(|name| (name.clone(), texts(&name).1))
        .collect();
    assert!(!others.is_empty(), "no translation was found");
    others
}

/// The names in braces, each as often as it stands there.
fn names(text: &str) -> Vec<&str> {
    let mut names: Vec<_> = text.split('{').skip(1).filter_map(|part| part.split('}').next()).collect();
    names.sort_unstable();
    names
}

/// The text without its names, marks and numbers: what there is to translate.
fn words(text: &str) -> String {
    let mut words = String::new();
    for (i, part) in text.split(['{', '}']).enumerate() {
        if i % 2 == 0 {
            words.extend(part.chars().filter(|letter| letter.is_alphabetic()));
        }
    }
    words
}

/// Names, signs and words that a language may share with English: no longer than this is seen as translated or not.
const TOO_SHORT: usize = 5;
/// Longer texts that are the same in some language: a colour, a size of paper.
const SAME: [&str; 2] = ["client.pigment.espresso", "print.letter"];
/// Texts that happen to be the English word in one language: `natural` is Spanish too.
const SAME_IN: [(&str, &str); 3] =
    [("es", "balance.natural_mark"), ("es", "guides.arch_natural"), ("es", "label.kind.arch_natural")];

#[test]
fn a_key_stands_once() {
    for language in languages() {
        let (raw, texts) = texts(&language);
        let keys = raw.lines().filter(|line| line.trim_start().starts_with('"')).count();
        assert_eq!(keys, texts.len(), "{language}: a key stands twice, or two stand on one line");
    }
}

#[test]
fn the_page_offers_every_language_there_is() {
    let source = std::fs::read_to_string(www().join("js/messages.js")).expect("the page's own file");
    let (_, after) = source.split_once("export const LANGUAGES = {").expect("the page names its languages");
    let (list, _) = after.split_once('}').expect("the list ends");
    let offered: BTreeSet<String> = list
        .split(',')
        .filter_map(|entry| entry.split_once(':'))
        .map(|(tag, _)| tag.trim().to_owned())
        .collect();
    assert_eq!(offered, languages());
}

#[test]
fn no_text_is_missing_and_none_is_left_over() {
    let (_, english) = texts("en");
    for (language, texts) in translations() {
        let missing: Vec<_> = english.keys().filter(|key| !texts.contains_key(*key)).collect();
        let over: Vec<_> = texts.keys().filter(|key| !english.contains_key(*key)).collect();
        assert!(
            missing.is_empty() && over.is_empty(),
            "{language}: missing {missing:#?}, left over {over:#?}"
        );
        let empty: Vec<_> =
            texts.iter().filter(|(key, text)| text.is_empty() != english[*key].is_empty()).collect();
        assert!(empty.is_empty(), "{language}: empty, or not: {empty:#?}");
    }
}

#[test]
fn a_translation_has_the_same_values_in_it() {
    let (_, english) = texts("en");
    for (language, texts) in translations() {
        for (key, text) in &texts {
            assert_eq!(names(text), names(&english[key]), "{language}: {key}");
        }
    }
}

#[test]
fn no_text_is_left_in_english() {
    let (_, english) = texts("en");
    for (language, texts) in translations() {
        let same: Vec<_> = texts
            .iter()
            .filter(|(key, text)| {
                **text == english[*key]
                    && words(text).chars().count() > TOO_SHORT
                    && !SAME.contains(&key.as_str())
                    && !SAME_IN.contains(&(language.as_str(), key.as_str()))
            })
            .collect();
        assert!(same.is_empty(), "{language}: the same as in English: {same:#?}");
    }
}

/// A text is laid out around spaces that do not break as the English one is: a value stays beside its unit.
#[test]
fn a_text_begins_and_ends_as_the_english_one_does() {
    let (_, english) = texts("en");
    for (language, texts) in translations() {
        for (key, text) in &texts {
            let edge =
                |text: &str| (text.starts_with(char::is_whitespace), text.ends_with(char::is_whitespace));
            assert_eq!(edge(text), edge(&english[key]), "{language}: {key}");
        }
    }
}

/// Read from right to left, a sign before a value stands on its wrong side unless both are isolated (Unicode UAX 9, LRI and PDI).
#[test]
fn a_sign_keeps_its_side_where_the_language_runs_from_right_to_left() {
    let mut checked = 0;
    for (language, texts) in translations().into_iter().filter(|(_, texts)| texts["text.direction"] == "rtl")
    {
        for (key, text) in texts {
            for (at, _) in text.match_indices("± {") {
                let (before, after) = text.split_at(at);
                let end = after.find('}').expect("a name ends");
                assert!(before.ends_with('\u{2066}'), "{language}: {key}: {text:?}");
                assert!(after[end..].contains('\u{2069}'), "{language}: {key}: {text:?}");
                checked += 1;
            }
        }
    }
    assert!(checked > 10, "{checked} signs");
}
