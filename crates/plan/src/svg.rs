//! The SVG painter: a drawing true to the millimetre, without a browser.

use std::fmt::Write as _;

use counterpoise_geometry::{Side, SortedMap};
use kurbo::{Affine, BezPath, PathEl, Point};
use serde::{Deserialize, Serialize};

use crate::notation::{Read, fixed};
use crate::{Align, Kind, Label, Plan, Scene, scene, shown_in};

/// How a drawing is made.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields, default)]
pub struct SvgOptions {
    /// Light or dark ground.
    pub theme: Theme,
    /// A `data:image/…` address of the photo to lay under the drawing. Any other address is left out, so that a
    /// drawing never fetches anything.
    pub photo_href: Option<String>,
    /// The kinds to draw; `None` draws all.
    pub layers: Option<Vec<Kind>>,
    /// Texts of labels by catalogue key; a label without one shows its number alone.
    pub texts: SortedMap<String, String>,
}

/// Ground of a drawing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, Read)]
#[serde(rename_all = "lowercase")]
pub enum Theme {
    /// Dark lines on white.
    #[default]
    Light,
    /// Light lines on near black.
    Dark,
}

/// The plan as SVG: one user unit is one millimetre, and width and height say so.
#[must_use]
pub fn svg(plan: &Plan, options: &SvgOptions) -> String {
    svg_of_scene(&scene(plan), plan, options)
}

/// Colours of one ground. The canvas paints right and left in the same colours: a blue and an orange stay apart under
/// every common colour-vision deficiency (after Okabe and Ito 2008, "Color Universal Design").
struct Colours {
    ground: &'static str,
    ink: &'static str,
    halo_dark: &'static str,
    halo_light: &'static str,
    right: &'static str,
    left: &'static str,
    guide: &'static str,
    /// Whether lines carry halos: over a photo, not on plain ground.
    has_halo: bool,
}

const LIGHT: Colours = Colours {
    ground: "#ffffff",
    ink: "#1d1d1f",
    halo_dark: "#1d1d1f",
    halo_light: "#ffffff",
    right: "#0a4ea3",
    left: "#b04400",
    guide: "#5f6368",
    has_halo: true,
};

const DARK: Colours = Colours {
    ground: "#16181c",
    ink: "#f1f1ee",
    halo_dark: "#000000",
    halo_light: "#f1f1ee",
    right: "#84c8ff",
    left: "#ffb35c",
    guide: "#a9adb3",
    has_halo: true,
};

/// Line widths, mm: an outline is as wide as a sharp pencil's line, guides half of that.
const OUTLINE_MM: f64 = 0.35;
const NATURAL_MM: f64 = 0.2;
const GUIDE_MM: f64 = 0.15;
/// How far each halo reaches beyond what it surrounds, mm.
const HALO_MM: f64 = 0.12;
/// Height of label letters, mm.
const LABEL_MM: f64 = 2.2;
/// The scale bar's length, mm.
const SCALE_BAR_MM: f64 = 10.0;
/// Distance of the scale bar from the edges, mm.
const SCALE_BAR_INSET_MM: f64 = 3.0;

fn svg_of_scene(scene: &Scene, plan: &Plan, options: &SvgOptions) -> String {
    let mut colours = match options.theme {
        Theme::Light => LIGHT,
        Theme::Dark => DARK,
    };
    colours.has_halo = photo_address(options).is_some();
    let colours = &colours;
    let [x0, y0, x1, y1] = scene.bounds_mm;
    let (width, height) = ((x1 - x0).max(1.0), (y1 - y0).max(1.0));
    let mut out = String::with_capacity(32 * 1024);
    // Writing into a String cannot fail, so the results are dropped here and below.
    let _ = writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"{x} {y} {w} {h}\">",
        w = number(width),
        h = number(height),
        x = number(x0),
        y = number(-y1),
    );
    let _ = writeln!(out, "<title>{}</title>", xml_escaped(&plan.case.label));
    patterns(&mut out, colours);
    let _ = writeln!(
        out,
        "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\"/>",
        number(x0),
        number(-y1),
        number(width),
        number(height),
        colours.ground
    );
    photo(&mut out, scene, plan, options);
    let is_on = |kind: Kind| options.layers.as_ref().is_none_or(|layers| layers.contains(&kind));
    for item in scene.items.iter().filter(|item| is_on(item.kind)) {
        shape(&mut out, item.kind, item.side, &path_data(&item.path), colours);
    }
    for label in &scene.labels {
        text(&mut out, label, options, colours);
    }
    scale_bar(&mut out, x0, y0, colours);
    out.push_str("</svg>\n");
    out
}

/// Hatching for hair to remove and dots for skin to add, one of each per side so that the hue says whose it is.
/// Their names begin with `cp-` so that they meet no other name where the drawing is put into a page.
fn patterns(out: &mut String, colours: &Colours) {
    out.push_str("<defs>\n");
    for side in Side::BOTH {
        let (name, colour) = (side.name(), of_side(Some(side), colours));
        // Right hatching leans right, left hatching left: a second sign beside the hue.
        let lean = -45.0 * side.sign();
        let _ = writeln!(
            out,
            "<pattern id=\"cp-removed-{name}\" width=\"0.9\" height=\"0.9\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate({})\"><rect width=\"0.9\" height=\"0.9\" fill=\"{}\" fill-opacity=\"0.55\"/>\
             <path d=\"M0 0V0.9\" stroke=\"{colour}\" stroke-width=\"0.6\"/></pattern>",
            number(lean),
            colours.halo_light,
        );
        let _ = writeln!(
            out,
            "<pattern id=\"cp-added-{name}\" width=\"1\" height=\"1\" patternUnits=\"userSpaceOnUse\">\
             <circle cx=\"0.5\" cy=\"0.5\" r=\"0.27\" fill=\"{}\"/><circle cx=\"0.5\" cy=\"0.5\" r=\"0.2\" fill=\"{colour}\"/></pattern>",
            colours.halo_light,
        );
    }
    out.push_str("</defs>\n");
}

/// The photo's address, if it is one that fetches nothing.
fn photo_address(options: &SvgOptions) -> Option<&str> {
    options.photo_href.as_deref().filter(|href| href.starts_with("data:image/"))
}

fn photo(out: &mut String, scene: &Scene, plan: &Plan, options: &SvgOptions) {
    let (Some(href), Some(photo), Some(matrix)) =
        (photo_address(options), &plan.photo, scene.image_from_face)
    else {
        return;
    };
    let image_from_face = Affine::new(matrix);
    if image_from_face.determinant().abs() < f64::MIN_POSITIVE {
        return;
    }
    let svg_from_image = Affine::FLIP_Y * image_from_face.inverse();
    let [a, b, c, d, e, f] = svg_from_image.as_coeffs().map(|coefficient| fixed(coefficient, 9));
    let _ = writeln!(
        out,
        "<image width=\"{}\" height=\"{}\" transform=\"matrix({a} {b} {c} {d} {e} {f})\" href=\"{}\"/>",
        photo.width_px,
        photo.height_px,
        xml_escaped(href)
    );
}

fn shape(out: &mut String, kind: Kind, side: Option<Side>, data: &str, colours: &Colours) {
    let colour = of_side(side, colours);
    let side_name = side.map_or("both", Side::name);
    match kind {
        Kind::Kept => {
            let _ = writeln!(
                out,
                "<path d=\"{data}\" fill=\"{colour}\" fill-opacity=\"0.16\" fill-rule=\"evenodd\"/>"
            );
        }
        Kind::Removed | Kind::Added => {
            let name = if kind == Kind::Removed { "removed" } else { "added" };
            let _ = writeln!(
                out,
                "<path d=\"{data}\" fill=\"url(#cp-{name}-{side_name})\" fill-rule=\"evenodd\"/>"
            );
        }
        Kind::Natural => line(out, data, colour, NATURAL_MM, dashes(side), colours),
        Kind::Planned => line(out, data, colour, OUTLINE_MM, dashes(side), colours),
        Kind::CentreLine => line(out, data, colours.guide, GUIDE_MM, "4 0.8 0.8 0.8", colours),
        Kind::HeightLine => line(out, data, colours.guide, GUIDE_MM, "", colours),
        Kind::FrontLine | Kind::EndLine => line(out, data, colours.guide, GUIDE_MM, "1.6 0.8", colours),
        Kind::ArchMeasure | Kind::ArchNatural | Kind::ArchBone => {
            line(out, data, colours.guide, GUIDE_MM, "0.5 0.7", colours);
        }
        Kind::Thread => line(out, data, colour, GUIDE_MM, "", colours),
        Kind::Ruler => line(out, data, colours.ink, OUTLINE_MM, "", colours),
    }
}

/// A line with a dark and a light halo: no single colour stands out on every skin tone.
fn line(out: &mut String, data: &str, colour: &str, width: f64, dashes: &str, colours: &Colours) {
    let pass = |out: &mut String, stroke: &str, width: f64, opacity: f64, dashes: &str| {
        let dash = if dashes.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{dashes}\"") };
        let _ = writeln!(
            out,
            "<path d=\"{data}\" fill=\"none\" stroke=\"{stroke}\" stroke-width=\"{}\" stroke-opacity=\"{}\" \
             stroke-linejoin=\"round\"{dash}/>",
            number(width),
            number(opacity)
        );
    };
    if colours.has_halo {
        pass(out, colours.halo_dark, width + 4.0 * HALO_MM, 0.35, "");
        pass(out, colours.halo_light, width + 2.0 * HALO_MM, 0.8, "");
    }
    pass(out, colour, width, 1.0, dashes);
}

const fn of_side(side: Option<Side>, colours: &Colours) -> &'static str {
    match side {
        Some(Side::Right) => colours.right,
        Some(Side::Left) => colours.left,
        None => colours.guide,
    }
}

/// The client's left is dashed, her right is not: the sides differ by pattern as well as by hue.
const fn dashes(side: Option<Side>) -> &'static str {
    match side {
        Some(Side::Left) => "2.4 0.7",
        _ => "",
    }
}

fn text(out: &mut String, label: &Label, options: &SvgOptions, colours: &Colours) {
    let words = options.texts.get(&label.key).map(String::as_str).unwrap_or_default();
    let value = label.value.map(|value| shown_in(&options.texts, "mm", value)).unwrap_or_default();
    let gap = if words.is_empty() || value.is_empty() { "" } else { " " };
    let both = format!("{words}{gap}{value}");
    if both.is_empty() {
        return;
    }
    let at = svg_from_face(label.at);
    let anchor = match label.align {
        Align::Start => "start",
        Align::Middle => "middle",
        Align::End => "end",
    };
    let _ = writeln!(
        out,
        "<text x=\"{}\" y=\"{}\" font-family=\"sans-serif\" font-size=\"{}\" fill=\"{}\" stroke=\"{}\" \
         stroke-width=\"0.5\" stroke-linejoin=\"round\" paint-order=\"stroke\" text-anchor=\"{anchor}\">{}</text>",
        number(at.x),
        number(at.y),
        number(LABEL_MM),
        colours.ink,
        colours.ground,
        xml_escaped(&both)
    );
}

/// A bar of known length in the lower corner, to check a print with a ruler.
fn scale_bar(out: &mut String, x0: f64, y0: f64, colours: &Colours) {
    let (x, y) = (x0 + SCALE_BAR_INSET_MM, -y0 - SCALE_BAR_INSET_MM);
    let (left, right, base) = (number(x), number(x + SCALE_BAR_MM), number(y));
    let tick = number(y - 1.0);
    let data = format!("M{left} {tick}V{base}H{right}V{tick}");
    line(out, &data, colours.ink, NATURAL_MM, "", colours);
    let _ = writeln!(
        out,
        "<text x=\"{}\" y=\"{}\" font-family=\"sans-serif\" font-size=\"{}\" fill=\"{}\" stroke=\"{}\" \
         stroke-width=\"0.5\" paint-order=\"stroke\">{} mm</text>",
        number(x + SCALE_BAR_MM + 1.0),
        base,
        number(LABEL_MM),
        colours.ink,
        colours.ground,
        number(SCALE_BAR_MM)
    );
}

/// The face frame has y up, SVG has y down.
const fn svg_from_face(point: Point) -> Point {
    Point::new(point.x, -point.y)
}

fn path_data(path: &BezPath) -> String {
    let mut data = String::new();
    let mut push = |letter: &str, points: &[Point]| {
        data.push_str(letter);
        for (index, point) in points.iter().enumerate() {
            let point = svg_from_face(*point);
            let gap = if index == 0 { "" } else { " " };
            let _ = write!(data, "{gap}{} {}", number(point.x), number(point.y));
        }
    };
    for element in path.elements() {
        match *element {
            PathEl::MoveTo(p) => push("M", &[p]),
            PathEl::LineTo(p) => push("L", &[p]),
            PathEl::QuadTo(p1, p2) => push("Q", &[p1, p2]),
            PathEl::CurveTo(p1, p2, p3) => push("C", &[p1, p2, p3]),
            PathEl::ClosePath => push("Z", &[]),
        }
    }
    data
}

/// Micrometres are finer than any printer, so three decimals; zeros at the end are dropped.
fn number(value: f64) -> String {
    let text = fixed(value, 3);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}

/// Text made safe for an SVG element or attribute. Characters that XML 1.0 forbids are left out.
#[must_use]
pub fn xml_escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(letter),
            '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => {}
            _ => out.push(letter),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn number_is_short_and_never_minus_zero() {
        assert_eq!(number(-0.0001), "0");
        assert_eq!(number(12.5), "12.5");
        assert_eq!(number(100.0), "100");
        assert_eq!(number(-7.2346), "-7.235");
    }

    #[test]
    fn escaped_leaves_no_markup_and_no_forbidden_character() {
        assert_eq!(xml_escaped("<b a=\"1\">&'\u{0}\u{1b}é"), "&lt;b a=&quot;1&quot;&gt;&amp;&#39;é");
    }
}
