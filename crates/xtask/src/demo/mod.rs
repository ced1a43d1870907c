//! Draws the invented cases: faces with exactly known millimetres, their plans, lessons and exercises, and the truth to test against.

mod brows;
mod curve;
mod eyes;
mod hair;
mod lessons;
mod measures;
mod mouth;
mod nose;
mod person;
mod plan;
mod random;
mod ruler;
mod skin;
mod svg;
mod truth;

use measures::{SIZE_PX, image_from_face};
use person::{Person, tinted};
use svg::Svg;

/// Every file of the demo: name below `demo/` and content.
pub fn files() -> Vec<(&'static str, String)> {
    let mut files = vec![
        ("face.svg", face(Person::Marisol)),
        ("first.counterpoise.json", plan::first()),
        ("calipers.counterpoise.json", plan::calipers()),
        ("truth.json", truth::json()),
        ("noor.svg", face(Person::Noor)),
        ("ifeoma.svg", face(Person::Ifeoma)),
        ("liv.svg", face(Person::Liv)),
    ];
    files.extend(lessons::files());
    files
}

fn face(person: Person) -> String {
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
    brows::paint(&mut svg, person);
    hair::front(&mut svg);
    skin::ears(&mut svg);
    ruler::paint(&mut svg);
    svg.close();
    let drawing = svg.finish(SIZE_PX, "Invented face for trying out brow mapping");
    if person == Person::Marisol { drawing } else { tinted(&drawing, person.tint()) }
}
