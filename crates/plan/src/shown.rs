//! How a number is written, the same on the page, on sheets and on the command line.

use counterpoise_geometry::{SortedMap, Unit};

use crate::notation::fixed;

/// The key of a catalogue whose text is the decimal sign of its language.
pub const DECIMAL_SIGN: &str = "number.decimal_sign";

/// The key of a catalogue whose text is how its language is read: `ltr` or `rtl`, the values of HTML's `dir`.
pub const DIRECTION: &str = "text.direction";

/// Left-to-right mark: within words from right to left a minus stands before its number only where this does (Unicode UAX 9, rule W4
/// would leave it behind).
const LEFT_TO_RIGHT: char = '\u{200e}';

/// Whether the language that these texts by key are in is read from right to left.
#[must_use]
pub fn is_right_to_left(texts: &SortedMap<String, String>) -> bool {
    texts.get(DIRECTION).is_some_and(|direction| direction == "rtl")
}

/// Decimals that a unit is shown with: mm, degrees and per cent one, mm² none, bare numbers two, px none.
/// Millimetres get one because measuring errors are a few tenths; a second digit would be noise.
#[must_use]
pub fn decimals(unit: &str) -> usize {
    if unit == Unit::Mm2.name() || unit == "px" {
        0
    } else if unit == Unit::One.name() {
        2
    } else {
        1
    }
}

/// The value as shown, without its unit: `12.3`, `-0.4`, `311`. Zero is never negative. A value that is not a
/// number is shown as `–`.
#[must_use]
pub fn shown(unit: &str, value: f64) -> String {
    if !value.is_finite() {
        return "–".into();
    }
    let text = fixed(value, decimals(unit));
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|byte| byte == b'0' || byte == b'.') => rest.into(),
        _ => text,
    }
}

/// The value as [`shown`], with the decimal sign of the language that these texts by key are in, a point where they name none, and with
/// its minus before it whichever way they are read.
#[must_use]
pub fn shown_in(texts: &SortedMap<String, String>, unit: &str, value: f64) -> String {
    let mut text = shown(unit, value);
    if text.starts_with('-') && is_right_to_left(texts) {
        text.insert(0, LEFT_TO_RIGHT);
    }
    match texts.get(DECIMAL_SIGN) {
        Some(sign) if sign != "." => text.replace('.', sign),
        _ => text,
    }
}

/// The value as shown with its sign, `+1.2` or `-0.4`; zero has none. For right − left.
#[must_use]
pub fn shown_signed(unit: &str, value: f64) -> String {
    let text = shown(unit, value);
    let is_zero = text.bytes().all(|byte| byte == b'0' || byte == b'.');
    if is_zero || text.starts_with('-') || text.starts_with('–') { text } else { format!("+{text}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shown_rounds_by_unit_and_never_says_minus_zero() {
        let cases = [
            ("mm", 12.345, "12.3"),
            ("mm", -0.04, "0.0"),
            ("mm", -0.06, "-0.1"),
            ("mm2", 310.6, "311"),
            ("mm2", -0.2, "0"),
            ("pct", 4.96, "5.0"),
            ("deg", -3.25, "-3.2"),
            ("one", 0.555, "0.56"),
            ("mm", f64::NAN, "–"),
            ("mm", f64::INFINITY, "–"),
        ];
        for (unit, value, text) in cases {
            assert_eq!(shown(unit, value), text, "{value} {unit}");
        }
    }

    #[test]
    fn shown_in_takes_the_sign_of_the_language() {
        let comma = SortedMap::from([(DECIMAL_SIGN.to_owned(), ",".to_owned())]);
        assert_eq!(shown_in(&comma, "mm", -12.345), "-12,3");
        assert_eq!(shown_in(&comma, "mm2", 310.6), "311");
        assert_eq!(shown_in(&SortedMap::new(), "mm", 12.345), "12.3");
        let from_the_right = SortedMap::from([(DIRECTION.to_owned(), "rtl".to_owned())]);
        assert_eq!(shown_in(&from_the_right, "mm", -12.345), "\u{200e}-12.3");
        assert_eq!(shown_in(&from_the_right, "mm", 12.345), "12.3");
    }

    #[test]
    fn shown_signed_gives_plus_but_not_to_zero() {
        assert_eq!(shown_signed("mm", 0.26), "+0.3");
        assert_eq!(shown_signed("mm", 0.01), "0.0");
        assert_eq!(shown_signed("mm", -0.26), "-0.3");
    }
}
