//! `counterpoise balance` as a user meets it.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use counterpoise_geometry::{Outline, OutlineParams, Param};
use serde_json::{Value, json};

fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_counterpoise")).args(arguments).output().expect("the program starts")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// A file of this test alone.
fn file(name: &str, content: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, content).expect("the target folder can be written");
    path
}

fn path(path: &Path) -> &str {
    path.to_str().expect("an ASCII path")
}

fn brow(id: &str, side: &str, arch_y: f64) -> Value {
    let params = OutlineParams::natural_median().with(Param::ArchY, arch_y);
    let contour = Outline::try_new(&params).expect("near the median").contour();
    let points: Vec<[f64; 2]> = contour.points().iter().map(|point| [point.x, point.y]).collect();
    json!({"id": id, "side": side, "outline_mm": points, "area_mm2": contour.area()})
}

/// A plan with both natural brows as outlines, in no-photo mode.
fn plan(balance: &Value) -> counterpoise_plan::Plan {
    let outline = |arch_y: f64| {
        let params = OutlineParams::natural_median().with(Param::ArchY, arch_y);
        Param::ALL
            .iter()
            .map(|info| (info.id.to_owned(), json!(params.get(info.param))))
            .collect::<serde_json::Map<_, _>>()
    };
    let edits = json!({"do": "many", "edits": [
        {"do": "shape_natural", "side": "right", "outline": outline(28.0)},
        {"do": "shape_natural", "side": "left", "outline": outline(26.0)},
        {"do": "set_balance", "balance": balance},
    ]});
    let edit = counterpoise_plan::read_edit(&edits.to_string()).expect("plain edits");
    counterpoise_plan::apply(&counterpoise_plan::Plan::default(), &edit).expect("plain numbers")
}

#[test]
fn balance_of_a_plan_writes_the_curve_as_json_and_as_a_table() {
    let plan = plan(&json!({}));
    let file = file("balance.counterpoise.json", &counterpoise_plan::to_json(&plan));
    let json = run(&["balance", path(&file), "--added", "15", "--json"]);
    assert!(json.status.success(), "{}", text(&json.stderr));
    let json: Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let expected = counterpoise_plan::balance_curve(&plan, 15.0).expect("can be balanced");
    assert_eq!(json, serde_json::to_value(&expected).expect("plain data"));

    let table = run(&["balance", path(&file), "--added", "15"]);
    assert!(table.status.success(), "{}", text(&table.stderr));
    let table = text(&table.stdout);
    for point in &expected.points {
        let start = format!("{:.1} ", point.removed_limit_pct);
        let row = table.lines().find(|line| line.starts_with(&start)).unwrap_or_else(|| panic!("{table}"));
        assert!(row.contains(&format!(" {:.2} ", point.asymmetry_mm)), "{row}");
    }
    assert_eq!(table.lines().filter(|line| line.contains("knee")).count(), 1, "{table}");
}

#[test]
fn balance_without_a_limit_takes_that_of_the_plan() {
    let mut plan = plan(&json!({}));
    plan.limits.added_pct = 12.0;
    let file = file("balance_own.counterpoise.json", &counterpoise_plan::to_json(&plan));
    let json: Value = serde_json::from_slice(&run(&["balance", path(&file), "--json"]).stdout).expect("JSON");
    assert_eq!(json["added_limit_pct"], 12.0);
}

#[test]
fn balance_of_outlines_writes_a_line_for_each_complete_pair() {
    let brows = json!({"units": "mm", "outlines": [
        brow("a", "client_left", 26.0),
        brow("alone", "client_right", 27.0),
        brow("a", "client_right", 28.0),
        brow("even", "client_right", 27.0),
        brow("even", "client_left", 27.0),
        brow("torn", "client_right", 27.0),
        {"id": "torn", "side": "client_left", "outline_mm": [[1.0, 1.0], [2.0, 2.0]]},
    ]});
    let file = file("balance_outlines.json", &brows.to_string());
    let done = run(&["balance", "--outlines", path(&file), "--added", "15", "--json"]);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let lines: Vec<Value> =
        text(&done.stdout).lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    let ids: Vec<&str> = lines.iter().map(|line| line["id"].as_str().expect("an id")).collect();
    assert_eq!(ids, ["a", "even", "torn"]);

    let number = |value: &Value| value.as_f64().expect("a number");
    let points = lines[0]["points"].as_array().expect("points");
    assert_eq!(points.len(), 21);
    assert_eq!(
        (number(&points[0]["removed_limit_pct"]), number(&points[20]["removed_limit_pct"])),
        (0.0, 30.0)
    );
    // Two brows that differ by 2 mm at the arch.
    assert!((0.4..1.5).contains(&number(&lines[0]["natural_mm"])), "{}", lines[0]["natural_mm"]);
    for pair in points.windows(2) {
        assert!(number(&pair[1]["asymmetry_mm"]) <= number(&pair[0]["asymmetry_mm"]));
    }
    for point in points {
        for side in ["right", "left"] {
            assert!(number(&point[format!("added_pct_{side}")]) <= 15.0 + 0.2, "{point}");
            let removed = number(&point[format!("removed_pct_{side}")]);
            assert!(removed <= number(&point["removed_limit_pct"]) + 0.2, "{point}");
        }
    }
    assert!(number(&lines[1]["natural_mm"]) < 1e-9 && number(&lines[1]["points"][20]["asymmetry_mm"]) < 0.01);
    assert!(
        lines[2]["error"].is_string() && lines[2]["points"] == json!([]) && lines[2]["natural_mm"].is_null()
    );
}

#[test]
fn balance_that_cannot_be_done_says_why() {
    let locked = json!({"sides": {"right": {"locked": true}, "left": {"locked": true}}});
    let file = file("balance_locked.counterpoise.json", &counterpoise_plan::to_json(&plan(&locked)));
    let refused = run(&["balance", path(&file)]);
    assert_eq!(refused.status.code(), Some(1));
    assert!(refused.stdout.is_empty());
    assert!(text(&refused.stderr).contains("Everything is locked"), "{}", text(&refused.stderr));

    for wrong in [
        &["balance"][..],
        &["balance", "a.json", "--outlines", "b.json"],
        &["balance", "a.json", "--added", "-1"],
        &["balance", "a.json", "--added", "NaN"],
        &["balance", "a.json", "--added", "301"],
    ] {
        assert_eq!(run(wrong).status.code(), Some(2), "{wrong:?}");
    }
}
