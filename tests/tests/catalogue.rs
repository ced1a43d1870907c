//! The English catalogue has a text for everything the core can say, and no text asks for a value that never comes.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use counterpoise_plan::{Level, describe};

fn catalogue() -> BTreeMap<String, String> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../www/messages/en.json");
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    serde_json::from_str(&text).expect("one flat object of texts")
}

fn level(level: Level) -> &'static str {
    match level {
        Level::Ok => "ok",
        Level::Note => "note",
        Level::Warn => "warn",
    }
}

/// Every key that the core can ask for, with the names that may stand in braces in its text.
fn wanted() -> BTreeMap<String, BTreeSet<&'static str>> {
    let core = describe();
    let mut keys: BTreeMap<String, BTreeSet<&'static str>> = BTreeMap::new();
    let mut plain = |family: &str, id: &str| {
        keys.insert(format!("{family}.{id}"), BTreeSet::new());
    };
    core.params.iter().for_each(|found| plain("param", found.id));
    core.measures.iter().for_each(|found| plain("measure", found.id));
    core.landmarks.iter().for_each(|found| plain("landmark", found.id));
    core.pose_points.values().flatten().for_each(|found| plain("landmark", &found.id));
    core.handles.iter().for_each(|found| plain("handle", found.id));
    core.fields.iter().filter(|found| !is_silent(found.id)).for_each(|found| plain("field", found.id));
    core.units.iter().for_each(|found| plain("unit", found.id));
    core.strips.iter().for_each(|found| plain("strip", found));
    core.bands.iter().for_each(|found| plain("band", found));
    core.cautions.iter().for_each(|found| plain("caution", found));
    for wish in &core.wishes {
        for key in ["", ".less", ".more"] {
            plain("wish", &format!("{}{key}", wish.id));
        }
    }
    core.poses.iter().for_each(|found| plain("pose", found));
    core.lift_places.iter().for_each(|found| plain("lift_place", found));
    for kind in &core.kinds {
        let id = serde_json::to_value(kind).expect("a kind is a string");
        plain("kind", id.as_str().expect("a kind is a string"));
    }
    for check in &core.checks {
        let mut names: BTreeSet<&'static str> = check.values.iter().copied().collect();
        if check.per_side {
            names.insert("side");
        }
        // Its subject is the strip's place.
        if check.id == "strip_width" {
            names.insert("subject");
        }
        for at in check.levels {
            keys.insert(format!("check.{}.{}", check.id, level(*at)), names.clone());
        }
    }
    for (family, codes) in [("problem", &core.problems), ("refused", &core.refusals)] {
        for code in codes {
            let mut names: BTreeSet<&'static str> = code.values.iter().copied().collect();
            names.extend(["subject", "other"]);
            if family == "problem" {
                names.insert("side");
            }
            keys.insert(format!("{family}.{}", code.code), names);
        }
    }
    keys
}

/// Refusals that the page itself makes.
const OF_THE_PAGE: [&str; 2] = ["refused.restarted", "refused.shown_only"];

/// Numbers that no control shows: the page sets them itself from the photo.
fn is_silent(field: &str) -> bool {
    field.ends_with("_px")
}

#[test]
fn every_key_has_a_text() {
    let catalogue = catalogue();
    let missing: Vec<_> = wanted()
        .into_keys()
        .filter(|key| catalogue.get(key).is_none_or(|text| text.is_empty() && key != "unit.one"))
        .collect();
    assert!(missing.is_empty(), "no text for {missing:#?}");
}

#[test]
fn no_text_asks_for_a_value_that_never_comes() {
    let catalogue = catalogue();
    for (key, names) in wanted() {
        let Some(text) = catalogue.get(&key) else { continue };
        for part in text.split('{').skip(1) {
            let name = part.split('}').next().expect("split gives one part");
            assert!(names.contains(name), "{key} asks for {{{name}}}, but only {names:?} come");
        }
    }
}

#[test]
fn no_text_is_left_for_a_code_that_is_gone() {
    let wanted = wanted();
    let gone: Vec<_> = catalogue()
        .into_keys()
        .filter(|key| {
            ["problem.", "refused.", "measure.", "landmark.", "handle.", "wish.", "caution."]
                .iter()
                .any(|f| key.starts_with(f))
        })
        .filter(|key| {
            !wanted.contains_key(key) && !key.ends_with(".other") && !OF_THE_PAGE.contains(&key.as_str())
        })
        .collect();
    assert!(gone.is_empty(), "texts that nothing asks for: {gone:#?}");
}
