//! Lessons, sets and what a learner's work is kept as: the demo's are whole, each fault is refused by name, and nothing is lost by keeping.

use std::path::Path;

use counterpoise_plan::{Plan, SortedMap, report, to_json};
use counterpoise_teaching::{
    CONSTRUCTIONS, Marker, SetItem, Submission, Work, read_exercise, read_lesson, read_set, read_work,
};
use serde_json::{Value, json};

fn demo(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo").join(name);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn changed(name: &str, change: impl Fn(&mut Value)) -> String {
    let mut value: Value = serde_json::from_str(&demo(name)).expect("JSON");
    change(&mut value);
    value.to_string()
}

/// Everything the set of the demo names is there with its picture, can be marked, and together the lessons show every step there is.
#[test]
fn course_of_the_demo_is_whole() {
    let set = read_set(&demo("course.set.json")).unwrap();
    let mut shown = Vec::new();
    for item in &set.items {
        let picture = match item {
            SetItem::Lesson(id) => {
                let told =
                    read_lesson(&demo(&format!("{id}.lesson.json"))).unwrap_or_else(|e| panic!("{id}: {e}"));
                assert_eq!(&told.lesson.id, id);
                shown.extend(told.scenes.iter().map(|(construction, _)| construction.id));
                // What its last step comes to is better than what it began with, within the usual limits.
                let last = report(&told.scenes.last().expect("steps").1);
                let (before, after) = (last.natural_symmetry.unwrap(), last.planned_symmetry.unwrap());
                assert!(after.mean_distance_mm <= before.mean_distance_mm, "{id}");
                assert!(after.within_error || after.mean_distance_mm < before.mean_distance_mm / 3.0, "{id}");
                told.lesson.picture
            }
            SetItem::Exercise(id) => {
                let exercise = read_exercise(&demo(&format!("{id}.exercise.json")))
                    .unwrap_or_else(|e| panic!("{id}: {e}"));
                let marker = Marker::new(exercise.clone());
                let answers =
                    SortedMap::from([("failing_pose".to_owned(), "upright_open_raised".to_owned())]);
                let of = |plan: &Plan, answers: &SortedMap<_, _>| {
                    marker
                        .mark(&Submission { exercise: None, plan: plan.clone(), answers: answers.clone() })
                        .unwrap()
                        .score
                };
                assert_eq!(of(&exercise.key, &answers), 100.0, "{id}");
                assert!(of(&exercise.given, &SortedMap::new()) < 50.0, "{id} is done before it is begun");
                exercise.picture
            }
        };
        assert!(demo(&picture).starts_with("<svg"), "{picture}");
    }
    for construction in CONSTRUCTIONS {
        assert!(shown.contains(&construction.id), "no lesson shows {}", construction.id);
    }
}

#[test]
fn bad_lessons_have_their_codes() {
    let lesson = |change: &dyn Fn(&mut Value)| changed("even-frame.lesson.json", change);
    let cases = [
        (String::new(), "not_a_lesson", 0),
        (demo("even-frame.exercise.json"), "not_a_lesson", 0),
        (lesson(&|value| value["version"] = json!(9)), "newer_version", 0),
        (lesson(&|value| value["id"] = json!("a/b")), "unknown", 0),
        (lesson(&|value| value["picture"] = json!("../../etc/passwd")), "bad_picture", 0),
        (lesson(&|value| value["picture"] = json!("https://elsewhere.invalid/a.png")), "bad_picture", 0),
        (lesson(&|value| value["steps"] = json!([])), "no_steps", 0),
        (lesson(&|value| value["steps"][2]["show"] = json!("bridge_of_doom")), "unknown_step", 3),
        (lesson(&|value| value["steps"][1]["show"] = json!("movement")), "given_lacks", 2),
        (
            lesson(&|value| value["steps"][3]["edits"] = json!([{ "do": "take_variant", "name": "x" }])),
            "edit_refused",
            4,
        ),
        (lesson(&|value| value["steps"][3]["edits"] = json!([{ "do": "explode" }])), "unreadable", 0),
        (
            lesson(&|value| value["steps"][6]["edits"][0]["outlines"]["right"]["arch_x"] = json!(1e6)),
            "edit_refused",
            7,
        ),
        (lesson(&|value| value["plan"]["limits"] = json!({ "removed_pct": -1.0 })), "plan_refused", 0),
        ("[".repeat(100_000), "not_a_lesson", 0),
        ("x".repeat(60_000_000), "too_large", 0),
    ];
    for (text, code, part) in cases {
        let error = read_lesson(&text).err().unwrap_or_else(|| panic!("{code} was taken"));
        assert_eq!((error.code, error.part), (code, part), "{error}");
    }
    let set = |change: &dyn Fn(&mut Value)| changed("course.set.json", change);
    for (text, code, part) in [
        ("{}".to_owned(), "not_a_set", 0),
        (set(&|value| value["items"] = json!([])), "no_items", 0),
        (set(&|value| value["items"][3] = json!({ "exercise": "a b" })), "unknown", 4),
        (set(&|value| value["items"][2] = json!({ "lesson": "even-frame" })), "twice", 3),
        (set(&|value| value["items"][2] = json!({ "film": "x" })), "unreadable", 0),
        (set(&|value| value["pass"] = json!(101.0)), "bad_limit", 0),
    ] {
        let error = read_set(&text).err().unwrap_or_else(|| panic!("{code} was taken"));
        assert_eq!((error.code, error.part), (code, part), "{error}");
    }
}

/// What is kept of a learner's work fits a course's server (4,096 letters, SCORM 1.2 run-time environment, `cmi.suspend_data`), brings the same marks back,
/// and is refused where it belongs elsewhere.
#[test]
fn kept_work_is_small_and_brings_the_same_marks() {
    for id in ["even-frame", "low-brow", "strong-muscle"] {
        let exercise = read_exercise(&demo(&format!("{id}.exercise.json"))).unwrap();
        let answers = SortedMap::from([("failing_pose".to_owned(), "upright_closed_resting".to_owned())]);
        let work = Work::of(&exercise, &exercise.key, answers.clone());
        let text = serde_json::to_string(&work).unwrap();
        println!("{id}: {} letters", text.len());
        assert!(text.len() < 3000, "{id}: {} letters", text.len());
        let back = read_work(&text).unwrap();
        let plan = back.resumed(&exercise).unwrap();
        let marker = Marker::new(exercise.clone());
        let of = |plan: &Plan, answers: SortedMap<_, _>| {
            marker.mark(&Submission { exercise: None, plan: plan.clone(), answers }).unwrap().score
        };
        assert_eq!(of(&plan, back.answers.clone()), of(&exercise.key, answers));
        // Nothing else of the learner's plan is kept.
        assert_eq!(plan.natural, exercise.given.natural);
        assert_eq!(plan.case, exercise.given.case);
        let other =
            read_exercise(&changed(&format!("{id}.exercise.json"), |value| value["id"] = json!("another")))
                .unwrap();
        assert_eq!(back.resumed(&other).unwrap_err().code, "other_exercise");
        let wild = text.replacen("\"arch_x\":", "\"arch_x\":9", 1);
        assert_eq!(read_work(&wild).unwrap().resumed(&exercise).unwrap_err().code, "plan_refused");
        assert!(read_work(&to_json(&plan)).is_err() && read_work("{").is_err());
    }
}

/// What a teacher's editor checks by the published schemas holds for every file of the demo, and fails where the core fails by form.
#[test]
fn published_schemas_fit_the_demo() {
    let schema = |kind: &str| {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../www/schema/{kind}.schema.json"));
        let schema: Value =
            serde_json::from_str(&std::fs::read_to_string(path).expect("a schema")).expect("JSON");
        jsonschema::validator_for(&schema).expect("a schema")
    };
    for (kind, names) in [
        ("lesson", vec!["even-frame", "low-brow", "strong-muscle"]),
        ("exercise", vec!["even-frame", "low-brow", "strong-muscle"]),
        ("set", vec!["course"]),
    ] {
        let schema = schema(kind);
        for name in names {
            let file: Value = serde_json::from_str(&demo(&format!("{name}.{kind}.json"))).expect("JSON");
            let faults: Vec<String> = schema
                .iter_errors(&file)
                .map(|fault| format!("{}: {fault}", fault.instance_path()))
                .collect();
            assert!(faults.is_empty(), "{name}.{kind}: {faults:#?}");
            let mut more = file.clone();
            more["surprise"] = json!(1);
            assert!(!schema.is_valid(&more), "{name}.{kind}");
        }
    }
}
