//! What the plan's own reader makes of a text is what a general JSON library and serde's derived code make of it: the same value, or a refusal,
//! of whole texts and of texts with something left out, added, renamed or put in place of another.

use counterpoise_plan::notation::{Read, read};
use counterpoise_plan::{Edit, Plan, to_json};
use counterpoise_teaching::{Exercise, Lesson, Set};
use counterpoise_tests::any_plan::{edit, start};
use proptest::prelude::*;
use proptest::sample::Index;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value, json};

/// One thing that may be wrong with an object.
#[derive(Clone, Debug)]
enum Damage {
    Nothing,
    Lost,
    Renamed,
    Added,
    Replaced(Value),
}

fn damage() -> impl Strategy<Value = Damage> {
    let value = prop::sample::select(vec![
        json!(null),
        json!(true),
        json!(1),
        json!(-1),
        json!(2.5),
        json!("text"),
        // So deep, since a list of its fields is an object to serde's derived code: `[["x"]]` were a lesson's one step.
        json!([[[["x"]]]]),
        json!({}),
        json!({"right": 1}),
        json!(70_000_u32),
        json!(5e9),
    ]);
    prop_oneof![
        Just(Damage::Nothing),
        Just(Damage::Lost),
        Just(Damage::Renamed),
        Just(Damage::Added),
        value.prop_map(Damage::Replaced),
    ]
}

/// The objects of a value that have something in them.
fn objects<'a>(value: &'a mut Value, found: &mut Vec<&'a mut Map<String, Value>>, wanted: &mut usize) {
    match value {
        Value::Object(map) if !map.is_empty() => {
            if *wanted == 0 {
                found.push(map);
                *wanted = usize::MAX;
                return;
            }
            *wanted -= 1;
            map.values_mut().for_each(|value| objects(value, found, wanted));
        }
        Value::Array(list) => list.iter_mut().for_each(|value| objects(value, found, wanted)),
        _ => {}
    }
}

fn count(value: &Value) -> usize {
    match value {
        Value::Object(map) => usize::from(!map.is_empty()) + map.values().map(count).sum::<usize>(),
        Value::Array(list) => list.iter().map(count).sum(),
        _ => 0,
    }
}

fn damaged(mut value: Value, object: Index, field: Index, damage: &Damage) -> Value {
    let many = count(&value);
    if many == 0 {
        return value;
    }
    let (mut found, mut wanted) = (Vec::new(), object.index(many));
    objects(&mut value, &mut found, &mut wanted);
    if let Some(map) = found.pop() {
        let name = map.keys().nth(field.index(map.len())).cloned().unwrap_or_default();
        match damage {
            Damage::Nothing => {}
            Damage::Lost => drop(map.remove(&name)),
            Damage::Renamed => {
                let value = map.remove(&name).unwrap_or_default();
                map.insert(format!("{name}_"), value);
            }
            Damage::Added => drop(map.insert("another".into(), json!(1))),
            Damage::Replaced(value) => drop(map.insert(name, value.clone())),
        }
    }
    value
}

/// Both read the same, or both refuse. Returns whether it was read.
fn assert_both_read<T: Read + DeserializeOwned + PartialEq + std::fmt::Debug>(text: &str) -> bool {
    match (read::<T>(text), serde_json::from_str::<T>(text)) {
        (Ok(ours), Ok(theirs)) => {
            assert_eq!(ours, theirs, "{text}");
            true
        }
        (Err(_), Err(_)) => false,
        (ours, theirs) => panic!("{ours:?}\n{theirs:?}\n{text}"),
    }
}

/// What serde's derived code reads and ours refuses: a kind told by its place in the list of kinds instead of its name, and anything said
/// beside the name of an edit that has no fields. A plan says each thing in one way.
fn is_loose(value: &Value) -> bool {
    const KINDS: [&str; 3] = ["do", "by", "aim"];
    match value {
        Value::Object(map) => {
            let is_bare = map.get("do") == Some(&json!("start_from_mean")) && map.len() > 1;
            let is_counted = KINDS.iter().any(|kind| map.get(*kind).is_some_and(Value::is_number));
            is_bare || is_counted || map.values().any(is_loose)
        }
        Value::Array(list) => list.iter().any(is_loose),
        _ => false,
    }
}

/// Both read the same, or both refuse; what serde's code takes more loosely, ours refuses.
fn assert_read_as_by_library<T: Read + DeserializeOwned + PartialEq + std::fmt::Debug>(value: &Value) {
    let text = value.to_string();
    if is_loose(value) {
        assert!(read::<T>(&text).is_err(), "{text}");
    } else {
        assert_both_read::<T>(&text);
    }
}

fn demo(name: &str) -> Value {
    let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo").join(name);
    let text = std::fs::read_to_string(&file).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
    serde_json::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", file.display()))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn plans_are_read_as_a_library_reads_them(plan in start(), object in any::<Index>(), field in any::<Index>(), damage in damage()) {
        prop_assert!(assert_both_read::<Plan>(&to_json(&plan)));
        let value = serde_json::to_value(&plan).expect("plain data");
        assert_read_as_by_library::<Plan>(&damaged(value, object, field, &damage));
    }

    #[test]
    fn edits_are_read_as_a_library_reads_them(edit in edit(), object in any::<Index>(), field in any::<Index>(), damage in damage()) {
        let value = serde_json::to_value(&edit).expect("plain data");
        assert_read_as_by_library::<Edit>(&damaged(value, object, field, &damage));
    }

    #[test]
    fn lessons_and_exercises_are_read_as_a_library_reads_them(object in any::<Index>(), field in any::<Index>(), damage in damage()) {
        let of = |name| damaged(demo(name), object, field, &damage);
        assert_read_as_by_library::<Exercise>(&of("low-brow.exercise.json"));
        assert_read_as_by_library::<Set>(&of("course.set.json"));
        assert_read_as_by_library::<Lesson>(&of("low-brow.lesson.json"));
    }
}

/// Found among random edits: within an edit of many, a library takes a number for the place of a kind, here of one that needs no fields.
#[test]
fn kind_is_told_by_its_name_alone() {
    let counted = json!({"do": "many", "edits": [{"do": 1}]});
    assert!(serde_json::from_value::<Edit>(counted.clone()).is_ok());
    assert_read_as_by_library::<Edit>(&counted);
}
