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
        // A list of numbers is an object of numbers to serde's derived code.
        json!([["x"]]),
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

/// A library's reader passes over all that an edit says beside its name where it has no fields; ours refuses it.
fn has_bare_edit(value: &Value) -> bool {
    match value {
        Value::Object(map) => {
            map.get("do") == Some(&json!("start_from_mean")) || map.values().any(has_bare_edit)
        }
        Value::Array(list) => list.iter().any(has_bare_edit),
        _ => false,
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
        assert_both_read::<Plan>(&damaged(value, object, field, &damage).to_string());
    }

    #[test]
    fn edits_are_read_as_a_library_reads_them(edit in edit(), object in any::<Index>(), field in any::<Index>(), damage in damage()) {
        let value = serde_json::to_value(&edit).expect("plain data");
        let value = damaged(value, object, field, &damage);
        if !has_bare_edit(&value) {
            assert_both_read::<Edit>(&value.to_string());
        }
    }

    #[test]
    fn lessons_and_exercises_are_read_as_a_library_reads_them(object in any::<Index>(), field in any::<Index>(), damage in damage()) {
        let of = |name| damaged(demo(name), object, field, &damage);
        assert_both_read::<Exercise>(&of("low-brow.exercise.json").to_string());
        assert_both_read::<Set>(&of("course.set.json").to_string());
        let lesson = of("low-brow.lesson.json");
        if !has_bare_edit(&lesson) {
            assert_both_read::<Lesson>(&lesson.to_string());
        }
    }
}
