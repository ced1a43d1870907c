//! Words from right to left, as their letters stand on paper.

use std::borrow::Cow;

use ar_reshaper::ArabicReshaper;
use unicode_bidi::{BidiClass, BidiInfo, Level, bidi_class};
use unicode_bidi_mirroring::get_mirrored;

/// Whether a letter is written from right to left.
pub fn is_right_to_left(letter: char) -> bool {
    matches!(bidi_class(letter), BidiClass::R | BidiClass::AL)
}

/// Whether a text is laid out from right to left: where any of its letters is written that way. A number alone is not.
pub fn runs_right_to_left(text: &str) -> bool {
    text.chars().any(is_right_to_left)
}

/// Whether a sign only tells the direction of others and is never seen (Unicode UAX 9, explicit formatting characters).
pub const fn is_mark(letter: char) -> bool {
    matches!(letter, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// The letters of one line as they stand on paper from left to right: Arabic ones in the forms in which they join (without the
/// strokes above and below, which the layout has no places for), the line in the order of the Unicode bidirectional algorithm
/// (UAX 9; brackets turned, rule L4), marks of direction left out.
pub fn on_paper(line: &str) -> Cow<'_, str> {
    if !runs_right_to_left(line) {
        return if line.contains(is_mark) { line.replace(is_mark, "").into() } else { line.into() };
    }
    let joined = ArabicReshaper::default().reshape(line);
    let bidi = BidiInfo::new(&joined, Some(Level::rtl()));
    let mut on_paper = String::with_capacity(joined.len());
    for paragraph in &bidi.paragraphs {
        let (levels, runs) = bidi.visual_runs(paragraph, paragraph.range.clone());
        for run in runs {
            let letters = joined[run.clone()].chars().filter(|letter| !is_mark(*letter));
            if levels[run.start].is_rtl() {
                on_paper.extend(letters.rev().map(|letter| get_mirrored(letter).unwrap_or(letter)));
            } else {
                on_paper.extend(letters);
            }
        }
    }
    on_paper.into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn latin_stays_as_it_is() {
        assert_eq!(on_paper("Front (12.3 mm)"), "Front (12.3 mm)");
        assert_eq!(on_paper("\u{200e}-1.2"), "-1.2");
        assert!(!runs_right_to_left("-1.2 ± 0.4 mm²"));
    }

    /// Unicode UAX 9, rules L2 (runs are reversed, digits and Latin words are not) and L4 (brackets are turned). Hebrew letters do not join.
    #[test]
    fn letters_stand_in_the_order_of_the_unicode_algorithm() {
        // Numbers keep their digits in order, and stand left of the word before them.
        assert_eq!(on_paper("אבג 12.3"), "12.3 גבא");
        // A bracket opens towards what it holds.
        assert_eq!(on_paper("אב (גד)"), "(דג) בא");
        assert_eq!(on_paper("אב Cara גד"), "דג Cara בא");
        // A minus stays before its number where a mark says so.
        assert_eq!(on_paper("אב \u{200e}-1.2"), "-1.2 בא");
        // An isolated expression is one thing.
        assert_eq!(on_paper("אב \u{2066}± 0.4\u{2069} גד"), "דג ± 0.4 בא");
        let nested = "אב \u{2068}0.0\u{2069} גד \u{2066}± \u{2068}0.5\u{2069}\u{2069} הו";
        assert_eq!(on_paper(nested), "וה ± 0.5 דג 0.0 בא");
    }

    /// The forms of the Unicode block Arabic Presentation Forms-B: beh initial, medial and final, lam with alef as one.
    #[test]
    fn arabic_letters_join() {
        assert_eq!(on_paper("ببب"), "\u{fe90}\u{fe92}\u{fe91}");
        assert_eq!(on_paper("لا"), "\u{fefb}");
        assert_eq!(on_paper("بَب"), "\u{fe90}\u{fe91}", "strokes are left out");
    }
}
