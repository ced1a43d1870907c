//! A page as SVG in millimetres.

use std::fmt::Write as _;

use counterpoise_plan::xml_escaped;

use crate::direction::runs_right_to_left;
use crate::page::{Align, Mark, Page, Weight};

/// One page as a document of its own: width and height in mm, and one unit of the drawing is one mm. Letters are text, set in a
/// font of the reader's device.
#[must_use]
pub fn svg(page: &Page) -> String {
    let (width, height) = page.size_mm;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {width} {height}\">\n<rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>\n"
    );
    for mark in &page.marks {
        match mark {
            Mark::Line { ink, points, closed } => {
                let mut d = String::new();
                for (index, at) in points.iter().enumerate() {
                    let _ = write!(d, "{}{:.4} {:.4}", if index == 0 { 'M' } else { 'L' }, at.x, at.y);
                }
                if *closed {
                    d.push('Z');
                }
                let dash: Vec<String> = ink.dash_mm().iter().map(f64::to_string).collect();
                let dash = if dash.is_empty() {
                    String::new()
                } else {
                    format!(" stroke-dasharray=\"{}\"", dash.join(" "))
                };
                let _ = writeln!(
                    out,
                    "<path class=\"{}\" d=\"{d}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\"{dash}/>",
                    format!("{ink:?}").to_lowercase(),
                    grey(ink.grey()),
                    ink.width_mm(),
                );
            }
            Mark::Text { at, size_mm, align, weight, text } => {
                let from_the_right = runs_right_to_left(text);
                // Start and end are those of the reading.
                let anchor = match align {
                    Align::Middle => "middle",
                    Align::Start if !from_the_right => "start",
                    Align::End if from_the_right => "start",
                    Align::Start | Align::End => "end",
                };
                let direction = if from_the_right { " direction=\"rtl\"" } else { "" };
                let weight = match weight {
                    Weight::Regular => "400",
                    Weight::Bold => "700",
                };
                let _ = writeln!(
                    out,
                    "<text x=\"{:.3}\" y=\"{:.3}\" font-family=\"DejaVu Sans, sans-serif\" font-size=\"{size_mm}\" \
                     font-weight=\"{weight}\" text-anchor=\"{anchor}\"{direction}>{}</text>",
                    at.x,
                    at.y,
                    xml_escaped(text)
                );
            }
        }
    }
    out.push_str("</svg>\n");
    out
}

fn grey(value: f64) -> String {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 255")]
    let level = (255.0 * value.clamp(0.0, 1.0)).round() as u8;
    format!("#{level:02x}{level:02x}{level:02x}")
}
