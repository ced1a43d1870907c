//! The program as a user meets it: output, errors and exit codes.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

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

/// A plan without a photo: caliper numbers and an even pair.
fn plan() -> counterpoise_plan::Plan {
    let calipers = |front: f64, arch_top: f64| {
        serde_json::json!({
            "front_out_mm": front, "bulb_bottom_mm": 15.5, "bulb_top_mm": 21.5, "arch_out_mm": 38.5,
            "arch_top_mm": arch_top, "arch_thickness_mm": 7.0, "tail_out_mm": 55.5, "tail_up_mm": 15.5,
        })
    };
    let edits = serde_json::json!({"do": "many", "edits": [
        {"do": "set_case", "case": {"label": "Invented", "note": "", "date": "2026-05-01"}},
        {"do": "type_natural", "side": "right", "calipers": calipers(13.5, 27.5)},
        {"do": "type_natural", "side": "left", "calipers": calipers(15.0, 26.0)},
        {"do": "start_from_mean"},
    ]});
    let edit = counterpoise_plan::read_edit(&edits.to_string()).expect("plain edits");
    counterpoise_plan::apply(&counterpoise_plan::Plan::default(), &edit).expect("plain numbers")
}

#[test]
fn report_writes_a_table_and_the_same_numbers_as_json() {
    let plan = plan();
    let file = file("report.counterpoise.json", &counterpoise_plan::to_json(&plan));
    let table = run(&["report", path(&file)]);
    assert!(table.status.success(), "{}", text(&table.stderr));
    let table = text(&table.stdout);
    assert!(table.starts_with("Invented, 2026-05-01\n"), "{table}");
    let row = table.lines().find(|line| line.contains("Front distance")).expect("the first measure");
    assert!(row.contains("13.5 ± 1.0") && row.contains("-1.5 ± 1.4") && row.contains("15.0 ± 1.0"), "{row}");

    let json = run(&["report", path(&file), "--json"]);
    assert!(json.status.success());
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let expected = serde_json::to_value(counterpoise_plan::report(&plan)).expect("plain data");
    assert_eq!(json, expected);
}

#[test]
fn draw_writes_an_svg_in_either_theme() {
    let file = file("draw.counterpoise.json", &counterpoise_plan::to_json(&plan()));
    let out = Path::new(env!("CARGO_TARGET_TMPDIR")).join("draw.svg");
    let mut drawings = Vec::new();
    for theme in ["light", "dark"] {
        let done = run(&["draw", path(&file), "--svg", path(&out), "--theme", theme]);
        assert!(done.status.success(), "{}", text(&done.stderr));
        let drawing = std::fs::read_to_string(&out).expect("a drawing");
        assert!(drawing.starts_with("<svg ") && drawing.ends_with("</svg>\n"));
        drawings.push(drawing);
    }
    assert_ne!(drawings[0], drawings[1]);
}

#[test]
fn schema_is_printed() {
    let done = run(&["schema"]);
    assert!(done.status.success());
    assert_eq!(text(&done.stdout), counterpoise_plan::schema_json());
}

#[test]
fn fit_gives_one_line_per_brow_and_names_what_no_outline_fits() {
    let shape =
        counterpoise_geometry::Outline::try_new(&counterpoise_geometry::OutlineParams::natural_median())
            .expect("the median brow is valid");
    let outline: Vec<[f64; 2]> = shape.contour().points().iter().map(|point| [point.x, point.y]).collect();
    let brow = |id: &str, outline: &[[f64; 2]]| serde_json::json!({"id": id, "side": "client_right", "area_mm2": 290.0, "outline_mm": outline});
    let content = serde_json::json!({
        "units": "mm", "frame": "invented", "source": "invented",
        "outlines": [brow("median", &outline), brow("dot", &outline[..2])],
    });
    let file = file("outlines.json", &content.to_string());
    let done = run(&["fit", path(&file), "--json"]);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let lines: Vec<serde_json::Value> =
        text(&done.stdout).lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    assert_eq!(lines.len(), 2);
    assert_eq!(lines[0]["id"], "median");
    assert_eq!(lines[0]["valid"], true);
    assert!(lines[0]["mean_mm"].as_f64().is_some_and(|mm| mm < 0.1), "{}", lines[0]);
    assert_eq!(lines[1]["valid"], false);
    assert!(lines[1]["error"].is_string(), "{}", lines[1]);
    assert_eq!(run(&["fit", "nothing.json"]).status.code(), Some(1));
}

#[test]
fn bad_input_is_named_and_ends_with_one() {
    let good = counterpoise_plan::to_json(&plan());
    let newer = good.replace("\"version\": 1", "\"version\": 9");
    let cases = [
        ("nothing.json", None, "No such file"),
        ("text.json", Some("hello".to_owned()), "not a plan"),
        ("newer.json", Some(newer), "newer"),
        ("cut.json", Some(good.chars().take(200).collect()), "damaged"),
        ("extra.json", Some(good.replace("\"limits\"", "\"limit\"")), "line"),
    ];
    for (name, content, expected) in cases {
        let path_of = match content {
            Some(content) => file(name, &content),
            None => Path::new(env!("CARGO_TARGET_TMPDIR")).join(name),
        };
        for arguments in [vec!["report", path(&path_of)], vec!["draw", path(&path_of), "--svg", "/dev/null"]]
        {
            let done = run(&arguments);
            let error = text(&done.stderr);
            assert_eq!(done.status.code(), Some(1), "{name}: {error}");
            assert!(error.contains(expected) && error.contains(name), "{name}: {error}");
            assert!(done.stdout.is_empty(), "{name}");
        }
    }
}

#[test]
fn wrong_usage_ends_with_two() {
    for arguments in [&[][..], &["report"], &["draw", "x.json"], &["unknown"]] {
        assert_eq!(run(arguments).status.code(), Some(2), "{arguments:?}");
    }
}

#[test]
fn sheet_writes_its_files_and_names_what_keeps_it() {
    let plan = file("sheet.counterpoise.json", &counterpoise_plan::to_json(&plan()));
    let out = |ending: &str| Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("sheet{ending}"));
    let (pdf, svg, csv) = (out(".pdf"), out(".svg"), out(".csv"));
    let done = run(&[
        "sheet",
        path(&plan),
        "--pdf",
        path(&pdf),
        "--svg",
        path(&svg),
        "--csv",
        path(&csv),
        "--mirrored",
    ]);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let bytes = std::fs::read(&pdf).expect("a PDF");
    assert!(bytes.starts_with(b"%PDF-") && text(&bytes).contains("/PrintScaling /None"));
    assert!(text(&std::fs::read(&svg).expect("an SVG")).contains("width=\"210mm\""));
    // The drawing for transfer paper is a page of its own.
    assert!(text(&std::fs::read(out("-2.svg")).expect("a second page")).contains("transfer paper"));
    let table = text(&std::fs::read(&csv).expect("a table"));
    assert!(table.starts_with("step,measure,unit,right,right_ci95,"), "{table}");

    for (arguments, wanted) in
        [(vec!["--pose", "couch"], "not recorded"), (vec!["--printed-bar", "130"], "120")]
    {
        let refused = run(&[&["sheet", path(&plan), "--pdf", path(&pdf)][..], &arguments[..]].concat());
        assert_eq!(refused.status.code(), Some(1));
        assert!(text(&refused.stderr).contains(wanted), "{}", text(&refused.stderr));
    }
    let nowhere = run(&["sheet", path(&plan)]);
    assert_eq!(nowhere.status.code(), Some(1));
    assert!(text(&nowhere.stderr).contains("--pdf"));
}
