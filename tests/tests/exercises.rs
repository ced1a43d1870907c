//! Exercises: a perfect plan has all marks, each planted fault costs exactly its own, bad files are refused by name, and page, core and command line
//! have one way of marking.

use std::process::Command;

use counterpoise_geometry::{Landmark, Side, SortedMap};
use counterpoise_plan::{Edit, Plan, apply, to_json};
use counterpoise_teaching::{Mark, Marker, Submission, read_exercise, read_submission};
use counterpoise_tests::cases::{Camera, face_landmark, whole_plan};
use proptest::prelude::*;
use serde_json::{Value, json};

const POSE: &str = "upright_open_raised";

fn value(plan: &Plan) -> Value {
    serde_json::from_str(&to_json(plan)).expect("JSON")
}

fn done(plan: &Plan, edit: Value) -> Plan {
    let edit: Edit = serde_json::from_value(edit).expect("an edit");
    apply(plan, &edit).unwrap_or_else(|error| panic!("{edit:?}: {error:?}"))
}

fn key(camera: &Camera) -> Plan {
    let plan = whole_plan(camera).expect("a plan");
    let heights = json!({ "front_mm": 16.0, "arch_mm": 29.0, "tail_mm": 13.0 });
    done(
        &plan,
        json!({ "do": "set_pose", "pose": POSE, "record": { "heights": { "right": heights, "left": heights }, "photo": null } }),
    )
}

/// Ten marks for each of ten things, apart from the last goal.
fn exercise(key: &Plan) -> Value {
    json!({
        "format": "counterpoise-exercise", "version": 1, "id": "even-frame", "title": "Even frame", "task": "Place, plan, answer.",
        "given": value(key), "key": value(key),
        "goals": [
            { "aim": "landmarks", "points": 20, "landmarks": ["pupil.right", "nostril.left"], "within_mm": 1.0 },
            { "aim": "measures", "points": 40, "measures": ["arch_distance", "arch_top"], "within": 1.0 },
            { "aim": "asymmetry", "points": 10, "at_most_mm": 0.5 },
            { "aim": "removed", "points": 20, "at_most_pct": 30.0 },
            { "aim": "added", "points": 20, "at_most_pct": 40.0 },
            { "aim": "failing_pose", "points": 15, "pose": POSE },
        ],
    })
}

const ALL_POINTS: f64 = 125.0;

fn marker(exercise: &Value) -> Marker {
    Marker::new(read_exercise(&exercise.to_string()).unwrap_or_else(|error| panic!("{error}")))
}

fn handed_in(plan: &Plan) -> Submission {
    let answers = SortedMap::from([("failing_pose".to_owned(), POSE.to_owned())]);
    Submission { exercise: Some("even-frame".into()), plan: plan.clone(), answers }
}

fn lost(mark: &Mark) -> Vec<(String, Option<Side>)> {
    let lost = mark.items.iter().filter(|item| item.earned == 0.0);
    lost.map(|item| (item.subject.clone(), item.side)).collect()
}

#[test]
fn perfect_plan_has_all_marks_and_each_fault_costs_its_own() {
    let key = key(&Camera::default());
    let marker = marker(&exercise(&key));
    let whole = marker.mark(&handed_in(&key)).unwrap();
    assert_eq!((whole.score, lost(&whole)), (100.0, Vec::new()));
    assert!((whole.items.iter().map(|item| item.worth).sum::<f64>() - 100.0).abs() < 1e-9);

    let [x, y] = Camera::default().side_pixel(Side::Right, 31.5 + 1.2, 1.0);
    let set = |side: &str, param: &str, value: f64| json!({ "do": "set_param", "side": side, "param": param, "value": value, "linked": false });
    let arch = key.planned.right.as_ref().expect("an outline").0["arch_x"];
    let both = |edit: fn(&str) -> Value| done(&done(&key, edit("right")), edit("left"));
    let faults = [
        (
            done(&key, json!({ "do": "place_landmark", "landmark": "pupil.right", "x_px": x, "y_px": y })),
            vec![("pupil.right", Some(Side::Right))],
            10.0,
        ),
        (
            done(&key, json!({ "do": "remove_landmark", "landmark": "nostril.left" })),
            vec![("nostril.left", Some(Side::Left))],
            10.0,
        ),
        (done(&key, set("right", "arch_x", arch + 1.8)), vec![("arch_distance", Some(Side::Right))], 10.0),
        // Both brows thick: even still, and too much skin on both sides.
        (
            both(
                |side| json!({ "do": "set_param", "side": side, "param": "arch_t", "value": 13.0, "linked": false }),
            ),
            vec![("added", Some(Side::Right)), ("added", Some(Side::Left))],
            20.0,
        ),
    ];
    for (plan, wanted, points) in faults {
        let mark = marker.mark(&handed_in(&plan)).unwrap();
        let wanted: Vec<_> = wanted.into_iter().map(|(subject, side)| (subject.to_owned(), side)).collect();
        assert_eq!(lost(&mark), wanted, "{mark:#?}");
        assert!(
            (mark.score - (100.0 - 100.0 * points / ALL_POINTS)).abs() < 0.006,
            "{wanted:?}: {}",
            mark.score
        );
    }
    // A wrong answer, none, and a bare plan.
    let mut wrong = handed_in(&key);
    wrong.answers.insert("failing_pose".into(), "reclined_closed_resting".into());
    for handed_in in [
        wrong,
        Submission { answers: SortedMap::new(), ..handed_in(&key) },
        read_submission(&to_json(&key)).unwrap(),
    ] {
        let mark = marker.mark(&handed_in).unwrap();
        assert_eq!((lost(&mark).len(), mark.score), (1, 88.0));
    }
    // Nothing planned: only points and the answer are left.
    let bare = done(
        &done(&key, json!({ "do": "clear_outline", "side": "right" })),
        json!({ "do": "clear_outline", "side": "left" }),
    );
    let mark = marker.mark(&handed_in(&bare)).unwrap();
    assert_eq!(mark.score, 100.0 * 35.0 / ALL_POINTS);
    assert!(mark.items.iter().filter(|item| item.earned == 0.0).all(|item| item.outcome == "missing"));
}

/// What is off is said in mm of the face, whatever the camera did: 0.9 mm outwards and 1.2 mm down are 1.5 mm.
#[test]
fn distances_from_the_key_are_those_of_the_face() {
    for mirrored in [false, true] {
        let camera = Camera { roll: 7.0_f64.to_radians(), px_per_mm: 9.0, mirrored, ..Camera::default() };
        let key = key(&camera);
        let marker = marker(&exercise(&key));
        for side in Side::BOTH {
            let landmark = Landmark::Pupil(side);
            let [x, y] = face_landmark(landmark);
            let [x_px, y_px] = camera.side_pixel(side, side.sign() * x + 0.9, y - 1.2);
            let moved = done(
                &key,
                json!({ "do": "place_landmark", "landmark": landmark.id(), "x_px": x_px, "y_px": y_px }),
            );
            let mark = marker.mark(&handed_in(&moved)).unwrap();
            let Some(item) = mark.items.iter().find(|item| item.subject == landmark.id()) else { continue };
            let [out, up] = item.from_key_mm.expect("a place");
            // The simulated photo has px of its own; the key's scale and roll are estimates of landmarks without error.
            assert!((out - 0.9).abs() < 0.02 && (up + 1.2).abs() < 0.02, "{mirrored} {side:?}: {out} {up}");
            assert!((item.value.expect("a distance") - 1.5).abs() < 0.02);
            assert_eq!(item.outcome, "off");
        }
    }
}

/// Brows, limits and settings of what is handed in do not count: they are the exercise's.
#[test]
fn natural_brows_that_are_handed_in_do_not_count() {
    let key = key(&Camera::default());
    let marker = marker(&exercise(&key));
    let calipers = json!({ "front_out_mm": 10.0, "bulb_bottom_mm": 14.0, "bulb_top_mm": 22.0, "arch_out_mm": 36.0, "arch_top_mm": 31.0, "arch_thickness_mm": 12.0, "tail_out_mm": 58.0, "tail_up_mm": 12.0, "tail_thickness_mm": 2.0 });
    let other = done(&key, json!({ "do": "type_natural", "side": "right", "calipers": calipers }));
    let other = done(&other, json!({ "do": "remove_pose", "pose": POSE }));
    assert_eq!(marker.mark(&handed_in(&other)).unwrap(), marker.mark(&handed_in(&key)).unwrap());
}

#[test]
fn bad_exercises_have_their_codes() {
    let key = key(&Camera::default());
    let good = exercise(&key);
    let changed = |change: &dyn Fn(&mut Value)| {
        let mut value = good.clone();
        change(&mut value);
        value.to_string()
    };
    let goal = |goal: Value| changed(&|value| value["goals"] = json!([goal]));
    let cases = [
        (String::new(), "not_an_exercise", 0),
        ("[1, 2]".to_owned(), "not_an_exercise", 0),
        (to_json(&key), "not_an_exercise", 0),
        (changed(&|value| value["version"] = json!(2)), "newer_version", 0),
        (changed(&|value| value["lesson"] = json!("?")), "unreadable", 0),
        (good.to_string()[..900].to_owned(), "not_an_exercise", 0),
        (changed(&|value| value["id"] = json!("../../x")), "unknown", 0),
        (changed(&|value| value["goals"] = json!([])), "no_goals", 0),
        (changed(&|value| value["key"]["planned"]["right"]["arch_x"] = json!(1e9)), "key_refused", 0),
        (changed(&|value| value["given"]["limits"]["removed_pct"] = json!(-4.0)), "given_refused", 0),
        (changed(&|value| value["goals"][2]["points"] = json!(0.0)), "bad_points", 3),
        (changed(&|value| value["goals"][2]["at_most_mm"] = json!(-1.0)), "bad_limit", 3),
        (goal(json!({ "aim": "guess", "points": 1.0 })), "unreadable", 0),
        (
            goal(json!({ "aim": "landmarks", "points": 1.0, "landmarks": ["chin"], "within_mm": 1.0 })),
            "unknown",
            1,
        ),
        (goal(json!({ "aim": "landmarks", "points": 1.0, "landmarks": [], "within_mm": 1.0 })), "unknown", 1),
        (
            goal(json!({ "aim": "measures", "points": 1.0, "measures": ["beauty"], "within": 1.0 })),
            "unknown",
            1,
        ),
        (
            goal(json!({ "aim": "failing_pose", "points": 1.0, "pose": "reclined_closed_resting" })),
            "given_lacks",
            1,
        ),
        (
            changed(&|value| {
                value["key"]["landmarks"] = json!({});
                value["key"]["natural"] = json!({ "right": null, "left": null });
            }),
            "key_lacks",
            1,
        ),
        (
            changed(&|value| {
                value["given"]["natural"]["left"] = json!(null);
            }),
            "given_lacks",
            3,
        ),
        ("x".repeat(200_000_000), "too_large", 0),
    ];
    for (text, code, goal) in cases {
        let error = read_exercise(&text).err().unwrap_or_else(|| panic!("{code} was taken"));
        assert_eq!((error.code, error.part), (code, goal), "{error}");
    }
    let marker = marker(&good);
    let other = Submission { exercise: Some("odd-frame".into()), ..handed_in(&key) };
    assert_eq!(marker.mark(&other).unwrap_err().code, "other_exercise");
    let wrapped = json!({ "format": "counterpoise-submission", "version": 1, "exercise": "even-frame", "plan": value(&key), "answers": { "failing_pose": POSE } });
    assert_eq!(marker.mark(&read_submission(&wrapped.to_string()).unwrap()).unwrap().score, 100.0);
    for (text, code) in [
        ("{}", "not_a_submission"),
        (r#"{"format": "counterpoise-plan", "version": 1, "planned": 3}"#, "plan_refused"),
        (r#"{"format": "counterpoise-submission", "version": 7}"#, "newer_version"),
        (r#"{"format": "counterpoise-submission", "version": 1}"#, "unreadable"),
    ] {
        assert_eq!(read_submission(text).unwrap_err().code, code, "{text}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any outlines have a score from 0 to 100, the same each time, made of whole items.
    #[test]
    fn scores_are_sums_of_items(values in proptest::collection::vec(("arch_x|arch_y|tail_x|arch_t|bulb_y", 5.0..60.0_f64, any::<bool>()), 0..8)) {
        let key = key(&Camera::default());
        let marker = marker(&exercise(&key));
        let plan = values.into_iter().fold(key, |plan, (param, value, is_right)| {
            let side = if is_right { Side::Right } else { Side::Left };
            apply(&plan, &Edit::SetParam { side, param, value, linked: false }).unwrap_or(plan)
        });
        let mark = marker.mark(&handed_in(&plan)).unwrap();
        prop_assert!((0.0..=100.0).contains(&mark.score));
        let sum: f64 = mark.items.iter().map(|item| item.earned).sum();
        prop_assert!((mark.score - sum).abs() < 0.006);
        prop_assert_eq!(marker.mark(&handed_in(&plan)).unwrap(), mark);
    }
}

/// The command line gives what the core gives: one plan, a folder as CSV, and refusals as sentences.
#[test]
fn command_line_marks_the_same() {
    let Some(program) = counterpoise_tests::command_line() else { return };
    let folder = std::env::temp_dir().join(format!("counterpoise-mark-{}", std::process::id()));
    let inbox = folder.join("in");
    std::fs::create_dir_all(&inbox).unwrap();
    let key = key(&Camera::default());
    let file = folder.join("exercise.json");
    std::fs::write(&file, exercise(&key).to_string()).unwrap();
    let moved = done(&key, json!({ "do": "remove_landmark", "landmark": "nostril.left" }));
    std::fs::write(inbox.join("a, \"b\".json"), to_json(&key)).unwrap();
    std::fs::write(inbox.join("c.json"), to_json(&moved)).unwrap();
    std::fs::write(inbox.join("d.json"), "no plan").unwrap();
    let run = |what: &[&std::ffi::OsStr]| {
        let output = Command::new(&program).arg("mark").args(what).output().unwrap();
        (
            output.status.success(),
            String::from_utf8(output.stdout).unwrap(),
            String::from_utf8(output.stderr).unwrap(),
        )
    };
    let (fine, table, _) = run(&[file.as_os_str(), inbox.as_os_str()]);
    assert!(fine);
    let lines: Vec<&str> = table.lines().collect();
    assert_eq!(lines[0], "file,score,goal_1,goal_2,goal_3,goal_4,goal_5,goal_6,problem");
    assert_eq!(lines[1], r#""a, ""b"".json",88.00,16.00,32.00,8.00,16.00,16.00,0.00,"#);
    assert_eq!(lines[2], "c.json,80.00,8.00,32.00,8.00,16.00,16.00,0.00,");
    assert!(
        lines[3].starts_with("d.json,,,,,,,,") && lines[3].contains("neither a plan nor a submission"),
        "{}",
        lines[3]
    );
    let (fine, one, _) = run(&[file.as_os_str(), inbox.join("c.json").as_os_str(), "--json".as_ref()]);
    let one: Value = serde_json::from_str(&one).unwrap();
    let marker = marker(&exercise(&key));
    let own = marker.mark(&read_submission(&to_json(&moved)).unwrap()).unwrap();
    assert!(
        fine && one["items"] == serde_json::to_value(&own.items).unwrap() && one["score"] == json!(own.score)
    );
    let (fine, _, said) = run(&[inbox.join("c.json").as_os_str(), inbox.as_os_str()]);
    assert!(!fine && said.contains("This file is no exercise"), "{said}");
    std::fs::remove_dir_all(&folder).unwrap();
}
