//! Every case of the demo draws as it did: the drawings of `tests/fixtures/drawings`, blessed by
//! `UPDATE_EXPECT=1 cargo test -p counterpoise-tests --test golden_drawings` after a look at each.

use std::path::Path;

use counterpoise_plan::{Plan, SvgOptions, Theme, open, svg};
use counterpoise_teaching::read_lesson;
use expect_test::expect_file;

fn demo(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo").join(name);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn case(name: &str) -> Plan {
    open(&demo(&format!("{name}.counterpoise.json"))).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// What a lesson comes to.
fn lesson(name: &str) -> Plan {
    let told =
        read_lesson(&demo(&format!("{name}.lesson.json"))).unwrap_or_else(|error| panic!("{name}: {error}"));
    told.scenes.last().unwrap_or_else(|| panic!("{name} has no step")).1.clone()
}

#[test]
fn demo_draws_as_it_did() {
    let cases = [
        ("first", case("first")),
        ("calipers", case("calipers")),
        ("even-frame", lesson("even-frame")),
        ("low-brow", lesson("low-brow")),
        ("strong-muscle", lesson("strong-muscle")),
    ];
    for (name, plan) in cases {
        let drawing = svg(&plan, &SvgOptions::default());
        expect_file![format!("../fixtures/drawings/{name}.svg")].assert_eq(&drawing);
        // The dark one differs in nothing but its colours.
        let dark = svg(&plan, &SvgOptions { theme: Theme::Dark, ..SvgOptions::default() });
        let shapes = |drawing: &str| drawing.matches("<path").count();
        assert!(drawing != dark && shapes(&drawing) == shapes(&dark), "{name}");
    }
}
