//! The page's English catalogue, so that page and command line say the same.

use std::sync::LazyLock;

use counterpoise_geometry::Side;
use counterpoise_plan::{Check, Level, PlanError, Problem, SortedMap, describe, shown};

static CATALOGUE: LazyLock<SortedMap<String, String>> =
    LazyLock::new(|| serde_json::from_str(include_str!("../../../www/messages/en.json")).unwrap_or_default());

/// Values that are counts and are shown whole.
const WHOLE: [&str; 9] =
    ["count", "have_count", "needed_count", "limit_mb", "version", "newest", "line", "column", "length"];
/// Units by the end of a value's name, longest first.
const UNITS: [(&str, &str); 5] =
    [("_mm2", "mm2"), ("_mm", "mm"), ("_pct", "pct"), ("_deg", "deg"), ("_px", "px")];

/// Every text by its key.
pub fn all() -> &'static SortedMap<String, String> {
    &CATALOGUE
}

/// The text of this key, or the key itself.
pub fn text(key: &str) -> &str {
    CATALOGUE.get(key).map_or(key, String::as_str)
}

/// Why an input was refused.
pub fn refusal(error: &PlanError) -> String {
    filled(&format!("refused.{}", error.code), None, &error.subject, &error.other, &error.values)
}

/// What can be mended.
pub fn problem(problem: &Problem) -> String {
    filled(
        &format!("problem.{}", problem.code),
        problem.side,
        &problem.subject,
        &problem.other,
        &problem.values,
    )
}

/// How a check stands.
pub fn check(check: &Check) -> String {
    let level = match check.level {
        Level::Ok => "ok",
        Level::Note => "note",
        Level::Warn => "warn",
    };
    filled(&format!("check.{}.{level}", check.id), check.side, check.subject, "", &check.values)
}

/// A text from a file without characters that would steer the terminal.
pub fn printable(text: &str) -> String {
    text.chars().filter(|letter| !letter.is_control()).collect()
}

/// The text of a key with its names and numbers put in. Where the catalogue lacks the key, the bare facts.
fn filled(
    key: &str,
    side: Option<Side>,
    subject: &str,
    other: &str,
    values: &SortedMap<&'static str, f64>,
) -> String {
    let Some(template) = CATALOGUE.get(key) else {
        let values: String = values.iter().map(|(name, value)| format!(" {name}={value}")).collect();
        return format!("{key} {} {}{values}", printable(subject), printable(other));
    };
    let side = side.map_or_else(String::new, |side| text(&format!("side.{}", side.name())).to_owned());
    // Names come last and are never searched for placeholders themselves.
    let mut text = template.replace("{side}", &side);
    for (value_name, value) in values {
        text = text.replace(&format!("{{{value_name}}}"), &shown_value(value_name, *value, subject));
    }
    text.replace("{other}", &name(other)).replace("{subject}", &name(subject))
}

/// The name of what a message is about: a landmark, parameter, field, side, scale source or refusal.
fn name(id: &str) -> String {
    if let Some((from, to)) = id.strip_prefix("caliper:").and_then(|pair| pair.split_once(':')) {
        return text("source.caliper").replace("{from}", &name(from)).replace("{to}", &name(to));
    }
    ["landmark", "param", "field", "handle", "measure", "side", "source", "strip", "refused"]
        .iter()
        .find_map(|family| CATALOGUE.get(&format!("{family}.{id}")))
        .or_else(|| CATALOGUE.get(id))
        .map_or_else(|| printable(id), Clone::clone)
}

/// A value as shown, by the unit that its name ends in, or by the unit of what the message is about.
fn shown_value(value_name: &str, value: f64, subject: &str) -> String {
    if WHOLE.contains(&value_name) || (value_name == "limit" && value.fract() == 0.0) {
        return format!("{value:.0}");
    }
    let by_name = UNITS.iter().find(|(end, _)| value_name.ends_with(end)).map(|(_, unit)| *unit);
    let unit = by_name.or_else(|| {
        let described = describe();
        let fields = described.fields.iter().map(|field| (field.id, field.unit));
        let params = described.params.iter().map(|param| (param.id, param.unit));
        fields.chain(params).find(|(id, _)| *id == subject).map(|(_, unit)| unit)
    });
    shown(unit.unwrap_or("mm"), value)
}
