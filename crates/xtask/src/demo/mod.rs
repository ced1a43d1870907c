//! Draws the invented demo case: a face with exactly known millimetres, its plan, and the truth to test against.

mod brows;
mod curve;
mod eyes;
mod hair;
mod measures;
mod mouth;
mod nose;
mod plan;
mod random;
mod ruler;
mod skin;
mod svg;
mod truth;

use measures::{SIZE_PX, image_from_face};
use svg::Svg;

/// Every file of the demo: name below `demo/` and content.
pub fn files() -> Vec<(&'static str, String)> {
    vec![
        ("face.svg", face()),
        ("first.counterpoise.json", plan::first()),
        ("calipers.counterpoise.json", plan::calipers()),
        ("truth.json", truth::json()),
    ]
}

fn face() -> String {
    let mut svg = Svg::default();
    skin::background(&mut svg);
    let matrix = image_from_face().map(|v| format!("{v:.5}")).join(" ");
    svg.open(&format!("transform=\"matrix({matrix})\""));
    hair::behind(&mut svg);
    skin::bust(&mut svg);
    hair::crown(&mut svg);
    skin::face(&mut svg);
    eyes::paint(&mut svg);
    nose::paint(&mut svg);
    mouth::paint(&mut svg);
    brows::paint(&mut svg);
    hair::front(&mut svg);
    skin::ears(&mut svg);
    ruler::paint(&mut svg);
    svg.close();
    svg.finish(SIZE_PX, "Invented face for trying out brow mapping")
}
