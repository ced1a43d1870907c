//! A plan that may be passed on says nothing of whose it is, and measures the same.

use std::process::Command;

use counterpoise_geometry::Side;
use counterpoise_plan::{Edit, Plan, apply, open, report, to_json};
use counterpoise_tests::cases::{Camera, whole_plan};
use serde_json::{Value, json};

/// Written into every place for words.
const SECRET: &str = "Zenobia";

fn done(plan: &Plan, edit: &Value) -> Plan {
    let edit: Edit = serde_json::from_value(edit.clone()).expect("an edit");
    apply(plan, &edit).unwrap_or_else(|error| panic!("{edit:?}: {error:?}"))
}

/// A plan with all that a visit leaves behind.
fn told_all() -> Plan {
    let strokes = json!([[[100, 400], [300, 200], [500, 800], [700, 300], [900, 600]]]);
    let photo = json!({ "width_px": 2000, "height_px": 1800, "mirrored": false });
    let edits = [
        json!({ "do": "set_case", "case": { "label": SECRET, "note": SECRET, "date": "2031-05-06" } }),
        json!({ "do": "note_upkeep", "note": format!("pluck what {SECRET} wants") }),
        json!({ "do": "note_cautions", "note": SECRET }),
        json!({ "do": "keep_variant", "name": SECRET }),
        json!({ "do": "agree", "at": "2031-05-06T12:00:00+02:00", "initials": SECRET, "strokes": strokes }),
        json!({ "do": "set_pose", "pose": "upright_closed_resting", "record": { "heights": { "right": null, "left": null }, "photo": { "key": format!("{SECRET}-1"), "photo": photo } } }),
    ];
    edits.iter().fold(whole_plan(&Camera::default()).expect("a plan"), |plan, edit| done(&plan, edit))
}

#[test]
fn shareable_plan_names_nobody() {
    let plan = told_all();
    let text = to_json(&plan);
    assert!(
        text.matches(SECRET).count() >= 6 && text.contains("2031") && text.contains("signature"),
        "{text}"
    );
    let passed_on = to_json(&plan.shareable());
    for word in [SECRET, "2031", "signature", "agreements", "variants", "upkeep"] {
        assert!(!passed_on.contains(word), "{word}");
    }
    assert!(open(&passed_on).is_ok());
}

#[test]
fn shareable_plan_measures_the_same() {
    let plan = told_all();
    let [before, after] = [report(&plan), report(&plan.shareable())];
    let symmetry = |report: &counterpoise_plan::Report| {
        [&report.natural_symmetry, &report.planned_symmetry]
            .map(|found| found.as_ref().expect("a pair").mean_distance_mm)
    };
    for (one, other) in symmetry(&before).into_iter().zip(symmetry(&after)) {
        assert!((one - other).abs() < 0.005, "{one} and {other}");
    }
    for side in Side::BOTH {
        let [one, other] = [&before, &after].map(|report| report.areas.get(side).expect("areas"));
        assert!((one.removed_pct - other.removed_pct).abs() < 0.1);
        assert!((one.added_pct - other.added_pct).abs() < 0.1);
    }
    assert_eq!(before.checks.len(), after.checks.len());
}

/// The command line makes a link, and gives the plan of one back; what is no whole link is said.
#[test]
fn command_line_makes_and_reads_links() {
    let Some(program) = counterpoise_tests::command_line() else { return };
    let run = |arguments: &[&str]| {
        let output = Command::new(&program).arg("share").args(arguments).output().unwrap();
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        (output.status.success(), text(output.stdout), text(output.stderr))
    };
    let plan = told_all();
    let file = std::env::temp_dir().join(format!("counterpoise-share-{}.json", std::process::id()));
    std::fs::write(&file, to_json(&plan)).unwrap();
    let (fine, link, _) = run(&[&file.to_string_lossy(), "--page", "https://course.invalid/brows/#old"]);
    std::fs::remove_file(&file).unwrap();
    assert!(fine && link.starts_with("https://course.invalid/brows/#plan=1."), "{link}");
    let (fine, back, _) = run(&["--link", link.trim()]);
    assert!(fine);
    assert_eq!(open(&back).unwrap(), plan.shareable());
    let half = &link[..link.len() / 2];
    for (link, words) in [
        (half, "not whole"),
        ("https://course.invalid/", "not whole"),
        ("#plan=1.%%%", "not whole"),
        ("#plan=2.AAAA", "newer version"),
        // A deflated "{}": whole, and no plan.
        ("#plan=1.q64FAA", "not"),
    ] {
        let (fine, _, said) = run(&["--link", link]);
        assert!(!fine && said.contains(words), "{link}: {said}");
    }
}
