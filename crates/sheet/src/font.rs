//! The letters: DejaVu Sans, and what is known of their widths.

use ttf_parser::Face;

use crate::direction::{is_mark, is_right_to_left, on_paper};
use crate::page::{Align, Weight};

/// Stands for a letter that the font has not got.
pub const REPLACEMENT: char = '\u{FFFD}';

/// The font file of a weight.
pub fn file(weight: Weight) -> &'static [u8] {
    match weight {
        Weight::Regular => dejavu::sans::regular(),
        Weight::Bold => dejavu::sans::bold(),
    }
}

/// Both weights, read.
pub struct Fonts {
    regular: Face<'static>,
    bold: Face<'static>,
}

impl Fonts {
    /// `None` where a font file is broken, which none that is built in is.
    #[must_use]
    pub fn new() -> Option<Fonts> {
        let face = |weight| Face::parse(file(weight), 0).ok();
        Some(Fonts { regular: face(Weight::Regular)?, bold: face(Weight::Bold)? })
    }

    /// The face of a weight.
    pub const fn face(&self, weight: Weight) -> &Face<'static> {
        match weight {
            Weight::Regular => &self.regular,
            Weight::Bold => &self.bold,
        }
    }

    /// Whether the font has this letter.
    pub fn has(&self, letter: char) -> bool {
        self.regular.glyph_index(letter).is_some() && self.bold.glyph_index(letter).is_some()
    }

    /// Whether what a letter becomes on paper is in the font: for one that joins, its form at every place within a word.
    fn can_write(&self, letter: char) -> bool {
        if !is_right_to_left(letter) {
            return is_mark(letter) || self.has(letter);
        }
        let forms = [format!("{letter}"), format!("{letter}ب"), format!("ب{letter}ب"), format!("ب{letter}")];
        forms.iter().all(|word| on_paper(word).chars().all(|form| self.has(form)))
    }

    /// The text with letters that the font has; those that it has not come back with it.
    pub fn written(&self, text: &str) -> (String, Vec<char>) {
        let mut missing = Vec::new();
        let written = text
            .chars()
            .map(|letter| {
                if self.can_write(letter) {
                    return letter;
                }
                missing.push(letter);
                REPLACEMENT
            })
            .collect();
        (written, missing)
    }

    /// Width of a line of text, mm.
    #[must_use]
    pub fn width_mm(&self, text: &str, size_mm: f64, weight: Weight) -> f64 {
        let face = self.face(weight);
        let units: f64 = on_paper(text)
            .chars()
            .filter_map(|letter| face.glyph_index(letter))
            .filter_map(|glyph| face.glyph_hor_advance(glyph))
            .map(f64::from)
            .sum();
        units * size_mm / f64::from(face.units_per_em())
    }

    /// How far left of its place a text begins, mm.
    #[must_use]
    pub fn offset_mm(&self, text: &str, size_mm: f64, weight: Weight, align: Align) -> f64 {
        match align {
            Align::Start => 0.0,
            Align::Middle => 0.5 * self.width_mm(text, size_mm, weight),
            Align::End => self.width_mm(text, size_mm, weight),
        }
    }

    /// The text in lines no wider than this, mm; a word that is wider has a line of its own.
    #[must_use]
    pub fn lines(&self, text: &str, size_mm: f64, weight: Weight, width_mm: f64) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for word in text.split_whitespace() {
            match lines.last_mut() {
                Some(line) if self.width_mm(&format!("{line} {word}"), size_mm, weight) <= width_mm => {
                    line.push(' ');
                    line.push_str(word);
                }
                _ => lines.push(word.to_owned()),
            }
        }
        lines
    }
}
